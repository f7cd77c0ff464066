package sheet

import (
	"bytes"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"elevage/internal/cellar"
)

var now = time.Date(2026, 11, 25, 20, 0, 0, 0, time.FixedZone("", 3600))

func pen() cellar.Pen {
	return cellar.Pen{Cellar: "test", By: "Mira", Device: "phone", Random: rand.NewChaCha8([32]byte(bytes.Repeat([]byte{9}, 32)))}
}

func written(t *testing.T, bodies ...cellar.Body) []cellar.Entry {
	t.Helper()
	p := pen()
	var out []cellar.Entry
	for i, b := range bodies {
		d := cellar.Draft{Happened: cellar.At(now.Add(time.Duration(i-9) * time.Hour)), Body: b}
		if i%2 == 1 {
			d.Happened = cellar.On(now.AddDate(0, 0, -i))
			d.Happened.Order = i
			d.Happened.Zone = "Europe/Vienna"
		}
		e, err := p.Write(now, d)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, e...)
	}
	return out
}

// What is written and read back is the same entry, to the digest: value as
// typed, unit, zone, order, circumstances, and words that begin like a formula.
func TestRoundTripIsExact(t *testing.T) {
	entries := written(t,
		cellar.Reading{Vessel: "b2", What: cellar.ReadPH, Value: cellar.M("3.50", "pH"), Instrument: "meter", Control: true},
		cellar.Reading{Vessel: "b2", What: cellar.ReadTA, Value: &cellar.Measure{Value: "6,10", Unit: "g/L", Spread: "0.1"}, As: "tartaric", EndPoint: "8.2", Degassed: true, Repeats: 2},
		cellar.Reading{Vessel: "g1", What: cellar.ReadTemperature, Value: cellar.M("66", "°F"), Words: "=SUM(A1), +1, \"quoted\"\nsecond line"},
		cellar.Reading{Vessel: "c1", What: cellar.ReadChromatogram, Value: cellar.M("faint", ""), Lab: "-@lab"},
		cellar.Reading{Vessel: "c1", What: cellar.ReadMalic, Value: cellar.M("<0.1", "g/L"), Drawn: "2026-11-01+01:00", Method: "strip"},
		cellar.Reading{Lot: "merlot", What: cellar.ReadDensity, Value: cellar.M("22.5", "°Brix"), Warm: cellar.M("18", "°C"), Session: "s1"},
	)
	var b bytes.Buffer
	if err := Write(&b, append(entries, written(t, cellar.Note{Words: "not a reading"})...)); err != nil {
		t.Fatal(err)
	}
	sheet := b.String()
	back, bad, err := Read(&b, pen(), now.AddDate(0, 1, 0))
	if err != nil || len(bad) > 0 {
		t.Fatalf("%v %v\n%s", err, bad, sheet)
	}
	if len(back) != len(entries) {
		t.Fatalf("%d entries back, want %d\n%s", len(back), len(entries), sheet)
	}
	digests := map[string]bool{}
	for _, e := range back {
		digests[e.Digest()] = true
	}
	for _, e := range entries {
		if !digests[e.Digest()] {
			t.Errorf("lost: %s\n%s", e.AppendLine(nil), sheet)
		}
	}
}

func TestAForeignSheetReadTwiceIsOne(t *testing.T) {
	const sheet = "\ufeffHappened,Vessel,pH,TA [g/L],chromatogram\n2026-11-03,b2,3.47,6.1,\n2026-11-03 19:30,c1,,,Faint\n"
	first, bad, err := Read(strings.NewReader(sheet), pen(), now)
	if err != nil || len(bad) > 0 || len(first) != 3 {
		t.Fatalf("%d entries, %v, %v", len(first), bad, err)
	}
	again, _, err := Read(strings.NewReader(sheet), pen(), now.AddDate(0, 0, 9))
	if err != nil {
		t.Fatal(err)
	}
	for i := range first {
		if first[i].Digest() != again[i].Digest() {
			t.Errorf("another entry the second time: %s, %s", first[i].AppendLine(nil), again[i].AppendLine(nil))
		}
	}
}

func TestSemicolonsAndDecimalCommas(t *testing.T) {
	entries, bad, err := Read(strings.NewReader("happened;vessel;pH\n2026-11-03;b2;3,47\n"), pen(), now)
	if err != nil || len(bad) > 0 || len(entries) != 1 || !strings.Contains(string(entries[0].Body), `"3,47"`) {
		t.Errorf("%v %v %v", entries, bad, err)
	}
}

func TestBadRowsAreToldAndLeftOut(t *testing.T) {
	const sheet = "happened,vessel,pH,temperature [°F],control\n" +
		"2026-11-03,b2,3.47,,\n" +
		"yesterday,b2,3.47,,\n" +
		"2026-11-03,b2,34x,,\n" +
		"2026-11-03,b2,,,\n" +
		"2026-11-03,b2,3.4,,maybe\n" +
		"2026-11-03,,3.4,,\n" +
		"2026-11-03,b2,3.6,66,\n"
	entries, bad, err := Read(strings.NewReader(sheet), pen(), now)
	if err != nil {
		t.Fatal(err)
	}
	if len(entries) != 3 {
		t.Errorf("%d entries, want 3", len(entries))
	}
	want := []struct {
		line          int
		column, given string
	}{{3, "happened", "yesterday"}, {4, "pH", "34x"}, {5, "row", ""}, {6, "control", "maybe"}, {7, "pH", ""}}
	if len(bad) != len(want) {
		t.Fatalf("bad rows %+v", bad)
	}
	for i, w := range want {
		if bad[i].Line != w.line || bad[i].Column != w.column || bad[i].Given != w.given || bad[i].Allowed == "" {
			t.Errorf("bad row %d is %+v, want %+v", i, bad[i], w)
		}
	}
}

func TestBadHeadersAreNamed(t *testing.T) {
	for _, head := range []string{"", "happened,vessel", "happened,pH", "happened,vessel,pH,mood", "happened,vessel,temperature [furlong]"} {
		if _, _, err := Read(strings.NewReader(head+"\n2026-11-03,b2,3.4\n"), pen(), now); err == nil {
			t.Errorf("header %q was taken", head)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add("happened,vessel,pH\n2026-11-03,b2,3.47\n")
	f.Add("happened,vessel,TA [g/L],words\n\"2026-11-03,b2\n")
	f.Add("\xef\xbb\xbfhappened;vessel;pH\n")
	f.Fuzz(func(t *testing.T, text string) {
		entries, _, err := Read(strings.NewReader(text), pen(), now)
		if err != nil {
			return
		}
		for _, e := range entries {
			if err := e.Check(); err != nil {
				t.Errorf("%q gave an entry that cannot be kept: %v", text, err)
			}
		}
	})
}
