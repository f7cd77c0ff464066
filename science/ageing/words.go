package ageing

import (
	"fmt"
	"math"

	"elevage/science/quantity"
)

func days(d quantity.Days) string {
	n := int(math.Floor(float64(d)))
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", n)
}
