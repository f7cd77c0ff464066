package acidbase_test

import (
	"fmt"
	"log"

	"elevage/science/acidbase"
	"elevage/science/quantity"
)

// A red with its malic acid still in it: what will pH and titratable acidity be
// when it is gone?
func Example() {
	wine, err := acidbase.Anchor(acidbase.Measured{
		PH: 3.45, TA: 6.4 * quantity.GramPerLitre, EndPoint: acidbase.EndPointAOAC,
		Malic:   2.5 * quantity.GramPerLitre,
		Alcohol: 13 * quantity.PercentVol, Temperature: quantity.Celsius(20),
	})
	if err != nil {
		log.Fatal(err)
	}
	after, err := wine.Malolactic(wine.Malic)
	if err != nil {
		log.Fatal(err)
	}
	ph, err := after.PH()
	if err != nil {
		log.Fatal(err)
	}
	ta, err := after.TA(acidbase.EndPointAOAC, acidbase.Tartaric)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("pH %.2f, %.1f g/L, lactic acid %.1f g/L\n", ph, ta, after.Lactic)
	fmt.Println(wine.Solved)
	// Output:
	// pH 3.58, 5.0 g/L, lactic acid 1.9 g/L
	// tartaric acid and other acids solved for together
}

// How much potassium bicarbonate brings a sour white to 7 g/L, and what is left
// once the cold has had its share.
func ExampleComposition_DoseForTA() {
	wine, err := acidbase.Anchor(acidbase.Measured{
		PH: 3.05, TA: 8.5 * quantity.GramPerLitre, EndPoint: acidbase.EndPointOIV,
		Malic: 3 * quantity.GramPerLitre, Alcohol: 11.5 * quantity.PercentVol, Temperature: quantity.Celsius(20),
	})
	if err != nil {
		log.Fatal(err)
	}
	dose, err := wine.DoseForTA(acidbase.PotassiumBicarbonate, 7*quantity.GramPerLitre, acidbase.EndPointOIV, acidbase.Tartaric)
	if err != nil {
		log.Fatal(err)
	}
	atOnce, err := wine.Add(acidbase.PotassiumBicarbonate, dose)
	if err != nil {
		log.Fatal(err)
	}
	ph, err := atOnce.PH()
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("%.2f g/L: pH %.2f at once\n", dose, ph)
	cold, err := atOnce.Precipitate(quantity.Celsius(2), acidbase.Bitartrate)
	if err != nil {
		log.Fatal(err)
	}
	ph, err = cold.Left.PH()
	if err != nil {
		log.Fatal(err)
	}
	ta, err := cold.Left.TA(acidbase.EndPointOIV, acidbase.Tartaric)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("after the cold, at most %.1f g/L bitartrate fallen: pH %.2f, %.1f g/L\n", cold.Bitartrate, ph, ta)
	// Output:
	// 2.00 g/L: pH 3.57 at once
	// after the cold, at most 2.6 g/L bitartrate fallen: pH 3.54, 6.0 g/L
}
