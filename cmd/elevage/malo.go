package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"elevage/internal/fault"
	"elevage/internal/serve/ui"
	"elevage/internal/track"
	"elevage/science/quantity"
)

type maloCommand struct {
	Lot      string  `required:"" help:"Facts of the parcel as JSON (file, or - for standard input)." placeholder:"FACTS.json"`
	Readings string  `help:"Readings as CSV with the header at,what,value (file, or -)." placeholder:"READINGS.csv"`
	Prices   string  `help:"Prices of tests and mistakes as JSON, as an entry of the kind prices has them. Default: the program's proposal." placeholder:"PRICES.json"`
	At       string  `help:"The day on which to judge, 2026-11-10. Default: the day of the last reading." placeholder:"DATE"`
	JSON     bool    `help:"Print the whole belief as JSON."`
	Strict   bool    `help:"Refuse everything when one row is bad, instead of reporting it and reading on."`
	Limit    float64 `help:"Malic acid below which it counts as finished, g/L." default:"0.1"`
	Seed     uint64  `help:"Seed of the sampler." default:"1"`
	Draws    int     `help:"Draws of the sampler." default:"1000"`
	Brief    bool    `help:"Leave out the fan, the next test and the what-ifs."`
}

func (c *maloCommand) Run(d *doors) error {
	in := track.Input{Options: track.Options{Particles: c.Draws, Seed: c.Seed, Limit: quantity.Concentration(c.Limit) * quantity.GramPerLitre, Brief: c.Brief}}
	if c.Lot == "-" && c.Readings == "-" {
		return fault.BadFields("malo", fault.Field{Name: "readings", Given: "-", Allowed: "a file, since the facts are read from standard input"})
	}
	err := reading(c.Lot, d.in, func(r io.Reader) (err error) {
		in.Facts, err = track.ReadFacts(r)
		return err
	})
	if err != nil {
		return invalid("facts "+c.Lot, err)
	}
	if c.Prices != "" {
		p, err := ownPrices(c.Prices, d.in)
		if err != nil {
			return err
		}
		in.Options.Tests, in.Options.Costs = p.Options()
	}
	var bad []track.RowError
	if c.Readings != "" {
		err = reading(c.Readings, d.in, func(r io.Reader) (err error) {
			in.Readings, bad, err = track.ReadReadings(r, c.Strict)
			return err
		})
		if err != nil {
			return invalid("readings "+c.Readings, err)
		}
	}
	for _, b := range bad {
		fmt.Fprintf(d.errs, "%s: %v; left out\n", c.Readings, b)
	}
	if in.At, err = c.day(in.Readings); err != nil {
		return err
	}
	b, err := track.Malo(in)
	if err != nil {
		return invalid("malo", err)
	}
	for _, r := range bad {
		b.Flags = append(b.Flags, track.Flag{Kind: "row", Line: r.Line, Message: r.Error()})
	}
	if c.JSON {
		enc := json.NewEncoder(d.out)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		return enc.Encode(b)
	}
	return printBelief(d.out, b)
}

func (c *maloCommand) day(readings []track.Reading) (time.Time, error) {
	if c.At != "" {
		t, err := time.Parse(track.DateLayout, c.At)
		if err != nil {
			return t, fault.BadFields("malo", fault.Field{Name: "at", Given: c.At, Allowed: "a date such as 2026-11-10"})
		}
		return t, nil
	}
	var last time.Time
	for _, r := range readings {
		if r.On.After(last) {
			last = r.On
		}
	}
	if last.IsZero() {
		return last, fault.BadFields("malo", fault.Field{Name: "at", Allowed: "a date such as 2026-11-10, since there are no readings to tell the day"})
	}
	return last, nil
}

// reading opens a file, or standard input for "-".
func reading(name string, in io.Reader, use func(io.Reader) error) error {
	if name == "-" {
		return use(in)
	}
	f, err := os.Open(name)
	if err != nil {
		return err
	}
	defer f.Close() //nolint:errcheck // opened for reading only
	return use(f)
}

// invalid marks an error as being about what was given; files that cannot be
// opened are about that too.
func invalid(op string, err error) error {
	var f *fault.Error
	if errors.As(err, &f) {
		return err
	}
	return fault.Wrap(fault.Invalid, op, err)
}

func printBelief(w io.Writer, b track.Belief) error {
	var s strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&s, format+"\n", args...) }
	name := b.Name
	if name == "" {
		name = "This parcel"
	}
	line("%s, %s: %s", name, b.At, strings.ReplaceAll(string(b.Decision.Call), "_", " "))
	line("  %s", b.Decision.Reason)
	line("  malic acid    %.2f g/L, 9 in 10 between %.2f and %.2f", b.Malic.Q50.GPerL(), b.Malic.Q05.GPerL(), b.Malic.Q95.GPerL())
	line("  it is         lagging %s, active %s, stalled %s, finished %s", chance(b.State.Lagging), chance(b.State.Active), chance(b.State.Stalled), chance(b.State.Finished))
	line("  costs         %.2f to call it finished today, %.2f to wait a week; it is called from %.4g %% on, on evidence that can carry it", b.Decision.CostFinished, b.Decision.CostWaiting, 100*b.Decision.Threshold)
	line("  over by       %s (1 in 20), %s (1 in 2), %s (19 in 20)", dateOr(b.Finish.Q05), dateOr(b.Finish.Q50), dateOr(b.Finish.Q95))
	if b.NextTest.What != "" {
		on := ""
		if b.NextTest.On != nil {
			on = " on " + b.NextTest.On.String()
		}
		line("  next test     %s%s", track.TestWords(b.NextTest.What), on)
		line("                %s", b.NextTest.Reason)
	}
	for _, e := range b.Evidence {
		line("  - %s", e)
	}
	for _, f := range b.Flags {
		line("  ! %s", f.Message)
	}
	_, err := io.WriteString(w, s.String())
	return err
}

func dateOr(d *track.Date) string {
	if d == nil {
		return "later than a year"
	}
	return d.String()
}

// chance writes an estimate, which is neither 0 nor 100 %.
func chance(p float64) string { return strings.ReplaceAll(ui.Chance(p), "\u00a0", " ") }
