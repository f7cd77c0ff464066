package cellar

import (
	"encoding/json"
	"errors"
	"fmt"
)

// Kind is the kind of an entry. Kinds that are not known here come from a newer
// program; they are kept, shown and exported as they are.
type Kind string

// The kinds of entries.
const (
	KindLot         Kind = "lot"         // a lot is started or described anew
	KindVessel      Kind = "vessel"      // a vessel is named
	KindInstrument  Kind = "instrument"  // an instrument is named
	KindSample      Kind = "sample"      // fruit on the vine is sampled
	KindFruit       Kind = "fruit"       // fruit received
	KindCrush       Kind = "crush"       // fruit becomes must
	KindPress       Kind = "press"       // must becomes juice or wine
	KindMovement    Kind = "movement"    // wine in, out or between vessels
	KindDip         Kind = "dip"         // what a vessel holds, measured
	KindAddition    Kind = "addition"    // something is added
	KindReading     Kind = "reading"     // something is measured
	KindPHCheck     Kind = "ph-check"    // a pH meter read in a buffer
	KindCalibration Kind = "calibration" // an instrument is set
	KindControl     Kind = "control"     // a control sample is kept back
	KindInoculation Kind = "inoculation" // a culture is given, or a start without one noted
	KindStirring    Kind = "stirring"    // lees stirred, cap worked
	KindWarmth      Kind = "warmth"      // a temperature is set to be held
	KindTreatment   Kind = "treatment"   // filtered, chilled, aerated, oak in or out …
	KindCare        Kind = "care"        // a vessel is cleaned, sulfured, swelled
	KindVerdict     Kind = "verdict"     // a fermentation is declared finished, a wine sound or sick
	KindTasting     Kind = "tasting"     // tasted
	KindTrial       Kind = "trial"       // a bench trial, tasted and decided
	KindPurchase    Kind = "purchase"    // bought for the shelf
	KindPrices      Kind = "prices"      // what tests cost, and what mistakes would
	KindBottling    Kind = "bottling"    // bottles filled
	KindOpened      Kind = "opened"      // bottles opened, given, lost
	KindNote        Kind = "note"        // words
	KindDone        Kind = "done"        // a planned act is ticked or skipped
	KindAttachment  Kind = "attachment"  // a picture or a paper belongs to an entry
	KindStrike      Kind = "strike"      // an earlier entry is struck out
)

// A Body is what an entry of a known kind says. The set is closed: the types of
// this package that have a Kind.
type Body interface {
	// Kind is the kind of entry that the body belongs to.
	Kind() Kind
	// check adds what is wrong with the body.
	check(c *checker)
	// vessels adds the short names of the vessels it touches.
	vessels(names []string) []string
}

// A KindInfo describes a kind of entry for people and programs.
type KindInfo struct {
	Kind    Kind
	Title   string // "addition"
	Means   string // one line
	Schema  int    // newest version of the body that this program writes
	decode  func(json.RawMessage) (Body, error)
	example func() Body
}

// Kinds is every kind this program knows, in the order of a wine's life.
var Kinds = []KindInfo{
	kind(KindLot, "lot", "a lot is started, or described anew", LotStarted{Slug: "merlot-26", Name: "Merlot 2026", Colour: "red", Malolactic: "wanted"}),
	kind(KindVessel, "vessel", "a vessel is named", VesselNamed{Slug: "b2", Type: "barrel", Size: M("225", "L")}),
	kind(KindInstrument, "instrument", "an instrument is named", InstrumentNamed{Slug: "meter", Type: "ph-meter"}),
	kind(KindSample, "fruit sample", "fruit on the vine is sampled; what is read of it is readings of its lot in the same session", Sample{Lot: "merlot-26", Block: "hill", Berries: 200, Session: "vine 12 Sep"}),
	kind(KindFruit, "fruit received", "fruit is received, by weight", FruitReceived{Lot: "merlot-26", Weight: M("120", "kg"), Vessel: "bin1"}),
	kind(KindCrush, "crush", "fruit is crushed or destemmed into must", Crush{Lot: "merlot-26", To: []Portion{{Vessel: "bin1", Volume: M("105", "L")}}}),
	kind(KindPress, "press", "must is pressed into juice or wine, or drained from its skins", Press{From: []Portion{{Vessel: "bin1"}}, To: []Portion{{Vessel: "c1", Volume: M("54", "L")}}}),
	kind(KindMovement, "movement", "wine comes in, goes out or moves between vessels", Movement{How: "racking", From: []Portion{{Vessel: "c1"}}, To: []Portion{{Vessel: "b3", Volume: M("20", "L")}}}),
	kind(KindDip, "dip", "what a vessel holds is measured", Dip{Vessel: "b2", Volume: M("221.5", "L")}),
	kind(KindAddition, "addition", "something is added", Addition{Vessel: "c1", Product: "potassium-metabisulfite", Amount: M("3.1", "g")}),
	kind(KindReading, "reading", "something is measured", Reading{Vessel: "b2", What: "ph", Value: M("3.47", "pH")}),
	kind(KindPHCheck, "pH check", "a pH meter is read in a buffer of known pH", PHCheck{Buffer: "7.00", Read: "7.03"}),
	kind(KindCalibration, "calibration", "an instrument is set by a standard", Calibration{Instrument: "meter", Points: []string{"7.00", "4.01"}}),
	kind(KindControl, "control sample", "wine is kept back to be read again later", ControlKept{Vessel: "b2", Volume: M("250", "mL")}),
	kind(KindInoculation, "inoculation", "a culture is given, or a start without one is noted", Inoculation{Vessel: "b2", Of: "malolactic", How: "rehydrated", Amount: M("0.5", "g")}),
	kind(KindStirring, "stirring", "lees are stirred or a cap is worked", Stirring{Vessel: "b2", What: "lees"}),
	kind(KindWarmth, "temperature set", "a temperature is set to be held", Warmth{Vessel: "b2", Set: M("20", "°C")}),
	kind(KindTreatment, "treatment", "wine is filtered, chilled, aerated, oaked …", Treatment{Vessel: "b2", What: "filtration"}),
	kind(KindCare, "vessel care", "a vessel is cleaned, sulfured or swelled", Care{Vessel: "b2", What: "cleaned"}),
	kind(KindVerdict, "verdict", "a fermentation is declared finished, or a wine sound or sick", Verdict{Vessel: "b2", Says: "malolactic-finished", Evidence: "clear chromatogram twice"}),
	kind(KindTasting, "tasting", "a wine is tasted", Tasting{Vessel: "b2", Words: "clean, still some apple"}),
	kind(KindTrial, "bench trial", "a bench trial is tasted and decided", Trial{Vessel: "b2", What: "fining", Question: "is it less harsh, and still itself?", Rows: []TrialRow{{Code: "417", Score: "2"}, {Code: "803", Product: "egg-white", Dose: M("60", "mg/L"), Score: "5", Words: "rounder"}}, Preferred: []Preference{{Taster: "Runa", Codes: []string{"803", "417"}}}, Chosen: "803"}),
	kind(KindPurchase, "purchase", "something is bought for the shelf", Purchase{Product: "potassium-metabisulfite", Amount: M("250", "g")}),
	kind(KindPrices, "prices", "what tests cost is told, and what a mistake or a day of waiting would", Prices{Money: "EUR", Tests: []TestPrice{{What: ReadChromatogram, Cost: "1", Minutes: "30"}, {What: ReadTA, Cost: "0.5", Minutes: "20"}, {What: ReadMalic, Cannot: true}}, FalseFinished: "150", LostDay: "0.60"}),
	kind(KindBottling, "bottling", "bottles are filled", Bottling{Slug: "merlot-26-bottles", From: []Portion{{Vessel: "b2"}}, Count: 290, Size: M("750", "mL")}),
	kind(KindOpened, "bottle opened", "bottles are opened, given away or lost", Opened{Bottling: "merlot-26-bottles", Count: 1}),
	kind(KindNote, "note", "words", Note{Vessel: "b2", Words: "bung replaced"}),
	kind(KindDone, "done", "a planned act is ticked, or skipped in words", Done{Act: "stir b2", Task: "stir/b2/2026-11-03"}),
	kind(KindAttachment, "attachment", "a picture or a paper belongs to an entry", Attachment{Name: "sheet.jpg", Digest: "sha256:0000000000000000000000000000000000000000000000000000000000000000"}),
	kind(KindStrike, "strike", "an earlier entry is struck out, with the reason", Strike{Target: "0190a5e0-7c3a-7000-8000-000000000000", Reason: "wrong vessel"}),
}

func kind[T Body](k Kind, title, means string, example T) KindInfo {
	return KindInfo{Kind: k, Title: title, Means: means, Schema: 1,
		decode: func(raw json.RawMessage) (Body, error) {
			var b T
			err := json.Unmarshal(raw, &b)
			return b, err
		},
		example: func() Body { return example },
	}
}

var kindIndex = func() map[Kind]*KindInfo {
	index := make(map[Kind]*KindInfo, len(Kinds))
	for i := range Kinds {
		index[Kinds[i].Kind] = &Kinds[i]
	}
	return index
}()

// InfoOf describes a kind; ok is false for kinds that are not known here.
func InfoOf(k Kind) (info KindInfo, ok bool) {
	i := kindIndex[k]
	if i == nil {
		return KindInfo{Kind: k, Title: string(k), Means: "an entry of a kind that this program does not know"}, false
	}
	return *i, true
}

// SchemaOf is the version of a body that this program writes, 0 for unknown kinds.
func SchemaOf(k Kind) int {
	if i := kindIndex[k]; i != nil {
		return i.Schema
	}
	return 0
}

// Example is a body of the kind as it may be written, nil for unknown kinds.
func (k KindInfo) Example() Body {
	if k.example == nil {
		return nil
	}
	return k.example()
}

// ErrUnknownKind is returned by Decode for a kind that this program does not know.
var ErrUnknownKind = errors.New("an entry of a kind that this program does not know")

// Decode reads the body as the typed body of the entry's kind. It reads a body of
// a newer version as far as it is understood. Whether what it says is allowed
// is asked of Draft.Check; what an old entry says is taken as it stands.
func (e *Entry) Decode() (Body, error) {
	i := kindIndex[e.Kind]
	if i == nil {
		return nil, ErrUnknownKind
	}
	if b, ok := decodeOwn(e.Kind, e.Body); ok {
		return b, nil
	}
	b, err := i.decode(e.Body)
	if err != nil {
		return nil, fmt.Errorf("the body of this %s cannot be read: %s", i.Title, jsonTrouble(err))
	}
	return b, nil
}
