package line

import (
	"strings"

	"elevage/internal/cellar"
)

// A Rule is one way of saying something. Help pages and docs/log.md are made
// from the rules.
type Rule struct {
	Words   []string // first words
	Means   string
	Example string
	prefix  bool // the first word may be joined to the next: "+12"
	read    func(*sentence, string) ([]cellar.Body, error)
}

// Grammar is everything the line understands. Before any of it may stand a day
// and an hour; several sentences are parted by semicolons.
var Grammar []Rule

func init() {
	Grammar = []Rule{
		{Words: []string{"ph", "ta", "malic", "temp", "alcohol", "density", "brix", "sg", "va"}, Means: "a reading: what, how much, where", Example: "ph 3.47 b2"},
		{Words: []string{"so2"}, Means: "free or total sulfur dioxide", Example: "so2 free 22 c1 by aspiration", read: (*sentence).sulfur},
		{Words: []string{"paper"}, Means: "the malic spot of a chromatogram: strong, faint or none", Example: "paper faint b2", read: (*sentence).paper},
		{Words: []string{"bubble", "bubbles"}, Means: "time from one bubble to the next", Example: "bubble 9 min c4", read: (*sentence).bubble},
		{Words: []string{"control"}, Means: "a reading of the wine kept back on day 0", Example: "control ph 3.45 b2", read: (*sentence).control},
		{Words: []string{"check"}, Means: "the pH meter read in a buffer", Example: "check 7.00 read 7.03", read: (*sentence).check},
		{Words: []string{"+", "added", "add"}, Means: "an addition: how much of what, where", Example: "+12 g kmbs c1", prefix: true, read: (*sentence).addition},
		{Words: []string{"racked", "rack"}, Means: "wine from one vessel into another; a little left behind is lees, more of it stays where it was (“rest lees”, “lees 1.5 L”)", Example: "racked 20 L c1 to b3", read: (*sentence).racked},
		{Words: []string{"topped", "top"}, Means: "a little wine from one vessel to fill another", Example: "topped b2 0.4 L from c3", read: (*sentence).topped},
		{Words: []string{"stirred", "stir"}, Means: "lees stirred", Example: "stirred b2 c3", read: (*sentence).stirred},
		{Words: []string{"punched", "punch"}, Means: "cap punched down", Example: "punched bin1", read: (*sentence).punched},
		{Words: []string{"inoculated", "inoculate"}, Means: "malolactic culture: direct, rehydrated, starter, or native", Example: "inoculated b2 rehydrated 0.5 g", read: (*sentence).inoculated},
		{Words: []string{"holds", "dip"}, Means: "what a vessel was found to hold", Example: "holds 52.5 L d1", read: (*sentence).holds},
		{Words: []string{"set", "held"}, Means: "a temperature that is held from here on", Example: "set 20 C b2", read: (*sentence).set},
		{Words: []string{"kept"}, Means: "a control sample kept back", Example: "kept 200 mL b2", read: (*sentence).kept},
		{Words: []string{"declared", "declare"}, Means: "a verdict: dry, finished, stuck, sound, sick", Example: "declared b2 finished", read: (*sentence).declared},
		{Words: []string{"note"}, Means: "words about a vessel, or about nothing in particular", Example: "note b2 bung replaced", read: (*sentence).note},
	}
}

// allFirstWords are the words that may begin a sentence.
func allFirstWords() []string {
	var out []string
	for _, g := range Grammar {
		out = append(out, g.Words...)
	}
	for i := range cellar.Readables {
		r := &cellar.Readables[i]
		out = append(append(out, r.What), r.Also...)
	}
	return out
}

func firstWords() string {
	var out []string
	for _, g := range Grammar {
		out = append(out, g.Words[0])
	}
	return strings.Join(out, ", ")
}

// nearest is the name that a word was most likely meant to be; "" if none is near.
func nearest(word string, names []string) string {
	if word == "" {
		return ""
	}
	best, least := "", 1+len(word)/3
	for _, n := range names {
		if d := distance(word, n, least+1); d <= least && (d < least || best == "") {
			best, least = n, d
		}
	}
	if best == "" {
		return ""
	}
	return "did you mean " + best + "?"
}

// distance is the number of letters that must be changed, added or left out to
// make a into b (Levenshtein), at most limit.
func distance(a, b string, limit int) int {
	ra, rb := []rune(a), []rune(b)
	if d := len(ra) - len(rb); d > limit || -d > limit {
		return limit
	}
	row := make([]int, len(rb)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(ra); i++ {
		before := row[0]
		row[0] = i
		for j := 1; j <= len(rb); j++ {
			change := before
			if ra[i-1] != rb[j-1] {
				change++
			}
			before = row[j]
			row[j] = min(change, row[j]+1, row[j-1]+1)
		}
	}
	return min(row[len(rb)], limit)
}
