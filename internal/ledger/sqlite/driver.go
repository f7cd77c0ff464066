package sqlite

import (
	"database/sql"
	"errors"
	"net/url"
	"path/filepath"

	// This file is the one place that names the driver.
	"github.com/ncruces/go-sqlite3"
	"github.com/ncruces/go-sqlite3/driver"
)

// applicationID marks a file as a cellar of this program: "Élev" as Latin-1 bytes.
const applicationID = 0xC96C6576 - 1<<32

// connect opens the file to read and write. Write-ahead logging with full
// synchronisation: what was acknowledged survives a power cut.
func connect(path, txlock string) (*sql.DB, error) {
	return open(path, url.Values{"_txlock": {txlock},
		"_pragma": {"busy_timeout(5000)", "journal_mode(wal)", "synchronous(full)", "foreign_keys(on)"}})
}

// inspect opens a file to read it as it is, leaving nothing beside it.
func inspect(path string) (*sql.DB, error) {
	return open(path, url.Values{"mode": {"ro"}, "_pragma": {"busy_timeout(5000)"}})
}

func open(path string, options url.Values) (*sql.DB, error) {
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	name := filepath.ToSlash(abs)
	if name[0] != '/' {
		name = "/" + name // a drive letter, on Windows
	}
	u := url.URL{Scheme: "file", Path: name, RawQuery: options.Encode()}
	return driver.Open(u.String())
}

// passing says whether an error may be gone when the same is tried again.
func passing(err error) bool {
	for _, code := range []sqlite3.ErrorCode{sqlite3.BUSY, sqlite3.LOCKED, sqlite3.FULL, sqlite3.INTERRUPT} {
		if errors.Is(err, code) {
			return true
		}
	}
	return false
}
