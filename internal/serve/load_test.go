package serve

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/demo"
	"elevage/internal/desk"
	"elevage/internal/ledger"
)

// Two people log at once while others read: every line is kept once, and nobody
// sees a page that failed.
func TestConcurrentVisits(t *testing.T) {
	t.Parallel()
	v := visit(t, "home", nil)
	v.keeps(t, "/write/lot", q("name", "Gamay", "colour", "red", "malolactic", "open", "units", "metric"))
	v.keeps(t, "/write/vessel", q("vessel", "c1", "type", "carboy", "size", "23 L"))
	v.keeps(t, "/write/fill", q("lot", "gamay", "vessel", "c1", "volume", "22 L", "day", "2026-11-25", "hour", "19:00"))
	before := len(v.entries(t))
	const people, lines = 4, 5
	var wg sync.WaitGroup
	for p := range people {
		wg.Go(func() {
			for n := range lines {
				words := fmt.Sprintf("line %d of person %d", n, p)
				text := "note c1 " + words
				asked := v.post("/log", q("line", text))
				if kept := v.post("/log", q("line", text, "seen", seen(asked))); kept.Code != http.StatusSeeOther {
					t.Errorf("%q: %d", text, kept.Code)
				}
				if page := v.get("/lots/gamay"); page.Code != 200 || !strings.Contains(page.Body, words) {
					t.Errorf("%q is not on the page: %d", words, page.Code)
				}
				if page := v.get("/"); page.Code != 200 {
					t.Errorf("today: %d", page.Code)
				}
			}
		})
	}
	wg.Wait()
	if n := len(v.entries(t)) - before; n != people*lines {
		t.Errorf("%d lines kept, want %d", n, people*lines)
	}
}

// ticking serves a cellar whose beliefs are all there, by a clock that the caller holds.
func ticking(b *testing.B, entries []cellar.Entry, now *time.Time) *Server {
	b.Helper()
	book := ledger.NewMemory()
	if _, err := book.Append(context.Background(), entries); err != nil {
		b.Fatal(err)
	}
	s, err := New(Config{Desk: desk.New(book, demo.Key, desk.Options{Zone: evening.Location()}), Ledger: book, Cellar: demo.Key, Title: "Elder Hollow", Invent: true,
		Clock: func() time.Time { return *now }, Zone: evening.Location(), Pen: cellar.Pen{Cellar: demo.Key}})
	if err != nil {
		b.Fatal(err)
	}
	s.Warm(context.Background())
	return s
}

// Server time of the cellar's page with the river of forty lots over three harvests,
// within one minute and with the clock moving on.
func BenchmarkRiver(b *testing.B) {
	entries, err := demo.Vintages(evening, 40)
	if err != nil {
		b.Fatal(err)
	}
	now := evening
	s := ticking(b, entries, &now)
	for _, of := range []struct{ name, path string }{{"year", "/cellar?span=year"}, {"season", "/cellar?span=season"}, {"one wine", "/cellar?of=w4-2025"}} {
		for _, tick := range []time.Duration{0, time.Minute} {
			b.Run(fmt.Sprintf("%s, %v later", of.name, tick), func(b *testing.B) {
				var size int
				for b.Loop() {
					now = now.Add(tick)
					w := httptest.NewRecorder()
					s.ServeHTTP(w, httptest.NewRequest("GET", of.path, nil))
					if w.Code != http.StatusOK {
						b.Fatal(w.Code)
					}
					size = w.Body.Len()
				}
				b.ReportMetric(float64(size)/1e3, "kB")
			})
		}
	}
}

// Server time of the pages with forty lots: within one minute, and with the clock
// moving on, when the plan is made anew.
func BenchmarkPages(b *testing.B) {
	entries, err := demo.Repeated(evening, 40)
	if err != nil {
		b.Fatal(err)
	}
	now := evening
	s := ticking(b, entries, &now)
	for _, page := range []struct{ name, path string }{{"Today", "/"}, {"Lot", "/lots/syrah"}, {"Lot of three vessels", "/lots/zweigelt"}, {"Cellar", "/cellar"}, {"API today", "/api/v1/today"}} {
		for _, tick := range []time.Duration{0, time.Minute} {
			name := page.name + ", same minute"
			if tick > 0 {
				name = page.name + ", next minute"
			}
			b.Run(name, func(b *testing.B) {
				var size int
				for n := 0; b.Loop(); n++ {
					now = evening.Add(time.Duration(1+n%2) * tick)
					w := httptest.NewRecorder()
					s.ServeHTTP(w, httptest.NewRequest("GET", page.path, nil))
					if w.Code != 200 || w.Header().Get("Refresh") != "" {
						b.Fatal(w.Code, w.Header())
					}
					size = w.Body.Len()
				}
				b.ReportMetric(float64(size)/1024, "KiB/page")
			})
		}
	}
}
