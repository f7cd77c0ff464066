package cellar

import "unicode/utf8"

// decodeOwn reads the bodies that nearly every ledger is full of, as this program
// writes them, in a third of the time that the general way takes. Whatever else a
// body is or holds, ok is false and the general way is taken.
func decodeOwn(k Kind, raw []byte) (b Body, ok bool) {
	m := members{rest: raw}
	if !m.open() || !utf8.Valid(raw) {
		return nil, false
	}
	switch k {
	case KindReading:
		var b Reading
		ok = m.each(func(key string) bool { return b.member(&m, key) })
		return b, ok
	case KindAddition:
		var b Addition
		ok = m.each(func(key string) bool { return b.member(&m, key) })
		return b, ok
	case KindStirring:
		var b Stirring
		ok = m.each(func(key string) bool {
			return key == "vessel" && m.text(&b.Vessel) || key == "what" && m.text(&b.What) || key == "words" && m.text(&b.Words)
		})
		return b, ok
	case KindPHCheck:
		var b PHCheck
		ok = m.each(func(key string) bool {
			switch key {
			case "instrument":
				return m.text(&b.Instrument)
			case "buffer":
				return m.text(&b.Buffer)
			case "read":
				return m.text(&b.Read)
			case "of":
				return m.text(&b.Of)
			case "warm":
				return m.measure(&b.Warm)
			case "session":
				return m.text(&b.Session)
			}
			return key == "words" && m.text(&b.Words)
		})
		return b, ok
	}
	return nil, false
}

func (b *Reading) member(m *members, key string) bool {
	switch key {
	case "vessel":
		return m.text(&b.Vessel)
	case "lot":
		return m.text(&b.Lot)
	case "what":
		return m.text(&b.What)
	case "value":
		return m.measure(&b.Value)
	case "as":
		return m.text(&b.As)
	case "end_point":
		return m.text(&b.EndPoint)
	case "method":
		return m.text(&b.Method)
	case "instrument":
		return m.text(&b.Instrument)
	case "control":
		return m.yes(&b.Control)
	case "session":
		return m.text(&b.Session)
	case "warm":
		return m.measure(&b.Warm)
	case "degassed":
		return m.yes(&b.Degassed)
	case "words":
		return m.text(&b.Words)
	}
	return false
}

func (b *Addition) member(m *members, key string) bool {
	switch key {
	case "vessel":
		return m.text(&b.Vessel)
	case "lot":
		return m.text(&b.Lot)
	case "product":
		return m.text(&b.Product)
	case "name":
		return m.text(&b.Name)
	case "amount":
		return m.measure(&b.Amount)
	case "strength":
		return m.measure(&b.Strength)
	case "solution":
		return m.yes(&b.Solution)
	case "supply":
		return m.text(&b.Supply)
	case "purpose":
		return m.text(&b.Purpose)
	case "for":
		return m.measure(&b.For)
	case "planned":
		return m.measure(&b.Planned)
	case "words":
		return m.text(&b.Words)
	}
	return false
}

// members reads the members of a JSON object without spaces and escapes.
type members struct{ rest []byte }

func (m *members) take(c byte) bool {
	if len(m.rest) > 0 && m.rest[0] == c {
		m.rest = m.rest[1:]
		return true
	}
	return false
}

func (m *members) open() bool { return m.take('{') }

// each goes through the members up to the closing brace at the end of everything.
func (m *members) each(member func(key string) bool) bool {
	return m.object(member) && len(m.rest) == 0
}

func (m *members) object(member func(key string) bool) bool {
	if m.take('}') {
		return true
	}
	for {
		var key string
		if !m.text(&key) || !m.take(':') || !member(key) {
			return false
		}
		if m.take('}') {
			return true
		}
		if !m.take(',') {
			return false
		}
	}
}

// text reads a string into a field that is still empty: of a member that comes
// twice, the general way knows what to make.
func (m *members) text(into *string) bool {
	if *into != "" || !m.take('"') {
		return false
	}
	for i, c := range m.rest {
		switch {
		case c == '"':
			*into = string(m.rest[:i])
			m.rest = m.rest[i+1:]
			return true
		case c == '\\' || c < ' ':
			return false
		}
	}
	return false
}

func (m *members) yes(into *bool) bool {
	const yes = "true"
	if len(m.rest) < len(yes) || string(m.rest[:len(yes)]) != yes {
		return false
	}
	m.rest, *into = m.rest[len(yes):], true
	return true
}

func (m *members) measure(into **Measure) bool {
	if *into != nil || !m.open() {
		return false
	}
	*into = &Measure{}
	return m.object(func(key string) bool {
		switch key {
		case "value":
			return m.text(&(*into).Value)
		case "unit":
			return m.text(&(*into).Unit)
		}
		return key == "spread" && m.text(&(*into).Spread)
	})
}
