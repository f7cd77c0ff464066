package serve

import (
	"context"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"elevage/internal/cellar"
)

// dosed is a cellar with a lot of 54 L in d1 that was given sulfur dioxide for 54 L on
// 3 November.
func dosed(t *testing.T) *visitor {
	t.Helper()
	v := visit(t, "home", nil)
	for _, one := range []struct {
		month time.Month
		day   int
		body  cellar.Body
	}{
		{10, 19, cellar.VesselNamed{Slug: "d1", Type: "demijohn", Size: cellar.M("54", "L")}},
		{10, 19, cellar.VesselNamed{Slug: "d2", Type: "demijohn", Size: cellar.M("54", "L")}},
		{10, 19, cellar.LotStarted{Slug: "gamay", Name: "Gamay", Colour: "red", Malolactic: cellar.MalolacticKeptFrom}},
		{10, 20, cellar.Movement{How: "filling", Lot: "gamay", To: []cellar.Portion{{Vessel: "d1", Volume: cellar.M("54", "L")}}}},
		{11, 2, cellar.Reading{Vessel: "d1", What: cellar.ReadPH, Value: cellar.M("3.42", "pH")}},
		{11, 3, cellar.Addition{Vessel: "d1", Product: "potassium-metabisulfite", Amount: cellar.M("4.8", "g"), For: cellar.M("54", "L")}},
	} {
		at := time.Date(2026, one.month, one.day, 18, 0, 0, 0, evening.Location())
		if _, err := v.keep(context.Background(), at, cellar.Draft{Happened: cellar.At(at), Body: one.body}); err != nil {
			t.Fatal(err)
		}
	}
	return v
}

// The dose was reckoned for 54 L. That 8 L had gone by then is written down three
// weeks later: the page that follows says so, and the lot's page goes on saying it.
func TestALateEntryTellsOfTheDoseItChanges(t *testing.T) {
	t.Parallel()
	v := dosed(t)
	const says = "This dose of 3 November 2026 was reckoned for 54 L; d1 held 46 L."
	if text := v.get("/lots/gamay").text(); strings.Contains(text, "Decided on another figure") {
		t.Fatalf("told before anything came: %s", text)
	}
	page := v.keeps(t, "/write/racking", q("vessel", "d1", "to", "d2", "volume", "8 L", "rest", "stays", "day", "2026-11-01"))
	page.shows(t, "Decided on another figure. "+says)
	lot := v.get("/lots/gamay")
	lot.shows(t, "Decided on another figure. "+says)
	if text := lot.text(); strings.Index(text, says) > strings.Index(text, "46.0") {
		t.Error("the lot's page tells of it below the figures")
	}
	if text := v.get("/").text(); strings.Contains(text, says) {
		t.Error("a page that follows nothing tells of it too")
	}
}

// A struck reading takes the ground from under the dose that rested on it; programs
// and the shell are told in the same words.
func TestAStrikeTellsOfTheDoseThatRestedOnIt(t *testing.T) {
	t.Parallel()
	v := dosed(t)
	var reading cellar.ID
	for _, e := range v.entries(t) {
		if e.Kind == cellar.KindReading {
			reading = e.ID
		}
	}
	v.get("/lots/gamay")
	v.keeps(t, "/strike/"+string(reading), q("reason", "wrong vessel")).shows(t, "Decided on another figure.", "rested on pH 3.42", "which was struck since")

	late := dosed(t)
	late.get("/lots/gamay")
	r := httptest.NewRequest("POST", "/api/v1/log", strings.NewReader(`{"line":"2026-11-03 12:00 ph 3.55 d1"}`))
	r.Header.Set("Content-Type", "application/json")
	answer := late.send(r)
	var out LoggedJSON
	if err := json.Unmarshal([]byte(answer.Body), &out); err != nil || answer.Code != http.StatusOK {
		t.Fatalf("%d %s %v", answer.Code, answer.Body, err)
	}
	if len(out.Came) != 1 || out.Came[0].Code != string(cellar.FoundRested) || !strings.Contains(out.Came[0].Says, "pH 3.55") {
		t.Errorf("came up: %+v", out.Came)
	}
}
