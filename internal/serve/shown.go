package serve

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"elevage/internal/advise"
	"elevage/internal/desk"
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
	return replace(filepath.Join(folder, shownFile), func(w io.Writer) error {
		_, err := w.Write(raw)
		return err
	})
}

// replace writes a file, whole or not at all.
func replace(path string, write func(io.Writer) error) error {
	tmp, err := os.CreateTemp(filepath.Dir(path), filepath.Base(path)+".*")
	if err != nil {
		return err
	}
	if err = errors.Join(write(tmp), tmp.Close()); err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		if gone := os.Remove(tmp.Name()); gone != nil && !errors.Is(gone, fs.ErrNotExist) {
			err = errors.Join(err, gone)
		}
	}
	return err
}

// beliefsFile holds the beliefs that were used last. It may be deleted at any time.
const beliefsFile = "beliefs.gob"

// RecallBeliefs puts the beliefs in a folder onto a desk. A file that is not there or
// cannot be read costs only the time to compute them anew.
func RecallBeliefs(folder string, on *desk.Desk) {
	f, err := os.Open(filepath.Join(folder, beliefsFile))
	if err != nil {
		return
	}
	defer f.Close()                            //nolint:errcheck // read only
	_ = on.Recall(bufio.NewReader(f), build()) //nolint:errcheck // as said above
}

// KeepBeliefs writes down the beliefs on a desk if there are new ones.
func KeepBeliefs(folder string, on *desk.Desk) error {
	if folder == "" || !on.Fresh() {
		return nil
	}
	return replace(filepath.Join(folder, beliefsFile), func(w io.Writer) error { return on.Keep(w, build()) })
}

// build names this program by its file: another one may believe by other rules.
func build() string {
	path, err := os.Executable()
	if err != nil {
		return ""
	}
	is, err := os.Stat(path)
	if err != nil {
		return ""
	}
	return fmt.Sprint(is.Size(), is.ModTime().UnixNano())
}
