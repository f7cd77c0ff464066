package cellar

import (
	"strings"
	"testing"

	"elevage/internal/fault"
)

// What no vessel could hold and no liquid could have is refused by the field, with what
// was given and what is allowed; what only the record stands against is not, since what
// was done before may be written later.
func TestWhatCannotBeIsRefused(t *testing.T) {
	t.Parallel()
	q := cellarWith(t)
	q.do(VesselNamed{Slug: "bin", Size: M("200", "L")}, VesselNamed{Slug: "odd"})
	s := q.fold() // c1 holds 54 of 54 L; c2, c3 23 L and b2, b3 225 L, all empty
	one := func(v, litres string) []Portion {
		p := Portion{Vessel: v}
		if litres != "" {
			p.Volume = M(litres, "L")
		}
		return []Portion{p}
	}
	read := func(what, v, unit string) Reading { return Reading{Vessel: "c1", What: what, Value: M(v, unit)} }
	for name, c := range map[string]struct {
		body                  Body
		field, given, allowed string // none: it is taken
	}{
		"from an empty vessel":              {Movement{From: one("b2", ""), To: one("b3", "200")}, "", "", ""},
		"more than is there by the record":  {Movement{From: one("c1", "58"), To: one("b3", "")}, "", "", ""},
		"into a full vessel":                {Movement{From: one("b2", "20"), To: one("c1", "20")}, "", "", ""},
		"filled to the brim":                {Movement{Lot: "merlot-26", To: one("c2", "24.5")}, "", "", ""},
		"into a vessel of no known size":    {Movement{Lot: "merlot-26", To: one("odd", "999")}, "", "", ""},
		"into a vessel nobody named":        {Movement{Lot: "merlot-26", To: one("new", "999")}, "", "", ""},
		"more than a vessel holds":          {Movement{Lot: "merlot-26", To: one("c2", "300")}, "volume to c2", "300 L", "up to 23 L, all that c2 holds"},
		"more than a vessel held":           {Movement{From: one("c2", "300"), To: one("b2", "")}, "volume from c2", "300 L", "up to 23 L, all that c2 holds"},
		"more arrives than it can have had": {Movement{From: one("c1", ""), To: one("b2", "150")}, "volume to b2", "150 L", "up to 54 L, all that c1 can hold"},
		"more is split than it can have had": {Movement{From: one("c1", ""), To: append(one("b2", "30"), one("b3", "40")...)}, "volume to b3", "70 L in all",
			"up to 54 L, all that c1 can hold"},
		"two together": {Movement{How: "blending", From: append(one("c1", ""), one("c2", "")...), To: one("b2", "75")}, "", "", ""}, // 77 L
		"two together, less than it says": {Movement{How: "blending", From: append(one("c1", ""), one("c2", "")...), To: one("b2", "100")}, "volume to b2", "100 L",
			"up to 77 L, all that c1 and c2 can hold"},
		"a press of more than the bin":  {Press{From: one("bin", ""), To: append(one("b2", "200"), one("b3", "100")...)}, "wine in b2", "300 L in all", "up to 200 L, all that bin can hold"},
		"a press into too little":       {Press{From: one("bin", ""), To: one("c2", "90")}, "wine in c2", "90 L", "up to 23 L"},
		"must for a larger bin":         {Crush{Lot: "merlot-26", To: one("bin", "900")}, "must in bin", "900 L", "up to 200 L"},
		"fruit that fits":               {FruitReceived{Lot: "merlot-26", Vessel: "bin", Weight: M("130", "kg")}, "", "", ""},
		"fruit with its crates":         {FruitReceived{Lot: "merlot-26", Vessel: "bin", Weight: M("250", "kg"), Tare: M("40", "kg")}, "", "", ""},
		"fruit heavier than must":       {FruitReceived{Lot: "merlot-26", Vessel: "bin", Weight: M("900", "kg")}, "weight", "900 kg", "up to 240 kg into bin, which holds 200 L"},
		"a dip over the brim":           {Dip{Vessel: "c2", Volume: M("52.5", "L")}, "volume", "52.5 L", "up to 23 L"},
		"a dip at the brim, in gallons": {Dip{Vessel: "c2", Volume: M("6.5", "gal")}, "", "", ""}, // 24.6 L
		"a sample larger than it":       {ControlKept{Vessel: "c2", Volume: M("90", "L")}, "volume", "90 L", "up to 23 L"},
		"as many bottles as it holds":   {Bottling{Slug: "b", From: one("c2", ""), Count: 30, Size: M("750", "mL")}, "", "", ""},
		"more bottles than it holds":    {Bottling{Slug: "b", From: one("c2", ""), Count: 100, Size: M("750", "mL")}, "count", "100", "up to 30 bottles of 750 mL, out of the 23 L that c2 holds"},
		"held warm":                     {Warmth{Vessel: "c1", Set: M("22", "°C")}, "", "", ""},
		"held cold, in °F":              {Warmth{Vessel: "c1", Set: M("25", "°F")}, "", "", ""},
		"held hot":                      {Warmth{Vessel: "c1", Set: M("90", "°C")}, "temperature", "90 °C", "-10 to 80 °C (14 to 176 °F)"},
		"held frozen":                   {Warmth{Vessel: "c1", Set: M("-40", "°F")}, "temperature", "-40 °F", "-10 to 80 °C"},
		"chilled":                       {Treatment{Vessel: "c1", What: "chilling", Amount: M("-4", "°C")}, "", "", ""},
		"chilled hot":                   {Treatment{Vessel: "c1", What: "chilling", Amount: M("90", "°C")}, "amount", "90 °C", "-10 to 40 °C"},
		"pasteurised":                   {Treatment{Vessel: "c1", What: "pasteurising", Amount: M("75", "°C")}, "", "", ""},
		"steam":                         {read(ReadTemperature, "200", "°C"), "temperature", "200 °C", "-20 to 100 °C"},
		"66 of the wrong scale":         {read(ReadTemperature, "66", "°C"), "", "", ""}, // unlikely, and asked about
		"a pH off the scale":            {read(ReadPH, "34.7", "pH"), "pH", "34.7", "0 to 14"},
		"more alcohol than all of it":   {read(ReadAlcohol, "135", "% vol"), "alcohol", "135 % vol", "0 to 100 % vol"},
	} {
		err := Draft{Happened: At(q.now), Body: c.body}.CheckIn(s)
		if c.field == "" {
			if err != nil {
				t.Errorf("%s: %v", name, err)
			}
			continue
		}
		f := fault.FieldsOf(err)
		if fault.KindOf(err) != fault.Invalid || len(f) != 1 || f[0].Name != c.field || f[0].Given != c.given || !strings.HasPrefix(f[0].Allowed, c.allowed) {
			t.Errorf("%s: %+v, want %s, %q, %q", name, f, c.field, c.given, c.allowed)
		}
	}
}
