package cellar

import (
	"fmt"
	"runtime"
	"strings"
	"testing"
)

// season writes about n entries as small cellars have them: a lot is filled into
// three vessels, read for weeks, dosed, topped, racked, and the next one begins.
func season(t testing.TB, n int) *quill {
	q := newQuill(t)
	for v := range 40 {
		q.do(VesselNamed{Slug: fmt.Sprintf("c%d", v), Type: "carboy", Size: M("60", "L")})
	}
	for lot := 0; len(q.entries) < n; lot++ {
		slug := fmt.Sprintf("lot-%d", lot)
		q.do(LotStarted{Slug: slug, Colour: "red"})
		at := func(k int) string { return fmt.Sprintf("c%d", (lot*4+k)%40) }
		q.do(Movement{How: "filling", Lot: slug, To: []Portion{{Vessel: at(0), Volume: M("54", "L")}}})
		q.do(Movement{How: "splitting", From: []Portion{{Vessel: at(0)}}, To: []Portion{{Vessel: at(1), Volume: M("27.0", "L")}, {Vessel: at(2), Volume: M("27.0", "L")}}})
		for k := range 60 {
			q.days(0.5)
			v := at(1 + k%2)
			switch k % 6 {
			case 0:
				q.do(PHCheck{Buffer: "7.00", Read: "7.02"})
			case 1, 2:
				q.do(Reading{Vessel: v, What: ReadPH, Value: M(fmt.Sprintf("3.%d", 40+k/2), "pH"), Instrument: "meter"})
			case 3:
				q.do(Reading{Vessel: v, What: ReadTA, Value: M("6.1", "g/L"), As: "tartaric", EndPoint: "8.2"})
			case 4:
				q.do(Stirring{Vessel: v, What: "lees"})
			case 5:
				q.do(Addition{Vessel: v, Product: "potassium-metabisulfite", Amount: M("0.8", "g")})
			}
		}
		q.do(Movement{How: "racking", From: []Portion{{Vessel: at(1)}, {Vessel: at(2)}}, To: []Portion{{Vessel: at(3), Volume: M("52", "L")}}, Rest: LossLees})
		q.do(Movement{How: "removal", From: []Portion{{Vessel: at(3), All: true}}})
	}
	q.entries = q.entries[:n]
	return q
}

func BenchmarkFold(b *testing.B) {
	for _, n := range []int{1_000, 10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			q := season(b, n)
			b.ReportAllocs()
			for b.Loop() {
				Fold(q.entries, Options{Now: q.now})
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/entry")
		})
	}
}

func BenchmarkLine(b *testing.B) {
	q := season(b, 1000)
	lines := make([][]byte, len(q.entries))
	for i := range q.entries {
		lines[i] = q.entries[i].AppendLine(nil)
	}
	b.Run("append", func(b *testing.B) {
		var buf []byte
		for i := 0; b.Loop(); i++ {
			buf = q.entries[i%1000].AppendLine(buf[:0])
		}
	})
	b.Run("parse", func(b *testing.B) {
		b.ReportAllocs()
		for i := 0; b.Loop(); i++ {
			if _, err := ParseLine(lines[i%1000]); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("digest", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			q.entries[i%1000].Digest()
		}
	})
}

// One entry more, at the end of books of different length: what it costs does not
// grow with the book.
func BenchmarkApplyOne(b *testing.B) {
	const more = 20_000
	for _, n := range []int{1_000, 10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			q := season(b, n+more)
			book, next := NewBook(q.now), len(q.entries)
			b.ReportAllocs()
			for b.Loop() {
				if next == len(q.entries) {
					b.StopTimer()
					book, next = NewBook(q.now), n
					book.Apply(q.entries[:n]...)
					runtime.GC()
					b.StartTimer()
				}
				book.Apply(q.entries[next])
				next++
			}
		})
	}
}

// Late truth in a book of 100,000 entries: a racking of two years ago or more is
// struck, so that its wine stays where it was; and a result comes in a month late.
func BenchmarkLate(b *testing.B) {
	const n = 100_000
	q := season(b, n)
	rackings := q.older(2*365, func(e *Entry) bool { return e.Kind == KindMovement && strings.Contains(string(e.Body), "racking") })
	readings := q.older(30, func(e *Entry) bool { return e.Kind == KindReading })
	b.Run("strike a racking two years old", func(b *testing.B) {
		late(b, q, rackings, func(e *Entry) Draft {
			return Draft{Happened: At(q.now), Body: Strike{Target: e.ID, Reason: "never was"}}
		})
	})
	b.Run("a result 30 days late", func(b *testing.B) {
		late(b, q, readings[:1000], func(e *Entry) Draft {
			body, err := e.Decode()
			if err != nil {
				b.Fatal(err)
			}
			r := body.(Reading)
			return Draft{Happened: e.Happened, Body: Reading{Vessel: r.Vessel, What: ReadVA, Value: M("0.41", "g/L"), Lab: "by post"}}
		})
	})
}

// late applies one draft for each of the entries to a book of all that are written.
func late(b *testing.B, q *quill, about []*Entry, draft func(*Entry) Draft) {
	var book *Book
	next, reckoned, applied := len(about), 0, 0
	for b.Loop() {
		if next == len(about) {
			b.StopTimer()
			book, next = NewBook(q.now), 0
			book.Apply(q.entries...)
			runtime.GC()
			b.StartTimer()
		}
		b.StopTimer()
		pen := Pen{Cellar: "test", Random: q.rng}
		es, err := pen.Write(q.now, draft(about[next]))
		if err != nil {
			b.Fatal(err)
		}
		b.StartTimer()
		reckoned += book.Apply(es...).Reckoned
		next, applied = next+1, applied+1
	}
	b.ReportMetric(float64(reckoned)/float64(applied), "reckoned/op")
}

// older are the entries of a kind that are at least so many days old, the latest first.
func (q *quill) older(days int, ok func(*Entry) bool) (out []*Entry) {
	before := q.now.AddDate(0, 0, -days)
	for i := len(q.entries) - 1; i >= 0; i-- {
		if e := &q.entries[i]; e.Happened.Time.Before(before) && ok(e) {
			out = append(out, e)
		}
	}
	return out
}
