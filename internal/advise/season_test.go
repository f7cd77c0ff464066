package advise

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"elevage/internal/bench"
	"elevage/internal/cellar"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/science/quantity"
)

var update = flag.Bool("update", false, "write the golden files anew")

// A vintage is an invented red lot as it truly goes, and a winemaker who does each
// evening what the plan says. Its figures are ordinary ones, from no
// source (120 kg, 24 °Brix, pH 3.55, TA 6.2 g/L, 105 L of must, 54 + 11 L of wine,
// bottled in month 14) for the easy lot, and unkind ones for the hard lot.
type vintage struct {
	*diary
	name string

	ph, ta, malic, brix float64 // of the must; TA in g/L as tartaric to pH 8.2
	so2AtEnd            float64 // total, mg/L, that a test finds when it is dry
	alcohol             float64
	cold                float64 // temperature of the wine after pressing until it is warmed
	lag, pace           float64 // days before conversion moves, g/L a day at 20 °C
	starter             bool    // it moves only once a starter went in

	warm     float64 // temperature held
	bacteria float64 // day on which they went in; −1 before
	left     float64 // malic acid, truth
	free     float64 // mg/L, truth
	bound    float64
	lines    []string
	prev     Today
	real     bool // believes as the program does, not by the stand-in
	malo     map[cellar.ParcelID]*track.Belief
	so2      map[cellar.ParcelID]*ageing.Belief
	gone     float64 // last day on which wine was moved
	ended    float64 // day on which the last malic acid went
}

func (v *vintage) day() float64 { return math.Round(v.now.Sub(day0).Hours() / 24) }

// density is that of the ferment: two days of lag, then down to 0.994 in eight.
func (v *vintage) density() float64 {
	og := 1.101
	x := math.Min(1, math.Max(0, (v.day()-2.5)/7))
	return og - (og-0.994)*math.Pow(x, 0.8)
}

// answer is what a test of the true wine gives, as a person would write it.
func (v *vintage) answer(what string) (value, unit string) {
	f := func(x float64, d int) string { return strconv.FormatFloat(x, 'f', d, 64) }
	gone := v.malic - v.left
	switch what {
	case cellar.ReadPH:
		return f(v.ph+0.06*gone, 2), "pH"
	case cellar.ReadTA:
		return f(v.ta-0.56*gone, 1), "g/L"
	case cellar.ReadDensity:
		return f(v.density(), 4), "SG"
	case cellar.ReadTemperature:
		return f(v.temperature(), 0), "°C"
	case cellar.ReadSugar:
		return "0.6", "g/L"
	case cellar.ReadYAN:
		return "150", "mg/L"
	case cellar.ReadChromatogram:
		switch {
		case v.left > 0.6:
			return "strong", ""
		case v.left > 0.1:
			return "faint", ""
		}
		return "none", ""
	case cellar.ReadMalic:
		if v.left < 0.05 {
			return "<0.05", "g/L"
		}
		return f(v.left, 2), "g/L"
	case cellar.ReadFreeSO2:
		return f(v.free, 0), "mg/L"
	case cellar.ReadTotalSO2:
		return f(v.free+v.bound, 0), "mg/L"
	case cellar.ReadVA:
		return "0.45", "g/L"
	case cellar.ReadAlcohol:
		return f(v.alcohol, 1), "% vol"
	}
	return "", ""
}

func (v *vintage) temperature() float64 {
	switch {
	case v.warm > 0:
		return v.warm
	case v.day() < 10:
		return 24
	}
	return v.cold
}

// pass lets a day go by in the wine.
func (v *vintage) pass() {
	v.on(v.day() + 1)
	if v.bacteria >= 0 && v.day() > v.bacteria+v.lag && v.left > 0 {
		speed := math.Max(0, (v.temperature()-8)/12)
		v.left = math.Max(0, v.left-v.pace*speed)
		v.ended = v.day()
	}
	if v.free > 0 {
		loss := math.Min(v.free, 0.05)
		v.free -= loss
	}
	if v.day() == 10 {
		v.bound += v.so2AtEnd // what yeast made and crush left
	}
}

// believe is a stand-in for the two beliefs, made of the truth and of what was
// read, so that the golden files tell of protocols and not of a model's last digit.
func (v *vintage) believe(s *cellar.State) (map[cellar.ParcelID]*track.Belief, map[cellar.ParcelID]*ageing.Belief) {
	malo, so2 := map[cellar.ParcelID]*track.Belief{}, map[cellar.ParcelID]*ageing.Belief{}
	for _, p := range s.Parcels.All() {
		if p.Ended() || p.Form != cellar.FormWine {
			continue
		}
		l := newLife(s, p)
		if !l.bacteria.IsZero() {
			malo[p.ID] = v.conversionBelief(l)
		}
		if !l.sulfited.IsZero() && !l.mlFinished.IsZero() {
			so2[p.ID] = v.sulfiteBelief(l)
		}
	}
	return malo, so2
}

func (v *vintage) conversionBelief(l *life) *track.Belief {
	days := v.left / (v.pace * math.Max(0.05, (v.temperature()-8)/12))
	wait := math.Max(0, v.bacteria+v.lag-v.day())
	end := v.day() + wait + days
	if v.left == 0 {
		end = v.ended
	}
	date := func(d float64) *track.Date {
		return &track.Date{Time: time.Date(2026, 9, 20, 0, 0, 0, 0, time.UTC).AddDate(0, 0, int(math.Round(d)))}
	}
	b := &track.Belief{Malic: track.Spread[quantity.Concentration]{Q05: quantity.Concentration(v.left * 0.7), Q50: quantity.Concentration(v.left), Q95: quantity.Concentration(v.left*1.3 + 0.1)}}
	b.Finish = track.Finish{Q05: date(end - 6), Q50: date(end), Q95: date(end + 14)}
	b.Decision = track.Decision{Call: track.CallNotYet, Reason: "malic acid is still there"}
	b.State = track.State{Active: 1}
	if days > 200 || v.starter && l.bacteriaHow != "starter" && v.day()-v.bacteria > 40 {
		b.State = track.State{Stalled: 0.7, Active: 0.3}
		b.Decision = track.Decision{Call: track.CallStalled, Reason: "nothing has moved for weeks"}
	}
	clear := 0
	for _, k := range l.looks[cellar.ReadChromatogram] {
		if k.word == "none" {
			clear++
		}
	}
	b.NextTest = track.NextTest{What: "chromatogram", On: date(math.Max(v.day(), end+4)), Reason: "A chromatogram a few days after the likely end settles it; before that it would show malic acid and tell nothing new."}
	if clear > 0 {
		b.NextTest = track.NextTest{What: "malic", On: date(v.day()), Reason: "The paper is clear; one measured malic acid says what paper cannot see."}
	}
	if k := l.last(cellar.ReadMalic); k != nil && k.value <= 0.1 {
		b.PFinished, b.State, b.Decision = 0.99, track.State{Finished: 0.99}, track.Decision{Call: track.CallFinished, Reason: "paper clear, then malic acid under 0.05 g/L", Carried: true}
		b.NextTest = track.NextTest{What: "none"}
	}
	return b
}

func (v *vintage) sulfiteBelief(l *life) *ageing.Belief {
	mg := func(x float64) quantity.Concentration { return quantity.Concentration(x) * quantity.MilligramPerLitre }
	floor := 0.5 * (1 + math.Pow(10, v.ph+0.06*v.malic-1.81))
	share := 1 / (1 + math.Pow(10, v.ph+0.06*v.malic-1.81))
	b := &ageing.Belief{At: v.now, Floor: mg(0.5), Risk: 0.2, Rule: "handbook"}
	b.Free = quantity.Interval[quantity.Concentration]{Q05: mg(v.free - 4), Q50: mg(v.free), Q95: mg(v.free + 4)}
	b.Molecular = quantity.Interval[quantity.Concentration]{Q05: mg((v.free - 4) * share), Q50: mg(v.free * share), Q95: mg((v.free + 4) * share)}
	b.FloorFree = quantity.Interval[quantity.Concentration]{Q50: mg(floor)}
	for range l.looks[cellar.ReadFreeSO2] {
		b.Looks = append(b.Looks, ageing.Look{})
	}
	b.Below = 1 / (1 + math.Exp((v.free-floor)/2))
	until := func(level float64) *time.Time {
		days := math.Max(0, (v.free-level)/0.05)
		if days > 365 {
			return nil
		}
		t := v.now.AddDate(0, 0, int(days))
		return &t
	}
	b.MeasureBy, b.FallsUnder.Q50 = until(floor+3), until(floor)
	b.Dose = ageing.LastingDose{Until: v.now.AddDate(0, 3, 0), Share: 0.7}
	if need := floor + 2 + 0.05*91 - v.free; need > 1 {
		b.Dose.SO2 = mg(need / 0.7)
	}
	return b
}

// follow does what an act says, as far as a person would, and writes it down.
func (v *vintage) follow(a Act) {
	defer v.do(a.Done)
	switch b := a.Entry.(type) {
	case cellar.Reading:
		value, unit := v.answer(b.What)
		b.Value = cellar.M(value, unit)
		if b.What == cellar.ReadTA {
			b.As, b.EndPoint = "tartaric", "8.2"
		}
		v.do(b)
		if b.What == cellar.ReadPH || b.What == cellar.ReadDensity {
			t, unit := v.answer(cellar.ReadTemperature)
			v.do(cellar.Reading{Vessel: b.Vessel, What: cellar.ReadTemperature, Value: cellar.M(t, unit)})
		}
		return
	case cellar.Addition:
		v.do(b)
		p, _ := cellar.LookupProduct(b.Product)
		if p.SO2 > 0 && b.Vessel != "c1" && b.Vessel != "c2" { // the small vessel goes as the large one does
			m, err := b.SO2(quantity.Volume(54))
			if err != nil {
				v.t.Fatal(err)
			}
			dose := 1000 * float64(m) / a.entryVolume()
			if v.day() < 2 {
				v.bound += dose * 0.3 // most of a dose at crush is bound and lost
			} else {
				v.free, v.bound = v.free+0.5*dose, v.bound+0.5*dose
			}
		}
		return
	case cellar.Press:
		b.To = []cellar.Portion{{Vessel: "d1", Volume: cellar.M("54", "L")}, {Vessel: "c1", Volume: cellar.M("11", "L")}}
		v.gone = v.day()
		v.do(b)
		return
	case cellar.Movement:
		v.gone = v.day()
		v.moved(b)
		return
	case cellar.Inoculation:
		b.Amount = nil
		v.do(b)
		if b.Of == "malolactic" && (v.bacteria < 0 || b.How == "starter") {
			v.bacteria = v.day()
			if v.starter && b.How != "starter" {
				v.bacteria = 1e6
			}
		}
		return
	case cellar.Warmth:
		v.do(b)
		t, err := b.Set.Temperature()
		if err != nil {
			v.t.Fatal(err)
		}
		v.warm = float64(t)
		return
	case cellar.LotStarted:
		if a.Step == "plan-bottling" {
			b.Tags = append(b.Tags, "bottling-"+day0.AddDate(0, 14, 0).Format(time.DateOnly))
			v.do(b)
		}
		return
	case cellar.Bottling:
		b.Slug, b.Count, b.Closure = b.From[0].Vessel+"-bottles", int(54/0.75), "cork"
		if b.From[0].Vessel == "c1" || b.From[0].Vessel == "c2" {
			b.Count = 14
		}
		v.gone = v.day()
		v.do(b)
		return
	case cellar.Tasting:
		b.Words = "clean"
		v.do(b)
	case cellar.PHCheck:
		b.Buffer, b.Read = "7.00", "7.01"
		v.do(b)
		return
	case cellar.Note:
		b.Words += "stable"
		v.do(b)
	case nil:
	default:
		v.do(b)
	}
}

// moved racks into the empty vessel of the same size and makes the loss good from
// the smaller vessel, as the example does.
func (v *vintage) moved(b cellar.Movement) {
	twin := map[string]string{"d1": "d2", "d2": "d1", "c1": "c2", "c2": "c1"}
	if b.How == "topping" {
		from := "c1"
		if v.state().In("c1") == nil {
			from = "c2"
		}
		if strings.HasPrefix(b.To[0].Vessel, "c") {
			v.do(cellar.Note{Vessel: b.To[0].Vessel, Words: "glass beads in"}, cellar.Treatment{Vessel: b.To[0].Vessel, What: "topping-gas"})
			return
		}
		b.From = []cellar.Portion{{Vessel: from, Volume: b.To[0].Volume}}
		v.do(b)
		return
	}
	from := b.From[0].Vessel
	held, _ := v.state().In(from).VolumeAt(v.now)
	b.To = []cellar.Portion{{Vessel: twin[from], Volume: cellar.M(strconv.FormatFloat(float64(held)-0.4, 'f', 1, 64), "L")}}
	v.do(b)
}

// entryVolume is the wine that an addition was reckoned for.
func (a Act) entryVolume() float64 {
	b, ok := a.Entry.(cellar.Addition)
	if !ok || b.For.IsZero() {
		return 1
	}
	x, err := b.For.Number()
	if err != nil {
		return 1
	}
	return x
}

// live goes through the season day by day.
func (v *vintage) live(t *testing.T, until float64) {
	for v.day() <= until {
		day := v.day()
		s := v.state()
		malo, so2 := v.believe(s)
		if v.real {
			if int(day)%3 == 0 || v.malo == nil {
				v.malo, v.so2 = believed(t, s, v.now)
			}
			malo, so2 = v.malo, v.so2
		}
		plan, err := Plan(Input{State: s, Now: v.now, Beliefs: malo, Ageing: so2, Previous: &v.prev})
		if err != nil {
			t.Fatal(err)
		}
		v.prev = plan
		sweep(t, plan)
		if os.Getenv("EXPLAIN") == fmt.Sprint(day) {
			e, err := Explain(Input{State: s, Now: v.now, Beliefs: malo, Ageing: so2, Previous: &v.prev}, "hill-26")
			fmt.Println(e.Text(), err)
		}
		for _, a := range plan.With(Due) {
			checkAmount(t, a)
			if a.Class == ClassSulfite && day > 2 && v.left > 0 {
				t.Errorf("day %v: sulfur dioxide with %.2f g/L of malic acid left", day, v.left)
			}
			v.note(day, a)
		}
		for _, a := range plan.With(Waiting) {
			if line := fmt.Sprintf("waiting: %s %s on %s", a.Vessel, a.Do, strings.Join(a.WaitingOn, "; ")); !slices.Contains(v.lines, line) {
				v.lines = append(v.lines, line)
			}
		}
		for _, h := range plan.Held {
			v.lines = append(v.lines, fmt.Sprintf("day %3.0f  held back: %s %s: %s", day, h.Vessel, h.Act, h.Reason))
		}
		for _, a := range plan.With(Due) {
			if a.Parcel != "" && v.emptied(a.Vessel) {
				continue // pressed or racked away earlier tonight
			}
			v.follow(a)
		}
		v.on(day)
		v.pass()
	}
}

// emptied says whether wine left the vessel earlier tonight: it is empty now.
func (v *vintage) emptied(vessel string) bool {
	if v.gone != v.day() {
		return false
	}
	return v.state().In(vessel) == nil
}

// note writes a line of the golden file; the daily round of cap and density is left
// to the days on which it changes.
func (v *vintage) note(day float64, a Act) {
	amount := ""
	if a.Amount != "" {
		amount = "  " + a.Amount + " " + a.Unit
		if a.Tool != "" {
			amount += " (" + a.Tool + ")"
		}
	}
	where := a.Vessel
	if where == "" {
		where = a.Instrument
	}
	if where == "" {
		where = "cellar"
	}
	to := ""
	if a.To != nil {
		to = fmt.Sprintf(" by day %.0f", dayNumber(a.To.Time)-dayNumber(day0))
	}
	line := fmt.Sprintf("%-7s %-9s %s%s", where, a.Class, a.Do, amount)
	if a.Class == ClassCap || a.Step == "read-density" || a.Step == "air-the-room" || a.Step == "check-meter" {
		v.daily(day, line)
		return
	}
	v.lines = append(v.lines, fmt.Sprintf("day %3.0f  %s%s", day, line, to))
}

// daily gathers what comes back every day into one line with its days.
func (v *vintage) daily(day float64, line string) {
	for i, l := range v.lines {
		if strings.HasSuffix(l, "  "+line) {
			v.lines[i] = fmt.Sprintf("%s,%.0f  %s", strings.TrimSuffix(l, "  "+line), day, line)
			return
		}
	}
	v.lines = append(v.lines, fmt.Sprintf("days %.0f  %s", day, line))
}

// checkAmount asks the bench again: the plan's amount must be the bench's, to the
// last digit that the bench gives.
func checkAmount(t *testing.T, a Act) {
	t.Helper()
	if a.Working == nil {
		return
	}
	c, err := bench.Find(a.Working.Calculator)
	if err != nil {
		t.Fatal(err)
	}
	r, err := c.Run(a.Working.Given)
	if err != nil {
		t.Fatalf("%s: the bench refuses what the plan gave it: %v", a.ID, err)
	}
	key, column, cell := strings.Cut(a.Working.Take, "/")
	f, ok := r.Figure(key)
	if !ok {
		t.Fatalf("%s: the bench gives no %s", a.ID, key)
	}
	if !cell {
		if !measuredOut(a, f.Number, f.Decimals) {
			t.Errorf("%s: the plan says %s %s, the bench %v", a.ID, a.Amount, a.Unit, f.Number)
		}
		return
	}
	for _, row := range f.Rows {
		for _, col := range f.Columns {
			if n, ok := row[column].(float64); ok && col.Key == column && measuredOut(a, n, col.Decimals) {
				return
			}
		}
	}
	t.Errorf("%s: no row of %s has %s", a.ID, a.Working.Take, a.Amount)
}

// measuredOut says whether an act's amount is the bench's figure as a hand can measure it
// out: no digit that the tools of these cellars (a scale of 0.1 g; syringes and cylinders,
// ISO 4788) do not have, and not more than 2.5 % off for it.
func measuredOut(a Act, bench float64, decimals int) bool {
	shown, err := strconv.ParseFloat(a.Amount, 64)
	_, fraction, _ := strings.Cut(a.Amount, ".")
	most := decimals
	switch {
	case a.Unit == "g" && bench >= 1:
		most = 1
	case a.Unit == "mL" && bench >= 25:
		most = 0
	case a.Unit == "mL" && bench >= 1:
		most = 1
	}
	return err == nil && len(fraction) <= most && math.Abs(shown-bench) <= 0.025*bench+0.5*math.Pow(10, -float64(decimals))
}

// What can be measured out, by the divisions of a scale and of measuring cylinders (ISO
// 4788, from memory); what is too little for them keeps its digits and says so.
func TestAmountsCanBeMeasured(t *testing.T) {
	t.Parallel()
	p := &plan{scaleStep: 0.1}
	for _, c := range []struct {
		value      float64
		unit, text string
		want, says string
	}{
		{2.342, "g", "2.34", "2.3", ""}, {21.01, "g", "21.01", "21.0", ""}, {0.72, "g", "0.72", "0.72", "on a finer scale than the one of 0.1 g"},
		{14, "mL", "14.00", "14", ""}, {13.4, "mL", "13.4", "13.5", ""}, {65.85, "mL", "65.85", "66", ""}, {4.62, "mL", "4.62", "4.6", ""}, {0.93, "mL", "0.9", "0.9", ""},
		{0.54, "L", "0.54", "0.54", ""}, {33, "", "33", "33", ""},
	} {
		r := reckoned{value: c.value, unit: c.unit, text: c.text, working: &Working{}}
		if got, says := p.measurable(r), p.tool(r); got != c.want || says != c.says {
			t.Errorf("%v %s is measured out as %s %s, %q: want %s, %q", c.value, c.unit, got, c.unit, says, c.want, c.says)
		}
	}
	p.scaleStep = 0.01
	if r := (reckoned{value: 2.342, unit: "g", text: "2.34", working: &Working{}}); p.measurable(r) != "2.34" || p.tool(r) != "" {
		t.Errorf("on a scale of 0.01 g: %s %s", p.measurable(r), p.tool(r))
	}
}

func newVintage(t *testing.T, name string) *vintage {
	v := &vintage{diary: newDiary(t), name: name, bacteria: -1, ph: 3.55, ta: 6.2, malic: 2.0, brix: 24, so2AtEnd: 8, cold: 18, lag: 6, pace: 0.09, alcohol: 13.6}
	v.left = v.malic
	vessel := func(slug, kind, size string, walk int) cellar.VesselNamed {
		return cellar.VesselNamed{Slug: slug, Type: kind, Size: cellar.M(size, "L"), Walk: walk}
	}
	v.do(vessel("bin1", "bin", "200", 1), vessel("d1", "demijohn", "54.4", 2), vessel("c1", "carboy", "11.2", 3), vessel("d2", "demijohn", "54.4", 4), vessel("c2", "carboy", "11.2", 5),
		cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"}, cellar.PHCheck{Instrument: "meter", Buffer: "7.00", Read: "7.00"},
		cellar.Purchase{Product: "malolactic-culture", Amount: cellar.M("2.5", "g"), Treats: cellar.M("250", "L")},
		cellar.Purchase{Product: "potassium-metabisulfite", Amount: cellar.M("250", "g")},
		cellar.LotStarted{Slug: "hill-26", Name: "Hill 2026", Colour: "red", Malolactic: cellar.MalolacticWanted},
		cellar.FruitReceived{Lot: "hill-26", Weight: cellar.M("120", "kg")},
		cellar.Crush{Lot: "hill-26", To: []cellar.Portion{{Vessel: "bin1", Volume: cellar.M("105", "L")}}})
	return v
}

func TestCalendarOfARedLot(t *testing.T) {
	for name, set := range map[string]func(*vintage){
		"easy": func(*vintage) {},
		"hard": func(v *vintage) {
			v.ph, v.ta, v.malic, v.so2AtEnd, v.cold, v.lag, v.pace, v.starter = 3.05, 8.9, 3.4, 30, 13, 14, 0.06, true
			v.left = v.malic
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			v := newVintage(t, name)
			set(v)
			v.live(t, 480)
			got := strings.Join(v.lines, "\n") + "\n"
			path := filepath.Join("testdata", "red-lot-"+name+".golden")
			if *update {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("the calendar differs from %s; look at the difference, then -update", path)
			}
		})
	}
}

// A season with the program's own beliefs: nobody hands the plan the truth. The lot is
// declared finished only when it is, within weeks of the end, and gets its sulfur
// dioxide only after.
func TestSeasonWithOwnBeliefs(t *testing.T) {
	if testing.Short() {
		t.Skip("a season with the program's own beliefs takes a few seconds")
	}
	t.Parallel()
	v := newVintage(t, "own beliefs")
	v.real = true
	v.live(t, 110)
	declared, dosed := -1.0, -1.0
	for _, l := range v.lines {
		if strings.Contains(l, " d2 ") || strings.Contains(l, " d1 ") {
			var day float64
			if _, err := fmt.Sscanf(l, "day %f", &day); err != nil {
				continue
			}
			if strings.Contains(l, "declare malolactic fermentation finished") && declared < 0 {
				declared = day
			}
			if strings.Contains(l, "the first dose") && dosed < 0 {
				dosed = day
			}
		}
	}
	if declared < v.ended || declared > v.ended+35 || dosed < declared {
		t.Errorf("malic acid was gone on day %.0f, declared on %.0f, dosed on %.0f\n%s", v.ended, declared, dosed, strings.Join(v.lines, "\n"))
	}
	t.Logf("malic acid was gone on day %.0f, declared on %.0f, dosed on %.0f", v.ended, declared, dosed)
}
