package ui

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

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
	// As printed, without the margins: an A6 card is 91 mm of 96 px an inch, an A4 page 182 mm.
	printAs(t, ctx, "print")
	shoot(t, ctx, srv.URL+"/card?card=a6", 344, 506, filepath.Join(dir, "card-print.png"))
	for _, name := range []string{"today", "lot"} {
		shoot(t, ctx, srv.URL+"/"+name+"?theme=slate", 688, 1000, filepath.Join(dir, name+"-print.png"))
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
