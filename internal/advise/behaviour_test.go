package advise

import (
	"bytes"
	"slices"
	"strings"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/fault"
	"elevage/internal/feed"
	"elevage/internal/fill"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
)

// converting is a red in d1 whose culture went in on day 15, believed to end on a day
// and to be tested on another.
func converting(t *testing.T, d *diary, end, test float64) Input {
	t.Helper()
	in := Input{State: d.state(), Now: d.now}
	date := func(day float64) *track.Date {
		return &track.Date{Time: time.Date(2026, 9, 20, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(day))}
	}
	in.Beliefs = map[cellar.ParcelID]*track.Belief{in.State.In("d1").ID: {
		State: track.State{Active: 1}, Decision: track.Decision{Call: track.CallNotYet},
		Finish: track.Finish{Q05: date(end - 8), Q50: date(end), Q95: date(end + 12)}, NextTest: track.NextTest{What: "chromatogram", On: date(test), Reason: "it settles it"}}}
	return in
}

func inoculated(t *testing.T) *diary {
	d := newDiary(t)
	pressed(d)
	d.on(15).do(cellar.Inoculation{Vessel: "d1", Of: "malolactic", How: "rehydrated"})
	return d
}

func planned(t *testing.T, in Input) Today {
	t.Helper()
	p, err := Plan(in)
	if err != nil {
		t.Fatal(err)
	}
	sweep(t, p)
	return p
}

// A reading that contradicts the others is made again as what it was: no pH meter settles
// what is wrong with a sheet of paper.
func TestContradictionsAreReadAgain(t *testing.T) {
	t.Parallel()
	d := inoculated(t).on(30)
	for says, want := range map[string]struct{ step, reads string }{
		"chromatogram none on 2026-10-15 contradicts the other readings":                  {"settle-chromatogram", cellar.ReadChromatogram},
		"malic test 0.1 on 2026-10-15 contradicts the other readings":                     {"settle-malic", cellar.ReadMalic},
		"pH 3.25 on 2026-10-15 contradicts the other readings (they expect 3.52 ± 0.03)":  {"settle-contradiction", cellar.ReadPH},
		"TA 5.6 on 2026-10-15 contradicts the other readings (they expect 6.5 ± 0.2 g/L)": {"settle-contradiction", cellar.ReadPH},
	} {
		in := converting(t, d, 45, 49)
		for _, b := range in.Beliefs {
			b.Flags = []track.Flag{{Kind: "contradiction", Message: says}}
		}
		p := planned(t, in)
		for _, step := range []string{"settle-chromatogram", "settle-malic", "settle-contradiction"} {
			a := find(p, "d1", step)
			if (a != nil) != (step == want.step) {
				t.Errorf("%s: %s is planned: %v", says, step, a != nil)
			}
			if a == nil {
				continue
			}
			if r, ok := a.Entry.(cellar.Reading); !ok || r.What != want.reads {
				t.Errorf("%s: %s writes %+v", says, step, a.Entry)
			}
			if strings.Contains(a.Why, "2026") || !strings.Contains(a.Why, "15 October") {
				t.Errorf("%s says %q", step, a.Why)
			}
		}
	}
}

// A forecast's window stays where it was while nothing was learned, and while what was
// learned moves it by little; else it moves and says why.
func TestWindowsMoveOnlyWhenSomethingWasLearned(t *testing.T) {
	t.Parallel()
	d := inoculated(t).on(20)
	first := planned(t, converting(t, d, 45, 49))
	was := find(first, "d1", "test-chromatogram")
	if was == nil || was.Standing != Later || was.From.String() != "2026-11-08" {
		t.Fatalf("%+v", was)
	}
	d.on(22)
	in := converting(t, d, 50, 54)
	in.Previous = &first
	second := planned(t, in)
	if a := find(second, "d1", "test-chromatogram"); a.From.String() != was.From.String() || a.Moved != nil {
		t.Errorf("nothing was learned, and the test moved to %s", a.From)
	}
	d.read("d1", cellar.ReadTA, "6.1", "g/L")
	in = converting(t, d, 46, 50)
	in.Previous = &second
	third := planned(t, in)
	if a := find(third, "d1", "test-chromatogram"); a.From.String() != was.From.String() {
		t.Errorf("one day is no move, and the test moved to %s", a.From)
	}
	d.read("d1", cellar.ReadTA, "6.1", "g/L")
	in = converting(t, d, 60, 64)
	in.Previous = &third
	fourth := planned(t, in)
	a := find(fourth, "d1", "test-chromatogram")
	if a.From.String() != "2026-11-23" || a.Moved == nil || a.Moved.From.String() != was.From.String() || a.Moved.Because != "TA 6.1 g/L on 12 October" {
		t.Errorf("the move says %+v, due %s", a.Moved, a.From)
	}
}

// An act that is due because its turn has come keeps the day on which that was, so
// that it can be late.
func TestOpenActsKeepTheirDay(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	pressed(d)
	d.on(16).do(cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: "d1", Volume: L("8")}}})
	first := d.plan()
	a := find(first, "d1", "top-headspace")
	if a == nil || a.Standing != Due {
		t.Fatalf("%+v", a)
	}
	d.on(26)
	later := planned(t, Input{State: d.state(), Now: d.now, Previous: &first})
	b := find(later, "d1", "top-headspace")
	if b.From.String() != a.From.String() || b.Overdue != 8 {
		t.Errorf("ten days later it is due from %s, late by %d days", b.From, b.Overdue)
	}
}

// Ticks: what tells of itself comes back by its own conditions, what does not is done
// once, what comes again rests, what is skipped rests too.
func TestTicks(t *testing.T) {
	t.Parallel()
	d := inoculated(t).on(25)
	stir := find(d.plan(), "d1", "stir-lees")
	if stir == nil || stir.Standing != Due {
		t.Fatalf("%+v", stir)
	}
	skipped := stir.Done
	skipped.Skipped, skipped.Words = true, "no time"
	d.do(skipped)
	if a := find(d.plan(), "d1", "stir-lees"); a == nil || a.From.String() != "2026-10-22" {
		t.Errorf("skipped on the 15th it comes back %+v", a)
	}
	d.on(33).do(stir.Entry, stir.Done)
	if a := find(d.plan(), "d1", "stir-lees"); a == nil || a.Standing != Soon || a.From.String() != "2026-10-30" {
		t.Errorf("stirred on the 23rd it comes back %+v", a)
	}
	walk := find(d.plan(), "", "monthly-walk")
	if walk == nil || walk.Standing != Due {
		t.Fatalf("%+v", walk)
	}
	d.do(walk.Done)
	if a := find(d.plan(), "", "monthly-walk"); a == nil || a.From.String() != "2026-11-22" {
		t.Errorf("ticked on 23 October the walk comes back %+v", a)
	}
}

// Sulfur dioxide, racking, topping and stirring on one evening stand in the order that
// does not undo itself.
func TestClashes(t *testing.T) {
	t.Parallel()
	d := inoculated(t)
	d.on(50).do(cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: "d1", Volume: L("4")}}}, cellar.Verdict{Vessel: "d1", Says: cellar.VerdictMalolacticFinished})
	d.on(58)
	p := d.plan()
	var classes []Class
	for _, a := range p.With(Due) {
		if a.Vessel == "d1" {
			classes = append(classes, a.Class)
		}
	}
	order := []Class{ClassTest, ClassRack, ClassTop, ClassSulfite}
	last := -1
	for _, c := range order {
		i := slices.Index(classes, c)
		if i <= last {
			t.Errorf("%s does not come after what stands before it in %v", c, classes)
		}
		last = i
	}
	if a := find(p, "d1", "first-sulfite"); len(a.Order) < 2 || !strings.Contains(strings.Join(a.Order, " "), "rack first") {
		t.Errorf("the dose does not say what comes first: %v", a.Order)
	}
	if a := find(p, "d1", "first-sulfite"); a.Choice == nil || len(a.Choice.Choices) < 3 || len(a.Choice.Sources) == 0 {
		t.Error("what waiting gains and costs is not shown")
	}
	if a := find(p, "d1", "stir-lees"); a != nil {
		t.Error("lees are stirred on the evening of the racking")
	}
}

// One packet is divided over all wines that wait for it: 110 mL over 54, 23, 23 and
// 10 L is 1 mL to the litre, by hand.
func TestOnePacketForSeveralLots(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.do(cellar.Purchase{Product: "malolactic-culture", Amount: cellar.M("2.5", "g"), Treats: L("250")})
	for i, v := range []string{"54", "23", "23", "10"} {
		slug := string(rune('p'+i)) + "1"
		d.do(cellar.VesselNamed{Slug: slug, Type: "carboy", Size: L(v), Walk: i + 1}, cellar.LotStarted{Slug: "lot-" + slug, Colour: "red", Malolactic: cellar.MalolacticWanted},
			cellar.Movement{How: "filling", Lot: "lot-" + slug, To: []cellar.Portion{{Vessel: slug, Volume: L(v)}}}, cellar.Verdict{Vessel: slug, Says: cellar.VerdictDry})
		d.read(slug, cellar.ReadPH, "3.50", "pH")
		d.read(slug, cellar.ReadTemperature, "20", "°C")
	}
	p := d.plan()
	var got []string
	for _, a := range p.With(Due) {
		if a.Step == "inoculate-malolactic" {
			checkAmount(t, a)
			got = append(got, a.Amount+" "+a.Unit)
		}
	}
	if strings.Join(got, ", ") != "54 mL, 23 mL, 23 mL, 10 mL" {
		t.Errorf("got %v", got)
	}
	i := slices.IndexFunc(p.Batches, func(b Batch) bool { return b.Key == "culture" })
	if i < 0 || len(p.Batches[i].Acts) != 4 {
		t.Errorf("no batch of four: %+v", p.Batches)
	}
}

// Topping a converting wine: 2 L at 80 mg/L into 23 L raise its total by 80 · 2 / 25 =
// 6.4 mg/L by hand. To raise it by at most 3 mg/L
// they may have 3 · 25 / 2 = 37.5 mg/L. The vessel is filled to the brim, as is written of it.
func TestToppingWhileItConverts(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.do(cellar.VesselNamed{Slug: "c1", Type: "carboy", Size: L("25"), Headgap: L("0"), Walk: 1}, cellar.VesselNamed{Slug: "c2", Type: "carboy", Size: L("25"), Walk: 2}, cellar.VesselNamed{Slug: "c3", Type: "carboy", Size: L("25"), Walk: 3},
		cellar.LotStarted{Slug: "new", Colour: "red", Malolactic: cellar.MalolacticWanted}, cellar.LotStarted{Slug: "old", Colour: "red", Malolactic: cellar.MalolacticWanted}, cellar.LotStarted{Slug: "mild", Colour: "red", Malolactic: cellar.MalolacticWanted})
	for v, lot := range map[string]string{"c1": "new", "c2": "old", "c3": "mild"} {
		d.do(cellar.Movement{How: "filling", Lot: lot, To: []cellar.Portion{{Vessel: v, Volume: L("23")}}})
	}
	d.do(cellar.Inoculation{Vessel: "c1", Of: "malolactic", How: "rehydrated"}, cellar.Verdict{Vessel: "c2", Says: cellar.VerdictMalolacticFinished}, cellar.Verdict{Vessel: "c3", Says: cellar.VerdictMalolacticFinished})
	d.read("c2", cellar.ReadTotalSO2, "80", "mg/L")
	d.read("c3", cellar.ReadTotalSO2, "20", "mg/L")
	a := find(d.plan(), "c1", "top-headspace")
	if a == nil || !strings.Contains(a.Why, "at most 38 mg/L") || !strings.Contains(a.Why, "c3 (mild: raises the total SO2 by 1.6 mg/L)") || strings.Contains(a.Why, "c2") {
		t.Errorf("%+v", a)
	}
}

// How much a vessel lacks is one figure, here and where vessels are judged: 54 L with a
// gap of 2 % under the stopper take 52.92 L, so that 50 L lack 2.92; a barrel is filled to
// the bung, and a gap that was written down is kept.
func TestToppingFillsAsVesselsAreJudged(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.do(cellar.LotStarted{Slug: "red", Colour: "red", Malolactic: cellar.MalolacticWanted})
	for _, v := range []cellar.VesselNamed{{Slug: "d1", Type: "demijohn", Size: L("54")}, {Slug: "b1", Type: "barrel", Size: L("225")}, {Slug: "t1", Type: "tank", Size: L("100"), Headgap: L("1.5")}} {
		d.do(v)
	}
	for v, litres := range map[string]string{"d1": "50", "b1": "215", "t1": "90"} {
		d.do(cellar.Movement{How: "filling", Lot: "red", To: []cellar.Portion{{Vessel: v, Volume: L(litres)}}})
	}
	p := d.plan()
	judged := map[string]string{}
	for _, c := range fill.Conditions(d.state(), d.now) {
		judged[c.Vessel.Slug] = numeral(float64(c.Room))
	}
	for v, want := range map[string]string{"d1": "2.92", "b1": "10", "t1": "8.5"} {
		a := find(p, v, "top-headspace")
		if a == nil {
			t.Errorf("%s is not to be topped", v)
			continue
		}
		if got := a.Entry.(cellar.Movement).To[0].Volume.Value; got != want || judged[v] != want {
			t.Errorf("%s: %s L are to be poured, the vessel is judged to lack %s L, want %s", v, got, judged[v], want)
		}
	}
}

// The stalled wine: the reason is looked for first, then one change at a time.
func TestStallLadder(t *testing.T) {
	t.Parallel()
	d := inoculated(t).on(80)
	d.read("d1", cellar.ReadTemperature, "15", "°C")
	stalled := func() Today {
		in := converting(t, d, 200, 200)
		for _, b := range in.Beliefs {
			b.State = track.State{Stalled: 0.8, Active: 0.2}
			b.Decision.Call = track.CallStalled
			b.NextTest = track.NextTest{What: "none"}
			b.Malic.Q50 = 1.4
		}
		return planned(t, in)
	}
	due := func(steps ...string) {
		t.Helper()
		p := stalled()
		for _, s := range []string{"stall-test", "stall-sulfite", "stall-warm", "stall-starter", "stall-give-up"} {
			a := find(p, "d1", s)
			if got := a != nil && a.Standing == Due; got != slices.Contains(steps, s) {
				t.Errorf("day %.0f: %s due is %v", d.now.Sub(day0).Hours()/24, s, got)
			}
		}
	}
	due("stall-test", "stall-sulfite")
	d.do(cellar.Reading{Vessel: "d1", What: cellar.ReadChromatogram, Value: cellar.M("strong", "")})
	d.read("d1", cellar.ReadTotalSO2, "18", "mg/L")
	due("stall-warm")
	d.do(cellar.Warmth{Vessel: "d1", Set: cellar.M("21", "°C")})
	d.on(85)
	d.read("d1", cellar.ReadTemperature, "21", "°C")
	due()
	d.on(97)
	d.read("d1", cellar.ReadTemperature, "21", "°C")
	due("stall-test", "stall-starter")
	d.do(cellar.Inoculation{Vessel: "d1", Of: "malolactic", How: "starter"}, cellar.Reading{Vessel: "d1", What: cellar.ReadChromatogram, Value: cellar.M("strong", "")})
	d.on(110)
	due("stall-test")
	d.on(140)
	due("stall-test", "stall-give-up")
}

// The calendar comes out as the feed writes it: stable UIDs, revisions that never
// fall, nothing doubled, what lapsed called off.
func TestCalendar(t *testing.T) {
	t.Parallel()
	d := inoculated(t).on(18)
	first := planned(t, converting(t, d, 45, 49))
	before := first.Calendar("home", func(lot string) string { return "https://cellar.example/lot/" + lot }, nil)
	d.on(21).do(cellar.Stirring{Vessel: "d1", What: "lees"})
	second := planned(t, converting(t, d, 70, 74))
	after := second.Calendar("home", nil, &first)
	var b bytes.Buffer
	if err := feed.Write(&b, feed.Calendar{Name: "Cellar", Stamp: d.now, Events: after}); err != nil {
		t.Fatal(err)
	}
	event := func(events []feed.Event, word string) *feed.Event {
		for i := range events {
			if strings.Contains(events[i].Summary, word) {
				return &events[i]
			}
		}
		return nil
	}
	was, is := event(before, "chromatogram"), event(after, "chromatogram")
	if was == nil || is == nil || was.UID != is.UID || is.Revision <= was.Revision || !is.Day.After(was.Day) || was.Link != "https://cellar.example/lot/hill-26" {
		t.Errorf("was %+v, is %+v", was, is)
	}
	if e := event(after, "control sample"); e == nil || !e.Lapsed {
		t.Errorf("the control sample can no longer be kept, and the calendar says %+v", e)
	}
	if other := second.Calendar("shed", nil, nil); event(other, "chromatogram").UID == is.UID {
		t.Error("two cellars share an event")
	}
}

func TestExplain(t *testing.T) {
	t.Parallel()
	d := inoculated(t).on(20)
	in := converting(t, d, 45, 49)
	e, err := Explain(in, "hill-26")
	if err != nil {
		t.Fatal(err)
	}
	text := e.Text()
	for _, want := range []string{"hill-26 in d1 follows red-with-malolactic, ", "test-chromatogram (malolactic, line ", "planned, later from 2026-11-08", `yes      known(malolactic.next_test) && malolactic.next_test == "chromatogram"`,
		"malolactic.next_test is chromatogram", "first-sulfite (keeping, line ", "no       malolactic.over", "wine.ph is 3.50, read 4 October"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not in\n%s", want, text)
		}
	}
	if _, err := Explain(in, "no-such"); fault.KindOf(err) != fault.NotFound {
		t.Errorf("got %v", err)
	}
}

func TestAway(t *testing.T) {
	t.Parallel()
	d := inoculated(t).on(20)
	in := converting(t, d, 30, 34)
	in.Ageing = map[cellar.ParcelID]*ageing.Belief{}
	a, err := Away(in, d.now.AddDate(0, 0, 5), d.now.AddDate(0, 0, 25))
	if err != nil {
		t.Fatal(err)
	}
	within := func(list []AwayAct, step string) bool {
		return slices.ContainsFunc(list, func(a AwayAct) bool { return a.Act.Step == step })
	}
	if !within(a.Meets, "test-chromatogram") || !within(a.Before, "stir-lees") {
		t.Errorf("before %+v, within %+v", a.Before, a.Meets)
	}
	if len(a.AtRisk) != 1 || !strings.Contains(a.AtRisk[0].Says, "over by 20 October") {
		t.Errorf("at risk: %+v", a.AtRisk)
	}
	if _, err := Away(in, d.now, d.now.AddDate(0, 0, -3)); err == nil {
		t.Error("an absence that ends before today is taken")
	}
}

// A wine in US units is spoken of in US units.
func TestUSUnits(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.do(cellar.VesselNamed{Slug: "g1", Type: "carboy", Size: cellar.M("6", "gal")}, cellar.LotStarted{Slug: "hill", Colour: "red", Malolactic: cellar.MalolacticWanted, Units: "us"},
		cellar.Movement{How: "filling", Lot: "hill", To: []cellar.Portion{{Vessel: "g1", Volume: cellar.M("5", "gal")}}}, cellar.Inoculation{Vessel: "g1", Of: "malolactic", How: "rehydrated"})
	d.read("g1", cellar.ReadTemperature, "59", "°F")
	p := d.plan()
	if a := find(p, "g1", "top-headspace"); a == nil || !strings.HasPrefix(a.Why, "1.00 gal of air") {
		t.Errorf("%+v", a)
	}
	if a := find(p, "g1", "warm"); a == nil || !strings.Contains(a.Why, "59 °F") {
		t.Errorf("%+v", a)
	}
}

// What nobody measured is waited on by name, and nothing is reckoned from it.
func TestWaiting(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	pressed(d)
	d.entries = d.entries[:len(d.entries)-1] // the pH
	d.on(15).do(cellar.Inoculation{Vessel: "d1", Of: "malolactic", How: "rehydrated"})
	d.on(60).do(cellar.Verdict{Vessel: "d1", Says: cellar.VerdictMalolacticFinished})
	d.on(70)
	a := find(d.plan(), "d1", "first-sulfite")
	if a == nil || a.Standing != Waiting || a.Amount != "" || !slices.ContainsFunc(a.WaitingOn, func(s string) bool { return strings.Contains(s, "pH") }) {
		t.Errorf("%+v", a)
	}
	if _, err := Plan(Input{Now: d.now}); err == nil {
		t.Error("a plan without a state")
	}
	if _, err := Plan(Input{State: d.state()}); err == nil {
		t.Error("a plan without a moment")
	}
}

// The second dose is the belief's own: grams from the bench for the SO2 that the
// belief wants added.
func TestTopUpDoseIsTheBeliefs(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	aged(d)
	d.on(130)
	d.do(cellar.Reading{Vessel: "b1", What: cellar.ReadFreeSO2, Method: "aspiration", Value: cellar.M("12", "mg/L")})
	in := Input{State: d.state(), Now: d.now}
	in.Beliefs, in.Ageing = believed(t, in.State, in.Now)
	p := planned(t, in)
	a := find(p, "b1", "top-up-sulfite")
	if a == nil || a.Standing != Due {
		t.Fatalf("%+v", a)
	}
	checkAmount(t, *a)
	b := in.Ageing[a.Parcel]
	added, ok := a.Working.Result.Number("total_so2_added_mg_l")
	if want := b.Dose.SO2.MgPerL(); !ok || added < 0.98*want || added > 1.02*want {
		t.Errorf("the bench adds %.1f mg/L, the belief wants %.1f", added, want)
	}
}
