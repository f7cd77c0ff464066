package serve

import (
	"net/http/httptest"
	"strings"
	"testing"
	"time"
)

// Before the start a timetable says how long after it each step is; "started" puts
// the minute into the address, and from there on the hours stand on the page itself,
// with no script, and after any reload.
func TestTimetableRunsByTheClock(t *testing.T) {
	t.Parallel()
	s := emptyServer(t)
	now := time.Date(2026, 11, 25, 23, 50, 20, 0, time.UTC)
	s.Clock = func() time.Time { return now }
	get := func(path string) *httptest.ResponseRecorder {
		w := httptest.NewRecorder()
		s.ServeHTTP(w, httptest.NewRequest("GET", path, nil))
		return w
	}
	const of = "/clock/yeast-rehydration?must_c=18&volume_l=100"
	p := get(of)
	for _, words := range []string{"at the start", "after 20 min", "30 min at the latest", `name="must_c" value="18"`, "Started"} {
		if !strings.Contains(p.Body.String(), words) {
			t.Errorf("before the start the page lacks %q", words)
		}
	}
	if strings.Contains(p.Body.String(), "data-due") {
		t.Error("a clock runs before the start")
	}
	p = get(of + "&start=1&hour=")
	to := p.Header().Get("Location")
	if p.Code != 303 || to != of+"&began=2026-11-25T23%3A50" {
		t.Fatalf("%d to %q", p.Code, to)
	}
	now = now.Add(5 * time.Minute) // the reload
	p = get(to)
	// 23:50 and 20 min is 00:10 of the next day; 30 min, 00:20; pitched at 00:25, 00:30 at the latest
	for _, words := range []string{"Begun 23:50", "Thu 26 Nov, 00:10", "00:20 at the latest", "00:25", "data-due=\"1795651800000\""} {
		if !strings.Contains(strings.ReplaceAll(p.Body.String(), "\u00a0", " "), words) {
			t.Errorf("begun, the page lacks %q", words)
		}
	}
	if to := get(of + "&start=1&hour=23:30").Header().Get("Location"); !strings.HasSuffix(to, "began=2026-11-25T23%3A30") {
		t.Errorf("begun at 23:30: %q", to)
	}
	now = now.Add(10 * time.Minute) // past midnight, 23:30 was yesterday
	if to := get(of + "&start=1&hour=23:30").Header().Get("Location"); !strings.HasSuffix(to, "began=2026-11-25T23%3A30") {
		t.Errorf("begun at 23:30, said after midnight: %q", to)
	}
	for path, want := range map[string]struct {
		code  int
		words string
	}{
		of + "&start=1&hour=soon":                {422, "an hour such as 19:30 is wanted"},
		of + "&began=soon":                       {422, "a moment such as 2026-11-03T19:30"},
		"/clock/blend?start=1":                   {404, "does not run by the clock"},
		"/clock/yeast-rehydration?volume_l=-100": {422, "volume"},
	} {
		if p := get(path); p.Code != want.code || !strings.Contains(p.Body.String(), want.words) {
			t.Errorf("%s: %d, lacks %q", path, p.Code, want.words)
		}
	}
}
