package sulfite_test

import (
	"fmt"
	"math"
	"testing"

	"elevage/science/quantity"
	"elevage/science/sulfite"
)

func ExampleTarget_Free() {
	wine := sulfite.Wine{PH: 3.5, Alcohol: 13, Temperature: 20}
	aim, _ := sulfite.Handbook.Target(0.8 * quantity.MilligramPerLitre)
	free, _ := aim.Free(wine)
	fmt.Printf("%.1f mg/L free\n", free.MgPerL())
	// Output: 40.0 mg/L free
}

func TestOIVAt12(t *testing.T) {
	m, err := sulfite.OIV.Molecular(0.030, sulfite.Wine{PH: 3.4, Alcohol: 12, Temperature: 20})
	if err != nil || math.Abs(m.Amount().MgPerL()-1.04) > 0.01 {
		t.Fatal(m, m.Share(), err)
	}
	p, _ := sulfite.Powder(sulfite.PotassiumMetabisulfite, 1)
	d, err := sulfite.Addition{Volume: 225, FreeAfter: 0.03, Product: p}.Dose()
	if err != nil || math.Abs(d.Take.Mass.Grams()-11.71) > 0.02 {
		t.Fatal(d, err)
	}
}
