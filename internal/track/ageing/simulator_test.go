package ageing_test

import (
	"math"
	"math/rand/v2"
	"time"

	"elevage/internal/track/ageing"
	science "elevage/science/ageing"
	"elevage/science/quantity"
	"elevage/science/sulfite"
)

// A world is a wine that ages by other laws than the belief's: carbonyls bind SO2 by
// mass action and let go again (Kd as recalled in the reference after Burroughs &
// Sparks 1973), oxygen dissolves and is used by first order, each mg takes 2 to 4
// mg of total SO2 with a share that climbs with age (Danilewicz & Standing 2018 in
// direction), the cellar has seasons, the ingress wanders, bungs leak unnoticed,
// and test kits scatter with heavy tails.
type world struct {
	rng      *rand.Rand
	vessel   science.Vessel
	volume   quantity.Volume
	red      bool
	ph       float64
	total    float64 // mg/L
	free     float64
	oxygen   float64 // dissolved, mg/L
	binders  [3]struct{ most, kd float64 }
	ingress  float64 // mg O2/L/year
	q10      float64
	ratio    float64
	climb    float64 // of the ratio, per year
	tau      float64
	warm     float64 // mean °C
	swing    float64
	wander   float64
	offset   float64 // of the test
	scatter  float64
	day      float64
	start    time.Time
	leakDay  float64
	topped   bool
	method   ageing.Method
	recorded ageing.Input
}

func uniform(r *rand.Rand, a, b float64) float64 { return a + (b-a)*r.Float64() }

func newWorld(seed uint64) *world {
	r := rand.New(rand.NewPCG(seed, 77))
	w := &world{rng: r, red: r.Float64() < 0.7, ph: uniform(r, 3.25, 3.75), q10: uniform(r, 1.2, 2.8),
		ratio: uniform(r, 2.6, 3.8), climb: uniform(r, 0, 0.6), tau: uniform(r, 0.5, 3), warm: uniform(r, 11, 18), swing: uniform(r, 0, 6),
		wander: 1, start: time.Date(2024, 11, 1, 10, 0, 0, 0, time.UTC), leakDay: -1}
	switch {
	case r.Float64() < 0.45:
		w.vessel, w.volume, w.ingress = science.Glass, 23, 0.5*math.Pow(6, r.Float64())
	case r.Float64() < 0.65:
		w.vessel, w.volume, w.ingress, w.topped = science.Barrel, 225, 11.4*math.Pow(27/11.4, r.Float64()), true
	default:
		w.vessel, w.volume, w.ingress = science.Steel, 50, 0.1*math.Pow(10, r.Float64())
	}
	if r.Float64() < 0.1 {
		w.leakDay = uniform(r, 30, 300)
	}
	for i, b := range [3]struct{ lo, hi, ratio, kd float64 }{{5, 25, 1.4541, 0.0015}, {5, 50, 0.7274, 0.14}, {10, 80, 0.4385, 0.49}} {
		w.binders[i].most, w.binders[i].kd = uniform(r, b.lo, b.hi)*b.ratio, b.kd*64
	}
	w.method, w.offset, w.scatter = ageing.Aspiration, -1+2*r.NormFloat64(), 1.5
	if r.Float64() < 0.4 {
		w.method, w.offset, w.scatter = ageing.Iodine, 2*r.NormFloat64(), 2.5
		if w.red {
			w.offset = uniform(r, 3, 10)
		}
	}
	aim, _ := sulfite.Handbook.Target(0.5 * quantity.MilligramPerLitre)
	w.recorded = ageing.Input{Vessel: w.vessel, Size: w.volume, Volume: w.volume, Red: w.red, Alcohol: 13, Floor: aim,
		PH: quantity.PH(w.ph + 0.06*r.NormFloat64()), Seed: seed}
	return w
}

// settled is free SO2 at equilibrium with the binders, by bisection of the mass balance.
func (w *world) settled() float64 {
	lo, hi := 0.0, w.total
	for range 50 {
		f := (lo + hi) / 2
		sum := f
		for _, b := range w.binders {
			sum += b.most * f / (f + b.kd)
		}
		if sum > w.total {
			hi = f
		} else {
			lo = f
		}
	}
	return (lo + hi) / 2
}

func (w *world) at() time.Time { return w.start.Add(quantity.Days(w.day).Duration()) }

// live lets days pass in quarters of a day.
func (w *world) live(days float64) {
	for range int(days * 4) {
		const dt = 0.25
		t := w.warm + w.swing*math.Sin(2*math.Pi*(w.day+60)/365)
		if math.Mod(w.day, 7) < dt {
			w.wander = math.Exp(0.3 * w.rng.NormFloat64())
		}
		if w.leakDay > 0 && w.day > w.leakDay {
			w.oxygen, w.leakDay = w.oxygen+3, -1
		}
		f := math.Pow(w.q10, (t-15)/10)
		w.oxygen += w.ingress / 365.25 * f * w.wander * dt
		used := w.oxygen * -math.Expm1(-0.15*f*dt)
		w.oxygen -= used
		ratio := math.Min(4, w.ratio+w.climb*w.day/365)
		w.total = math.Max(0, w.total-used*ratio*w.free/(w.free+4))
		w.free += (w.settled() - w.free) * -math.Expm1(-dt/w.tau)
		w.free = math.Min(w.free, w.total)
		w.day += dt
	}
}

func (w *world) add(mgPerL float64) {
	really := mgPerL * (1 + 0.06*w.rng.NormFloat64())
	w.total += really
	w.free += really
	w.recorded.Doses = append(w.recorded.Doses, ageing.Dose{At: w.at(), SO2: quantity.Concentration(mgPerL) * mg})
}

func (w *world) event(k science.Event, oxygen float64) {
	w.oxygen += oxygen
	w.recorded.Events = append(w.recorded.Events, ageing.Event{At: w.at(), Kind: k})
}

// read takes a sample: scatter of a t with four degrees of freedom, scaled to unit SD, and now and then a slip of the pen.
func (w *world) read() {
	chi := -2 * math.Log((1-w.rng.Float64())*(1-w.rng.Float64())) // χ² of four degrees
	y := w.free + w.offset + w.scatter*w.rng.NormFloat64()*math.Sqrt(2/chi)
	if w.rng.Float64() < 0.02 {
		y = uniform(w.rng, 0, 80)
	}
	w.recorded.Readings = append(w.recorded.Readings, ageing.Reading{At: w.at(), Of: ageing.Free, Method: w.method,
		Value: quantity.Concentration(math.Round(math.Max(0, y))) * mg})
	t := w.warm + w.swing*math.Sin(2*math.Pi*(w.day+60)/365)
	w.recorded.Temperatures = append(w.recorded.Temperatures, ageing.Temperature{At: w.at(), Value: quantity.Temperature(math.Round(t + 0.7*w.rng.NormFloat64()))})
}

// month is four and a half weeks of an ordinary cellar: topping of barrels, a
// racking now and then, and a reading if wanted.
func (w *world) month(n int, reading bool) {
	w.live(uniform(w.rng, 25, 35))
	if w.topped {
		w.event(science.Topping, uniform(w.rng, 0.2, 0.5))
	}
	if n%4 == 3 {
		if w.rng.Float64() < 0.7 {
			w.event(science.RackingCareful, uniform(w.rng, 0.5, 2))
		} else {
			w.event(science.RackingOpen, uniform(w.rng, 3, 6))
		}
	}
	if reading {
		w.read()
	}
}

// needs is the free SO2 at the floor by the true pH.
func (w *world) needs() float64 {
	f, _ := w.recorded.Floor.Free(sulfite.Wine{PH: quantity.PH(w.ph), Alcohol: 13, Temperature: 20})
	return f.MgPerL()
}
