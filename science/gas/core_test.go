package gas_test

import (
	"fmt"
	"math"
	"testing"
	"time"

	"elevage/science/gas"
	"elevage/science/quantity"
)

func ExampleAirlock_MalicRate() {
	lock := gas.Airlock{Wine: 23, Bubble: 0.7 * quantity.Millilitre, Temperature: 20, Barometer: quantity.Atmosphere}
	rate, _ := lock.MalicRate(73 * time.Second)
	fmt.Printf("%.2f g/L a day\n", rate.GPerLDay())
	// Output: 0.20 g/L a day
}

func TestOfficialRelationAt20(t *testing.T) {
	s, err := gas.Official.Solubility(gas.Liquid{Alcohol: 12}, 20)
	if err != nil || math.Abs(s.PerAtmosphere()-1.463) > 0.0005 {
		t.Fatalf("got %v %v", s.PerAtmosphere(), err)
	}
}
