package acidbase

import "math"

// dissociation is one step of an acid at 25 °C and zero ionic strength, with
// what moves it.
type dissociation struct {
	pK     float64 // thermodynamic, water, 25 °C
	dH     float64 // enthalpy of dissociation at 25 °C, kJ/mol
	dCp    float64 // heat capacity of dissociation, J/(mol K); 0 where none is known
	shift  float64 // rise of pK per % vol of ethanol; negative means the wine's general shift
	ligand int     // charge of the ion formed, 1 to 3
}

// CarboxylShift is the rise of each pK per % vol of ethanol.
//
// Prenesti, Berto, Toso, Daniele 2012 (Sci. World J., 249041, table 4) measured
// lactic and succinic acid in water and at 12 % vol. At their concentrations the
// constants differ by 0.009 to 0.014 per % vol; once the larger Debye-Hückel
// coefficient of the mixture has taken its part, which this package counts apart,
// the rows ask for 0.0115 to 0.020. 0.0135 leaves the least bias on 178 measured
// wines (docs/chemistry.md); the choice is part of the stated error.
const CarboxylShift = 0.0135

// general marks a step that moves with the medium's general ethanol shift.
const general = -1

// Constants of the steps.
//
// Sources of pK and enthalpy (25 °C, I = 0): tartaric, citric, acetic, carbonic,
// phosphoric: NIST Standard Reference Database 46 as carried by the US EPA
// MINTEQA2 v4 thermodynamic file; malic: Canovas, Shock 2016 (Geochim.
// Cosmochim. Acta 195:293); lactic, succinic: Shock 1995 (Am. J. Sci. 295:496);
// sulfurous step 1: Shock, Helgeson, Sverjensky 1989 and Shock, Helgeson 1988
// (Geochim. Cosmochim. Acta 53:2157, 52:2009), with the ethanol shift of table 1
// of OIV-MA-AS323-04C at 20 °C; sulfurous step 2: Thermoddem 1.10 as distributed
// with PHREEQC. Heat capacities: the same, and LaRowe, Helgeson 2006 for citric
// acid. That phosphoric and carbonic acid and hydrogen sulfite move with ethanol
// as carboxyls do is an assumption; they hardly matter at the pH of wine.
var steps = [acidCount][3]dissociation{
	Tartaric:   {{3.036, 2.93, 0, general, 1}, {4.366, 0.753, 0, general, 2}},
	Malic:      {{3.460, 2.93, -155, general, 1}, {5.094, -1.17, -221, general, 2}},
	Lactic:     {{3.863, -0.29, -167, general, 1}},
	Succinic:   {{4.207, 2.72, -184, general, 1}, {5.629, 0, -250, general, 2}},
	Citric:     {{3.128, 4.06, -111, general, 1}, {4.761, 2.05, -165, general, 2}, {6.396, -3.347, -213, general, 3}},
	Acetic:     {{4.757, -0.41, -144, general, 1}},
	Phosphoric: {{2.148, -7.9, 0, general, 1}, {7.198, 3.0, 0, general, 2}, {12.375, 15.0, 0, general, 3}},
	Sulfurous:  {{1.860, -17.4, -230, 0.020, 1}, {7.170, -3.67, 0, general, 2}},
	Carbonic:   {{6.352, 9.16, 0, general, 1}, {10.329, 14.6, 0, general, 2}},
}

// water is the self-dissociation of water: NIST 46 as carried by MINTEQA2 v4;
// heat capacity from memory (it reproduces the remembered 14.734 at 5 °C and
// 13.535 at 40 °C). Ethanol's effect on it is left out: it matters only above pH 9.
var water = dissociation{pK: 13.997, dH: 55.81, dCp: -224}

const (
	gasConstant = 8.314462618 // J/(mol K), CODATA 2018
	kelvinAt0C  = 273.15
	reference   = 298.15 // K
)

// at is the pK at a temperature in kelvin, by van 't Hoff with constant heat
// capacity: pK(T) = pK25 + ΔH/(R ln10) (1/T − 1/T0) − ΔCp/(R ln10) (T0/T − 1 + ln(T/T0)).
func (d dissociation) at(kelvin float64) float64 {
	rln := gasConstant * math.Ln10
	return d.pK + d.dH*1e3/rln*(1/kelvin-1/reference) -
		d.dCp/rln*(reference/kelvin-1+math.Log(kelvin/reference))
}
