package cellar

import (
	"bytes"
	"strconv"
	"time"
)

// parseOwn reads a line as AppendLine writes it, without escapes in the
// envelope: nearly every line of every ledger, in a third of the time. Whatever
// else a line is, ok is false and the general way is taken. The body is not looked
// into; Entry.Check does that.
func parseOwn(line []byte) (e Entry, ok bool) {
	s := scanner{rest: line, ok: true}
	e.ID = ID(s.text(`{"id":"`))
	e.Cellar = s.text(`,"cellar":"`)
	e.Kind = Kind(s.text(`,"kind":"`))
	e.Version = s.number(`,"version":`)
	happened := s.text(`,"happened":"`)
	if s.has(`,"zone":"`) {
		e.Happened.Zone = s.text(`,"zone":"`)
	}
	if s.has(`,"order":`) {
		e.Happened.Order = s.number(`,"order":`)
	}
	written := s.text(`,"written":"`)
	for _, f := range [...]struct {
		key  string
		into *string
	}{{`,"by":"`, &e.By}, {`,"device":"`, &e.Device}, {`,"replaces":"`, (*string)(&e.Replaces)}, {`,"overruled":"`, &e.Overruled}} {
		if s.has(f.key) {
			*f.into = s.text(f.key)
		}
	}
	body, found := bytes.CutPrefix(s.rest, []byte(`,"body":{`))
	if !s.ok || !found || !bytes.HasSuffix(body, []byte(`}}`)) {
		return e, false
	}
	e.Body = append(append(make([]byte, 0, len(body)), '{'), body[:len(body)-1]...)
	m, err := ParseMoment(happened)
	if err != nil {
		return e, false
	}
	e.Happened.Time, e.Happened.Precision = m.Time, m.Precision
	if e.Written, err = time.Parse(layoutWritten, written); err != nil {
		return e, false
	}
	e.Written = e.Written.UTC()
	return e, true
}

// scanner reads the members of an envelope one after the other.
type scanner struct {
	rest []byte
	ok   bool
}

func (s *scanner) has(key string) bool { return bytes.HasPrefix(s.rest, []byte(key)) }

// text reads a string without escapes that follows a key and its opening quote.
func (s *scanner) text(key string) string {
	if !s.ok || !s.has(key) {
		s.ok = false
		return ""
	}
	s.rest = s.rest[len(key):]
	end := bytes.IndexByte(s.rest, '"')
	if end < 0 || bytes.IndexByte(s.rest[:end], '\\') >= 0 {
		s.ok = false
		return ""
	}
	for _, c := range s.rest[:end] {
		if c < 0x20 {
			s.ok = false // no JSON
			return ""
		}
	}
	v := string(s.rest[:end])
	s.rest = s.rest[end+1:]
	return v
}

func (s *scanner) number(key string) int {
	if !s.ok || !s.has(key) {
		s.ok = false
		return 0
	}
	s.rest = s.rest[len(key):]
	end := bytes.IndexByte(s.rest, ',')
	if end <= 0 || s.rest[0] == '0' && end > 1 || s.rest[0] == '+' {
		s.ok = false
		return 0
	}
	n, err := strconv.Atoi(string(s.rest[:end]))
	s.ok = err == nil
	s.rest = s.rest[end:]
	return n
}
