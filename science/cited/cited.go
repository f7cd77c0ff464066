// Package cited carries the standing of a figure along with the figure, so that
// a value recalled from memory or a rule put forward by this project is never
// shown as if it had been read in a standard.
package cited

// A Mark says how far a figure may be trusted.
type Mark string

// The marks, from the firmest to the loosest.
const (
	Read           Mark = "read in the source"
	Computed       Mark = "computed from read figures"
	SecondHand     Mark = "read in a text that quotes the source"
	CommonPractice Mark = "common practice, no source"
	Memory         Mark = "from memory, unverified"
	Proposal       Mark = "proposal of this project"
)

// Firm reports whether the figure may be shown as coming from its source; the
// others may be shown as a rule of thumb only, and a Proposal never as a fact.
func (m Mark) Firm() bool { return m == Read || m == Computed }

// A Source is a citation with its mark.
type Source struct {
	Text string `json:"text"` // author, year, table or equation
	Mark Mark   `json:"mark"`
}
