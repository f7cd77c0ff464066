package desk

import (
	"strings"
	"testing"

	"elevage/internal/cellar"
	"elevage/internal/demo"
)

// Sulfited wine on its way into wine that converts: what it does to the conversion is
// said with figures before it is kept; where nothing converts nothing is said.
func TestToppingIsForeseen(t *testing.T) {
	t.Parallel()
	v := view(t, New(demoBook(t), demo.Key, Options{Particles: few}), evening)
	topping := func(from, to, volume string) cellar.Draft {
		return cellar.Draft{Happened: cellar.At(evening), Body: cellar.Movement{How: "topping",
			From: []cellar.Portion{{Vessel: from, Volume: cellar.M(volume, "L")}}, To: []cellar.Portion{{Vessel: to, Volume: cellar.M(volume, "L")}}}}
	}
	w := v.Foresee(topping("b1", "d1", "12"))
	if len(w) != 1 || w[0].Stop || !strings.HasPrefix(w[0].Says, "With wine from b1 in d1, ") || !strings.Contains(w[0].Says, "the chance that the conversion is over within 60 days falls from ") {
		t.Errorf("%+v", w)
	}
	for _, d := range []cellar.Draft{topping("d2", "b1", "5"), topping("d1", "d1", "5"), topping("nowhere", "d1", "5"), {Happened: cellar.At(evening), Body: ph("d1", "3.5")}} {
		if w := v.Foresee(d); len(w) > 0 {
			t.Errorf("%+v: %+v", d.Body, w)
		}
	}
}
