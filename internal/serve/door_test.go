package serve

import (
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"
)

var noon = time.Date(2026, 11, 10, 12, 0, 0, 0, time.UTC)

func testDoor(t *testing.T, addr, phrase string) (*Door, *time.Time) {
	t.Helper()
	now := noon
	d, err := NewDoor(addr, phrase, nil, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	d.Ask = func(w http.ResponseWriter, _ *http.Request, status int, to, trouble string) {
		w.WriteHeader(status)
		io.WriteString(w, "ask "+to+" "+trouble) //nolint:errcheck // a recorder
	}
	return d, &now
}

func inner() http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { io.WriteString(w, "inside") }) //nolint:errcheck // a recorder
}

func TestDoorNeedsAPhraseForTheNetwork(t *testing.T) {
	for _, c := range []struct{ addr, phrase, want string }{
		{"127.0.0.1:8384", "", ""},
		{"[::1]:0", "", ""},
		{"localhost:80", "", ""},
		{"0.0.0.0:8384", "", "needs a pass-phrase"},
		{":8384", "", "needs a pass-phrase"},
		{"192.168.1.5:8384", "", "needs a pass-phrase"},
		{"0.0.0.0:8384", "short", "at least 12"},
		{"0.0.0.0:8384", "long enough a phrase", ""},
		{"8384", "", "want HOST:PORT"},
	} {
		_, err := NewDoor(c.addr, c.phrase, nil, time.Now)
		if (err == nil) != (c.want == "") || (err != nil && !strings.Contains(err.Error(), c.want)) {
			t.Errorf("NewDoor(%q, %q): error %v, want %q", c.addr, c.phrase, err, c.want)
		}
	}
}

// A page of another site can make a browser send requests here: under another
// name (rebinding) or across origins. Neither may get through.
func TestDoorRefusesStrangers(t *testing.T) {
	d, _ := testDoor(t, "127.0.0.1:8384", "")
	h := d.Guard(inner())
	for _, c := range []struct {
		name, method, host string
		header             map[string]string
		want               int
	}{
		{"own page", "GET", "127.0.0.1:8384", nil, 200},
		{"own name", "GET", "localhost:8384", nil, 200},
		{"six", "GET", "[::1]:8384", nil, 200},
		{"rebound name", "GET", "evil.example:8384", nil, 421},
		{"no name", "GET", "", nil, 421},
		{"own form", "POST", "localhost:8384", map[string]string{"Origin": "http://localhost:8384"}, 200},
		{"other site's form", "POST", "localhost:8384", map[string]string{"Origin": "http://evil.example"}, 403},
		{"other site's fetch", "POST", "localhost:8384", map[string]string{"Sec-Fetch-Site": "cross-site"}, 403},
		{"a script without a browser", "POST", "localhost:8384", nil, 200},
	} {
		r := httptest.NewRequest(c.method, "/log", nil)
		r.Host = c.host
		for k, v := range c.header {
			r.Header.Set(k, v)
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		if w.Code != c.want {
			t.Errorf("%s: %d, want %d", c.name, w.Code, c.want)
		}
	}
}

func TestOpenDoorAsksForThePhrase(t *testing.T) {
	const right = "the quince by the pump"
	d, now := testDoor(t, "0.0.0.0:8384", right)
	h := d.Guard(inner())
	get := func(cookie *http.Cookie, path string) *httptest.ResponseRecorder {
		r := httptest.NewRequest("GET", path, nil)
		r.Host = "localhost:8384"
		if cookie != nil {
			r.AddCookie(cookie)
		}
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}
	enter := func(phrase, to string) *httptest.ResponseRecorder {
		r := httptest.NewRequest("POST", "/enter", strings.NewReader(url.Values{"phrase": {phrase}, "to": {to}}.Encode()))
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Host = "localhost:8384"
		w := httptest.NewRecorder()
		h.ServeHTTP(w, r)
		return w
	}

	if w := get(nil, "/lots/a?x=1"); w.Code != 401 || !strings.Contains(w.Body.String(), "/lots/a?x=1") {
		t.Fatalf("without a phrase: %d %q", w.Code, w.Body)
	}
	if w := get(nil, "/api/v1/today"); w.Code != 401 {
		t.Fatalf("API without a phrase: %d", w.Code)
	}
	if w := enter("wrong phrase", "/"); w.Code != 401 {
		t.Fatalf("wrong phrase: %d", w.Code)
	}
	w := enter(right, "/lots/a")
	if w.Code != 303 || w.Header().Get("Location") != "/lots/a" {
		t.Fatalf("right phrase: %d to %q", w.Code, w.Header().Get("Location"))
	}
	c := w.Result().Cookies()[0]
	if !c.HttpOnly || c.SameSite != http.SameSiteStrictMode {
		t.Errorf("session cookie is open to scripts or other sites: %v", c)
	}
	if w := get(c, "/"); w.Body.String() != "inside" {
		t.Fatalf("with the session: %d", w.Code)
	}
	if w := get(&http.Cookie{Name: sessionCookie, Value: "made up"}, "/"); w.Code != 401 {
		t.Fatalf("with a made-up session: %d", w.Code)
	}
	*now = now.Add(sessionLasts + time.Hour)
	if w := get(c, "/"); w.Code != 401 {
		t.Fatalf("with an old session: %d", w.Code)
	}
	for range triesBefore {
		enter("guess", "/")
	}
	if w := enter(right, "/"); w.Code != 429 {
		t.Errorf("after %d wrong tries: %d, want 429", triesBefore, w.Code)
	}
	*now = now.Add(triesWait + time.Second)
	if w := enter(right, "/"); w.Code != 303 {
		t.Errorf("after the wait: %d, want 303", w.Code)
	}
	if w := enter(right, "//evil.example/x"); w.Header().Get("Location") != "/" {
		t.Errorf("redirected off the site: %q", w.Header().Get("Location"))
	}
}

func TestLocalKeepsRedirectsHere(t *testing.T) {
	for in, want := range map[string]string{
		"/": "/", "/lots/a?tab=1": "/lots/a?tab=1", "": "/", "//x": "/", "https://x/": "/", `/\x`: "/", "lots": "/", "/%2f/x": "/%2f/x",
	} {
		if got := local(in); got != want {
			t.Errorf("local(%q) = %q, want %q", in, got, want)
		}
	}
}

func TestCertificateIsKeptAndRenewed(t *testing.T) {
	dir := t.TempDir()
	names := []string{"cellar.home.arpa", "192.0.2.7"}
	_, first, err := Certificate(dir, names, noon)
	if err != nil {
		t.Fatal(err)
	}
	cert, again, err := Certificate(dir, names, noon.Add(24*time.Hour))
	if err != nil || again != first {
		t.Fatalf("a day later: %v, fingerprint %s, want %s", err, again, first)
	}
	for _, n := range names {
		if err := cert.Leaf.VerifyHostname(n); err != nil {
			t.Error(err)
		}
	}
	if lasts := cert.Leaf.NotAfter.Sub(noon); lasts > 398*24*time.Hour {
		t.Errorf("lasts %v: phones refuse more than 398 days", lasts)
	}
	if _, renewed, err := Certificate(dir, names, noon.Add(370*24*time.Hour)); err != nil || renewed == first {
		t.Errorf("not renewed before its end: %v", err)
	}
	if _, other, err := Certificate(dir, append(names, "other.home.arpa"), noon); err != nil || other == first {
		t.Errorf("not made anew for a further name: %v", err)
	}
}
