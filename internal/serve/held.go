package serve

import (
	"fmt"
	"strings"

	"elevage/internal/serve/ui"
	"elevage/internal/track"
)

// held is what holds a conversion back, and what trying again is worth.
type held struct {
	Says   []string
	Causes *ui.Table
	Tries  ui.Table
	Idle   string // what would not help, which is worth knowing too
	Unseen ui.Table
}

func heldOf(k *track.Stuck) *held {
	h := &held{
		Says:   k.Says,
		Tries:  ui.Table{Caption: "What could be tried, begun today", Head: []string{"", "over in 60 days", "more than by waiting", "days until then cost", "pays if a finished conversion is worth"}, Numbers: []bool{false, true, true, true, true}},
		Unseen: ui.Table{Caption: "What no reading here can show, in no order", Head: []string{"it may be that", "what would show it"}},
	}
	if len(k.Causes) > 0 {
		h.Causes = &ui.Table{Caption: "The same wine without each, since inoculation", Head: []string{"", "it was", "had it been", "malic acid gone by now, g/L", "finished by now"}, Numbers: []bool{false, false, false, true, true}}
	}
	var idle []string
	for _, c := range k.Causes {
		h.Causes.Rows = append(h.Causes.Rows, []string{c.What, c.Seen, c.Needs, fmt.Sprintf("%.1f more", max(0, c.Harm.GPerL())), ui.Chance(c.Finished)})
	}
	for _, t := range k.Tries {
		if t.Days > 0 && t.Gain < 0.005 {
			idle = append(idle, t.What)
			continue
		}
		row := []string{t.What, ui.Chance(t.Within), "–", "–", "–"}
		if t.Days > 0 {
			row = []string{t.What, ui.Chance(t.Within), ui.Chance(max(0, t.Gain)), fmt.Sprintf("%.0f", t.Days), "never"}
		}
		if t.BreakEven > 0 {
			row[4] = fmt.Sprintf("over %.0f", t.BreakEven)
		}
		h.Tries.Rows = append(h.Tries.Rows, row)
	}
	if len(idle) > 0 {
		h.Idle = "It would change next to nothing to " + strings.Join(idle, " or to ") + "."
	}
	for _, u := range k.Unseen {
		h.Unseen.Rows = append(h.Unseen.Rows, []string{u.What, u.Show})
	}
	return h
}
