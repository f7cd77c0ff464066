package malolactic

import (
	"math"

	"elevage/science/bayes"
	"elevage/science/quantity"
)

// A Schedule is what happens to a wine, day by day from inoculation. Day k is the
// day that begins k days after inoculation.
type Schedule struct {
	Conditions []Conditions // the different conditions that occur
	On         []int        // On[k] indexes Conditions for day k; the last holds on
	Stirred    []bool       // lees brought up within the ten days before; may be shorter than On
	Added      []Addition   // bacteria added again, ascending by Day
}

// An Addition is bacteria added in mid-course, or wine. Bacteria end a stall, after a
// lag of their own; those that work already go on meanwhile.
type Addition struct {
	Day int
	How Inoculation

	// Share is of wine that came in, of the whole just after; 0 for a culture by
	// itself. It thins the bacteria that there are. Live wine brings its own, taken to be
	// at their ceiling and acclimatised as a Starter is.
	Share float64
	Live  bool
}

// Wakes says whether an addition can end a stall.
func (a Addition) Wakes() bool { return a.Share == 0 || a.Live }

// brings are the cells of an addition and the lag before they work.
func (k *Constants) brings(a Addition) Inoculum {
	switch {
	case a.Share == 0:
		return k.inoculum(a.How)
	case a.Live:
		return Inoculum{k.Ceiling * CellsPerML(a.Share), k.inoculum(Starter).Lag}
	}
	return Inoculum{0, quantity.Days(math.Inf(1))}
}

// Steady is a schedule of unchanging conditions over a number of days, 0 or more.
// Conditions.Check says whether they are those of a wine; Steady does not.
func Steady(c Conditions, days int) *Schedule {
	return &Schedule{Conditions: []Conditions{c}, On: make([]int, days)}
}

// Days is how many days the schedule spells out.
func (s *Schedule) Days() int { return len(s.On) }

// An Activity modulates a course over time: whatever the constants do not know.
type Activity struct {
	Wander []float64     // one multiplier per day, nil for none
	Stir   float64       // multiplier on stirred days; 0 is read as 1
	Stall  quantity.Days // when everything stops; +Inf for never
}

// NoStall is steady activity without end.
var NoStall = Activity{Stir: 1, Stall: quantity.Days(math.Inf(1))}

// Work fills dst with the work done, g/L, at the start of each day 0…Days(): the
// integral of q·f·A over time, which is what Left turns into malic acid. factors
// is scratch with room for the schedule's conditions. It returns dst and the day
// on which the lag ended (+Inf if it did not). factors needs twice as many places
// as there are conditions.
//
// Within a day conditions are steady, so growth is logistic, A = A_max/(1 + y),
// y = y₀ e^−gt, g = μ·f·lot, and its integral over a whole day exact:
// A_max [1 + ln((1+y₁)/(1+y₀))/g]. Slow growth (g below 0.7 a day) is summed by
// Simpson's rule instead, which there is right to 1e-5 of A_max and needs no logarithm.
func (k *Constants) Work(dst, factors []float64, s *Schedule, a Activity) ([]float64, quantity.Days) {
	n := len(s.On)
	if cap(dst) < n+1 {
		dst = make([]float64, n+1)
	}
	dst = dst[:n+1]
	g := growth{dst: dst, s: s, wander: a.Wander, stir: a.Stir,
		rate: factors[:len(s.Conditions)], half: factors[len(s.Conditions):], k: k}
	if g.stir == 0 {
		g.stir = 1
	}
	g.pace()
	var (
		amax   = float64(k.Ceiling)
		lag    = float64(k.Lag) // left to wait, in reference days
		lagEnd = math.Inf(1)
		stall  = float64(a.Stall)
		added  = s.Added
	)
	g.y = amax/float64(k.Start) - 1
	dst[0] = 0
	for d := 0; d < n; {
		for len(added) > 0 && added[0].Day <= d {
			fresh := k.brings(added[0])
			cells := amax / (1 + g.y) * (1 - added[0].Share)
			if stall <= float64(d) && added[0].Wakes() { // nothing of the old ones is alive
				cells, lag, stall = 0, float64(fresh.Lag), math.Inf(1)
			}
			lag = math.Min(lag, float64(fresh.Lag))
			g.y = math.Max(0, amax/(cells+float64(fresh.Start))-1)
			added = added[1:]
		}
		until := n
		if len(added) > 0 {
			until = min(n, added[0].Day)
		}
		if lag <= 0 && stall >= float64(d)+1 { // whole days up to the next event
			until = int(math.Min(float64(until), stall))
			g.days(d, until)
			d = until
			continue
		}
		from, to := 0.0, 1.0 // the part of the day that is worked
		if f := g.speed(d); lag > 0 && f > 0 {
			if pace := math.Sqrt(f / k.Lot); lag >= pace {
				lag -= pace
				from = 1
			} else {
				from = lag / pace
				lagEnd = float64(d) + from
				lag = 0
			}
		} else if lag > 0 {
			from = 1
		}
		to = math.Min(to, stall-float64(d))
		g.part(d, math.Max(0, to-from))
		d++
	}
	return dst, quantity.Days(lagEnd)
}

// A growth adds up work day by day. The number of cells is amax/(1+y).
type growth struct {
	k      *Constants
	s      *Schedule
	dst    []float64
	wander []float64
	stir   float64
	top    float64   // work a day of cells at their ceiling, at speed 1
	rate   []float64 // of each condition: top × speed
	half   []float64 // e^(−g/2), by condition
	y      float64
}

// pace works out the conditions.
func (g *growth) pace() {
	g.top = float64(g.k.Use) * 1e3 * float64(g.k.Ceiling) // g/(cell·day) × cells/mL × mL/L
	per := g.k.Lot / g.k.reference()
	for i := range g.s.Conditions {
		f := g.k.raw(&g.s.Conditions[i]) * per
		g.rate[i] = g.top * f
		g.half[i] = bayes.Exp(-0.5 * float64(g.k.Growth) * f)
	}
}

// speed is that of a day, the lot's own included.
func (g *growth) speed(d int) float64 { return g.rate[g.s.On[d]] / g.top }

// full is the y below which cells are taken to stand at their ceiling.
const full = 1e-4

// days adds whole days.
func (g *growth) days(from, to int) {
	y, sum := g.y, g.dst[from]
	dst, on := g.dst[from+1:to+1], g.s.On[from:to]
	stirred := g.s.Stirred[min(from, len(g.s.Stirred)):]
	for i, c := range on {
		w := g.rate[c]
		if y > full {
			half := g.half[c]
			mid := y * half
			after := mid * half
			if half > 0.7 { // Simpson's rule over one denominator
				a, b, c := 1+y, 1+mid, 1+after
				w *= (c*(b+4*a) + a*b) / (6 * a * b * c)
			} else {
				w *= 1 - bayes.Log((1+after)/(1+y))/(2*bayes.Log(half))
			}
			y = after
		}
		if g.wander != nil {
			w *= g.wander[from+i]
		}
		if i < len(stirred) && stirred[i] {
			w *= g.stir
		}
		sum += w
		dst[i] = sum
	}
	g.y = y
}

// part adds a part of a day.
func (g *growth) part(d int, dt float64) {
	g.dst[d+1] = g.dst[d]
	rate := float64(g.k.Growth) * g.speed(d)
	if dt <= 0 || rate <= 0 {
		return
	}
	cells := dt
	if g.y > full {
		after := g.y * bayes.Exp(-rate*dt)
		cells += bayes.Log((1+after)/(1+g.y)) / rate
		g.y = after
	}
	w := g.rate[g.s.On[d]] * cells
	if g.wander != nil {
		w *= g.wander[d]
	}
	if d < len(g.s.Stirred) && g.s.Stirred[d] {
		w *= g.stir
	}
	g.dst[d+1] += w
}

// Left is the malic acid that remains of m0 after work w against half-saturation
// km: the solution of Km·ln(M/M0) + M − M0 = −w, which is Km·W(exp(L)) with
// L = ln(M0/Km) + (M0 − w)/Km. All in g/L; relative error below 1e-9.
func Left(m0, km quantity.Concentration, w float64) quantity.Concentration {
	t := NewTail(m0, km)
	return t.Left(w)
}

// A Tail is Left for one wine, with what does not change worked out.
type Tail struct{ m0, km, start, per float64 }

// NewTail prepares Left for an initial malic acid m0 and a half-saturation km, g/L, so
// that each later call costs one evaluation of Lambert's W. Both must be above zero
// (wines hold up to some 10 g/L, the priors put km about 0.5): it checks nothing, and a
// negative one gives NaN. Error and source are those of Left.
func NewTail(m0, km quantity.Concentration) Tail {
	a, b := float64(m0), float64(km)
	return Tail{m0: a, km: b, start: bayes.Log(a/b) + a/b, per: 1 / b}
}

// Left is the malic acid, g/L, that remains after work w, g/L, as the function Left has
// it; all of it where w is zero or less.
func (t *Tail) Left(w float64) quantity.Concentration {
	if w <= 0 {
		return quantity.Concentration(t.m0)
	}
	return quantity.Concentration(t.km * LambertWExp(t.start-w*t.per))
}

// To is the work, g/L, after which m is left: the inverse of Left. 0 where m is not
// below what there was, +Inf for m = 0.
func (t *Tail) To(m quantity.Concentration) float64 {
	return WorkTo(quantity.Concentration(t.m0), quantity.Concentration(t.km), m)
}

// WorkTo is the work, g/L, after which m0 has fallen to m: Km·ln(M0/M) + M0 − M, the
// inverse of Left. 0 where m is not below m0, +Inf for m = 0.
func WorkTo(m0, km, m quantity.Concentration) float64 {
	if m >= m0 {
		return 0
	}
	return float64(km)*bayes.Log(float64(m0/m)) + float64(m0-m)
}

// LambertWExp is W(e^x), the w > 0 with w + ln w = x, for any x without overflow.
// Where courses mostly lie (x from −12 to 44) it is a Taylor series of fourth order about
// the nearest node of a table, without logarithm or exponential:
//
//	W′ = w/(1+w), W″ = w/(1+w)³, W‴ = w(1−2w)/(1+w)⁵, W⁗ = w(1−8w+6w²)/(1+w)⁷
//
// Relative error below 1e-9.
func LambertWExp(x float64) float64 {
	if !(x >= lambertFrom && x <= lambertTo) {
		return lambertIterate(x)
	}
	at := (x-lambertFrom)*lambertPer + 0.5
	i := int(at)
	w := lambertNodes[i]
	d := x - (lambertFrom + float64(i)/lambertPer)
	r := 1 / (1 + w)
	q := d * r * r
	return w + w*d*r*(1+q/2*(1+q/3*(1-2*w+q/4*(1-8*w+6*w*w))))
}

const (
	lambertFrom, lambertTo = -12, 44
	lambertPer             = 16 // nodes per unit of x: an error of (1/32)⁵/120 times the fifth derivative, w at most
)

var lambertNodes = func() (w [(lambertTo-lambertFrom)*lambertPer + 2]float64) {
	for i := range w {
		w[i] = lambertIterate(lambertFrom + float64(i)/lambertPer)
	}
	return w
}()

// lambertIterate works W(e^x) out. A series or asymptote starts, and steps of the
// iteration of Fritsch, Shafer & Crowley (1973, Comm ACM 16:123; as given by Corless
// et al. 1996, Adv Comput Math 5:329) finish: each leaves the fourth power of the
// error before.
func lambertIterate(x float64) float64 {
	var w float64
	switch {
	case x < -12: // W(z) = z − z² + …; the next term is below 1e-10
		e := math.Exp(x)
		return e * (1 - e)
	case x < -1:
		e := math.Exp(x)
		w = e * (1 - e*(1-e*(1.5-e*(8.0/3))))
		if x > -1.5 {
			w = 0.567143290409784 + x*(0.361896256634889+x*(0.0736778517637272-x*0.001342859654978))
		}
	case x < 2.5:
		w = 0.567143290409784 + x*(0.361896256634889+x*(0.0736778517637272-x*0.001342859654978)) // Taylor at 0
	default:
		l := math.Log(x)
		w = x - l + l/x
	}
	for i := 0; i < 6; i++ {
		z := x - math.Log(w) - w
		q := 2 * (1 + w) * (1 + w + 2*z/3)
		e := z / (1 + w) * (q - z) / (q - 2*z)
		w *= 1 + e
		if math.Abs(e) < 3e-3 {
			break
		}
	}
	return w
}

// A Course is malic acid over time for known constants.
type Course struct {
	Initial        quantity.Concentration
	HalfSaturation quantity.Concentration
	LagEnd         quantity.Days
	work           []float64
}

// Course follows m0, g/L and above 0, through a schedule of a day or more without stall
// or wander. It checks nothing; Conditions.Check does.
func (k *Constants) Course(m0 quantity.Concentration, s *Schedule) Course {
	w, lag := k.Work(nil, make([]float64, 2*len(s.Conditions)), s, NoStall)
	return Course{Initial: m0, HalfSaturation: k.HalfSaturation, LagEnd: lag, work: w}
}

// At is the malic acid at t days after inoculation (linear in work within a day;
// the last day holds on).
func (c Course) At(t quantity.Days) quantity.Concentration {
	f := math.Max(0, math.Min(float64(t), float64(len(c.work)-1)))
	i := min(int(f), len(c.work)-2)
	w := c.work[i] + (f-float64(i))*(c.work[i+1]-c.work[i])
	return Left(c.Initial, c.HalfSaturation, w)
}

// DaysTo is when malic acid first falls to a limit above 0, in days from inoculation;
// +Inf if not within the schedule.
func (c Course) DaysTo(limit quantity.Concentration) quantity.Days {
	return DayOfWork(c.work, WorkTo(c.Initial, c.HalfSaturation, limit))
}

// DayOfWork is the day on which cumulated work (g/L at the start of each day, as Work
// gives it) first reaches want, linear within a day; +Inf if never.
func DayOfWork(work []float64, want float64) quantity.Days {
	n := len(work) - 1
	if want <= 0 {
		return 0
	}
	if work[n] < want {
		return quantity.Days(math.Inf(1))
	}
	lo, hi := 0, n // work[lo] < want ≤ work[hi]
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; work[mid] < want {
			lo = mid
		} else {
			hi = mid
		}
	}
	return quantity.Days(float64(lo) + (want-work[lo])/(work[hi]-work[lo]))
}
