package ageing_test

import (
	"encoding/json"
	"testing"
	"time"

	"elevage/internal/track/ageing"
	science "elevage/science/ageing"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

const mg = quantity.MilligramPerLitre

func date(y int, m time.Month, d int) time.Time { return time.Date(y, m, d, 9, 0, 0, 0, time.UTC) }

func carboy() ageing.Input {
	aim, _ := sulfite.Handbook.Target(0.5 * mg)
	kmbs, _ := sulfite.Powder(sulfite.PotassiumMetabisulfite, 1)
	return ageing.Input{
		Vessel: science.Glass, Volume: 23, PH: 3.55, Alcohol: 13, Red: true,
		Doses: []ageing.Dose{{ID: "d1", At: date(2025, 11, 3), SO2: 60 * mg}},
		Readings: []ageing.Reading{
			{ID: "r1", At: date(2025, 11, 6), Of: ageing.Free, Method: ageing.Aspiration, Value: 36 * mg},
			{ID: "r2", At: date(2025, 12, 10), Of: ageing.Free, Method: ageing.Aspiration, Value: 33 * mg},
		},
		At: date(2026, 1, 10), Floor: aim, Until: date(2026, 6, 1), Product: &kmbs,
	}
}

func believe(t *testing.T, in ageing.Input) ageing.Belief {
	t.Helper()
	b, err := ageing.Believe(in)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func TestSameDataSameBelief(t *testing.T) {
	t.Parallel()
	a, _ := json.Marshal(believe(t, carboy()))
	b, _ := json.Marshal(believe(t, carboy()))
	if string(a) != string(b) {
		t.Error("two runs over the same input differ")
	}
}

func TestWildReadingIsFlaggedAndHardlyMovesTheBelief(t *testing.T) {
	t.Parallel()
	calm := believe(t, carboy())
	in := carboy()
	in.Readings = append(in.Readings, ageing.Reading{ID: "swapped", At: date(2026, 1, 8), Of: ageing.Free, Method: ageing.Aspiration, Value: 92 * mg})
	b := believe(t, in)
	if moved := b.Free.Q50 - calm.Free.Q50; moved > 2*mg || moved < -2*mg {
		t.Errorf("free moved by %.1f mg/L on an absurd reading", moved.MgPerL())
	}
	found := false
	for _, f := range b.Flags {
		found = found || f.Code == "absurd-reading" && f.Entry == "swapped"
	}
	if !found {
		t.Errorf("no flag on the reading of 92: %+v", b.Flags)
	}
}

func TestIodineInRedsIsTakenDown(t *testing.T) {
	t.Parallel()
	red := carboy()
	for i := range red.Readings {
		red.Readings[i].Method = ageing.Iodine
	}
	white := red
	white.Red = false
	r, w := believe(t, red), believe(t, white)
	if r.Free.Q50 >= w.Free.Q50-1.5*mg {
		t.Errorf("red %.1f, white %.1f mg/L: the same iodine readings should mean less in a red", r.Free.Q50.MgPerL(), w.Free.Q50.MgPerL())
	}
}

func BenchmarkBelief(b *testing.B) {
	in := carboy()
	for b.Loop() {
		if _, err := ageing.Believe(in); err != nil {
			b.Fatal(err)
		}
	}
}
