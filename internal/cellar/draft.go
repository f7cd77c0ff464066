package cellar

import (
	"bytes"
	"encoding/json"
	"io"
	"time"

	"elevage/internal/fault"
)

// A Draft is an entry that has not been written yet: what happened and when,
// without id, writer and time of writing.
type Draft struct {
	Happened  Moment
	Body      Body
	Replaces  ID
	Overruled string
}

// Check says what is wrong with a draft; the error is fault.Invalid and names the fields.
func (d Draft) Check() error {
	if d.Body == nil {
		return fault.New(fault.Invalid, "check draft", "the entry says nothing")
	}
	var c checker
	if d.Happened.IsZero() {
		c.bad("happened", "", "a day or a minute")
	}
	c.text("overruled", d.Overruled, maxText)
	d.Body.check(&c)
	return fault.BadFields("check "+string(d.Body.Kind()), c.fields...)
}

// A Pen writes entries: it stamps drafts with who wrote them, on what and when.
type Pen struct {
	Cellar string // key of the ledger
	By     string
	Device string
	Random io.Reader // source of ids: crypto/rand.Reader, or a seeded one in tests
}

// Write turns drafts into entries, all or none. Their ids ascend, so that
// entries written together keep their order. The error is fault.Invalid if a
// draft says something that is not allowed.
func (p Pen) Write(at time.Time, drafts ...Draft) ([]Entry, error) {
	ids, err := NewIDs(at, p.Random, len(drafts))
	if err != nil {
		return nil, fault.Wrap(fault.Internal, "write entries", err)
	}
	entries := make([]Entry, len(drafts))
	for i, d := range drafts {
		if err := d.Check(); err != nil {
			return nil, err
		}
		e := Entry{ID: ids[i], Cellar: p.Cellar, Kind: d.Body.Kind(), Version: SchemaOf(d.Body.Kind()), Happened: d.Happened,
			Written: at.UTC().Truncate(time.Millisecond), By: p.By, Device: p.Device, Replaces: d.Replaces, Overruled: d.Overruled}
		if e.Body, err = encodeBody(d.Body); err != nil {
			return nil, fault.Wrap(fault.Internal, "write entries", err)
		}
		if err := e.Check(); err != nil {
			return nil, err
		}
		entries[i] = e
	}
	return entries, nil
}

func encodeBody(b Body) (json.RawMessage, error) {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(b); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(buf.Bytes(), []byte("\n")), nil
}
