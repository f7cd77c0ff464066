package ui

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// sticksOut lists what is wider than the page.
const sticksOut = `(() => {
  const w = document.documentElement.clientWidth, out = [];
  if (document.documentElement.scrollWidth > w) out.push('page ' + document.documentElement.scrollWidth + ' > ' + w);
  for (const e of document.querySelectorAll('main *, .mast *, .dock *, .log *')) {
    if (e.closest('.scroll, svg, .unseen, details:not([open]) > :not(summary)')) continue;
    const r = e.getBoundingClientRect();
    if (r.width > 0 && (r.right > w + 1 || r.left < -1)) out.push(e.tagName + '.' + e.className + ' ' + Math.round(r.left) + '–' + Math.round(r.right));
  }
  return out.slice(0, 6);
})()`

// TestPagesFit: WCAG 2.2, 1.4.10 Reflow (320 px) and 1.4.4 Resize Text (200 %).
func TestPagesFit(t *testing.T) {
	t.Parallel()
	ctx, srv := browser(t), serveGallery(t)
	quiet(t, ctx)
	for _, g := range gallery() {
		open(t, ctx, srv.URL+"/"+g.name, 1440, 800)
		ask[bool](t, ctx, `(document.querySelectorAll('details').forEach(d => d.open = true), true)`)
		for _, w := range []int64{1440, 960, 768, 640, 320} {
			resize(t, ctx, w)
			for _, s := range ask[[]string](t, ctx, sticksOut) {
				t.Errorf("%s at %d px: %s", g.name, w, s)
			}
		}
		ask[bool](t, ctx, `(document.documentElement.style.fontSize = '200%', true)`)
		for _, s := range ask[[]string](t, ctx, sticksOut) {
			t.Errorf("%s at 320 px with text at 200 %%: %s", g.name, s)
		}
	}
}

// tooSmall lists what a thumb may miss: controls under 48 px (look of the house),
// links within a sentence under 24 px (WCAG 2.2, 2.5.8 Target Size).
const tooSmall = `(() => {
  const out = [];
  const big = 'button, .button, .tick, summary, .places a, input:not([type=hidden]):not([type=radio]):not([type=checkbox]), select, textarea, .pick, .up a, .lot-name a, .entry-undo, .mast-name';
  for (const e of document.querySelectorAll('a, button, input, select, textarea, summary, .pick')) {
    if (e.closest('.pick') && !e.matches('.pick') || e.matches('.skip, [type=hidden], .tick-done')) continue;
    let r = (e.closest('.field-box') ?? e).getBoundingClientRect();
    if (r.width === 0 || r.height === 0) continue;
    const least = e.matches(big) ? 48 : 24;
    if (r.height < least - 0.5 || r.width < 24) out.push(e.tagName + '.' + e.className + ' "' + (e.textContent || e.name || '').trim().slice(0, 20) + '" ' + Math.round(r.width) + '×' + Math.round(r.height));
  }
  return out;
})()`

func TestTargetsOnAPhone(t *testing.T) {
	t.Parallel()
	ctx, srv := browser(t), serveGallery(t)
	for _, g := range gallery() {
		if err := chromedp.Do(ctx, chromedp.EmulateViewport(390, 844, chromedp.EmulateMobile, chromedp.EmulateTouch), chromedp.Navigate(srv.URL+"/"+g.name)); err != nil {
			t.Fatal(err)
		}
		for _, s := range ask[[]string](t, ctx, tooSmall) {
			t.Errorf("%s: %s", g.name, s)
		}
	}
}

// faint lists words whose colour is too near their ground: WCAG 2.2, 1.4.3.
const faint = `(() => {
  const out = new Set();
  const rgb = s => { const m = s.match(/[\d.]+/g).map(Number); return m.length > 3 ? m : [...m, 1]; };
  const lum = c => { const f = v => { v /= 255; return v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4; }; return 0.2126 * f(c[0]) + 0.7152 * f(c[1]) + 0.0722 * f(c[2]); };
  const ground = e => { for (let n = e; n; n = n.parentElement) { const c = rgb(getComputedStyle(n).backgroundColor); if (c[3] > 0.99) return c; } return [255, 255, 255, 1]; };
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const e = walk.currentNode.parentElement;
    if (!walk.currentNode.data.trim() || !e.getClientRects().length || e.closest('.unseen, .skip, title, desc, option')) continue;
    const cs = getComputedStyle(e), svg = e.closest('svg');
    const c = rgb(svg ? cs.fill : cs.color), g = ground(e);
    const a = lum(c), b = lum(g), k = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    const size = parseFloat(cs.fontSize), large = size >= 24 || (size >= 18.66 && parseInt(cs.fontWeight) >= 700);
    if (k < (large ? 3 : 4.5)) out.add(e.tagName + '.' + (e.className.baseVal ?? e.className) + ' "' + walk.currentNode.data.trim().slice(0, 20) + '" ' + k.toFixed(2));
  }
  return [...out];
})()`

func TestWordsStandOut(t *testing.T) {
	t.Parallel()
	ctx, srv := browser(t), serveGallery(t)
	for _, g := range gallery() {
		open(t, ctx, srv.URL+"/"+g.name, 390, 800)
		// A colour on its way to another is neither: hold what moves.
		ask[bool](t, ctx, `(document.querySelectorAll('*').forEach(e => e.style.transition = 'none'), true)`)
		for _, w := range []int64{390, 1440} {
			resize(t, ctx, w)
			for _, th := range []Theme{Slate, Paper} {
				ask[bool](t, ctx, `(document.documentElement.dataset.theme = '`+string(th)+`', true)`)
				for _, s := range ask[[]string](t, ctx, faint) {
					t.Errorf("%s on %s at %d px: %s", g.name, th, w, s)
				}
			}
		}
	}
}

// collide lists words of drawings that touch each other as set in the true type.
const collide = `(() => {
  const out = [];
  for (const svg of document.querySelectorAll('svg.chart-svg')) {
    if (!svg.getClientRects().length) continue;
    const words = [...svg.querySelectorAll('text')].map(e => ({ s: e.textContent, r: e.getBoundingClientRect() }));
    const all = svg.getBoundingClientRect();
    words.forEach((a, i) => {
      if (a.r.left < all.left - 4 || a.r.right > all.right + 4) out.push(svg.id + ': "' + a.s + '" leaves the drawing');
      for (const b of words.slice(0, i)) {
        const dx = Math.min(a.r.right, b.r.right) - Math.max(a.r.left, b.r.left), dy = Math.min(a.r.bottom, b.r.bottom) - Math.max(a.r.top, b.r.top);
        if (dx > 1 && dy > 5) out.push(svg.id + ': "' + a.s + '" on "' + b.s + '"'); // a line box is taller than its letters
      }
    });
  }
  return out;
})()`

func TestWordsInDrawingsKeepApart(t *testing.T) {
	t.Parallel()
	ctx, srv := browser(t), serveGallery(t)
	for _, page := range []string{"charts", "crowded", "cellar"} {
		open(t, ctx, srv.URL+"/"+page, 1440, 800)
		for _, w := range []int64{1440, 390, 320} {
			resize(t, ctx, w)
			for _, s := range ask[[]string](t, ctx, collide) {
				t.Errorf("%s at %d px: %s", page, w, s)
			}
		}
	}
}

// TestHand: theme, line and chart by the script.
func TestHand(t *testing.T) {
	t.Parallel()
	ctx, srv := browser(t), serveGallery(t)
	quiet(t, ctx)
	open(t, ctx, srv.URL+"/today", 390, 844)
	if bg := ask[string](t, ctx, `getComputedStyle(document.documentElement).backgroundColor`); bg != "rgb(32, 39, 42)" {
		t.Errorf("a phone begins on slate: ground is %s", bg)
	}
	ask[bool](t, ctx, `(document.querySelector('.theme-paper').click(), true)`)
	until(t, ctx, "paper at once", `document.documentElement.dataset.theme === 'paper' && getComputedStyle(document.documentElement).backgroundColor === 'rgb(247, 248, 244)'`)
	open(t, ctx, srv.URL+"/cellar", 390, 844)
	if th := ask[string](t, ctx, `document.documentElement.dataset.theme ?? ''`); th != "paper" {
		t.Errorf("the choice is not kept: theme is %q on the next page", th)
	}
	ask[bool](t, ctx, `(() => { const i = document.getElementById('log-line'); i.value = 'ph 3.47 b2'; i.dispatchEvent(new Event('input')); return true; })()`)
	until(t, ctx, "the line is read while typed", `document.querySelector('[data-log-said]').textContent.includes('Read: ph 3.47 b2') && document.querySelector('.log-send').textContent === 'Keep'`)
	ask[bool](t, ctx, `(() => { const i = document.getElementById('log-line'); i.value += '1'; i.dispatchEvent(new Event('input')); return true; })()`)
	if s := ask[string](t, ctx, `document.querySelector('.log-send').textContent + (document.querySelector('[name=seen]') ? ' seen' : '')`); s != "Read" {
		t.Errorf("after another letter the old reading still counts: %q", s)
	}
	open(t, ctx, srv.URL+"/lot", 1440, 900)
	ask[bool](t, ctx, `(() => { const f = document.querySelector('[data-chart]'); f.focus(); for (const key of ['Home', 'ArrowRight']) f.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true })); return true; })()`)
	if s := ask[string](t, ctx, `document.querySelector('.chart-say').textContent`); s != "10 Oct: 2.07 g/L, 9 in 10 between 1.26 and 3.37" {
		t.Errorf("the chart reads out %q", s)
	}
}

// TestWithoutScript: the same by forms alone.
func TestWithoutScript(t *testing.T) {
	t.Parallel()
	ctx, srv := browser(t), serveGallery(t)
	off := func(ctx context.Context, target *chromedp.Target) (struct{}, error) {
		_, err := cdp.Call(ctx, target, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		return struct{}{}, err
	}
	if err := chromedp.Do(ctx, off, chromedp.EmulateViewport(390, 844), chromedp.Navigate(srv.URL+"/lot"),
		chromedp.Click(".theme-paper"), chromedp.WaitVisible(`:root[data-theme=paper] .theme-slate`)); err != nil {
		t.Fatal(err)
	}
	at, err := chromedp.Run(ctx, chromedp.Location())
	if err != nil || at != srv.URL+"/lot" {
		t.Errorf("came back to %q (%v)", at, err)
	}
	if err := chromedp.Do(ctx, chromedp.Click(".chart-table summary"), chromedp.WaitVisible(".chart-table table")); err != nil {
		t.Errorf("the figures do not open: %v", err)
	}
}

// TestCardsFitTheirPaper: a card is one sheet of its size. Sizes are ISO 216
// (A6 105 × 148 mm, A5 148 × 210 mm, A4 210 × 297 mm) and half of US Letter (5.5 × 8.5 in), in points.
func TestCardsFitTheirPaper(t *testing.T) {
	t.Parallel()
	ctx, srv := browser(t), serveGallery(t)
	for size, want := range map[string][2]float64{"a6": {297.6, 419.5}, "a5": {419.5, 595.3}, "a4": {595.3, 841.9}, "half-letter": {396, 612}} {
		open(t, ctx, srv.URL+"/card?theme=slate&card="+size, 1000, 800)
		pdf := printed(t, ctx)
		if dir := os.Getenv("ELEVAGE_GALLERY"); dir != "" {
			if err := os.WriteFile(filepath.Join(dir, "card-"+size+".pdf"), pdf, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		boxes := regexp.MustCompile(`/MediaBox \[0 0 ([\d.]+) ([\d.]+)\]`).FindAllSubmatch(pdf, -1)
		if len(boxes) != 1 {
			t.Errorf("%s: %d sheets", size, len(boxes))
			continue
		}
		for i, side := range []string{"width", "height"} {
			if got, _ := strconv.ParseFloat(string(boxes[0][i+1]), 64); math.Abs(got-want[i]) > 1.5 {
				t.Errorf("%s: %s is %.1f pt, want %.1f", size, side, got, want[i])
			}
		}
	}
	open(t, ctx, srv.URL+"/today?theme=slate", 1000, 800)
	printAs(t, ctx, "print")
	if bg := ask[string](t, ctx, `getComputedStyle(document.body.parentElement).backgroundColor + ' ' + getComputedStyle(document.querySelector('.act-amount')).color`); bg != "rgb(255, 255, 255) rgb(18, 24, 29)" {
		t.Errorf("print is ink on white paper, not %s", bg)
	}
}

func printed(t *testing.T, ctx context.Context) []byte {
	t.Helper()
	yes := true
	pdf, err := chromedp.Run(ctx, func(ctx context.Context, target *chromedp.Target) ([]byte, error) {
		r, err := cdp.Call(ctx, target, page.PrintToPDF, page.PrintToPDFParams{PreferCSSPageSize: &yes, PrintBackground: &yes})
		return r.Data, err
	})
	if err != nil {
		t.Fatal(err)
	}
	return pdf
}

// printAs shows the page as a medium would have it.
func printAs(t *testing.T, ctx context.Context, medium string) {
	t.Helper()
	set := func(ctx context.Context, target *chromedp.Target) (struct{}, error) {
		_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: medium})
		return struct{}{}, err
	}
	if err := chromedp.Do(ctx, set); err != nil {
		t.Fatal(err)
	}
}
