package bench

import (
	"fmt"
	"math"
	"time"
)

// A Moment is one step of work that runs by the clock.
type Moment struct {
	After time.Duration // from the start: the earliest
	Until time.Duration // from the start: not later than this, if it is more than After
	Do    string
	Then  string // what to wait for before going on
}

// timetables say when the steps of a culture are due. The calculators' own notes say
// what each wait rests on; the packet governs.
var timetables = map[string]func(*Result) []Moment{
	"yeast-rehydration": yeastTimetable,
	"culture-split":     splitTimetable,
	"bacteria-starter":  starterTimetable,
	"rescue-culture":    rescueTimetable,
}

// Timed says whether a calculator's answer runs by the clock.
func Timed(name string) bool { return timetables[name] != nil }

// Timetable is the answer of a calculator as steps by the clock, in time; nil for one
// that has none.
func (r *Result) Timetable() []Moment {
	if of := timetables[r.Calculator]; of != nil {
		return of(r)
	}
	return nil
}

// says is a figure as it is shown.
func (r *Result) says(key string) string {
	f, ok := r.Figure(key)
	if !ok {
		return ""
	}
	return f.Shown()
}

func (r *Result) rows(key string) []map[string]any {
	f, _ := r.Figure(key)
	return f.Rows
}

// Dried yeast soaks 15 to 20 minutes, 30 at most (from memory); each cooling step
// takes 10 to 20 (AWRI, top tips for a successful yeast culture).
func yeastTimetable(r *Result) []Moment {
	out := []Moment{{Do: fmt.Sprintf("Sprinkle %s of yeast on %s of chlorine-free water, as warm as its packet says. Do not stir yet.", r.says("yeast_g"), r.says("water_ml")), Then: "15 to 20 minutes, 30 at most"}}
	at, until := 20*time.Minute, 30*time.Minute
	for i, row := range r.rows("steps") {
		stir := ""
		if i == 0 {
			stir = "Stir. "
		}
		out = append(out, Moment{After: at, Until: until, Do: fmt.Sprintf("%sStir in %.0f mL of the must: the slurry comes down to %.0f °C.", stir, row["must_ml"], row["to_c"]), Then: "10 to 20 minutes"})
		at, until = at+15*time.Minute, at+20*time.Minute
	}
	return append(out, Moment{After: at, Until: until, Do: "Pitch it, at once.", Then: "foam or falling density within a day or two"})
}

// soakEarly is the share of the minutes in water after which one may go on: ten of
// fifteen, from memory; the packet governs.
const soakEarly = 2. / 3

func splitTimetable(r *Result) []Moment {
	minutes := func(key string) time.Duration { return time.Duration(r.Input(key) * float64(time.Minute)) }
	soak := minutes("soak_min")
	early := time.Duration(math.Round(soakEarly*soak.Minutes())) * time.Minute
	shares := ""
	for i, row := range r.rows("shares") {
		if i > 0 {
			shares += ", "
		}
		shares += fmt.Sprintf("%v %s mL", row["lot"], tidy(row["dose_ml"].(float64)))
	}
	first := r.says("culture_g") + " of culture"
	if n := r.says("nutrient_g"); n != "" {
		first = n + " of nutrient, then " + first + ","
	}
	out := []Moment{{Do: fmt.Sprintf("%s into %s of chlorine-free water at %s to %s °C, as its packet says.", first, r.says("rehydration_water_ml"), tidy(r.Input("water_low_c")), tidy(r.Input("water_high_c"))),
		Then: fmt.Sprintf("%.0f to %.0f minutes, no longer", early.Minutes(), soak.Minutes())}}
	at, until := early, soak
	for _, more := range []struct{ ml, min, what string }{{"juice_ml", "juice_min", "juice without sulfite or sorbate, as warm"}, {"wine_ml", "wine_min", "the wine, as warm"}} {
		if ml := r.says(more.ml); ml != "" {
			out = append(out, Moment{After: at, Until: until, Do: "Stir in " + ml + " of " + more.what + ".", Then: fmt.Sprintf("%.0f minutes", minutes(more.min).Minutes())})
			at, until = at+minutes(more.min), until+minutes(more.min)
		}
	}
	return append(out, Moment{After: at, Until: until, Do: fmt.Sprintf("Make up to %s, stir, and divide by volume: %s.", r.says("made_up_to_ml"), shares), Then: "from this hour no sulfur dioxide, no chill"})
}

// rescueHours are the earliest hours of the steps, as the days of the calculator's own
// table have them.
var rescueHours = [...]float64{0, 1. / 3, 24, 48, 72}

func starterTimetable(r *Result) []Moment {
	woken, later := math.Ceil(r.Input("activate_h")/24)*24, r.Input("step_days")*24
	hours := [...]float64{0, r.Input("activate_h"), woken + later, woken + 2*later}
	var out []Moment
	for i, row := range r.rows("steps") {
		out = append(out, Moment{After: time.Duration(hours[i] * float64(time.Hour)), Do: fmt.Sprintf("%v: %v.", row["step"], row["add"]), Then: fmt.Sprint(row["go_on"])})
	}
	return out
}

func rescueTimetable(r *Result) []Moment {
	var out []Moment
	for i, row := range r.rows("steps") {
		m := Moment{After: time.Duration(rescueHours[i] * float64(time.Hour)), Do: fmt.Sprintf("%v: %v (%v).", row["step"], row["do"], row["take"]), Then: fmt.Sprint(row["go_on"])}
		if i == 1 { // rehydrated yeast starves in its water
			m.Until = 30 * time.Minute
		}
		out = append(out, m)
	}
	return out
}
