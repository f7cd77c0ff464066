package cellar

import "strconv"

func itoa(n int) string { return strconv.Itoa(n) }

// An Addition is something put into a wine, a must, or a whole lot of fruit.
type Addition struct {
	Vessel   string   `json:"vessel,omitempty"`
	Lot      string   `json:"lot,omitempty"`      // for a lot that is in no vessel yet
	Product  string   `json:"product"`            // of Products, or any short name
	Name     string   `json:"name,omitempty"`     // as on the packet
	Amount   *Measure `json:"amount"`             // weight, volume, a number of tablets, or a rate in the wine such as 30 mg/L
	Strength *Measure `json:"strength,omitempty"` // of an aged powder, or of a solution: grams of product in 100 mL as "10 %"
	Solution bool     `json:"solution,omitempty"` // Amount is of a solution in water of that Strength
	Supply   string   `json:"supply,omitempty"`   // supplier's lot number
	Purpose  string   `json:"purpose,omitempty"`  // "protect", "acid", "nutrient", "fining" …
	For      *Measure `json:"for,omitempty"`      // the volume it was reckoned for
	Planned  *Measure `json:"planned,omitempty"`  // amount that was planned, if another was weighed
	Words    string   `json:"words,omitempty"`
}

// Kind is KindAddition.
func (Addition) Kind() Kind { return KindAddition }

func (b Addition) check(c *checker) {
	c.place(b.Vessel, b.Lot)
	c.slug("product", b.Product, true)
	c.text("name", b.Name, maxName)
	c.amount("amount", b.Amount, true, Mass, Volume, Number, Concentration)
	c.amount("strength", b.Strength, b.Solution, Ratio)
	c.text("supplier's lot", b.Supply, maxName)
	c.text("purpose", b.Purpose, maxName)
	c.amount("reckoned for", b.For, false, Volume)
	c.amount("planned", b.Planned, false, Mass, Volume, Number, Concentration)
	c.text("words", b.Words, maxText)
}

// place checks that an act is at a vessel or at a lot.
func (c *checker) place(vessel, lot string) {
	if vessel == "" && lot == "" {
		c.bad("vessel", "", "the vessel it was done to, or the lot if it is in none")
		return
	}
	c.slug("vessel", vessel, false)
	c.slug("lot", lot, false)
}

// What an inoculation starts, and how.
var (
	Ferments     = []string{"primary", "malolactic"}
	Inoculations = []string{"native", "direct", "rehydrated", "starter"}
)

// An Inoculation gives a culture to a wine, or says with "native" that it was
// left to start by itself from here on.
type Inoculation struct {
	Vessel   string   `json:"vessel,omitempty"`
	Lot      string   `json:"lot,omitempty"`
	Of       string   `json:"of"`  // of Ferments
	How      string   `json:"how"` // of Inoculations
	Culture  string   `json:"culture,omitempty"`
	Amount   *Measure `json:"amount,omitempty"`
	Supply   string   `json:"supply,omitempty"`
	Treats   *Measure `json:"treats,omitempty"` // volume that the packet is rated for
	Nutrient string   `json:"nutrient,omitempty"`
	From     string   `json:"from,omitempty"` // vessel of a starter or of converting wine
	Words    string   `json:"words,omitempty"`
}

// Kind is KindInoculation.
func (Inoculation) Kind() Kind { return KindInoculation }

func (b Inoculation) check(c *checker) {
	c.place(b.Vessel, b.Lot)
	c.oneOf("ferment", b.Of, true, Ferments...)
	c.oneOf("how", b.How, true, Inoculations...)
	c.text("culture", b.Culture, maxName)
	c.amount("amount", b.Amount, false, Mass, Volume, Number, Concentration)
	c.text("supplier's lot", b.Supply, maxName)
	c.amount("treats", b.Treats, false, Volume)
	c.text("nutrient", b.Nutrient, maxName)
	c.slug("from", b.From, false)
	c.text("words", b.Words, maxText)
}

// Stirring is work on lees or cap.
type Stirring struct {
	Vessel string `json:"vessel"`
	What   string `json:"what,omitempty"` // "lees", "punch-down", "pump-over", "rack-and-return"
	Words  string `json:"words,omitempty"`
}

// Kind is KindStirring.
func (Stirring) Kind() Kind { return KindStirring }

func (b Stirring) check(c *checker) {
	c.slug("vessel", b.Vessel, true)
	c.oneOf("what", b.What, false, "lees", "punch-down", "pump-over", "rack-and-return")
	c.text("words", b.Words, maxText)
}

// Warmth is a temperature set to be held from here on; what the wine has is a reading.
type Warmth struct {
	Vessel string   `json:"vessel,omitempty"`
	Lot    string   `json:"lot,omitempty"`
	Set    *Measure `json:"set"`
	Words  string   `json:"words,omitempty"`
}

// Kind is KindWarmth.
func (Warmth) Kind() Kind { return KindWarmth }

func (b Warmth) check(c *checker) {
	c.place(b.Vessel, b.Lot)
	c.temperature("temperature", b.Set, true, heldFrom, heldTo)
	c.text("words", b.Words, maxText)
}

// Treatments are acts on a wine that add nothing that stays to be reckoned with.
var Treatments = []string{"filtration", "chilling", "aeration", "degassing", "oak-in", "oak-out", "fining-settled", "topping-gas", "pasteurising", "other"}

// A Treatment is one of Treatments.
type Treatment struct {
	Vessel string   `json:"vessel"`
	What   string   `json:"what"` // of Treatments
	Amount *Measure `json:"amount,omitempty"`
	Words  string   `json:"words,omitempty"`
}

// Kind is KindTreatment.
func (Treatment) Kind() Kind { return KindTreatment }

func (b Treatment) check(c *checker) {
	c.slug("vessel", b.Vessel, true)
	c.oneOf("treatment", b.What, true, Treatments...)
	if u, ok := LookupUnit(b.Amount.unit()); ok && u.Dimension == Temperature && b.What == "chilling" {
		c.temperature("amount", b.Amount, false, chillFrom, chillTo)
	} else {
		c.measure("amount", b.Amount, false, Mass, Volume, Number, Concentration, Temperature, Duration)
	}
	c.text("words", b.Words, maxText)
}

// Cares are what is done to a vessel itself.
var Cares = []string{"cleaned", "rinsed", "sulfured", "swelled", "steamed", "inspected", "repaired"}

// Care is done to a vessel, full or empty.
type Care struct {
	Vessel string   `json:"vessel"`
	What   string   `json:"what"` // of Cares
	With   string   `json:"with,omitempty"`
	Amount *Measure `json:"amount,omitempty"`
	Words  string   `json:"words,omitempty"`
}

// Kind is KindCare.
func (Care) Kind() Kind { return KindCare }

func (b Care) check(c *checker) {
	c.slug("vessel", b.Vessel, true)
	c.oneOf("care", b.What, true, Cares...)
	c.text("with", b.With, maxName)
	c.measure("amount", b.Amount, false, Mass, Volume, Number, Concentration, Duration, Ratio)
	c.text("words", b.Words, maxText)
}

// Verdicts that a person may declare.
const (
	VerdictPrimaryStarted     = "primary-started"
	VerdictDry                = "dry"
	VerdictMalolacticStarted  = "malolactic-started"
	VerdictMalolacticFinished = "malolactic-finished"
	VerdictMalolacticStuck    = "malolactic-stuck"
	VerdictMalolacticGivenUp  = "malolactic-given-up"
	VerdictSound              = "sound"
	VerdictSick               = "sick"
)

// Verdicts are the words a verdict may say.
var Verdicts = []string{VerdictPrimaryStarted, VerdictDry, VerdictMalolacticStarted, VerdictMalolacticFinished,
	VerdictMalolacticStuck, VerdictMalolacticGivenUp, VerdictSound, VerdictSick}

// A Verdict is what a person declares, and on what evidence.
type Verdict struct {
	Vessel   string `json:"vessel,omitempty"`
	Lot      string `json:"lot,omitempty"`
	Says     string `json:"says"` // of Verdicts
	Evidence string `json:"evidence,omitempty"`
}

// Kind is KindVerdict.
func (Verdict) Kind() Kind { return KindVerdict }

func (b Verdict) check(c *checker) {
	c.place(b.Vessel, b.Lot)
	c.oneOf("verdict", b.Says, true, Verdicts...)
	c.text("evidence", b.Evidence, maxText)
}

// Tasting is what was smelt and tasted.
type Tasting struct {
	Vessel   string   `json:"vessel,omitempty"`
	Lot      string   `json:"lot,omitempty"`
	Bottling string   `json:"bottling,omitempty"`
	Score    string   `json:"score,omitempty"`
	Faults   []string `json:"faults,omitempty"`
	Check    string   `json:"check,omitempty"` // what is to be looked at next, to be sure of a fault
	Words    string   `json:"words,omitempty"`
}

// Kind is KindTasting.
func (Tasting) Kind() Kind { return KindTasting }

func (b Tasting) check(c *checker) {
	if b.Bottling == "" {
		c.place(b.Vessel, b.Lot)
	}
	c.slug("bottling", b.Bottling, false)
	c.text("score", b.Score, maxName)
	c.text("check", b.Check, maxText)
	for _, f := range b.Faults {
		c.required("fault", f, maxName, "a word")
	}
	if b.Score == "" && len(b.Faults) == 0 {
		c.required("words", b.Words, maxText, "what was tasted")
	}
	c.text("words", b.Words, maxText)
}

// ControlKept says that wine was kept back from a vessel, full, cold and
// closed, to be read again in later sessions. Its volume leaves the vessel.
type ControlKept struct {
	Vessel string   `json:"vessel"`
	Volume *Measure `json:"volume,omitempty"`
	Kept   string   `json:"kept,omitempty"` // "frozen", "cold"
	Words  string   `json:"words,omitempty"`
}

// Kind is KindControl.
func (ControlKept) Kind() Kind { return KindControl }

func (b ControlKept) check(c *checker) {
	c.slug("vessel", b.Vessel, true)
	c.amount("volume", b.Volume, false, Volume)
	c.oneOf("kept", b.Kept, false, "frozen", "cold")
	c.text("words", b.Words, maxText)
}

// Note is words, about a vessel, a lot, an instrument or the cellar.
type Note struct {
	Vessel     string `json:"vessel,omitempty"`
	Lot        string `json:"lot,omitempty"`
	Instrument string `json:"instrument,omitempty"`
	Words      string `json:"words"`
}

// Kind is KindNote.
func (Note) Kind() Kind { return KindNote }

func (b Note) check(c *checker) {
	c.slug("vessel", b.Vessel, false)
	c.slug("lot", b.Lot, false)
	c.slug("instrument", b.Instrument, false)
	c.required("words", b.Words, maxText, "some words")
}

// Done ticks a planned act, or skips it. What was really done is its own
// entry, named in Entries.
type Done struct {
	Task    string `json:"task"` // key of the planned act
	Act     string `json:"act,omitempty"`
	Vessel  string `json:"vessel,omitempty"`
	Lot     string `json:"lot,omitempty"`
	Skipped bool   `json:"skipped,omitempty"`
	Words   string `json:"words,omitempty"` // required when skipped
	Entries []ID   `json:"entries,omitempty"`
}

// Kind is KindDone.
func (Done) Kind() Kind { return KindDone }

func (b Done) check(c *checker) {
	c.required("task", b.Task, 200, "the key of a planned act")
	c.text("act", b.Act, maxText)
	c.slug("vessel", b.Vessel, false)
	c.slug("lot", b.Lot, false)
	if b.Skipped {
		c.required("words", b.Words, maxText, "why it is skipped")
	}
	c.text("words", b.Words, maxText)
	for _, id := range b.Entries {
		if _, err := ParseID(string(id)); err != nil {
			c.bad("entry", string(id), "the id of an entry")
		}
	}
}

// Attachment says that a file, kept beside the ledger by its digest, belongs to an entry.
type Attachment struct {
	To     ID     `json:"to,omitempty"`
	Vessel string `json:"vessel,omitempty"`
	Lot    string `json:"lot,omitempty"`
	Name   string `json:"name"`
	Type   string `json:"type,omitempty"` // media type
	Bytes  int64  `json:"bytes,omitempty"`
	Digest string `json:"digest"` // "sha256:" and 64 hexadecimal digits
	Words  string `json:"words,omitempty"`
}

// Kind is KindAttachment.
func (Attachment) Kind() Kind { return KindAttachment }

func (b Attachment) check(c *checker) {
	c.required("name", b.Name, maxName, "a file's name")
	c.text("type", b.Type, maxName)
	if len(b.Digest) != len("sha256:")+64 || b.Digest[:7] != "sha256:" {
		c.bad("digest", b.Digest, "sha256: and 64 hexadecimal digits")
	}
	c.slug("vessel", b.Vessel, false)
	c.slug("lot", b.Lot, false)
	c.text("words", b.Words, maxText)
}

// Strike strikes an earlier entry out; it stays legible. A strike is itself an
// entry and can be struck, and it may arrive before what it strikes.
type Strike struct {
	Target ID     `json:"target"`
	Reason string `json:"reason"`
}

// Kind is KindStrike.
func (Strike) Kind() Kind { return KindStrike }

func (b Strike) check(c *checker) {
	if _, err := ParseID(string(b.Target)); err != nil {
		c.bad("target", string(b.Target), "the id of the entry to strike")
	}
	c.required("reason", b.Reason, maxText, "why it is struck")
}

func appendVessel(n []string, vessel string) []string {
	if vessel == "" {
		return n
	}
	return append(n, vessel)
}

func (b Addition) vessels(n []string) []string    { return appendVessel(n, b.Vessel) }
func (b Inoculation) vessels(n []string) []string { return appendVessel(n, b.Vessel) }
func (b Stirring) vessels(n []string) []string    { return append(n, b.Vessel) }
func (b Warmth) vessels(n []string) []string      { return appendVessel(n, b.Vessel) }
func (b Treatment) vessels(n []string) []string   { return append(n, b.Vessel) }
func (b Care) vessels(n []string) []string        { return append(n, b.Vessel) }
func (b Verdict) vessels(n []string) []string     { return appendVessel(n, b.Vessel) }
func (b Tasting) vessels(n []string) []string {
	return appendVessel(appendVessel(n, b.Vessel), b.Bottling)
}
func (b ControlKept) vessels(n []string) []string { return append(n, b.Vessel) }
func (b Note) vessels(n []string) []string        { return appendVessel(n, b.Vessel) }
func (b Done) vessels(n []string) []string        { return appendVessel(n, b.Vessel) }
func (b Attachment) vessels(n []string) []string  { return appendVessel(n, b.Vessel) }
func (b Strike) vessels(n []string) []string      { return n }
