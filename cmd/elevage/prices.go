package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/ledger"
)

type pricesCommand struct {
	data
	Args []string `arg:"" optional:"" name:"key=value" help:"What is to change: money=EUR, a test's price and minutes such as malic=8 malic_minutes=30, malic=none for one that you cannot make, or false_finished, unprotected_day, lost_day, minute. The others stay."`
	JSON bool     `help:"Print the prices as JSON."`
}

// Run shows the prices of tests and mistakes, or keeps those that were given.
func (c *pricesCommand) Run(d *doors) error {
	return c.onBook(func(ctx context.Context, book ledger.Ledger) error {
		on := desk.New(book, homeKey, desk.Options{Zone: time.Local})
		v, err := on.Look(ctx, time.Now())
		if err != nil {
			return err
		}
		if len(c.Args) > 0 {
			own, _ := v.State.Prices()
			if err := changePrices(&own, c.Args); err != nil {
				return err
			}
			draft := cellar.Draft{Happened: cellar.At(v.Now), Body: own}
			if err := draft.CheckIn(v.State); err != nil {
				return err
			}
			entries, err := pen(homeKey).Write(time.Now(), draft)
			if err != nil {
				return err
			}
			if _, err := book.Append(ctx, entries); err != nil {
				return err
			}
			if v, err = on.Look(ctx, time.Now()); err != nil {
				return err
			}
		}
		if c.JSON {
			return writeJSON(d.out, v.Prices)
		}
		return printPrices(d.out, v.Prices)
	})
}

// changePrices puts what was given on a command line into prices.
func changePrices(p *cellar.Prices, args []string) error {
	p.Tests, p.Words = slices.Clone(p.Tests), ""
	for _, arg := range args {
		key, value, ok := strings.Cut(arg, "=")
		value = strings.TrimSpace(value)
		if !ok {
			return fault.BadFields("prices", fault.Field{Name: "prices", Given: arg, Allowed: "key=value, such as malic=8"})
		}
		costs := map[string]*string{"money": &p.Money, "false_finished": &p.FalseFinished, "unprotected_day": &p.UnprotectedDay, "lost_day": &p.LostDay, "minute": &p.Minute}
		if to := costs[key]; to != nil {
			*to = value
			continue
		}
		what, minutes := strings.CutSuffix(key, "_minutes")
		if !slices.Contains(cellar.PricedTests, what) {
			return fault.BadFields("prices", fault.Field{Name: "prices", Given: key,
				Allowed: "money, false_finished, unprotected_day, lost_day, minute, or a test, alone or with _minutes: " + strings.Join(cellar.PricedTests, ", ")})
		}
		i := slices.IndexFunc(p.Tests, func(t cellar.TestPrice) bool { return t.What == what })
		if i < 0 {
			i, p.Tests = len(p.Tests), append(p.Tests, cellar.TestPrice{What: what})
		}
		t := &p.Tests[i]
		switch {
		case minutes:
			t.Minutes = value
		case value == "none":
			*t = cellar.TestPrice{What: what, Cannot: true}
		default:
			t.Cost, t.Cannot = value, false
		}
	}
	return nil
}

func printPrices(w io.Writer, p desk.Prices) error {
	var s strings.Builder
	line := func(name string, cost float64, rest string) {
		fmt.Fprintf(&s, "  %-34s %s\n", name, strings.TrimSpace(desk.Figure(cost)+" "+p.Money)+rest)
	}
	s.WriteString("Tests, for each vessel\n")
	for _, what := range cellar.PricedTests {
		if t, ok := p.Price(what); ok {
			line(what, t.Cost, ", "+desk.Figure(t.Minutes)+" min")
		} else {
			fmt.Fprintf(&s, "  %-34s cannot be made\n", what)
		}
	}
	s.WriteString("Mistakes and waiting\n")
	line("false_finished", p.FalseFinished, " for calling it finished when it is not")
	line("unprotected_day", p.UnprotectedDay, " for a day that a finished wine stands without SO2")
	line("lost_day", p.LostDay, " for a day that a stall goes unseen")
	line("minute", p.Minute, " for a minute of your time")
	fmt.Fprintf(&s, "\"Finished\" is called from a chance of %.4g %% on, on evidence that can carry it.\n", 100*p.Threshold())
	if p.Proposed {
		s.WriteString("All are proposals of the program: none were written down yet.\n")
	}
	_, err := io.WriteString(w, s.String())
	return err
}

// ownPrices reads a file with the body of a prices entry.
func ownPrices(name string, in io.Reader) (desk.Prices, error) {
	var own cellar.Prices
	err := reading(name, in, func(r io.Reader) error {
		dec := json.NewDecoder(r)
		dec.DisallowUnknownFields()
		return dec.Decode(&own)
	})
	if err == nil {
		err = cellar.Draft{Happened: cellar.At(time.Now()), Body: own}.Check()
	}
	if err != nil {
		return desk.Prices{}, invalid("prices "+name, err)
	}
	return desk.Priced(own), nil
}
