package cellar

// Wish is whether malolactic fermentation is wanted in a lot: what was said of it or,
// where nothing was, what was said of all the lots that its wine was put together from,
// if they agree. MalolacticOpen where nothing was decided, or they do not.
func (s *State) Wish(l *Lot) string { return s.wish(l, nil) }

func (s *State) wish(l *Lot, asked []*Lot) string {
	if l == nil {
		return MalolacticOpen
	}
	if l.Malolactic != MalolacticOpen {
		return l.Malolactic
	}
	const farthest = 20 // lots made of lots that were made of lots
	if len(asked) > farthest {
		return MalolacticOpen
	}
	asked = append(asked, l)
	agreed := MalolacticOpen
	for _, p := range l.Parcels {
		began := false
		for _, in := range p.Inflows {
			if in.Entry != p.Start { // a topping is no parent
				continue
			}
			began = true
			from := s.Parcel(in.From)
			if from == nil {
				return MalolacticOpen // of its own fruit, or from outside
			}
			if from.Lot == p.Lot {
				continue
			}
			w := s.wish(s.Lot(from.Lot), asked)
			if w == MalolacticOpen || agreed != MalolacticOpen && w != agreed {
				return MalolacticOpen
			}
			agreed = w
		}
		if !began {
			return MalolacticOpen
		}
	}
	return agreed
}
