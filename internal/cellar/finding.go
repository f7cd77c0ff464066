package cellar

import (
	"cmp"
	"slices"
	"strings"
	"time"
)

// A FindingCode says what does not add up. The list is closed.
type FindingCode string

// The findings.
const (
	FoundSameID         FindingCode = "same-id"                   // two entries have one id
	FoundFuture         FindingCode = "future"                    // it happens after now
	FoundUnknownKind    FindingCode = "unknown-kind"              // from a newer program
	FoundNewerSchema    FindingCode = "newer-schema"              // from a newer program, read as far as understood
	FoundUnreadable     FindingCode = "unreadable"                // the body is not what its kind says
	FoundBadFigure      FindingCode = "bad-figure"                // a numeral or unit that cannot be read
	FoundUnknownVessel  FindingCode = "unknown-vessel"            // no entry describes it
	FoundUnknownLot     FindingCode = "unknown-lot"               // no entry describes it
	FoundTwoNames       FindingCode = "two-of-one-name"           // two devices gave one name to two things
	FoundEmptyVessel    FindingCode = "empty-vessel"              // an act on a vessel that held nothing
	FoundOverdrawn      FindingCode = "overdrawn"                 // more taken out than was there
	FoundOverfull       FindingCode = "overfull"                  // more put in than it holds
	FoundUnbalanced     FindingCode = "unbalanced"                // out, in and losses do not add up
	FoundMissingVolume  FindingCode = "missing-volume"            // it had to be guessed
	FoundMixed          FindingCode = "lots-mixed"                // wine joined another lot
	FoundVolumeOff      FindingCode = "volume-off"                // a dip is off by more than its ±
	FoundDoseVolume     FindingCode = "dose-volume"               // a dose was reckoned for another volume
	FoundSO2Early       FindingCode = "so2-before-malolactic-end" // a wanted conversion was not over
	FoundCultureSulfite FindingCode = "culture-into-sulfited"     // more SO2 was given than a culture bears
	FoundSorbate        FindingCode = "sorbate-with-bacteria"     // they make a taint of it
	FoundStrikeUnknown  FindingCode = "strike-of-unknown"         // what it strikes has not arrived
	FoundStrikeCircle   FindingCode = "strikes-in-circle"         // strikes that strike each other
	FoundBothCount      FindingCode = "replaced-not-struck"       // a correction, and what it corrects still counts
	FoundOverOpened     FindingCode = "more-opened-than-filled"   // bottles
	FoundRested         FindingCode = "decision-rested-on"        // a reading that came, or was struck, only later
)

// A Finding is something that does not add up, to be settled by the person. It
// changes nothing by itself.
type Finding struct {
	Code    FindingCode
	Entries []ID // what it is about; the first is the one to show it next to
	Vessel  string
	Lot     string
	Parcel  ParcelID
	Says    string // a sentence with its figures
	// Note says that it only informs: nothing needs to be settled.
	Note bool

	at     time.Time
	by     *node // whose reckoning found it
	source findingSource
	turn   int
}

// findingSource is where in the reckoning a finding was made.
type findingSource uint8

const (
	sourceEnvelope findingSource = iota
	sourceStrikes
	sourceNames
	sourceRun
	sourceVessel
	sourceLot
)

// byMoment is the order of findings.
func byMoment(a, b *Finding) int {
	return cmp.Or(a.at.Compare(b.at), strings.Compare(string(a.Entries[0]), string(b.Entries[0])), strings.Compare(string(a.Code), string(b.Code)),
		strings.Compare(a.Says, b.Says), cmp.Compare(a.source, b.source), cmp.Compare(a.turn, b.turn), sequence(a.by, b.by), slices.Compare(a.Entries, b.Entries))
}
