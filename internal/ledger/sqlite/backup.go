package sqlite

import (
	"context"
	"errors"
	"os"
	"path/filepath"

	"elevage/internal/fault"
)

// Backup writes a copy of the ledger to a file while it is in use, checks the
// copy, and only then gives it its name; a backup that was there under that name
// is replaced. It goes through SQL: copying the file of a database that is in
// use can lose what was last written.
func (b *Book) Backup(ctx context.Context, path string) error {
	return copyTo(ctx, "back up", path, func(part string) error {
		_, err := b.read.ExecContext(ctx, "VACUUM INTO ?1", part)
		return err
	})
}

// Restore makes a ledger out of a backup: it checks the backup, copies it, checks
// the copy and gives it its name. A ledger that is there already is not
// overwritten: fault.Conflict.
func Restore(ctx context.Context, backup, path string) error {
	if _, err := os.Stat(path); err == nil {
		return fault.New(fault.Conflict, "restore", "%s is there already: move it away first", path)
	}
	if err := sound(ctx, backup); err != nil {
		return err
	}
	return copyTo(ctx, "restore", path, func(part string) error {
		db, err := inspect(backup)
		if err != nil {
			return err
		}
		_, err = db.ExecContext(ctx, "VACUUM INTO ?1", part)
		return errors.Join(err, db.Close())
	})
}

// copyTo writes a file under another name, checks it, and renames it: whatever
// happens on the way, a file called path is whole.
func copyTo(ctx context.Context, op, path string, write func(part string) error) (err error) {
	part := path + ".part"
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fault.Wrap(fault.Internal, op, err)
	}
	defer func() {
		if err != nil {
			os.Remove(part) //nolint:errcheck // what is left of it is no backup and is not named as one
		}
	}()
	if err := os.Remove(part); err != nil && !os.IsNotExist(err) {
		return fault.Wrap(fault.Internal, op, err)
	}
	if err := write(part); err != nil {
		return trouble(op, err)
	}
	if err := sound(ctx, part); err != nil {
		return err
	}
	if err := settle(part); err != nil {
		return fault.Wrap(fault.Internal, op, err)
	}
	return fault.Wrap(fault.Internal, op, os.Rename(part, path))
}

// settle waits until a file is on the disk, which VACUUM INTO does not.
func settle(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// sound says whether a file is an undamaged cellar of this program.
func sound(ctx context.Context, path string) error {
	const op = "check backup"
	if _, err := os.Stat(path); err != nil {
		return fault.New(fault.NotFound, op, "there is no file %s", path)
	}
	db, err := inspect(path)
	if err != nil {
		return fault.Wrap(fault.Internal, op, err)
	}
	defer db.Close() //nolint:errcheck // only read from
	var id int64
	var answer string
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return fault.New(fault.Invalid, op, "%s is not a cellar of this program, or it is damaged (%v)", path, err)
	}
	if int32(id) != applicationID {
		return fault.New(fault.Invalid, op, "%s is not a cellar of this program", path)
	}
	if err := db.QueryRowContext(ctx, "PRAGMA integrity_check").Scan(&answer); err != nil {
		return fault.New(fault.Invalid, op, "%s is damaged (%v)", path, err)
	}
	if answer != "ok" {
		return fault.New(fault.Invalid, op, "%s is damaged: %s", path, answer)
	}
	return nil
}
