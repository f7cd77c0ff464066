package browser

import (
	"testing"
	"time"

	"elevage/internal/demo"
)

// On a phone no column of a table lies beyond the edge, with all details open.
func TestTablesFitAPhone(t *testing.T) {
	entries, err := demo.Entries(time.Now())
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, demo.Key, entries)
	for _, path := range []string{"/vessels", "/cellar", "/account", "/lots/zweigelt", "/lots/merlot", "/lots/cabernet-franc"} {
		b.show(path, 390)
		ask[bool](b, `(document.querySelectorAll('details').forEach(d => d.open = true), true)`)
		if ask[int](b, `document.querySelectorAll('.scroll').length`) == 0 {
			t.Errorf("%s has no table to look at", path)
		}
		for _, s := range ask[[]string](b, `[...document.querySelectorAll('.scroll')].filter(e => e.scrollWidth > e.clientWidth + 1).map(e => e.getAttribute('aria-label') + ', ' + e.scrollWidth + ' px in ' + e.clientWidth)`) {
			t.Errorf("%s: %s", path, s)
		}
	}
}
