package browser

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"elevage/internal/cellar"
	"elevage/internal/demo"
	"elevage/internal/serve"
	"elevage/internal/serve/ui"
)

// waits until a page says something. A question that falls between two pages has no
// answer and is asked again.
func (b *tab) waits(what, js string) {
	b.t.Helper()
	for range 200 {
		if yes, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool](js)); err == nil && yes {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	b.t.Fatalf("%s: %s did not come:\n%.1500s", ask[string](b, `location.pathname`), what, ask[string](b, `document.body.innerText`))
}

// figure is the number of a figure of a vessel on a lot's page.
func (b *tab) figure(vessel, name string) string {
	b.t.Helper()
	return ask[string](b, fmt.Sprintf(`(() => {
		const fig = [...document.querySelectorAll('#v-%s .fig')].find(f => f.querySelector('.fig-name').textContent === %q);
		return fig ? fig.querySelector('.fig-number').textContent : 'no such figure';
	})()`, vessel, name))
}

// Sulfur dioxide, volumes and the bench: what the browser shows is what the API says.
func TestFiguresOfSulfurVolumesAndBench(t *testing.T) {
	entries, err := demo.Entries(time.Now())
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, demo.Key, entries)

	var beliefs []serve.BeliefJSON
	b.api("/beliefs", &beliefs)
	sulfured := 0
	for _, one := range beliefs {
		if one.SO2 == nil {
			continue
		}
		sulfured++
		b.show("/lots/"+one.Lot, 390)
		free, molecular := one.SO2.Free, one.SO2.Molecular
		for name, want := range map[string]ui.Figure{
			"free SO2 today":      {Value: free.Q50.MgPerL(), Low: free.Q05.MgPerL(), High: free.Q95.MgPerL(), Unit: "mg/L"},
			"molecular SO2 today": {Value: molecular.Q50.MgPerL(), Low: molecular.Q05.MgPerL(), High: molecular.Q95.MgPerL(), Unit: "mg/L molecular"},
		} {
			if got := b.figure(one.Vessel, name); got != want.Number() {
				t.Errorf("%s: %s is %s on the page and %s by the API", one.Vessel, name, got, want.Number())
			}
		}
	}
	if sulfured < 2 {
		t.Errorf("only %d beliefs about SO2 compared", sulfured)
	}

	var parcels []serve.ParcelJSON
	b.api("/parcels", &parcels)
	for _, p := range parcels {
		if p.Form == cellar.FormBottle || p.Lot == "petite-sirah" { // counted, and kept in gallons
			continue
		}
		b.show("/lots/"+p.Lot, 390)
		holds := ask[string](b, fmt.Sprintf(`document.querySelector('#v-%s .parcel-holds').textContent`, p.Vessel))
		if want := ui.Spread(p.VolumeL, p.VolumePM, "L"); !strings.HasPrefix(holds, want+" in a ") {
			t.Errorf("%s holds %q on the page and %q by the API", p.Vessel, holds, want)
		}
	}

	b.benchIsTheAPI()
}

func (b *tab) benchIsTheAPI() {
	b.t.Helper()
	b.show("/bench/molecular-so2?from=b1", 390)
	b.reads("Filled in from b1")
	b.send("/bench/molecular-so2", map[string]string{"free_so2_mg_l": "30", "ph": "3.40", "method": "handbook"})
	r, err := http.Post(b.base+"/api/v1/bench/molecular-so2", "application/json", strings.NewReader(`{"free_so2_mg_l":30,"ph":3.40,"method":"handbook"}`))
	if err != nil {
		b.t.Fatal(err)
	}
	var result struct {
		Molecular float64 `json:"molecular_so2_mg_l"`
	}
	decode(b.t, r, &result)
	want := fmt.Sprintf("%.2f", result.Molecular)
	if got := ask[string](b, `document.querySelector('#answer .fig-number').textContent`); got != want || want != "0.75" {
		// 30 / (1 + 10^(3.40 − 1.81)) = 0.75, the handbook's formula.
		b.t.Errorf("molecular SO2 is %s on the page and %s by the API, want 0.75", got, want)
	}
}

// With its script the page says what a line means while it is typed, and a tick
// asks for what was read.
func TestTypedLineIsReadAsItIsTyped(t *testing.T) {
	entries, err := demo.Entries(time.Now())
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, demo.Key, entries)
	b.show("/lots/syrah", 390)
	typing := func(text string) {
		ask[bool](b, fmt.Sprintf(`(() => { const line = document.getElementById('log-line'); line.value = %q; line.dispatchEvent(new Event('input', {bubbles: true})); return true })()`, text))
	}
	said := func(words string) {
		t.Helper()
		b.waits(words, fmt.Sprintf(`document.querySelector('[data-log-said]').textContent.includes(%q)`, words))
	}
	typing("phh 3.47 d1")
	said("Did you mean ph?")
	typing("ph 3.47 d1")
	said("d1 (Syrah, Long Field): pH 3.47")
	b.send("/log", map[string]string{})
	b.waits("the lot's page", `location.pathname === '/lots/syrah' && document.body.innerText.includes('pH 3.47')`)
	if got := b.figure("d1", "pH, read"); got != "3.47" {
		t.Errorf("the last pH read is %s", got)
	}

	b.show("/", 390)
	tick := ask[string](b, `[...document.querySelectorAll('a.tick')].map(a => a.getAttribute('href')).find(h => h.startsWith('/tick/measure-free-sulfite/b1/')) || ''`)
	if tick == "" {
		t.Fatal("free SO2 of b1 is not on the list")
	}
	b.show(tick, 390)
	b.send(tick, map[string]string{"value": "17"})
	b.waits("the list", `location.pathname === '/'`)
	b.show("/lots/tempranillo", 390)
	if got := b.figure("b1", "free SO2, read"); got != "17" {
		t.Errorf("the last free SO2 read is %s", got)
	}
}
