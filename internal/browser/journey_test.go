package browser

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"elevage/internal/advise"
	"elevage/internal/attach"
	"elevage/internal/cellar"
	"elevage/internal/demo"
	"elevage/internal/desk"
	"elevage/internal/ledger"
	"elevage/internal/serve"
	"elevage/internal/serve/ui"
)

// a tab is one window of a browser, on one cellar.
type tab struct {
	t    *testing.T
	ctx  context.Context
	base string
}

func open(t *testing.T, key string, entries []cellar.Entry) *tab {
	t.Helper()
	if testing.Short() {
		t.Skip("browser journeys take seconds: left out with -short")
	}
	bin := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			bin = path
			break
		}
	}
	if bin == "" {
		t.Skip("no Chromium found: install the package chromium to run the browser journeys")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(bin), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-background-networking", true))
	alloc, stopAlloc := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(stopAlloc)
	ctx, stop := chromedp.NewContext(alloc)
	t.Cleanup(stop)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(ctx, 2*time.Minute)
	t.Cleanup(cancel)
	tb := &tab{t: t, ctx: ctx, base: serveCellar(t, key, entries)}
	tb.listen()
	return tb
}

// serveCellar serves a cellar as the program does, behind its door.
func serveCellar(t *testing.T, key string, entries []cellar.Entry) string {
	t.Helper()
	book := ledger.NewMemory()
	if _, err := book.Append(context.Background(), entries); err != nil {
		t.Fatal(err)
	}
	files, err := attach.Open(t.TempDir(), attach.Limits{})
	if err != nil {
		t.Fatal(err)
	}
	s, err := serve.New(serve.Config{Desk: desk.New(book, key, desk.Options{Zone: time.Local}), Ledger: book, Cellar: key, Files: files, Invent: key == demo.Key,
		Clock: time.Now, Zone: time.Local, Pen: cellar.Pen{Cellar: key, By: "Mira", Random: rand.Reader}})
	if err != nil {
		t.Fatal(err)
	}
	s.Warm(context.Background())
	door, err := serve.NewDoor("127.0.0.1:0", "", nil, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	srv := httptest.NewServer(door.Guard(s))
	t.Cleanup(srv.Close)
	return srv.URL
}

// listen fails the test when the browser complains: a script that throws, a
// resource refused by the page's policy.
func (b *tab) listen() {
	enable := func(ctx context.Context, target *chromedp.Target) (struct{}, error) {
		_, err := cdp.Call(ctx, target, cdplog.Enable, cdp.Empty{})
		return struct{}{}, err
	}
	if err := chromedp.Do(b.ctx, enable); err != nil {
		b.t.Fatal(err)
	}
	err := chromedp.Listen(b.ctx, func(ev any) {
		switch e := ev.(type) {
		case *runtime.EventExceptionThrown:
			b.t.Errorf("script: %v", e.ExceptionDetails.Text)
		case *cdplog.EventEntryAdded:
			// A form that is answered with what is wrong is no fault of the page.
			if e.Entry.Level == cdplog.EntryLevelError && !strings.Contains(e.Entry.Text, "422") {
				b.t.Errorf("browser: %s %s", e.Entry.Text, e.Entry.URL)
			}
		}
	})
	if err != nil {
		b.t.Fatal(err)
	}
}

func (b *tab) show(path string, width int64) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, chromedp.EmulateViewport(width, 900), chromedp.Navigate(b.base+path)); err != nil {
		b.t.Fatalf("%s: %v", path, err)
	}
}

func ask[T any](b *tab, js string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](js))
	if err != nil {
		b.t.Fatalf("%v\n%s", err, js)
	}
	return v
}

// send fills in the form that is sent to a place, by the names of its fields, sends
// it, and waits for the answer.
func (b *tab) send(action string, fields map[string]string) {
	b.t.Helper()
	values, err := json.Marshal(fields)
	if err != nil {
		b.t.Fatal(err)
	}
	ask[bool](b, fmt.Sprintf(`(() => {
		window.before = true;
		const form = [...document.forms].find(f => new URL(f.action).pathname === %q);
		if (!form) throw new Error('no form for %s');
		for (const [name, value] of Object.entries(%s)) {
			const field = form.elements[name];
			if (!field) throw new Error('no field ' + name);
			field.value = value;
		}
		form.requestSubmit();
		return true;
	})()`, action, action, values))
	for range 100 {
		time.Sleep(50 * time.Millisecond)
		if ask[bool](b, `window.before !== true && document.readyState === 'complete'`) {
			return
		}
	}
	b.t.Fatalf("the form for %s was never answered", action)
}

func (b *tab) reads(words string) {
	b.t.Helper()
	if text := ask[string](b, `document.body.innerText`); !strings.Contains(text, words) {
		b.t.Errorf("%s: does not say %q:\n%.1500s", ask[string](b, `location.pathname`), words, text)
	}
}

func (b *tab) api(path string, into any) {
	b.t.Helper()
	r, err := http.Get(b.base + "/api/v1" + path)
	if err != nil {
		b.t.Fatal(err)
	}
	decode(b.t, r, into)
}

// decode reads an answer of the API.
func decode(t *testing.T, r *http.Response, into any) {
	t.Helper()
	defer r.Body.Close() //nolint:errcheck // read to its end below
	raw, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != http.StatusOK {
		t.Fatalf("%s: %d %v %s", r.Request.URL.Path, r.StatusCode, err, raw)
	}
	if err := json.Unmarshal(raw, into); err != nil {
		t.Fatal(err)
	}
}

// fits fails when a page is wider than its window.
func (b *tab) fits(path string) {
	b.t.Helper()
	for _, width := range []int64{320, 390, 1440} {
		b.show(path, width)
		if over := ask[float64](b, `document.documentElement.scrollWidth - document.documentElement.clientWidth`); over > 0 {
			b.t.Errorf("%s at %d px is %.0f px too wide", path, width, over)
		}
	}
}

// The figures on the pages of the invented cellar are the API's.
func TestPagesShowTheFiguresOfTheAPI(t *testing.T) {
	entries, err := demo.Entries(time.Now())
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, demo.Key, entries)
	for _, path := range []string{"/", "/cellar", "/lots/syrah", "/lots/zweigelt", "/lots/nebbiolo", "/bench", "/bench/so2-addition?from=d2", "/bench/culture-split", "/write", "/write/reading", "/guides/chromatogram"} {
		b.fits(path)
	}

	var beliefs []serve.BeliefJSON
	b.api("/beliefs", &beliefs)
	compared := 0
	for _, one := range beliefs {
		if one.Malolactic == nil {
			continue
		}
		b.show("/lots/"+one.Lot, 1440)
		m := one.Malolactic.Malic
		want := ui.Figure{Value: m.Q50.GPerL(), Low: m.Q05.GPerL(), High: m.Q95.GPerL(), Unit: "g/L"}.Number()
		got := ask[string](b, fmt.Sprintf(`document.querySelector('#v-%s .fig-main .fig-number').textContent`, one.Vessel))
		if got != want {
			t.Errorf("%s: the page says %s g/L malic acid, the API %s (%v)", one.Vessel, got, want, m.Q50)
		}
		compared++
	}
	if compared < 8 {
		t.Errorf("only %d beliefs compared, want 8 or more", compared)
	}

	var today struct {
		Acts []struct {
			ID, Amount, Unit string
			Standing         advise.Standing
		}
	}
	b.api("/today", &today)
	b.show("/", 390)
	amounts := 0
	for _, a := range today.Acts {
		if a.Amount == "" || a.Standing == advise.Later {
			continue
		}
		got := ask[string](b, fmt.Sprintf(`document.getElementById(%q).querySelector('.act-amount').textContent`, "act-"+a.ID))
		if want := a.Amount + "\u00a0" + a.Unit; got != want {
			t.Errorf("%s: the page says %q, the API %q", a.ID, got, want)
		}
		amounts++
	}
	if amounts == 0 {
		t.Error("no act with an amount to compare")
	}

	var parcels []serve.ParcelJSON
	b.api("/parcels", &parcels)
	b.show("/cellar", 1440)
	vessels := ask[string](b, `document.body.innerText`)
	for _, p := range parcels {
		if p.Vessel == "d1" && !strings.Contains(vessels, ui.Spread(p.VolumeL, p.VolumePM, "L")) {
			t.Errorf("d1 holds %v ± %v by the API, and the cellar page does not say so", p.VolumeL, p.VolumePM)
		}
	}
}

// From nothing to a lot with readings, a culture and a struck slip, by form and
// by the typed line.
func TestFirstEveningInAnEmptyCellar(t *testing.T) {
	b := open(t, "home", nil)
	b.show("/", 390)
	b.reads("Nothing is written here yet")
	b.show("/write/vessel", 390)
	b.send("/write/vessel", map[string]string{"vessel": "c1", "type": "carboy", "size": "23 L", "place": "under the stairs", "walk": "1"})
	b.show("/write/lot", 390)
	b.send("/write/lot", map[string]string{"name": "Merlot", "colour": "red", "malolactic": "wanted", "comes": "fill"})
	b.send("/write/fill", map[string]string{"lot": "merlot", "vessel": "c1", "volume": "22.5 L"})
	b.reads("22.5")

	b.show("/write/reading?vessel=c1", 390)
	b.send("/write/reading", map[string]string{"vessel": "c1", "what": "ph", "value": "34x"})
	b.reads("34x")
	b.send("/write/reading", map[string]string{"vessel": "c1", "what": "ph", "value": "3.44"})
	b.reads("3.44")

	b.show("/lots/merlot", 390)
	b.send("/log", map[string]string{"line": "ta 6.8 c1 to 8.2 as tartaric"})
	b.reads("Is this what happened?")
	b.send("/log", map[string]string{})
	b.reads("6.8")

	b.show("/write/inoculation?vessel=c1", 390)
	b.send("/write/inoculation", map[string]string{"vessel": "c1", "of": "malolactic", "how": "rehydrated", "amount": "0.3 g"})
	b.show("/write/stirring?vessel=c1", 390)
	b.send("/write/stirring", map[string]string{"vessel": "c1", "what": "lees"})
	b.show("/write/addition?vessel=c1", 390)
	b.send("/write/addition", map[string]string{"vessel": "c1", "product": "malolactic-nutrient", "amount": "4 g"})

	// Sulfur dioxide now is stopped, and can be overruled in words that are kept.
	b.show("/write/addition?vessel=c1", 390)
	b.send("/write/addition", map[string]string{"vessel": "c1", "product": "potassium-metabisulfite", "amount": "1 g"})
	b.reads("Stop")
	b.send("/write/addition", map[string]string{"overruled": "the wine is sick"})
	b.reads("the wine is sick")

	var all serve.EntriesJSON
	b.api("/entries", &all)
	last := struct {
		ID        string
		Overruled string
	}{}
	if err := json.Unmarshal(all.Entries[len(all.Entries)-1], &last); err != nil || last.Overruled != "the wine is sick" {
		t.Fatalf("the words were not kept: %s", all.Entries[len(all.Entries)-1])
	}
	b.show("/strike/"+last.ID, 390)
	b.send("/strike/"+last.ID, map[string]string{"reason": "never went in"})
	b.show("/ledger", 390)
	b.reads("never went in")
	if struck := ask[int](b, `document.querySelectorAll('[data-struck]').length`); struck != 1 {
		t.Errorf("%d entries are struck, want 1", struck)
	}

	var parcels []serve.ParcelJSON
	b.api("/parcels", &parcels)
	if len(parcels) != 1 || parcels[0].Vessel != "c1" || parcels[0].VolumeL != 22.5 {
		t.Errorf("parcels %+v", parcels)
	}
	var beliefs []serve.BeliefJSON
	b.api("/beliefs", &beliefs)
	if len(beliefs) == 0 || beliefs[0].Malolactic == nil {
		t.Errorf("no belief about a parcel that was inoculated: %+v", beliefs)
	}
}

// From crates of fruit to press fractions to bottles, by forms alone, from what the
// first screen of an empty cellar offers. The lot and its figures are invented.
func TestFromCratesToBottlesByForms(t *testing.T) {
	b := open(t, "home", nil)
	keep := func(form, query string, fields map[string]string) {
		t.Helper()
		b.show("/write/"+form+query, 390)
		b.send("/write/"+form, fields)
		if title := ask[string](b, `document.querySelector('h1').textContent`); strings.Contains(ask[string](b, `document.body.innerText`), "wanted again") || title == "Stop and think" {
			t.Fatalf("%s was not kept:\n%.1200s", form, ask[string](b, `document.body.innerText`))
		}
	}
	follow := func(words string) {
		t.Helper()
		ask[bool](b, fmt.Sprintf(`(() => {
			window.before = true;
			const link = [...document.querySelectorAll('main a')].find(a => a.textContent.trim() === %q);
			if (!link) throw new Error('no link ' + %q);
			link.click();
			return true;
		})()`, words, words))
		for range 100 {
			time.Sleep(50 * time.Millisecond)
			if ask[bool](b, `window.before !== true && document.readyState === 'complete'`) {
				return
			}
		}
		t.Fatalf("the link %s leads nowhere", words)
	}
	b.show("/", 390)
	follow("Name a vessel")
	b.send("/write/vessel", map[string]string{"vessel": "bin1", "type": "bin", "size": "200 L"})
	for _, c := range []string{"d1", "c1", "d2"} {
		keep("vessel", "", map[string]string{"vessel": c, "type": "demijohn", "size": "54 L"})
	}
	b.show("/", 390)
	follow("Start a lot")
	b.send("/write/lot", map[string]string{"name": "Gamay", "colour": "red", "malolactic": "kept-from", "comes": "fruit"})
	b.reads("Fruit received")
	day := func(ago int) string { return time.Now().AddDate(0, 0, -ago).Format(time.DateOnly) }
	b.send("/write/fruit", map[string]string{"vessel": "bin1", "weight": "104", "tare": "4", "day": day(60)})
	b.reads("100 kg of fruit in a 200 L bin")

	follow("Crush")
	b.send("/write/crush", map[string]string{"volume": "80", "day": day(60), "hour": "15:00"})
	b.reads("80")
	keep("inoculation", "?vessel=bin1&of=primary", map[string]string{"how": "rehydrated", "amount": "16 g", "day": day(59)})
	keep("stirring", "?vessel=bin1&what=punch-down", map[string]string{"day": day(57)})
	keep("reading", "?vessel=bin1&what=density", map[string]string{"value": "0.995", "day": day(50)})
	keep("press", "?vessel=bin1", map[string]string{"to": "d1", "volume": "52", "part": "free run", "to2": "c1", "volume2": "10", "part2": "hard press", "day": day(49)})
	b.reads("52 L to d1 (free run), 10 L to c1 (hard press)")
	keep("racking", "?vessel=d1", map[string]string{"to": "d2", "volume": "51", "rest": "lees", "day": day(30)})
	keep("care", "?vessel=d1", map[string]string{"what": "cleaned", "day": day(30)})
	keep("bottling", "?vessel=d2", map[string]string{"count": "68", "size": "750 mL", "closure": "natural cork", "day": day(5)})
	b.reads("68 bottles")
	keep("opened", "?vessel=gamay-bottles", map[string]string{"count": "2", "why": "given"})
	b.reads("66 bottles")

	// A photograph of the label, drawn here, is put to the entry and stands in the ledger.
	follow("picture: gamay-bottles: 2 opened, given")
	ask[bool](b, `(async () => {
		const canvas = Object.assign(document.createElement('canvas'), { width: 600, height: 400 });
		canvas.getContext('2d').fillRect(0, 0, 300, 400);
		const blob = await new Promise(done => canvas.toBlob(done, 'image/png'));
		const chosen = new DataTransfer();
		chosen.items.add(new File([blob], 'label.png', { type: 'image/png' }));
		document.querySelector('input[type=file]').files = chosen.files;
		window.chosen = true;
	})(), true`)
	for range 100 {
		if ask[bool](b, `window.chosen === true`) {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	b.send(ask[string](b, `location.pathname`), map[string]string{"words": "front label"})
	b.reads("front label")
	for range 100 {
		if ask[bool](b, `(img => { img.loading = 'eager'; return img.complete && img.naturalWidth === 320 })(document.querySelector('.files img'))`) {
			break
		}
		time.Sleep(20 * time.Millisecond)
	}
	if width := ask[int](b, `document.querySelector('.files img').naturalWidth`); width != 320 {
		t.Errorf("the thumbnail is %d pixels wide, want 320", width)
	}

	var parcels []serve.ParcelJSON
	b.api("/parcels", &parcels)
	held := map[string]float64{}
	for _, p := range parcels {
		held[p.Vessel] = p.VolumeL + float64(1000*p.Bottles)
	}
	if len(held) != 2 || held["c1"] != 10 || held["gamay-bottles"] != 66*0.75+66000 {
		t.Errorf("there is now %v: want 10 L of the hard press in c1 and 66 bottles of 750 mL", held)
	}
	for _, path := range []string{"/write", "/write/fruit", "/write/crush", "/write/press", "/write/blending", "/write/trial", "/write/tasting", "/write/sample", "/write/purchase"} {
		b.fits(path)
	}
}
