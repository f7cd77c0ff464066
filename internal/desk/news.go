package desk

import "elevage/internal/cellar"

// news is what came up when entries arrived: findings, by the entries that arrived
// with them. It is kept for a while, so that the page after an entry can tell of it.
type news struct{ rounds []arrival }

type arrival struct {
	fresh []cellar.ID
	found []*cellar.Finding
}

// newsKept is for how many rounds of arrivals: more than one evening's.
const newsKept = 200

func (n *news) add(c cellar.Change) {
	if len(c.Found) == 0 {
		return
	}
	n.rounds = append(n.rounds, arrival{c.Fresh, c.Found})
	if len(n.rounds) > newsKept {
		n.rounds = n.rounds[len(n.rounds)-newsKept:]
	}
}

// Came are the findings that came up with an entry: what it made not add up, and which
// decisions, as a dose, rested on something else than what stands now. Those of
// decisions come first. They are nil for an entry that changed nothing, and for one
// that arrived long ago.
func (d *Desk) Came(with cellar.ID) []*cellar.Finding {
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, a := range d.news.rounds {
		for _, id := range a.fresh {
			if id == with {
				return inOrder(a.found)
			}
		}
	}
	return nil
}

// inOrder are those of decisions, then what else is to be settled; what only informs
// of nothing that was decided is left to its own place.
func inOrder(found []*cellar.Finding) []*cellar.Finding {
	var decisions, others []*cellar.Finding
	for _, f := range found {
		switch {
		case f.OfDecision():
			decisions = append(decisions, f)
		case !f.Note:
			others = append(others, f)
		}
	}
	return append(decisions, others...)
}
