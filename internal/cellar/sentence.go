package cellar

import (
	"fmt"
	"strings"
)

// Says is what a body states, as a sentence without a full stop: "pH 3.47",
// "12 g potassium metabisulfite", "racked 20 L from c1 to b3". The vessel it is
// about is left out where a page names it anyway; Sentence names it.
func Says(b Body) string {
	switch b := b.(type) {
	case Reading:
		return b.says()
	case Addition:
		reckoned := ""
		if !b.For.IsZero() {
			reckoned = ", reckoned for " + b.For.String()
		}
		return join("", b.Amount.String(), solution(b), ProductTitle(b.Product)) + named(b.Name) + reckoned + tail(b.Words)
	case Movement:
		return b.says()
	case Inoculation:
		how := map[string]string{"native": "left to start by itself", "direct": "culture sprinkled in", "rehydrated": "rehydrated culture", "starter": "starter"}[b.How]
		return join(", ", b.Of+": "+how, b.Amount.String(), b.Culture) + tail(b.Words)
	case Stirring:
		return map[string]string{"": "stirred", "lees": "lees stirred", "punch-down": "cap punched down", "pump-over": "pumped over", "rack-and-return": "racked and returned"}[b.What] + tail(b.Words)
	case Warmth:
		return "held at " + b.Set.String() + tail(b.Words)
	case PHCheck:
		of := "in buffer " + b.Buffer
		if b.Of == "cream-of-tartar" {
			of = "in saturated cream of tartar, " + b.Buffer
		}
		return "pH meter " + of + " read " + b.Read + tail(b.Words)
	case Dip:
		return "holds " + b.Volume.String() + tail(join("", by(b.How), b.Words))
	case ControlKept:
		return join(" ", "control sample kept back", b.Volume.String(), b.Kept) + tail(b.Words)
	case Verdict:
		return "declared " + strings.ReplaceAll(b.Says, "-", " ") + tail(b.Evidence)
	case Note:
		return b.Words
	}
	return saysThing(b)
}

func saysThing(b Body) string {
	switch b := b.(type) {
	case LotStarted:
		return join(", ", "lot "+b.Slug, b.Name, b.Variety, b.Colour) + tail(b.Words)
	case VesselNamed:
		return join(" ", "vessel "+b.Slug+":", b.Size.String(), b.Type) + tail(b.Place)
	case InstrumentNamed:
		return join(", ", "instrument "+b.Slug, b.Name, strings.ReplaceAll(b.Type, "-", " "))
	case FruitReceived:
		return join(", ", join(" ", b.Weight.String()+" of fruit received", into(b.Vessel), "for lot "+b.Lot), b.Variety, b.Grower, b.Block, b.Condition)
	case Crush:
		return b.says()
	case Press:
		how := "pressed "
		if b.Drained {
			how = "drained "
		}
		return how + given(b.From) + ": " + arrived(b.To, "to") + tail(b.Words)
	case Bottling:
		return fmt.Sprintf("bottled %s: %d × %s", given(b.From), b.Count, b.Size) + lostAs(b.Losses) + tail(b.Closure)
	case Opened:
		return join(", ", howMany(max(1, b.Count), "opened"), b.Why, b.Score) + tail(b.Words)
	case Treatment:
		return join(" ", strings.ReplaceAll(b.What, "-", " "), b.Amount.String()) + tail(b.Words)
	case Care:
		return join(" ", b.What, b.Amount.String()) + tail(join(" ", with(b.With), b.Words))
	case Purchase:
		return join(" ", "bought", b.Amount.String(), ProductTitle(b.Product)) + named(b.Name)
	case Prices:
		return b.says()
	case Calibration:
		return join(" ", "calibrated", b.Instrument, strings.Join(b.Points, ", ")) + tail(b.Words)
	case Tasting:
		return join(", ", "tasted", b.Score, strings.Join(b.Faults, ", ")) + tail(join("; ", b.Words, b.Check))
	case Sample:
		return join(", ", "fruit of "+b.Lot+" sampled", b.Block, howMany(b.Berries, "berries"), howMany(b.Clusters, "clusters"), b.Taste) + tail(b.Words)
	case Trial:
		return b.says()
	case Done:
		if b.Skipped {
			return "skipped: " + b.Act + tail(b.Words)
		}
		return "done: " + b.Act + tail(b.Words)
	case Attachment:
		return "attached " + b.Name + tail(b.Words)
	case Strike:
		return "struck an entry: " + b.Reason
	}
	return ""
}

// Sentence is an entry in words, with the vessel it is about; for an entry that
// this program cannot read, its kind.
func Sentence(r *Record) string {
	if r.Body == nil {
		return "an entry of kind " + string(r.Entry.Kind) + ", which this program does not know"
	}
	says := Says(r.Body)
	if says == "" {
		return string(r.Entry.Kind)
	}
	switch r.Body.(type) {
	case Movement, Press, Crush, Bottling, VesselNamed, FruitReceived:
		return says
	}
	if names := r.Body.vessels(nil); len(names) > 0 {
		return strings.Join(names, ", ") + ": " + says
	}
	return says
}

func (b Reading) says() string {
	what := b.What
	if r, ok := LookupReadable(b.What); ok {
		what = r.Title
	}
	s := what + " " + b.Value.String()
	if b.As != "" {
		s += " as " + b.As + " acid"
	}
	if b.EndPoint != "" {
		s += " to " + b.EndPoint
	}
	if !b.Warm.IsZero() {
		s += " at " + b.Warm.String()
	}
	if b.Degassed {
		s += ", degassed"
	}
	if b.Control {
		s += ", control sample"
	}
	return s + tail(join(", ", by(b.Method), with(b.Instrument), b.Lab, b.Words))
}

func (b Crush) says() string {
	s := "crushed " + given(b.From)
	switch {
	case b.Juice && len(b.From) == 0:
		s = "juice of lot " + b.Lot
	case b.Juice:
		s = "pressed " + given(b.From) + " at once"
	case len(b.From) == 0:
		s = "crushed lot " + b.Lot
	}
	if len(b.From) == 1 && len(b.To) == 1 && b.From[0].Vessel == b.To[0].Vessel {
		s += " where it stood: " + b.To[0].Volume.String()
	} else {
		s += ": " + arrived(b.To, "into")
	}
	switch b.Destemmed {
	case "all":
		s += ", destemmed"
	case "part":
		s += ", part destemmed"
	case "none":
		s += ", on its stems"
	}
	if b.Crushed == "none" && !b.Juice {
		s += ", berries left whole"
	}
	return s + tail(b.Words)
}

func into(vessel string) string {
	if vessel == "" {
		return ""
	}
	return "into " + vessel
}

// nounKinds are kinds of movement that are a thing and not a doing: "saignée of 10 L".
var nounKinds = map[string]bool{"saignée": true, "removal": true, "return": true}

// says is a movement as it is told in a cellar: "racking 21.5 L from c1 to c3", "topping
// c2 with 0.4 L from c3", "splitting c1: 12 L to b3, 8 L to c3".
func (b Movement) says() string {
	s := b.How
	switch {
	case s == "":
		s = "moved"
	case nounKinds[s]:
		s += " of"
	}
	s += " " + b.course()
	if len(b.Losses) == 1 && len(b.From) == 1 && len(b.To) == 0 && b.Losses[0].Volume.String() == b.From[0].Volume.String() { // all that left
		s += ", lost as " + b.Losses[0].Kind
	} else {
		s += lostAs(b.Losses)
	}
	if b.Rest != "" {
		s += ", the rest to " + b.Rest
	}
	if b.Becomes != "" {
		s += ", as lot " + b.Becomes
	}
	return s + tail(b.Words)
}

// course is from where to where, and how much.
func (b Movement) course() string {
	switch {
	case len(b.From) == 0 && len(b.To) == 1:
		return join(" with ", b.To[0].Vessel, join(" of ", b.To[0].Volume.String(), ofLot(b.Lot)))
	case len(b.From) == 0:
		return join(": ", ofLot(b.Lot), arrived(b.To, "into"))
	case len(b.To) == 0:
		return given(b.From)
	case b.How == "topping" && len(b.To) == 1:
		if len(b.From) == 1 && b.From[0].Volume.IsZero() {
			return join(" with ", b.To[0].Vessel, b.To[0].Volume.String()) + " from " + b.From[0].Vessel
		}
		return b.To[0].Vessel + " with " + given(b.From)
	case len(b.To) > 1:
		return given(b.From) + ": " + arrived(b.To, "to")
	case len(b.From) > 1:
		return given(b.From) + " into " + join(", ", b.To[0].Vessel, b.To[0].Volume.String())
	}
	from, to := b.From[0], b.To[0]
	moved := to.Volume
	switch {
	case moved.IsZero():
		return given(b.From) + " to " + to.Vessel
	case !from.Volume.IsZero() && from.Volume.String() != moved.String():
		return given(b.From) + ", " + moved.String() + " of it to " + to.Vessel
	}
	return moved.String() + " from " + from.Vessel + " to " + to.Vessel
}

func ofLot(lot string) string {
	if lot == "" {
		return ""
	}
	return "lot " + lot
}

// given are the vessels that wine came from, with how much: "20 L from b2 and all of c1".
func given(from []Portion) string {
	out := make([]string, len(from))
	for i, p := range from {
		switch {
		case !p.Volume.IsZero():
			out[i] = p.Volume.String() + " from " + p.Vessel
		case p.All && len(from) > 1:
			out[i] = "all of " + p.Vessel
		default:
			out[i] = p.Vessel
		}
	}
	return strings.Join(out, " and ")
}

// arrived are the vessels that it went to, with how much: "12 L to b3, 8 L to c3".
func arrived(to []Portion, way string) string {
	out := make([]string, len(to))
	for i, p := range to {
		out[i] = join(" ", p.Volume.String(), way, p.Vessel) + named(p.Part)
	}
	return strings.Join(out, ", ")
}

// portions are parts of a trial: "12 L of c1, 8 L of c2".
func portions(ps []Portion) string {
	out := make([]string, len(ps))
	for i, p := range ps {
		out[i] = join(" of ", p.Volume.String(), p.Vessel) + named(p.Part)
	}
	return strings.Join(out, ", ")
}

func join(sep string, parts ...string) string {
	if sep == "" {
		sep = " "
	}
	kept := parts[:0:0]
	for _, p := range parts {
		if p != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, sep)
}

func tail(words string) string {
	if words == "" {
		return ""
	}
	return " – " + words
}

func lostAs(losses []Loss) string {
	s := ""
	for _, l := range losses {
		s += ", " + l.Volume.String() + " lost as " + l.Kind
	}
	return s
}

func named(name string) string {
	if name == "" {
		return ""
	}
	return " (" + name + ")"
}

func by(how string) string {
	if how == "" {
		return ""
	}
	return "by " + how
}

func with(what string) string {
	if what == "" {
		return ""
	}
	return "with " + what
}

func solution(b Addition) string {
	if b.Solution {
		return "of a " + b.Strength.String() + " solution of"
	}
	return ""
}

func howMany(n int, of string) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("%d %s", n, of)
}

func (b Trial) says() string {
	s := fmt.Sprintf("trial of %s, %d rows", b.What, len(b.Rows))
	for _, r := range b.Rows {
		if b.Chosen != "" && r.Code == b.Chosen {
			s += ": chosen " + join(" ", r.Dose.String(), ProductTitle(r.Product), portions(r.Parts))
			if r.Dose.IsZero() && len(r.Parts) == 0 {
				s += "the wine as it is"
			}
		}
	}
	if first := b.First(); len(first) > 0 {
		var counts []string
		for _, r := range b.Rows {
			if n := first[r.Code]; n > 0 {
				counts = append(counts, fmt.Sprintf("%s %d×", r.Code, n))
			}
		}
		s += "; put first: " + strings.Join(counts, ", ")
	}
	return s + tail(b.Decision)
}
