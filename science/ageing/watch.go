package ageing

import (
	"fmt"
	"math"
	"time"

	"elevage/science/bayes"
	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// A Trend is a straight line through readings with its interval.
type Trend struct {
	PerMonth quantity.Interval[quantity.Concentration] `json:"per_month"` // 90 %
	Rising   float64                                   `json:"rising"`    // probability that it rises at all
	Rises    int                                       `json:"rises"`     // consecutive rises up to the last reading
	Last     quantity.Concentration                    `json:"last"`
}

// Acid is one reading of volatile acidity (as acetic acid), with its standard deviation.
type Acid struct {
	At    time.Time
	Value quantity.Concentration
	SD    quantity.Concentration // 0: 0.03 g/L, a proposal of this project
}

// VolatileTrend fits a straight line by weighted least squares with known scatter;
// the slope, per mean month of 365.25/12 days, has a flat prior. It needs two readings
// or more, in order of time and not all of one day, each 0 to 20 g/L; anything else is
// an error that names the reading.
func VolatileTrend(r []Acid) (Trend, error) {
	if len(r) < 2 {
		return Trend{}, fmt.Errorf("readings of volatile acidity are %d: allowed is 2 or more", len(r))
	}
	var sw, sx, sy float64
	w := make([]float64, len(r))
	for i, a := range r {
		if err := quantity.Check("volatile acidity", a.Value.GPerL(), "g/L", 0, 20); err != nil {
			return Trend{}, err
		}
		if i > 0 && a.At.Before(r[i-1].At) {
			return Trend{}, fmt.Errorf("reading of %s comes after a later one: allowed is in order of time", a.At.Format(time.DateOnly))
		}
		sd := a.SD.GPerL()
		if sd <= 0 {
			sd = 0.03 // proposal: no publication on hand-titrated volatile acidity was read
		}
		w[i] = 1 / (sd * sd)
		x := months(r[0].At, a.At)
		sw, sx, sy = sw+w[i], sx+w[i]*x, sy+w[i]*a.Value.GPerL()
	}
	var sxx, sxy float64
	for i, a := range r {
		dx := months(r[0].At, a.At) - sx/sw
		sxx += w[i] * dx * dx
		sxy += w[i] * dx * (a.Value.GPerL() - sy/sw)
	}
	if sxx == 0 {
		return Trend{}, fmt.Errorf("readings of volatile acidity are all of one day: allowed is two days or more")
	}
	slope, sd := sxy/sxx, 1/math.Sqrt(sxx)
	q := func(p float64) quantity.Concentration {
		return quantity.Concentration(slope + sd*bayes.NormalQuantile(p))
	}
	t := Trend{PerMonth: quantity.Interval[quantity.Concentration]{Q05: q(0.05), Q50: q(0.5), Q95: q(0.95)}, Rising: bayes.NormalCDF(slope / sd), Last: r[len(r)-1].Value}
	for i := len(r) - 1; i > 0 && r[i].Value > r[i-1].Value; i-- {
		t.Rises++
	}
	return t, nil
}

func months(a, b time.Time) float64 { return float64(quantity.Span(a, b)) / (365.25 / 12) }

// Look is what is known of a parcel on a walk through the cellar. Zero values mean
// not known, except Sugar, where SugarKnown says so.
type Look struct {
	At          time.Time
	Vessel      Vessel
	Wood        bool
	Red         bool
	PH          quantity.PH
	Molecular   quantity.Concentration // by the handbook constant
	Temperature quantity.Temperature
	Coldest     quantity.Temperature // since the last look
	Warmest     quantity.Temperature
	Sugar       quantity.Concentration
	SugarKnown  bool
	Wine        quantity.Volume
	Air         quantity.Volume // over the wine
	AirSince    time.Time
	LastTopped  time.Time
	Film        bool
	Volatile    []Acid
	Ethylphenol quantity.Concentration // 4-ethylphenol; 0: not measured
	Idle        time.Duration          // of an empty barrel
}

// A Risk is a danger with its evidence and what to do about it.
type Risk struct {
	Name     string       `json:"name"`
	Evidence []string     `json:"evidence"`
	Act      string       `json:"act"`
	Source   cited.Source `json:"source"`
}

// Watch states the risks that this look shows. None is stated without an act, and
// silence says only that the look shows none. Each carries the source of its line and
// its mark. The error is that of the first figure outside its domain, such as those of
// VolatileTrend and HeadspaceOxygen.
func Watch(l Look) ([]Risk, error) {
	var out []Risk
	for _, f := range []func(Look) (*Risk, error){volatileRisk, brettRisk, airRisk, toppingRisk, swingRisk, filmRisk, idleRisk} {
		r, err := f(l)
		if err != nil {
			return nil, err
		}
		if r != nil {
			out = append(out, *r)
		}
	}
	return out, nil
}

func volatileRisk(l Look) (*Risk, error) {
	if len(l.Volatile) < 2 {
		return nil, nil
	}
	t, err := VolatileTrend(l.Volatile)
	if err != nil || (t.Rising < 0.9 && t.Rises < 3) {
		return nil, err
	}
	r := &Risk{Name: "volatile acidity is rising", Act: "fill up, check SO2, cool; smell the neighbours",
		Source: cited.Source{Text: "a rise of 0.05 g/L a month is a sign; new dry wine is usually under 0.4 g/L (UC Davis page, quoted)", Mark: cited.Memory}}
	r.Evidence = append(r.Evidence, fmt.Sprintf("%.3f g/L a month (%.3f to %.3f), last %.2f g/L", t.PerMonth.Q50.GPerL(), t.PerMonth.Q05.GPerL(), t.PerMonth.Q95.GPerL(), t.Last.GPerL()))
	if t.Rises >= 3 {
		r.Evidence = append(r.Evidence, "three rises in a row")
		r.Act = "quarantine the gear, then " + r.Act
	}
	return r, nil
}

// brettRisk gathers what favours Brettanomyces. The count of conditions is ours; the
// conditions are from the sources named.
func brettRisk(l Look) (*Risk, error) {
	if !l.Red && !l.Wood {
		return nil, nil
	}
	var e []string
	if l.Ethylphenol > 245*quantity.MicrogramPerLitre {
		e = append(e, fmt.Sprintf("4-ethylphenol %.0f µg/L: between 245 and 968 taste decides, above it is Brettanomyces", l.Ethylphenol.GPerL()*1e6))
	}
	if l.Molecular > 0 && l.Molecular < 0.5*quantity.MilligramPerLitre {
		e = append(e, fmt.Sprintf("molecular SO2 %.2f mg/L", l.Molecular.MgPerL()))
	}
	if l.PH > 3.6 {
		e = append(e, fmt.Sprintf("pH %.2f", float64(l.PH)))
	}
	if l.Temperature > 15 {
		e = append(e, fmt.Sprintf("%.0f °C; at 12 °C or below it hardly spreads, though sources conflict", l.Temperature.Celsius()))
	}
	if l.Wood {
		e = append(e, "wood")
	}
	if l.SugarKnown && l.Sugar > 0.2*quantity.GramPerLitre {
		e = append(e, fmt.Sprintf("sugar %.1f g/L; 0.2 feeds it", l.Sugar.GPerL()))
	}
	if len(e) < 3 && l.Ethylphenol <= 245*quantity.MicrogramPerLitre {
		return nil, nil
	}
	return &Risk{Name: "window for Brettanomyces", Evidence: e, Act: "bring SO2 up to the aim, cool, taste for leather and horse; a 4-ethylphenol test settles doubt",
		Source: cited.Source{Text: "barrels at pH 3.42 needed about 1 mg/L molecular (Barata et al. 2008, Int J Food Microbiol 121:201, abstract); no growth at 0.38 to 0.61 (Sturm et al., “Probabilistic model for Dekkera bruxellensis as a function of pH, ethanol and free SO2”, abstract); 4-ethylphenol limits: “Statistical evaluation of 4-ethylphenol and 4-ethylguaiacol”, Periodica Polytechnica Chemical Engineering, article 12857, abstract; that three conditions make a warning is ours", Mark: cited.Proposal}}, nil
}

// airRisk: headspace above 2 % of the wine for a week, which is a proposal.
func airRisk(l Look) (*Risk, error) {
	if l.Wine <= 0 || l.Air <= 0 {
		return nil, nil
	}
	o, err := HeadspaceOxygen(l.Air, l.Wine)
	if err != nil {
		return nil, err
	}
	share := l.Air.Litres() / l.Wine.Litres()
	if share < 0.02 || (!l.AirSince.IsZero() && l.At.Sub(l.AirSince) < 7*24*time.Hour) {
		return nil, nil
	}
	return &Risk{Name: "air over the wine", Evidence: []string{
		fmt.Sprintf("%.1f %% of the wine's volume is air: %.1f mg/L oxygen at each opening, worth about %.0f mg/L free SO2", 100*share, o.MgPerL(), o.MgPerL()*PerOxygen.Location)},
		Act: "fill up, move to a smaller vessel, or gas it at each opening", Source: cited.Source{Text: "0.28 mg O2 per mL of air per litre (computed); the limit of 2 % for a week is ours", Mark: cited.Proposal}}, nil
}

func toppingRisk(l Look) (*Risk, error) {
	if l.Vessel != Barrel || l.LastTopped.IsZero() {
		return nil, nil
	}
	if d := quantity.Span(l.LastTopped, l.At); d > 28 {
		return &Risk{Name: "topping is overdue", Evidence: []string{days(d) + " since the last topping"}, Act: "top, and measure what it took",
			Source: cited.Source{Text: "barrels every 2 to 4 weeks while the bung is opened; a tight barrel left closed holds vacuum and little oxygen (Jackson, quoted)", Mark: cited.CommonPractice}}, nil
	}
	return nil, nil
}

// Swing is the volume that a wine gains from cold to warm, by the density of
// ethanol and water of 12.5 % vol (OIML R 22); dry extract hardly changes it.
// Both temperatures −5 to 40 °C.
func Swing(wine quantity.Volume, cold, warm quantity.Temperature) (quantity.Volume, error) {
	if err := quantity.Check("wine in the vessel", wine.Litres(), "L", 0, 1e6); err != nil {
		return 0, err
	}
	const usual = 12.5 * quantity.PercentVol
	at, err := strength.AlcoholDensity(usual, cold)
	if err != nil {
		return 0, err
	}
	then, err := strength.AlcoholDensity(usual, warm)
	if err != nil {
		return 0, err
	}
	return wine * quantity.Volume(at/then-1), nil
}

// swingRisk: warm wine pushes, cold wine sucks.
func swingRisk(l Look) (*Risk, error) {
	if l.Warmest-l.Coldest < 8 || l.Wine <= 0 {
		return nil, nil
	}
	v, err := Swing(l.Wine, l.Coldest, l.Warmest)
	if err != nil {
		return nil, err
	}
	return &Risk{Name: "temperature swings", Evidence: []string{fmt.Sprintf("%.0f to %.0f °C moves %.0f mL of wine in and out", l.Coldest.Celsius(), l.Warmest.Celsius(), v.Millilitres())},
		Act: "insulate or move it; leave that room under the bung in winter", Source: cited.Source{Text: "thermal expansion at 12.5 % vol (OIML R 22); the limit of 8 °C is ours", Mark: cited.Proposal}}, nil
}

func filmRisk(l Look) (*Risk, error) {
	if !l.Film {
		return nil, nil
	}
	return &Risk{Name: "film on the wine", Evidence: []string{"film seen"}, Act: "top to the bung so that it floats off, free SO2 to the aim, smell and look at the neighbours",
		Source: cited.Source{Text: "film yeast needs air", Mark: cited.CommonPractice}}, nil
}

func idleRisk(l Look) (*Risk, error) {
	if l.Idle < 6*7*24*time.Hour {
		return nil, nil
	}
	return &Risk{Name: "barrel idle", Evidence: []string{days(quantity.Days(l.Idle.Hours()/24)) + " empty"},
		Act:    "treat it again. Burn sulfur outdoors only, away from people with asthma, never in a barrel that smells of spirit: the vapour explodes",
		Source: cited.Source{Text: "burned sulfur repeated every 4 to 6 weeks", Mark: cited.CommonPractice}}, nil
}
