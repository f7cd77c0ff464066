package ledger

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"strings"

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
const maxLine = 4 * cellar.MaxBody

// ReadLines reads what WriteLines writes. A line that cannot be read is told
// with its number and left out; the others are read all the same. The key, if
// it is not empty, becomes the cellar of every entry.
func ReadLines(r io.Reader, key string) (entries []cellar.Entry, bad []fault.Field, err error) {
	in := bufio.NewReaderSize(r, 64<<10)
	for n := 1; ; n++ {
		line, err := readLine(in)
		if text := bytes.TrimSpace(bytes.TrimPrefix(line, []byte("\ufeff"))); len(text) > 0 {
			e, wrong := readEntry(n, text)
			if wrong != nil {
				bad = append(bad, wrong...)
			} else {
				if key != "" {
					e.Cellar = key
				}
				entries = append(entries, e)
			}
		}
		if err == io.EOF {
			return entries, bad, nil
		}
		if err != nil {
			return entries, bad, fault.New(fault.Invalid, "read entries", "the file cannot be read to its end: %v", err)
		}
	}
}

// readLine reads up to the line's end, and lets go of what is beyond maxLine.
func readLine(in *bufio.Reader) (line []byte, err error) {
	for {
		part, err := in.ReadSlice('\n')
		if room := maxLine + 1 - len(line); room > 0 {
			line = append(line, part[:min(len(part), room)]...)
		}
		if err != bufio.ErrBufferFull {
			return line, err
		}
	}
}

func readEntry(n int, text []byte) (cellar.Entry, []fault.Field) {
	if len(text) > maxLine {
		return cellar.Entry{}, []fault.Field{{Name: "entry", Line: n, Given: string(text[:40]) + "…", Allowed: fmt.Sprintf("a line of at most %d bytes", maxLine)}}
	}
	e, err := cellar.ParseLine(text)
	if err != nil {
		return e, badLine(n, text, err)
	}
	return e, nil
}

func badLine(n int, line []byte, err error) []fault.Field {
	fields := fault.FieldsOf(err)
	if len(fields) == 0 {
		const shown = 60
		given := strings.ToValidUTF8(string(line[:min(len(line), shown)]), "")
		if len(line) > shown {
			given += "…"
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
