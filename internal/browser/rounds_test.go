package browser

import (
	"testing"
	"time"

	"elevage/internal/demo"
	"elevage/internal/serve"
)

// The day's rounds from the phone: three boxes and one button; the API then shows what
// was kept, and the page says so when it is opened again.
func TestRoundsOnAPhone(t *testing.T) {
	entries, err := demo.Entries(time.Now())
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, demo.Key, entries)
	b.show("/", 390)
	b.reads("The day's rounds")
	b.show("/rounds", 390)
	ask[bool](b, `document.getElementById('f-cap-bin2').checked = true`)
	b.send("/rounds", map[string]string{"density-bin2": "1.019", "temperature-bin2": "25"})
	if path := ask[string](b, `location.pathname`); path != "/" {
		t.Errorf("led to %s", path)
	}
	var rounds []serve.RoundJSON
	b.api("/rounds", &rounds)
	if len(rounds) != 1 || rounds[0].Density != "1.019 SG" || rounds[0].Temperature != "25 °C" || rounds[0].CapWorked == nil || time.Since(*rounds[0].CapWorked) > 2*time.Minute {
		t.Errorf("%+v", rounds)
	}
	b.show("/rounds", 390)
	b.reads("1.019")
	b.fits("/rounds")
	b.fits("/walk")
	b.fits("/lots/syrah/protocol")
	for _, path := range []string{"/bottles", "/doubts", "/made", "/ledger"} {
		b.fits(path)
	}
}
