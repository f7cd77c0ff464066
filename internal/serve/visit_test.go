package serve

import (
	"context"
	"fmt"
	"html"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"elevage/internal/attach"
	"elevage/internal/cellar"
	"elevage/internal/demo"
	"elevage/internal/desk"
	"elevage/internal/ledger"
)

// evening is when the visits take place.
var evening = time.Date(2026, 11, 25, 20, 10, 0, 0, time.FixedZone("", 3600))

// fewDraws: these tests are about what is shown, not about how good a belief is.
const fewDraws = 200

// mostInTests is the most that a file may have here.
const mostInTests = 1 << 20

// A visitor uses a cellar's pages as a browser without JavaScript does.
type visitor struct {
	*Server
	book ledger.Ledger
	logs *syncBuilder
}

type syncBuilder struct {
	mu sync.Mutex
	b  strings.Builder
}

func (s *syncBuilder) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *syncBuilder) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

func visit(tb testing.TB, key string, entries []cellar.Entry) *visitor {
	tb.Helper()
	book := ledger.NewMemory()
	if _, err := book.Append(context.Background(), entries); err != nil {
		tb.Fatal(err)
	}
	v := &visitor{book: book, logs: &syncBuilder{}}
	files, err := attach.Open(tb.TempDir(), attach.Limits{File: mostInTests})
	if err != nil {
		tb.Fatal(err)
	}
	v.Server, err = New(Config{
		Desk: desk.New(book, key, desk.Options{Particles: fewDraws, Zone: evening.Location()}), Ledger: book, Cellar: key, Title: "Elder Hollow", Files: files, Invent: key == demo.Key,
		Clock: func() time.Time { return evening }, Zone: evening.Location(), Log: slog.New(slog.NewTextHandler(v.logs, nil)),
		Pen: cellar.Pen{Cellar: key, By: "Runa", Device: "phone", Random: &syncRandom{from: rand.NewChaCha8([32]byte{5})}}})
	if err != nil {
		tb.Fatal(err)
	}
	v.Warm(context.Background())
	return v
}

type syncRandom struct {
	mu   sync.Mutex
	from *rand.ChaCha8
}

func (r *syncRandom) Read(p []byte) (int, error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.from.Read(p)
}

func visitDemo(tb testing.TB) *visitor {
	tb.Helper()
	entries, err := demo.Entries(evening)
	if err != nil {
		tb.Fatal(err)
	}
	return visit(tb, demo.Key, entries)
}

var shared struct {
	once sync.Once
	demo *visitor
}

// demoToRead is one demo for the tests that only look.
func demoToRead(tb testing.TB) *visitor {
	tb.Helper()
	shared.once.Do(func() { shared.demo = visitDemo(tb) })
	return shared.demo
}

// A leaf is a page as it came back.
type leaf struct {
	Code   int
	Body   string
	Header http.Header
}

func (v *visitor) send(r *http.Request) leaf {
	w := httptest.NewRecorder()
	v.ServeHTTP(w, r)
	return leaf{w.Code, w.Body.String(), w.Header()}
}

// get waits for beliefs, as a browser does by coming again.
func (v *visitor) get(path string) leaf {
	for {
		if p := v.send(httptest.NewRequest("GET", path, nil)); p.Header.Get("Refresh") == "" {
			return p
		}
		v.Warm(context.Background())
	}
}

func (v *visitor) post(path string, q url.Values) leaf {
	r := httptest.NewRequest("POST", path, strings.NewReader(q.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return v.send(r)
}

func (v *visitor) entries(tb testing.TB) []cellar.Entry {
	tb.Helper()
	entries, err := v.book.After(context.Background(), v.Cellar, 0)
	if err != nil {
		tb.Fatal(err)
	}
	return entries
}

var (
	tags   = regexp.MustCompile(`<[^>]*>`)
	spaces = regexp.MustCompile(`[\s\x{a0}]+`)
)

// text is what a reader sees, on one line.
func (p leaf) text() string {
	return strings.TrimSpace(spaces.ReplaceAllString(html.UnescapeString(tags.ReplaceAllString(strings.NewReplacer("<sub>", "", "</sub>", "", "\u00a0", " ").Replace(p.Body), " ")), " "))
}

func (p leaf) shows(tb testing.TB, words ...string) {
	tb.Helper()
	text := p.text()
	for _, w := range words {
		if !strings.Contains(text, w) {
			tb.Errorf("%q is not on the page: %s", w, text)
		}
	}
}

// field is the markup of one question of a form, "" if it is not asked.
func (p leaf) field(name string) string {
	at := strings.Index(p.Body, fmt.Sprintf(`id="f-%s"`, name))
	if at < 0 {
		return ""
	}
	from := strings.LastIndex(p.Body[:at], `class="field`)
	if from < 0 {
		return ""
	}
	to := len(p.Body)
	for _, next := range []string{`class="field `, `class="field"`, `<fieldset class="field`, `class="form-end"`} {
		if i := strings.Index(p.Body[at:], next); i >= 0 {
			to = min(to, at+i)
		}
	}
	return p.Body[from:to]
}

// value is what stands in a field.
func (p leaf) value(name string) string {
	f := p.field(name)
	for _, pattern := range []string{`(?s)<textarea[^>]*>(.*?)</textarea>`, `<option value="([^"]*)" selected`, `<input type="(?:radio|checkbox)"[^>]*value="([^"]*)" checked`} {
		if m := regexp.MustCompile(pattern).FindStringSubmatch(f); m != nil {
			return html.UnescapeString(m[1])
		}
	}
	if m := regexp.MustCompile(`<input id="f-[^"]*" name="[^"]*"(?: type="text")? value="([^"]*)"`).FindStringSubmatch(f); m != nil {
		return html.UnescapeString(m[1])
	}
	return ""
}

// wrong is what is said to be wrong with a field.
func (p leaf) wrong(name string) string {
	m := regexp.MustCompile(`(?s)class="field-error"[^>]*>(.*?)</p>`).FindStringSubmatch(p.field(name))
	if m == nil {
		return ""
	}
	return html.UnescapeString(tags.ReplaceAllString(m[1], ""))
}

func TestVisitorReadsForms(t *testing.T) {
	p := leaf{Body: `<form><div class="field" data-wrong>
<label for="f-a">A</label><div class="field-box"><input id="f-a" name="a" value="x&lt;1"></div><p class="field-error" id="a-error">no</p></div>
<fieldset class="field field-pick" id="f-b"><input type="radio" name="b" value="1"><input type="radio" name="b" value="2" checked></fieldset>
<div class="field"><select id="f-c" name="c"><option value="p">P</option><option value="q" selected>Q</option></select></div><div class="form-end"></div></form>`}
	if p.value("a") != "x<1" || p.wrong("a") != "no" || p.value("b") != "2" || p.value("c") != "q" || p.wrong("b")+p.wrong("c")+p.field("d") != "" {
		t.Errorf("read %q %q %q %q", p.value("a"), p.wrong("a"), p.value("b"), p.value("c"))
	}
}

// anEntry is the id of an entry that can be struck.
func (v *visitor) anEntry(tb testing.TB) string {
	tb.Helper()
	for _, e := range v.entries(tb) {
		if e.Kind == cellar.KindReading {
			return string(e.ID)
		}
	}
	tb.Fatal("no reading in the ledger")
	return ""
}

// anAct is the id of something planned.
func (v *visitor) anAct(tb testing.TB) string {
	tb.Helper()
	view, err := v.view(context.Background())
	if err != nil || len(view.Plan.Acts) == 0 {
		tb.Fatalf("no acts are planned: %v", err)
	}
	return view.Plan.Acts[0].ID
}

// through knocks at a door in front of the cellar.
func (v *visitor) through(d *Door) leaf {
	r := httptest.NewRequest("GET", "/", nil)
	r.Host = "localhost:1"
	w := httptest.NewRecorder()
	d.Guard(v).ServeHTTP(w, r)
	return leaf{w.Code, w.Body.String(), w.Header()}
}

// stillReckoning is what a page says while beliefs are being computed.
func (v *visitor) stillReckoning(tb testing.TB) leaf {
	tb.Helper()
	w := httptest.NewRecorder()
	if err := v.reckoning(w, httptest.NewRequest("GET", "/", nil)); err != nil {
		tb.Fatal(err)
	}
	if w.Header().Get("Refresh") != "1; url=/" { // named: an address with a fragment is only scrolled in
		tb.Errorf("the page does not come by itself: %q", w.Header().Get("Refresh"))
	}
	return leaf{w.Code, w.Body.String(), w.Header()}
}

// keeps posts a form that must be kept, and returns the page it leads to.
func (v *visitor) keeps(tb testing.TB, path string, q url.Values) leaf {
	tb.Helper()
	before := len(v.entries(tb))
	p := v.post(path, q)
	if token := warnedIn(p); token != "" {
		p = v.post(path, with(q, "warned", token))
	}
	if p.Code != http.StatusSeeOther || len(v.entries(tb)) == before {
		tb.Fatalf("%s was not kept: %d: %s", path, p.Code, p.text())
	}
	to := p.Header.Get("Location")
	path, fragment, _ := strings.Cut(to, "#")
	led := v.get(path)
	if led.Code != 200 || fragment != "" && !strings.Contains(led.Body, fmt.Sprintf("id=%q", fragment)) {
		tb.Errorf("led to %s: %d", to, led.Code)
	}
	return led
}
