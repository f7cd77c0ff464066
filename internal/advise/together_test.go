package advise

import (
	"slices"
	"strings"
	"testing"

	"elevage/internal/cellar"
)

// twoReds are two invented lots that have been converting for weeks, and an empty vessel.
func twoReds(t *testing.T, wishes [2]string) *diary {
	t.Helper()
	d := newDiary(t)
	for i, slug := range []string{"north", "south"} {
		vessel := []string{"c1", "c2"}[i]
		d.on(0).do(cellar.LotStarted{Slug: slug, Name: slug, Colour: "red", Malolactic: wishes[i]}, cellar.VesselNamed{Slug: vessel, Type: "carboy", Size: cellar.M("23", "L"), Walk: i + 1},
			cellar.Movement{How: "filling", Lot: slug, To: []cellar.Portion{{Vessel: vessel, Volume: cellar.M("22", "L")}}}, cellar.Verdict{Vessel: vessel, Says: cellar.VerdictDry},
			cellar.Inoculation{Vessel: vessel, Of: "malolactic", How: "direct"})
	}
	d.do(cellar.VesselNamed{Slug: "d1", Type: "demijohn", Size: cellar.M("54", "L"), Walk: 3})
	return d
}

func putTogether(how string) []cellar.Body {
	return []cellar.Body{cellar.LotStarted{Slug: "both", Colour: "red"}, cellar.Movement{How: how, Becomes: "both", From: []cellar.Portion{{Vessel: "c1", All: true}, {Vessel: "c2", All: true}}, To: []cellar.Portion{{Vessel: "d1"}}}}
}

// A wine put together out of several has nothing to do before that day, and is late with
// nothing on it: each window that would have closed is open for as long as it would have
// been, a week at most.
func TestNothingIsDueBeforeAWineWasPutTogether(t *testing.T) {
	t.Parallel()
	for _, how := range []string{"blending", "racking"} {
		d := twoReds(t, [2]string{cellar.MalolacticWanted, cellar.MalolacticWanted})
		before := d.on(45).plan()
		if i := slices.IndexFunc(before.At("c1"), func(a Act) bool { return a.Overdue > 7 }); i < 0 {
			t.Fatal("nothing is late in the parents: nothing to tell apart")
		}
		d.do(putTogether(how)...)
		made := Day{d.now}
		acts := d.plan().At("d1")
		if len(acts) == 0 {
			t.Fatal("nothing is planned")
		}
		for _, a := range acts {
			if a.Overdue > 0 || a.From != nil && a.From.String() < made.String() || a.To != nil && a.To.String() < made.String() {
				t.Errorf("%s: %s is due from %v to %v, %d days late", how, a.Do, a.From, a.To, a.Overdue)
			}
		}
		// By hand, from the protocol: lees are stirred within three days of their turn.
		if a := find(d.plan(), "d1", "stir-lees"); a == nil || a.From.String() != made.String() || a.To.Sub(a.From.Time).Hours() != 3*24 {
			t.Errorf("%s: %+v", how, a)
		}
		// What is not done is late in the end.
		if i := slices.IndexFunc(d.on(45+9).plan().At("d1"), func(a Act) bool { return a.Overdue > 0 }); i < 0 {
			t.Errorf("%s: nothing is late nine days on", how)
		}
	}
}

// Whether conversion is wanted is not asked again where the parents agree, and asked
// where they do not.
func TestTheWishIsInherited(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		wishes [2]string
		asked  bool
	}{{[2]string{cellar.MalolacticWanted, cellar.MalolacticWanted}, false}, {[2]string{cellar.MalolacticKeptFrom, cellar.MalolacticKeptFrom}, false}, {[2]string{cellar.MalolacticWanted, cellar.MalolacticKeptFrom}, true}, {[2]string{cellar.MalolacticWanted, ""}, true}} {
		d := twoReds(t, c.wishes)
		d.on(45).do(putTogether("blending")...)
		asked := slices.ContainsFunc(d.plan().At("d1"), func(a Act) bool { return strings.HasPrefix(a.Step, "decide-malolactic") })
		if asked != c.asked {
			t.Errorf("%q: asked %v, want %v", c.wishes, asked, c.asked)
		}
	}
}
