package ui

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// chromium is one headless browser for all tests of the package; each test has
// its own window in it, with its own cookies.
var chromium = sync.OnceValues(func() (context.Context, error) {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		bin, err := exec.LookPath(name)
		if err != nil {
			continue
		}
		opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(bin), chromedp.NoSandbox, chromedp.DisableGPU,
			chromedp.Flag("disable-background-networking", true), chromedp.Flag("hide-scrollbars", true))
		alloc, stopAlloc := chromedp.NewExecAllocator(context.Background(), opts...)
		ctx, stop := chromedp.NewContext(alloc)
		stopChromium = func() { stop(); stopAlloc() }
		return ctx, chromedp.Do(ctx)
	}
	return nil, errors.New("no Chromium found: install the package chromium to run the browser tests")
})

var stopChromium = func() {}

func TestMain(m *testing.M) {
	code := m.Run()
	stopChromium()
	os.Exit(code)
}

// browser opens a window, or skips the test saying how to get a browser.
func browser(t *testing.T) context.Context {
	t.Helper()
	if testing.Short() {
		t.Skip("browser tests take seconds: left out with -short")
	}
	whole, err := chromium()
	if whole == nil {
		t.Skip(err)
	}
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := chromedp.NewContext(whole, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithTimeout(ctx, 3*time.Minute)
	t.Cleanup(stop)
	return ctx
}

// serveGallery serves the gallery as the house would: real headers, real policy.
func serveGallery(t *testing.T) *httptest.Server {
	t.Helper()
	k, err := New(galleryPages())
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.Handle("GET "+AssetPrefix, k.Assets())
	mux.Handle("POST /theme", ThemeSwitch())
	mux.HandleFunc("GET /log/preview", func(w http.ResponseWriter, r *http.Request) {
		Headers(w)
		_ = k.Part(w, "understood", &Understood{Entries: []string{"Read: " + r.FormValue("line")}, Seen: "s"})
	})
	for _, g := range gallery() {
		mux.HandleFunc("GET /"+g.name, func(w http.ResponseWriter, r *http.Request) {
			p := g.page
			p.Theme, p.Here = ThemeOf(r), r.URL.RequestURI()
			if th := r.FormValue("theme"); th != "" {
				p.Theme = themeNamed(th)
			}
			if size := r.FormValue("card"); size != "" {
				p.Card = size
			}
			if err := k.Render(w, http.StatusOK, g.template, p); err != nil {
				t.Errorf("%s: %v", g.name, err)
			}
		})
	}
	srv := httptest.NewServer(mux)
	t.Cleanup(srv.Close)
	return srv
}

// quiet gathers what the browser complains about: scripts that throw, resources
// that are missing or refused by the policy.
func quiet(t *testing.T, ctx context.Context) {
	t.Helper()
	enable := func(ctx context.Context, target *chromedp.Target) (struct{}, error) {
		_, err := cdp.Call(ctx, target, cdplog.Enable, cdp.Empty{})
		return struct{}{}, err
	}
	if err := chromedp.Do(ctx, enable); err != nil {
		t.Fatal(err)
	}
	err := chromedp.Listen(ctx, func(ev any) {
		switch e := ev.(type) {
		case *runtime.EventExceptionThrown:
			t.Errorf("script: %v", e.ExceptionDetails.Text)
		case *cdplog.EventEntryAdded:
			if e.Entry.Level == cdplog.EntryLevelError {
				t.Errorf("browser: %s %s", e.Entry.Text, e.Entry.URL)
			}
		}
	})
	if err != nil {
		t.Fatal(err)
	}
}

// ask evaluates an expression on the page.
func ask[T any](t *testing.T, ctx context.Context, js string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](js))
	if err != nil {
		t.Fatalf("%v\n%s", err, js)
	}
	return v
}

// open shows a page of the gallery at a width.
func open(t *testing.T, ctx context.Context, url string, w, h int64) {
	t.Helper()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(w, h), chromedp.Navigate(url)); err != nil {
		t.Fatal(err)
	}
	until(t, ctx, "fonts are there", `document.fonts.status === 'loaded'`)
}

// resize changes the window's width on the page that is open.
func resize(t *testing.T, ctx context.Context, w int64) {
	t.Helper()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(w, 800)); err != nil {
		t.Fatal(err)
	}
}

// until waits for an expression to become true.
func until(t *testing.T, ctx context.Context, what, js string) {
	t.Helper()
	for range 60 {
		if ask[bool](t, ctx, js) {
			return
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Errorf("never happened: %s", what)
}
