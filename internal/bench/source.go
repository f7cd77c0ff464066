package bench

import "elevage/science/cited"

// A Source is where a figure or a formula of a calculator comes from.
type Source struct {
	Ref  string     `json:"ref,omitempty"` // author, title, year, table or equation; "" when there is none
	Used string     `json:"used"`          // what was taken from it
	Mark cited.Mark `json:"mark"`
}

// A Warning is declared with the calculator and shown when its condition holds.
// The same shape serves cautions, which are only said, and stops, which hold
// the figures back until they are overruled.
type Warning struct {
	Code string     `json:"code"`
	When string     `json:"when"` // in words, for the reference page
	Text string     `json:"text"`
	Ref  string     `json:"ref,omitempty"`
	Mark cited.Mark `json:"mark"`
}

// A Notice is a Warning that applies to one result.
type Notice struct {
	Code   string     `json:"code"`
	Text   string     `json:"text"`
	Detail string     `json:"detail,omitempty"` // the figures of this case
	Ref    string     `json:"ref,omitempty"`
	Mark   cited.Mark `json:"mark"`
}

// String is the notice as one line of text, with its source or its mark.
func (n Notice) String() string {
	s := n.Text
	if n.Detail != "" {
		s += " " + n.Detail
	}
	if n.Ref != "" {
		return s + " [" + n.Ref + "; " + string(n.Mark) + "]"
	}
	return s + " [" + string(n.Mark) + "]"
}

// A Check says what outside the program the calculator was compared with; the
// rows themselves are in testdata/checks/NAME.csv.
type Check struct {
	Against string     `json:"against"`
	Mark    cited.Mark `json:"mark"`
}
