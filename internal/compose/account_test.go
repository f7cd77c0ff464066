package compose

import (
	"fmt"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"elevage/internal/cellar"
	"elevage/science/quantity"
)

func door[Q ~float64](s cellar.Sheet[Q], name string) cellar.Through[Q] {
	for _, d := range s.Doors {
		if d.Door == name {
			return d
		}
	}
	return cellar.Through[Q]{}
}

func (a *Account) made(what int) cellar.Sheet[quantity.Mass] {
	for i, k := range accounted {
		if k == what {
			return a.Made[i].Sheet
		}
	}
	panic("not accounted for")
}

// closes says whether every sheet of an account closes to rounding.
func closes(t interface {
	Helper()
	Errorf(string, ...any)
}, a Account) {
	t.Helper()
	check := func(what string, off, size float64) {
		if math.Abs(off) > 1e-9*(1+size) || math.IsNaN(off) {
			t.Errorf("%s is off by %v", what, off)
		}
	}
	check("volume", a.Volume.Off().Litres(), size(a.Volume))
	check("alcohol", a.Alcohol.Off().Litres(), size(a.Alcohol))
	for _, m := range a.Made {
		check(m.What, m.Off().Grams(), size(m.Sheet))
	}
	for _, m := range a.Added {
		check("added "+m.What, m.Off().Grams(), size(m))
	}
}

func size[Q ~float64](s cellar.Sheet[Q]) float64 {
	sum := math.Abs(float64(s.Opening)) + math.Abs(float64(s.Closing))
	for _, d := range s.Doors {
		sum += float64(d.In + d.Out)
	}
	return sum
}

// A lot from a fill to a racking, worked by hand.
func TestAccountByHand(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.fill("red", "c1", "50", "13.0", "3.45", "6.4", "2.0")
	d.do(reading("c1", cellar.ReadTotalSO2, "20", "mg/L"))
	from := d.now
	d.days(30)
	d.do(reading("c1", cellar.ReadMalic, "0.2", "g/L")) // 1.8 g/L of 50 L converted
	d.do(cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("5", "g")})
	d.days(60)
	d.do(reading("c1", cellar.ReadTotalSO2, "60", "mg/L")) // 20 + 57.6 were there
	d.do(cellar.Movement{How: "racking", From: []cellar.Portion{{Vessel: "c1", All: true}}, To: []cellar.Portion{{Vessel: "b1", Volume: L("48")}}, Rest: cellar.LossLees})
	a := AccountOf(d.state(), cellar.Scope{Lot: "red"}, from, d.now)
	closes(t, a)
	m := a.made(malic)
	near(t, "malic acid at first", m.Opening.Grams(), 100, 1e-9)
	near(t, "malic acid converted", door(m, DoorConverted).Out.Grams(), 90, 1e-9)
	near(t, "malic acid to the lees", door(m, cellar.LossLees).Out.Grams(), 0.2*2, 1e-9)
	near(t, "lactic acid formed", door(a.made(lactic), DoorConverted).In.Grams(), 90*90.078/134.087, 1e-9)
	s := a.made(so2)
	near(t, "SO2 added", door(s, cellar.DoorAddition).In.Grams(), 5*0.5763, 1e-9)
	near(t, "SO2 oxidised", door(s, DoorOxidised).Out.Grams(), 50*0.020+5*0.5763-50*0.060, 1e-9)
	near(t, "alcohol at last", a.Alcohol.Closing.Litres(), 0.13*48, 1e-9)
	near(t, "alcohol to the lees", door(a.Alcohol, cellar.LossLees).Out.Litres(), 0.13*2, 1e-9)
	if a.Made[0].Assumed < 0.9 || a.Made[2].Assumed != 0 {
		t.Errorf("sugar was never read: %v; malic acid was: %v", a.Made[0].Assumed, a.Made[2].Assumed)
	}
}

// What evaporates takes water and alcohol, and leaves acids behind.
func TestAccountOfEvaporation(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.fill("red", "c1", "50", "13.0", "3.45", "6.4", "2.0")
	from := d.now
	d.days(300)
	d.do(cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: "c1"}}, Losses: []cellar.Loss{{Kind: cellar.LossEvaporation, Volume: L("2")}}})
	a := AccountOf(d.state(), cellar.Scope{Lot: "red"}, from, d.now)
	closes(t, a)
	near(t, "malic acid", a.made(malic).Closing.Grams(), 100, 1e-9)
	near(t, "alcohol", a.Alcohol.Closing.Litres(), 0.13*48, 1e-9)
	w := d.of("c1")
	near(t, "malic acid in a litre", w.Malic.Value.GPerL(), 100./48, 1e-9)
	near(t, "strength", w.Alcohol.Value.Percent(), 13, 1e-9)
}

// happens draws a random season of a few vessels: fills, splits, blends, losses,
// doses, dips, readings of everything, verdicts and strikes.
func happens(t *rapid.T) []cellar.Entry {
	d := newDiary(t)
	vessel := rapid.SampledFrom([]string{"c1", "c2", "c3"})
	litres := func(label string) *cellar.Measure { return L(fmt.Sprint(rapid.IntRange(1, 40).Draw(t, label))) }
	d.do(cellar.Movement{How: "filling", Lot: "red", To: []cellar.Portion{{Vessel: "c1", Volume: L("40")}}}, cellar.FruitReceived{Lot: "other", Vessel: "c3", Weight: cellar.M("30", "kg")})
	for range rapid.IntRange(1, 30).Draw(t, "acts") {
		d.days(rapid.IntRange(0, 20).Draw(t, "days"))
		v := vessel.Draw(t, "vessel")
		switch rapid.IntRange(0, 11).Draw(t, "act") {
		case 0:
			d.do(cellar.Movement{How: "filling", Lot: "other", To: []cellar.Portion{{Vessel: v, Volume: litres("in")}}})
		case 1, 2:
			to := vessel.Draw(t, "to")
			m := cellar.Movement{How: "racking", From: []cellar.Portion{{Vessel: v, All: rapid.Bool().Draw(t, "all")}}, To: []cellar.Portion{{Vessel: to, Volume: litres("over")}}}
			if rapid.Bool().Draw(t, "rest") {
				m.Rest = cellar.LossLees
			}
			if rapid.IntRange(0, 3).Draw(t, "evaporates") == 0 {
				m.Losses = []cellar.Loss{{Kind: cellar.LossEvaporation, Volume: L("1")}}
			}
			d.do(m)
		case 3:
			d.do(cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: v, Volume: litres("out")}}})
		case 4:
			d.do(cellar.Addition{Vessel: v, Product: rapid.SampledFrom([]string{"potassium-metabisulfite", "tartaric-acid", "sugar", "potassium-bicarbonate", "oak"}).Draw(t, "product"), Amount: cellar.M("30", "g")})
		case 5:
			d.do(cellar.Addition{Vessel: v, Product: "water", Amount: litres("water")})
		case 6:
			d.do(cellar.Dip{Vessel: v, Volume: litres("dip")})
		case 7, 8, 9:
			r := rapid.SampledFrom([]cellar.Reading{reading("", cellar.ReadPH, "3.45", "pH"), titration("", "6.2"), reading("", cellar.ReadMalic, "1.1", "g/L"), reading("", cellar.ReadMalic, "0.1", "g/L"),
				reading("", cellar.ReadTotalSO2, "45", "mg/L"), reading("", cellar.ReadAlcohol, "12.4", "% vol"), reading("", cellar.ReadTartaric, "2.4", "g/L"), reading("", cellar.ReadDensity, "21", "°Brix"),
				reading("", cellar.ReadSugar, "1.5", "g/L"), reading("", cellar.ReadPotassium, "900", "mg/L"), reading("", cellar.ReadVA, "0.5", "g/L"), reading("", cellar.ReadLactic, "1.4", "g/L")}).Draw(t, "reading")
			r.Vessel = v
			d.do(r)
		case 10:
			d.do(cellar.Verdict{Vessel: v, Says: rapid.SampledFrom([]string{cellar.VerdictDry, cellar.VerdictMalolacticFinished}).Draw(t, "says")})
		case 11:
			d.do(rapid.SampledFrom([]cellar.Body{cellar.Crush{Lot: "other", To: []cellar.Portion{{Vessel: "c3", Volume: L("24")}}},
				cellar.Press{From: []cellar.Portion{{Vessel: "c3", All: true}}, To: []cellar.Portion{{Vessel: "c2", Volume: L("18")}}},
				cellar.Bottling{Slug: "bottles", From: []cellar.Portion{{Vessel: "c1"}}, Count: 20, Size: cellar.M("750", "mL")}, cellar.Opened{Bottling: "bottles", Count: 3},
				cellar.Strike{Target: d.entries[rapid.IntRange(0, len(d.entries)-1).Draw(t, "target")].ID, Reason: "wrong"}}).Draw(t, "rarer"))
		}
	}
	return d.entries
}

// In any history, an account of any scope over any span closes, every figure is a
// number with a ±, and what a cellar's lots hold is what the cellar holds.
func TestAccountsClose(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		s := cellar.Fold(happens(t), cellar.Options{})
		from := day0.AddDate(0, 0, rapid.IntRange(-1, 100).Draw(t, "from"))
		to := from.AddDate(0, 0, rapid.IntRange(0, 200).Draw(t, "span"))
		whole := AccountOf(s, cellar.Scope{}, from, to)
		closes(t, whole)
		var alcohol quantity.Volume
		for _, l := range s.Lots.All() {
			a := AccountOf(s, cellar.Scope{Lot: l.Slug}, from, to)
			closes(t, a)
			alcohol += a.Alcohol.Closing
		}
		if off := alcohol - whole.Alcohol.Closing; math.Abs(off.Litres()) > 1e-6 {
			t.Errorf("the lots hold %v L of alcohol more than the cellar", off)
		}
		for _, p := range s.Parcels.All() {
			if p.At(to).Volume <= 0 {
				continue
			}
			w, err := Of(s, p.ID, to)
			if err != nil {
				t.Fatalf("%s: %v", p.ID, err)
			}
			for k, f := range w.body.f {
				if math.IsNaN(f.v) || math.IsNaN(f.sd()) || f.v < -1e-9 && k != strong || w.body.assumed[k] < -1e-9 || w.body.assumed[k] > 1+1e-9 {
					t.Errorf("%s of %s: %v ± %v, assumed %v", partNames[k], p.ID, f.v, f.sd(), w.body.assumed[k])
				}
			}
		}
	})
}

// Arrivals by hand: 2 L with 80 mg/L into 23 L with 10 mg/L moves the total by
// 2/25·70 mg/L.
func TestArrivals(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.fill("red", "c1", "23", "13.2", "3.45", "6.4", "1.1")
	d.fill("other", "c2", "20", "13.0", "3.55", "5.6", "0.1")
	d.do(reading("c1", cellar.ReadTotalSO2, "10", "mg/L"), reading("c2", cellar.ReadTotalSO2, "80", "mg/L"), cellar.Inoculation{Vessel: "c2", Of: "malolactic", How: "direct"})
	d.days(1)
	d.do(cellar.Movement{How: "topping", From: []cellar.Portion{{Vessel: "c2", Volume: L("2")}}, To: []cellar.Portion{{Vessel: "c1", Volume: L("2")}}})
	s := d.state()
	id := s.In("c1").ID
	a := Arrivals(s, id, d.now)
	if len(a) != 1 || !a[0].Live || a[0].Brings.Lot != "other" {
		t.Fatalf("%+v", a)
	}
	near(t, "share", a[0].Share, 2./25, 1e-12)
	near(t, "SO2", a[0].SO2.Value.MgPerL(), 70*2./25, 1e-9)
	near(t, "malic acid", a[0].Malic.Value.GPerL(), -1.0*2/25, 1e-9)
	if a[0].SO2.How != Reckon || a[0].SO2.SD <= 0 {
		t.Errorf("%+v", a[0].SO2)
	}
	if b := Arrivals(s, id, d.now.Add(-time.Hour)); len(b) != 0 {
		t.Errorf("before it came: %+v", b)
	}
	d.do(cellar.Verdict{Vessel: "c2", Says: cellar.VerdictMalolacticFinished},
		cellar.Movement{How: "topping", From: []cellar.Portion{{Vessel: "c2", Volume: L("1")}}, To: []cellar.Portion{{Vessel: "c1", Volume: L("1")}}})
	if a := Arrivals(d.state(), id, d.now); len(a) != 2 || a[1].Live {
		t.Errorf("a finished wine is alive: %+v", a)
	}
	if Arrivals(s, "nothing", d.now) != nil {
		t.Error("something came into nothing")
	}
}
