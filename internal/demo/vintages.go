package demo

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"time"

	"elevage/internal/cellar"
)

// Vintages is the ledger of an older and larger cellar, invented too: n lots over
// three harvests up to now, from crates of fruit through presses, rackings, toppings
// and blends into bottles, in vessels that are used again each year. It serves to look
// at long histories and to measure with them.
func Vintages(now time.Time, n int) ([]cellar.Entry, error) {
	s := &vintages{story: story{now: now, random: rand.NewChaCha8([32]byte(bytes.Repeat([]byte{9}, 32)))}, luck: rand.New(rand.NewPCG(9, 3))}
	last := now.Year()
	if now.Before(time.Date(last, 10, 1, 0, 0, 0, 0, now.Location())) {
		last-- // its harvest is not in
	}
	first := time.Date(last-2, 8, 1, 9, 0, 0, 0, now.Location())
	s.write(s.ago(first), 9, runa, cellar.InstrumentNamed{Slug: "meter", Name: "pen meter", Type: "ph-meter"}, cellar.InstrumentNamed{Slug: "probe", Name: "probe thermometer", Type: "thermometer"},
		cellar.InstrumentNamed{Slug: "titration", Name: "titration set", Type: "titration-kit"}, cellar.InstrumentNamed{Slug: "so2-kit", Name: "aspiration set", Type: "so2-kit"})
	slots := (n + 2) / 3
	for i := range slots {
		s.vessels(first, i)
	}
	for told := range n {
		s.lot(last-2+told/slots, told%slots)
	}
	return s.entries, s.err
}

type vintages struct {
	story
	luck *rand.Rand
}

func (s *vintages) ago(t time.Time) int { return max(0, int(s.now.Sub(t).Hours()/24)) }

// on writes what happened at a day, and nothing of the days to come.
func (s *vintages) on(t time.Time, by string, bodies ...cellar.Body) {
	if t.Before(s.now) {
		s.write(s.ago(t), 10, by, bodies...)
	}
}

func litres(v float64) *cellar.Measure { return m(fmt.Sprintf("%.1f", v), "L") }

func part(vessel string, v float64) cellar.Portion {
	return cellar.Portion{Vessel: vessel, Volume: litres(v)}
}

func whole(vessel string) []cellar.Portion { return []cellar.Portion{{Vessel: vessel, All: true}} }

// wines are what the slots grow, by turns.
var wines = []struct{ name, colour string }{{"Merlot", "red"}, {"Riesling", "white"}, {"Syrah", "red"}, {"Cabernet Franc", "red"}, {"Grenache", "rosé"}, {"Zweigelt", "red"}, {"Silvaner", "white"}}

var fields = []string{"Hedge Side", "Long Field", "Ropewalk", "Mill Terrace", "Steep Acre"}

func (s *vintages) vessels(t time.Time, i int) {
	for j, v := range []struct{ kind, letter, size string }{{"bin", "bin", "200"}, {"barrel", "b", "112"}, {"carboy", "c", "23"}, {"jug", "j", "5"}, {"tank", "t", "150"}} {
		s.on(t, corin, cellar.VesselNamed{Slug: fmt.Sprintf("%s%d", v.letter, i+1), Type: v.kind, Size: m(v.size, "L"), Place: fmt.Sprintf("row %d", i/5+1), Walk: 10*i + j})
	}
}

// lot is one wine of one year, from its fruit to its bottles.
func (s *vintages) lot(year, i int) {
	wine := wines[i%len(wines)]
	slug := fmt.Sprintf("w%d-%d", i+1, year)
	name := func(letter string) string { return fmt.Sprintf("%s%d", letter, i+1) }
	bin, barrel, carboy, jug, tank := name("bin"), name("b"), name("c"), name("j"), name("t")
	picked := time.Date(year, 9, 5+(5*i)%25+s.luck.IntN(4), 9, 0, 0, 0, s.now.Location())
	day := func(n int) time.Time { return picked.AddDate(0, 0, n) }
	must := 108 + float64(s.luck.IntN(14))
	malolactic := cellar.MalolacticWanted
	if wine.colour != "red" {
		malolactic = cellar.MalolacticKeptFrom
	}
	s.on(day(-3), runa, cellar.LotStarted{Slug: slug, Name: fmt.Sprintf("%s, %s %d", wine.name, fields[i%len(fields)], year), Colour: wine.colour, Variety: wine.name, Vintage: year, Malolactic: malolactic})
	s.on(day(0), runa, cellar.FruitReceived{Lot: slug, Vessel: bin, Weight: m(fmt.Sprintf("%.0f", must*1.25), "kg"), Grower: fields[i%len(fields)]},
		cellar.Crush{Lot: slug, From: whole(bin), To: []cellar.Portion{part(bin, must)}, Destemmed: "all"},
		cellar.Reading{Vessel: bin, What: cellar.ReadDensity, Value: m("1.098", "SG")}, ph(bin, "3.41"), ta(bin, "6.9"))
	s.on(day(1), corin, cellar.Inoculation{Vessel: bin, Of: "primary", How: "rehydrated"})
	for n, g := range []string{"1.081", "1.055", "1.031", "1.012"} {
		s.on(day(3+2*n), corin, cellar.Reading{Vessel: bin, What: cellar.ReadDensity, Value: m(g, "SG")}, cellar.Stirring{Vessel: bin, What: "punch-down"})
	}
	wineVolume := must * 0.88
	s.on(day(12), runa, cellar.Press{From: whole(bin), To: []cellar.Portion{{Vessel: tank, Volume: litres(wineVolume - 17), Part: "free run"}, {Vessel: carboy, Volume: litres(17), Part: "press"}}})
	s.on(day(20), runa, dry(tank), dry(carboy), alcohol(tank, "13.2"), alcohol(carboy, "13.1"), ph(tank, "3.46"), ph(carboy, "3.55"), ta(tank, "6.6"), malic(tank, "2.0"))
	barrelled := wineVolume - 20
	s.on(day(22), corin, cellar.Movement{How: "racking", From: whole(tank), To: []cellar.Portion{part(barrel, barrelled)}, Rest: cellar.LossLees})
	if wine.colour == "red" {
		s.on(day(23), runa, culture(barrel, "rehydrated", "0.6"), culture(carboy, "rehydrated", "0.1"))
		for n, v := range []string{"3.48", "3.52", "3.57", "3.60"} {
			s.on(day(34+12*n), corin, ph(barrel, v), temp(barrel, "19", "°C"))
		}
		s.on(day(84), runa, malic(barrel, "0.05"), malic(carboy, "0.05"), cellar.Verdict{Vessel: barrel, Says: cellar.VerdictMalolacticFinished}, cellar.Verdict{Vessel: carboy, Says: cellar.VerdictMalolacticFinished})
	}
	s.on(day(86), runa, kmbs(barrel, "9"), kmbs(carboy, "1.5"), freeSO2(barrel, "31"))
	s.on(day(110), runa, cellar.Movement{How: "racking", From: whole(carboy), To: []cellar.Portion{part(jug, 4.5), part(barrel, 3)}, Losses: []cellar.Loss{{Kind: cellar.LossSample, Volume: litres(0.5)}}, Rest: cellar.LossLees})
	for n := range 4 {
		s.on(day(150+35*n), corin, cellar.Movement{How: "topping", From: []cellar.Portion{part(jug, 0.8)}, To: []cellar.Portion{part(barrel, 0.8)}}, freeSO2(barrel, fmt.Sprint(27-2*n)))
	}
	if i%len(wines) == 3 { // some of one red goes into its neighbour, as red
		s.on(day(280), runa, cellar.Movement{How: "blending", From: []cellar.Portion{part(name("b"), 12)}, To: []cellar.Portion{part(fmt.Sprintf("b%d", i), 12)}})
	}
	s.on(day(300), runa, cellar.Movement{How: "racking", From: whole(barrel), To: []cellar.Portion{part(tank, barrelled-18)}, Rest: cellar.LossLees}, kmbs(tank, "3"))
	s.on(day(301), corin, cellar.Movement{How: "removal", From: whole(jug), Losses: []cellar.Loss{{Kind: cellar.LossSample, Volume: litres(1)}}})
	bottled := int((barrelled - 19) / 0.75)
	s.on(day(322), runa, cellar.Bottling{Slug: slug + "-bottles", From: whole(tank), Count: bottled, Size: m("750", "mL"), Closure: "natural cork, invented lot", Losses: []cellar.Loss{{Kind: cellar.LossLees, Volume: litres(0.5)}}},
		cellar.Care{Vessel: barrel, What: "cleaned", With: "hot water"})
	for n := range 8 {
		s.on(day(380+60*n), runa, cellar.Opened{Bottling: slug + "-bottles", Count: 3 + s.luck.IntN(7)})
	}
}
