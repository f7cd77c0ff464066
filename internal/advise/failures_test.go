package advise

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"elevage/internal/cellar"
	"elevage/science/ageing"
	"elevage/science/cited"
)

// A failure is one of those that cost a batch, by its number in docs/failures.md,
// where each has the source of its warning; that they are these thirty-four is this
// project's choice. The histories hold what a person ordinarily logs before.
type failure struct {
	number int
	name   string
	// until is the day on which the wine is lost, or first hurt, in the history.
	until float64
	// by are the steps or findings ("finding …") that would have warned; any one does.
	by       []string
	happens  func(d *diary) // the history that ends badly
	harmless func(d *diary) // one like it that does not, and must not warn
	believes bool           // the warning rests on a belief
	// unforeseen says why no record can foresee it.
	unforeseen string
}

func L(v string) *cellar.Measure { return cellar.M(v, "L") }

// pressed brings a red of these days into a full demijohn, dry on day 14.
func pressed(d *diary) {
	d.on(0).do(cellar.VesselNamed{Slug: "bin1", Type: "bin", Size: L("200"), Walk: 1}, cellar.VesselNamed{Slug: "d1", Type: "demijohn", Size: L("54"), Walk: 2},
		cellar.VesselNamed{Slug: "b1", Type: "barrel", Size: L("225"), Walk: 3}, cellar.VesselNamed{Slug: "c1", Type: "carboy", Size: L("23"), Walk: 4},
		cellar.LotStarted{Slug: "hill-26", Colour: "red", Malolactic: cellar.MalolacticWanted},
		cellar.Crush{Lot: "hill-26", To: []cellar.Portion{{Vessel: "bin1", Volume: L("105")}}})
	d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
	d.on(9).do(cellar.Press{From: []cellar.Portion{{Vessel: "bin1"}}, To: []cellar.Portion{{Vessel: "d1", Volume: L("53.5")}}})
	d.on(14)
	d.read("d1", cellar.ReadSugar, "0.6", "g/L")
	d.do(cellar.Verdict{Vessel: "d1", Says: cellar.VerdictDry})
	d.read("d1", cellar.ReadPH, "3.50", "pH")
}

// mustOf is a red must of day 0 in a bin.
func mustOf(d *diary) {
	d.on(0).do(cellar.VesselNamed{Slug: "bin1", Type: "bin", Size: L("200")},
		cellar.LotStarted{Slug: "hill-26", Colour: "red", Malolactic: cellar.MalolacticWanted},
		cellar.Crush{Lot: "hill-26", To: []cellar.Portion{{Vessel: "bin1", Volume: L("105")}}})
	d.read("bin1", cellar.ReadDensity, "1.101", "SG")
}

func ferment(d *diary, from float64, gravities ...string) {
	for i, g := range gravities {
		d.on(from + float64(i))
		d.read("bin1", cellar.ReadDensity, g, "SG")
	}
}

// aged is a red that finished, was dosed and measured, and keeps in a demijohn.
func aged(d *diary) {
	pressed(d)
	d.on(15).do(cellar.Inoculation{Vessel: "d1", Of: "malolactic", How: "rehydrated"})
	d.on(60).do(cellar.Verdict{Vessel: "d1", Says: cellar.VerdictMalolacticFinished})
	d.on(66).do(cellar.Movement{How: "racking", From: []cellar.Portion{{Vessel: "d1", All: true}}, To: []cellar.Portion{{Vessel: "b1", Volume: L("53")}}, Rest: "lees"},
		cellar.VesselNamed{Slug: "b1", Type: "demijohn", Size: L("53.5"), Walk: 3},
		cellar.Addition{Vessel: "b1", Product: "potassium-metabisulfite", Amount: cellar.M("4.6", "g")})
	d.on(69)
	d.read("b1", cellar.ReadFreeSO2, "28", "mg/L")
	d.do(cellar.Reading{Vessel: "b1", What: cellar.ReadPH, Value: cellar.M("3.56", "pH")})
}

func bottlingOn(d *diary, day float64) {
	l := cellar.LotStarted{Slug: "hill-26", Colour: "red", Malolactic: cellar.MalolacticWanted, Tags: []string{"bottling-" + day0.AddDate(0, 0, int(day)).Format(time.DateOnly)}}
	d.do(l)
}

func failures() []failure {
	return []failure{
		{number: 1, name: "rotten fruit taken warm", until: 3, by: []string{"rot"},
			happens: func(d *diary) {
				d.on(0).do(cellar.FruitReceived{Lot: "hill-26", Weight: cellar.M("120", "kg"), RotPct: cellar.M("12", "%"), Warmth: cellar.M("27", "°C")})
				mustOf(d)
			},
			harmless: func(d *diary) {
				d.on(0).do(cellar.FruitReceived{Lot: "hill-26", Weight: cellar.M("120", "kg"), RotPct: cellar.M("1", "%"), Warmth: cellar.M("16", "°C")})
				mustOf(d)
			}},
		{number: 2, name: "metabisulfite dead", until: 150, by: []string{"weak-metabisulfite"},
			happens: func(d *diary) {
				aged(d)
				d.entries = d.entries[:len(d.entries)-2]
				d.on(69)
				d.read("b1", cellar.ReadFreeSO2, "4", "mg/L")
			},
			harmless: aged},
		{number: 3, name: "double or wrong-unit SO2", until: 4, by: []string{"much-sulfite"},
			happens: func(d *diary) {
				mustOf(d)
				d.do(cellar.Addition{Vessel: "bin1", Product: "potassium-metabisulfite", Amount: cellar.M("1", "oz")})
			},
			harmless: func(d *diary) {
				mustOf(d)
				d.do(cellar.Addition{Vessel: "bin1", Product: "potassium-metabisulfite", Amount: cellar.M("7.3", "g")})
			}},
		{number: 4, name: "yeast killed at rehydration", until: 5, by: []string{"lag"},
			happens: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.101", "1.101", "1.100")
			},
			harmless: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.097", "1.085", "1.070")
			}},
		{number: 5, name: "must too cold", until: 6, by: []string{"warm-must"},
			happens: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				d.read("bin1", cellar.ReadTemperature, "12", "°C")
			},
			harmless: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				d.read("bin1", cellar.ReadTemperature, "20", "°C")
			}},
		{number: 6, name: "overheated ferment", until: 5, by: []string{"cool"},
			happens: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.090", "1.065")
				d.read("bin1", cellar.ReadTemperature, "31", "°C")
				d.on(4)
				d.read("bin1", cellar.ReadTemperature, "35", "°C")
				ferment(d, 4, "1.045", "1.044")
			},
			harmless: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.090", "1.065", "1.045")
				d.read("bin1", cellar.ReadTemperature, "27", "°C")
			}},
		{number: 7, name: "nitrogen starvation", until: 8, by: []string{"rotten-egg-early"},
			happens: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.092", "1.080")
				d.do(cellar.Tasting{Vessel: "bin1", Faults: []string{"rotten egg"}})
			},
			harmless: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.092", "1.080")
				d.do(cellar.Tasting{Vessel: "bin1", Words: "clean, cherries"})
			}},
		{number: 8, name: "stuck ferment", until: 16, by: []string{"sluggish", "stuck-confirm", "stuck-warm"},
			happens: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.090", "1.070", "1.052", "1.040", "1.032", "1.028", "1.026", "1.025", "1.025", "1.025")
			},
			harmless: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.090", "1.070", "1.048", "1.028", "1.014", "1.005", "0.999", "0.996", "0.995")
			}},
		{number: 9, name: "dry cap", until: 6, by: []string{"late work-cap"},
			happens: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.090", "1.070", "1.052", "1.040")
			},
			harmless: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				for i, g := range []string{"1.090", "1.070", "1.052", "1.040", "1.030"} {
					d.on(2 + float64(i)).do(cellar.Stirring{Vessel: "bin1", What: "punch-down"})
					d.read("bin1", cellar.ReadDensity, g, "SG")
				}
			}},
		{number: 10, name: "press left too late", until: 20, by: []string{"late press"},
			happens: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.090", "1.070", "1.048", "1.028", "1.014", "1.005", "0.998", "0.996", "0.995", "0.995")
			},
			harmless: func(d *diary) {
				mustOf(d)
				d.do(cellar.VesselNamed{Slug: "d1", Type: "demijohn", Size: L("54")})
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.090", "1.070", "1.048", "1.028", "1.014", "1.005", "0.998")
				d.do(cellar.Press{From: []cellar.Portion{{Vessel: "bin1"}}, To: []cellar.Portion{{Vessel: "d1", Volume: L("54")}}})
			}},
		{number: 11, name: "half-full vessel", until: 60, by: []string{"top-headspace"},
			happens: func(d *diary) {
				pressed(d)
				d.on(16).do(cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: "d1", Volume: L("20")}}})
			},
			harmless: pressed},
		{number: 12, name: "SO2 before the malolactic fermentation ends", until: 120, by: []string{"finding so2-before-malolactic-end"},
			happens: func(d *diary) {
				pressed(d)
				d.on(15).do(cellar.Inoculation{Vessel: "d1", Of: "malolactic", How: "rehydrated"})
				d.on(30).do(cellar.Addition{Vessel: "d1", Product: "potassium-metabisulfite", Amount: cellar.M("4", "g")})
			},
			harmless: aged},
		{number: 13, name: "malic acid left unseen by paper", until: 330, by: []string{"ready-malic"},
			happens: func(d *diary) { aged(d); d.on(290); bottlingOn(d, 330) },
			harmless: func(d *diary) {
				aged(d)
				d.on(280)
				d.read("b1", cellar.ReadMalic, "<0.05", "g/L")
				d.on(290)
				bottlingOn(d, 330)
			}},
		{number: 14, name: "malolactic fermentation never starts", until: 200, believes: true, by: []string{"stall-test", "stall-sulfite", "stall-warm", "warm", "build-starter"},
			happens: func(d *diary) {
				pressed(d)
				d.on(14)
				d.read("d1", cellar.ReadPH, "3.08", "pH")
				d.read("d1", cellar.ReadTA, "8.4", "g/L")
				d.read("d1", cellar.ReadTemperature, "19", "°C")
				d.on(15).do(cellar.Inoculation{Vessel: "d1", Of: "malolactic", How: "direct"})
				for _, day := range []float64{29, 43, 57, 71, 85} {
					d.on(day)
					d.read("d1", cellar.ReadTA, "8.4", "g/L")
					d.read("d1", cellar.ReadTemperature, "19", "°C")
					d.do(cellar.Reading{Vessel: "d1", What: cellar.ReadChromatogram, Value: cellar.M("strong", "")})
				}
			},
			harmless: func(d *diary) {
				pressed(d)
				d.read("d1", cellar.ReadTA, "6.4", "g/L")
				d.read("d1", cellar.ReadTemperature, "20", "°C")
				d.on(15).do(cellar.Inoculation{Vessel: "d1", Of: "malolactic", How: "rehydrated"})
				for i, ta := range []string{"6.1", "5.7", "5.3", "5.2"} {
					d.on(22 + 8*float64(i))
					d.read("d1", cellar.ReadTA, ta, "g/L")
					d.read("d1", cellar.ReadTemperature, "20", "°C")
				}
			}},
		{number: 15, name: "sorbate with bacteria", until: 100, by: []string{"finding sorbate-with-bacteria"},
			happens: func(d *diary) {
				aged(d)
				d.on(80).do(cellar.Addition{Vessel: "b1", Product: "potassium-sorbate", Amount: cellar.M("12", "g")})
			},
			harmless: aged},
		{number: 16, name: "co-inoculated, yeast stuck", until: 14, by: []string{"watch-vinegar"},
			happens: func(d *diary) {
				mustOf(d)
				d.do(cellar.LotStarted{Slug: "hill-26", Colour: "red", Malolactic: cellar.MalolacticWanted, Protocol: "coinoculated-red"})
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				d.on(2).do(cellar.Inoculation{Vessel: "bin1", Of: "malolactic", How: "direct"})
				ferment(d, 2, "1.090", "1.070", "1.052", "1.040", "1.038", "1.038", "1.037")
			},
			harmless: func(d *diary) {
				mustOf(d)
				d.do(cellar.LotStarted{Slug: "hill-26", Colour: "red", Malolactic: cellar.MalolacticWanted, Protocol: "coinoculated-red"})
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				d.on(2).do(cellar.Inoculation{Vessel: "bin1", Of: "malolactic", How: "direct"})
				ferment(d, 2, "1.090", "1.070", "1.052", "1.036", "1.022", "1.010", "1.002")
			}},
		{number: 17, name: "Brett", until: 400, believes: true, by: []string{"top-up-sulfite", "measure-free-sulfite", "brett-watch"},
			happens: func(d *diary) {
				aged(d)
				d.read("b1", cellar.ReadTemperature, "18", "°C")
				d.on(120)
				d.read("b1", cellar.ReadFreeSO2, "9", "mg/L")
			},
			harmless: func(d *diary) {
				aged(d)
				d.entries = d.entries[:len(d.entries)-2]
				d.do(cellar.Reading{Vessel: "b1", What: cellar.ReadPH, Value: cellar.M("3.40", "pH")})
				for _, day := range []float64{69, 84, 112} {
					d.on(day)
					d.read("b1", cellar.ReadTemperature, "13", "°C")
					d.do(cellar.Reading{Vessel: "b1", What: cellar.ReadFreeSO2, Method: "aspiration", Value: cellar.M("36", "mg/L")})
				}
			}},
		{number: 18, name: "volatile acidity from barrel or hose", until: 300, by: []string{"va-rising", "vinegar"},
			happens: func(d *diary) {
				aged(d)
				for i, va := range []string{"0.42", "0.55", "0.68", "0.84"} {
					d.on(70 + 45*float64(i))
					d.read("b1", cellar.ReadVA, va, "g/L")
				}
			},
			harmless: func(d *diary) {
				aged(d)
				for i, va := range []string{"0.42", "0.43", "0.42", "0.44"} {
					d.on(70 + 45*float64(i))
					d.read("b1", cellar.ReadVA, va, "g/L")
				}
			}},
		{number: 19, name: "pH above 3.8 unprotected", until: 150, by: []string{"sulfite-unfit-ph", "long-without-sulfite"},
			happens:  func(d *diary) { aged(d); d.on(70); d.read("b1", cellar.ReadPH, "3.86", "pH") },
			harmless: aged},
		{number: 20, name: "topped with sick or sulfited wine", until: 60, by: []string{"topped-with-sulfite", "topped-from-sick"},
			happens: func(d *diary) {
				pressed(d)
				d.on(2).do(cellar.LotStarted{Slug: "old-25", Colour: "red", Malolactic: cellar.MalolacticWanted}, cellar.Movement{How: "filling", Lot: "old-25", To: []cellar.Portion{{Vessel: "c1", Volume: L("22.8")}}},
					cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("4", "g")})
				d.on(15).do(cellar.Inoculation{Vessel: "d1", Of: "malolactic", How: "rehydrated"}, cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: "d1", Volume: L("4")}}})
				d.on(20).do(cellar.Movement{How: "topping", From: []cellar.Portion{{Vessel: "c1", Volume: L("4")}}, To: []cellar.Portion{{Vessel: "d1"}}})
			},
			harmless: func(d *diary) {
				pressed(d)
				d.on(2).do(cellar.LotStarted{Slug: "old-25", Colour: "red", Malolactic: cellar.MalolacticWanted}, cellar.Movement{How: "filling", Lot: "old-25", To: []cellar.Portion{{Vessel: "c1", Volume: L("22.8")}}})
				d.on(15).do(cellar.Inoculation{Vessel: "d1", Of: "malolactic", How: "rehydrated"}, cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: "d1", Volume: L("4")}}})
				d.on(20).do(cellar.Movement{How: "topping", From: []cellar.Portion{{Vessel: "c1", Volume: L("4")}}, To: []cellar.Portion{{Vessel: "d1"}}})
			}},
		{number: 21, name: "chlorine", until: 30, by: []string{"chlorine"},
			happens:  func(d *diary) { pressed(d); d.do(cellar.Care{Vessel: "c1", What: "cleaned", With: "chlorine bleach"}) },
			harmless: func(d *diary) { pressed(d); d.do(cellar.Care{Vessel: "c1", What: "cleaned", With: "washing soda"}) }},
		{number: 22, name: "demijohn pushed out by summer", until: 270, by: []string{"leave-room-for-summer"},
			happens: func(d *diary) {
				aged(d)
				d.do(cellar.Dip{Vessel: "b1", Volume: L("53.45")})
				d.on(150)
				d.read("b1", cellar.ReadTemperature, "9", "°C")
				d.on(240)
				d.read("b1", cellar.ReadTemperature, "18", "°C")
			},
			harmless: func(d *diary) {
				aged(d)
				d.do(cellar.Dip{Vessel: "b1", Volume: L("53.1")})
				d.on(150)
				d.read("b1", cellar.ReadTemperature, "12", "°C")
				d.on(240)
				d.read("b1", cellar.ReadTemperature, "15", "°C")
			}},
		{number: 23, name: "barrel dried", until: 120, by: []string{"empty-barrel-sulfur"},
			happens: func(d *diary) { emptiedBarrel(d) },
			harmless: func(d *diary) {
				emptiedBarrel(d)
				for _, day := range []float64{40, 66, 92, 118} {
					d.on(day).do(cellar.Care{Vessel: "b1", What: "sulfured"})
				}
			}},
		{number: 24, name: "over-fined", unforeseen: "only a bench trial shows how much is too much; the bench sets the trial's doses and scales them"},
		{number: 25, name: "white cloudy in bottle", until: 200, by: []string{"test-heat"},
			happens: aWhite, harmless: func(d *diary) {
				aWhite(d)
				d.on(58).do(cellar.Done{Task: "test-heat/c1/0", Vessel: "c1", Act: "heat test"})
			}},
		{number: 26, name: "crystals in bottle", until: 200, by: []string{"test-cold"},
			happens: aWhite, harmless: func(d *diary) {
				aWhite(d)
				d.on(58).do(cellar.Done{Task: "test-cold/c1/0", Vessel: "c1", Act: "cold test"})
			}},
		{number: 27, name: "copper too much or late", until: 330, by: []string{"not-ready"},
			happens: func(d *diary) {
				aged(d)
				d.on(290)
				bottlingOn(d, 330)
				d.on(326).do(cellar.Addition{Vessel: "b1", Product: "copper-sulfate", Amount: cellar.M("20", "mg")})
			},
			harmless: func(d *diary) {
				aged(d)
				d.on(250).do(cellar.Addition{Vessel: "b1", Product: "copper-sulfate", Amount: cellar.M("20", "mg")})
				d.on(290)
				bottlingOn(d, 330)
			}},
		{number: 28, name: "refermentation in bottle", until: 330, by: []string{"not-ready"},
			happens: func(d *diary) {
				aged(d)
				d.on(290)
				bottlingOn(d, 330)
				d.on(300)
				d.read("b1", cellar.ReadSugar, "3.4", "g/L")
			},
			harmless: func(d *diary) {
				aged(d)
				d.on(290)
				bottlingOn(d, 330)
				d.on(300)
				d.read("b1", cellar.ReadSugar, "0.5", "g/L")
			}},
		{number: 29, name: "no SO2 at bottling", until: 330, by: []string{"ready-free-sulfite", "last-sulfite"},
			happens: func(d *diary) { aged(d); d.on(290); bottlingOn(d, 330) },
			harmless: func(d *diary) {
				aged(d)
				d.on(290)
				bottlingOn(d, 330)
				d.on(327)
				d.read("b1", cellar.ReadFreeSO2, "22", "mg/L")
				d.read("b1", cellar.ReadPH, "3.55", "pH")
				d.do(cellar.Addition{Vessel: "b1", Product: "potassium-metabisulfite", Amount: cellar.M("1.2", "g")})
			}},
		{number: 30, name: "filled cold to the brim", until: 330, by: []string{"warm-for-filling"},
			happens: func(d *diary) {
				aged(d)
				d.on(290)
				bottlingOn(d, 330)
				d.read("b1", cellar.ReadTemperature, "9", "°C")
			},
			harmless: func(d *diary) {
				aged(d)
				d.on(290)
				bottlingOn(d, 330)
				d.read("b1", cellar.ReadTemperature, "18", "°C")
			}},
		{number: 31, name: "closure taint", unforeseen: "it is in the closure; what the record can do is keep the closure's lot, so that one bottle points at the others"},
		{number: 32, name: "mislabelled or swapped lot", until: 60, by: []string{"two-lots-one-log", "settle-volume", "finding lots-mixed", "finding overfull"},
			happens: func(d *diary) {
				pressed(d)
				d.on(2).do(cellar.LotStarted{Slug: "other-26", Colour: "red"}, cellar.Movement{How: "filling", Lot: "other-26", To: []cellar.Portion{{Vessel: "c1", Volume: L("22")}}})
				d.on(20).do(cellar.Movement{How: "racking", From: []cellar.Portion{{Vessel: "c1", All: true}}, To: []cellar.Portion{{Vessel: "d1", Volume: L("21.5")}}})
			},
			harmless: func(d *diary) {
				pressed(d)
				d.on(2).do(cellar.LotStarted{Slug: "other-26", Colour: "red"}, cellar.Movement{How: "filling", Lot: "other-26", To: []cellar.Portion{{Vessel: "c1", Volume: L("22")}}})
				d.on(20).do(cellar.Movement{How: "racking", From: []cellar.Portion{{Vessel: "c1", All: true}}, To: []cellar.Portion{{Vessel: "b1", Volume: L("21.5")}}, Rest: "lees"})
			}},
		{number: 33, name: "hydrometer or meter off", until: 60, by: []string{"meter-off"},
			happens: func(d *diary) {
				pressed(d)
				d.do(cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"})
				d.on(20).do(cellar.PHCheck{Instrument: "meter", Buffer: "7.00", Read: "7.14"})
			},
			harmless: func(d *diary) {
				pressed(d)
				d.do(cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"})
				d.on(20).do(cellar.PHCheck{Instrument: "meter", Buffer: "7.00", Read: "7.02"})
			}},
		{number: 34, name: "gas, glass or lifting accident", until: 5, by: []string{"air-the-room"},
			happens: func(d *diary) {
				mustOf(d)
				d.on(1).do(cellar.Inoculation{Vessel: "bin1", Of: "primary", How: "rehydrated"})
				ferment(d, 2, "1.090", "1.070")
			},
			harmless: func(d *diary) {
				d.on(0).do(cellar.VesselNamed{Slug: "c1", Type: "carboy", Size: L("23")}, cellar.LotStarted{Slug: "old-25", Colour: "red"},
					cellar.Movement{How: "filling", Lot: "old-25", To: []cellar.Portion{{Vessel: "c1", Volume: L("22.8")}}})
			}},
	}
}

func emptiedBarrel(d *diary) {
	pressed(d)
	d.on(10).do(cellar.LotStarted{Slug: "old-25", Colour: "red"}, cellar.Movement{How: "filling", Lot: "old-25", To: []cellar.Portion{{Vessel: "b1", Volume: L("224")}}})
	d.on(14).do(cellar.Movement{How: "removal", From: []cellar.Portion{{Vessel: "b1", All: true}}}, cellar.Care{Vessel: "b1", What: "sulfured"})
}

// aWhite is dry, blocked and measured, in a carboy.
func aWhite(d *diary) {
	d.on(0).do(cellar.VesselNamed{Slug: "c1", Type: "carboy", Size: L("23")}, cellar.LotStarted{Slug: "vale-26", Colour: "white", Malolactic: cellar.MalolacticKeptFrom},
		cellar.Crush{Lot: "vale-26", To: []cellar.Portion{{Vessel: "c1", Volume: L("22.9")}}, Juice: true})
	d.on(1).do(cellar.Inoculation{Vessel: "c1", Of: "primary", How: "rehydrated"})
	d.on(20)
	d.read("c1", cellar.ReadSugar, "0.8", "g/L")
	d.do(cellar.Verdict{Vessel: "c1", Says: cellar.VerdictDry}, cellar.Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: cellar.M("2.4", "g")})
	d.on(24)
	d.read("c1", cellar.ReadFreeSO2, "30", "mg/L")
	d.read("c1", cellar.ReadPH, "3.20", "pH")
}

// firstWarning is the first day up to the last one on which a plan or a finding
// warns, and by what.
func (f failure) firstWarning(t *testing.T, d *diary, last float64) (day float64, by string) {
	t.Helper()
	for day = 0; day <= last; day++ {
		now := day0.Add(time.Duration(day*24+4) * time.Hour)
		s := cellar.Fold(d.entries, cellar.Options{Now: now, KnownBy: now})
		for _, found := range s.Findings.All() {
			if name := "finding " + string(found.Code); slices.Contains(f.by, name) {
				return day, name
			}
		}
		in := Input{State: s, Now: now}
		if f.believes && int(day)%7 == 0 {
			in.Beliefs, in.Ageing = believed(t, s, now)
		} else if f.believes {
			continue
		}
		plan, err := Plan(in)
		if err != nil {
			t.Fatal(err)
		}
		sweep(t, plan)
		for _, a := range plan.With(Due) {
			if slices.Contains(f.by, a.Step) || slices.Contains(f.by, "late "+a.Step) && a.Overdue > 0 {
				return day, a.Step
			}
		}
	}
	return -1, ""
}

func TestFailuresThatCostABatch(t *testing.T) {
	lines, rows := make([]string, len(failures())), make([]string, len(failures()))
	t.Run("rows", func(t *testing.T) {
		for i, f := range failures() {
			if f.unforeseen != "" {
				lines[i] = fmt.Sprintf("%2d  %-45s not foreseen: %s", f.number, f.name, f.unforeseen)
				rows[i] = fmt.Sprintf("| %d | %s | – | not foreseen | %s |\n", f.number, f.name, cited.CommonPractice)
				continue
			}
			t.Run(f.name, func(t *testing.T) {
				t.Parallel()
				d := newDiary(t)
				f.happens(d)
				day, by := f.firstWarning(t, d, f.until)
				if by == "" {
					t.Errorf("nothing warned by day %v", f.until)
				}
				lines[i] = fmt.Sprintf("%2d  %-45s %3.0f days before, by %s", f.number, f.name, f.until-day, by)
				rows[i] = fmt.Sprintf("| %d | %s | %.0f | `%s` | %s |\n", f.number, f.name, f.until-day, by, restsOn(t, by))
				h := newDiary(t)
				f.harmless(h)
				last := f.until
				if f.believes {
					last = h.now.Sub(day0).Hours() / 24
				}
				if day, by := f.firstWarning(t, h, last); by != "" {
					t.Errorf("the harmless history is warned of on day %v by %s", day, by)
				}
			})
		}
	})
	got := "# Lead time of the warnings of TestFailuresThatCostABatch: from the first day on which a\n# plan or a finding warned to the day on which the invented history is first hurt.\n" + strings.Join(lines, "\n") + "\n"
	path := filepath.Join("testdata", "failures.golden")
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
		t.Errorf("lead times differ from %s:\n%s", path, got)
	}
	inDocs(t, rows)
}

// restsOn is what a step or a finding cites, with its mark: a list of failures as
// long as this one has no single source.
func restsOn(t *testing.T, by string) string {
	t.Helper()
	var source cited.Source
	if code, ok := strings.CutPrefix(by, "finding "); ok {
		act, ok := map[string]ageing.Act{"so2-before-malolactic-end": ageing.AddSO2, "sorbate-with-bacteria": ageing.AddSorbate}[code]
		if !ok {
			return string(cited.Proposal)
		}
		caution, err := ageing.StopsConversion(act, ageing.Topped{})
		if err != nil {
			t.Fatal(err)
		}
		source = caution.Source
	} else {
		for _, p := range BuiltIn().Protocols {
			for _, s := range p.Steps {
				if s.ID == by {
					source = s.Source
				}
			}
		}
	}
	if source.Mark == "" {
		t.Fatalf("nothing says what %s rests on", by)
	}
	if source.Text == string(source.Mark) {
		return source.Text
	}
	return source.Text + " (" + string(source.Mark) + ")"
}

// inDocs holds the table in docs/failures.md against what the test found.
func inDocs(t *testing.T, rows []string) {
	t.Helper()
	const path, from, to = "../../docs/failures.md", "<!-- lead times: written by go test ./internal/advise -run Failures -update -->\n", "<!-- end of lead times -->\n"
	doc, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	before, rest, ok := strings.Cut(string(doc), from)
	_, after, ok2 := strings.Cut(rest, to)
	if !ok || !ok2 {
		t.Fatal("docs/failures.md has lost the marks around its table")
	}
	now := before + from + "| # | failure | days before | by | the warning rests on |\n|---|---|---|---|---|\n" + strings.Join(rows, "") + to + after
	if *update && now != string(doc) {
		if err := os.WriteFile(path, []byte(now), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if now != string(doc) {
		t.Error("the table in docs/failures.md is not what the histories say: run with -update")
	}
}
