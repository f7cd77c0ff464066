package primary_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"elevage/internal/track/primary"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// A vat ferments by another law than the belief's: two sugars that compete for
// transporters, transporters that decay once nitrogen is gone (in the manner of
// Malherbe et al. 2004), a ceiling of alcohol instead of death by it, heat that
// kills above 33 °C, an activity that wanders from day to day, extract that comes out
// of the skins, and now and then a stop for no reason at all. Its floats are off,
// lifted by bubbles, read at whole degrees and sometimes wrongly.
type vat struct {
	rng                    *rand.Rand
	glucose, fructose      float64 // g/L
	nitrogen               float64 // g/L
	cells, carriers, awake float64
	ethanol                float64 // g/L
	speed, grow, ceiling   float64
	decay, adapt, yield    float64
	wander                 float64
	stopAt, fade           float64 // hours
	base, daily, peakWarm  float64 // °C
	hour                   float64
	sugar0                 float64
	offset                 float64 // Brix
	rate                   float64 // g/(L·h), last
	extract                float64
	start                  time.Time
	in                     primary.Input
	reads                  int
}

func uniform(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

func newVat(seed uint64) *vat {
	r := rand.New(rand.NewPCG(seed, 991))
	v := &vat{rng: r, nitrogen: 0.09 * math.Pow(3, r.Float64()), carriers: 1, cells: 0.2 * uniform(r, 0.5, 1), wander: 1,
		speed: 0.36 * math.Exp(0.25*r.NormFloat64()), grow: 0.09 * math.Exp(0.15*r.NormFloat64()), ceiling: uniform(r, 118, 145), decay: 0.0008 * math.Exp(0.5*r.NormFloat64()),
		adapt: math.Exp(-1.9 + 0.5*r.NormFloat64()), yield: uniform(r, 14, 20), stopAt: math.Inf(1), fade: uniform(r, 8, 30), offset: 0.3 * r.NormFloat64(), extract: uniform(r, 18, 24),
		base: uniform(r, 18, 25), daily: uniform(r, 0, 2), peakWarm: uniform(r, 1, 9), start: time.Date(2025, 9, 20, 9, 0, 0, 0, time.UTC)}
	v.sugar0 = uniform(r, 195, 262)
	v.glucose, v.fructose = v.sugar0*0.48, v.sugar0*0.52
	if r.Float64() < 0.12 {
		v.stopAt = uniform(r, 48, 240)
	}
	v.in = primary.Input{Volume: 100, Red: true, Pitched: v.start, Yeast: 0.2, PH: 3.5, Seed: seed}
	if r.Float64() < 0.5 {
		v.in.Nitrogen = &primary.Measured{Value: quantity.Concentration(v.nitrogen * math.Exp(0.15*r.NormFloat64()))}
	}
	return v
}

func (v *vat) sugar() float64 { return v.glucose + v.fructose }

func (v *vat) warmth() float64 {
	return v.base + v.daily*math.Sin(2*math.Pi*v.hour/24) + v.peakWarm*math.Min(1, v.rate/3)
}

// run lets hours pass, in tenths.
func (v *vat) run(hours float64) {
	const dt = 0.1
	for range int(math.Round(hours / dt)) {
		t := v.warmth()
		if math.Mod(v.hour, 24) < dt {
			v.wander = math.Exp(0.6*math.Log(v.wander) + 0.12*v.rng.NormFloat64())
		}
		v.awake = math.Min(1, v.awake+v.adapt*math.Exp(0.06*(t-20))*dt*math.Max(0.03, v.awake))
		growth := v.grow * math.Exp(0.06*(t-20)) * v.nitrogen / (v.nitrogen + 0.015) * v.awake * math.Max(0, 1-v.ethanol/v.ceiling) * v.cells
		used := math.Min(v.nitrogen, growth/v.yield*dt)
		v.nitrogen -= used
		v.cells += used * v.yield
		if v.nitrogen < 0.002 {
			v.carriers *= math.Exp(-v.decay * math.Exp(0.05*(t-20)) * dt)
		}
		if t > 33 {
			v.cells *= math.Exp(-0.02 * (t - 33) * dt)
		}
		act := v.speed * 2 * math.Exp(0.06*(t-20)) * v.cells * v.carriers * v.awake * v.wander * math.Pow(math.Max(0, 1-v.ethanol/v.ceiling), 0.8)
		if v.hour > v.stopAt {
			act *= 0.01 + 0.99*math.Exp(-(v.hour-v.stopAt)/v.fade)
		}
		const kg, kf = 6, 11
		g := act * v.glucose / (v.glucose + kg*(1+v.fructose/kf))
		f := act * 0.9 * v.fructose / (v.fructose + kf*(1+v.glucose/kg))
		g, f = math.Min(g*dt, v.glucose), math.Min(f*dt, v.fructose)
		v.glucose, v.fructose = v.glucose-g, v.fructose-f
		v.ethanol += 0.47 * (g + f)
		v.rate = (g + f) / dt
		v.extract = math.Min(27, v.extract+0.02*dt*math.Min(1, v.hour/100))
		v.hour += dt
	}
}

func (v *vat) at() time.Time {
	return v.start.Add(time.Duration(v.hour * float64(time.Hour))).Truncate(time.Minute)
}

// gravity is what a true float would show.
func (v *vat) gravity() float64 {
	d, err := strength.WineDensity(quantity.Strength(v.ethanol/7.8924), quantity.Concentration(v.sugar()+v.extract), 20)
	if err != nil {
		panic(err)
	}
	return float64(strength.SpecificGravityOf(d))
}

// read takes a density, degassed one time in three, to half a thousandth.
func (v *vat) read() {
	degassed := v.reads%3 == 0
	scatter, lift := 0.12, 0.0
	if !degassed {
		scatter, lift = 0.35, 0.1*math.Min(2, v.rate)
	}
	chi := -2 * math.Log((1-v.rng.Float64())*(1-v.rng.Float64()))
	brix := v.offset + lift + scatter*v.rng.NormFloat64()*math.Sqrt(2/chi)
	sg := v.gravity() + 0.004*brix
	if v.rng.Float64() < 0.01 {
		sg += uniform(v.rng, -0.02, 0.02)
	}
	sg = math.Max(0.985, math.Round(sg*2000)/2000)
	t := math.Round(v.warmth() + 0.8*v.rng.NormFloat64())
	v.in.Readings = append(v.in.Readings, primary.Reading{ID: fmt.Sprint("r", v.reads), At: v.at(), What: primary.Gravity, Value: sg, Temperature: 20, Degassed: degassed})
	v.in.Warmth = append(v.in.Warmth, primary.Temperature{At: v.at(), Value: quantity.Temperature(t)})
	v.reads++
}

// day is a day of an ordinary cellar: two readings, one of five forgotten; in the tail
// one a day.
func (v *vat) day() {
	for half := range 2 {
		v.run(12)
		if v.rng.Float64() < 0.8 && (v.rate > 0.3 || half == 1) {
			v.read()
		}
	}
}

// fate reports whether a copy of the vat, left alone, fails to come dry in 45 days,
// and when it does come dry (hours from pitching).
func (v *vat) fate() (sticks bool, dryAt float64) {
	c := *v
	c.rng = rand.New(rand.NewPCG(uint64(v.hour*10)+uint64(v.sugar0*1e6), 5))
	for end := v.hour + 45*24; c.hour < end; {
		if c.sugar() <= 2 {
			return false, c.hour
		}
		c.run(1)
	}
	return true, math.Inf(1)
}
