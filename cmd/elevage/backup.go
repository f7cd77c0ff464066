package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"elevage/internal/attach"
	"elevage/internal/fault"
	"elevage/internal/ledger/sqlite"
)

type backupCommand struct {
	data
	File string `arg:"" help:"File to write the copy to."`
}

// Run copies the cellar while it may be in use, and checks the copy.
func (c *backupCommand) Run(d *doors) error {
	ctx := context.Background()
	book, err := sqlite.Open(ctx, filepath.Join(c.folder(), "cellar.db"))
	if err != nil {
		return err
	}
	defer book.Close() //nolint:errcheck // nothing was written
	if _, err := os.Stat(c.File); err == nil {
		return fault.New(fault.Conflict, "back up", "%s is there already; name another file", c.File)
	}
	if err := book.Backup(ctx, c.File); err != nil {
		return err
	}
	fmt.Fprintf(d.out, "Copied to %s, and the copy is sound.\n", c.File)
	return copyFiles(d, filesIn(c.folder()), filesBeside(c.File))
}

type restoreCommand struct {
	data
	File string `arg:"" help:"A copy that \"elevage backup\" made." type:"existingfile"`
}

// Run puts a copy where a cellar is to be; a cellar that is there is not touched.
func (c *restoreCommand) Run(d *doors) error {
	if err := os.MkdirAll(c.folder(), 0o700); err != nil {
		return err
	}
	to := filepath.Join(c.folder(), "cellar.db")
	if err := sqlite.Restore(context.Background(), c.File, to); err != nil {
		return err
	}
	fmt.Fprintf(d.out, "Restored to %s.\n", to)
	return copyFiles(d, filesBeside(c.File), filesIn(c.folder()))
}

// filesBeside is where the pictures and papers of a copied cellar lie.
func filesBeside(file string) string { return file + ".files" }

// copyFiles copies pictures and papers from one folder to another; a cellar without
// any has no folder.
func copyFiles(d *doors, from, to string) error {
	if _, err := os.Stat(from); errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	source, err := attach.Open(from, attach.Limits{})
	if err != nil {
		return err
	}
	if all, err := source.All(); err != nil || len(all) == 0 {
		return err
	}
	target, err := attach.Open(to, attach.Limits{})
	if err != nil {
		return err
	}
	n, err := source.CopyTo(target)
	fmt.Fprintf(d.out, "Pictures and papers copied to %s: %d.\n", to, n)
	return err
}
