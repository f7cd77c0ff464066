package serve

import (
	"fmt"
	"html"
	"io/fs"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"elevage/internal/cellar"
)

// Each template of a page, a request that renders it, and words that only it has.
var rendered = map[string]struct{ path, words string }{
	"today":      {"/", "Print tonight's list"},
	"cellar":     {"/cellar", "The whole ledger"},
	"lot":        {"/lots/syrah", "Print its cards"},
	"ledger":     {"/ledger", "strike : "},
	"sheets":     {"/account?lot=syrah", "there at last"},
	"rows":       {"/rounds", "Cap worked"},
	"protocol":   {"/lots/syrah/protocol", "What comes of its steps"},
	"blend":      {"/blend?ask=1&use=d2&use=b1&ph_most=3.65", "Side by side"},
	"bench":      {"/bench", "What do you ask?"},
	"calculator": {"/bench/molecular-so2", "Reckon"},
	"clock":      {"/clock/yeast-rehydration?volume_l=100&must_c=18", "Pitch it, at once."},
	"write":      {"/write/reading", "Keep"},
	"attach":     {"/attach/{entry}", "Picture or paper"},
	"entries":    {"/write", "Fruit and must"},
	"strike":     {"/strike/{entry}", "Strike it out"},
	"tick":       {"/tick/{act}", "Skip it this time"},
	"away":       {"/away", "What then?"},
	"calendar":   {"/calendar", "Subscribe to this address"},
	"cards":      {"/cards/tonight", "HALF-LETTER"},
	"plain":      {"/no-such-page", "there is no page here"},
	"guide":      {"/guides/chromatogram", "Gone is not zero."},
	"enter":      {"{door}", "Pass-phrase"},
	"reckoning":  {"{reckoning}", "The page comes by itself"},
}

func TestEveryTemplateIsRendered(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	files, err := fs.Glob(pageFiles, "pages/*.html")
	if err != nil {
		t.Fatal(err)
	}
	entry, act := v.anEntry(t), v.anAct(t)
	for _, f := range files {
		name := strings.TrimSuffix(strings.TrimPrefix(f, "pages/"), ".html")
		want, ok := rendered[name]
		if !ok {
			t.Errorf("page %s is rendered by no test", name)
			continue
		}
		path := strings.NewReplacer("{entry}", entry, "{act}", act).Replace(want.path)
		switch path {
		case "{door}":
			d, _ := testDoor(t, "0.0.0.0:1", "the quince by the pump")
			d.Ask = v.AskPhrase
			v.through(d).shows(t, want.words)
		case "{reckoning}":
			v.stillReckoning(t).shows(t, want.words)
		default:
			v.get(path).shows(t, want.words)
		}
	}
}

// broken are the marks of a page that went wrong although it was sent.
var broken = regexp.MustCompile(`%!\w?\(|\bNaN\b|[+-]Inf\b|ZgotmplZ|<nil>|\{\{|\b0001-01-01\b|1 Jan 1\b|\bmap\[|Something went wrong`)

// machineDate is a day in digits, which no sentence has; the tag of a bottling day, and
// what a person types, are words of their own.
var machineDate = regexp.MustCompile(`(^|[^-\w])20\d\d-\d\d-\d\d\b`)

// Every link of the demo leads to a page, every fragment to a place on it, and
// no page shows the marks of a figure that could not be written, or a day in digits.
func TestEveryLinkOfTheDemoLeadsSomewhere(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	link := regexp.MustCompile(`(?:href|action)="(/[^"]*|#[^"]*)"`)
	seen, alike := map[string]bool{}, map[string]int{}
	queue := []string{"/", "/write", "/api/v1/openapi.json"}
	fragments := map[string][]string{}
	for len(queue) > 0 {
		path := queue[0]
		queue = queue[1:]
		if seen[path] {
			continue
		}
		seen[path] = true
		p := v.get(path)
		if p.Code != 200 {
			t.Errorf("%s: %d: %s", path, p.Code, p.text())
			continue
		}
		isPage := strings.HasPrefix(p.Header.Get("Content-Type"), "text/html")
		if m := broken.FindString(p.text()); isPage && m != "" {
			t.Errorf("%s shows %q", path, m)
		}
		if at := machineDate.FindStringIndex(p.text()); isPage && at != nil {
			t.Errorf("%s writes a day as machines do: …%s", path, p.text()[max(0, at[0]-60):at[1]])
		}
		for _, f := range fragments[path] {
			if !strings.Contains(p.Body, fmt.Sprintf(`id="%s"`, f)) {
				t.Errorf("%s has no place #%s, to which a page leads", path, f)
			}
		}
		for _, m := range link.FindAllStringSubmatch(p.Body, -1) {
			to, fragment, _ := strings.Cut(html.UnescapeString(m[1]), "#")
			if to == "" {
				to = path
			}
			if seen[to] && fragment != "" && to == path && !strings.Contains(p.Body, fmt.Sprintf(`id="%s"`, fragment)) {
				t.Errorf("%s has no place #%s, to which it leads itself", path, fragment)
			}
			if postOnly(to) || seen[to] {
				continue
			}
			if fragment != "" {
				fragments[to] = append(fragments[to], fragment)
			}
			// Forty calculators for each of fifteen vessels and a strike for each
			// entry are one page each; a few of a kind are enough.
			if kind := kindOf(to); alike[kind] < 6 || fragment != "" {
				alike[kind]++
				queue = append(queue, to)
			}
		}
	}
	t.Logf("%d pages", len(seen))
	if len(seen) < 100 {
		t.Errorf("only %d pages were found: the walk is broken", len(seen))
	}
	if logs := v.logs.String(); strings.Contains(logs, "level=ERROR") {
		t.Errorf("logged: %s", logs)
	}
}

func postOnly(path string) bool { return path == "/log" || path == "/theme" || path == "/enter" }

// kindOf is a path without its names.
func kindOf(path string) string {
	u, err := url.Parse(path)
	if err != nil {
		return path
	}
	parts := strings.Split(u.Path, "/")
	if len(parts) > 2 && !slices.Contains([]string{"lots", "bench", "write", "assets"}, parts[1]) {
		parts = append(parts[:2], "…")
	}
	if u.RawQuery != "" && parts[1] != "write" {
		parts = []string{"", parts[1], "?"}
	}
	return strings.Join(parts, "/")
}

// Every page says that the demo is invented; a person's own says no such thing.
func TestInventedIsSaidOnEveryPage(t *testing.T) {
	t.Parallel()
	const said = "This cellar is invented: people, lots and numbers."
	for _, path := range []string{"/", "/cellar", "/lots/syrah", "/bench", "/bench/molecular-so2", "/ledger", "/write/lot", "/nowhere", "/cards/tonight"} {
		demoToRead(t).get(path).shows(t, said)
	}
	if own := visit(t, "home", nil).get("/"); strings.Contains(own.text(), said) {
		t.Error("a person's own cellar is called invented")
	}
}

func TestEmptyCellarSaysWhatToDo(t *testing.T) {
	t.Parallel()
	v := visit(t, "home", nil)
	for _, path := range []string{"/", "/cellar"} {
		p := v.get(path)
		p.shows(t, "Nothing is written here yet.", "Name a vessel", "Start a lot")
		if !strings.Contains(p.Body, `href="/write/vessel"`) || !strings.Contains(p.Body, `href="/write/lot"`) {
			t.Errorf("%s does not lead to the first steps", path)
		}
	}
	v.get("/ledger").shows(t, "0 entries")
}

// On the way to the first lot in a vessel every page says what comes next, and a
// form that cannot be filled in yet leads to what it lacks.
func TestFirstStepsLeadOn(t *testing.T) {
	t.Parallel()
	v := visit(t, "home", nil)
	leads := func(path, words, to string) {
		t.Helper()
		p := v.get(path)
		p.shows(t, words)
		if !strings.Contains(p.Body, `href="`+to+`"`) {
			t.Errorf("%s does not lead to %s", path, to)
		}
	}
	leads("/write/fill", "no lot is there to choose yet", "/write/lot")
	leads("/write/reading", "no vessel is there to choose yet", "/write/vessel")
	v.keeps(t, "/write/lot", q("name", "Gamay", "colour", "red", "malolactic", "open", "units", "metric"))
	leads("/", "A vessel comes next", "/write/vessel")
	v = visit(t, "home", nil)
	v.keeps(t, "/write/vessel", q("vessel", "c1", "type", "carboy", "size", "23 L"))
	for _, path := range []string{"/", "/cellar"} {
		leads(path, "A lot comes next", "/write/lot")
	}
	led := v.keeps(t, "/write/lot", q("name", "Gamay", "colour", "red", "malolactic", "open", "units", "metric"))
	led.shows(t, "Wine comes in")
	leads("/", "No vessel holds wine", "/write/fill")
	leads("/lots/gamay", "No vessel holds this lot now", "/write/fill?lot=gamay")
	leads("/write/reading", "no vessel holds wine yet", "/write/fill")
	v.keeps(t, "/write/fill", q("lot", "gamay", "vessel", "c1", "volume", "22 L", "day", "2026-11-25"))
	if p := v.get("/"); strings.Contains(p.text(), "comes next") || strings.Contains(p.text(), "holds wine yet") {
		t.Errorf("still on the first steps: %s", p.text())
	}
}

func TestUnknownPaths(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	for _, path := range []string{"/nowhere", "/lots/nowhere", "/bench/nowhere", "/write/nowhere", "/tick/nowhere/b2", "/strike/0190a5e0-7c3a-7000-8000-000000000000",
		"/strike/x", "/cards/lots/nowhere", "/calendar/guess.ics", "/lots/%2e%2e%2fetc", "/lots/" + strings.Repeat("x", 3000)} {
		p := v.get(path)
		if p.Code != 404 || !strings.Contains(p.text(), "Not found.") {
			t.Errorf("%s: %d: %s", path, p.Code, p.text())
		}
	}
	if p := v.get("/cards/tonight?size=a9"); p.Code != 422 || !strings.Contains(p.text(), "a6, a5, a4 or half-letter") {
		t.Errorf("a card of unknown size: %d: %s", p.Code, p.text())
	}
	if p := v.post("/ledger", nil); p.Code == 200 {
		t.Errorf("posting to a page to be read: %d", p.Code)
	}
}

// What people type is text on every page, never markup.
func TestNamesCannotBecomeMarkup(t *testing.T) {
	t.Parallel()
	v := visit(t, "home", nil)
	const evil = `<script>alert(1)</script>"'><img src=x onerror=alert(2)>`
	v.keeps(t, "/write/lot", url.Values{"name": {evil}, "slug": {"evil"}, "colour": {"red"}, "malolactic": {cellar.MalolacticWanted}, "units": {"metric"}, "variety": {evil}})
	v.keeps(t, "/write/vessel", url.Values{"vessel": {"b2"}, "type": {"carboy"}, "size": {"23"}, "place": {evil}})
	v.keeps(t, "/write/fill", url.Values{"lot": {"evil"}, "vessel": {"b2"}, "volume": {"22"}, "day": {"2026-11-25"}})
	v.keeps(t, "/write/note", url.Values{"vessel": {"b2"}, "words": {evil}, "day": {"2026-11-25"}})
	for _, path := range []string{"/", "/cellar", "/lots/evil", "/ledger", "/cards/lots/evil", "/bench?from=" + url.QueryEscape(evil), "/write/note?words=" + url.QueryEscape(evil)} {
		p := v.get(path)
		if p.Code != 200 || strings.Contains(p.Body, "<script>alert") || strings.Contains(p.Body, "<img src=x") {
			t.Errorf("%s: %d lets markup through", path, p.Code)
		}
	}
}
