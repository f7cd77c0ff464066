package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"elevage/internal/advise"
	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/ledger"
	"elevage/internal/serve"
	"elevage/internal/sheet"
)

// onDesk opens the person's cellar and lays it on a desk, with their protocols.
func (d *data) onDesk(use func(context.Context, ledger.Ledger, *desk.Desk) error) error {
	protocols, err := ownProtocols(d.folder())
	if err != nil {
		return err
	}
	return d.onBook(func(ctx context.Context, book ledger.Ledger) error {
		on := desk.New(book, homeKey, desk.Options{Zone: time.Local, Protocols: protocols, Shown: serve.Shown(d.folder())})
		serve.RecallBeliefs(d.folder(), on)
		if err := use(ctx, book, on); err != nil {
			return err
		}
		_ = serve.KeepBeliefs(d.folder(), on) // costs only the time to compute them again
		return nil
	})
}

// onBook opens the person's cellar for what needs no plan: a protocol file that
// cannot be read must not stand in the way of writing something down.
func (d *data) onBook(use func(context.Context, ledger.Ledger) error) (err error) {
	book, err := d.open()
	if err != nil {
		return err
	}
	defer func() {
		if closed := book.Close(); err == nil {
			err = closed
		}
	}()
	return use(context.Background(), book)
}

type todayCommand struct {
	data
	JSON bool `help:"Print the plan as JSON."`
}

func (c *todayCommand) Run(d *doors) error {
	return c.onDesk(func(ctx context.Context, _ ledger.Ledger, on *desk.Desk) error {
		v, err := on.View(ctx, time.Now())
		if err != nil {
			return err
		}
		if c.JSON {
			return writeJSON(d.out, v.Plan)
		}
		return printPlan(d.out, v)
	})
}

func printPlan(w io.Writer, v *desk.View) error {
	var s strings.Builder
	if v.State.Lots.Len() == 0 {
		s.WriteString("The cellar is empty. Start with \"elevage\", or here with: elevage log \"vessel c1 carboy 23 L; lot merlot red\"\n")
	}
	for _, standing := range []advise.Standing{advise.Due, advise.Soon, advise.Waiting} {
		acts := v.Plan.With(standing)
		if len(acts) == 0 {
			continue
		}
		fmt.Fprintf(&s, "%s\n", map[advise.Standing]string{advise.Due: "Due", advise.Soon: "Soon", advise.Waiting: "Waiting on something"}[standing])
		for _, a := range acts {
			amount := ""
			if a.Amount != "" {
				amount = " " + a.Amount + " " + a.Unit
			}
			fmt.Fprintf(&s, "  %-8s %s%s\n           %s\n", a.Vessel, a.Do, amount, a.Why)
			for _, c := range a.Cautions {
				fmt.Fprintf(&s, "           ! %s\n", c.Text)
			}
		}
	}
	if v.Plan.ComeBack != nil {
		fmt.Fprintf(&s, "Come back %s, %s.\n", v.Plan.ComeBack, v.Plan.For)
	}
	_, err := io.WriteString(w, s.String())
	return err
}

type lotCommand struct {
	data
	Name string `arg:"" help:"Short name of the lot."`
	JSON bool   `help:"Print the beliefs about its parcels as JSON."`
}

func (c *lotCommand) Run(d *doors) error {
	return c.onDesk(func(ctx context.Context, _ ledger.Ledger, on *desk.Desk) error {
		v, err := on.View(ctx, time.Now())
		if err != nil {
			return err
		}
		lot := v.State.Lot(c.Name)
		if lot == nil {
			var names []string
			for _, l := range v.State.Lots.All() {
				names = append(names, l.Slug)
			}
			return fault.New(fault.NotFound, "lot", "there is no lot %q; there are: %s", c.Name, strings.Join(names, ", "))
		}
		if c.JSON {
			return writeJSON(d.out, serve.BeliefsOf(v.OfLot(lot)))
		}
		return printLot(d.out, v, lot)
	})
}

func printLot(w io.Writer, v *desk.View, lot *cellar.Lot) error {
	volume, spread := lot.Volume()
	fmt.Fprintf(w, "%s: %.1f ± %.1f L\n", lot.Title(), volume.Litres(), spread.Litres())
	for _, st := range v.OfLot(lot) {
		fmt.Fprintf(w, "\n%s, %.1f ± %.1f L\n", st.Vessel.Title(), st.Parcel.Volume.Litres(), st.Parcel.Spread.Litres())
		if st.Malo != nil {
			if err := printBelief(w, *st.Malo); err != nil {
				return err
			}
		}
		if st.SO2 != nil {
			for _, line := range st.SO2.Summary {
				fmt.Fprintf(w, "  - %s\n", line)
			}
		}
		for _, a := range v.Plan.At(st.Vessel.Slug) {
			fmt.Fprintf(w, "  > %s: %s\n", strings.TrimSpace(a.Do+" "+strings.TrimSpace(a.Amount+" "+a.Unit)), a.Why)
		}
	}
	return nil
}

type logCommand struct {
	data
	Line      []string `arg:"" help:"What happened, such as: ph 3.47 b2."`
	Overruled string   `help:"Words with which a stop, or what cannot be by the record so far, is overruled; they are kept with the entry." placeholder:"WORDS"`
	JSON      bool     `help:"Print what was kept as JSON."`
}

func (c *logCommand) Run(d *doors) error {
	return c.onBook(func(ctx context.Context, book ledger.Ledger) error {
		on := desk.New(book, homeKey, desk.Options{Zone: time.Local})
		conf := serve.Config{Ledger: book, Cellar: homeKey, Pen: pen(homeKey), Clock: time.Now}
		u, err := serve.KeepLine(ctx, on, conf, strings.Join(c.Line, " "), c.Overruled)
		if fault.KindOf(err) == fault.Denied {
			fmt.Fprintf(d.errs, "elevage: %s Say why with --overruled \"WORDS\".\n", fault.Message(err))
			return errSaid
		}
		if err != nil {
			return err
		}
		if c.JSON {
			return writeJSON(d.out, struct {
				Kept []string            `json:"kept"`
				Came []serve.FindingJSON `json:"came_up,omitempty"`
			}{u.Says, serve.FindingsOf(u.Came)})
		}
		for _, says := range u.Says {
			fmt.Fprintln(d.out, "Kept:", says)
		}
		for _, f := range u.Came {
			fmt.Fprintln(d.out, "But:", f.Says)
		}
		return nil
	})
}

type exportCommand struct {
	data
	Readings bool   `help:"The readings as CSV, units in the header, instead of the whole ledger."`
	Out      string `help:"File to write (default: standard output)." placeholder:"FILE"`
}

func (c *exportCommand) Run(d *doors) error {
	return c.onBook(func(ctx context.Context, book ledger.Ledger) error {
		entries, err := book.After(ctx, homeKey, 0)
		if err != nil {
			return err
		}
		write := ledger.WriteLines
		if c.Readings {
			write = sheet.Write
		}
		if c.Out == "" {
			return write(d.out, entries)
		}
		return writeFile(c.Out, func(w io.Writer) error { return write(w, entries) })
	})
}

// writeFile writes beside the file and then gives it its name, so that a file
// half written is never mistaken for a whole one.
func writeFile(name string, write func(io.Writer) error) (err error) {
	f, err := os.CreateTemp(filepath.Dir(name), ".elevage-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			f.Close()           //nolint:errcheck // the error that stopped us says more
			os.Remove(f.Name()) //nolint:errcheck // as above
		}
	}()
	if err = write(f); err != nil {
		return err
	}
	if err = f.Sync(); err != nil {
		return err
	}
	if err = f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}

type importCommand struct {
	data
	File   string `arg:"" help:"Entries as JSON Lines, or readings as CSV (by its ending, .csv). - for entries from standard input."`
	Strict bool   `help:"Keep nothing when one line is bad, instead of reporting it and keeping the others."`
	DryRun bool   `help:"Say what would be kept, and keep nothing."`
}

func (c *importCommand) Run(d *doors) error {
	return c.onBook(func(ctx context.Context, book ledger.Ledger) error {
		var entries []cellar.Entry
		var bad []fault.Field
		err := reading(c.File, d.in, func(r io.Reader) (err error) {
			if strings.HasSuffix(strings.ToLower(c.File), ".csv") {
				entries, bad, err = sheet.Read(r, pen(homeKey), time.Now())
			} else {
				entries, bad, err = ledger.ReadLines(r, homeKey)
			}
			return err
		})
		if err != nil {
			return invalid("import "+c.File, err)
		}
		for _, b := range bad {
			fmt.Fprintf(d.errs, "%s: %v; left out\n", c.File, b)
		}
		if c.Strict && len(bad) > 0 {
			return fault.New(fault.Invalid, "import", "%d lines are bad, so nothing was kept", len(bad))
		}
		if c.DryRun {
			fmt.Fprintf(d.out, "%d entries would be kept, %d lines left out.\n", len(entries), len(bad))
			return nil
		}
		outcomes, err := book.Append(ctx, entries)
		if err != nil {
			return err
		}
		fmt.Fprintf(d.out, "%s, %d lines left out.\n", ledger.Summary(outcomes), len(bad))
		if len(bad) > 0 {
			return errSaid
		}
		return nil
	})
}
