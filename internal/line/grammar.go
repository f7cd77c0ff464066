package line

import (
	"fmt"
	"strings"
	"time"

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
		{Words: []string{"+", "added", "add"}, Means: "an addition: how much of what, where; “for 22 L” may follow, the volume it was reckoned for", Example: "+12 g kmbs c1", prefix: true, read: (*sentence).addition},
		{Words: []string{"racked", "rack"}, Means: "wine from one vessel into another; a little left behind is lees, more of it stays where it was (“rest lees”, “lees 1.5 L”)", Example: "racked 20 L c1 to b3", read: (*sentence).racked},
		{Words: []string{"topped", "top"}, Means: "a little wine from one vessel to fill another", Example: "topped b2 0.4 L from c3", read: (*sentence).topped},
		{Words: []string{"stirred", "stir"}, Means: "lees stirred", Example: "stirred b2 c3", read: (*sentence).stirred},
		{Words: []string{"punched", "punch"}, Means: "cap punched down", Example: "punched bin1", read: (*sentence).punched},
		{Words: []string{"inoculated", "inoculate"}, Means: "a culture, malolactic unless “yeast” is said: direct, rehydrated, starter, or native", Example: "inoculated b2 rehydrated 0.5 g", read: (*sentence).inoculated},
		{Words: []string{"holds", "dip"}, Means: "what a vessel was found to hold", Example: "holds 52.5 L d1", read: (*sentence).holds},
		{Words: []string{"set", "held"}, Means: "a temperature that is held from here on", Example: "set 20 C b2", read: (*sentence).set},
		{Words: []string{"kept"}, Means: "a control sample kept back", Example: "kept 200 mL b2", read: (*sentence).kept},
		{Words: []string{"declared", "declare"}, Means: "a verdict: dry, finished, stuck, sound, sick", Example: "declared b2 finished", read: (*sentence).declared},
		{Words: []string{"vessel"}, Means: "a vessel is named: what is chalked on it, its kind, what it holds, where it stands", Example: "vessel b7 barrel 225 L in the cold room", read: (*sentence).newVessel},
		{Words: []string{"lot"}, Means: "a lot is started: its name, then in any order its colour, year, variety, and whether malolactic fermentation is “wanted” or “kept from”", Example: "lot Gamay red 2026 malolactic wanted", read: (*sentence).newLot},
		{Words: []string{"instrument"}, Means: "an instrument is named", Example: "instrument dial thermometer", read: (*sentence).newInstrument},
		{Words: []string{"sampled", "sample"}, Means: "fruit on the vine is sampled; what is read of it follows by its lot (“brix 22 merlot”)", Example: "sampled merlot 200 berries block hill", read: (*sentence).sampled},
		{Words: []string{"received"}, Means: "fruit comes in, for a lot, into a vessel if it waits in one", Example: "received 120 kg merlot into bin1 from Hazel Row", read: (*sentence).received},
		{Words: []string{"crushed", "crush"}, Means: "fruit becomes must: from a vessel into one or more, where it stood (“crushed bin1 105 L”), or straight from the crates by its lot; “destemmed”, “whole clusters”, “juice” may follow", Example: "crushed merlot to bin1 105 L destemmed", read: (*sentence).crushed},
		{Words: []string{"filled", "fill"}, Means: "wine of a lot comes from outside; “must” or “juice” after it if it is not wine yet", Example: "filled c3 22 L merlot juice", read: (*sentence).filled},
		{Words: []string{"pressed", "press"}, Means: "must is pressed; each vessel with how much ran into it, and of which fraction", Example: "pressed bin1 to c3 54 L free run and c4 12 L hard press", read: (*sentence).pressed},
		{Words: []string{"drained", "drain"}, Means: "free run is drawn off and the skins stay", Example: "drained bin1 to c3 40 L free run", read: (*sentence).drained},
		{Words: []string{"bled", "bleed"}, Means: "juice is bled off skins (saignée), as another lot if it becomes one", Example: "bled 10 L bin1 to c3 as merlot", read: (*sentence).bled},
		{Words: []string{"settled", "settle"}, Means: "juice is drawn off what has settled; as with racked", Example: "settled 20 L c1 to c3", read: (*sentence).settled},
		{Words: []string{"split"}, Means: "wine of one vessel goes into several", Example: "split c1 to b3 12 L and c3 8 L", read: (*sentence).split},
		{Words: []string{"blended", "blend"}, Means: "wines go together; all of a vessel whose volume is left out", Example: "blended b2 20 L and c1 to c3 as merlot", read: (*sentence).blended},
		{Words: []string{"removed", "remove", "lost"}, Means: "wine leaves: as sample, spilt, evaporated, lees, drunk, given, sold or poured away", Example: "lost 0.3 L c1 spilt", read: (*sentence).removed},
		{Words: []string{"pumped", "pump"}, Means: "must pumped over its cap", Example: "pumped bin1", read: (*sentence).pumped},
		{Words: []string{"returned"}, Means: "must racked and returned over its cap", Example: "returned bin1", read: (*sentence).returned},
		{Words: []string{"filtered", "chilled", "aerated", "degassed", "gassed", "pasteurised"}, Means: "a treatment, with how much and words", Example: "chilled c1 -2 C for tartrate", read: (*sentence).treated},
		{Words: []string{"oak"}, Means: "oak goes in or comes out", Example: "oak in b2 60 g staves", read: (*sentence).oaked},
		{Words: []string{"cleaned", "rinsed", "sulfured", "swelled", "steamed", "inspected", "repaired"}, Means: "care of a vessel", Example: "sulfured b3 5 g", read: (*sentence).cared},
		{Words: []string{"tasted", "taste"}, Means: "a tasting: a score, words, and after “fault” what is wrong by eye or nose", Example: "tasted b2 7 closed, clean fault rotten egg", read: (*sentence).tasted},
		{Words: []string{"bottled", "bottle"}, Means: "bottles filled: from where, how many, of what size; without litres all of the vessel was drawn (“bottled 22 L c1 29 x 750 mL”, or “c1 22 L”); “lees 0.4 L” may follow, then the closure", Example: "bottled c1 29 x 750 mL natural cork", read: (*sentence).bottled},
		{Words: []string{"opened", "open"}, Means: "bottles opened: drunk, given, lost, sold or tested", Example: "opened merlot-bottles 2 given", read: (*sentence).opened},
		{Words: []string{"bought"}, Means: "something bought for the shelf", Example: "bought 250 g kmbs for 4.50 EUR", read: (*sentence).bought},
		{Words: []string{"calibrated"}, Means: "an instrument set by standards", Example: "calibrated meter 7.00 4.01 slope 98 %", read: (*sentence).calibrated},
		{Words: []string{"note"}, Means: "words about a vessel, or about nothing in particular", Example: "note b2 bung replaced", read: (*sentence).note},
	}
}

// shownFigures stand in examples of readings; of others it is the middle of what is usual.
var shownFigures = map[string]string{cellar.ReadPH: "3.47", cellar.ReadTA: "6.1", cellar.ReadMalic: "1.4", cellar.ReadTemperature: "18", cellar.ReadAlcohol: "13.2",
	cellar.ReadDensity: "1.057", cellar.ReadVA: "0.45", cellar.ReadFreeSO2: "22", cellar.ReadTotalSO2: "61", cellar.ReadBubble: "9 min", cellar.ReadSugar: "1.5"}

// likeOf is a sentence that begins like a text and is understood: "" if it begins like none.
func likeOf(text string, state *cellar.State, now time.Time) string {
	s := &sentence{state: state, now: now, fresh: newFresh(), words: strings.Fields(text), when: cellar.At(now)}
	if err := s.readWhen(); err != nil {
		return ""
	}
	first := s.peek()
	for i := range Grammar {
		g := &Grammar[i]
		for _, w := range g.Words {
			if g.read != nil && first != "" && (first == w || g.prefix && strings.HasPrefix(first, w)) {
				return g.Example
			}
		}
	}
	r, known := cellar.LookupReadable(first)
	switch {
	case isScale(first) && !strings.EqualFold(first, "sg"):
		return first + " 22.4 b2"
	case isScale(first):
		return first + " 1.057 b2"
	case !known:
		return ""
	case len(r.Words) > 0:
		return first + " " + r.Words[0] + " b2"
	}
	figure := shownFigures[r.What]
	if figure == "" {
		middle := (r.Low + r.High) / 2
		if figure = fmt.Sprintf("%.1f", middle); middle >= 10 {
			figure = fmt.Sprintf("%.0f", middle)
		}
	}
	return first + " " + figure + " b2"
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

// everyday are the words to begin with that are offered when none was understood.
const everyday = "ph, ta, so2, paper, bubble, +, racked, topped, stirred, inoculated, tasted, received, crushed, pressed, bottled, note …"

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
