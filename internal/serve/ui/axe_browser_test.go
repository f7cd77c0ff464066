package ui

import (
	"os"
	"testing"
)

// TestAxe runs axe-core over the gallery in both themes. axe-core is not kept here:
// ELEVAGE_AXE names its axe.min.js (npm package axe-core).
func TestAxe(t *testing.T) {
	file := os.Getenv("ELEVAGE_AXE")
	if file == "" {
		t.Skip("set ELEVAGE_AXE to axe-core's axe.min.js to have the pages checked by it")
	}
	t.Parallel()
	axe, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	ctx, srv := browser(t), serveGallery(t)
	for _, g := range gallery() {
		for _, th := range []Theme{Slate, Paper} {
			for _, w := range []int64{390, 1440} {
				open(t, ctx, srv.URL+"/"+g.name+"?theme="+string(th), w, 900)
				ask[bool](t, ctx, string(axe)+`;(document.querySelectorAll('details').forEach(d => d.open = true), window.axeSays = null,
					axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21aa', 'wcag22aa', 'best-practice'] }).then(r => { window.axeSays = r; }, e => { window.axeSays = { violations: [{ id: String(e), nodes: [] }], passes: [1] }; }), true)`)
				until(t, ctx, "axe is done", `window.axeSays !== null`)
				if n := ask[int](t, ctx, `axeSays.passes.length`); n == 0 {
					t.Errorf("%s: axe checked nothing", g.name)
				}
				for _, v := range ask[[]string](t, ctx, `axeSays.violations.flatMap(v => v.nodes.slice(0, 3).map(n => v.id + ': ' + n.target.join(' ') + ' ' + (n.any[0]?.message ?? n.all[0]?.message ?? n.none[0]?.message ?? '')).concat(v.nodes.length ? [] : [v.id]))`) {
					t.Errorf("%s on %s at %d px: %s", g.name, th, w, v)
				}
			}
		}
	}
}
