package cellar

// A Sample is fruit taken from the vine to see how ripe it is. What is read of it is
// entered as readings of its lot; the session ties them to it.
type Sample struct {
	Lot      string `json:"lot"`
	Block    string `json:"block,omitempty"`
	Berries  int    `json:"berries,omitempty"`
	Clusters int    `json:"clusters,omitempty"`
	Rotten   int    `json:"rotten,omitempty"` // of those counted
	Session  string `json:"session,omitempty"`
	Taste    string `json:"taste,omitempty"` // of skins and seeds, in words or a score
	Words    string `json:"words,omitempty"`
}

// Kind is KindSample.
func (Sample) Kind() Kind { return KindSample }

func (b Sample) check(c *checker) {
	c.slug("lot", b.Lot, true)
	c.text("block", b.Block, maxName)
	for _, n := range [...]struct {
		name  string
		given int
	}{{"berries", b.Berries}, {"clusters", b.Clusters}, {"rotten", b.Rotten}} {
		if n.given < 0 || n.given > 1_000_000 {
			c.bad(n.name, itoa(n.given), "a number of 0 or more")
		}
	}
	c.text("session", b.Session, maxName)
	c.text("taste", b.Taste, maxText)
	c.text("words", b.Words, maxText)
}

// What a bench trial may be of.
var Trials = []string{"fining", "acid", "blend", "copper", "oak", "sweetness", "tannin", "other"}

// A Trial is rows that were made up on the bench, tasted under codes, and what was
// decided. The addition or blend that it led to is its own entry, named in LedTo.
type Trial struct {
	Vessel    string       `json:"vessel,omitempty"`
	Lot       string       `json:"lot,omitempty"`
	What      string       `json:"what"` // of Trials
	Question  string       `json:"question,omitempty"`
	Sample    *Measure     `json:"sample,omitempty"` // volume that each row was made up in
	Waited    *Measure     `json:"waited,omitempty"` // before it was tasted
	Rows      []TrialRow   `json:"rows"`
	Tasters   []string     `json:"tasters,omitempty"`
	Preferred []Preference `json:"preferred,omitempty"` // who liked which better
	Seed      string       `json:"seed,omitempty"`      // of the sheet that the codes and orders came from
	Chosen    string       `json:"chosen,omitempty"`    // code of the row that was chosen
	Decision  string       `json:"decision,omitempty"`
	LedTo     []ID         `json:"led_to,omitempty"`
}

// A TrialRow is one glass of a trial.
type TrialRow struct {
	Code    string    `json:"code,omitempty"`    // under which it was tasted
	Product string    `json:"product,omitempty"` // of Products, or any short name
	Dose    *Measure  `json:"dose,omitempty"`    // none: the control
	Parts   []Portion `json:"parts,omitempty"`   // of a blend: vessel and volume, or share of the glass
	Score   string    `json:"score,omitempty"`
	Words   string    `json:"words,omitempty"`
}

// A Preference is one taster's order of the glasses.
type Preference struct {
	Taster string   `json:"taster"`
	Codes  []string `json:"codes"` // the best first; those left out were not placed
	Words  string   `json:"words,omitempty"`
}

// Kind is KindTrial.
func (Trial) Kind() Kind { return KindTrial }

func (b Trial) check(c *checker) {
	if b.What != "blend" {
		c.place(b.Vessel, b.Lot)
	}
	c.slug("vessel", b.Vessel, false)
	c.slug("lot", b.Lot, false)
	c.oneOf("what is tried", b.What, true, Trials...)
	c.text("question", b.Question, maxText)
	c.amount("sample", b.Sample, false, Volume)
	c.amount("waited", b.Waited, false, Duration)
	if len(b.Rows) == 0 || len(b.Rows) > 50 {
		c.bad("rows", itoa(len(b.Rows)), "1 to 50 rows")
	}
	codes := map[string]bool{}
	for _, r := range b.Rows {
		c.text("code", r.Code, maxName)
		c.slug("product", r.Product, false)
		c.amount("dose", r.Dose, false, Mass, Volume, Number, Concentration)
		c.portions("of", r.Parts)
		c.text("score", r.Score, maxName)
		c.text("words", r.Words, maxText)
		codes[r.Code] = true
	}
	if b.Chosen != "" && !codes[b.Chosen] {
		c.bad("chosen", b.Chosen, "the code of one of the rows")
	}
	for _, t := range b.Tasters {
		c.required("taster", t, maxName, "a name")
	}
	b.checkPreferred(c, codes)
	c.text("seed", b.Seed, maxName)
	c.text("decision", b.Decision, maxText)
	for _, id := range b.LedTo {
		if _, err := ParseID(string(id)); err != nil {
			c.bad("led to", string(id), "the id of an entry")
		}
	}
}

func (b Trial) checkPreferred(c *checker, codes map[string]bool) {
	if len(b.Preferred) > 100 {
		c.bad("preferred", itoa(len(b.Preferred))+" tasters", "at most 100")
	}
	for _, p := range b.Preferred {
		c.required("preferred by", p.Taster, maxName, "a name")
		c.text("words of "+p.Taster, p.Words, maxText)
		seen := map[string]bool{}
		for _, code := range p.Codes {
			if !codes[code] || seen[code] {
				c.bad("order of "+p.Taster, code, "codes of the rows, each once")
			}
			seen[code] = true
		}
	}
}

// First counts how many tasters put each row first, by code.
func (b Trial) First() map[string]int {
	out := map[string]int{}
	for _, p := range b.Preferred {
		if len(p.Codes) > 0 {
			out[p.Codes[0]]++
		}
	}
	return out
}

func (b Sample) vessels(n []string) []string { return n }

func (b Trial) vessels(n []string) []string {
	n = appendVessel(n, b.Vessel)
	for _, r := range b.Rows {
		n = portionVessels(n, r.Parts)
	}
	return n
}
