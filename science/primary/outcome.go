package primary

import (
	"elevage/science/acidbase"
	"elevage/science/cited"
	"elevage/science/quantity"
	"elevage/science/strength"
)

// MustEntry is a must as it was found.
type MustEntry struct {
	Volume      quantity.Volume
	Brix        strength.Brix // by refractometer at 20 °C
	PH          quantity.PH
	TA          quantity.Concentration // as tartaric, to EndPoint
	EndPoint    quantity.PH            // 0: 8.2
	Malic       quantity.Concentration // 0: not measured; nothing is said of malolactic then
	Nitrogen    quantity.Concentration
	Temperature quantity.Temperature // of the pH reading; 0: 20 °C
}

// Correction is what is thought of doing to it. Zero values leave alone. Order: water,
// then sugar, then acid, as the must stands after each.
type Correction struct {
	WaterToBrix strength.Brix // down to this
	SugarToBrix strength.Brix // up to this, with sucrose
	Acid        acidbase.Agent
	AcidDose    quantity.Concentration // per litre of the must after water and sugar
	Nitrogen    quantity.Concentration // as N
}

// An Outcome is a must after a correction and the wine it may become.
type Outcome struct {
	Must MustFigures `json:"must"`
	Wine WineFigures `json:"wine"`
	// Water and Sugar are what the correction takes, Acid the weight of it.
	Water quantity.Mass `json:"water"`
	Sugar quantity.Mass `json:"sugar"`
	Acid  quantity.Mass `json:"acid"`
	Notes []string      `json:"notes"`
}

// MustFigures are those of a must.
type MustFigures struct {
	Volume   quantity.Volume        `json:"volume"`
	Brix     strength.Brix          `json:"brix"`
	PH       quantity.PH            `json:"ph"`
	TA       quantity.Concentration `json:"ta"`
	Nitrogen quantity.Concentration `json:"nitrogen"`
	Gap      *NutrientGap           `json:"gap,omitempty"`
}

// WineFigures are those of the wine to come. The bounds of pH and TA run from a wine
// that keeps all its bitartrate to one from which all that can has fallen at 15 °C.
type WineFigures struct {
	Alcohol      quantity.Bounds[quantity.Strength]       `json:"alcohol"`
	PH           quantity.Bounds[quantity.PH]             `json:"ph"`
	TA           quantity.Bounds[quantity.Concentration]  `json:"ta"`
	AfterMalic   *quantity.Bounds[quantity.PH]            `json:"ph_after_malolactic,omitempty"`
	TAAfterMalic *quantity.Bounds[quantity.Concentration] `json:"ta_after_malolactic,omitempty"`
	PHSpread     quantity.PH                              `json:"ph_spread"` // one SD on top, of a pH that was not read but reckoned
	Source       cited.Source                             `json:"source"`
}

// Foresee reckons what becomes of a must, corrected or not. Call it twice, with and
// without the correction, to show them side by side.
//
// Alcohol: strength.PotentialAlcohol by 16.83 g/L for 1 % vol. pH and TA: the must is
// anchored on its readings (acidbase.Anchor), corrected along its own buffer curve, given
// its alcohol, and left between keeping and losing bitartrate. Not counted: malic acid
// that yeast uses (some tenth or two) and succinic acid that it makes, which pull
// TA in opposite directions, and potassium out of the skins of reds, which
// lifts pH by more than all else; hence PHSpread. Bad input comes back as an error
// that names the field.
func Foresee(e MustEntry, c Correction) (Outcome, error) {
	if e.EndPoint == 0 {
		e.EndPoint = 8.2
	}
	if e.Temperature == 0 {
		e.Temperature = 20
	}
	if err := quantity.Check("volume of must", e.Volume.Litres(), "L", 0.1, 1e6); err != nil {
		return Outcome{}, err
	}
	if err := quantity.Check("Brix of the must", float64(e.Brix), "Brix", 10, 30); err != nil {
		return Outcome{}, err
	}
	must, err := acidbase.Anchor(acidbase.Measured{PH: e.PH, TA: e.TA, EndPoint: e.EndPoint, Malic: e.Malic, Temperature: e.Temperature})
	if err != nil {
		return Outcome{}, err
	}
	o := Outcome{Must: MustFigures{Volume: e.Volume, Brix: e.Brix, Nitrogen: e.Nitrogen}}
	left, err := o.correct(e, c, must)
	if err != nil {
		return Outcome{}, err
	}
	if o.Must.PH, err = left.PH(); err != nil {
		return Outcome{}, err
	}
	if o.Must.TA, err = left.TA(e.EndPoint, acidbase.Tartaric); err != nil {
		return Outcome{}, err
	}
	if e.Nitrogen > 0 {
		g, err := Gap(float64(o.Must.Brix), o.Must.Nitrogen)
		if err != nil {
			return Outcome{}, err
		}
		o.Must.Gap = &g
	}
	return o, o.ferment(e, left)
}

// correct works through the correction and gives the composition left.
func (o *Outcome) correct(e MustEntry, c Correction, must acidbase.Wine) (acidbase.Composition, error) {
	left := must.Composition
	thin := func(after quantity.Volume) {
		o.Must.Nitrogen *= quantity.Concentration(o.Must.Volume / after)
		o.Must.Volume = after
	}
	if c.WaterToBrix > 0 {
		a, err := strength.WaterAddition(o.Must.Volume, o.Must.Brix, c.WaterToBrix)
		if err != nil {
			return left, err
		}
		water := a.Volume - o.Must.Volume
		if left, err = left.WithWater(o.Must.Volume, water); err != nil {
			return left, err
		}
		o.Water, o.Must.Brix = a.Added, a.Brix
		thin(a.Volume)
		o.Notes = append(o.Notes, "Water is not allowed everywhere; acidulate it, or pH rises with the thinning.")
	}
	if c.SugarToBrix > 0 {
		a, err := strength.SugarAddition(o.Must.Volume, o.Must.Brix, c.SugarToBrix)
		if err != nil {
			return left, err
		}
		if left, err = left.WithWater(o.Must.Volume, a.Volume-o.Must.Volume); err != nil { // sugar thins the acids as its own volume of water would
			return left, err
		}
		o.Sugar, o.Must.Brix = a.Added, a.Brix
		thin(a.Volume)
		o.Notes = append(o.Notes, "Whether sugar may be added, and how much, the law decides.")
	}
	if c.AcidDose > 0 {
		var err error
		if left, err = left.Add(c.Acid, c.AcidDose); err != nil {
			return left, err
		}
		o.Acid = c.AcidDose.In(o.Must.Volume)
		o.Notes = append(o.Notes, "Part of added tartaric acid falls out again as bitartrate: correct half, read, then the rest.")
	}
	if err := quantity.Check("nitrogen given", c.Nitrogen.MgPerL(), "mg/L", 0, 500); err != nil {
		return left, err
	}
	o.Must.Nitrogen += c.Nitrogen
	return left, nil
}

// ferment reckons the wine.
func (o *Outcome) ferment(e MustEntry, left acidbase.Composition) error {
	var err error
	w := &o.Wine
	w.PHSpread = acidbase.PredictedPHSpread
	w.Source = cited.Source{Text: "OIV-MA-AS2-02 Table II and 16.83 g/L for 1 % vol; charge balance of the anchored must; spread of 178 measured wines", Mark: cited.Computed}
	if w.Alcohol, err = strength.PotentialAlcohol(o.Must.Brix, strength.MustLaw); err != nil {
		return err
	}
	left.Alcohol, left.Temperature = w.Alcohol.Likely, 20
	if w.PH, w.TA, err = bitartrateBounds(left, e.EndPoint); err != nil {
		return err
	}
	if e.Malic == 0 {
		o.Notes = append(o.Notes, "Malic acid was not measured: nothing is said of pH after malolactic fermentation.")
		return nil
	}
	after, err := left.Malolactic(left.Malic)
	if err != nil {
		return err
	}
	ph, ta, err := bitartrateBounds(after, e.EndPoint)
	w.AfterMalic, w.TAAfterMalic = &ph, &ta
	return err
}

// bitartrateBounds are pH and TA with all bitartrate kept and with all fallen that can
// at 15 °C; likely is half way.
func bitartrateBounds(c acidbase.Composition, end quantity.PH) (ph quantity.Bounds[quantity.PH], ta quantity.Bounds[quantity.Concentration], err error) {
	fallen, err := c.Precipitate(15, acidbase.Bitartrate)
	if err != nil {
		return ph, ta, err
	}
	var p [2]quantity.PH
	var t [2]quantity.Concentration
	for i, x := range []acidbase.Composition{c, fallen.Left} {
		if p[i], err = x.PH(); err != nil {
			return ph, ta, err
		}
		if t[i], err = x.TA(end, acidbase.Tartaric); err != nil {
			return ph, ta, err
		}
	}
	ph = quantity.Bounds[quantity.PH]{Low: min(p[0], p[1]), Likely: (p[0] + p[1]) / 2, High: max(p[0], p[1])}
	ta = quantity.Bounds[quantity.Concentration]{Low: min(t[0], t[1]), Likely: (t[0] + t[1]) / 2, High: max(t[0], t[1])}
	return ph, ta, nil
}
