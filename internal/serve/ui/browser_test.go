package ui

import (
	"context"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// browser opens a headless Chromium, or skips the test saying how to get one.
func browser(t *testing.T) context.Context {
	t.Helper()
	bin := ""
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome", "chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			bin = p
			break
		}
	}
	if bin == "" {
		t.Skip("no Chromium found: install the package chromium to run the browser tests")
	}
	if testing.Short() {
		t.Skip("browser tests take seconds: left out with -short")
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(bin), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.UserDataDir(t.TempDir()), chromedp.Flag("disable-background-networking", true), chromedp.Flag("hide-scrollbars", true))
	alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(stop)
	ctx, cancel := chromedp.NewContext(alloc)
	t.Cleanup(cancel)
	ctx, cancelTime := context.WithTimeout(ctx, 3*time.Minute)
	t.Cleanup(cancelTime)
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
			if err := k.Render(w, http.StatusOK, g.template, p); err != nil {
				t.Errorf("%s: %v", g.name, err)
			}
		})
	}
	srv := httptest.NewServer(mux)
	t.Cleanup(srv.Close)
	return srv
}

// TestShots takes pictures of the gallery into the folder named by ELEVAGE_GALLERY.
// ELEVAGE_GALLERY_ONLY names pages (a comma-separated list) to hurry.
func TestShots(t *testing.T) {
	dir := os.Getenv("ELEVAGE_GALLERY")
	if dir == "" {
		t.Skip("set ELEVAGE_GALLERY to a folder to have pictures taken")
	}
	ctx, srv := browser(t), serveGallery(t)
	only := os.Getenv("ELEVAGE_GALLERY_ONLY")
	for _, g := range gallery() {
		if only != "" && !strings.Contains(","+only+",", ","+g.name+",") {
			continue
		}
		for _, th := range []Theme{Slate, Paper} {
			for _, size := range []struct {
				name string
				w, h int64
			}{{"390", 390, 844}, {"1440", 1440, 900}} {
				file := filepath.Join(dir, g.name+"-"+string(th)+"-"+size.name+".png")
				shoot(t, ctx, srv.URL+"/"+g.name+"?theme="+string(th), size.w, size.h, file)
			}
		}
	}
}

// shoot takes the whole page: the window is made as tall as the page first, so
// that what is docked stands at the foot.
func shoot(t *testing.T, ctx context.Context, url string, w, h int64, file string) {
	t.Helper()
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(w, h), chromedp.Navigate(url)); err != nil {
		t.Fatal(err)
	}
	tall, err := chromedp.Run(ctx, chromedp.Evaluate[int64](`Math.ceil(document.documentElement.scrollHeight)`))
	if err != nil {
		t.Fatal(err)
	}
	scale := 1.0
	if w < 500 {
		scale = 2
	}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(w, max(h, tall), chromedp.EmulateScale(scale))); err != nil {
		t.Fatal(err)
	}
	png, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, png, 0o644); err != nil {
		t.Fatal(err)
	}
}
