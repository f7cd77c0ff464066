package ledger

import (
	"bufio"
	"bytes"
	"fmt"
	"io"

	"elevage/internal/cellar"
	"elevage/internal/fault"
)

// WriteLines writes entries as JSON Lines: one entry a line, its body byte for
// byte as it was written. What ReadLines reads back is the same to the byte.
func WriteLines(w io.Writer, entries []cellar.Entry) error {
	b := bufio.NewWriter(w)
	var line []byte
	for i := range entries {
		line = append(entries[i].AppendLine(line[:0]), '\n')
		if _, err := b.Write(line); err != nil {
			return err
		}
	}
	return b.Flush()
}

// maxLine is the longest line that is read; an entry is far shorter.
const maxLine = 1 << 20

// ReadLines reads what WriteLines writes. A line that cannot be read is told
// with its number and left out; the others are read all the same. The key, if
// it is not empty, becomes the cellar of every entry.
func ReadLines(r io.Reader, key string) (entries []cellar.Entry, bad []fault.Field, err error) {
	scan := bufio.NewScanner(r)
	scan.Buffer(make([]byte, 0, 64<<10), maxLine)
	for n := 1; scan.Scan(); n++ {
		line := bytes.TrimSpace(scan.Bytes())
		if len(line) == 0 {
			continue
		}
		e, err := cellar.ParseLine(bytes.Clone(line))
		if err != nil {
			bad = append(bad, badLine(n, line, err)...)
			continue
		}
		if key != "" {
			e.Cellar = key
		}
		entries = append(entries, e)
	}
	if err := scan.Err(); err != nil {
		return entries, bad, fault.New(fault.Invalid, "read entries", "the file cannot be read to its end: %v", err)
	}
	return entries, bad, nil
}

func badLine(n int, line []byte, err error) []fault.Field {
	fields := fault.FieldsOf(err)
	if len(fields) == 0 {
		const shown = 60
		given := string(line)
		if len(given) > shown {
			given = given[:shown] + "…"
		}
		return []fault.Field{{Name: "entry", Line: n, Given: given, Allowed: "an entry as export writes it", Hint: fault.Message(err)}}
	}
	out := make([]fault.Field, len(fields))
	for i, f := range fields {
		f.Line, f.Column = n, f.Name
		out[i] = f
	}
	return out
}

// Summary counts outcomes: "12 new, 3 known, 0 conflicting".
func Summary(outcomes []Outcome) string {
	var n [Conflicting + 1]int
	for _, o := range outcomes {
		n[o]++
	}
	return fmt.Sprintf("%d new, %d known, %d conflicting", n[New], n[Known], n[Conflicting])
}
