package advise

import (
	"math"
	"slices"
	"strings"

	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/bench"
	"elevage/internal/cellar"
)

func (p *plan) instruments() {
	for _, i := range p.State.Instruments {
		if i.Gone {
			continue
		}
		switch i.Type {
		case "ph-meter":
			if checked := p.lastCheck(i); p.meter == nil || checked.v > p.meterChecked.v {
				p.meter, p.meterChecked = i, checked
			}
		case "scale":
			if m, err := i.Step.Mass(); err == nil && m > 0 {
				p.scaleStep = min(p.scaleStep, m.Grams())
			}
		}
	}
}

// lastCheck is the day on which an instrument was last checked or calibrated.
func (p *plan) lastCheck(i *cellar.Instrument) measure {
	last := never
	for _, r := range i.Records {
		switch r.Body.(type) {
		case cellar.PHCheck, cellar.Calibration:
			if r.Counts() {
				last = on(r.At, p.zone)
			}
		}
	}
	return last
}

// A packet is the malolactic culture on the shelf.
type packet struct{ body *cellar.Purchase }

func (k packet) weight() ref.Val {
	if k.body == nil {
		return nil
	}
	m, err := k.body.Amount.Mass()
	if err != nil || m <= 0 {
		return nil
	}
	return measure{kind: mass, v: m.Grams()}
}

func (k packet) rated() ref.Val {
	if k.body == nil {
		return nil
	}
	v, _, err := k.body.Treats.Volume()
	if err != nil || v <= 0 {
		return nil
	}
	return measure{kind: volume, v: v.Litres()}
}

func (p *plan) shelf() {
	for _, r := range p.State.Stores {
		b, ok := r.Body.(cellar.Purchase)
		if !ok || !r.Counts() {
			continue
		}
		if strings.Contains(b.Product, "malolactic") && !strings.Contains(b.Product, "nutrient") {
			p.packet = packet{&b}
		}
	}
}

// readyForCulture are the wines that one packet would be divided over.
func (p *plan) readyForCulture() string {
	var rows []string
	for _, s := range p.all {
		if s.scope != OfParcel || s.parcel.Form != cellar.FormWine || s.parcel.Volume <= 0 {
			continue
		}
		c, wanted, dry := s.conversion(), s.wanted(), s.dry()
		if c.started || c.over || c.givenUp || wanted == nil || !*wanted || dry == nil || !*dry {
			continue
		}
		rows = append(rows, s.cultureRow())
	}
	return strings.Join(rows, ";")
}

// CultureAtHand is what the culture calculator asks that a cellar knows: the wines that
// wait for bacteria, and the packet on the shelf.
func CultureAtHand(in Input) (bench.Given, error) {
	p, err := newPlan(in)
	if err != nil {
		return nil, err
	}
	given := bench.Given{}
	var lots []any
	for row := range strings.SplitSeq(p.readyForCulture(), ";") {
		if cells := strings.Split(row, ","); len(cells) == 3 {
			lots = append(lots, map[string]any{"lot": cells[0], "volume_l": cells[1], "weight": cells[2]})
		}
	}
	if lots != nil {
		given["lots"] = lots
	}
	if m, ok := p.packet.weight().(measure); ok {
		given["packet_g"] = m.v
	}
	if m, ok := p.packet.rated().(measure); ok {
		given["packet_volume_l"] = m.v
	}
	given["scale_step_g"] = p.scaleStep
	return given, nil
}

// cultureRow is a wine as the culture calculator reads it: half as much again for one
// with a hard factor. A proposal of the bench.
func (s *subject) cultureRow() string {
	weight := "1"
	if k, ok := s.conditions(); ok && k.Difficult() > 0 {
		weight = "1.5"
	}
	return s.vessel.Slug + "," + numeral(math.Round(float64(s.parcel.Volume)*10)/10) + "," + weight
}

// lastTick is the day on which a step about the cellar was last ticked.
func (p *plan) lastTick(step string) ref.Val {
	last := never
	for _, r := range p.State.Records.All() {
		if b, ok := r.Body.(cellar.Done); ok && r.Counts() && stepOf(b.Task) == step {
			last = on(r.At, p.zone)
		}
	}
	return last
}

func (p *plan) bought(products ...string) ref.Val {
	last := never
	for _, r := range p.State.Stores {
		if b, ok := r.Body.(cellar.Purchase); ok && r.Counts() && slices.Contains(products, b.Product) {
			last = on(r.At, p.zone)
		}
	}
	return last
}

func (p *plan) subject(scope Scope) *subject {
	return &subject{plan: p, scope: scope, known: map[string]ref.Val{}, from: map[string]origin{}}
}
