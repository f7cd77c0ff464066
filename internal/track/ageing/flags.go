package ageing

import (
	"fmt"
	"time"

	"elevage/science/cited"
)

// flags lists what a person should know before acting on the belief.
func (ft *fitted) flags(b Belief, in Input) []Flag {
	out := ft.dataFlags(b, in)
	out = append(out, doseFlags(b, in)...)
	if ft.widen {
		out = append(out, Flag{Code: "thin-sample", Text: "the readings contradict each other so far that the intervals are rough", Act: "repeat the last test with a second operator or method",
			Source: cited.Source{Text: "effective sample size of the belief", Mark: cited.Computed}})
	}
	return out
}

func (ft *fitted) dataFlags(b Belief, in Input) []Flag {
	var out []Flag
	if len(b.Looks) == 0 {
		out = append(out, Flag{Code: "no-reading", Text: "no SO2 reading is on record: all of this is prior knowledge", Act: "measure free SO2 once",
			Source: cited.Source{Text: "priors of the ageing model", Mark: cited.Proposal}})
	}
	for _, l := range b.Looks {
		if l.Absurd > 0.5 {
			out = append(out, Flag{Code: "absurd-reading", Entry: l.ID,
				Text: fmt.Sprintf("%s SO2 of %s reads %.0f mg/L where about %.0f was expected; it was given little weight (%.0f %% likely wrong)", l.Of, day(l.At), l.Value.MgPerL(), l.Expected.MgPerL(), 100*l.Absurd),
				Act:  "check vessel and digits, or measure again", Source: cited.Source{Text: "outliers in 2 % of readings (judgement)", Mark: cited.Proposal}})
		}
	}
	iodine := false
	for _, r := range in.Readings {
		iodine = iodine || (in.Red && r.Method == Iodine && r.Of == Free)
		if r.At.After(in.At) {
			out = append(out, Flag{Code: "later-reading", Entry: r.ID, Text: "the reading of " + day(r.At) + " lies after the day asked about and was left out", Act: "check its date",
				Source: cited.Source{Text: "the record", Mark: cited.Computed}})
		}
		for _, d := range in.Doses {
			if gap := r.At.Sub(d.At); gap > 0 && gap < 24*time.Hour && !r.At.After(in.At) {
				out = append(out, Flag{Code: "read-too-soon", Entry: r.ID, Text: "the sample of " + day(r.At) + " was drawn within a day of a dose: it may not have been mixed in, and has not bound yet",
					Act: "measure two or three days after a dose, stirred", Source: cited.Source{Text: "depth effect after an unstirred addition, up to tens of mg/L", Mark: cited.Memory}})
			}
		}
	}
	if iodine {
		out = append(out, Flag{Code: "iodine-in-red", Text: "iodine titration reads 3 to 10 mg/L high in reds; 5 ± 3 was taken off", Act: "one aspiration or laboratory result pins the difference for this wine",
			Source: cited.Source{Text: "pigment, phenols and bound SO2 react", Mark: cited.Memory}})
	}
	if len(in.Temperatures) == 0 {
		out = append(out, Flag{Code: "no-temperature", Text: "no temperature is on record; 15 °C was assumed", Act: "write the cellar's temperature once a week",
			Source: cited.Source{Text: "reference temperature of the model", Mark: cited.Proposal}})
	}
	return out
}

// doseFlags are the cautions that go with the act proposed.
func doseFlags(b Belief, in Input) []Flag {
	var out []Flag
	if b.Dose.SO2 > 0 {
		out = append(out, Flag{Code: "sulfite-handling", Text: "sulfite and acid give off SO2 gas: weigh in moving air, powder into water and not the reverse, goggles and gloves; with asthma, let someone else do it",
			Act: "mix in well, measure after two or three days", Source: cited.Source{Text: "NIOSH limits 2 ppm (10 h), 5 ppm short-term; handling is common practice. Local rules decide", Mark: cited.CommonPractice}})
	}
	if in.Limit > 0 && b.Dose.SO2 > 0 && b.Dose.Total.Q95 > in.Limit {
		out = append(out, Flag{Code: "total-limit", Text: fmt.Sprintf("with this dose total SO2 may stand at %.0f mg/L (up to %.0f), the limit given is %.0f", b.Dose.Total.Q50.MgPerL(), b.Dose.Total.Q95.MgPerL(), in.Limit.MgPerL()),
			Act: "measure total SO2 before dosing", Source: cited.Source{Text: "limit as entered; the authority's text decides", Mark: cited.Computed}})
	}
	if b.Dose.SO2 > 0 && in.PH > 3.7 {
		out = append(out, Flag{Code: "high-ph", Text: fmt.Sprintf("at pH %.2f the floor asks for %.0f mg/L free, which may be out of reach or taste of it", float64(in.PH), b.FloorFree.Q50.MgPerL()),
			Act: "weigh the other levers: lower pH, cold, filtration, drinking early", Source: cited.Source{Text: "free SO2 is a nuisance to the senses above about 50 mg/L", Mark: cited.CommonPractice}})
	}
	if b.Dose.SO2 > 0 && b.Dose.After.Q50 > tasted {
		out = append(out, Flag{Code: "free-high", Text: fmt.Sprintf("free SO2 would stand near %.0f mg/L after the dose", b.Dose.After.Q50.MgPerL()), Act: "dose for a nearer date and come back",
			Source: cited.Source{Text: "free SO2 is a nuisance to the senses above about 50 mg/L", Mark: cited.CommonPractice}})
	}
	return out
}
