// Package ui is the hand and the dress of Élevage: page frame, parts, type,
// colours, and the writing of numbers and dates. It knows how a thing looks,
// never what it means.
//
//	kit, err := ui.New(os.DirFS("pages")) // or an embed.FS with NAME.html files
//	mux.Handle(ui.AssetPrefix, kit.Assets())
//	mux.Handle("POST /theme", ui.ThemeSwitch())
//	…
//	err = kit.Render(w, http.StatusOK, "today", ui.Page{
//		Title: "Today", Place: ui.Today, Theme: ui.ThemeOf(r), Now: now, Body: view,
//	})
//
// A page is a file NAME.html that defines "main"; it is given the Page and finds
// its own view in .Body. Parts are templates over the structs of parts*.go:
//
//	{{define "main"}}
//	{{range .Body.Walk}}{{template "stop" .}}{{end}}
//	{{end}}
//
// Everything works without JavaScript and under a content policy of self only:
// no inline style, no inline script. The two themes are one design; see tokens.go.
package ui

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"net/http"
	"regexp"
	"strings"
	"time"
)

//go:embed parts pages
var templateFiles embed.FS

// Place is one of the places of the product; it is marked as the current one.
type Place string

// The places of the bar.
const (
	Today  Place = "Today"
	Write  Place = "Write"
	Cellar Place = "Cellar"
	Bench  Place = "Bench"
	Shelf  Place = "Shelf" // stores and instruments; not in the bar until it exists
)

// Link is words that lead somewhere.
type Link struct{ Text, URL string }

// PlaceLink is one entry of the bar.
type PlaceLink struct {
	Place Place
	URL   string
}

// Places are the places shown unless a page gives its own.
var Places = []PlaceLink{{Today, "/"}, {Write, "/write"}, {Cellar, "/cellar"}, {Bench, "/bench"}}

// Page is what the frame needs to know. Body is for the page's own template.
type Page struct {
	Title   string
	Lead    string // one line under the title: the date, the vessels of a lot
	Place   Place
	Up      *Link // the way back, for a page below a place (a lot is below Cellar)
	Places  []PlaceLink
	Cellar  string // whose cellar this is
	Notes   []Notice
	Log     *LogLine // the one line that logs anything; nil leaves it empty
	OwnLine bool     // the page itself holds the line, so that it is not in the dock too
	Bare    bool     // no log line and no places: sign-in, problem before the cellar is open
	Card    string   // "a6", "a5", "a4" or "half-letter" for a printed card
	Theme   Theme
	Now     time.Time
	Invent  bool   // the data is invented: said on every page
	Here    string // path and query of this page, for coming back after the theme switch
	Scripts []string
	Body    any
}

// Kit renders pages and parts.
type Kit struct {
	assets *Assets
	parts  *template.Template
	pages  map[string]*template.Template
}

// New reads the parts, the kit's own pages, and every NAME.html at the root of
// the given file systems; a later page of the same name replaces an earlier one.
func New(pages ...fs.FS) (*Kit, error) {
	assets, err := loadAssets()
	if err != nil {
		return nil, fmt.Errorf("assets: %w", err)
	}
	k := &Kit{assets: assets, pages: map[string]*template.Template{}}
	k.parts, err = template.New("parts").Funcs(k.funcs()).ParseFS(templateFiles, "parts/*.html")
	if err != nil {
		return nil, fmt.Errorf("parts: %w", err)
	}
	own, err := fs.Sub(templateFiles, "pages")
	if err != nil {
		return nil, err
	}
	for _, from := range append([]fs.FS{own}, pages...) {
		if err := k.addPages(from); err != nil {
			return nil, err
		}
	}
	return k, nil
}

func (k *Kit) addPages(from fs.FS) error {
	names, err := fs.Glob(from, "*.html")
	if err != nil {
		return err
	}
	for _, file := range names {
		t, err := k.parts.Clone()
		if err != nil {
			return err
		}
		if t, err = t.ParseFS(from, file); err != nil {
			return fmt.Errorf("page %s: %w", file, err)
		}
		if t.Lookup("main") == nil {
			return fmt.Errorf(`page %s: defines no "main"`, file)
		}
		k.pages[strings.TrimSuffix(file, ".html")] = t
	}
	return nil
}

// Assets serves the files the pages name.
func (k *Kit) Assets() *Assets { return k.assets }

// Render writes a whole page with its headers. Nothing is sent when the template
// fails: the error comes back and the writer is untouched.
func (k *Kit) Render(w http.ResponseWriter, status int, name string, p Page) error {
	var b bytes.Buffer
	if err := k.Write(&b, name, p); err != nil {
		return err
	}
	Headers(w)
	w.WriteHeader(status)
	_, err := b.WriteTo(w)
	return err
}

// Write writes a whole page, without headers.
func (k *Kit) Write(w io.Writer, name string, p Page) error {
	t, ok := k.pages[name]
	if !ok {
		return fmt.Errorf("no page %q", name)
	}
	if p.Places == nil {
		p.Places = Places
	}
	return t.ExecuteTemplate(w, "base", p)
}

// Part writes one part alone: a fragment for the page's script.
func (k *Kit) Part(w io.Writer, name string, data any) error {
	return k.parts.ExecuteTemplate(w, name, data)
}

// Policy is the content policy every page keeps.
const Policy = "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"

// Headers sets what every page is sent with.
func Headers(w http.ResponseWriter) {
	h := w.Header()
	h.Set("Content-Type", "text/html; charset=utf-8")
	h.Set("Content-Security-Policy", Policy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cache-Control", "no-store")
	h.Add("Vary", "Cookie")
}

func (k *Kit) funcs() template.FuncMap {
	return template.FuncMap{
		"asset": k.assets.Path, "chem": chem, "spread": Spread, "plain": Plain, "between": Between, "chance": Chance,
		"age": Age, "day": Day, "weekday": Weekday, "days": Days, "near": Near, "faded": Faded,
		"rows": Rows, "extras": Extras, "answered": Answered,
		"themeColour": func(th Theme) string { return colour("ground", th) },
	}
}

// figured is a figure before its per cent sign, which no line may part.
var figured = regexp.MustCompile(`(\d) %`)

// chem lowers the figure of SO2, CO2 and H2O in words and keeps a figure by its %;
// everything else is escaped.
func chem(words string) template.HTML {
	e := figured.ReplaceAllString(template.HTMLEscapeString(words), "$1\u00a0%")
	for _, f := range [][2]string{{"SO2", "SO<sub>2</sub>"}, {"CO2", "CO<sub>2</sub>"}, {"H2O", "H<sub>2</sub>O"}} {
		e = strings.ReplaceAll(e, f[0], f[1])
	}
	return template.HTML(e) //nolint:gosec // escaped above; only <sub> was added
}
