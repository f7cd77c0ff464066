package sulfite

import (
	"fmt"

	"elevage/science/quantity"
)

// Addition is a planned dose of SO2 to one parcel of wine.
type Addition struct {
	Volume    quantity.Volume        // wine in the vessel, not the vessel's nominal size
	FreeNow   quantity.Concentration // measured free SO2
	TotalNow  quantity.Concentration // measured total SO2; below FreeNow means unknown
	FreeAfter quantity.Concentration // free SO2 wanted once binding has settled
	Binding   float64                // share of the added SO2 that binds, 0 to 0.95
	Product   Product
}

// Dose says what to add and what comes of it.
type Dose struct {
	Take   Amount
	SO2    quantity.Mass          // SO2 set free by the amount
	Added  quantity.Concentration // the same per litre of wine as it stood
	Volume quantity.Volume        // wine after the addition
	Free   quantity.Concentration // free after binding
	Total  quantity.Concentration // total after; valid only when TotalKnown
	Brings Cations
	Ions   struct{ Potassium, Sodium, Nitrogen quantity.Concentration } // per litre of wine after

	TotalKnown bool
}

// Dose reckons the addition by mass balance:
//
//	free after · (V + v) = free now · V + (1 − binding) · SO2
//
// where v is the volume of a solution (0 for powder and tablets). A wine already
// at or over the wanted level needs nothing and gets a zero dose. Bad input comes
// back as an error that names the field; a solution too weak to reach the aim by
// dilution is refused.
func (a Addition) Dose() (Dose, error) {
	if err := a.check(); err != nil {
		return Dose{}, err
	}
	lack := (a.FreeAfter - a.FreeNow).GPerL()
	if lack <= 0 {
		return a.With(Amount{})
	}
	so2 := lack * a.Volume.Litres() / (1 - a.Binding)
	if a.Product.form == poured {
		content := a.Product.perLitre.GPerL() * a.Product.strength
		gain := content*(1-a.Binding) - a.FreeAfter.GPerL()
		if gain <= 0 {
			return Dose{}, fmt.Errorf("solution holds %.3g g/L SO2: too weak to bring the wine to %.3g mg/L free", content, a.FreeAfter.MgPerL())
		}
		so2 = content * lack * a.Volume.Litres() / gain
	}
	return a.With(a.Product.Holding(quantity.Mass(so2)))
}

// With reckons what a given amount does, whatever FreeAfter says: the same balance
// read forwards. Its domain and errors are those of the balance: 0.01 to 1 000 000 L of
// wine, free SO2 0 to 1000 mg/L, a product made by one of its functions.
func (a Addition) With(amount Amount) (Dose, error) {
	if err := a.check(); err != nil {
		return Dose{}, err
	}
	d := Dose{Take: amount, SO2: a.Product.SO2In(amount), Brings: a.Product.Brings(amount)}
	d.Volume = a.Volume + amount.Volume
	d.Added = d.SO2.Per(a.Volume)
	free := a.FreeNow.In(a.Volume).Grams() + (1-a.Binding)*d.SO2.Grams()
	d.Free = quantity.Mass(free).Per(d.Volume)
	if d.TotalKnown = a.TotalNow >= a.FreeNow && a.TotalNow > 0; d.TotalKnown {
		d.Total = (a.TotalNow.In(a.Volume) + d.SO2).Per(d.Volume)
	}
	d.Ions.Potassium = d.Brings.Potassium.Per(d.Volume)
	d.Ions.Sodium = d.Brings.Sodium.Per(d.Volume)
	d.Ions.Nitrogen = d.Brings.Nitrogen.Per(d.Volume)
	return d, nil
}

func (a Addition) check() error {
	if err := quantity.Check("volume", a.Volume.Litres(), "L", 0.01, 1e6); err != nil {
		return err
	}
	if err := checkSO2("free SO2", a.FreeNow); err != nil {
		return err
	}
	if err := checkSO2("free SO2 wanted", a.FreeAfter); err != nil {
		return err
	}
	if err := quantity.Check("share of the added SO2 that binds", 100*a.Binding, "%", 0, 95); err != nil {
		return err
	}
	if a.Product.form == noForm {
		return fmt.Errorf("product is missing: allowed is a powder, a solution or tablets")
	}
	return nil
}
