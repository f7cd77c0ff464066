package acidbase

import "elevage/science/cited"

// Where the figures come from and how far each may be trusted; docs/chemistry.md
// says more.
var (
	SourceConstants = cited.Source{Mark: cited.Read,
		Text: "dissociation constants: NIST 46 as carried by MINTEQA2 v4 (tartaric, citric, acetic, carbonic, phosphoric); Canovas, Shock 2016 (malic); Shock 1995 (lactic, succinic); Shock, Helgeson, Sverjensky 1989 (sulfur dioxide)"}
	SourceCarboxylShift = cited.Source{Mark: cited.Computed,
		Text: "0.0135 per % vol ethanol: within what Prenesti and co-authors 2012 (Sci. World J. 249041, table 4) measured; chosen for least bias on 178 wines"}
	SourceActivity = cited.Source{Mark: cited.Memory,
		Text: "Davies' equation; Debye-Hückel coefficient from the dielectric constants of Åkerlöf 1932, confirmed by the ionic-strength term of OIV-MA-AS323-04C"}
	SourceAssumedAcids = cited.Source{Mark: cited.Computed,
		Text: "usual amounts of unmeasured acids: 178 Piedmont wines (Forina, Armanino, Castino, Ubigli 1986, Vitis 25:189) and six white wines (Prenesti and co-authors 2012)"}
	SourceBitartrate = cited.Source{Mark: cited.SecondHand,
		Text: "solubility of potassium bitartrate: Berg, Keefer 1958 (Am. J. Enol. Vitic. 9:180), quoted by J. Ribéreau-Gayon, Peynaud, table 12.3 of the Russian edition"}
	SourceCalciumTartrate = cited.Source{Mark: cited.Proposal,
		Text: "solubility of calcium tartrate: two published values in water; the effect of ethanol is put forward by analogy with potassium bitartrate"}
)
