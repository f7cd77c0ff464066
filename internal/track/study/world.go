package study

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"elevage/internal/track"
	"elevage/science/acidbase"
	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// Days that a lot is followed.
const span = 126

// A Lot is one wine of the other world: its truth and everything that was read.
type Lot struct {
	Seed     uint64
	Law      int       // which law of conversion it follows
	Malic    []float64 // truth, g/L at the start of each day
	Finish   int       // first day below 0.1 g/L; −1 if it never gets there
	Stall    int       // day of the stall, −1 for none
	Facts    track.Facts
	Readings []track.Reading // all kinds; Set picks
	world    *world
}

// Start is when every lot is inoculated; the date means nothing.
var Start = time.Date(2026, 10, 1, 0, 0, 0, 0, time.UTC)

// A world is the wine and the instruments behind one lot.
type world struct {
	rng                         *rand.Rand
	m0                          float64
	ph0, ta0                    float64 // of the wine itself
	curve                       acidbase.MalolacticCurve
	phScale                     float64 // buffer as it is, against the anchored one
	temp                        []float64
	offset                      []float64 // pH meter, by day
	slope, phNoise              float64
	taBias, taNoise, taAge, co2 float64
	lostTA                      float64 // tartrate precipitating, as TA, in the end
	lockGain, lockNoise         float64
	spot                        float64 // malic acid seen half the time
	kit                         float64
	malic                       []float64
}

// Laws of conversion, none of them the model's.
const (
	lawGompertz   = iota // Gompertz growth, Michaelis–Menten with a short tail, cells dying
	lawFirstOrder        // rate proportional to malic acid throughout
	lawRoot              // rate as the root of malic acid: ends abruptly
	lawTwoPhase          // steady down to 0.5 g/L, then a slow exponential tail
	laws
)

// NewLot makes lot number seed. Deterministic.
func NewLot(seed uint64) *Lot {
	rng := rand.New(rand.NewPCG(seed, 0x10c))
	w := &world{rng: rng}
	l := &Lot{Seed: seed, world: w, Law: rng.IntN(laws), Stall: -1, Finish: -1}
	red := rng.Float64() < 0.75
	for !w.wine(red) {
	}
	how := malolactic.Inoculation(1 + rng.IntN(3))
	if rng.Float64() < 0.1 {
		how = malolactic.Native
	}
	abv := 12 + 2.5*rng.Float64()
	total := 10 + 30*rng.Float64()
	free := 8 * rng.Float64() * rng.Float64()
	w.climate()
	l.convert(how, abv, free, total)
	w.malic = l.Malic
	w.instruments()
	l.read()
	l.state(red, how, abv, free, total)
	return l
}

func (w *world) normal(mean, sd float64) float64 { return mean + sd*w.rng.NormFloat64() }
func (w *world) logNormal(median, sd float64) float64 {
	return median * math.Exp(sd*w.rng.NormFloat64())
}

func (w *world) wine(red bool) bool {
	w.m0, w.ph0, w.ta0 = w.logNormal(1.9, 0.4), w.normal(3.52, 0.13), w.normal(6.2, 0.6)
	if !red {
		w.m0, w.ph0, w.ta0 = w.logNormal(2.9, 0.4), w.normal(3.28, 0.1), w.normal(7.4, 0.8)
	}
	wine, err := acidbase.Anchor(acidbase.Measured{PH: quantity.PH(w.ph0), TA: quantity.Concentration(w.ta0), EndPoint: 8.2,
		Malic: quantity.Concentration(w.m0), Alcohol: 13, Temperature: 20})
	if err != nil || wine.Solved == acidbase.SolvedMinor {
		return false
	}
	if w.curve, err = wine.MalolacticCurve(quantity.Concentration(w.m0)); err != nil {
		return false
	}
	w.phScale = w.logNormal(1, 0.1)
	return true
}

// climate: a cellar that cools over the season, with spells.
func (w *world) climate() {
	base, drift := 17+5*w.rng.Float64(), -0.05*w.rng.Float64()
	x := 0.0
	for d := 0; d <= span; d++ {
		x = 0.85*x + 0.6*w.rng.NormFloat64()
		w.temp = append(w.temp, base+drift*float64(d)+x)
	}
}

// convert runs the bacteria, in steps of a twentieth of a day.
func (l *Lot) convert(how malolactic.Inoculation, abv, free, total float64) {
	w := l.world
	lag := w.logNormal([]float64{20, 5, 4, 2}[how], 0.7)
	speed := w.logNormal(1, 0.5)
	bulk := w.logNormal(13, 0.4) // days that the bulk of 2 g/L takes at full activity, kind conditions
	start := w.logNormal([]float64{0.002, 0.03, 0.05, 0.15}[how], 0.8)
	growth := w.logNormal(0.35, 0.4)
	short, tail := w.logNormal(0.25, 0.5), w.logNormal(4, 0.4)
	die := 0.004 + 0.01*w.rng.Float64()
	soft := 1 / (1 + math.Exp(-(w.ph0-3.3)/0.12)) // pH: a sigmoid
	soft *= math.Exp(-free/12) * math.Exp(-(total-free)/60) * (1 - math.Pow(abv/16.5, 6))
	frac := -1.0
	if w.rng.Float64() < 0.13 {
		frac = w.rng.Float64() * 0.97 // share converted at which it stops for good
	}
	m, x, mood := w.m0, math.Min(0.5, start), 0.0
	const (
		h    = 0.05
		kind = 5 // brings soft back to about 1 in a kind wine
	)
	for d := 0; d <= span; d++ {
		l.Malic = append(l.Malic, m)
		if l.Finish < 0 && m < 0.1 {
			l.Finish = d
		}
		mood = 0.85*mood + 0.15*w.rng.NormFloat64()
		warm := math.Max(0, 1-math.Pow((w.temp[d]-22)/13, 2)) * math.Exp(0.4*mood)
		for s := 0; s < 20; s++ {
			f := soft * warm * speed * kind
			if float64(d)+float64(s)*h < lag || l.Stall >= 0 {
				continue
			}
			if frac >= 0 && m <= w.m0*(1-frac) {
				l.Stall = d
				continue
			}
			if l.Law == lawGompertz {
				x += h * (growth*f*x*math.Log(1/x)*0.45 - die*x)
			} else {
				x += h * growth * f * x * (1 - x)
			}
			q := 2 / bulk * f * x
			switch l.Law {
			case lawGompertz:
				m -= h * q * m / (m + short)
			case lawFirstOrder:
				m -= h * q * m / 0.9
			case lawRoot:
				m -= h * q * math.Sqrt(math.Max(m, 0)) / 1.2
			case lawTwoPhase:
				if m > 0.5 {
					m -= h * q
				} else {
					m -= h * math.Min(q, m*math.Ln2/tail*math.Min(1, 2*f))
				}
			}
			m = math.Max(m, 0)
		}
	}
}

// instruments draws a meter that wanders between calibrations two to four weeks
// apart, a titrant that is off and ages, a lock that leaks.
func (w *world) instruments() {
	w.phNoise = 0.015 + 0.02*w.rng.Float64()
	w.slope = w.normal(0.985, 0.012)
	off, next := w.normal(0, 0.03), 0
	for d := 0; d <= span; d++ {
		if d >= next {
			off, next = w.normal(0, 0.025), d+10+w.rng.IntN(18)
		}
		off += w.normal(0.001, 0.012)
		w.offset = append(w.offset, off)
	}
	w.taBias, w.taNoise, w.taAge = w.normal(0, 0.2), 0.08+0.08*w.rng.Float64(), 0.002*w.rng.Float64()
	w.co2, w.lostTA = 0.3*w.rng.Float64(), 0.3*w.rng.Float64()*w.rng.Float64()
	w.lockGain, w.lockNoise = w.logNormal(1, 0.9), 0.3+0.4*w.rng.Float64()
	w.spot, w.kit = w.logNormal(0.12, 0.35), w.normal(1, 0.07)
}

// meter reads a solution of true pH.
func (w *world) meter(d int, ph float64) float64 {
	return 7 + (ph-7)*w.slope + w.offset[d] + w.phNoise*w.rng.NormFloat64()
}

func (w *world) truePH(d int) float64 {
	return w.ph0 + w.phScale*float64(w.curve.PH(quantity.Concentration(w.m0-w.malic[d]))-w.curve.PH(0)) -
		0.08*w.lostTA*(1-math.Exp(-float64(d)/50))
}

func (w *world) trueTA(d int) float64 {
	return w.ta0 + float64(w.curve.TA(quantity.Concentration(w.m0-w.malic[d]))-w.curve.TA(0)) - w.lostTA*(1-math.Exp(-float64(d)/50))
}

func (w *world) titrate(d int) float64 {
	return w.trueTA(d) + w.taBias + w.taAge*float64(d) + w.co2*math.Exp(-float64(d)/25)*w.rng.Float64() + w.taNoise*w.rng.NormFloat64()
}

// Chromatogram is what a sheet run on that day would show.
func (w *world) chromatogram(d int) string {
	if w.rng.Float64() < 0.02 {
		return []string{track.SpotNone, track.SpotFaint, track.SpotStrong}[w.rng.IntN(3)]
	}
	x := math.Log(math.Max(w.malic[d], 1e-6)/w.spot) + 0.35*w.rng.NormFloat64()
	switch {
	case x < 0:
		return track.SpotNone
	case x < 0.9:
		return track.SpotFaint
	}
	return track.SpotStrong
}

func (w *world) strip(d int) float64 {
	v := w.malic[d]*w.kit + (0.04+0.05*w.malic[d])*w.rng.NormFloat64() + 0.02
	return math.Max(0, math.Round(v*100)/100)
}

func (w *world) bubble(d int) float64 {
	rate := w.malic[max(0, d-1)] - w.malic[min(span, d+1)]
	rate /= 2
	warming := math.Max(0, w.temp[d]-w.temp[max(0, d-1)]) * 0.14
	gas := rate + warming*w.rng.Float64() + 0.05*math.Exp(-float64(d)/14) + 0.03*w.rng.NormFloat64()
	perDay := gas * 23 * 180 / 0.7 * w.lockGain * math.Exp(w.lockNoise*w.rng.NormFloat64())
	if perDay <= 12 || w.rng.Float64() < 0.05 {
		return track.NoBubbleSeconds
	}
	return math.Round(86400 / perDay)
}

// Read makes one reading of the kind on a day, as the world allows.
func (l *Lot) Read(what track.What, d int) track.Reading {
	w := l.world
	wild := w.rng.Float64() < 0.02
	value := ""
	switch what {
	case track.PH:
		v := w.meter(d, w.truePH(d))
		if wild {
			v = w.meter(d, w.normal(3.5, 0.2)) // another vessel
		}
		value = fmt.Sprintf("%.2f", v)
	case track.PHControl:
		value = fmt.Sprintf("%.2f", w.meter(d, w.ph0))
	case track.PHCheck7:
		value = fmt.Sprintf("%.2f", w.meter(d, 7.00))
	case track.PHCheck356:
		value = fmt.Sprintf("%.2f", w.meter(d, 3.557))
	case track.TA:
		v := w.titrate(d)
		if wild {
			v = w.normal(6.3, 1)
		}
		value = fmt.Sprintf("%.1f", v)
	case track.Chromatogram:
		value = w.chromatogram(d)
	case track.Malic:
		value = fmt.Sprintf("%.2f", w.strip(d))
	case track.Bubble:
		value = fmt.Sprintf("%.0f", w.bubble(d))
	case track.Temperature:
		value = fmt.Sprintf("%.0f", w.normal(w.temp[d], 0.7))
	}
	r, err := track.ParseReading(Start.AddDate(0, 0, d), string(what), value)
	if err != nil {
		// The world read something that no form would take (a bubble in 0.05 s): the
		// person does not write it down.
		return track.Reading{}
	}
	return r
}

// read fills a season of sessions, about weekly, with gaps.
func (l *Lot) read() {
	w := l.world
	gap := -1
	if w.rng.Float64() < 0.3 {
		gap = 14 + w.rng.IntN(60)
	}
	add := func(what track.What, d int) {
		if r := l.Read(what, d); r.What != "" {
			l.Readings = append(l.Readings, r)
		}
	}
	checks, control := w.rng.Float64() < 0.5, w.rng.Float64() < 0.4
	for d := 5 + w.rng.IntN(4); d <= span; d += 6 + w.rng.IntN(3) {
		if (gap >= 0 && d > gap && d < gap+21) || w.rng.Float64() < 0.1 {
			continue
		}
		add(track.PH, d)
		add(track.TA, d)
		add(track.Bubble, d)
		add(track.Temperature, d)
		if checks {
			add(track.PHCheck7, d)
		}
		if control {
			add(track.PHControl, d)
		}
	}
	for d := 30 + w.rng.IntN(10); d <= span; d += 18 + w.rng.IntN(8) {
		add(track.Chromatogram, d)
	}
	if w.rng.Float64() < 0.4 {
		add(track.Malic, 15+w.rng.IntN(40))
	}
}

// state writes down what the person knows on day 0.
func (l *Lot) state(red bool, how malolactic.Inoculation, abv, free, total float64) {
	w := l.world
	f := &l.Facts
	f.Colour = "white"
	if red {
		f.Colour = "red"
	}
	ph := quantity.PH(math.Round(100*w.meter(0, w.ph0)) / 100)
	ta := quantity.Concentration(math.Round(10*w.titrate(0)) / 10)
	temp := quantity.Celsius(math.Round(w.temp[0]))
	v, a, e := quantity.Volume(23), quantity.Strength(abv), quantity.PH(8.2)
	fr, to := quantity.Concentration(math.Round(free))/1000, quantity.Concentration(math.Round(total))/1000
	start := Start
	f.PH, f.TA, f.Temperature, f.Volume, f.Alcohol, f.TAEndPoint = &ph, &ta, &temp, &v, &a, &e
	f.FreeSO2, f.TotalSO2, f.Inoculated, f.Inoculation = &fr, &to, &start, &how
	if w.rng.Float64() < 0.25 {
		m := quantity.Concentration(w.strip(0))
		f.Malic = &m
	}
}

// A Set is which readings a person makes.
type Set struct {
	Name string
	Has  map[track.What]bool
}

// Sets are those that are judged, and none at all.
var Sets = []Set{
	{"none", map[track.What]bool{track.Temperature: true}},
	{"pH", map[track.What]bool{track.Temperature: true, track.PH: true, track.PHCheck7: true, track.PHControl: true}},
	{"pH+TA", map[track.What]bool{track.Temperature: true, track.PH: true, track.PHCheck7: true, track.PHControl: true, track.TA: true}},
	{"pH+airlock", map[track.What]bool{track.Temperature: true, track.PH: true, track.PHCheck7: true, track.PHControl: true, track.Bubble: true}},
	{"sheets", map[track.What]bool{track.Temperature: true, track.Chromatogram: true}},
	{"all", map[track.What]bool{track.Temperature: true, track.PH: true, track.PHCheck7: true, track.PHControl: true, track.TA: true,
		track.Bubble: true, track.Chromatogram: true, track.Malic: true}},
}

// Pick are the readings of the set.
func (s Set) Pick(all []track.Reading) []track.Reading {
	var out []track.Reading
	for _, r := range all {
		if s.Has[r.What] {
			out = append(out, r)
		}
	}
	return out
}
