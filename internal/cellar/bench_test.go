package cellar

import (
	"fmt"
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

// One more reading, written now, and the state that follows.
func BenchmarkBook(b *testing.B) {
	for _, n := range []int{1_000, 10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			q := season(b, n)
			var book Book
			book.Add(q.entries...)
			e := q.do(Reading{Vessel: "c1", What: ReadPH, Value: M("3.47", "pH")})[0]
			i := 0
			for b.Loop() {
				i++
				e.ID = ID(fmt.Sprintf("01ffffff-0000-7000-8000-%012x", i))
				book.Add(e)
				book.State(Options{Now: q.now})
			}
		})
	}
}
