package compose

import (
	"testing"

	"elevage/internal/cellar"
	"elevage/science/quantity"
)

// A wine of 2.0 g/L malic acid and 6.6 g/L TA converts in c1 and is racked to c2, and
// no malic acid is read again. By stoichiometry (150.087/2/134.087 and 90.078/134.087):
// once all but 0.05 g/L is believed gone, 1.95 g/L have taken 1.091 g/L off the TA that
// was read at the start, though it was read in the vessel before; without the belief
// nothing is known to have gone.
func TestMalicAcidAsItIsBelieved(t *testing.T) {
	t.Parallel()
	d := newDiary(t)
	d.fill("red", "c1", "50", "13", "3.45", "6.6", "2.0")
	began := d.now
	d.days(30)
	half := d.now
	d.days(10)
	d.do(cellar.Movement{How: "racking", From: []cellar.Portion{{Vessel: "c1", All: true}}, To: []cellar.Portion{{Vessel: "c2", Volume: L("49")}}})
	d.days(20)
	s, id := d.state(), d.state().In("c2").ID
	course := Course{{began, 2.0, 0.1}, {half, 1.0, 0.2}, {d.now, 0.05, 0.04}}
	wines, err := AllBelieving(s, []cellar.ParcelID{id}, d.now, map[cellar.ParcelID]Course{id: course})
	if err != nil {
		t.Fatal(err)
	}
	w := wines[0]
	near(t, "malic", w.Malic.Value.GPerL(), 0.05, 1e-9)
	near(t, "malic ±", w.Malic.SD.GPerL(), 0.04, 1e-9)
	near(t, "TA", w.TA.Value.GPerL(), 6.6-1.95*150.087/2/134.087, 1e-6)
	if w.Malic.How != Believed || w.Malic.How.String() != "believed" {
		t.Errorf("malic acid is %s", w.Malic.How)
	}
	plain := d.of("c2")
	near(t, "lactic gained by the belief", w.Lactic.Value.GPerL()-plain.Lactic.Value.GPerL(), 1.95*90.078/134.087, 1e-3)
	if rise := w.PH.Value - plain.PH.Value; rise < 0.05 || rise > 0.3 {
		t.Errorf("the pH rises by %v as 2 g/L convert", rise)
	}
	near(t, "malic without the belief", plain.Malic.Value.GPerL(), 2, 1e-9)
	// Between two days it is believed in a straight line, also in the vessel before.
	for _, at := range []struct {
		days int
		want quantity.Concentration
	}{{-30, 1.0}, {-45, 1.5}} {
		when := d.now.AddDate(0, 0, at.days)
		id := s.In("c2").Inflows[0].From
		wines, err := AllBelieving(s, []cellar.ParcelID{id, s.In("c2").ID}[:1], when, map[cellar.ParcelID]Course{id: course})
		if err != nil {
			t.Fatal(err)
		}
		near(t, "on the way", wines[0].Malic.Value.GPerL(), at.want.GPerL(), 1e-3)
	}
	// What was read before the belief begins stays as it was read.
	late := Course{{d.now, 0.05, 0.04}}
	wines, err = AllBelieving(s, []cellar.ParcelID{id}, d.now.AddDate(0, 0, -1), map[cellar.ParcelID]Course{id: late})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "before it begins", wines[0].Malic.Value.GPerL(), 2, 1e-9)
	if wines[0].Malic.How == Believed {
		t.Error("believed before the belief began")
	}
}
