package acidbase_test

import (
	"errors"
	"testing"

	"elevage/science/acidbase"
	"elevage/science/quantity"
)

// The plan for a sour must reaches its target by stoichiometry: 0.667 g of chalk per
// gram of titratable acidity (as tartaric acid), equal moles of both acids, no
// calcium left.
func TestDoubleSaltPlan(t *testing.T) {
	t.Parallel()
	must0 := fitted(t, acidbase.Composition{Tartaric: 6, Malic: 6.5, Citric: 0.3, Temperature: 20}, 3.0)
	before := must(must0.TA(acidbase.EndPointAOAC, acidbase.Tartaric))(t)
	target := before - 4
	plan := must(must0.PlanDoubleSalt(target, acidbase.EndPointAOAC, acidbase.Tartaric))(t)
	near(t, "TA of the blend", must(plan.Blend.TA(acidbase.EndPointAOAC, acidbase.Tartaric))(t).GPerL(), target.GPerL(), 1e-9)
	near(t, "chalk", plan.CalciumCarbonate.GPerL(), 4*0.667, 0.05)
	near(t, "equal moles", plan.Tartaric.GPerL()/150.087, plan.Malic.GPerL()/134.087, 1e-12)
	near(t, "calcium left", plan.Blend.Calcium.GPerL(), 0, 0)
	near(t, "strong ions stay", plan.Blend.StrongIons.MolPerL(), must0.StrongIons.MolPerL(), 1e-12)
	if plan.TreatedPH < 4.5 || plan.Portion <= 0 || plan.Portion >= 1 {
		t.Errorf("%+v", plan)
	}
}

func TestDoubleSaltRefuses(t *testing.T) {
	t.Parallel()
	var bad *quantity.RangeError
	unequal := fitted(t, acidbase.Composition{Tartaric: 7, Malic: 1.5, Temperature: 20}, 3.0)
	if _, err := unequal.PlanDoubleSalt(5, 7, acidbase.Tartaric); !errors.As(err, &bad) || bad.Field != "pH of the treated portion" {
		t.Errorf("hardly any malic acid: %v", err)
	}
	equal := fitted(t, acidbase.Composition{Tartaric: 4, Malic: 3.6, Lactic: 5, Temperature: 20}, 3.2)
	if _, err := equal.PlanDoubleSalt(0.5, 7, acidbase.Tartaric); !errors.As(err, &bad) {
		t.Errorf("target out of reach: %v", err)
	}
	if _, err := equal.PlanDoubleSalt(50, 7, acidbase.Tartaric); !errors.As(err, &bad) {
		t.Errorf("target above what there is: %v", err)
	}
}
