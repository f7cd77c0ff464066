package serve

import (
	"encoding/xml"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"

	"elevage/internal/cellar"
	"elevage/internal/demo"
)

// The river of one wine holds what it was made of and what it became, and nothing else.
func TestRiverOfOneWine(t *testing.T) {
	t.Parallel()
	var drafts []cellar.Draft
	do := func(days int, b cellar.Body) {
		drafts = append(drafts, cellar.Draft{Happened: cellar.At(evening.AddDate(0, 0, -days)), Body: b})
	}
	for _, lot := range []string{"a", "b", "c", "apart"} {
		do(30, cellar.LotStarted{Slug: lot, Colour: "red", Malolactic: cellar.MalolacticOpen})
	}
	for _, vessel := range []string{"v1", "v2", "v3", "v4"} {
		do(30, cellar.VesselNamed{Slug: vessel, Type: "carboy", Size: cellar.M("23", "L")})
	}
	part := func(vessel, litres string) cellar.Portion {
		return cellar.Portion{Vessel: vessel, Volume: cellar.M(litres, "L")}
	}
	for vessel, lot := range map[string]string{"v1": "a", "v2": "b", "v4": "apart"} {
		do(20, cellar.Movement{How: "filling", Lot: lot, To: []cellar.Portion{part(vessel, "20")}})
	}
	do(3, cellar.Movement{How: "blending", From: []cellar.Portion{part("v1", "8"), part("v2", "6")}, To: []cellar.Portion{part("v3", "14")}, Becomes: "c"})
	entries, err := cellar.Pen{Cellar: "home", By: "Runa", Random: rand.NewChaCha8([32]byte{6})}.Write(evening, drafts...)
	if err != nil {
		t.Fatal(err)
	}
	v := visit(t, "home", entries)
	reaches := func(path string) (out []string) {
		page := v.get(path)
		if page.Code != 200 {
			t.Fatalf("%s: %d", path, page.Code)
		}
		seen := map[string]bool{}
		for _, m := range regexp.MustCompile(`data-reach="([^"]*)"`).FindAllStringSubmatch(page.Body, -1) {
			if !seen[m[1]] {
				seen[m[1]] = true
				out = append(out, m[1])
			}
		}
		return out
	}
	for path, want := range map[string]string{"/cellar": "a apart b c", "/cellar?of=c": "a b c", "/cellar?of=a": "a c", "/cellar?of=apart": "apart", "/cellar?only=vessels": "a apart b c"} {
		if got := slices.Sorted(slices.Values(reaches(path))); strings.Join(got, " ") != want {
			t.Errorf("%s draws %v, want %s", path, got, want)
		}
	}
	v.get("/cellar?of=c").shows(t, "8.0 L of a, v1", "6.0 L of b, v2")
	for path, want := range map[string][]string{"/cellar?of=zz": {"there is no lot", "zz"}, "/cellar?span=week": {"span", "week", "all, year, season"}, "/cellar?only=red": {"only", "red", "vessels"}} {
		page := v.get(path)
		if page.Code == 200 {
			t.Errorf("%s: %d", path, page.Code)
		}
		page.shows(t, want...)
	}
}

// A long history is drawn wider than the page, each flow from and to a wine that is
// drawn, and the drawing is well formed.
func TestRiverOfThreeYears(t *testing.T) {
	t.Parallel()
	entries, err := demo.Vintages(evening, 12)
	if err != nil {
		t.Fatal(err)
	}
	page := visit(t, demo.Key, entries).get("/cellar").Body
	i, j := strings.Index(page, `<div class="river-pan"`), strings.Index(page, "</figure>")
	if i < 0 || j < i {
		t.Fatal("it does not slide")
	}
	svg := page[i:j]
	svg = svg[strings.Index(svg, "<svg") : strings.Index(svg, "</svg>")+len("</svg>")]
	if err := xml.Unmarshal([]byte(svg), new(struct{})); err != nil {
		t.Error(err)
	}
	drawn := map[string]bool{}
	for _, m := range regexp.MustCompile(`data-reach="([^"]*)"`).FindAllStringSubmatch(svg, -1) {
		drawn[m[1]] = true
	}
	flows := regexp.MustCompile(`data-out="([^"]*)" data-in="([^"]*)"`).FindAllStringSubmatch(svg, -1)
	if len(drawn) != 12 || len(flows) < 60 {
		t.Errorf("%d wines, %d flows", len(drawn), len(flows))
	}
	for _, f := range flows {
		if !drawn[f[1]] || !drawn[f[2]] {
			t.Errorf("a flow from %s to %s: one is not drawn", f[1], f[2])
		}
	}
}
