package serve

import (
	"context"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"elevage/internal/cellar"
)

// A meter's page has its settings, what each check says at the pH of wine, its drift, and
// what a check buys.
func TestMetersPage(t *testing.T) {
	t.Parallel()
	v := visit(t, "home", nil)
	v.get("/meters").shows(t, "No pH meter was named yet", "What a check before reading buys")
	keep := func(day int, bodies ...cellar.Body) {
		t.Helper()
		at := time.Date(2026, time.November, day, 18, 0, 0, 0, evening.Location())
		for _, b := range bodies {
			if _, err := v.keep(context.Background(), at, cellar.Draft{Happened: cellar.At(at), Body: b}); err != nil {
				t.Fatal(err)
			}
		}
	}
	keep(1, cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"}, cellar.Calibration{Instrument: "meter", Points: []string{"7.00", "4.01"}, Slope: cellar.M("97", "%"), Offset: cellar.M("-6", "mV"), Passed: "yes"})
	page := v.get("/meters")
	page.shows(t, "Last calibrated 1 Nov", "97 %", "−6 mV", "Never checked on record")
	for i, read := range []string{"3.56", "3.58", "3.60"} { // 0.02 a week; at 25 °C it should read 3.557 (Bates 1962)
		keep(2+7*i, cellar.PHCheck{Instrument: "meter", Buffer: "3.56", Of: "cream-of-tartar", Read: read})
	}
	page = v.get("/meters")
	page.shows(t, "3.56 as 3.60", "Since then it drifts by +0.019 a week (± 0.000), over 3 checked sessions in 14 days.", "Last checked 16 Nov")
	// By hand: a check that is right at 3.557 within hypot(0.02, 0.01) = 0.0224, against what is known of the
	// meter there, hypot(0.05, 0.02·3.443) = 0.0851: of 3.60 − 3.557 = 0.043 the share 0.0851²/(0.0851² + 0.0224²) = 0.935 is its error: +0.04.
	if !strings.Contains(page.text(), "3.56 as 3.60 +0.04 0.03") {
		t.Errorf("the last check says another: %s", page.text())
	}
	if strings.Contains(page.text(), "cannot be told yet") {
		t.Error("a drift over two weeks is not told")
	}
}

// What a check buys, by hand: unchecked hypot(0.05, 0.02·3.5, 0.02) = 0.0883; a cream of
// tartar leaves about hypot(0.0224·0.0851/0.0880, 0.02) = 0.0296 of it.
func TestCheckWorth(t *testing.T) {
	t.Parallel()
	worth, err := checkWorth()
	if err != nil {
		t.Fatal(err)
	}
	want := map[string]float64{"nothing": 0.0883, "cream of tartar": 0.0296}
	last := math.Inf(1)
	for _, row := range worth.Rows {
		sd, err := strconv.ParseFloat(row[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		if by, ok := want[row[0]]; ok {
			if math.Abs(sd-by) > 0.0006 {
				t.Errorf("%s: ± %v, by hand %v", row[0], sd, by)
			}
			delete(want, row[0])
		}
		if row[0] != "cream of tartar" && row[0] != "7.00 and cream of tartar" && sd > last {
			t.Errorf("another buffer makes it worse: %q", worth.Rows)
		}
		last = sd
	}
	if len(want) > 0 {
		t.Errorf("missing %v", want)
	}
}
