package cellar

import (
	"slices"
	"strings"
	"time"
)

// memory is what was read of a wine lately, for each kind of reading the last few
// of them, struck ones included. It goes with the wine, so that a decision can be
// held against what was known when it was taken. It is never changed.
type memory struct {
	kinds []recollection // by what was read
}

// recollection is what is remembered of one kind of reading, in order.
type recollection struct {
	what string
	n    int // how many of read are in use
	read [remembers]remembered
}

type remembered struct {
	n      *node
	at     time.Time // when the sample was drawn
	struck time.Time // zero while it stands
}

func (r *remembered) same(o *remembered) bool {
	return r.n == o.n && sameTime(r.at, o.at) && r.struck.Equal(o.struck)
}

func (r *remembered) written() time.Time { return r.n.rec.Entry.Written }

// remembers is how many readings of a kind are carried along: enough that the
// last one standing is among them unless two in a row were struck or late.
const remembers = 3

func (m *memory) same(o *memory) bool {
	if m == o {
		return true
	}
	return m != nil && o != nil && slices.EqualFunc(m.kinds, o.kinds, func(a, b recollection) bool {
		if a.what != b.what || a.n != b.n {
			return false
		}
		for i := range a.n {
			if !a.read[i].same(&b.read[i]) {
				return false
			}
		}
		return true
	})
}

// with is the memory with one more reading.
func (m *memory) with(what string, r remembered) *memory {
	next := &memory{}
	if m != nil {
		next.kinds = append(make([]recollection, 0, len(m.kinds)+1), m.kinds...)
	}
	i, found := slices.BinarySearchFunc(next.kinds, what, func(k recollection, what string) int { return strings.Compare(k.what, what) })
	if !found {
		next.kinds = slices.Insert(next.kinds, i, recollection{what: what})
	}
	k := &next.kinds[i]
	if k.n == remembers {
		copy(k.read[:], k.read[1:])
		k.n--
	}
	k.read[k.n] = r
	k.n++
	return next
}

// last is the last reading of a kind that ok accepts.
func (m *memory) last(what string, ok func(*remembered) bool) *remembered {
	if m == nil {
		return nil
	}
	for i := range m.kinds {
		if k := &m.kinds[i]; k.what == what {
			for j := k.n - 1; j >= 0; j-- {
				if ok(&k.read[j]) {
					return &k.read[j]
				}
			}
		}
	}
	return nil
}

// restsOn are the readings that a decision is usually taken by.
func restsOn(b Body) (decision string, kinds []string) {
	switch b := b.(type) {
	case Addition:
		p := productIndex[b.Product]
		switch {
		case p == nil:
			return "", nil
		case p.SO2 > 0:
			return "dose", []string{ReadPH, ReadFreeSO2, ReadTotalSO2, ReadMalic, ReadChromatogram}
		case p.Purpose == "acid" || p.Purpose == "deacidify":
			return "dose", []string{ReadPH, ReadTA}
		case p.Purpose == "sugar" || p.Purpose == "dilute":
			return "dose", []string{ReadDensity, ReadSugar}
		case p.Purpose == "nutrient":
			return "dose", []string{ReadYAN, ReadDensity}
		}
	case Inoculation:
		if b.Of == "malolactic" {
			return "inoculation", []string{ReadPH, ReadTotalSO2, ReadFreeSO2, ReadAlcohol}
		}
	case Verdict:
		switch b.Says {
		case VerdictDry:
			return "verdict", []string{ReadDensity, ReadSugar}
		case VerdictMalolacticFinished:
			return "verdict", []string{ReadMalic, ReadChromatogram, ReadTA}
		}
	case Bottling:
		return "bottling", []string{ReadFreeSO2, ReadPH, ReadMalic, ReadSugar}
	}
	return "", nil
}

// stale is how old a reading may be for a decision to be held against it.
const stale = 60 * 24 * time.Hour

// decide holds a decision against what was known when it was written down: a
// reading that arrived, or was struck, only later is told of. It informs; what to
// do about it is the person's to say.
func (s *step) decide(v vessel, c *contents) {
	decision, kinds := restsOn(s.r.Body)
	taken := s.r.Entry.Written
	for _, what := range kinds {
		now := v.state().memory.last(what, func(r *remembered) bool { return r.struck.IsZero() })
		then := v.state().memory.last(what, func(r *remembered) bool {
			return !r.written().After(taken) && (r.struck.IsZero() || r.struck.After(taken))
		})
		if now == then || sameFigure(now, then) || then == nil && s.r.At.Sub(now.at) > stale || now == nil && s.r.At.Sub(then.at) > stale {
			continue
		}
		g := s.find(s.r, FoundRested, restedSays(decision, what, now, then, s.r))
		g.about(c)
		g.Note = true
		for _, r := range []*remembered{now, then} {
			if r != nil {
				g.Entries = append(g.Entries, r.n.rec.Entry.ID)
			}
		}
	}
}

func sameFigure(a, b *remembered) bool {
	if a == nil || b == nil {
		return false
	}
	x, y := a.n.rec.Body.(Reading).Value, b.n.rec.Body.(Reading).Value
	return x != nil && y != nil && *x == *y
}

func restedSays(decision, what string, now, then *remembered, d *Record) string {
	quote := func(r *remembered) string {
		title := what
		if known, ok := LookupReadable(what); ok {
			title = known.Title
		}
		return title + " " + r.n.rec.Body.(Reading).Value.String() + " of " + dayOf(r.at)
	}
	says := "this " + decision + " of " + dayOf(d.At)
	switch {
	case then == nil:
		return says + " was written down before " + quote(now) + " was known"
	case now == nil:
		return says + " rested on " + quote(then) + ", which was struck since: no other stands"
	case then.struck.IsZero():
		return says + " rested on " + quote(then) + "; " + quote(now) + " came in only later"
	}
	return says + " rested on " + quote(then) + ", which was struck since: what stands is " + quote(now)
}

// dayOf is a day in words: "3 November 2026".
func dayOf(t time.Time) string { return t.Format("2 January 2006") }
