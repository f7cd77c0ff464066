package compose

import (
	"time"

	"elevage/science/acidbase"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// A stretch is a wine between two changes to what it is made of: nothing comes in,
// but things turn into others, and it is read.
type stretch struct {
	began time.Time
	start body
	reads [parts][]timed // in time; of malic and sugar all, of others the last
	ph    timed          // the last pH; its fig has no key if there is none
	phKey int32
	// course is what is believed of the malic acid; nil where nothing is.
	course *followed
}

// restart begins a new stretch of the same wine.
func (s *stretch) restart(at time.Time, b body) {
	*s = stretch{began: at, start: b, course: s.course}
}

type timed struct {
	at   time.Time
	f    fig
	word bool // a person's word, not a measurement
}

// take notes a reading.
func (s *stretch) take(part int, r timed) {
	if part != malic && part != sugar {
		s.reads[part] = s.reads[part][:0:0]
	}
	s.reads[part] = append(s.reads[part], r)
}

// unread says whether a part was only assumed until its first reading.
func (s *stretch) unread(part int) bool {
	return s.start.assumed[part] > 0.5 && len(s.reads[part]) > 0 && !s.reads[part][0].word
}

// curve is what a part was at a moment: malic acid as it is believed, where it is;
// else between what was known when the stretch
// began and what was read, in a straight line; after the last reading, as read;
// before the first one of what was only assumed, as read too.
func (s *stretch) curve(part int, at time.Time) fig {
	if part == malic {
		if f, ok := s.course.at(at); ok {
			return f
		}
	}
	from := timed{at: s.began, f: s.start.f[part]}
	if s.unread(part) {
		from = timed{at: s.began, f: s.reads[part][0].f}
	}
	for _, r := range s.reads[part] {
		if r.at.After(at) {
			span := r.at.Sub(from.at)
			if span <= 0 {
				return r.f
			}
			k := float64(at.Sub(from.at)) / float64(span)
			return from.f.times(1 - k).plus(r.f.times(k))
		}
		from = r
	}
	return from.f
}

// since is a part as it was read last, or when the stretch began, moved by what was
// turned into it since: per is how much of it one gram of another part makes.
func (s *stretch) since(part int, now time.Time, from int, per float64) fig {
	base := timed{at: s.began, f: s.start.f[part]}
	if n := len(s.reads[part]); n > 0 {
		base = s.reads[part][n-1]
	}
	turned := s.curve(from, base.at).minus(s.curve(from, now))
	return base.f.plus(turned.times(per))
}

// Per gram of malic acid that is converted: lactic acid formed, and titratable
// acidity lost, as tartaric: one equivalent a mole (stoichiometry).
const (
	lacticPerMalic = acidbase.LacticPerMalic
	taPerMalic     = -150.087 / 2 / 134.087
)

// alcoholPerSugar is what a gram of sugar in a litre ferments to, in % vol: the French
// convention of 16.83 g/L.
const alcoholPerSugar = 1 / float64(strength.MustLaw)

// now is the wine at a moment, by everything that was read until then.
func (s *stretch) now(w *walk, at time.Time) body {
	b := s.start
	for k, r := range s.reads {
		if len(r) > 0 {
			b.f[k], b.assumed[k] = r[len(r)-1].f, 0
		}
	}
	b.f[malic], b.f[sugar] = s.curve(malic, at), s.curve(sugar, at)
	if _, believed := s.course.at(at); believed {
		b.assumed[malic] = 0
	}
	b.f[alcohol] = s.since(alcohol, at, sugar, alcoholPerSugar).above(0)
	b.f[lactic] = s.since(lactic, at, malic, lacticPerMalic).above(0)
	b.f[ta] = s.since(ta, at, malic, taPerMalic).above(0)
	if len(s.reads[alcohol]) == 0 && s.start.assumed[alcohol] > 0 { // grown from sugar that was read
		b.assumed[alcohol] = min(b.assumed[alcohol], b.assumed[sugar])
	}
	if formed := b.f[lactic].v - s.start.f[lactic].v; len(s.reads[lactic]) == 0 && formed > 0 && b.assumed[malic] < 0.5 {
		b.assumed[lactic] *= s.start.f[lactic].v / b.f[lactic].v // the rest was formed from malic acid that was read
	}
	s.anchor(w, &b, at)
	return b
}

// anchor settles what holds the pH, where one was read and a titratable acidity is
// known: the composition that honours both at the moment of the pH, carried on by
// what was converted since.
func (s *stretch) anchor(w *walk, b *body, at time.Time) {
	if s.ph.f.e == nil || b.assumed[ta] > 0.5 {
		return
	}
	t := s.ph.at
	guess := w.key("guess/" + w.keyName(s.phKey))
	measured := b.assumed[tartaric] < 0.5
	acid := b.f[acetic]
	if b.assumed[acetic] >= 0.5 { // usual, and as loosely known: what the pH leaves to other acids hangs on it
		acid = read(usualWine[acetic].v, w.key("usual/"+w.keyName(s.phKey)+"/acetic"), usualWine[acetic].sd)
	}
	in := []fig{s.ph.f, s.since(ta, t, malic, taPerMalic), s.curve(malic, t), b.f[alcohol], s.since(lactic, t, malic, lacticPerMalic), acid, b.f[tartaric], {e: []cause{{guess, 1}}}, b.f[potassium]}
	known := anchorKnown{tartaric: measured, lactic: b.assumed[lactic] < 0.5 || in[4].v > 2*acidbase.AssumedLactic.GPerL(), potassium: b.assumed[potassium] < 0.5}
	out, err := propagate(in, known.solve)
	if err != nil {
		return // the readings contradict each other: what stood before stands
	}
	for i, k := range anchored {
		b.f[k] = out[i]
	}
	b.assumed[other], b.assumed[strong] = 0, 0
	// From the pH on, what was converted.
	b.f[lactic] = b.f[lactic].plus(s.curve(malic, t).minus(s.curve(malic, at)).times(lacticPerMalic)).above(0)
}

// anchored are the parts that an anchor settles, in the order of its results.
var anchored = [...]int{tartaric, other, strong, lactic, succinic, citric, acetic, potassium}

// anchorKnown says which parts were read.
type anchorKnown struct{ tartaric, lactic, potassium bool }

// solve finds the composition for a pH, TA, malic acid, alcohol, lactic, acetic and
// tartaric acid, an error of the guess at tartaric acid in its standard deviation,
// and potassium.
func (k anchorKnown) solve(v []float64) ([]float64, error) {
	m := acidbase.Measured{PH: quantity.PH(v[0]), TA: gPerL(v[1]), EndPoint: acidbase.EndPointAOAC, Malic: gPerL(max(0, v[2])),
		Alcohol: percentVol(min(max(0, v[3]), 20)), Temperature: roomTemperature,
		Acetic: acidbase.Given(gPerL(max(0, v[5])))}
	if k.lactic {
		m.Lactic = acidbase.Given(gPerL(max(0, v[4])))
	}
	if k.tartaric {
		m.Tartaric = acidbase.Given(gPerL(max(0, v[6])))
	}
	if k.potassium {
		m.Potassium = acidbase.Given(gPerL(max(0, v[8])))
	}
	wine, err := acidbase.Anchor(m)
	if err == nil && !k.tartaric && v[7] != 0 {
		m.Tartaric = acidbase.Given(max(0, wine.Tartaric+quantity.Concentration(v[7])*acidbase.UnmeasuredTartaric))
		wine, err = acidbase.Anchor(m)
	}
	if err != nil {
		return nil, err
	}
	return []float64{wine.Tartaric.GPerL(), wine.Other.MolPerL(), wine.StrongIons.MolPerL(), wine.Lactic.GPerL(), wine.Succinic.GPerL(), wine.Citric.GPerL(), wine.Acetic.GPerL(), wine.Potassium.GPerL()}, nil
}
