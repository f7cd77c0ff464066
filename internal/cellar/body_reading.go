package cellar

import (
	"fmt"
	"slices"
	"strings"
	"time"
)

// What can be read.
const (
	ReadPH           = "ph"
	ReadTA           = "ta"
	ReadMalic        = "malic"
	ReadChromatogram = "chromatogram" // the malic spot on paper
	ReadLactic       = "lactic"
	ReadFreeSO2      = "free-so2"
	ReadTotalSO2     = "total-so2"
	ReadTemperature  = "temperature"
	ReadDensity      = "density" // by any scale, SG or °Brix
	ReadVA           = "va"
	ReadAlcohol      = "alcohol"
	ReadBubble       = "bubble" // time from one airlock bubble to the next
	ReadSugar        = "sugar"
	ReadYAN          = "yan"
	ReadTartaric     = "tartaric"
	ReadPotassium    = "potassium"
	ReadTurbidity    = "turbidity"
	ReadCO2          = "co2"
	ReadOxygen       = "oxygen"
	ReadBarometer    = "barometer"
	ReadBerry        = "berry-weight"
	ReadCopper       = "copper"
	ReadAldehyde     = "acetaldehyde"
)

// A Readable is something that can be measured, with the units and range in
// which a wine or must can be expected to have it.
type Readable struct {
	What  string   // as in entries
	Title string   // for people: "free SO2"
	Also  []string // other words in the typed line
	Unit  string   // taken when none is written
	Dims  []Dimension
	Low   float64  // least and most that is taken without a question,
	High  float64  // in Unit: common practice, no source
	Words []string // for readings that are a word; then Unit is empty
	Needs string   // what makes two results comparable: "acid and end point", "method"
}

// Readables is everything that can be read.
var Readables = []Readable{
	{What: ReadPH, Title: "pH", Unit: "pH", Dims: []Dimension{Acidity}, Low: 2.7, High: 4.3},
	{What: ReadTA, Title: "TA", Also: []string{"acidity"}, Unit: "g/L", Dims: []Dimension{Concentration, Equivalents}, Low: 2.5, High: 18, Needs: "acid and end point"},
	{What: ReadMalic, Title: "malic acid", Unit: "g/L", Dims: []Dimension{Concentration}, Low: 0, High: 12},
	{What: ReadChromatogram, Title: "malic spot on paper", Also: []string{"paper", "spot"}, Words: []string{"strong", "faint", "none"}},
	{What: ReadLactic, Title: "lactic acid", Unit: "g/L", Dims: []Dimension{Concentration}, Low: 0, High: 8},
	{What: ReadFreeSO2, Title: "free SO2", Also: []string{"free", "fso2"}, Unit: "mg/L", Dims: []Dimension{Concentration}, Low: 0, High: 120, Needs: "method"},
	{What: ReadTotalSO2, Title: "total SO2", Also: []string{"total", "tso2"}, Unit: "mg/L", Dims: []Dimension{Concentration}, Low: 0, High: 350, Needs: "method"},
	{What: ReadTemperature, Title: "temperature", Also: []string{"temp"}, Unit: "°C", Dims: []Dimension{Temperature}, Low: -3, High: 42},
	{What: ReadDensity, Title: "density", Also: []string{"gravity", "hydrometer"}, Unit: "SG", Dims: []Dimension{Gravity}, Low: 0.98, High: 1.17},
	{What: ReadVA, Title: "volatile acidity", Also: []string{"volatile"}, Unit: "g/L", Dims: []Dimension{Concentration, Equivalents}, Low: 0, High: 2.5},
	{What: ReadAlcohol, Title: "alcohol", Also: []string{"alc", "abv"}, Unit: "% vol", Dims: []Dimension{Strength}, Low: 0, High: 20},
	{What: ReadBubble, Title: "bubble interval", Also: []string{"bubbles", "airlock"}, Unit: "s", Dims: []Dimension{Duration}, Low: 0.2, High: 86400},
	{What: ReadSugar, Title: "sugar", Also: []string{"rs"}, Unit: "g/L", Dims: []Dimension{Concentration}, Low: 0, High: 400},
	{What: ReadYAN, Title: "assimilable nitrogen", Also: []string{"nitrogen"}, Unit: "mg/L", Dims: []Dimension{Concentration}, Low: 10, High: 600},
	{What: ReadTartaric, Title: "tartaric acid", Unit: "g/L", Dims: []Dimension{Concentration}, Low: 0, High: 12},
	{What: ReadPotassium, Title: "potassium", Unit: "mg/L", Dims: []Dimension{Concentration}, Low: 100, High: 3000},
	{What: ReadTurbidity, Title: "turbidity", Also: []string{"ntu", "haze"}, Unit: "NTU", Dims: []Dimension{Turbidity}, Low: 0, High: 4000},
	{What: ReadCO2, Title: "dissolved CO2", Unit: "mg/L", Dims: []Dimension{Concentration}, Low: 0, High: 4000},
	{What: ReadOxygen, Title: "dissolved oxygen", Also: []string{"o2"}, Unit: "mg/L", Dims: []Dimension{Concentration}, Low: 0, High: 12},
	{What: ReadBarometer, Title: "barometer", Also: []string{"pressure"}, Unit: "hPa", Dims: []Dimension{Pressure}, Low: 700, High: 1080},
	{What: ReadBerry, Title: "berry weight", Also: []string{"berry"}, Unit: "g", Dims: []Dimension{Mass}, Low: 0.3, High: 5},
	{What: ReadCopper, Title: "copper", Unit: "mg/L", Dims: []Dimension{Concentration}, Low: 0, High: 3},
	{What: ReadAldehyde, Title: "acetaldehyde", Also: []string{"aldehyde"}, Unit: "mg/L", Dims: []Dimension{Concentration}, Low: 0, High: 300},
}

var readableIndex = func() map[string]*Readable {
	index := make(map[string]*Readable)
	for i := range Readables {
		r := &Readables[i]
		for _, w := range append([]string{r.What}, r.Also...) {
			if index[w] != nil {
				panic("cellar: two readables are called " + w)
			}
			index[w] = r
		}
	}
	return index
}()

// LookupReadable finds what is read by its name in entries or in the typed line.
func LookupReadable(word string) (*Readable, bool) {
	r, ok := readableIndex[strings.ToLower(word)]
	return r, ok
}

// A Reading is a measurement of a wine, a must, fruit, or of a control sample
// kept back from it.
type Reading struct {
	Vessel string   `json:"vessel,omitempty"`
	Lot    string   `json:"lot,omitempty"` // of fruit, or of wine in no vessel
	What   string   `json:"what"`          // of Readables
	Value  *Measure `json:"value"`
	// As and EndPoint say of which acid a TA is reckoned ("tartaric",
	// "sulfuric") and to which pH it was titrated ("8.2", "7.0").
	As       string `json:"as,omitempty"`
	EndPoint string `json:"end_point,omitempty"`
	// Method: "aspiration", "iodine", "enzymatic", "strip", "refractometer" …
	Method     string `json:"method,omitempty"`
	Instrument string `json:"instrument,omitempty"`
	// Control says that the wine kept back was read, not the vessel's.
	Control bool `json:"control,omitempty"`
	// Session ties readings taken in one sitting with one calibration; see SessionKey.
	Session string `json:"session,omitempty"`
	// Warm is the temperature of the sample when it was read.
	Warm *Measure `json:"warm,omitempty"`
	// Degassed says that CO2 was driven out first.
	Degassed bool `json:"degassed,omitempty"`
	// Repeats is the number of replicates averaged; 0 reads as 1.
	Repeats int `json:"repeats,omitempty"`
	// Drawn, Measured and Reported are moments as text, where they differ from
	// when the entry happened: a laboratory's result speaks of the day the
	// sample was drawn.
	Drawn    string `json:"drawn,omitempty"`
	Measured string `json:"measured,omitempty"`
	Reported string `json:"reported,omitempty"`
	Lab      string `json:"lab,omitempty"`
	Words    string `json:"words,omitempty"`
}

// Kind is KindReading.
func (Reading) Kind() Kind { return KindReading }

func (b Reading) check(c *checker) {
	if b.What != ReadBarometer {
		c.place(b.Vessel, b.Lot)
	}
	r, ok := readableIndex[b.What]
	switch {
	case !ok || r.What != b.What:
		c.bad("what is read", b.What, readableNames())
	case len(r.Words) > 0:
		if b.Value.IsZero() || !slices.Contains(r.Words, b.Value.Value) {
			given := ""
			if b.Value != nil {
				given = b.Value.Value
			}
			c.bad(r.Title, given, strings.Join(r.Words, ", "))
		}
	case b.What == ReadTemperature:
		c.temperature(r.Title, b.Value, true, readFrom, readTo)
	default:
		c.measure(r.Title, b.Value, true, r.Dims...)
		c.possible(r, b.Value)
	}
	c.oneOf("as", b.As, false, Acids...)
	if b.EndPoint != "" {
		if n, err := ParseNumber(b.EndPoint); err != nil || n < 6 || n > 9.5 {
			c.bad("end point", b.EndPoint, "a pH from 6 to 9.5; 8.2 and 7.0 are usual")
		}
	}
	c.text("method", b.Method, maxName)
	c.slug("instrument", b.Instrument, false)
	c.text("session", b.Session, maxName)
	c.temperature("temperature of the sample", b.Warm, false, readFrom, readTo)
	if b.Repeats < 0 || b.Repeats > 1000 {
		c.bad("repeats", itoa(b.Repeats), "1 to 1000")
	}
	c.moment("drawn", b.Drawn)
	c.moment("measured", b.Measured)
	c.moment("reported", b.Reported)
	c.text("laboratory", b.Lab, maxName)
	c.text("words", b.Words, maxText)
}

// possible checks figures that nothing can have, however it was read: a pH off the scale
// of the meters, more alcohol than all of it.
func (c *checker) possible(r *Readable, m *Measure) {
	most := map[string]float64{ReadPH: 14, ReadAlcohol: 100}[r.What]
	if v, ok := inUnit(m, r.Unit); ok && most > 0 && !(v >= 0 && v <= most) {
		c.bad(r.Title, m.String(), strings.TrimSpace(fmt.Sprintf("0 to %g %s", most, strings.TrimPrefix(r.Unit, "pH"))))
	}
}

// Acids in which a titratable acidity may be expressed.
var Acids = []string{"tartaric", "malic", "lactic", "citric", "sulfuric", "acetic", "succinic"}

func readableNames() string {
	names := make([]string, len(Readables))
	for i := range Readables {
		names[i] = Readables[i].What
	}
	return strings.Join(names, ", ")
}

// SpeaksOf is the moment that the reading tells about: when the sample was
// drawn, which is when the entry happened unless Drawn says otherwise.
func (b Reading) SpeaksOf(happened Moment) Moment {
	if b.Drawn != "" {
		if m, err := ParseMoment(b.Drawn); err == nil {
			return m
		}
	}
	return happened
}

// SessionKey says which readings share a calibration and a day's mood of the
// meter: the stated session, or else the instrument and the day.
func (b Reading) SessionKey(at time.Time) string {
	if b.Session != "" {
		return b.Session
	}
	return b.Instrument + "@" + at.Format(time.DateOnly)
}

// PHCheck is a pH meter read in something of known pH: "7.00", "4.01", or
// saturated cream of tartar, 3.56 at 25 °C.
type PHCheck struct {
	Instrument string   `json:"instrument,omitempty"`
	Buffer     string   `json:"buffer"` // its pH as printed: "7.00"
	Read       string   `json:"read"`   // what the meter showed
	Of         string   `json:"of,omitempty"`
	Warm       *Measure `json:"warm,omitempty"` // temperature of the buffer
	Session    string   `json:"session,omitempty"`
	Words      string   `json:"words,omitempty"`
}

// Kind is KindPHCheck.
func (PHCheck) Kind() Kind { return KindPHCheck }

func (b PHCheck) check(c *checker) {
	c.slug("instrument", b.Instrument, false)
	for _, f := range [...]struct{ name, given string }{{"buffer", b.Buffer}, {"read", b.Read}} {
		if n, err := ParseNumber(f.given); err != nil || n < 0 || n > 14 {
			c.bad(f.name, f.given, "a pH from 0 to 14")
		}
	}
	c.oneOf("of", b.Of, false, "buffer", "cream-of-tartar")
	c.measure("temperature", b.Warm, false, Temperature)
	c.text("session", b.Session, maxName)
	c.text("words", b.Words, maxText)
}

// SessionKey is as for a Reading.
func (b PHCheck) SessionKey(at time.Time) string {
	return Reading{Session: b.Session, Instrument: b.Instrument}.SessionKey(at)
}

// Calibration sets an instrument by one or more standards.
type Calibration struct {
	Instrument string   `json:"instrument"`
	Points     []string `json:"points,omitempty"` // values of the standards: "7.00", "4.01"
	Slope      *Measure `json:"slope,omitempty"`  // in % of the ideal, or in mV per pH
	Offset     *Measure `json:"offset,omitempty"` // in mV, or in the instrument's own unit
	Warm       *Measure `json:"warm,omitempty"`
	Passed     string   `json:"passed,omitempty"` // "yes", "no"
	Words      string   `json:"words,omitempty"`
}

// Kind is KindCalibration.
func (Calibration) Kind() Kind { return KindCalibration }

func (b Calibration) check(c *checker) {
	c.slug("instrument", b.Instrument, true)
	for _, p := range b.Points {
		if _, err := ParseNumber(p); err != nil {
			c.bad("point", p, "the standard's value, such as 7.00")
		}
	}
	c.measure("slope", b.Slope, false, Ratio, Voltage)
	c.measure("offset", b.Offset, false, Voltage, Number, Acidity, Gravity, Temperature, Mass)
	c.measure("temperature", b.Warm, false, Temperature)
	c.oneOf("passed", b.Passed, false, "yes", "no")
	c.text("words", b.Words, maxText)
}

func (b Reading) vessels(n []string) []string     { return appendVessel(n, b.Vessel) }
func (b PHCheck) vessels(n []string) []string     { return n }
func (b Calibration) vessels(n []string) []string { return n }
