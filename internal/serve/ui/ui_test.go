package ui

import (
	"bytes"
	"compress/gzip"
	"io"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"elevage/internal/chart"
)

func kit(t *testing.T) *Kit {
	t.Helper()
	k, err := New(galleryPages())
	if err != nil {
		t.Fatal(err)
	}
	return k
}

// views are the values each part is made for.
var views = map[string]any{
	"figure": Figure{}, "figures": []Figure{}, "working": &Working{}, "act": Act{}, "stop": Stop{}, "comeback": ComeBack{},
	"field": Field{}, "form-errors": FormErrors{}, "confirm": Confirm{}, "carry": []Pair{}, "notice": Notice{}, "table": Table{},
	"chart": Drawing{}, "spark": &Drawing{}, "ledger": []LedgerLine{}, "ledger-line": LedgerLine{}, "lots": []LotLine{}, "lot-line": LotLine{},
	"empty": Empty{}, "progress": Progress{}, "card": Card{}, "understood": &Understood{}, "logline": &LogLine{},
}

// TestEveryPartTakesNothing: a part given an empty view still renders.
func TestEveryPartTakesNothing(t *testing.T) {
	t.Parallel()
	k := kit(t)
	for name, v := range views {
		if err := k.Part(io.Discard, name, v); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// hostile fills every string of a view, down to a depth (a figure holds a working
// holds figures), with what must be escaped.
func hostile(v reflect.Value, s string, depth int) {
	if depth == 0 {
		return
	}
	switch v.Kind() {
	case reflect.Pointer:
		if v.IsNil() {
			v.Set(reflect.New(v.Type().Elem()))
		}
		if v.Type() != reflect.TypeFor[*Drawing]() {
			hostile(v.Elem(), s, depth-1)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			if v.Type().Field(i).IsExported() && v.Field(i).Type().PkgPath() != "html/template" && v.Field(i).Type().PkgPath() != "time" {
				hostile(v.Field(i), s, depth-1)
			}
		}
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		hostile(v.Index(0), s, depth-1)
	case reflect.String:
		v.SetString(s)
	}
}

// TestPartsEscape: what a person typed never becomes markup, and no link becomes script.
func TestPartsEscape(t *testing.T) {
	t.Parallel()
	k := kit(t)
	for _, s := range []string{`"><script>alert(1)</script>`, `'><img src=x onerror=alert(1)>`, "javascript:alert(1)", "SO2</b><svg onload=x>"} {
		for name, v := range views {
			if name == "working" { // reached through figure and act
				continue
			}
			p := reflect.New(reflect.TypeOf(v))
			p.Elem().Set(reflect.ValueOf(v))
			hostile(p.Elem(), s, 9)
			var b bytes.Buffer
			if err := k.Part(&b, name, p.Elem().Interface()); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			for _, bad := range []string{"<script", "<img src=x", "<svg onload", `href="javascript:`, `action="javascript:`, `src="javascript:`} {
				if strings.Contains(strings.ToLower(b.String()), bad) {
					t.Errorf("%s: %q got out as %s", name, s, bad)
				}
			}
		}
	}
}

var (
	inline  = regexp.MustCompile(`(?i)\sstyle\s*=|<style|\son[a-z]+\s*=|<script(?:[^>]*src=)?[^>]*>[^<]`)
	idOf    = regexp.MustCompile(`\sid="([^"]+)"`)
	forOf   = regexp.MustCompile(`\s(?:for|aria-labelledby|aria-describedby)="([^"]+)"`)
	outside = regexp.MustCompile(`(?i)(?:src|href|action)="(?:https?:)?//`)
)

// TestPagesKeepThePolicy: nothing inline, nothing from elsewhere, ids once, and what points at an id finds it.
func TestPagesKeepThePolicy(t *testing.T) {
	t.Parallel()
	k := kit(t)
	for _, g := range gallery() {
		var b bytes.Buffer
		if err := k.Write(&b, g.template, g.page); err != nil {
			t.Fatal(err)
		}
		html := b.String()
		if m := inline.FindString(html); m != "" {
			t.Errorf("%s: %q would be refused by the policy", g.name, m)
		}
		if m := outside.FindString(html); m != "" {
			t.Errorf("%s: %q leads outside", g.name, m)
		}
		ids := map[string]bool{}
		for _, m := range idOf.FindAllStringSubmatch(html, -1) {
			if ids[m[1]] {
				t.Errorf("%s: id %q twice", g.name, m[1])
			}
			ids[m[1]] = true
		}
		for _, m := range forOf.FindAllStringSubmatch(html, -1) {
			for id := range strings.FieldsSeq(m[1]) {
				if !ids[id] {
					t.Errorf("%s: %q points at nothing", g.name, id)
				}
			}
		}
	}
}

func TestRender(t *testing.T) {
	t.Parallel()
	k := kit(t)
	w := httptest.NewRecorder()
	if err := k.Render(w, http.StatusTeapot, "empty", Page{Title: "x", Body: Empty{Head: "No lot yet."}}); err != nil {
		t.Fatal(err)
	}
	if w.Code != http.StatusTeapot || w.Header().Get("Content-Security-Policy") != Policy || !strings.Contains(w.Body.String(), "No lot yet.") {
		t.Errorf("code %d, headers %v", w.Code, w.Header())
	}
	w = httptest.NewRecorder()
	if err := k.Render(w, http.StatusOK, "no such page", Page{}); err == nil || w.Body.Len() > 0 {
		t.Errorf("a page that does not exist: error %v, %d bytes sent", err, w.Body.Len())
	}
	w = httptest.NewRecorder()
	if err := k.Render(w, http.StatusOK, "empty", Page{Body: 7}); err == nil || w.Body.Len() > 0 || len(w.Header()) > 0 {
		t.Errorf("a template that fails half way: error %v, %d bytes and %v sent", err, w.Body.Len(), w.Header())
	}
}

func TestNewRefusesBadPages(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ body, want string }{
		"no main":     {`{{define "other"}}x{{end}}`, `defines no "main"`},
		"broken":      {`{{define "main"}}{{if}}{{end}}`, "missing value for if"},
		"no function": {`{{define "main"}}{{now}}{{end}}`, `function "now" not defined`},
	} {
		_, err := New(fstest.MapFS{"lot.html": {Data: []byte(c.body)}})
		if err == nil || !strings.Contains(err.Error(), c.want) || !strings.Contains(err.Error(), "lot.html") {
			t.Errorf("%s: error %v, want %q and the file's name", name, err, c.want)
		}
	}
}

func TestAssets(t *testing.T) {
	t.Parallel()
	a := kit(t).Assets()
	get := func(path, accept string) *http.Response {
		r := httptest.NewRequest(http.MethodGet, path, nil)
		r.Header.Set("Accept-Encoding", accept)
		w := httptest.NewRecorder()
		a.ServeHTTP(w, r)
		return w.Result()
	}
	css, err := a.Path("elevage.css")
	if err != nil {
		t.Fatal(err)
	}
	plain, _ := io.ReadAll(get(css, "").Body)
	packed := get(css, "br, gzip;q=0.8")
	if packed.Header.Get("Content-Encoding") != "gzip" || !strings.Contains(packed.Header.Get("Cache-Control"), "immutable") || packed.Header.Get("Vary") != "Accept-Encoding" {
		t.Errorf("headers %v", packed.Header)
	}
	z, err := gzip.NewReader(packed.Body)
	if err != nil {
		t.Fatal(err)
	}
	if unpacked, err := io.ReadAll(z); err != nil || !bytes.Equal(unpacked, plain) {
		t.Errorf("packed and plain sheet differ (%v)", err)
	}
	if r := get(css, "gzip;q=0"); r.Header.Get("Content-Encoding") != "" {
		t.Error("gzip was refused and sent")
	}
	for _, ref := range regexp.MustCompile(`url\(([^)]+)\)`).FindAllStringSubmatch(string(plain), -1) {
		if r := get(ref[1], ""); r.StatusCode != http.StatusOK {
			t.Errorf("the sheet names %s: %d", ref[1], r.StatusCode)
		}
	}
	for path, want := range map[string]int{"/assets/elevage.css": 404, "/assets/": 404, "/assets/../ui.go": 404, css: 200} {
		if r := get(path, ""); r.StatusCode != want {
			t.Errorf("%s: %d, want %d", path, r.StatusCode, want)
		}
	}
	if _, err := a.Path("nothing.css"); err == nil {
		t.Error("an asset that does not exist has a path")
	}
	w := httptest.NewRecorder()
	a.ServeHTTP(w, httptest.NewRequest(http.MethodPost, css, nil))
	if w.Code != http.StatusMethodNotAllowed {
		t.Errorf("POST: %d", w.Code)
	}
}

// TestFontsAreLightAndLicensed: under 250 kB together, each with its licence in the notices.
func TestFontsAreLightAndLicensed(t *testing.T) {
	t.Parallel()
	total := int64(0)
	fonts, err := fs.Glob(assetFiles, "assets/fonts/*.woff2")
	if err != nil || len(fonts) == 0 {
		t.Fatalf("fonts %v, %v", fonts, err)
	}
	for _, f := range fonts {
		i, err := fs.Stat(assetFiles, f)
		if err != nil {
			t.Fatal(err)
		}
		total += i.Size()
	}
	if total > 250_000 {
		t.Errorf("fonts weigh %d bytes", total)
	}
	for font, notice := range map[string]string{"piazzolla": "piazzolla.txt", "atkinson": "atkinson-hyperlegible-next.txt"} {
		body, err := os.ReadFile(filepath.Join("..", "..", "..", "THIRD_PARTY_LICENSES", notice))
		if err != nil || !strings.Contains(string(body), "SIL OPEN FONT LICENSE Version 1.1") {
			t.Errorf("%s: no licence in the notices (%v)", font, err)
		}
		if _, err := fs.Stat(assetFiles, "assets/fonts/OFL-"+notice); err != nil {
			t.Errorf("%s: no licence beside the font: %v", font, err)
		}
	}
}

func TestThemeSwitch(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ theme, back, cookie, to string }{
		"slate":     {"slate", "/lots/1?from=2", "slate", "/lots/1?from=2"},
		"paper":     {"paper", "", "paper", "/"},
		"nonsense":  {"neon", "/cellar", "", "/cellar"},
		"elsewhere": {"slate", "https://example.org/", "slate", "/"},
		"slashes":   {"slate", "//example.org/", "slate", "/"},
		"backslash": {"slate", `/\example.org`, "slate", "/"},
		"break":     {"slate", "/a\r\nSet-Cookie: x", "slate", "/"},
		"relative":  {"slate", "cellar", "slate", "/"},
	} {
		form := url.Values{"theme": {c.theme}, "back": {c.back}}
		r := httptest.NewRequest(http.MethodPost, "/theme", strings.NewReader(form.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		w := httptest.NewRecorder()
		ThemeSwitch().ServeHTTP(w, r)
		if got := w.Header().Get("Location"); got != c.to || w.Code != http.StatusSeeOther {
			t.Errorf("%s: %d to %q, want %q", name, w.Code, got, c.to)
		}
		back := httptest.NewRequest(http.MethodGet, "/", nil)
		for _, k := range w.Result().Cookies() {
			if k.MaxAge > 0 {
				back.AddCookie(k)
			}
		}
		if got := ThemeOf(back); got != Theme(c.cookie) {
			t.Errorf("%s: theme is %q, want %q", name, got, c.cookie)
		}
	}
}

// FuzzLocalPath: a redirect never leaves the house.
func FuzzLocalPath(f *testing.F) {
	for _, s := range []string{"/", "//a", "/\\a", "https://a", "/a?b=//c", "\t//a", "/%0d%0a", "javascript:x"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		to := localPath(s)
		base, _ := url.Parse("http://cellar.local/")
		u, err := base.Parse(to)
		if err != nil || u.Host != "cellar.local" || u.Scheme != "http" || strings.ContainsAny(to, "\r\n\\") {
			t.Fatalf("%q leads to %q", s, to)
		}
	})
}

func TestChem(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]string{
		"free SO2, CO2": "free SO<sub>2</sub>, CO<sub>2</sub>", "<b>SO2": "&lt;b&gt;SO<sub>2</sub>", "lot SO20": "lot SO<sub>2</sub>0",
	} {
		if got := string(chem(in)); got != want {
			t.Errorf("%q: %q, want %q", in, got, want)
		}
	}
}

func TestFormErrorsNameWhatIsWrong(t *testing.T) {
	t.Parallel()
	var b bytes.Buffer
	f := Field{Name: "ph", Label: "pH", Kind: Number, Value: "347", Error: "347 is not a pH; allowed is 2.5 to 4.5."}
	if err := kit(t).Part(&b, "field", f); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`value="347"`, `aria-invalid="true"`, `aria-describedby="ph-error"`, `id="ph-error"`, "allowed is 2.5 to 4.5", `inputmode="decimal"`} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("field lacks %s:\n%s", want, b.String())
		}
	}
}

// TestDrawnKeepsBothSizes: the page chooses, so both must be there, with ids apart.
func TestDrawnKeepsBothSizes(t *testing.T) {
	t.Parallel()
	d := Drawn(chart.States{ID: "x", Title: "x", Parts: []chart.State{{Name: "a", P: 1}}})
	if !strings.Contains(string(d.Narrow), `id="x-n"`) || !strings.Contains(string(d.Wide), `id="x-w"`) || len(d.Table.Rows) != 1 {
		t.Errorf("drawing: %+v", d)
	}
}
