package serve

import (
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"github.com/emersion/go-ical"
)

// events are those of a calendar file, by UID, read with somebody else's parser.
func events(t *testing.T, file string) map[string]string {
	t.Helper()
	cal, err := ical.NewDecoder(strings.NewReader(file)).Decode()
	if err != nil {
		t.Fatalf("%v in %.300s", err, file)
	}
	out := map[string]string{}
	for _, e := range cal.Events() {
		uid, _ := e.Props.Text(ical.PropUID)
		summary, _ := e.Props.Text(ical.PropSummary)
		if uid == "" || out[uid] != "" {
			t.Errorf("UID %q is missing or stands twice", uid)
		}
		out[uid] = summary
	}
	return out
}

// The feed is read by an independent parser, is the plan act by act, keeps its ids when
// an entry is added, and is shut to the old address once that is revoked. Through the
// door it needs no pass-phrase but its own key, and the key is in no log.
func TestFeedIsSubscribedAndRevoked(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	door, _ := testDoor(t, "0.0.0.0:1", "the quince by the pump")
	guarded := door.Guard(v)
	get := func(path string) leaf {
		w := httptest.NewRecorder()
		r := httptest.NewRequest("GET", path, nil)
		r.Host = "127.0.0.1"
		guarded.ServeHTTP(w, r)
		return leaf{w.Code, w.Body.String(), w.Header()}
	}
	address := func() string {
		return regexp.MustCompile(`/calendar/[0-9a-f]{32,}\.ics`).FindString(v.get("/calendar").Body)
	}
	first := address()
	if first == "" {
		t.Fatal("the page gives no address to subscribe to")
	}
	feed := get(first)
	if feed.Code != 200 || !strings.HasPrefix(feed.Header.Get("Content-Type"), "text/calendar") {
		t.Fatalf("the feed: %d %s", feed.Code, feed.Header.Get("Content-Type"))
	}
	before := events(t, feed.Body)
	if want := must(v.view(t.Context())).Plan; len(before) != len(want.Calendar(v.Cellar, nil, nil)) || len(before) == 0 {
		t.Errorf("%d events, the plan has %d", len(before), len(want.Calendar(v.Cellar, nil, nil)))
	}
	file := v.get("/calendar.ics")
	if plain := events(t, file.Body); len(plain) != len(before) {
		t.Errorf("the plain file has %d events, the feed %d", len(plain), len(before))
	}
	v.keeps(t, "/write/note", q("vessel", "d1", "words", "nothing new", "day", "2026-11-25"))
	same := 0
	for uid := range events(t, get(first).Body) {
		if _, ok := before[uid]; ok {
			same++
		}
	}
	if same != len(before) {
		t.Errorf("%d of %d ids are kept after a note", same, len(before))
	}
	if p := v.post("/calendar", nil); p.Code != 303 {
		t.Fatalf("not renewed: %d", p.Code)
	}
	second := address()
	if second == first || get(first).Code != 404 || get(second).Code != 200 {
		t.Errorf("after it was revoked the old address answers %d, the new one %d", get(first).Code, get(second).Code)
	}
	for _, key := range []string{first, second} {
		if secret := strings.TrimSuffix(strings.TrimPrefix(key, "/calendar/"), ".ics"); strings.Contains(v.logs.String(), secret) {
			t.Error("the key stands in a log")
		}
	}
}
