package serve

import (
	"bytes"
	"encoding/json"
	"log/slog"
	"net/http/httptest"
	"testing"
	"time"

	"elevage/internal/bench"
	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/ledger"
)

func emptyServer(tb testing.TB) *Server {
	tb.Helper()
	book := ledger.NewMemory()
	s, err := New(Config{Desk: desk.New(book, "test", desk.Options{}), Ledger: book, Cellar: "test", Clock: func() time.Time { return noon },
		Zone: time.UTC, Pen: cellar.Pen{Cellar: "test"}, Log: slog.New(slog.DiscardHandler)})
	if err != nil {
		tb.Fatal(err)
	}
	return s
}

func exampleOf(tb testing.TB, c *bench.Calculator) []byte {
	tb.Helper()
	given, err := bench.ParseArgs(c.Example)
	if err != nil {
		tb.Fatal(err)
	}
	raw, err := json.Marshal(given)
	if err != nil {
		tb.Fatal(err)
	}
	return raw
}

// The page, the API and the bench itself must give one figure.
func TestCalculatorsThroughTheAPI(t *testing.T) {
	s := emptyServer(t)
	for _, c := range bench.All() {
		t.Run(c.Name, func(t *testing.T) {
			raw := exampleOf(t, c)
			r := httptest.NewRequest("POST", "/api/v1/bench/"+c.Name, bytes.NewReader(raw))
			r.Header.Set("Content-Type", "application/json")
			w := httptest.NewRecorder()
			s.ServeHTTP(w, r)
			if w.Code != 200 {
				t.Fatalf("%d: %s", w.Code, w.Body)
			}
			given, err := bench.ParseArgs(c.Example)
			if err != nil {
				t.Fatal(err)
			}
			res, err := c.Run(given)
			if err != nil {
				t.Fatal(err)
			}
			want, err := json.Marshal(res)
			if err != nil {
				t.Fatal(err)
			}
			var a, b any
			if json.Unmarshal(w.Body.Bytes(), &a) != nil || json.Unmarshal(want, &b) != nil {
				t.Fatalf("not JSON: %s", w.Body)
			}
			x, _ := json.Marshal(a) //nolint:errcheck // just unmarshalled
			y, _ := json.Marshal(b) //nolint:errcheck // as above
			if !bytes.Equal(x, y) {
				t.Errorf("API %s\nbench %s", x, y)
			}
		})
	}
}

func BenchmarkCalculatorsThroughTheAPI(b *testing.B) {
	s := emptyServer(b)
	for _, c := range bench.All() {
		raw := exampleOf(b, c)
		b.Run(c.Name, func(b *testing.B) {
			for b.Loop() {
				r := httptest.NewRequest("POST", "/api/v1/bench/"+c.Name, bytes.NewReader(raw))
				r.Header.Set("Content-Type", "application/json")
				w := httptest.NewRecorder()
				s.ServeHTTP(w, r)
				if w.Code != 200 {
					b.Fatal(w.Body)
				}
			}
		})
	}
}
