// Package sqlite keeps a ledger in one SQLite file, which any SQLite tool can
// read in twenty years: table entry, one row an entry, described in migrations/.
//
//	book, err := sqlite.Open("cellar.db") // made if it is not there
//	defer book.Close()
package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"

	"elevage/internal/cellar"
	"elevage/internal/fault"
	"elevage/internal/ledger"
)

//go:embed migrations/*.sql
var migrations embed.FS

// Book is a ledger in a file: one writer, a few readers.
type Book struct {
	write, read *sql.DB
}

// readers are the connections that read at a time.
const readers = 4

// Open opens the ledger in a file, and makes it when it is not there. A file of
// another program is refused. The caller closes it.
func Open(ctx context.Context, path string) (book *Book, err error) {
	write, err := connect(path, "immediate")
	if err != nil {
		return nil, opening(path, err)
	}
	write.SetMaxOpenConns(1)
	defer func() {
		if err != nil {
			write.Close() //nolint:errcheck // the error that stopped us says more
		}
	}()
	if err := claim(ctx, write); err != nil {
		return nil, opening(path, err)
	}
	if err := migrate(ctx, write); err != nil {
		return nil, opening(path, err)
	}
	read, err := connect(path, "deferred")
	if err != nil {
		return nil, opening(path, err)
	}
	read.SetMaxOpenConns(readers)
	return &Book{write: write, read: read}, nil
}

func opening(path string, err error) error {
	return fault.Wrap(fault.Internal, "open cellar "+path, err)
}

// claim marks a new file as ours, and refuses one that is another program's.
func claim(ctx context.Context, db *sql.DB) error {
	var id int64
	if err := db.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return fault.New(fault.Invalid, "open cellar", "the file is not a cellar of this program, or it is damaged (%v)", err)
	}
	if int32(id) == applicationID {
		return nil
	}
	var tables int
	if err := db.QueryRowContext(ctx, "SELECT count(*) FROM sqlite_schema").Scan(&tables); err != nil {
		return err
	}
	if id != 0 || tables > 0 {
		return fault.New(fault.Invalid, "open cellar", "the file belongs to another program (application id %d, %d tables)", id, tables)
	}
	_, err := db.ExecContext(ctx, fmt.Sprintf("PRAGMA application_id = %d", int32(applicationID)))
	return err
}

func migrate(ctx context.Context, db *sql.DB) error {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, db, files)
	if err != nil {
		return err
	}
	_, err = p.Up(ctx)
	return err
}

// Statements are written for SQLite and PostgreSQL alike. Places are asked for as
// ?1, ?2 …, which SQLite binds by number and which can be rewritten to $1, $2 …;
// SQLite itself binds $n by order of appearance, without an error.
const (
	insertEntry = `INSERT INTO entry (cellar, place, id, digest, kind, happened, written, line)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8) ON CONFLICT (cellar, id, digest) DO NOTHING`
	countID     = `SELECT count(*) FROM entry WHERE cellar = ?1 AND id = ?2`
	lastPlace   = `SELECT coalesce(max(place), 0) FROM entry WHERE cellar = ?1`
	selectAfter = `SELECT line FROM entry WHERE cellar = ?1 AND place > ?2 ORDER BY place`
)

// Append is as Ledger says.
func (b *Book) Append(ctx context.Context, entries []cellar.Entry) ([]ledger.Outcome, error) {
	for i := range entries {
		if err := entries[i].Check(); err != nil {
			return nil, err
		}
	}
	tx, err := b.write.BeginTx(ctx, nil)
	if err != nil {
		return nil, keeping(err)
	}
	defer tx.Rollback() //nolint:errcheck // after a commit it has nothing to do
	out := make([]ledger.Outcome, len(entries))
	places := map[string]int{} // the last place given away, by cellar
	for i := range entries {
		e := &entries[i]
		if _, ok := places[e.Cellar]; !ok {
			var last int
			if err := tx.QueryRowContext(ctx, lastPlace, e.Cellar).Scan(&last); err != nil {
				return nil, keeping(err)
			}
			places[e.Cellar] = last
		}
		if out[i], err = insert(ctx, tx, e, places[e.Cellar]+1); err != nil {
			return nil, keeping(err)
		}
		if out[i] != ledger.Known {
			places[e.Cellar]++
		}
	}
	if err := tx.Commit(); err != nil {
		return nil, keeping(err)
	}
	return out, nil
}

func keeping(err error) error { return trouble("keep entries", err) }

// trouble gives an error of the database a kind: what may pass by itself is
// Unavailable, the rest Internal; what has a kind keeps it.
func trouble(op string, err error) error {
	if err == nil {
		return nil
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) || passing(err) {
		return fault.Wrap(fault.Unavailable, op, err)
	}
	return fault.Wrap(fault.Internal, op, err)
}

func insert(ctx context.Context, tx *sql.Tx, e *cellar.Entry, place int) (ledger.Outcome, error) {
	var before int
	if err := tx.QueryRowContext(ctx, countID, e.Cellar, string(e.ID)).Scan(&before); err != nil {
		return 0, err
	}
	r, err := tx.ExecContext(ctx, insertEntry, e.Cellar, place, string(e.ID), e.Digest(), string(e.Kind),
		e.Happened.Time.UnixMilli(), e.Written.UnixMilli(), string(e.AppendLine(nil)))
	if err != nil {
		return 0, err
	}
	n, err := r.RowsAffected()
	switch {
	case err != nil:
		return 0, err
	case n == 0:
		return ledger.Known, nil
	case before > 0:
		return ledger.Conflicting, nil
	}
	return ledger.New, nil
}

// After is as Ledger says.
func (b *Book) After(ctx context.Context, key string, n int) (entries []cellar.Entry, err error) {
	rows, err := b.read.QueryContext(ctx, selectAfter, key, max(n, 0))
	if err != nil {
		return nil, reading(err)
	}
	defer rows.Close() //nolint:errcheck // rows.Err says it
	for rows.Next() {
		var line sql.RawBytes
		if err := rows.Scan(&line); err != nil {
			return nil, reading(err)
		}
		e, err := cellar.ParseLine(line)
		if err != nil {
			return nil, reading(fmt.Errorf("entry %d of %s: %w", n+len(entries)+1, key, err))
		}
		entries = append(entries, e)
	}
	return entries, reading(rows.Err())
}

func reading(err error) error {
	if err == nil {
		return nil
	}
	if t := trouble("read entries", err); fault.KindOf(t) == fault.Unavailable {
		return t
	}
	// Whatever is wrong with what was kept is not the fault of who reads it.
	return &fault.Error{Kind: fault.Internal, Op: "read entries", Err: err}
}

// Close closes the file.
func (b *Book) Close() error { return errors.Join(b.read.Close(), b.write.Close()) }
