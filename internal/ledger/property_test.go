package ledger_test

import (
	"bytes"
	"encoding/json"
	"testing"
	"time"

	"pgregory.net/rapid"

	"elevage/internal/cellar"
	"elevage/internal/ledger"
)

// anyJSON draws a JSON value as some other program might have written it: odd
// numerals, escapes, spaces and line ends between the tokens.
func anyJSON(depth int) *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		space := func() string { return rapid.SampledFrom([]string{"", "", " ", "\t", "\n", "\r\n"}).Draw(t, "space") }
		most := 6
		if depth == 0 {
			most = 4
		}
		switch rapid.IntRange(0, most).Draw(t, "kind") {
		case 0:
			return rapid.SampledFrom([]string{"0", "-0", "3.50", "1e400", "-1E-7", "123456789012345678901234567890", "0.1000"}).Draw(t, "number")
		case 1:
			return rapid.SampledFrom([]string{"true", "false", "null"}).Draw(t, "word")
		case 2:
			return rapid.SampledFrom([]string{`"\u0000"`, `"\ud83c\udf47"`, `"\/"`, `"\ud800"`, "\"\u2028\"", `"<&>"`, `"\\\""`, `""`}).Draw(t, "escape")
		case 3, 4:
			raw, err := json.Marshal(rapid.String().Draw(t, "text"))
			if err != nil {
				t.Fatal(err)
			}
			return string(raw)
		case 5:
			return "[" + space() + anyJSON(depth-1).Draw(t, "element") + space() + "," + space() + anyJSON(depth-1).Draw(t, "element") + space() + "]"
		}
		return anyObject(depth-1).Draw(t, "object")
	})
}

func anyObject(depth int) *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		space := rapid.SampledFrom([]string{"", " ", "\n", "\t "})
		s := "{" + space.Draw(t, "space")
		for i := range rapid.IntRange(0, 3).Draw(t, "members") {
			if i > 0 {
				s += ","
			}
			name := rapid.SampledFrom([]string{"vessel", "what", "value", "body", "body_text", "id", "", "é"}).Draw(t, "name")
			s += `"` + name + `"` + space.Draw(t, "space") + ":" + space.Draw(t, "space") + anyJSON(max(depth, 0)).Draw(t, "value")
		}
		return s + space.Draw(t, "space") + "}"
	})
}

func anyMoment(t *rapid.T) cellar.Moment {
	zone := time.FixedZone("", 60*rapid.IntRange(-14*60, 14*60).Draw(t, "offset"))
	at := time.Date(rapid.IntRange(1001, 9998).Draw(t, "year"), time.Month(rapid.IntRange(1, 12).Draw(t, "month")), rapid.IntRange(1, 31).Draw(t, "day"),
		rapid.IntRange(0, 23).Draw(t, "hour"), rapid.IntRange(0, 59).Draw(t, "minute"), 0, 0, zone)
	m := cellar.At(at)
	switch rapid.IntRange(0, 2).Draw(t, "precision") {
	case 1:
		m = cellar.On(at)
	case 2:
		m.Time, m.Precision = at.Add(time.Duration(rapid.IntRange(0, 59).Draw(t, "second"))*time.Second), cellar.Second
	}
	m.Zone = rapid.SampledFrom([]string{"", "Europe/Vienna", "somewhere \"else\""}).Draw(t, "zone")
	m.Order = rapid.SampledFrom([]int{0, 0, 1, -719, 719}).Draw(t, "order")
	return m
}

func anyEntry(t *rapid.T) cellar.Entry {
	hex := func(n int) string {
		return rapid.StringOfN(rapid.RuneFrom([]rune("0123456789abcdef")), n, n, n).Draw(t, "hex")
	}
	id := func() cellar.ID {
		return cellar.ID(hex(8) + "-" + hex(4) + "-" + hex(4) + "-" + hex(4) + "-" + hex(12))
	}
	e := cellar.Entry{ID: id(), Cellar: rapid.SampledFrom([]string{"home", "next-door"}).Draw(t, "cellar"),
		Kind:     cellar.Kind(rapid.SampledFrom([]string{"reading", "strike", "moon-phase", "x9"}).Draw(t, "kind")),
		Version:  rapid.SampledFrom([]int{1, 2, 99}).Draw(t, "version"),
		Happened: anyMoment(t),
		Written:  time.UnixMilli(rapid.Int64Range(0, 1e14).Draw(t, "written")).UTC(),
		By:       rapid.SampledFrom([]string{"", "Mira", "Zoë <\"&\\>", "a\tb"}).Draw(t, "by"),
		Device:   rapid.SampledFrom([]string{"", "phone", "\u200fיין\u200f"}).Draw(t, "device"),
		Body:     json.RawMessage(anyObject(3).Draw(t, "body")),
	}
	if rapid.Bool().Draw(t, "replaces") {
		e.Replaces = id()
	}
	e.Overruled = rapid.SampledFrom([]string{"", "weighed twice", "line\nend"}).Draw(t, "overruled")
	pad := rapid.SampledFrom([]string{"", "", " ", "\n", "\t"})
	e.Body = json.RawMessage(pad.Draw(t, "before") + string(e.Body) + pad.Draw(t, "after"))
	return e
}

// Whatever an entry holds that the ledger takes, it comes back from a file byte
// for byte, kinds and fields of a newer program among it, and a ledger says the
// same of the copy as of the first.
func TestLinesRoundTripProperty(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var entries []cellar.Entry
		for range rapid.IntRange(1, 4).Draw(t, "entries") {
			e := anyEntry(t)
			if err := e.Check(); err != nil {
				t.Skip(err) // a text that the envelope does not take
			}
			entries = append(entries, e)
		}
		var file bytes.Buffer
		if err := ledger.WriteLines(&file, entries); err != nil {
			t.Fatal(err)
		}
		text := file.String()
		back, bad, err := ledger.ReadLines(&file, "")
		if err != nil || len(bad) > 0 || len(back) != len(entries) {
			t.Fatalf("%d entries became %d: %v %v\n%s", len(entries), len(back), bad, err, text)
		}
		for i := range entries {
			if !bytes.Equal(back[i].Body, entries[i].Body) {
				t.Errorf("body %q came back as %q", entries[i].Body, back[i].Body)
			}
			if !back[i].Same(&entries[i]) || back[i].Digest() != entries[i].Digest() {
				t.Errorf("another entry came back: %s", back[i].AppendLine(nil))
			}
		}
		var again bytes.Buffer
		if err := ledger.WriteLines(&again, back); err != nil || again.String() != text {
			t.Errorf("written again\n%s\nwas\n%s", again.String(), text)
		}
		book := ledger.NewMemory()
		if _, err := book.Append(t.Context(), entries); err != nil {
			t.Fatal(err)
		}
		outcomes, err := book.Append(t.Context(), back)
		if err != nil {
			t.Fatal(err)
		}
		for i, o := range outcomes {
			if o != ledger.Known {
				t.Errorf("entry %d is %s the second time", i, o)
			}
		}
	})
}
