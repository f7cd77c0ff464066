package gas

import (
	"fmt"

	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/root"
	"elevage/science/strength"
)

// A Bottle is a closed vessel as it was when the closure went in.
type Bottle struct {
	Wine      quantity.Volume      // filled in
	Headspace quantity.Volume      // gas space under the closure
	Closed    quantity.Temperature // of wine and gas at closing
	// Air is the absolute pressure of the gas sealed in that is not CO2:
	// quantity.Atmosphere where nothing was done, less under vacuum. A cork driven
	// into a full neck squeezes it to more.
	Air quantity.Pressure
}

// Filled is a 750 mL bottle with 15 mL of headspace, closed at 20 °C in plain air.
var Filled = Bottle{Wine: 750 * quantity.Millilitre, Headspace: 15 * quantity.Millilitre, Closed: 20, Air: quantity.Atmosphere}

// Contents is the wine at closing.
type Contents struct {
	Alcohol   quantity.Strength
	Dissolved quantity.Concentration // CO2 in it
	Sugar     quantity.Concentration // that yeast could still ferment
	Malic     quantity.Concentration // that bacteria could still convert
	Extract   quantity.Concentration // for how the wine expands; 25 g/L is usual, and 0 does little harm
}

// CO2 is all the CO2 there will be per litre of wine once sugar and malic acid are
// gone: dissolved + 0.4886·sugar + 0.3282·malic.
func (c Contents) CO2() quantity.Concentration {
	return c.Dissolved + FromHexose(c.Sugar) + FromMalic(c.Malic)
}

// after is the liquid once the sugar is fermented.
func (c Contents) after() Liquid {
	return Liquid{Alcohol: c.Alcohol + quantity.Strength(c.Sugar.GPerL()/float64(strength.MustLaw))}
}

// Pressed is the state of a closed bottle at rest.
type Pressed struct {
	CO2       quantity.Pressure // partial pressure of CO2
	Air       quantity.Pressure // of the other gas sealed in
	Gauge     quantity.Pressure // CO2 + Air − 1 atm: what glass and closure feel
	Dissolved quantity.Concentration
	Headspace quantity.Volume // left at this temperature
	InWine    quantity.Mass   // of CO2
	InGas     quantity.Mass   // of CO2
}

// BrimFullError says that the wine, grown by warmth, leaves no gas space: the
// pressure is then that of a liquid against a closure and cannot be reckoned so.
type BrimFullError struct {
	At     quantity.Temperature
	Growth quantity.Volume // of the wine since closing
	Space  quantity.Volume // headspace at closing
}

// Error says at which temperature and by how many millilitres the bottle is too full.
func (e *BrimFullError) Error() string {
	return fmt.Sprintf("bottle is brim-full at %.3g °C: the wine has grown by %.2g mL, the headspace was %.2g mL: the closure will move or leak",
		e.At.Celsius(), e.Growth.Millilitres(), e.Space.Millilitres())
}

// leastGas is the smallest gas space for which a pressure is given, as a share of
// the wine: below, an error of a drop in the filling changes it by half.
const leastGas = 1e-4

// Pressure reckons a bottle at rest at a temperature by the mass balance of CO2
//
//	m = V_L·s·p + V_G·p·M/(R·T)
//
// and by the gas law for the air sealed in, which stays (its oxygen is used up in
// time, its nitrogen hardly dissolves). The headspace shrinks as the wine expands
// ([strength.Expansion]) and grows with the glass. Alcohol from the sugar counts in
// the solubility; CO2 is an ideal gas (3 % too high at 6 bar). Against champagne at
// 6, 12 and 20 °C (Liger-Belair et al. 2017) within 8 %.
//
// Domain: 0 to 35 °C; 0 to 16 g/L CO2 in all; refused when brim-full.
func (r Relation) Pressure(b Bottle, c Contents, at quantity.Temperature) (Pressed, error) {
	if err := b.check(); err != nil {
		return Pressed{}, err
	}
	if err := c.check(); err != nil {
		return Pressed{}, err
	}
	solubility, err := r.Solubility(c.after(), at)
	if err != nil {
		return Pressed{}, err
	}
	growth, err := strength.Expansion(c.Alcohol, c.Extract, b.Closed, at)
	if err != nil {
		return Pressed{}, err
	}
	wine := b.Wine.Litres() * growth
	glass := 1 + glassExpansion*(at-b.Closed).Celsius()
	space := (b.Wine+b.Headspace).Litres()*glass - wine
	if space < leastGas*wine {
		return Pressed{}, &BrimFullError{At: at, Growth: quantity.Volume(wine) - b.Wine, Space: b.Headspace}
	}
	total := c.CO2().In(b.Wine).Grams()
	perGram := litresPerGram(at, quantity.Atmosphere) * quantity.Atmosphere.Pascals() // Pa·L/g
	p := total / (wine*float64(solubility) + space/perGram)
	air := b.Air.Pascals() * b.Headspace.Litres() / space * at.Kelvin() / b.Closed.Kelvin()
	return Pressed{
		CO2:       quantity.Pressure(p),
		Air:       quantity.Pressure(air),
		Gauge:     quantity.Pressure(p+air) - quantity.Atmosphere,
		Dissolved: solubility.At(quantity.Pressure(p)),
		Headspace: quantity.Volume(space),
		InWine:    quantity.Mass(wine * float64(solubility) * p),
		InGas:     quantity.Mass(space / perGram * p),
	}, nil
}

const glassExpansion = 25e-6 // 1/K, soda-lime glass

func (b Bottle) check() error {
	if err := quantity.Check("volume of wine", b.Wine.Millilitres(), "mL", 20, 60000); err != nil {
		return err
	}
	if err := quantity.Check("headspace", b.Headspace.Millilitres(), "mL", 0.05, b.Wine.Millilitres()); err != nil {
		return err
	}
	if err := quantity.Check("temperature at closing", b.Closed.Celsius(), "°C", 0, 35); err != nil {
		return err
	}
	return quantity.Check("air sealed in", b.Air.Bars(), "bar", 0, 4)
}

func (c Contents) check() error {
	for _, f := range []struct {
		name string
		v    quantity.Concentration
		hi   float64
	}{{"dissolved CO2", c.Dissolved, 16}, {"fermentable sugar", c.Sugar, 32}, {"malic acid", c.Malic, 15}, {"CO2 in all", c.CO2(), 16}} {
		if err := quantity.Check(f.name, f.v.GPerL(), "g/L", 0, f.hi); err != nil {
			return err
		}
	}
	return nil
}

// Forecast is a bottle's pressure by both solubility relations; they part by up to
// 8 % in a warm bottle, and danger is judged by the higher.
type Forecast struct {
	Official, Sparkling Pressed
	Hazard              Hazard
}

// Worst is the state with the higher gauge pressure.
func (f Forecast) Worst() Pressed {
	if f.Sparkling.Gauge > f.Official.Gauge {
		return f.Sparkling
	}
	return f.Official
}

// ForecastBottle reckons what a bottle comes to at a temperature if everything that
// can make gas does. Domain and errors are those of Relation.Pressure: 0 to 35 °C, 16
// g/L CO2 in all, a *BrimFullError where the wine has filled the bottle.
func ForecastBottle(b Bottle, c Contents, at quantity.Temperature) (Forecast, error) {
	official, err := Official.Pressure(b, c, at)
	if err != nil {
		return Forecast{}, err
	}
	sparkling, err := Sparkling.Pressure(b, c, at)
	f := Forecast{Official: official, Sparkling: sparkling}
	f.Hazard = Judge(f.Worst().Gauge)
	return f, err
}

// Hazard is how a gauge pressure is judged for glass and corks of still wine, which
// are rated for none.
type Hazard uint8

// The grades. The limits are proposals of this project, set where corks are said to
// begin to move (about 1 atm); they are not a rating of any bottle.
const (
	Calm    Hazard = iota // up to 1.0 atm gauge
	Caution               // above 1.0 atm: corks may move
	Danger                // above 1.5 atm: a bottle may burst
)

// Limits of the grades, gauge.
const (
	CautionAbove = quantity.Atmosphere
	DangerAbove  = 1.5 * quantity.Atmosphere
)

// HazardSource marks the limits for what they are.
var HazardSource = cited.Source{Text: "limits of 1.0 and 1.5 atm gauge for still-wine glass and corks", Mark: cited.Proposal}

// Judge grades a gauge pressure by CautionAbove and DangerAbove, which are proposals of
// this project (HazardSource).
func Judge(gauge quantity.Pressure) Hazard {
	switch {
	case gauge > DangerAbove:
		return Danger
	case gauge > CautionAbove:
		return Caution
	}
	return Calm
}

// String is the grade in one word.
func (h Hazard) String() string { return [...]string{"calm", "caution", "danger"}[min(h, Danger)] }

// SugarWithin is the most fermentable sugar with which the worse of both relations
// keeps a bottle at or under a gauge pressure at a temperature, malic acid and CO2
// as given; c.Sugar is ignored. 0 when even without sugar the limit is passed, and
// never above 32 g/L. Domain and errors are those of ForecastBottle.
func SugarWithin(limit quantity.Pressure, b Bottle, c Contents, at quantity.Temperature) (quantity.Concentration, error) {
	gauge := func(sugar float64) (float64, error) {
		c.Sugar = quantity.Concentration(sugar)
		f, err := ForecastBottle(b, c, at)
		return f.Worst().Gauge.Bars(), err
	}
	least, err := gauge(0)
	if err != nil {
		return 0, err
	}
	c.Sugar = 0
	top := min(32, (16-c.CO2().GPerL())/PerHexose*(1-1e-9))
	most, err := gauge(top)
	if err != nil {
		return 0, err
	}
	switch {
	case least >= limit.Bars():
		return 0, nil
	case most <= limit.Bars():
		return quantity.Concentration(top), nil
	}
	s, err := root.Between(func(s float64) float64 {
		g, err := gauge(s)
		if err != nil {
			return most
		}
		return g - limit.Bars()
	}, 0, top)
	return quantity.Concentration(s), err
}
