package cellar

// Colours of a lot.
var Colours = []string{"red", "white", "rosé", "orange"}

// Intents towards malolactic fermentation.
const (
	MalolacticWanted   = "wanted"
	MalolacticKeptFrom = "kept-from"
	MalolacticOpen     = "" // not decided
)

// LotStarted starts a lot or, for a lot that is known, describes it anew: the
// latest such entry counts. Wine comes into it by fruit, crush or movement.
type LotStarted struct {
	Slug       string   `json:"slug"` // short name, unique in the cellar: "merlot-26"
	Name       string   `json:"name,omitempty"`
	Colour     string   `json:"colour,omitempty"` // of Colours
	Style      string   `json:"style,omitempty"`  // in the person's words: "to age four years"
	Vintage    int      `json:"vintage,omitempty"`
	Variety    string   `json:"variety,omitempty"`
	Origin     string   `json:"origin,omitempty"`     // where the fruit grew
	Malolactic string   `json:"malolactic,omitempty"` // "wanted", "kept-from" or not decided
	Units      string   `json:"units,omitempty"`      // "us" to show this lot in gallons and °F
	Protocol   string   `json:"protocol,omitempty"`
	Was        []string `json:"was,omitempty"` // earlier short names, which stay valid
	Tags       []string `json:"tags,omitempty"`
	Anew       bool     `json:"anew,omitempty"` // describes what is known already
	Words      string   `json:"words,omitempty"`
}

// Kind is KindLot.
func (LotStarted) Kind() Kind { return KindLot }

func (b LotStarted) check(c *checker) {
	c.slug("lot", b.Slug, true)
	c.text("name", b.Name, maxName)
	c.oneOf("colour", b.Colour, false, Colours...)
	c.text("style", b.Style, maxText)
	if b.Vintage != 0 && (b.Vintage < 1800 || b.Vintage > 2200) {
		c.bad("vintage", itoa(b.Vintage), "a year from 1800 to 2200")
	}
	c.text("variety", b.Variety, maxText)
	c.text("origin", b.Origin, maxText)
	c.oneOf("malolactic", b.Malolactic, false, MalolacticWanted, MalolacticKeptFrom)
	c.oneOf("units", b.Units, false, "metric", "us")
	c.slug("protocol", b.Protocol, false)
	for _, w := range b.Was {
		c.slug("earlier name", w, true)
	}
	c.text("words", b.Words, maxText)
}

// VesselTypes are the kinds of vessels.
var VesselTypes = []string{"carboy", "demijohn", "keg", "tank", "barrel", "bin", "bucket", "jug", "bag", "other"}

// VesselNamed names a vessel or, for one that is known, describes it anew.
type VesselNamed struct {
	Slug     string   `json:"slug"` // what is chalked on it: "b2"
	Name     string   `json:"name,omitempty"`
	Type     string   `json:"type,omitempty"`     // of VesselTypes
	Material string   `json:"material,omitempty"` // glass, steel, plastic, oak …
	Size     *Measure `json:"size,omitempty"`     // what it holds when full
	Place    string   `json:"place,omitempty"`    // where it stands
	Walk     int      `json:"walk,omitempty"`     // place in the order of a walk through the cellar
	Oak      string   `json:"oak,omitempty"`      // of a barrel: wood, toast, year, fills
	Headgap  *Measure `json:"headgap,omitempty"`  // room usually left empty
	Was      []string `json:"was,omitempty"`      // earlier short names, which stay valid
	Gone     bool     `json:"gone,omitempty"`     // sold, broken: no longer in the cellar
	Anew     bool     `json:"anew,omitempty"`     // describes what is known already
	Words    string   `json:"words,omitempty"`
}

// Kind is KindVessel.
func (VesselNamed) Kind() Kind { return KindVessel }

func (b VesselNamed) check(c *checker) {
	c.slug("vessel", b.Slug, true)
	if reservedWords[b.Slug] && !b.Anew { // what has long been called so may be described
		c.bad("vessel", b.Slug, "a name that is not itself a word of the typed line")
	}
	c.text("name", b.Name, maxName)
	c.oneOf("type", b.Type, false, VesselTypes...)
	c.text("material", b.Material, maxName)
	c.amount("size", b.Size, false, Volume)
	c.text("place", b.Place, maxName)
	c.text("oak", b.Oak, maxText)
	c.amount("headgap", b.Headgap, false, Volume)
	for _, w := range b.Was {
		c.slug("earlier name", w, true)
	}
	c.text("words", b.Words, maxText)
}

// InstrumentTypes are the kinds of instruments.
var InstrumentTypes = []string{"ph-meter", "hydrometer", "refractometer", "thermometer", "scale", "titration-kit", "so2-kit", "malic-kit", "chromatography", "other"}

// InstrumentNamed names an instrument or, for one that is known, describes it anew.
type InstrumentNamed struct {
	Slug    string   `json:"slug"`
	Name    string   `json:"name,omitempty"`
	Type    string   `json:"type,omitempty"` // of InstrumentTypes
	Step    *Measure `json:"step,omitempty"` // smallest division
	At      *Measure `json:"at,omitempty"`   // reference temperature of a hydrometer
	Serial  string   `json:"serial,omitempty"`
	Bought  string   `json:"bought,omitempty"` // a moment
	Opened  string   `json:"opened,omitempty"` // of an electrode or a kit: a moment
	BestBy  string   `json:"best_by,omitempty"`
	Cost    *Measure `json:"cost,omitempty"` // of one test
	Minutes int      `json:"minutes,omitempty"`
	Gone    bool     `json:"gone,omitempty"`
	Anew    bool     `json:"anew,omitempty"` // describes what is known already
	Words   string   `json:"words,omitempty"`
}

// Kind is KindInstrument.
func (InstrumentNamed) Kind() Kind { return KindInstrument }

func (b InstrumentNamed) check(c *checker) {
	c.slug("instrument", b.Slug, true)
	c.text("name", b.Name, maxName)
	c.oneOf("type", b.Type, false, InstrumentTypes...)
	c.amount("step", b.Step, false, Number, Acidity, Mass, Volume, Temperature, Gravity, Concentration)
	c.measure("reference temperature", b.At, false, Temperature)
	c.text("serial", b.Serial, maxName)
	c.moment("bought", b.Bought)
	c.moment("opened", b.Opened)
	c.moment("best by", b.BestBy)
	c.amount("cost", b.Cost, false, Currency)
	c.text("words", b.Words, maxText)
}

// Purchase puts something on the shelf.
type Purchase struct {
	Product  string   `json:"product"` // of Products, or any short name
	Name     string   `json:"name,omitempty"`
	Amount   *Measure `json:"amount,omitempty"`
	Supply   string   `json:"supply,omitempty"`   // supplier's lot number
	Strength *Measure `json:"strength,omitempty"` // "100 %" of the pure product, or "10 %" for a solution
	BestBy   string   `json:"best_by,omitempty"`
	KeptAt   *Measure `json:"kept_at,omitempty"` // temperature
	Treats   *Measure `json:"treats,omitempty"`  // volume that a packet is rated for
	Price    *Measure `json:"price,omitempty"`
	From     string   `json:"from,omitempty"`
	Words    string   `json:"words,omitempty"`
}

// Kind is KindPurchase.
func (Purchase) Kind() Kind { return KindPurchase }

func (b Purchase) check(c *checker) {
	c.slug("product", b.Product, true)
	c.text("name", b.Name, maxName)
	c.amount("amount", b.Amount, false, Mass, Volume, Number)
	c.text("supplier's lot", b.Supply, maxName)
	c.amount("strength", b.Strength, false, Ratio)
	c.moment("best by", b.BestBy)
	c.measure("kept at", b.KeptAt, false, Temperature)
	c.amount("treats", b.Treats, false, Volume)
	c.amount("price", b.Price, false, Currency)
	c.text("from", b.From, maxName)
	c.text("words", b.Words, maxText)
}

func (b LotStarted) vessels(names []string) []string      { return names }
func (b VesselNamed) vessels(names []string) []string     { return names }
func (b InstrumentNamed) vessels(names []string) []string { return names }
func (b Purchase) vessels(names []string) []string        { return names }
