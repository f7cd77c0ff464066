package serve

import (
	"encoding/json"
	"net/http/httptest"
	"slices"
	"strings"
	"testing"

	"elevage/internal/advise"
	"elevage/internal/cellar"
)

// saysSince are the entries after the first n, each in a sentence.
func (v *visitor) saysSince(t *testing.T, n int) []string {
	t.Helper()
	state := cellar.Fold(v.entries(t), cellar.Options{Now: v.now()})
	var out []string
	for _, e := range v.entries(t)[n:] {
		out = append(out, cellar.Sentence(state.Record(e.ID)))
	}
	slices.Sort(out)
	return out
}

func (v *visitor) send1(t *testing.T, method, path, body string) leaf {
	t.Helper()
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.Header.Set("Content-Type", "application/json")
	return v.send(r)
}

// One page, one button: density, temperature and cap of every vessel that ferments.
// Programs get the same list, and the same entries come of the same answers.
func TestRounds(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	p := v.get("/rounds")
	p.shows(t, "bin2, Nebbiolo", "Density", "Temperature", "Cap worked")
	if strings.Contains(p.text(), "d1, Syrah") {
		t.Error("a dry wine is among the rounds")
	}
	var list []RoundJSON
	if err := json.Unmarshal([]byte(v.send1(t, "GET", "/api/v1/rounds", "").Body), &list); err != nil {
		t.Fatal(err)
	}
	for _, one := range list {
		if p.field("density-"+one.Vessel) == "" || (p.field("cap-"+one.Vessel) != "") != one.OnSkins {
			t.Errorf("the page does not ask as the API lists: %+v", one)
		}
	}
	if len(list) != strings.Count(p.Body, `id="f-density-`) || len(list) == 0 || !list[0].OnSkins || list[0].Density == "" {
		t.Errorf("%+v", list)
	}
	// A slip in one box keeps what was typed in the others, and keeps nothing.
	before := len(v.entries(t))
	bad := v.post("/rounds", q("density-bin2", "1.0x", "temperature-bin2", "24", "cap-bin2", "yes", "day", "2026-11-25", "hour", "19:00"))
	if bad.Code != 422 || bad.wrong("density-bin2") == "" || bad.value("temperature-bin2") != "24" || len(v.entries(t)) != before {
		t.Errorf("%d: %q, %q", bad.Code, bad.wrong("density-bin2"), bad.value("temperature-bin2"))
	}
	v.keeps(t, "/rounds", q("density-bin2", "1.018", "temperature-bin2", "24", "cap-bin2", "yes", "day", "2026-11-25", "hour", "19:00"))
	byPage := v.saysSince(t, before)
	if len(byPage) != 3 {
		t.Fatalf("kept %v", byPage)
	}
	again := visitDemo(t)
	answer := again.send1(t, "POST", "/api/v1/rounds", `{"at":"2026-11-25T19:00:00+01:00","rows":[{"vessel":"bin2","density":"1.018","temperature":"24","cap":true}]}`)
	if answer.Code != 200 {
		t.Fatalf("%d: %s", answer.Code, answer.Body)
	}
	if byAPI := again.saysSince(t, before); !slices.Equal(byPage, byAPI) {
		t.Errorf("by the page %v, by the API %v", byPage, byAPI)
	}
	if e, f := v.entries(t)[before], again.entries(t)[before]; !e.Happened.Time.Equal(f.Happened.Time) {
		t.Errorf("by the page at %v, by the API at %v", e.Happened, f.Happened)
	}
	if wrong := again.send1(t, "POST", "/api/v1/rounds", `{"rows":[{"vessel":"d1","density":"0.995"}]}`); wrong.Code != 422 || !strings.Contains(wrong.Body, "a vessel that ferments") {
		t.Errorf("%d: %s", wrong.Code, wrong.Body)
	}
	// The tick of the plan is done by it: the cap is not due again today.
	for _, a := range again.planned2(t).With(advise.Due) {
		if a.Step == "work-cap" && a.Vessel == "bin2" {
			t.Error("the cap was worked, and is due all the same")
		}
	}
	visit(t, "home", nil).get("/rounds").shows(t, "Nothing ferments now.")
}

func (v *visitor) planned2(t *testing.T) advise.Today {
	t.Helper()
	view, err := v.view(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return view.Plan
}

// The walk is put into another order, and Today follows it; a lot is told to follow
// another protocol, and goes back.
func TestWalkAndProtocolAreEdited(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	first := func() string {
		for _, a := range v.planned2(t).With(advise.Due) {
			if a.Vessel != "" {
				return a.Vessel
			}
		}
		return ""
	}
	if first() == "b1" {
		t.Fatal("b1 comes first already: this tests nothing")
	}
	page, before := v.get("/walk"), len(v.entries(t))
	answers := q()
	for _, vessel := range walkers(must(v.look(t.Context()))) {
		answers.Set("walk-"+vessel.Slug, page.value("walk-"+vessel.Slug))
		answers.Set("place-"+vessel.Slug, page.value("place-"+vessel.Slug))
	}
	if p := v.post("/walk", with(answers, "walk-b1", "first")); p.Code != 422 || p.wrong("walk-b1") == "" {
		t.Errorf("a place that is no number: %d", p.Code)
	}
	answers.Set("walk-bin1", "2")
	v.keeps(t, "/walk", with(answers, "walk-b1", "1", "walk-bin1", "5", "place-b1", "by the door"))
	if n := len(v.entries(t)) - before; n != 2 {
		t.Errorf("%d vessels were described anew, want 2", n)
	}
	if got := first(); got != "b1" {
		t.Errorf("the walk begins at %s", got)
	}
	v.get("/").shows(t, "by the door")

	follows := func(name string) {
		t.Helper()
		if got := must(v.look(t.Context())).State.Lot("syrah").Protocol; got != name {
			t.Errorf("follows %q, want %q", got, name)
		}
	}
	v.get("/lots/syrah/protocol").shows(t, "the one that fits it", "What comes of its steps", "Follows Red wine with malolactic fermentation")
	if p := v.post("/lots/syrah/protocol", q("protocol", "native-red")); p.Code != 303 {
		t.Fatalf("%d: %s", p.Code, p.text())
	}
	follows("native-red")
	v.get("/lots/syrah/protocol").shows(t, "Follows Red left to its own yeast and bacteria")
	if p := v.post("/lots/syrah/protocol", q("protocol", "no-such")); p.Code != 422 {
		t.Errorf("an unknown protocol: %d", p.Code)
	}
	v.post("/lots/syrah/protocol", q("protocol", ""))
	follows("")
	if l := must(v.look(t.Context())).State.Lot("syrah"); l.Colour != "red" || l.Malolactic != cellar.MalolacticWanted {
		t.Errorf("the rest of the description was lost: %+v", l.LotStarted)
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// The evening's time and what is to be at hand stand on Today.
func TestTodayTellsTimeAndMaterials(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	view := must(v.view(t.Context()))
	if view.Plan.Minutes == 0 || len(view.Plan.Needs) == 0 {
		t.Fatal("the demo's plan takes no time")
	}
	v.get("/").shows(t, "About "+hours(view.Plan.Minutes-spareMinutes(view.Plan))+", and "+hours(spareMinutes(view.Plan))+" more when there is time.", "At hand: ", view.Plan.Needs[0])
	for m, want := range map[int]string{2: "5 min", 43: "45 min", 60: "1 h", 103: "1¾ h", 338: "5½ h", 355: "6 h"} {
		if got := hours(m); got != want {
			t.Errorf("%d minutes are %q, want %q", m, got, want)
		}
	}
}
