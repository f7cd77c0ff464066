package sqlite

import (
	"database/sql"
	"net/url"
	"path/filepath"

	"github.com/ncruces/go-sqlite3/driver" // the one place that names the driver
)

// applicationID marks a file as a cellar of this program: "Élev" as Latin-1 bytes.
const applicationID = 0xC96C6576 - 1<<32

// connect opens the file. Write-ahead logging with full synchronisation: what
// was acknowledged survives a power cut.
func connect(path string, readOnly bool) (*sql.DB, error) {
	q := url.Values{"_pragma": {"busy_timeout(5000)", "journal_mode(wal)", "synchronous(full)", "foreign_keys(on)"}, "_txlock": {"immediate"}}
	if readOnly {
		q.Set("_txlock", "deferred")
	}
	abs, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	u := url.URL{Scheme: "file", Path: filepath.ToSlash(abs), RawQuery: q.Encode()}
	return driver.Open(u.String())
}
