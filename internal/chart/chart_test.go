package chart

import (
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

var sizes = map[string]Size{"narrow": Narrow, "wide": Wide}

// TestGolden keeps the drawings as they were last looked at (go test -update).
func TestGolden(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"fan", "fan-log", "line", "states", "spark", "three", "ranks", "river"} {
		for sizeName, size := range sizes {
			file := filepath.Join("testdata", name+"-"+sizeName+".svg")
			got := samples()[name].SVG(size)
			if *update {
				if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				continue
			}
			want, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(string(want), got); d != "" {
				t.Errorf("%s differs (-want +got):\n%s", file, d)
			}
		}
	}
}

// word is a text element as it stands in a drawing.
type word struct {
	s string
	b box
}

// read parses a drawing strictly and returns its words and everything it says
// about itself; it fails on what no drawing of ours may hold.
func read(t *testing.T, svg string) (words []word, title, desc string) {
	t.Helper()
	dec := xml.NewDecoder(strings.NewReader(svg))
	ids := map[string]bool{}
	depth, inText := 0, -1
	var at word
	var size, x, y float64
	anchor, path := "", []string{}
	for {
		tok, err := dec.Token()
		if err == io.EOF {
			return words, title, desc
		}
		if err != nil {
			t.Fatalf("not well formed: %v\n%s", err, svg)
		}
		switch e := tok.(type) {
		case xml.StartElement:
			depth++
			path = append(path, e.Name.Local)
			if depth == 1 && e.Name.Local != "svg" {
				t.Fatalf("begins with <%s>", e.Name.Local)
			}
			if e.Name.Local == "script" || e.Name.Local == "style" || e.Name.Local == "foreignObject" {
				t.Errorf("holds <%s>", e.Name.Local)
			}
			for _, a := range e.Attr {
				n := a.Name.Local
				if n == "style" || strings.HasPrefix(n, "on") || n == "href" {
					t.Errorf("attribute %s=%q has no place in a drawing", n, a.Value)
				}
				if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
					t.Errorf("attribute %s=%q is not a number", n, a.Value)
				}
				if n == "id" {
					if ids[a.Value] {
						t.Errorf("id %q twice", a.Value)
					}
					ids[a.Value] = true
				}
			}
			if e.Name.Local == "text" {
				inText, at, anchor, size = depth, word{}, "start", textSize
				for _, a := range e.Attr {
					switch a.Name.Local {
					case "x":
						x, _ = strconv.ParseFloat(a.Value, 64)
					case "y":
						y, _ = strconv.ParseFloat(a.Value, 64)
					case "text-anchor":
						anchor = a.Value
					case "font-size":
						size, _ = strconv.ParseFloat(a.Value, 64)
					}
				}
			}
		case xml.EndElement:
			if inText == depth {
				at.b = labelBox(x, y, anchor, at.s, size)
				words, inText = append(words, at), -1
			}
			depth--
			path = path[:len(path)-1]
		case xml.CharData:
			switch {
			case inText > 0:
				at.s += string(e)
			case len(path) == 2 && path[1] == "title":
				title += string(e)
			case len(path) == 2 && path[1] == "desc":
				desc += string(e)
			}
		}
	}
}

// TestEveryChartSaysWhatItIs: WCAG 1.1.1 wants a text alternative for each drawing.
func TestEveryChartSaysWhatItIs(t *testing.T) {
	t.Parallel()
	for name, c := range samples() {
		for sizeName, size := range sizes {
			svg := c.SVG(size)
			_, title, desc := read(t, svg)
			if title != c.Name() || desc == "" {
				t.Errorf("%s %s: title %q, description %q", name, sizeName, title, desc)
			}
			want := `role="img"`
			if name == "river" { // has links in it
				want = `role="group"`
			}
			if !strings.Contains(svg[:400], want) {
				t.Errorf("%s: no role", name)
			}
		}
		tab := c.Table()
		if tab.Caption == "" || len(tab.Head) == 0 {
			t.Errorf("%s: table without caption or head", name)
		}
		for i, r := range tab.Rows {
			if len(r) != len(tab.Head) {
				t.Errorf("%s: row %d has %d cells under %d heads", name, i, len(r), len(tab.Head))
			}
		}
	}
}

// TestWordsNeverOverlap checks the drawings, crowded ones too, by the room that
// words were reckoned to need; the browser test of ui checks it by the true type.
func TestWordsNeverOverlap(t *testing.T) {
	t.Parallel()
	for name, c := range samples() {
		for sizeName, size := range sizes {
			words, _, _ := read(t, c.SVG(size))
			if name != "spark" && len(words) == 0 {
				t.Errorf("%s %s: no words at all", name, sizeName)
			}
			for i, a := range words {
				if a.b.x0 < -2 || a.b.x1 > size.width()+2 {
					t.Errorf("%s %s: %q leaves the drawing: %.1f to %.1f", name, sizeName, a.s, a.b.x0, a.b.x1)
				}
				for _, b := range words[:i] {
					if a.b.meets(b.b) {
						t.Errorf("%s %s: %q lies on %q", name, sizeName, a.s, b.s)
					}
				}
			}
		}
	}
}

// TestNoWordsUnderToday: neither names nor what is expected are written across the line of
// today, however close to it they belong; and none of them goes missing for it.
func TestNoWordsUnderToday(t *testing.T) {
	t.Parallel()
	near := River{ID: "near", Title: "Near today", Now: now, To: in(45)}
	for i, days := range []float64{-40, -6, -2, -1} {
		id := fmt.Sprintf("v%d", i)
		near.Reaches = append(near.Reaches, Reach{ID: id, Name: "Blaufränkisch, Steep Acre"})
		near.Bands = append(near.Bands, Band{ID: id, Name: "demijohn nine", Reach: id, Points: []RiverPoint{{in(days), 20}},
			Marks: []RiverMark{{At: in(float64(i) + 1), Label: "malolactic over", Shape: Diamond}}})
	}
	for name, c := range map[string]River{"sample": samples()["river"].(River), "near": near} {
		for sizeName, size := range sizes {
			p := c.plan(size)
			words, _, _ := read(t, c.SVG(size))
			over := 0
			for _, w := range words {
				if w.s == "malolactic over" {
					over++
				}
				if w.b.x0 < p.nowX && p.nowX < w.b.x1 && w.b.y1 > nowTop && w.b.y1 < p.y1 {
					t.Errorf("%s %s: %q lies on the line of today", name, sizeName, w.s)
				}
			}
			if name == "near" && size == Wide && over < len(near.Bands) {
				t.Errorf("%s %s: %d of %d expected ends are named", name, sizeName, over, len(near.Bands))
			}
		}
	}
}

// TestCrowdedStillMarksEverything: words may go, marks may not.
func TestCrowdedStillMarksEverything(t *testing.T) {
	t.Parallel()
	c := crowded()
	svg := c.SVG(Narrow)
	if n := strings.Count(svg, "turn "); n < len(c.Marks) {
		t.Errorf("%d of %d marks are drawn", n, len(c.Marks))
	}
	rows := c.Table().Rows
	marks, readings := 0, 0
	for _, r := range rows {
		switch {
		case strings.HasPrefix(r[1], "stirred"):
			marks++
		case strings.HasPrefix(r[1], "kit"):
			readings++
		}
	}
	if marks != len(c.Marks) || readings != len(c.Readings) {
		t.Errorf("table holds %d marks of %d and %d readings of %d", marks, len(c.Marks), readings, len(c.Readings))
	}
}

// TestKindsDifferInShape: colour alone never tells kinds apart.
func TestKindsDifferInShape(t *testing.T) {
	t.Parallel()
	keys := kinds([]Reading{{Kind: "a"}, {Kind: "b", Shape: Disc}, {Kind: "c"}, {Kind: "a"}, {Kind: "d"}})
	seen := map[Shape]string{}
	for _, k := range keys {
		if other, dup := seen[k.shape]; dup {
			t.Errorf("%q and %q share a shape", k.kind, other)
		}
		seen[k.shape] = k.kind
	}
	looks := map[string]bool{}
	for _, k := range kinds(crowded().Readings) {
		looks[fmt.Sprint(k.shape, k.how)] = true
	}
	if len(looks) != 14 {
		t.Errorf("14 kinds have %d looks", len(looks))
	}
	if len(keys) != 4 || seen[Disc] != "b" {
		t.Errorf("got %v: four kinds, and the one that asked for a disc has it", keys)
	}
}

func TestBadNumbersDrawSomething(t *testing.T) {
	t.Parallel()
	nan, inf := math.NaN(), math.Inf(1)
	bad := []Chart{
		Fan{}, Line{}, States{}, Histogram{}, Spark{}, Multiple{}, River{},
		Fan{Points: []FanPoint{{At: now, Q05: nan, Q50: inf, Q95: -inf}, {At: now, Q50: 1}}, Now: now, Log: true},
		Fan{Points: []FanPoint{{At: in(3)}, {At: in(-3)}}, Now: now, From: in(9), To: in(-9)},
		Fan{Points: fall(-9, 9, 1), Now: in(400), Finish: &Span{From: in(800)}, Limit: &Limit{Value: nan}},
		Fan{Readings: []Reading{{At: now, Value: nan, Lo: nan, Hi: nan}, {At: now, Value: inf, Lo: -inf, Hi: inf}}, Now: now},
		Line{Series: []Series{{"a", nil}, {"b", []LinePoint{{At: now, Value: nan}}}}, Now: now},
		States{Parts: []State{{"a", nan}, {"b", -1}, {"c", inf}}},
		Histogram{Bins: []Bin{{"a", nan}, {"b", -3}, {"c", inf}}, Low: nan, High: 2},
		River{Bands: []Band{{ID: "a", Points: []RiverPoint{{now, nan}, {now, inf}, {in(1), -4}}}, {ID: "a"}, {ID: "b"}}, Now: now,
			Flows: []Flow{{"a", "b", now, nan}, {"a", "a", now, 3}, {"x", "y", now, 3}, {"a", "b", in(-900), 3}}},
	}
	for i, c := range bad {
		for _, size := range sizes {
			read(t, c.SVG(size))
			c.Table()
		}
		_ = i
	}
}

// FuzzWords puts any words anywhere: the drawing stays well formed and the words
// come back as they were, save for what XML does not allow.
func FuzzWords(f *testing.F) {
	for _, s := range []string{"", "b2", `"><script>alert(1)</script>`, "SO2 & CO2", "</text></svg>", "\x00\xff\ufffe", "ő漢字", strings.Repeat("long ", 200), "]]>", "x\ny"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		fan := sampleFan()
		fan.ID, fan.Title, fan.Quantity, fan.Unit, fan.Limit.Label, fan.Finish.Label = s, s, s, s, s, s
		fan.Marks[0].Label, fan.Readings[0].Kind = s, s
		river := sampleRiver()
		river.Bands[0].Name, river.Bands[0].Marks[0].Label, river.Title = s, s, s
		states := States{ID: s, Title: s, Parts: []State{{s, 0.5}, {"b", 0.5}}}
		hist := Histogram{ID: s, Title: s, Across: s, Up: s, Bins: []Bin{{s, 3}}}
		line := Line{ID: s, Title: s, Quantity: s, Unit: s, Series: []Series{{s, []LinePoint{{now, 1, 0, 2}, {in(3), 2, 1, 3}}}, {s + "2", []LinePoint{{now, 1, 0, 2}}}}, Now: now}
		many := Multiple{ID: s, Title: s, Quantity: s, Panels: []Panel{{Name: s, Points: fall(-3, 3, 1)}}, Now: now}
		for _, c := range []Chart{fan, river, states, hist, line, many, Spark{ID: s, Title: s, Unit: s}} {
			words, title, _ := read(t, c.SVG(Narrow))
			if want := plainXML(s); title != want {
				t.Errorf("title %q came back as %q", want, title)
			}
			for i, a := range words {
				for _, b := range words[:i] {
					if a.b.meets(b.b) {
						t.Errorf("%T: %q lies on %q", c, a.s, b.s)
					}
				}
			}
		}
	})
}

// plainXML is what a parser hands back of our escaping.
func plainXML(s string) string {
	r := strings.NewReplacer("&lt;", "<", "&gt;", ">", "&#34;", `"`, "&#39;", "'", "&amp;", "&")
	return r.Replace(attr(s))
}

func BenchmarkFan(b *testing.B) {
	c := sampleFan()
	c.Points = fall(-34, 30, 1)
	for b.Loop() {
		_ = c.SVG(Wide)
	}
}

func BenchmarkRiver(b *testing.B) {
	c := sampleRiver()
	for b.Loop() {
		_ = c.SVG(Wide)
	}
}
