package serve

import (
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"elevage/internal/advise"
)

// shownFile keeps the windows of the plan that was shown last, so that a program that
// is started each evening still says which of them moved, and why.
const shownFile = "shown.json"

// Shown reads the windows that were shown last from the server's folder; nil if none
// were. A file that cannot be read is as good as none: it only costs the sentence that
// a window moved.
func Shown(folder string) *advise.Today {
	if folder == "" {
		return nil
	}
	raw, err := os.ReadFile(filepath.Join(folder, shownFile))
	if err != nil {
		return nil
	}
	var t advise.Today
	if json.Unmarshal(raw, &t) != nil {
		return nil
	}
	return &t
}

// KeepShown writes them, whole or not at all.
func KeepShown(folder string, t advise.Today) error {
	if folder == "" {
		return nil
	}
	raw, err := json.Marshal(t.Windows())
	if err != nil {
		return err
	}
	tmp, err := os.CreateTemp(folder, shownFile+".*")
	if err != nil {
		return err
	}
	_, err = tmp.Write(raw)
	if err = errors.Join(err, tmp.Close()); err == nil {
		err = os.Rename(tmp.Name(), filepath.Join(folder, shownFile))
	}
	if err != nil {
		if gone := os.Remove(tmp.Name()); gone != nil && !errors.Is(gone, fs.ErrNotExist) {
			err = errors.Join(err, gone)
		}
	}
	return err
}
