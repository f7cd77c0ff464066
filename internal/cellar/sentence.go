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
		return how + portions(b.From) + " into " + portions(b.To) + tail(b.Words)
	case Bottling:
		return fmt.Sprintf("bottled %s: %d × %s", portions(b.From), b.Count, b.Size) + tail(b.Closure)
	case Opened:
		return join(", ", howMany(max(1, b.Count), "opened"), b.Why, b.Score) + tail(b.Words)
	case Treatment:
		return join(" ", strings.ReplaceAll(b.What, "-", " "), b.Amount.String()) + tail(b.Words)
	case Care:
		return join(" ", b.What, b.Amount.String()) + tail(join(" ", with(b.With), b.Words))
	case Purchase:
		return join(" ", "bought", b.Amount.String(), ProductTitle(b.Product)) + named(b.Name)
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
	s := "crushed"
	switch {
	case b.Juice && len(b.From) == 0:
		s = "juice of lot " + b.Lot
	case b.Juice:
		s = "pressed at once"
	case len(b.From) == 0:
		s = "lot " + b.Lot + " crushed"
	}
	if len(b.From) > 0 {
		s += " from " + portions(b.From)
	}
	s += " into " + portions(b.To)
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

func (b Movement) says() string {
	how := b.How
	if how == "" {
		how = "moved"
	}
	s := how
	if len(b.From) > 0 {
		s += " from " + portions(b.From)
	}
	if len(b.To) > 0 {
		s += " into " + portions(b.To)
	}
	if b.Lot != "" && len(b.From) == 0 {
		s += " of lot " + b.Lot
	}
	for _, l := range b.Losses {
		s += ", " + l.Volume.String() + " lost as " + l.Kind
	}
	if b.Rest != "" {
		s += ", the rest to " + b.Rest
	}
	if b.Becomes != "" {
		s += ", as lot " + b.Becomes
	}
	return s + tail(b.Words)
}

func portions(ps []Portion) string {
	out := make([]string, len(ps))
	for i, p := range ps {
		out[i] = join(" ", p.Volume.String(), p.Vessel) + named(p.Part)
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
