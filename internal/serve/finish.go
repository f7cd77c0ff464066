package serve

import (
	"net/url"

	"elevage/internal/cellar"
)

// finishing is the form with which a planned act's half-written entry is
// finished, filled in with what the plan knows of it. It is false for an entry
// that says all there is to say, and for one that no form can finish.
func finishing(b cellar.Body) (form, url.Values, bool) {
	q := url.Values{}
	known := func(pairs ...string) {
		for i := 0; i < len(pairs); i += 2 {
			if pairs[i+1] != "" {
				q.Set(pairs[i], pairs[i+1])
			}
		}
	}
	name := ""
	switch b := b.(type) {
	case cellar.Reading:
		name = "reading"
		known("vessel", b.Vessel, "what", b.What, "method", b.Method, "end_point", b.EndPoint)
	case cellar.PHCheck:
		name = "check"
		known("instrument", b.Instrument)
	case cellar.Movement:
		name = knownMovement(b, known)
	case cellar.Press:
		name = "press"
		known("vessel", firstVessel(b.From))
	case cellar.Bottling:
		name = "bottling"
		known("vessel", firstVessel(b.From), "size", b.Size.String(), "closure", b.Closure)
		if len(b.From) > 0 {
			known("volume", b.From[0].Volume.String())
		}
	case cellar.Dip:
		name = "dip"
		known("vessel", b.Vessel)
	case cellar.ControlKept:
		name = "control"
		known("vessel", b.Vessel, "volume", b.Volume.String(), "kept", b.Kept)
	case cellar.Tasting:
		name = "tasting"
		known("vessel", b.Vessel)
	case cellar.Note:
		name = "note"
		known("vessel", b.Vessel)
	case cellar.Addition: // whose amount could not be reckoned
		if b.Amount.IsZero() {
			name = "addition"
			known("vessel", b.Vessel, "product", b.Product)
		}
	case cellar.Inoculation:
		if b.How == "" {
			name = "inoculation"
			known("vessel", b.Vessel, "of", b.Of, "amount", b.Amount.String())
		}
	case cellar.Warmth:
		if b.Set.IsZero() {
			name = "warmth"
			known("vessel", b.Vessel)
		}
	}
	f, err := formNamed(name)
	return f, q, err == nil
}

func knownMovement(b cellar.Movement, known func(...string)) string {
	if b.How == "topping" {
		known("vessel", firstVessel(b.To), "from", firstVessel(b.From))
		if len(b.To) > 0 {
			known("volume", b.To[0].Volume.String())
		}
		return "topping"
	}
	known("vessel", firstVessel(b.From), "to", firstVessel(b.To), "rest", b.Rest)
	return "racking"
}

func firstVessel(ps []cellar.Portion) string {
	if len(ps) == 0 {
		return ""
	}
	return ps[0].Vessel
}

// withPlanned puts back into a finished entry what the plan knew and the form
// does not ask.
func withPlanned(b, planned cellar.Body) cellar.Body {
	switch b := b.(type) {
	case cellar.Reading:
		b.Words = planned.(cellar.Reading).Words
		return b
	case cellar.PHCheck:
		b.Words = planned.(cellar.PHCheck).Words
		return b
	case cellar.ControlKept:
		b.Words = planned.(cellar.ControlKept).Words
		return b
	case cellar.Movement:
		if p := planned.(cellar.Movement); p.How != "" {
			b.How, b.Words, b.Gas = p.How, p.Words, p.Gas
		}
		return b
	case cellar.Press:
		b.Words = planned.(cellar.Press).Words
		return b
	case cellar.Note:
		b.Lot = planned.(cellar.Note).Lot
		return b
	case cellar.Addition:
		p := planned.(cellar.Addition)
		b.Purpose, b.For, b.Words = p.Purpose, p.For, p.Words
		return b
	}
	return b
}
