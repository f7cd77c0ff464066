package recall

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/track/ageing"
	science "elevage/science/ageing"
	"elevage/science/cited"
)

// Bottles are those of one bottling, with what opened ones showed.
type Bottles struct {
	Vessel  *cellar.Vessel // that stands for them
	Lot     *cellar.Lot
	Filled  time.Time
	Closure string // as it was written down: kind and lot number
	Left    int
	Opened  []Opening // those that were looked at, in time
	// Lost, given and sold bottles tell nothing of what was in them.
	Unseen int
}

// An Opening is one bottle that was opened and looked at.
type Opening struct {
	At     time.Time
	Score  string
	Faults []string
	Words  string
	Entry  cellar.ID
}

// A Saying is an answer in sentences, with what it rests on.
type Saying struct {
	Says   []string
	Source cited.Source
}

// Bottled are all bottlings of a cellar, by the day of filling.
func Bottled(s *cellar.State, now time.Time) []Bottles {
	var out []Bottles
	for _, v := range s.Vessels {
		if !v.Bottles || len(v.Parcels) == 0 {
			continue
		}
		p := v.Parcels[0]
		b := Bottles{Vessel: v, Lot: s.Lot(p.Lot), Filled: p.Began, Left: p.Count}
		if r := s.Record(p.Start); r != nil {
			if filled, ok := r.Body.(cellar.Bottling); ok {
				b.Closure = filled.Closure
			}
		}
		b.look(s, now)
		out = append(out, b)
	}
	slices.SortStableFunc(out, func(a, b Bottles) int { return a.Filled.Compare(b.Filled) })
	return out
}

// look reads the openings and tastings. A tasting within a day of an opening is of the
// bottle that was opened; another is of a bottle by itself.
func (b *Bottles) look(s *cellar.State, now time.Time) {
	var tastings []Opening
	for _, r := range s.Records.All() {
		if !r.Counts() || r.At.After(now) {
			continue
		}
		switch body := r.Body.(type) {
		case cellar.Opened:
			if body.Bottling != b.Vessel.Slug {
				continue
			}
			n := max(1, body.Count)
			if slices.Contains([]string{"given", "lost", "sold"}, body.Why) {
				b.Unseen += n
				continue
			}
			for range n {
				b.Opened = append(b.Opened, Opening{At: r.At, Score: body.Score, Words: body.Words, Entry: r.Entry.ID})
			}
		case cellar.Tasting:
			if body.Bottling == b.Vessel.Slug || body.Vessel == b.Vessel.Slug {
				tastings = append(tastings, Opening{At: r.At, Score: body.Score, Faults: body.Faults, Words: body.Words, Entry: r.Entry.ID})
			}
		}
	}
	taken := make([]bool, len(b.Opened))
	for _, t := range tastings {
		i := -1
		for k := range taken {
			if d := b.Opened[k].At.Sub(t.At); i < 0 && !taken[k] && d > -24*time.Hour && d < 24*time.Hour {
				i = k
			}
		}
		if i < 0 {
			b.Opened = append(b.Opened, t)
			continue
		}
		taken[i] = true
		o := &b.Opened[i]
		o.Score, o.Faults = cmp.Or(o.Score, t.Score), t.Faults
		o.Words = strings.TrimPrefix(strings.TrimSuffix(o.Words+"; "+t.Words, "; "), "; ")
	}
	slices.SortStableFunc(b.Opened, func(x, y Opening) int { return x.At.Compare(y.At) })
}

// oxidation are words for wine that air has spoiled.
var oxidation = []string{"oxidis", "oxidiz", "sherry", "bruised apple", "aldehyde", "maderis", "madeiris", "brown"}

// Oxidised says whether an opened bottle was written down as spoiled by air.
func (o *Opening) Oxidised() bool {
	text := strings.ToLower(o.Words + " " + strings.Join(o.Faults, " "))
	for _, w := range oxidation {
		at := strings.Index(text, w)
		if at >= 0 && !strings.HasSuffix(strings.TrimSpace(text[:at]), "not") && !strings.HasSuffix(strings.TrimSpace(text[:at]), "no") {
			return true
		}
	}
	return false
}

// near is how far apart bottles may be opened that are held against each other: within
// it the wine itself hardly changes. A choice of this program, no fact about wine.
const near = 60 * 24 * time.Hour

// Oxidised answers whether oxidised bottles are a matter of the lot or of each bottle
// by itself. No saying is made where none was written down as oxidised.
//
// A share that is the lot's own would show in every bottle; a closure lets air into one
// and not into its neighbour. With k of n bottles bad and nothing known beforehand, the
// share of bad ones lies where Bin(n+1, share) > k has a chance of 5 to 95 %, the
// uniform prior's posterior (Bayes 1763).
func (b *Bottles) Oxidised() *Saying {
	var bad, sound []Opening
	for _, o := range b.Opened {
		if o.Oxidised() {
			bad = append(bad, o)
		} else {
			sound = append(sound, o)
		}
	}
	n, k := len(b.Opened), len(bad)
	if k == 0 {
		return nil
	}
	s := &Saying{Source: cited.Source{Text: "closure lot, fill level, position and free SO2 of two bottles tell them apart", Mark: cited.CommonPractice}}
	say := func(format string, args ...any) { s.Says = append(s.Says, fmt.Sprintf(format, args...)) }
	of := fmt.Sprintf("%d of %d opened bottles %s oxidised", k, n, was(k))
	beside := 0
	for _, o := range sound {
		if slices.ContainsFunc(bad, func(x Opening) bool { d := x.At.Sub(o.At); return d > -near && d < near || o.At.After(x.At) }) {
			beside++
		}
	}
	switch {
	case k == n && n >= 3:
		say("%s: all that were opened. That speaks for the lot: air at filling, too little sulfur dioxide, or age.", of)
	case k == n:
		say("%s. It cannot be told yet: open one or two more. If they are sound, it is the closures; if not, the lot.", of)
	case beside > 0:
		say("%s, and %s opened within two months of one, or later, %s sound: the wine itself was not gone then, so the closures, or single bottles at filling, are the likelier cause.", of, counted(beside, "bottle"), was(beside))
	default:
		say("%s; the sound ones were opened long before. It cannot be told: the lot may have turned since. Open one more beside the next.", of)
	}
	low, high := shareOf(k, n)
	if b.Left > 0 && k < n {
		say("By these alone, between %.0f and %.0f %% of the bottles are so (9 chances in 10): %s of the %d that are left.", 100*low, 100*high, between(low*float64(b.Left), high*float64(b.Left)), b.Left)
	}
	say("The cheapest thing that would tell: free SO2 of a sound and a bad bottle on one evening. Both low: the lot. Only the bad one low: its closure. Look at fill level, a wet side of the cork, whether it stood upright, and where in the run it was filled.")
	if b.Closure != "" {
		say("Closure on record: %s. Look at other wines under closures of that lot.", b.Closure)
	} else {
		say("No closure is on record for this bottling: write its kind and lot down, and the next bad bottle can point at others.")
	}
	return s
}

func was(n int) string {
	if n == 1 {
		return "was"
	}
	return "were"
}

func counted(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

func between(low, high float64) string {
	a, b := math.Round(low), math.Round(high)
	if a == b {
		return fmt.Sprintf("about %.0f", a)
	}
	return fmt.Sprintf("%.0f to %.0f", a, b)
}

// shareOf is the 90 % interval of a share of which k in n were seen, every share being
// as likely beforehand: the 5 and 95 % points of the Beta(k+1, n−k+1) distribution,
// by its relation to the binomial, P(share ≤ x) = P(Bin(n+1, x) > k).
func shareOf(k, n int) (low, high float64) {
	at := func(p float64) float64 {
		a, b := 0.0, 1.0
		for range 60 {
			x := (a + b) / 2
			if moreThan(k, n+1, x) < p {
				a = x
			} else {
				b = x
			}
		}
		return (a + b) / 2
	}
	return at(0.05), at(0.95)
}

// moreThan is P(Bin(n, x) > k).
func moreThan(k, n int, x float64) float64 {
	sum, term := 0.0, math.Pow(1-x, float64(n))
	for i := 0; i <= k; i++ {
		sum += term
		term *= float64(n-i) / float64(i+1) * x / (1 - x)
	}
	return 1 - sum
}

// Drinking is when to drink a bottling, in outline.
type Drinking struct {
	Saying
	From, To *time.Time // nil: cannot be told
	Now      bool       // it is past its best, or unprotected
}

// Drink answers when to drink: the window of the wine's style, moved by what its opened
// bottles scored, and cut short where the belief about sulfur dioxide, which may be
// nil, says that protection ends.
func (b *Bottles) Drink(s *cellar.State, so2 *ageing.Belief, now time.Time) Drinking {
	d := Drinking{Saying: Saying{Source: cited.Source{Text: "window by style from memory, moved by the bottles' own scores; free SO2 against its floor by the belief", Mark: cited.Proposal}}}
	say := func(format string, args ...any) { d.Says = append(d.Says, fmt.Sprintf(format, args...)) }
	style, why := b.style(s)
	bottles := b.scored()
	w, err := science.Drink(style, b.Filled, bottles)
	if err != nil {
		say("When to drink it cannot be reckoned: %s.", err)
		return d
	}
	d.From, d.To = &w.Opens, &w.Closes
	sound := len(bottles) - w.Spoiled
	say("Taken for a %s (%s), and filled on %s, it is best from about %s to %s.", style, why, day(b.Filled), month(w.Opens), month(w.Closes))
	switch {
	case sound == 0:
		say("No bottle with a score stands behind that yet. One at three, six and twelve months, then one a year, tells more than any style.")
	case sound == 1:
		say("One score stands behind that, and says nothing of rise or fall: two bottles decide, not one.")
	default:
		say("%d scores have moved it; the last was %s on %s.", sound, number(bottles[len(bottles)-1].Score), day(bottles[len(bottles)-1].At))
	}
	if w.Spoiled > 0 {
		say("%s left out: it tells of the bottle, not of the wine.", capitalCount(w.Spoiled))
	}
	switch {
	case so2 == nil:
		say("Nothing is on record of its sulfur dioxide, so when protection ends cannot be told. Free SO2 of one bottle that is opened anyway would tell.")
	case so2.Below >= 0.5:
		say("Its free SO2 is most likely under the floor already: the rest is a race with air. Keep it cool, drink the warmest kept first.")
		d.To, d.Now = &now, true
	case so2.FallsUnder.Q50 != nil && so2.FallsUnder.Q50.Before(w.Closes):
		say("Its free SO2 most likely falls under the floor about %s, before that window ends: drink it by then, or keep it cooler.", day(*so2.FallsUnder.Q50))
		d.To = so2.FallsUnder.Q50
	}
	if d.To.Before(now) {
		d.Now = true
	}
	if d.Now {
		say("Drink it now.")
	}
	return d
}

// style is what the wine is taken for, and by what on its record.
func (b *Bottles) style(s *cellar.State) (science.Style, string) {
	wood := false
	if len(b.Vessel.Parcels) > 0 {
		for _, h := range s.History(b.Vessel.Parcels[0].ID) {
			where := s.Parcel(h.Parcel)
			if where == nil || h.Share < 0.5 {
				continue
			}
			if v := s.Vessel(where.Vessel); v != nil && v.Type == "barrel" {
				wood = true
			}
		}
	}
	colour := ""
	if b.Lot != nil {
		colour = b.Lot.Colour
	}
	switch {
	case colour == "white" && wood:
		return science.FullWhite, "white, in a barrel on record"
	case colour == "white" || colour == "rosé" || colour == "orange":
		return science.LightWhite, colour + ", no barrel on record"
	case wood:
		return science.FirmRed, "red, in a barrel on record"
	}
	return science.LightRed, "red, no barrel on record"
}

// scored are the opened bottles with a score, from 0 to 10. Scores are the person's
// own: where one is above 10 the scale is taken to end at 20, above 20 at 100.
func (b *Bottles) scored() []science.OpenedBottle {
	var out []science.OpenedBottle
	highest := 0.0
	for i := range b.Opened {
		o := &b.Opened[i]
		text, of, parts := strings.Cut(strings.TrimSpace(o.Score), "/")
		v, err := cellar.ParseNumber(strings.TrimSpace(text))
		if err != nil || v < 0 || v > 100 {
			continue
		}
		if end, err := cellar.ParseNumber(strings.TrimSpace(of)); parts && err == nil && end > 0 {
			v *= 10 / end
		}
		highest = max(highest, v)
		out = append(out, science.OpenedBottle{At: o.At, Score: v, Spoil: o.Oxidised() || o.spoiled()})
	}
	for i := range out {
		switch {
		case highest > 20:
			out[i].Score /= 10
		case highest > 10:
			out[i].Score /= 2
		}
	}
	return out
}

// spoiled says whether a fault of the bottle was named: closure taint or a second
// fermentation.
func (o *Opening) spoiled() bool {
	text := strings.ToLower(o.Words + " " + strings.Join(o.Faults, " "))
	return slices.ContainsFunc([]string{"corked", "musty", "cork taint", "mouldy", "referment", "prickle"}, func(w string) bool { return strings.Contains(text, w) })
}

func capitalCount(n int) string {
	if n == 1 {
		return "One spoiled bottle is"
	}
	return fmt.Sprintf("%d spoiled bottles are", n)
}

func month(t time.Time) string { return t.Format("January 2006") }

func number(v float64) string { return strings.TrimSuffix(fmt.Sprintf("%.1f", v), ".0") }

func day(t time.Time) string { return t.Format("2 January 2006") }
