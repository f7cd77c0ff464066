package advise

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"elevage/internal/cellar"
)

// today0 puts the acts in order, joins those that are done in one go, and says
// when to come back.
func (p *plan) today0() Today {
	t := Today{AsOf: p.Now, Revision: p.State.Records.Len()}
	p.settleClashes()
	p.keepStill()
	sort.SliceStable(p.acts, func(i, j int) bool { return p.earlier(&p.acts[i], &p.acts[j]) })
	t.Acts, t.Held = p.acts, p.held
	t.Batches = p.batches()
	joined := map[string]bool{}
	for _, b := range t.Batches {
		t.Minutes += b.Minutes
		for _, id := range b.Acts {
			joined[id] = true
		}
	}
	for i := range t.Acts {
		a := &t.Acts[i]
		if a.Standing != Due {
			continue
		}
		if !joined[a.ID] {
			t.Minutes += a.Minutes
		}
		t.Needs = append(t.Needs, a.Needs...)
	}
	t.Needs = atHand(t.Needs)
	t.Quiet = p.quiet()
	t.ComeBack, t.For = p.comeBack()
	return t
}

// atHand says each thing once, in the order in which it is first wanted, and leaves out a
// choice ("hydrometer or refractometer") of which one has to be brought anyway.
func atHand(needs []string) []string {
	var out []string
	for _, n := range needs {
		alternatives := strings.Split(n, " or ")
		brought := len(alternatives) > 1 && slices.ContainsFunc(alternatives, func(one string) bool { return slices.Contains(needs, one) })
		if !brought && !slices.Contains(out, n) {
			out = append(out, n)
		}
	}
	return out
}

// earlier is the order of the evening: by standing, then along the walk, then by
// what must come first at a vessel; what is not at a vessel comes before the walk.
// What is not due yet goes by its day.
func (p *plan) earlier(a, b *Act) bool {
	if a.Standing != b.Standing {
		return rank(a.Standing) < rank(b.Standing)
	}
	if a.Standing == Soon || a.Standing == Later {
		if c := compareDays(a.From, b.From); c != 0 {
			return c < 0
		}
	}
	if a.walk != b.walk {
		return a.walk < b.walk
	}
	if ca, cb := slices.Index(Classes, a.Class), slices.Index(Classes, b.Class); ca != cb {
		return ca < cb
	}
	return a.ID < b.ID
}

func rank(s Standing) int { return slices.Index([]Standing{Due, Soon, Waiting, Later}, s) }

func compareDays(a, b *Day) int {
	switch {
	case a == nil && b == nil:
		return 0
	case a == nil:
		return -1
	case b == nil:
		return 1
	}
	return a.Compare(b.Time)
}

// A clash is a rule about two acts that come due at one vessel together.
type clash struct {
	first, then Class
	// drop says that the later one is not done at all this time.
	drop bool
	why  string
}

// clashes: what is measured is measured before it is changed, and what would undo
// another act is left out. All common practice.
var clashes = []clash{
	{ClassRack, ClassStir, true, "stirring would lift the lees that the racking leaves behind"},
	{ClassRack, ClassTop, false, "top up after the racking: its loss must be made good too"},
	{ClassRack, ClassSulfite, false, "rack first, then dose the volume that is there: sulfite is lost in racking"},
	{ClassTop, ClassSulfite, false, "top up first: the topping wine brings or takes sulfur dioxide, and the volume must be the final one"},
	{ClassInoculate, ClassSulfite, true, "no sulfur dioxide together with a culture"},
	{ClassTest, ClassRack, false, "draw the sample before the wine is moved"},
	{ClassTest, ClassSulfite, false, "draw the sample before the dose, and look at the plan again: the dose is reckoned from what it shows"},
	{ClassSulfite, ClassStir, false, "dose first: stirring mixes it in"},
	{ClassPress, ClassCap, true, "what is pressed today needs no cap work"},
	{ClassRack, ClassLook, false, "look and smell before the wine is moved"},
	{ClassBottle, ClassStir, true, "what is bottled must be still"},
	{ClassBottle, ClassTop, true, "what is bottled needs no topping"},
}

// settleClashes orders acts that are due at one vessel together and leaves out what
// another one would undo.
func (p *plan) settleClashes() {
	drop := map[string]bool{}
	for i := range p.acts {
		a := &p.acts[i]
		for j := range p.acts {
			b := &p.acts[j]
			if i == j || a.Vessel == "" || a.Vessel != b.Vessel || a.Standing != Due || b.Standing != Due {
				continue
			}
			for _, c := range clashes {
				if a.Class != c.first || b.Class != c.then {
					continue
				}
				if c.drop {
					drop[b.ID] = true
					p.held = append(p.held, Held{Step: b.Protocol + "/" + b.Step, Lot: b.Lot, Vessel: b.Vessel, Act: b.Do, Reason: c.why})
				} else if !slices.Contains(b.Order, c.why) {
					b.Order = append(b.Order, c.why)
				}
			}
		}
	}
	p.acts = slices.DeleteFunc(p.acts, func(a Act) bool { return drop[a.ID] })
}

// batches join acts of one kind that are due together.
func (p *plan) batches() []Batch {
	var out []Batch
	for _, key := range []string{"sulfite", "chromatography", "malic", "titration", "free-so2", "ph", "culture"} {
		var acts []*Act
		for i := range p.acts {
			if a := &p.acts[i]; a.Together == key && a.Standing == Due {
				acts = append(acts, a)
			}
		}
		if len(acts) < 2 && !(key == "titration" || key == "ph") || len(acts) == 0 {
			continue
		}
		b := Batch{Key: key}
		for _, a := range acts {
			b.Acts = append(b.Acts, a.ID)
		}
		if p.say(&b, acts) {
			out = append(out, b)
		}
	}
	return out
}

// say words a batch; it is false where nothing is gained by doing the acts together.
func (p *plan) say(b *Batch, acts []*Act) bool {
	var vessels []string
	for _, a := range acts {
		if a.Vessel != "" && !slices.Contains(vessels, a.Vessel) {
			vessels = append(vessels, a.Vessel)
		}
	}
	if len(vessels) == 0 {
		return false
	}
	where := strings.Join(vessels, ", ")
	switch b.Key {
	case "chromatography":
		b.Title, b.Minutes = "One chromatography sheet", 30
		b.Says = fmt.Sprintf("One sheet for %s: %d spots, and beside them known malic acid of 0, 0.1, 0.3 and 1 g/L; six hours to run, a day to dry.", where, len(acts))
	case "malic":
		b.Title, b.Minutes = "One session for malic acid", 15+10*len(vessels)
		b.Says = fmt.Sprintf("One kit for %s, each by itself: %d wines pooled would hide an unfinished one behind a %s of its malic acid. Two may be pooled to look, none to decide.", where, len(vessels), fraction(len(vessels)))
	case "titration":
		b.Title, b.Minutes = "One titration session", 10+15*len(acts)
		b.Says = fmt.Sprintf("Standardise the titrant first, then %s; degas every sample.", where)
	case "ph":
		b.Title, b.Minutes = "One pH session", 10+5*len(acts)
		b.Says = fmt.Sprintf("Buffers 7.00 and 4.01 first, then %s, then a buffer again; read the control samples in the same session.", where)
	case "free-so2":
		b.Title, b.Minutes = "One session for free SO2", 10+15*len(acts)
		b.Says = fmt.Sprintf("Standardise once, then %s, each within the hour of drawing.", where)
	case "sulfite":
		return p.sayStock(b, acts, where)
	case "culture":
		b.Title, b.Minutes = "One packet of culture", 30
		b.Says = fmt.Sprintf("One rehydration for %s: divide the stirred suspension by volume, with a clean syringe for each.", where)
	}
	return true
}

// sayStock sums what is measured as solution.
func (p *plan) sayStock(b *Batch, acts []*Act, where string) bool {
	var ml float64
	n := 0
	for _, a := range acts {
		if a.Unit == "mL" {
			v, err := cellar.ParseNumber(a.Amount)
			if err != nil {
				continue
			}
			ml += v
			n++
		}
	}
	if n < 2 {
		return false
	}
	make := 10 * float64(int(ml*1.1/10)+1)
	b.Title, b.Minutes = "One batch of stock solution", 10
	b.Says = fmt.Sprintf("Make %.0f mL of 10 %% metabisulfite solution (%.1f g made up with water to %.0f mL) for %s together: %.1f mL are needed. Fresh today.", make, make/10, make, where, ml)
	return true
}

// quiet are the wines that have nothing due or soon.
func (p *plan) quiet() []Quiet {
	var out []Quiet
	for _, s := range p.all {
		if s.scope != OfParcel {
			continue
		}
		busy := false
		var next *Act
		for i := range p.acts {
			a := &p.acts[i]
			if a.Parcel != s.parcel.ID {
				continue
			}
			switch a.Standing {
			case Due, Soon, Waiting:
				busy = true
			case Later:
				if next == nil || compareDays(a.From, next.From) < 0 {
					next = a
				}
			}
		}
		if busy {
			continue
		}
		q := Quiet{Lot: s.lot.Slug, Vessel: s.vessel.Slug}
		if next != nil {
			q.Until, q.For = next.From, next.Do
		}
		out = append(out, q)
	}
	return out
}

// comeBack is the first day after today on which something falls due.
func (p *plan) comeBack() (*Day, string) {
	var first *Act
	today := p.local(p.Now)
	for i := range p.acts {
		a := &p.acts[i]
		if (a.Standing != Soon && a.Standing != Later) || a.From == nil || !a.From.After(today) {
			continue
		}
		if first == nil || compareDays(a.From, first.From) < 0 {
			first = a
		}
	}
	if first == nil {
		return nil, ""
	}
	where := first.Vessel
	if where == "" {
		where = first.Instrument
	}
	return first.From, strings.TrimSpace(first.Do + " " + where)
}

// fraction is one part of n in words.
func fraction(n int) string {
	switch n {
	case 2:
		return "half"
	case 3:
		return "third"
	case 4:
		return "quarter"
	}
	return fmt.Sprintf("%dth", n)
}
