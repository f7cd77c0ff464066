package browser

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"

	"elevage/internal/demo"
)

// Every card of the demo, printed on every paper: as many sheets as it may have, no
// line squeezed, nothing beyond the margin. Sheets hold what a person carries: one for
// each vessel of a lot, one for a starter and for a bottling (two on the smallest).
func TestCardsPrint(t *testing.T) {
	entries, err := demo.Entries(time.Now())
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, demo.Key, entries)
	for _, c := range []struct {
		path       string
		a6, larger int // sheets at most
	}{
		{"/cards/lots/zweigelt", 3, 3}, {"/cards/starter/c7", 1, 1}, {"/cards/bottling/b1", 2, 1},
		{"/cards/steps/culture-split?lots.0.lot=c7&lots.0.volume_l=21.4&lots.1.lot=j1&lots.1.volume_l=4.6&packet_g=4&packet_volume_l=250&nutrient_g_per_g=20&juice_ml_per_g=100", 3, 2}, {"/cards/trial?levels=control,half,full,double", 2, 2},
		{"/cards/chromatography", 2, 2}, {"/cards/tonight", 8, 5},
	} {
		for _, size := range []string{"a6", "a5", "a4", "half-letter"} {
			join := "?"
			if strings.Contains(c.path, "?") {
				join = "&"
			}
			b.show(c.path+join+"size="+size, 1000)
			pdf := b.prints()
			sheets, most := len(regexp.MustCompile(`/MediaBox`).FindAll(pdf, -1)), c.larger
			if size == "a6" {
				most = c.a6
			}
			if sheets == 0 || sheets > most {
				t.Errorf("%s on %s takes %d sheets, at most %d", c.path, size, sheets, most)
			}
			if dir := os.Getenv("ELEVAGE_GALLERY"); dir != "" {
				name := regexp.MustCompile(`\W+`).ReplaceAllString(strings.Trim(c.path, "/"), "-")
				if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s-%s.pdf", name, size)), pdf, 0o644); err != nil {
					t.Fatal(err)
				}
			}
			// As wide as the paper between its margins, in CSS pixels.
			width := map[string]int64{"a6": 344, "a5": 483, "a4": 687, "half-letter": 451}[size]
			b.onPaper(width)
			if bad := ask[string](b, `(() => { const out = [];
				for (const d of document.querySelectorAll('.card-do')) if (d.textContent.trim().length > 12 && d.getBoundingClientRect().width < 90) out.push('squeezed: ' + d.textContent.trim());
				for (const e of document.querySelectorAll('.card *')) if (e.getBoundingClientRect().right > innerWidth + 1) out.push('beyond the margin: ' + e.textContent.trim().slice(0, 40));
				for (const d of document.querySelectorAll('.card-do')) { const px = parseFloat(getComputedStyle(d).fontSize); if (px < 13) out.push('only ' + px + ' px: ' + d.textContent.trim()); }
				return out.join('; '); })()`); bad != "" {
				t.Errorf("%s on %s: %s", c.path, size, bad)
			}
			b.onScreen()
		}
	}
}

func (b *tab) prints() []byte {
	b.t.Helper()
	yes := true
	pdf, err := chromedp.Run(b.ctx, func(ctx context.Context, target *chromedp.Target) ([]byte, error) {
		r, err := cdp.Call(ctx, target, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: &yes, PrintBackground: &yes})
		return r.Data, err
	})
	if err != nil {
		b.t.Fatal(err)
	}
	return pdf
}

func (b *tab) onPaper(width int64) { b.media("print", width) }
func (b *tab) onScreen()           { b.media("", 1000) }

func (b *tab) media(name string, width int64) {
	b.t.Helper()
	set := func(ctx context.Context, target *chromedp.Target) (struct{}, error) {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: name})
		return struct{}{}, err
	}
	if err := chromedp.Do(b.ctx, chromedp.EmulateViewport(width, 900), set); err != nil {
		b.t.Fatal(err)
	}
}
