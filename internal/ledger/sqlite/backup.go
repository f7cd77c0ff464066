package sqlite

import (
	"context"
	"os"
	"path/filepath"

	"elevage/internal/fault"
)

// Backup writes a copy of the ledger to a file while it is in use, checks the
// copy, and only then gives it its name. It goes through SQL: copying the file
// of a database that is in use can lose what was last written.
func (b *Book) Backup(ctx context.Context, path string) (err error) {
	part := path + ".part"
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fault.Wrap(fault.Internal, "back up", err)
	}
	defer func() {
		if err != nil {
			os.Remove(part) //nolint:errcheck // what is left of it is no backup and is not named as one
		}
	}()
	if err := os.Remove(part); err != nil && !os.IsNotExist(err) {
		return fault.Wrap(fault.Internal, "back up", err)
	}
	if _, err := b.read.ExecContext(ctx, "VACUUM INTO ?1", part); err != nil {
		return fault.Wrap(fault.Internal, "back up", err)
	}
	if err := sound(ctx, part); err != nil {
		return err
	}
	return fault.Wrap(fault.Internal, "back up", os.Rename(part, path))
}

func sound(ctx context.Context, path string) error {
	db, err := connect(path, true)
	if err != nil {
		return fault.Wrap(fault.Internal, "check backup", err)
	}
	defer db.Close() //nolint:errcheck // only read from
	var answer string
	if err := db.QueryRowContext(ctx, "PRAGMA integrity_check").Scan(&answer); err != nil {
		return fault.Wrap(fault.Internal, "check backup", err)
	}
	if answer != "ok" {
		return fault.New(fault.Internal, "check backup", "the copy is damaged: %s", answer)
	}
	return nil
}
