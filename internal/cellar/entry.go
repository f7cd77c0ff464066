package cellar

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"elevage/internal/fault"
)

// An Entry states that something happened. It is never changed and never
// deleted: a mistake is struck out by another entry.
type Entry struct {
	ID        ID
	Cellar    string // key of the cellar whose ledger it belongs to
	Kind      Kind
	Version   int       // of the body's schema, from 1
	Happened  Moment    // when it happened, as exactly as is known
	Written   time.Time // when it was written down, UTC, to the millisecond
	By        string    // who
	Device    string    // on what it was written
	Replaces  ID        // the struck entry that this one puts right; empty for most
	Overruled string    // the words with which a stop was overruled; empty for most
	// Body is the rest, as JSON, kept as it was written: numerals are text, and
	// fields that this program does not know stay in it.
	Body json.RawMessage
}

// Limits on what an entry may hold, so that a fault elsewhere cannot fill a ledger.
const (
	MaxBody = 64 << 10 // bytes of a body
	maxName = 80       // bytes of a name in the envelope
	maxText = 8 << 10  // bytes of words
)

const layoutWritten = "2006-01-02T15:04:05.000Z"

// Check says what is wrong with the envelope, and whether the body is JSON; it
// does not look into the body, which may be of a kind that only a newer program
// knows. The error is fault.Invalid and names the fields.
func (e *Entry) Check() error {
	var c checker
	if _, err := ParseID(string(e.ID)); err != nil || strings.ToLower(string(e.ID)) != string(e.ID) {
		c.bad("id", string(e.ID), "a UUID in lower case")
	}
	if e.Replaces != "" {
		if _, err := ParseID(string(e.Replaces)); err != nil {
			c.bad("replaces", string(e.Replaces), "the id of a struck entry, or nothing")
		}
	}
	c.slug("cellar", e.Cellar, true)
	c.slug("kind", string(e.Kind), true)
	if e.Version < 1 || e.Version > 1<<20 {
		c.bad("version", strconv.Itoa(e.Version), "1 or more")
	}
	if y := e.Happened.Time.Year(); e.Happened.IsZero() || y < 1000 || y > 9999 {
		c.bad("happened", e.Happened.String(), "a day or minute between the years 1000 and 9999")
	}
	if e.Happened.Order != clampOrder(e.Happened.Order) {
		c.bad("order", strconv.Itoa(e.Happened.Order), fmt.Sprintf("%d to %d", -maxOrder, maxOrder))
	}
	if y := e.Written.Year(); y < 1970 || y > 9999 || !e.Written.Equal(e.Written.Truncate(time.Millisecond)) {
		c.bad("written", e.Written.Format(time.RFC3339Nano), "a moment since 1970 in whole milliseconds")
	}
	c.text("zone", e.Happened.Zone, maxName)
	c.text("by", e.By, maxName)
	c.text("device", e.Device, maxName)
	c.text("overruled", e.Overruled, maxText)
	switch {
	case len(e.Body) > MaxBody:
		c.bad("body", fmt.Sprintf("%d bytes", len(e.Body)), fmt.Sprintf("at most %d bytes", MaxBody))
	case !utf8.Valid(e.Body) || !json.Valid(e.Body) || bytes.TrimLeft(e.Body, " \t\r\n")[0] != '{':
		c.bad("body", clip(string(e.Body), 60), "a JSON object in UTF-8")
	}
	return fault.BadFields("check entry", c.fields...)
}

// AppendLine appends the entry as one line of JSON without the line end. Equal
// entries give equal bytes, and ParseLine gives the entry back with its body
// byte for byte.
func (e *Entry) AppendLine(b []byte) []byte {
	str := func(name, value string) {
		b = append(b, ',', '"')
		b = append(append(b, name...), '"', ':')
		b = appendString(b, value)
	}
	b = append(b, `{"id":`...)
	b = appendString(b, string(e.ID))
	str("cellar", e.Cellar)
	str("kind", string(e.Kind))
	b = strconv.AppendInt(append(b, `,"version":`...), int64(e.Version), 10)
	str("happened", e.Happened.String())
	if e.Happened.Zone != "" {
		str("zone", e.Happened.Zone)
	}
	if e.Happened.Order != 0 {
		b = strconv.AppendInt(append(b, `,"order":`...), int64(e.Happened.Order), 10)
	}
	str("written", e.Written.UTC().Format(layoutWritten))
	if e.By != "" {
		str("by", e.By)
	}
	if e.Device != "" {
		str("device", e.Device)
	}
	if e.Replaces != "" {
		str("replaces", string(e.Replaces))
	}
	if e.Overruled != "" {
		str("overruled", e.Overruled)
	}
	if bytes.ContainsAny(e.Body, "\r\n") || len(bytes.TrimSpace(e.Body)) != len(e.Body) {
		// Legal JSON may hold line ends between its tokens; a line may not. Spaces
		// around it would be taken for the line's own.
		str("body_text", string(e.Body))
	} else {
		b = append(append(b, `,"body":`...), e.Body...)
	}
	return append(b, '}')
}

func appendString(b []byte, s string) []byte {
	var buf bytes.Buffer
	enc := json.NewEncoder(&buf)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(s); err != nil {
		panic("cellar: a string cannot fail to encode: " + err.Error())
	}
	return append(b, bytes.TrimSuffix(buf.Bytes(), []byte("\n"))...)
}

// wire is the envelope on the wire.
type wire struct {
	ID        string          `json:"id"`
	Cellar    string          `json:"cellar"`
	Kind      string          `json:"kind"`
	Version   int             `json:"version"`
	Happened  string          `json:"happened"`
	Zone      string          `json:"zone"`
	Order     int             `json:"order"`
	Written   string          `json:"written"`
	By        string          `json:"by"`
	Device    string          `json:"device"`
	Replaces  string          `json:"replaces"`
	Overruled string          `json:"overruled"`
	Body      json.RawMessage `json:"body"`
	BodyText  string          `json:"body_text"`
}

// ParseLine reads what AppendLine writes. An envelope with a field that is not
// known is refused, since dropping it would lose something; bodies may hold
// anything. The entry is checked. Errors are fault.Invalid.
func ParseLine(line []byte) (Entry, error) {
	const op = "read entry"
	if e, ok := parseOwn(line); ok && e.Check() == nil {
		return e, nil
	}
	return parseAny(line, op)
}

func parseAny(line []byte, op string) (Entry, error) {
	var w wire
	dec := json.NewDecoder(bytes.NewReader(line))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&w); err != nil {
		return Entry{}, fault.New(fault.Invalid, op, "this is not an entry: %s", jsonTrouble(err))
	}
	if _, err := dec.Token(); err != io.EOF {
		return Entry{}, fault.New(fault.Invalid, op, "there is more on the line than one entry")
	}
	e := Entry{ID: ID(strings.ToLower(w.ID)), Cellar: w.Cellar, Kind: Kind(w.Kind), Version: w.Version, By: w.By, Device: w.Device,
		Replaces: ID(strings.ToLower(w.Replaces)), Overruled: w.Overruled, Body: w.Body}
	if w.BodyText != "" {
		e.Body = json.RawMessage(w.BodyText)
	}
	var err error
	if e.Happened, err = ParseMoment(w.Happened); err != nil {
		return Entry{}, fault.BadFields(op, fault.Field{Name: "happened", Given: w.Happened, Allowed: "2026-11-03T19:30+01:00, or 2026-11-03+01:00 for a day"})
	}
	e.Happened.Zone, e.Happened.Order = w.Zone, w.Order
	if e.Written, err = time.Parse(time.RFC3339Nano, w.Written); err != nil {
		return Entry{}, fault.BadFields(op, fault.Field{Name: "written", Given: w.Written, Allowed: "2026-11-03T18:30:00.000Z"})
	}
	e.Written = e.Written.UTC()
	return e, e.Check()
}

// MarshalJSON is AppendLine; encoding/json then takes insignificant spaces out
// of the body, so that only AppendLine keeps it byte for byte.
func (e Entry) MarshalJSON() ([]byte, error) { return e.AppendLine(nil), nil }

// UnmarshalJSON is ParseLine.
func (e *Entry) UnmarshalJSON(b []byte) (err error) {
	*e, err = ParseLine(b)
	return err
}

func jsonTrouble(err error) string {
	s := strings.TrimPrefix(err.Error(), "json: ")
	return strings.Replace(s, "unknown field", "the envelope has no field", 1)
}

// Digest tells whether two entries say the same: it is the SHA-256, in
// hexadecimal, of the line with the body's fields in order and without spaces.
// The cellar's key is left out, since a ledger may be moved to another key.
func (e *Entry) Digest() string {
	c := *e
	c.Cellar = ""
	c.Body = canonical(e.Body)
	sum := sha256.Sum256(c.AppendLine(nil))
	return hex.EncodeToString(sum[:])
}

// Same says whether two entries say the same, as Digest does but cheaper.
func (e *Entry) Same(o *Entry) bool {
	if e.ID != o.ID || e.Kind != o.Kind || e.Version != o.Version || e.By != o.By || e.Device != o.Device ||
		e.Replaces != o.Replaces || e.Overruled != o.Overruled || !e.Written.Equal(o.Written) ||
		e.Happened.String() != o.Happened.String() || e.Happened.Zone != o.Happened.Zone || e.Happened.Order != o.Happened.Order {
		return false
	}
	return bytes.Equal(e.Body, o.Body) || bytes.Equal(canonical(e.Body), canonical(o.Body))
}

// canonical is a body with sorted fields and no spaces; numerals stay as they
// were written. What is no JSON stays as it is.
func canonical(body []byte) []byte {
	dec := json.NewDecoder(bytes.NewReader(body))
	dec.UseNumber()
	var v any
	if err := dec.Decode(&v); err != nil {
		return body
	}
	out, err := json.Marshal(v)
	if err != nil {
		return body
	}
	return out
}

// clip shortens a text for a message, on a rune's border.
func clip(s string, n int) string {
	if len(s) <= n {
		return s
	}
	for n > 0 && !utf8.RuneStart(s[n]) {
		n--
	}
	return s[:n] + "…"
}
