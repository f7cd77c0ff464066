package strength

import "elevage/science/quantity"

// SpecificGravity is the density of a liquid at 20 °C against that of water at
// 20 °C (d 20/20). A float graduated at 60 °F shows another number: see
// [Hydrometer].
type SpecificGravity float64

// Oechsle counts the third and later decimals of specific gravity:
// 1000·(SG − 1).
type Oechsle float64

// Baume is the scale of heavy liquids with modulus 145, as used in the United
// States: 145 − 145/SG. Other moduli (144.3) exist. Modulus from memory, widely
// tabulated.
type Baume float64

const baumeModulus = 145

// SG is the specific gravity 20/20 of a sucrose solution of this strength, by ICUMSA
// SPS-4 over the water of OIML R 22. Domain: that of Brix; a *quantity.RangeError outside.
func (b Brix) SG() (SpecificGravity, error) {
	if err := b.check(); err != nil {
		return 0, err
	}
	return SpecificGravity(sucrose(float64(b)/100, 20) / kell(20)), nil
}

// SucrosePerLitre is the sucrose in a litre at 20 °C if all the Brix were sucrose.
// Must holds less: see [FermentableSugar]. By ICUMSA SPS-4; domain that of Brix.
func (b Brix) SucrosePerLitre() (quantity.Concentration, error) {
	if err := b.check(); err != nil {
		return 0, err
	}
	w := float64(b) / 100
	return quantity.Concentration(w * sucrose(w, 20)), nil
}

// Brix is the sucrose solution with this specific gravity: the inverse of
// [Brix.SG], to 1e-12. Allowed is 0.98 to 1.34.
func (s SpecificGravity) Brix() (Brix, error) {
	if err := s.check(); err != nil {
		return 0, err
	}
	w, err := sucroseFraction(float64(s))
	return Brix(100 * w), err
}

func (s SpecificGravity) check() error {
	low, _ := Brix(brixLow).SG()
	high, _ := Brix(brixHigh).SG()
	return quantity.Check("specific gravity", float64(s), "", float64(low), float64(high))
}

// Oechsle is 1000·(SG − 1).
func (s SpecificGravity) Oechsle() Oechsle { return Oechsle(1000 * (s - 1)) }

// SG is 1 + °Oe/1000.
func (o Oechsle) SG() SpecificGravity { return SpecificGravity(1 + o/1000) }

// Baume is 145 − 145/SG.
func (s SpecificGravity) Baume() Baume { return Baume(baumeModulus - baumeModulus/float64(s)) }

// SG is 145/(145 − °Bé). Meaningful below 145, useful from −4 to 35.
func (b Baume) SG() SpecificGravity {
	return SpecificGravity(baumeModulus / (baumeModulus - float64(b)))
}

// Density is the density at 20 °C.
func (s SpecificGravity) Density() quantity.Density {
	return quantity.Density(float64(s) * r22A[0])
}

// SpecificGravityOf is the specific gravity of a liquid of this density at 20 °C.
func SpecificGravityOf(at20 quantity.Density) SpecificGravity {
	return SpecificGravity(at20.KgPerM3() / r22A[0])
}

// Apparent is the density that a balance in air shows against brass weights:
//
//	ρ' = (ρ − a)/(1 − a/8400), a = 1.2046 kg/m³ (dry air, 20 °C, 1 atm)
//
// Printed tables of "SG 20/20" mix true and apparent values; the difference is
// 0.0001 at 20 Brix, below any cellar float.
func Apparent(d quantity.Density) quantity.Density {
	const air, brass = 1.2046, 8400
	return quantity.Density((d.KgPerM3() - air) / (1 - air/brass))
}
