package ui

import (
	"math"
	"time"

	"elevage/internal/chart"
)

// Everything here is invented: the cellar, its people, its lots and every number.

var sampleNow = time.Date(2026, 11, 12, 19, 20, 0, 0, time.UTC)

type galleryPage struct {
	name, template string
	page           Page
}

func ago(d float64) time.Time { return sampleNow.Add(-time.Duration(d * 24 * float64(time.Hour))) }

func samplePage(title, lead string, place Place, body any) Page {
	return Page{Title: title, Lead: lead, Place: place, Cellar: "Quince Lane", Now: sampleNow, Invent: true, Here: "/", Body: body}
}

func gallery() []galleryPage {
	lot := samplePage("Long Row red", "2026, in b2, c1 and the oak cask", Cellar, sampleLot())
	lot.Up = &Link{"Cellar", "/cellar"}
	lot.Log = &LogLine{Vessel: "b2", Value: "ph 3.47 b2", Understood: &Understood{Entries: []string{"Long Row red in b2: pH 3.47, read now with the pen meter."}, Seen: "x1"}}
	bench := samplePage("SO2 addition", "How much do I add?", Bench, sampleBench())
	bench.Log = &LogLine{Value: "ph 347 b2", Understood: &Understood{Problem: "A pH lies between 2.5 and 4.5; this says 347.", At: "347", Try: []string{"ph 3.47 b2"}}}
	stop := samplePage("Stopped", "", Cellar, sampleConfirm())
	card := samplePage("Card", "", Cellar, sampleCard())
	card.Card = "a6"
	return []galleryPage{
		{"today", "today", samplePage("Today", "Thursday 12 November", Today, sampleToday())},
		{"lot", "lot", lot},
		{"cellar", "cellar", samplePage("Cellar", "Eight lots, 412 L", Cellar, sampleCellar())},
		{"bench", "bench", bench},
		{"confirm", "confirm", stop},
		{"empty", "empty", samplePage("Cellar", "", Cellar, Empty{"No lot yet.", "A lot is one wine from one picking. Give it a name, say how much there is and where it stands; readings can follow.",
			[]Link{{"Start a lot", "/lots/new"}, {"Bring in a sheet of readings", "/import"}}})},
		{"card", "card", card},
		{"charts", "charts", samplePage("Charts", "Every drawing there is", Cellar, sampleCharts())},
		{"crowded", "charts", samplePage("Crowded", "More than there is room for", Cellar, sampleCrowd())},
	}
}

type todayView struct {
	Walk []Stop
	Back ComeBack
}

func sampleToday() todayView {
	lot := Link{"Long Row red", "/lots/1"}
	w := &Working{Formula: "grams = litres × (wanted − there) ÷ 1000 ÷ 0.5763 ÷ (1 − bound)", Inputs: []Figure{
		{Name: "volume", Value: 54, Spread: 0.5, Unit: "L", At: ago(9), Now: sampleNow, Source: "racked"},
		{Name: "free SO2", Value: 18, Spread: 4, Unit: "mg/L", At: ago(16), Now: sampleNow, Keeps: 14 * 24 * time.Hour, Source: "titration, Mira"},
		{Name: "pH", Value: 3.48, Spread: 0.02, Unit: "pH", At: ago(3), Now: sampleNow, Source: "pen meter, Mira"}},
		Steps:   []Step{{"wanted for 0.6 mg/L molecular at pH 3.48", "31 mg/L"}, {"54 × (31 − 18) ÷ 1000 ÷ 0.5763 ÷ 0.4", "3.1 g"}},
		Sources: []string{"OIV-MA-AS323-04C", "57.63 % SO2 by weight of the pure salt"}}
	return todayView{
		Walk: []Stop{
			{"Under the stairs", []Act{
				{ID: "1", Vessel: "b2", Lot: lot, Verb: "Add", Amount: "3.1", Unit: "g", Of: "potassium metabisulfite, dissolved in a glass of the wine", Urgency: Late, By: "by 10 Nov.", LateWhy: "It has stood bare two days.",
					Why:      "Malolactic is over, 19 in 20, and free SO2 has fallen to 18 ± 4 mg/L; at pH 3.48 it needs 31.",
					Cautions: []Notice{{Kind: Caution, Text: "The dust bites in the throat; who has asthma stays out. Open the door."}}, Working: w, Tick: &Link{"Tick", "/log/new?act=1"}},
				{ID: "2", Vessel: "c1", Lot: lot, Verb: "Stir", Of: "the lees, without splashing", Urgency: Due, By: "today", Why: "The bacteria lag; four days since the last time.", Tick: &Link{"Tick", "/log/new?act=2"}},
			}},
			{"Glass shelf", []Act{
				{ID: "3", Vessel: "d4", Lot: Link{"Orchard white", "/lots/2"}, Verb: "Top up", Amount: "0.75", Unit: "L", Of: "from the keg", Urgency: Due, By: "12–14 Nov", Why: "Three fingers of air under the bung since the racking.", Tick: &Link{"Tick", "/log/new?act=3"}, Done: "Done 18:40, Jonas."},
				{ID: "4", Vessel: "d5", Lot: Link{"Damson rosé, the second pressing", "/lots/3"}, Verb: "Read", Of: "pH, with the control bottle in the same session", Urgency: Soon, By: "14–17 Nov", Why: "The next reading settles whether it moves at all; until then I can't tell.", Tick: &Link{"Tick", "/log/new?act=4"}},
				{ID: "5", Vessel: "d6", Lot: Link{"Long Row red, press", "/lots/4"}, Verb: "Rack", Amount: "20", Unit: "L", Of: "off the lees", Urgency: Waiting, By: "waits for 12 °C", Why: "Colder, the lees lie firmer; the shed stood at 15.5 °C this morning."},
			}},
		},
		Back: ComeBack{"Saturday 14 November", "for the pH of d5 and the first stir of c1"},
	}
}

type lotView struct {
	Figures []Figure
	Malic   Drawing
	Notices []Notice
	Ledger  []LedgerLine
}

func sampleFan() chart.Fan {
	var pts []chart.FanPoint
	for d := -34; d <= 30; d++ {
		m := 2.1 / (1 + math.Exp((float64(d)+6)/6.5))
		w := 0.12 + 0.10*math.Abs(float64(d))/10
		if d < 0 {
			w = 0.30 - 0.004*float64(d+34)
		}
		at := func(z float64) float64 { return math.Max(m*math.Exp(w*z)+0.02*z*w, 0.001) }
		pts = append(pts, chart.FanPoint{At: sampleNow.AddDate(0, 0, d), Q05: at(-1.64), Q25: at(-.67), Q50: at(0), Q75: at(.67), Q95: at(1.64)})
	}
	return chart.Fan{ID: "malic-b2", Title: "Malic acid in b2", Quantity: "malic acid", Unit: "g/L", Points: pts, Now: sampleNow,
		Limit:  &chart.Limit{Value: 0.1, Label: "over below 0.1 g/L"},
		Finish: &chart.Span{From: sampleNow.AddDate(0, 0, 8), Mid: sampleNow.AddDate(0, 0, 14), To: sampleNow.AddDate(0, 0, 24), Label: "over 20 Nov – 6 Dec"},
		Marks:  []chart.Mark{{At: ago(33), Label: "inoculated"}, {At: ago(20), Label: "stirred"}, {At: ago(16), Label: "stirred"}, {At: ago(8), Label: "racked"}},
		Readings: []chart.Reading{
			{At: ago(33), Value: 2.05, Lo: 1.75, Hi: 2.35, Kind: "enzymatic"},
			{At: ago(26), Value: 1.9, Lo: 1.3, Hi: 2.5, Kind: "from pH"}, {At: ago(19), Value: 1.95, Lo: 1.35, Hi: 2.6, Kind: "from pH"},
			{At: ago(12), Value: 2.4, Lo: 1.8, Hi: 3.0, Kind: "from pH", Struck: true},
			{At: ago(9), Value: math.NaN(), Lo: 0.6, Hi: 2.0, Kind: "paper, strong"}, {At: ago(3), Value: 0.9, Lo: 0.45, Hi: 1.35, Kind: "from pH"}}}
}

func sampleLot() lotView {
	day := 24 * time.Hour
	return lotView{
		Figures: []Figure{
			{Name: "malic acid", Value: 0.61, Low: 0.42, High: 0.83, Unit: "g/L", At: ago(0.01), Now: sampleNow, Source: "belief from 6 readings", Main: true, Note: "Likely over between 20 Nov and 6 Dec.",
				Working: &Working{Steps: []Step{{"6 readings, 1 struck", ""}, {"prior: 2.1 ± 0.3 g/L at inoculation", ""}}, Sources: []string{"kinetics of this house, see the page on how it reckons"}}},
			{Name: "pH", Value: 3.48, Spread: 0.02, Unit: "pH", At: ago(3), Now: sampleNow, Keeps: 10 * day, Source: "pen meter, Mira"},
			{Name: "titratable acidity", Value: 6.24, Spread: 0.18, Unit: "g/L", At: ago(16), Now: sampleNow, Keeps: 20 * day, Source: "titration to 8.2, as tartaric"},
			{Name: "free SO2", Value: 18, Spread: 4, Unit: "mg/L", At: ago(23), Now: sampleNow, Keeps: 14 * day, Source: "titration, Jonas",
				Working: &Working{Formula: "free = titre × 32 ÷ sample", Inputs: []Figure{{Name: "titre", Value: 1.4, Spread: 0.1, Unit: "mL", At: ago(23), Now: sampleNow, Source: "burette"}}, Steps: []Step{{"1.4 × 0.01 × 32 030 ÷ 25", "18 mg/L"}}, Sources: []string{"invented for this page"}}},
			{Name: "molecular SO2", Value: 0.31, Spread: 0.08, Unit: "mg/L", At: ago(71), Now: sampleNow, Keeps: 14 * day, Source: "reckoned"},
			{Name: "alcohol", Value: 13.1, Spread: 0.3, Unit: "% vol", At: ago(40), Now: sampleNow, Source: "from two densities"},
			{Name: "over?", Text: "can't tell", At: sampleNow, Now: sampleNow, Source: "paper and pH disagree"},
		},
		Malic: Drawn(sampleFan()),
		Notices: []Notice{
			{Kind: Unsure, Text: "The paper of 3 Nov still shows a spot; the pH says 0.9 g/L. One enzymatic test, about 4 €, would settle it.", Link: &Link{"Why", "#"}},
			{Kind: Finding, Text: "20 L went to b3 on 4 Nov, but c1 held 18.", Link: &Link{"Look at the entry", "#"}},
			{Kind: Told, Text: "Kept: pH 3.47 in b2."}},
		Ledger: []LedgerLine{
			{ID: "a", Date: "12 Nov", Time: "18:52", Text: "pH 3.47", Vessel: "b2", By: "Mira", With: "pen meter", Undo: &Link{"Strike", "#"}},
			{ID: "b", Date: "9 Nov", Text: "pH 3.84", Vessel: "b2", By: "Mira", With: "pen meter", Strike: &Strike{"9 Nov", "Mira", "figures swapped, it was 3.48"}},
			{ID: "c", Date: "4 Nov", Time: "10:15", Text: "Racked 20 L from c1 to b3, 0.4 L lost", Vessel: "c1", By: "Jonas", Late: "written 2 d later", Undo: &Link{"Strike", "#"}, Notices: []Notice{{Kind: Finding, Text: "c1 held 18 L."}}},
			{ID: "d", Date: "10 Oct", Time: "21:00", Text: "Inoculated from a starter, 1.2 L", Vessel: "b2", By: "Mira", Undo: &Link{"Strike", "#"}},
		},
	}
}

type cellarView struct{ Lots []LotLine }

func sampleCellar() cellarView {
	return cellarView{[]LotLine{
		{Lot: Link{"Long Row red", "/lots/1"}, What: "2026, three vessels", Volume: "92 L", Sure: "Two of three moving; the cask lags", Next: "Stir c1 today", Spark: sampleSpark("s1", -6)},
		{Lot: Link{"Orchard white", "/lots/2"}, What: "2026, d4", Volume: "23 L", Sure: "Kept from malolactic; free SO2 24 ± 5 mg/L", Next: "Top up, 12–14 Nov", Spark: sampleSpark("s2", 90)},
		{Lot: Link{"Damson rosé, the second pressing", "/lots/3"}, What: "2026, d5", Volume: "5.0 US gal", Sure: "Can't tell from two readings", Next: "pH with control, from 14 Nov", Spark: sampleSpark("s3", 12), Notices: []Notice{{Kind: Finding, Text: "Two volumes for the same racking."}}},
	}}
}

type benchView struct {
	Errors            FormErrors
	Fields            []Field
	Answer            []Figure
	Progress, Waiting Progress
	Table             Table
}

func sampleBench() benchView {
	f := []Field{
		{Name: "volume", Label: "Volume", Kind: Number, Value: "54", Unit: "L", Help: "From the last racking, 9 d old."},
		{Name: "ph", Label: "pH", Kind: Number, Value: "347", Error: "347 is not a pH; allowed is 2.5 to 4.5."},
		{Name: "free", Label: "Free SO2", Kind: Number, Unit: "mg/L", Optional: true, Example: "18"},
		{Name: "product", Label: "What you have", Kind: Choice, Value: "k", Options: []Option{{Value: "k", Text: "potassium metabisulfite"}, {Value: "s", Text: "sodium metabisulfite"}}},
		{Name: "rule", Label: "Aim", Kind: Pick, Value: "06", Options: []Option{{Value: "06", Text: "0.6 mg/L molecular"}, {Value: "08", Text: "0.8 mg/L molecular"}}},
		{Name: "note", Label: "Note", Kind: Long, Optional: true},
		{Name: "asthma", Label: "Nobody with asthma is in the room", Kind: Check, Value: "yes"},
	}
	return benchView{FormErrors{f}, f,
		[]Figure{{Name: "weigh", Value: 3.12, Spread: 0.6, Unit: "g", Main: true, Note: "On the 0.1 g scale.", Working: &Working{Formula: "m = V Δ / w", Steps: []Step{{"54 × 13 ÷ 1000 ÷ 0.5763", "1.2 g"}}, Sources: []string{"OIV"}}}},
		Progress{Name: "Reckoning the belief anew", Done: 23, Of: 40, Unit: "lots"}, Progress{Name: "Fetching", Note: "A few seconds."},
		Table{"Trials of 9 Nov", []string{"glass", "free SO2, mg/L", "tasted"}, [][]string{{"A", "12", "flat, sherry nose"}, {"B", "24", "clean"}, {"C", "31", "clean, a little hard"}}, []bool{false, true, false}}}
}

func sampleConfirm() Confirm {
	return Confirm{What: "Add 31 g potassium metabisulfite to b2?", Action: "/log", Carry: []Pair{{"line", "+31 g kmbs b2"}},
		Reasons: []Notice{{Kind: Stopped, Text: "31 g in 54 L is ten times the usual: free SO2 would stand near 330 mg/L. The legal limit for a dry red in the EU is 150 mg/L in total."}, {Kind: Caution, Text: "At this strength the gas over the glass is dangerous to breathe."}},
		Words:   Field{Name: "why", Label: "Why all the same?", Kind: Long, Help: "Your words are kept in the ledger."}, Yes: "Add it all the same", No: Link{"Back, I meant 3.1 g", "/"}}
}

func sampleCard() Card {
	return Card{Vessel: "b2", Lot: "Long Row red", What: "2026, 54 L, malolactic since 10 Oct", Blank: 4, Foot: "Quince Lane", Address: "cellar.local/v/b2",
		Lines: []CardLine{{Verb: "Add", Amount: "3.1 g", Of: "metabisulfite", When: "12 Nov", Late: true, Notes: []string{"First: rack."}}, {Verb: "Top up", Amount: "0.4 L", When: "14 Nov"}, {Verb: "Read", Of: "pH, with control", When: "17 Nov", Head: "When there is time"}}}
}
