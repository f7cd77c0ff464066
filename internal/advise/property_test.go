package advise

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/science/quantity"
)

// drawDiary writes a random cellar: lots of every colour and intent, in vessels of
// every kind, read, moved, dosed and declared without sense.
func drawDiary(rt *rapid.T, t testing.TB) *diary {
	d := newDiary(t)
	vessels := []string{"v0", "v1", "v2", "v3", "v4"}
	kinds := []string{"bin", "demijohn", "carboy", "barrel", "tank"}
	for i, v := range vessels {
		d.do(cellar.VesselNamed{Slug: v, Type: kinds[i], Size: L("60"), Walk: rapid.IntRange(0, 3).Draw(rt, "walk")})
	}
	d.do(cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"})
	lots := []string{"l0", "l1", "l2"}
	for _, l := range lots {
		d.do(cellar.LotStarted{Slug: l, Colour: rapid.SampledFrom([]string{"red", "white", "rosé", "orange", ""}).Draw(rt, "colour"),
			Malolactic: rapid.SampledFrom([]string{"wanted", "kept-from", ""}).Draw(rt, "malolactic"),
			Protocol:   rapid.SampledFrom(append(BuiltIn().Names(), "", "", "", "no-such")).Draw(rt, "protocol"),
			Tags:       rapid.SampledFrom([][]string{nil, {"rot"}, {"bottling-2026-12-01"}}).Draw(rt, "tags")})
	}
	vessel := func() string { return rapid.SampledFrom(vessels).Draw(rt, "vessel") }
	n := rapid.IntRange(1, 40).Draw(rt, "entries")
	for range n {
		d.now = d.now.Add(time.Duration(rapid.IntRange(1, 15*24).Draw(rt, "hours")) * time.Hour)
		switch rapid.IntRange(0, 9).Draw(rt, "kind") {
		case 0:
			d.do(cellar.Crush{Lot: rapid.SampledFrom(lots).Draw(rt, "lot"), To: []cellar.Portion{{Vessel: vessel(), Volume: L("50")}}, Juice: rapid.Bool().Draw(rt, "juice")})
		case 1:
			from, to := vessel(), vessel()
			if from != to {
				d.do(cellar.Movement{How: rapid.SampledFrom([]string{"racking", "topping", "blending", ""}).Draw(rt, "how"), From: []cellar.Portion{{Vessel: from, Volume: L("20")}}, To: []cellar.Portion{{Vessel: to}}})
			}
		case 2:
			d.do(cellar.Inoculation{Vessel: vessel(), Of: rapid.SampledFrom(cellar.Ferments).Draw(rt, "of"), How: rapid.SampledFrom(cellar.Inoculations).Draw(rt, "how")})
		case 3:
			d.do(cellar.Verdict{Vessel: vessel(), Says: rapid.SampledFrom(cellar.Verdicts).Draw(rt, "says")})
		case 4:
			d.do(cellar.Addition{Vessel: vessel(), Product: rapid.SampledFrom([]string{"potassium-metabisulfite", "copper-sulfate", "diammonium-phosphate", "oak", "potassium-sorbate"}).Draw(rt, "product"), Amount: cellar.M("3", "g")})
		case 5:
			d.do(cellar.Movement{How: "filling", Lot: rapid.SampledFrom(lots).Draw(rt, "lot"), To: []cellar.Portion{{Vessel: vessel(), Volume: L("30")}}})
		case 6:
			from, to := vessel(), vessel()
			if from != to {
				d.do(cellar.Press{From: []cellar.Portion{{Vessel: from}}, To: []cellar.Portion{{Vessel: to, Volume: L("40")}}})
			}
		case 7:
			d.do(cellar.Tasting{Vessel: vessel(), Faults: []string{rapid.SampledFrom([]string{"film", "rotten egg", "horse", "prickle", "vinegar"}).Draw(rt, "fault")}})
		default:
			r := rapid.SampledFrom(cellar.Readables).Draw(rt, "what")
			if r.What == cellar.ReadBarometer || r.What == cellar.ReadBerry {
				continue
			}
			value := fmt.Sprintf("%.3g", rapid.Float64Range(r.Low, r.High).Draw(rt, "value"))
			if len(r.Words) > 0 {
				value = rapid.SampledFrom(r.Words).Draw(rt, "word")
			}
			d.read(vessel(), r.What, value, r.Unit)
		}
	}
	return d
}

// drawBeliefs believes anything of any parcel.
func drawBeliefs(rt *rapid.T, s *cellar.State, now time.Time) (map[cellar.ParcelID]*track.Belief, map[cellar.ParcelID]*ageing.Belief) {
	malo, so2 := map[cellar.ParcelID]*track.Belief{}, map[cellar.ParcelID]*ageing.Belief{}
	day := func() *track.Date {
		return &track.Date{Time: now.AddDate(0, 0, rapid.IntRange(-100, 100).Draw(rt, "day"))}
	}
	for _, p := range s.Parcels.All() {
		if p.Ended() || rapid.Bool().Draw(rt, "no belief") {
			continue
		}
		malo[p.ID] = &track.Belief{Decision: track.Decision{Call: rapid.SampledFrom([]track.Call{track.CallFinished, track.CallNotYet, track.CallCannotTell, track.CallStalled}).Draw(rt, "call"), Reason: "for a reason"},
			PFinished: rapid.Float64Range(0, 1).Draw(rt, "p"), State: track.State{Stalled: rapid.Float64Range(0, 1).Draw(rt, "stalled")},
			Finish:   track.Finish{Q50: day()},
			NextTest: track.NextTest{What: rapid.SampledFrom([]string{"none", "ta", "ph", "malic", "chromatogram", "ph_control"}).Draw(rt, "test"), On: day(), Reason: "to know"}}
		mg := quantity.Concentration(rapid.Float64Range(0, 0.06).Draw(rt, "free"))
		by := now.AddDate(0, 0, rapid.IntRange(0, 200).Draw(rt, "by"))
		so2[p.ID] = &ageing.Belief{Free: quantity.Interval[quantity.Concentration]{Q05: mg / 2, Q50: mg, Q95: mg * 2}, Risk: 0.2, Below: rapid.Float64Range(0, 1).Draw(rt, "below"), Floor: 0.0005,
			MeasureBy: &by, Dose: ageing.LastingDose{SO2: 0.02, Share: 0.6, Until: by.AddDate(0, 3, 0)}, Looks: make([]ageing.Look, rapid.IntRange(0, 1).Draw(rt, "looks"))}
	}
	return malo, so2
}

// Whatever stands in the ledger and whatever is believed: the plan is the same to the
// letter each time and in whatever order the entries came, speaks of nothing that an
// empty vessel holds, gives no sulfur dioxide, sorbate or lysozyme to a wine whose
// malolactic fermentation is wanted and not over, and its ids are each one's own.
func TestPlanProperties(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(rt *rapid.T) {
		d := drawDiary(rt, t)
		now := d.now.Add(time.Hour)
		in := Input{State: cellar.Fold(d.entries, cellar.Options{Now: now}), Now: now}
		in.Beliefs, in.Ageing = drawBeliefs(rt, in.State, now)
		plan, err := Plan(in)
		if err != nil {
			rt.Fatal(err)
		}
		shuffled := append([]cellar.Entry(nil), d.entries...)
		rand.New(rand.NewPCG(1, 2)).Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
		again := in
		again.State = cellar.Fold(shuffled, cellar.Options{Now: now})
		second, err := Plan(again)
		if err != nil {
			rt.Fatal(err)
		}
		if a, b := asJSON(rt, plan), asJSON(rt, second); a != b {
			rt.Fatalf("two plans of one cellar differ: %s", cmp.Diff(a, b))
		}
		ids := map[string]bool{}
		for _, a := range plan.Acts {
			if ids[a.ID] || len(a.ID) > 200 {
				rt.Fatalf("the id %q is taken or too long", a.ID)
			}
			ids[a.ID] = true
			if a.Why == "" || a.Do == "" || a.Source.Mark == "" || strings.Contains(a.Do+a.Why, "{") {
				rt.Fatalf("an act without words: %+v", a)
			}
			if a.Standing == Waiting && len(a.WaitingOn) == 0 || a.Standing != Waiting && a.From == nil {
				rt.Fatalf("%s is %s without a reason", a.ID, a.Standing)
			}
			if a.From != nil && a.To != nil && a.To.Before(a.From.Time) {
				rt.Fatalf("%s ends before it begins", a.ID)
			}
			checkBody(rt, a)
			if a.Parcel == "" {
				continue
			}
			p := in.State.Parcel(a.Parcel)
			if p == nil || p.Ended() || in.State.In(a.Vessel) != p {
				rt.Fatalf("%s is about wine that is not there", a.ID)
			}
			checkSulfite(rt, in, a, p)
		}
		for _, l := range in.State.Lots.All() {
			if _, err := Explain(in, l.Slug); err != nil {
				rt.Fatal(err)
			}
		}
	})
}

func asJSON(rt *rapid.T, v any) string {
	b, err := json.Marshal(v)
	if err != nil {
		rt.Fatal(err)
	}
	return string(b)
}

// checkBody says whether the half-written entry is one: whole, or lacking only what a
// person alone can know.
func checkBody(rt *rapid.T, a Act) {
	if a.Entry == nil {
		return
	}
	if _, ok := cellar.InfoOf(a.Entry.Kind()); !ok {
		rt.Fatalf("%s writes %T", a.ID, a.Entry)
	}
	if add, ok := a.Entry.(cellar.Addition); ok && a.Amount != "" && add.Amount.String() != a.Amount+" "+a.Unit {
		rt.Fatalf("%s says %s %s and writes %s", a.ID, a.Amount, a.Unit, add.Amount)
	}
}

// checkSulfite looks at the record itself, not at the plan's own view of it.
func checkSulfite(rt *rapid.T, in Input, a Act, p *cellar.Parcel) {
	add, ok := a.Entry.(cellar.Addition)
	if !ok || !(add.BringsSO2() || add.Product == "potassium-sorbate" || add.Product == "lysozyme") {
		return
	}
	lot := in.State.Lot(p.Lot)
	if lot.Malolactic != cellar.MalolacticWanted {
		return
	}
	yeast, over, last := false, false, time.Time{}
	for _, h := range in.State.History(p.ID) {
		switch b := h.Body.(type) {
		case cellar.Inoculation:
			yeast = true
		case cellar.Verdict:
			if h.Share < majority {
				continue
			}
			switch b.Says {
			case cellar.VerdictMalolacticFinished, cellar.VerdictMalolacticGivenUp:
				over, last = true, h.At
			case cellar.VerdictMalolacticStuck:
				if h.At.After(last) {
					over = false
				}
			}
		}
	}
	b := in.Beliefs[p.ID]
	if b != nil && b.Decision.Call == track.CallFinished {
		over = true
	}
	if yeast && !over {
		rt.Fatalf("%s gives %s before the malolactic fermentation is over", a.ID, add.Product)
	}
}
