package ui

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"testing"
	"testing/fstest"
)

// TestGallery writes every part with sample data to the folder named by
// ELEVAGE_GALLERY, for looking at, and otherwise only checks that it renders.
func TestGallery(t *testing.T) {
	t.Parallel()
	k, err := New(galleryPages())
	if err != nil {
		t.Fatal(err)
	}
	dir := os.Getenv("ELEVAGE_GALLERY")
	for _, g := range gallery() {
		for _, th := range []Theme{Auto, Slate, Paper} {
			p := g.page
			p.Theme = th
			var b bytes.Buffer
			if err := k.Write(&b, g.template, p); err != nil {
				t.Fatalf("%s: %v", g.name, err)
			}
			if bytes.Contains(b.Bytes(), []byte("ZgotmplZ")) {
				t.Errorf("%s: a value was not safe where it was put", g.name)
			}
			if dir == "" || th == Auto {
				continue
			}
			if err := os.WriteFile(filepath.Join(dir, g.name+"-"+string(th)+".html"), b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	if dir == "" {
		return
	}
	writeAssets(t, k, dir)
}

// writeAssets puts the assets where the written pages look for them.
func writeAssets(t *testing.T, k *Kit, dir string) {
	t.Helper()
	if err := os.MkdirAll(filepath.Join(dir, "assets"), 0o755); err != nil {
		t.Fatal(err)
	}
	for name, f := range k.assets.byPath {
		if err := os.WriteFile(filepath.Join(dir, "assets", name), f.plain, 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

func galleryPages() fstest.MapFS {
	return fstest.MapFS{
		"today.html": {Data: []byte(`{{define "main"}}{{range .Body.Walk}}{{template "stop" .}}{{end}}{{template "comeback" .Body.Back}}{{end}}`)},
		"lot.html": {Data: []byte(`{{define "main"}}<section>{{template "figures" .Body.Figures}}</section>
<section><h2 class="ruled">Malic acid in b2</h2>{{template "chart" .Body.Malic}}{{range .Body.Notices}}{{template "notice" .}}{{end}}</section>
<section><h2 class="ruled">Ledger</h2>{{template "ledger" .Body.Ledger}}</section>{{end}}`)},
		"cellar.html": {Data: []byte(`{{define "main"}}{{template "lots" .Body.Lots}}{{end}}`)},
		"bench.html": {Data: []byte(`{{define "main"}}<div class="beside"><form class="form">{{template "form-errors" .Body.Errors}}{{range .Body.Fields}}{{template "field" .}}{{end}}<div class="form-end"><button class="button">Reckon</button><a class="button quiet" href="/">Leave it</a></div></form>
<div>{{template "figures" .Body.Answer}}{{template "progress" .Body.Progress}}{{template "progress" .Body.Waiting}}{{template "table" .Body.Table}}</div></div>{{end}}`)},
		"empty.html":  {Data: []byte(`{{define "main"}}{{template "empty" .Body}}{{end}}`)},
		"charts.html": {Data: []byte(`{{define "main"}}{{range .Body}}<section><h2 class="ruled">{{chem .Name}}</h2>{{template "chart" .}}</section>{{end}}{{end}}`)},
		"card.html":   {Data: []byte(`{{define "main"}}{{template "card" .Body}}{{end}}`)},
	}
}

// BenchmarkPage writes the fullest page of the gallery, a lot with its chart.
func BenchmarkPage(b *testing.B) {
	k, err := New(galleryPages())
	if err != nil {
		b.Fatal(err)
	}
	p := samplePage("Long Row red", "", Cellar, sampleLot())
	for b.Loop() {
		if err := k.Write(io.Discard, "lot", p); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkNew reads and packs everything once: what a start of the program pays.
func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		if _, err := New(galleryPages()); err != nil {
			b.Fatal(err)
		}
	}
}
