package browser

import (
	"fmt"
	"math"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"elevage/internal/demo"
	"elevage/internal/serve"
)

// ticks says of which names and values a form's boxes are ticked.
func (b *tab) ticks(action, name string, values ...string) {
	b.t.Helper()
	ask[bool](b, fmt.Sprintf(`(() => {
		const form = [...document.forms].find(f => new URL(f.action).pathname === %q);
		for (const box of form.querySelectorAll('input[type=checkbox][name=%q]')) box.checked = %q.split(' ').includes(box.value);
		return true;
	})()`, action, name, strings.Join(values, " ")))
}

// comesTo waits for words on a page that may still be reckoning.
func (b *tab) comesTo(words string) {
	b.t.Helper()
	b.waits(words, fmt.Sprintf(`document.readyState === 'complete' && document.body.innerText.includes(%q)`, words))
}

// A wish in the invented cellar leads to several blends; the first of them is tasted
// under codes, then made; the ledger shows the entries, and the vessels hold by the
// page and the API what the blend was to be.
func TestFromAWishToABlend(t *testing.T) {
	entries, err := demo.Entries(time.Now())
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, demo.Key, entries)
	const wish = "/blend?ask=1&use=d2&use=b1&use=k1&abv_pct_aim=13.2&ph_aim=3.5&most_l=70&least_l=60"
	const own = "/blend/own?ask=1&whole_l=20&a-d2=60&a-k1=40&b-d2=70&b-k1=x"
	for _, path := range []string{"/blend", wish, own, "/blend/make?recipe=d2%3D40+k1%3D20", "/blend/trial?recipe=d2%3D40+k1%3D20&recipe=d2%3D45+k1%3D15", "/blend/tastings"} {
		b.fits(path)
	}

	b.show("/cellar", 390)
	b.reads("Blend")
	b.show("/blend", 390)
	b.ticks("/blend", "use", "d2", "b1", "k1")
	b.send("/blend", map[string]string{"abv_pct_aim": "13.2", "ph_aim": "3.5", "least_l": "60", "most_l": "70"})
	b.reads("Side by side")
	recipes := ask[[]string](b, `[...document.querySelectorAll('.blends input[name=recipe]')].map(i => i.value)`)
	if len(recipes) < 2 {
		t.Fatalf("one answer only: %v", recipes)
	}

	var found serve.BlendsJSON
	r, err := http.Post(b.base+"/api/v1/blend", "application/json", strings.NewReader(`{"use":["d2","b1","k1"],"least_l":60,"most_l":70,"wants":[{"what":"abv_pct","aim":13.2},{"what":"ph","aim":3.5}]}`)) //nolint:noctx // a test's own server
	if err != nil {
		t.Fatal(err)
	}
	decode(t, r, &found)
	if len(found.Blends) == 0 || found.Blends[0].Recipe != recipes[0] {
		t.Fatalf("the page's first is %q, the API's %+v", recipes[0], found.Blends)
	}
	first := found.Blends[0]

	b.ticks("/blend/trial", "recipe", "") // a name with a space is ticked by its place
	ask[bool](b, `[...document.querySelectorAll('.blends input[name=recipe]')].slice(0, 2).forEach(i => i.checked = true) ?? true`)
	b.send("/blend/trial", map[string]string{})
	b.reads("Who tastes")
	b.send("/blend/trial", map[string]string{"tasters": "Runa, Odo"})
	b.reads("Blind tasting")
	code := ask[string](b, `document.querySelector('select[name=chosen]').options[1].value`)
	b.send("/blend/trial", map[string]string{"order-1": code, "order-2": code, "chosen": code})
	b.reads("2 of 2 put one and the same glass first")

	if err := chromedp.Do(b.ctx, chromedp.Navigate(b.base+"/blend/make?recipe="+strings.NewReplacer(" ", "+", "=", "%3D").Replace(first.Recipe))); err != nil {
		t.Fatal(err)
	}
	ask[bool](b, `['into-d3', 'into-c8'].forEach(n => document.querySelector('input[name=' + n + ']').checked = true) ?? true`)
	b.send("/blend/make", map[string]string{"name": "Under the stairs"})
	b.reads("Nothing is kept yet")
	b.reads("part full")
	b.send("/blend/make", map[string]string{})
	b.comesTo("Under the stairs")

	var parcels []serve.ParcelJSON
	b.api("/parcels", &parcels)
	sum := 0.0
	for _, p := range parcels {
		if p.Lot == "under-the-stairs" {
			sum += p.VolumeL
		}
	}
	if math.Abs(sum-first.VolumeL) > 0.011 { // what is poured is written to a hundredth of a litre
		t.Errorf("%.3f L were made of %.3f", sum, first.VolumeL)
	}
	for _, was := range first.Parts {
		for _, p := range parcels {
			if p.Vessel == was.Vessel && math.Abs(p.VolumeL-was.LeftL) > 0.011 {
				t.Errorf("%s holds %.3f L, and %.3f were to be left", p.Vessel, p.VolumeL, was.LeftL)
			}
		}
	}
	b.show("/ledger", 1440)
	b.comesTo("as lot under-the-stairs")
	b.reads("trial of blend")
	b.reads("2×")
}
