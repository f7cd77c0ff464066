package sulfite_test

import (
	"errors"
	"math"
	"testing"

	"elevage/science/quantity"
	"elevage/science/sulfite"
)

func TestRefusals(t *testing.T) {
	t.Parallel()
	powder := pure(t, sulfite.PotassiumMetabisulfite)
	second := func(_ any, err error) error { return err }
	aim := must[sulfite.Target](t)(sulfite.OIV.Target(0.8 * mg))
	for name, c := range map[string]struct {
		err  error
		says string
	}{
		"pH":                     {second(sulfite.Handbook.Share(wine(7, 12, 20))), "pH is 7"},
		"NaN":                    {second(sulfite.Handbook.Share(wine(math.NaN(), 12, 20))), "pH"},
		"OIV in a cool cellar":   {second(sulfite.OIV.Share(wine(3.5, 12, 12))), "limits of the OIV table"},
		"OIV on spirits":         {second(aim.Free(wine(3.5, 40, 20))), "alcohol is 40 % vol"},
		"slope in a freezer":     {second(sulfite.OIVSlope.Share(wine(3.5, 12, -5))), "temperature"},
		"free SO2":               {second(sulfite.Handbook.Molecular(-1, wine(3.5, 12, 20))), "free SO2"},
		"target":                 {second(sulfite.Handbook.Target(40 * mg)), "target molecular SO2 is 40 mg/L"},
		"ionic strength":         {second(sulfite.MixedConstant(12, 20, 2)), "ionic strength"},
		"dead powder":            {second(sulfite.Powder(sulfite.PotassiumMetabisulfite, 0)), "strength of the powder"},
		"water":                  {second(sulfite.Solution(sulfite.PotassiumMetabisulfite, 0, 1)), "SO2 in the solution"},
		"dust":                   {second(sulfite.Tablets(sulfite.PotassiumMetabisulfite, 0, 1)), "SO2 in a tablet"},
		"volume":                 {second(sulfite.Addition{FreeAfter: 30 * mg, Product: powder}.Dose()), "volume"},
		"all binds":              {second(sulfite.Addition{Volume: 1, FreeAfter: 30 * mg, Binding: 1, Product: powder}.Dose()), "binds"},
		"a thousand":             {second(sulfite.Addition{Volume: 1, FreeAfter: 2, Product: powder}.Dose()), "free SO2 wanted"},
		"binder":                 {second(sulfite.Bound(0.03, []sulfite.Content{{Binder: sulfite.Binders[0], Amount: -1}})), "acetaldehyde"},
		"spread":                 {second(sulfite.Handbook.Spread(sulfite.Measurement{Wine: wine(3.5, 12, 20), PHSD: -1})), "standard deviation of pH"},
		"iodine":                 {second(sulfite.Titration{Titrant: 1 * quantity.Millilitre}.InSample(0.05)), "normality"},
		"blank over the titrant": {second(sulfite.Titration{Titrant: 1 * quantity.Millilitre, Blank: 2 * quantity.Millilitre, Normality: 0.1}.SO2()), "blank"},
		"jar over strength":      {second(sulfite.Titration{Titrant: 60 * quantity.Millilitre, Normality: 0.1}.FoundStrength(sulfite.PotassiumMetabisulfite, 0.25)), "strength found"},
		"oxygen":                 {second(sulfite.LossTo(-1)), "oxygen"},
		"bounds out of order":    {second(aim.Dose(sulfite.Need{Wine: wine(3.5, 12, 20), Volume: 1, Product: powder, Binding: quantity.Bounds[float64]{Low: 0.6, Likely: 0.5, High: 0.4}})), "share that binds"},
		"free over total":        {second(sulfite.Lawful(sulfite.EU, sulfite.Finished{Colour: sulfite.Red, Total: 10 * mg, Free: 20 * mg})), "free SO2"},
	} {
		var r *quantity.RangeError
		if !errors.As(c.err, &r) {
			t.Errorf("%s: got %v, not a RangeError", name, c.err)
		} else if !contains(c.err.Error(), c.says) {
			t.Errorf("%s: %q does not say %q", name, c.err, c.says)
		}
	}
	weak := must[sulfite.Product](t)(sulfite.Solution(sulfite.SulfurDioxide, 1, 0.2))
	for name, c := range map[string]struct {
		err  error
		says string
	}{
		"no rule":          {second(sulfite.Rule(0).Share(wine(3.5, 12, 20))), "not chosen"},
		"target of none":   {second(sulfite.Rule(0).Target(0.5 * mg)), "not chosen"},
		"zero target":      {second(sulfite.Target{}.Free(wine(3.5, 12, 20))), "not chosen"},
		"no product":       {second(sulfite.Addition{Volume: 1, FreeAfter: 30 * mg}.Dose()), "product is missing"},
		"gas as a powder":  {second(sulfite.Powder(sulfite.SulfurDioxide, 1)), "dry sulfite salt"},
		"unknown salt":     {second(sulfite.Powder(99, 1)), "no compound"},
		"weak solution":    {second(sulfite.Addition{Volume: 1, FreeAfter: 300 * mg, Product: weak}.Dose()), "too weak"},
		"colour":           {second(sulfite.Lawful(sulfite.EU, sulfite.Finished{Total: 10 * mg})), "colour"},
		"place":            {second(sulfite.Lawful("Atlantis", sulfite.Finished{Colour: sulfite.Red, Total: 10 * mg})), "Atlantis"},
		"rule by any name": {second(sulfite.ParseRule("modern")), "handbook, oiv or oiv-slope"},
	} {
		if c.err == nil || !contains(c.err.Error(), c.says) {
			t.Errorf("%s: %v does not say %q", name, c.err, c.says)
		}
	}
}
