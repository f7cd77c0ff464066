package cellar

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// dump writes everything that a state holds, so that two can be compared.
func dump(s *State) string {
	var b strings.Builder
	p := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	ids := func(rs []*Record) (out []ID) {
		for _, r := range rs {
			out = append(out, r.Entry.ID)
		}
		return out
	}
	pids := func(ps []*Parcel) (out []ParcelID) {
		for _, r := range ps {
			out = append(out, r.ID)
		}
		return out
	}
	for _, l := range s.Lots.All() {
		p("lot %+v fruit %v parcels %v records %v", l.LotStarted, l.Fruit, pids(l.Parcels), ids(l.Records))
	}
	for _, v := range s.Vessels {
		holds := ParcelID("")
		if v.Holds != nil {
			holds = v.Holds.ID
		}
		p("vessel %s %s %v %v holds %s parcels %v records %v emptied %v", v.Slug, v.Size, v.Known, v.Bottles, holds, pids(v.Parcels), ids(v.Records), v.Emptied)
	}
	for _, i := range s.Instruments {
		p("instrument %s %v %v", i.Slug, i.Known, ids(i.Records))
	}
	for _, q := range s.Parcels.All() {
		p("parcel %s lot %s in %s %s from %v to %v start %s end %s vol %v ± %v weight %v count %d amounts %v roots %v", q.ID, q.Lot, q.Vessel, q.Form,
			q.Began, q.End, q.Start, q.Ender, q.Volume, q.Spread, q.Weight, q.Count, q.Amounts, q.Roots)
		p("  levels %v inflows %v events %v", q.Levels, q.Inflows, ids(q.Events))
	}
	for _, r := range s.Records.All() {
		p("record %s at %v struck %v beyond %v other %v parcels %v", r.Entry.AppendLine(nil), r.At, r.Struck, r.Beyond, r.Other, r.Parcels)
	}
	for _, d := range s.Transfers.All() {
		shown := *d
		shown.by = nil
		p("transfer %+v", shown)
	}
	for _, f := range s.Findings.All() {
		p("finding %s %v %s %s %s %q %v", f.Code, f.Entries, f.Vessel, f.Lot, f.Parcel, f.Says, f.Note)
	}
	return b.String()
}

// history draws a random history: the acts of a small cellar in ten days, known
// to the minute or the day, with strikes of anything, strikes of strikes, ids
// used twice, vessels nobody described, and more racked out than was there.
func history(t *rapid.T) []Entry {
	n := rapid.IntRange(1, 40).Draw(t, "entries")
	rng := rand.NewChaCha8([32]byte{byte(rapid.IntRange(0, 255).Draw(t, "ids"))})
	pen := Pen{Cellar: "test", By: "Ada", Device: "desk", Random: rng}
	vessel := rapid.SampledFrom([]string{"c1", "c2", "c3", "b1", "bin1", "stray"})
	lot := rapid.SampledFrom([]string{"red", "white"})
	volume := rapid.Custom(func(t *rapid.T) *Measure {
		if rapid.IntRange(0, 5).Draw(t, "open") == 0 {
			return nil
		}
		m := M(fmt.Sprint(rapid.IntRange(1, 60).Draw(t, "L")), "L")
		if rapid.Bool().Draw(t, "±") {
			m.Spread = fmt.Sprint(rapid.IntRange(0, 2).Draw(t, "spread"))
		}
		return m
	})
	base := []Body{
		VesselNamed{Slug: "c1", Type: "carboy", Size: M("54", "L")}, VesselNamed{Slug: "c2", Type: "carboy", Size: M("23", "L")},
		VesselNamed{Slug: "c3", Type: "carboy", Size: M("23", "L")}, VesselNamed{Slug: "b1", Type: "barrel", Size: M("225", "L")},
		VesselNamed{Slug: "bin1", Type: "bin"}, LotStarted{Slug: "red", Colour: "red", Malolactic: MalolacticWanted},
		LotStarted{Slug: "white", Colour: "white", Malolactic: MalolacticKeptFrom},
	}
	var entries []Entry
	write := func(b Body, i int) {
		at := day0.Add(time.Duration(rapid.IntRange(0, 10*24*60).Draw(t, "minute")) * time.Minute)
		m := At(at)
		if rapid.IntRange(0, 2).Draw(t, "precision") == 0 {
			m = On(at)
			m.Order = rapid.IntRange(-2, 2).Draw(t, "order")
		}
		es, err := pen.Write(at.Add(time.Duration(rapid.IntRange(0, 72).Draw(t, "late"))*time.Hour), Draft{Happened: m, Body: b})
		if err != nil {
			t.Fatalf("%T %v: %v", b, b, err)
		}
		entries = append(entries, es...)
	}
	for i, b := range base {
		write(b, i)
	}
	one := func(label string) []Portion {
		return []Portion{{Vessel: vessel.Draw(t, label), Volume: volume.Draw(t, label)}}
	}
	some := func(label string) []Portion {
		seen := map[string]bool{}
		var out []Portion
		for range rapid.IntRange(1, 3).Draw(t, "how many "+label) {
			p := one(label)[0]
			p.All = label == "from" && rapid.IntRange(0, 3).Draw(t, "all") == 0
			if !seen[p.Vessel] {
				out = append(out, p)
			}
			seen[p.Vessel] = true
		}
		return out
	}
	for i := range n {
		var b Body
		switch rapid.IntRange(0, 15).Draw(t, "act") {
		case 0, 1:
			b = Movement{How: "filling", Lot: lot.Draw(t, "lot"), To: []Portion{{Vessel: vessel.Draw(t, "to"), Volume: M("20", "L")}}}
		case 2, 3:
			m := Movement{How: "racking", From: some("from"), To: some("to")}
			if rapid.Bool().Draw(t, "rest") {
				m.Rest = LossLees
			}
			if rapid.IntRange(0, 3).Draw(t, "lossy") == 0 {
				m.Losses = []Loss{{rapid.SampledFrom(Losses).Draw(t, "loss"), M("0.5", "L")}}
			}
			if rapid.IntRange(0, 3).Draw(t, "becomes") == 0 {
				m.Becomes = lot.Draw(t, "becomes what")
			}
			b = m
		case 4:
			b = Movement{How: "removal", From: one("from")}
		case 5:
			b = Dip{Vessel: vessel.Draw(t, "v"), Volume: M(fmt.Sprint(rapid.IntRange(0, 54).Draw(t, "dip")), "L")}
		case 6, 7:
			b = Addition{Vessel: vessel.Draw(t, "v"), Product: rapid.SampledFrom([]string{"potassium-metabisulfite", "tartaric-acid", "sugar", "moon-dust"}).Draw(t, "p"), Amount: M("3.1", "g"), For: volume.Draw(t, "for")}
		case 8, 9:
			b = Reading{Vessel: vessel.Draw(t, "v"), What: ReadPH, Value: M(rapid.SampledFrom([]string{"3.47", "3.52"}).Draw(t, "pH"), "pH"), Control: rapid.IntRange(0, 4).Draw(t, "control") == 0}
		case 10:
			b = ControlKept{Vessel: vessel.Draw(t, "v"), Volume: M("250", "mL")}
		case 11:
			b = Inoculation{Vessel: vessel.Draw(t, "v"), Of: "malolactic", How: rapid.SampledFrom(Inoculations).Draw(t, "how")}
		case 12:
			b = Verdict{Vessel: vessel.Draw(t, "v"), Says: rapid.SampledFrom(Verdicts).Draw(t, "says")}
		case 13:
			b = rapid.SampledFrom([]Body{
				FruitReceived{Lot: "red", Vessel: "bin1", Weight: M("50", "kg")},
				Crush{Lot: "red", To: []Portion{{Vessel: "bin1", Volume: M("40", "L")}}},
				Press{From: []Portion{{Vessel: "bin1"}}, To: []Portion{{Vessel: "c1", Volume: M("25", "L")}}},
				Bottling{Slug: "red-bottles", From: []Portion{{Vessel: "c1"}}, Count: 24, Size: M("750", "mL")},
				Opened{Bottling: "red-bottles", Count: 10},
				Care{Vessel: "c2", What: "cleaned"}, Note{Vessel: "c3", Words: "bung"}, Purchase{Product: "oak"},
				VesselNamed{Slug: "c3", Type: "carboy", Size: M("24", "L"), Anew: true, Was: []string{"stray"}},
				VesselNamed{Slug: "stray", Type: "bucket"}, VesselNamed{Slug: "c1", Type: "carboy", Size: M("20", "L"), Anew: true},
				LotStarted{Slug: "red", Colour: "white", Malolactic: MalolacticKeptFrom, Anew: true}, LotStarted{Slug: "rosé", Was: []string{"white"}},
				Attachment{To: entries[rapid.IntRange(0, len(entries)-1).Draw(t, "attached to")].ID, Name: "sheet.jpg", Digest: "sha256:" + strings.Repeat("0", 64)},
				Attachment{Vessel: "c1", Name: "label.jpg", Digest: "sha256:" + strings.Repeat("0", 64)},
				PHCheck{Instrument: "meter", Buffer: "7.00", Read: "7.02"}, InstrumentNamed{Slug: "meter", Type: "ph-meter"},
				Done{Task: "stir", Vessel: "c2"}, Tasting{Vessel: "c1", Words: "sour"}, Bottling{Slug: "red-bottles", From: []Portion{{Vessel: "c2", All: true}}, Count: 12, Size: M("750", "mL")},
				Press{From: []Portion{{Vessel: "bin1"}, {Vessel: "c3"}}, To: []Portion{{Vessel: "b1", Volume: M("25", "L")}}},
				FruitReceived{Lot: "white", Weight: M("20", "kg")}, Crush{Lot: "white", To: []Portion{{Vessel: "c2", Volume: M("15", "L")}}, Juice: true},
			}).Draw(t, "rarer")
		case 14, 15:
			target := entries[rapid.IntRange(0, len(entries)-1).Draw(t, "target")].ID
			b = Strike{Target: target, Reason: "wrong"}
		}
		write(b, i)
	}
	// Some strikes strike what is yet to come, or each other, or nothing known.
	for range rapid.IntRange(0, 3).Draw(t, "strange") {
		e := entries[rapid.IntRange(0, len(entries)-1).Draw(t, "which")]
		switch rapid.IntRange(0, 2).Draw(t, "strange kind") {
		case 0: // the id of one entry with the content of another
			other := entries[rapid.IntRange(0, len(entries)-1).Draw(t, "content of")]
			other.ID = e.ID
			entries = append(entries, other)
		case 1:
			write(Strike{Target: "0190a5e0-7c3a-7000-8000-00000000000f", Reason: "never came"}, 0)
		case 2: // two strikes that strike each other
			ids, _ := NewIDs(day0, rng, 2)
			for k := range 2 {
				write(Strike{Target: ids[1-k], Reason: "circle"}, 0)
				entries[len(entries)-1].ID = ids[k]
			}
		}
	}
	return entries
}

// The order in which entries arrive makes no difference, nor do duplicates, nor
// does folding change what it was given.
func TestOrderOfArrivalMakesNoDifference(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		entries := history(t)
		o := Options{Now: day0.AddDate(0, 0, 12)}
		if rapid.IntRange(0, 3).Draw(t, "past") == 0 {
			o.AsOf = day0.Add(time.Duration(rapid.IntRange(0, 10*24).Draw(t, "as of")) * time.Hour)
		}
		want := dump(Fold(entries, o))
		shuffled := rapid.Permutation(entries).Draw(t, "order")
		for range rapid.IntRange(0, 5).Draw(t, "duplicates") {
			shuffled = append(shuffled, entries[rapid.IntRange(0, len(entries)-1).Draw(t, "again")])
		}
		if got := dump(Fold(shuffled, o)); got != want {
			t.Fatalf("another order, another state:\n%s", lineDiff(want, got))
		}
		if got := dump(Fold(entries, o)); got != want {
			t.Fatalf("folding changed its entries:\n%s", lineDiff(want, got))
		}
	})
}

func lineDiff(a, b string) string {
	la, lb := strings.Split(a, "\n"), strings.Split(b, "\n")
	var out strings.Builder
	for i := range max(len(la), len(lb)) {
		x, y := "", ""
		if i < len(la) {
			x = la[i]
		}
		if i < len(lb) {
			y = lb[i]
		}
		if x != y {
			fmt.Fprintf(&out, "- %s\n+ %s\n", x, y)
		}
	}
	return out.String()
}

// What was struck leaves no trace in what a cellar holds: a history with an entry and
// a strike of it gives the same parcels as the history without either.
func TestStruckEntriesLeaveNoTrace(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		entries := history(t)
		o := Options{Now: day0.AddDate(0, 0, 12)}
		before := Fold(entries, o)
		var standing []ID
		for _, r := range before.Records.All() {
			if _, strike := r.Body.(Strike); r.Counts() && !strike {
				standing = append(standing, r.Entry.ID)
			}
		}
		if len(standing) == 0 {
			t.Skip("nothing stands")
		}
		victim := rapid.SampledFrom(standing).Draw(t, "victim")
		var without []Entry
		for _, e := range entries {
			if e.ID != victim {
				without = append(without, e)
			}
		}
		// With the victim gone, a strike of it that had no effect dangles: the
		// findings and records may tell of that, the parcels may not.
		pen := Pen{Cellar: "test", Random: rand.NewChaCha8([32]byte{77})}
		when := day0.AddDate(0, 0, rapid.IntRange(-1, 11).Draw(t, "struck on day"))
		strike, err := pen.Write(when, Draft{Happened: At(when), Body: Strike{Target: victim, Reason: "test"}})
		if err != nil {
			t.Fatal(err)
		}
		want := parcelsOf(dump(Fold(without, o)))
		if got := parcelsOf(dump(Fold(append(entries, strike...), o))); got != want {
			t.Fatalf("the struck entry left a trace:\n%s", lineDiff(want, got))
		}
		// A strike of the strike brings it back.
		back, err := pen.Write(day0.AddDate(0, 0, 11), Draft{Happened: At(day0.AddDate(0, 0, 11)), Body: Strike{Target: strike[0].ID, Reason: "test"}})
		if err != nil {
			t.Fatal(err)
		}
		if got := parcelsOf(dump(Fold(append(append([]Entry{}, entries...), strike[0], back[0]), o))); got != parcelsOf(dump(before)) {
			t.Fatalf("striking the strike did not bring it back:\n%s", lineDiff(parcelsOf(dump(before)), got))
		}
	})
}

func parcelsOf(dump string) string {
	var out []string
	for _, line := range strings.Split(dump, "\n") {
		if strings.HasPrefix(line, "parcel") || strings.HasPrefix(line, "  levels") || strings.HasPrefix(line, "transfer") {
			out = append(out, line)
		}
	}
	return strings.Join(out, "\n")
}
