package browser

import (
	"strings"
	"testing"
	"time"

	"elevage/internal/demo"
)

// The river under the hand: it begins at today, keeps the names in sight as it slides,
// reads out the wine under the pointer, and a wine that is pressed stands out with
// what flows into it and out of it.
func TestRiverUnderTheHand(t *testing.T) {
	entries, err := demo.Vintages(time.Now(), 12)
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, demo.Key, entries)
	for _, width := range []int64{390, 1440} {
		b.show("/cellar?span=year", width)
		const pan = `document.querySelector('.river-pan')`
		if !ask[bool](b, `(() => { const p = `+pan+`, now = Number(p.querySelector('svg').dataset.now); return p.scrollLeft < now && now < p.scrollLeft + p.clientWidth })()`) {
			t.Errorf("%d px: today is out of sight", width)
		}
		if ask[bool](b, `document.documentElement.scrollWidth > innerWidth`) {
			t.Errorf("%d px: the page itself slides", width)
		}
		// A name that began long ago stands at the left edge.
		out := ask[int](b, `(() => { const p = `+pan+`, left = p.getBoundingClientRect().left;
			return [...p.querySelectorAll('.name')].filter(n => Number(n.dataset.from) < p.scrollLeft && Number(n.dataset.to) > p.scrollLeft + 6 && n.getBoundingClientRect().left < left).length })()`)
		if out > 0 {
			t.Errorf("%d px: %d names of wine in sight are out of sight", width, out)
		}
		// Press a wine that others flow into.
		said := ask[string](b, `(() => {
			const flow = [...document.querySelectorAll('.flow')].find(f => f.dataset.out !== f.dataset.in);
			const reach = document.querySelector('[data-reach="' + flow.dataset.in + '"]');
			const band = reach.querySelector('.band path'), box = band.getBoundingClientRect();
			for (const kind of ['pointermove', 'click']) band.dispatchEvent(new PointerEvent(kind, { bubbles: true, cancelable: true, clientX: box.left + box.width / 2, clientY: box.top, detail: 1 }));
			const lit = new Set([...document.querySelectorAll('.reach:not(.aside)')].map(r => r.dataset.reach));
			return [lit.has(flow.dataset.in), lit.has(flow.dataset.out), lit.size < document.querySelectorAll('.reach').length, location.pathname, document.querySelector('[data-river] .chart-say').textContent].join('|');
		})()`)
		parts := strings.SplitN(said, "|", 5)
		if strings.Join(parts[:4], " ") != "true true true /cellar" {
			t.Errorf("%d px: pressed: itself and its source stand out, others not, and the page stays: %s", width, said)
		}
		if words := parts[4]; !strings.Contains(words, " L. Open this wine") || !strings.Contains(words, "20") {
			t.Errorf("%d px: it says %q, want a date, a wine, its litres and the way to it", width, words)
		}
		if ask[int](b, `(() => { document.querySelector('[data-river]').dispatchEvent(new KeyboardEvent('keydown', { key: 'Escape' })); return document.querySelectorAll('.aside').length })()`) != 0 {
			t.Errorf("%d px: Escape leaves wines aside", width)
		}
	}
	// A mouse that drags slides it, and does not press what it lets go over.
	moved := ask[string](b, `(() => {
		const p = document.querySelector('.river-pan'), was = p.scrollLeft, band = p.querySelector('.band path');
		const at = (kind, x) => band.dispatchEvent(new PointerEvent(kind, { bubbles: true, cancelable: true, clientX: x, clientY: 300, button: 0, pointerType: 'mouse', detail: 1 }));
		at('pointerdown', 500); at('pointermove', 560); at('pointermove', 620); at('pointerup', 620); at('click', 620);
		return [was - p.scrollLeft, document.querySelectorAll('.aside').length, location.pathname].join(' ');
	})()`)
	if moved != "120 0 /cellar" {
		t.Errorf("dragged by 120: %s", moved)
	}
}
