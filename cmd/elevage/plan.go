package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"elevage/internal/advise"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/feed"
	"elevage/internal/ledger"
	"elevage/internal/serve"
)

type protocolCommand struct {
	List    protocolListCommand    `cmd:"" help:"The protocols there are."`
	Show    protocolShowCommand    `cmd:"" help:"A built-in protocol's file, to be copied and changed."`
	Check   protocolCheckCommand   `cmd:"" help:"Check a protocol file; what is wrong is told with its line."`
	Explain protocolExplainCommand `cmd:"" help:"Which rules fire for a lot, and why."`
}

type protocolListCommand struct{}

func (protocolListCommand) Run(d *doors) error {
	for _, p := range advise.BuiltIn().Protocols {
		fmt.Fprintf(d.out, "%-28s %s\n", p.Name, p.Means)
	}
	return nil
}

type protocolShowCommand struct {
	Name string `arg:"" help:"Name of the protocol."`
}

func (c *protocolShowCommand) Run(d *doors) error {
	text, err := advise.Source(c.Name)
	if err != nil {
		return err
	}
	_, err = d.out.Write(text)
	return err
}

type protocolCheckCommand struct {
	File string `arg:"" help:"Protocol file." type:"existingfile"`
	JSON bool   `help:"Print what was read as JSON."`
}

func (c *protocolCheckCommand) Run(d *doors) error {
	text, err := os.ReadFile(c.File)
	if err != nil {
		return err
	}
	checked, err := advise.Check(filepath.Base(c.File), text)
	if err != nil {
		for _, f := range fault.FieldsOf(err) {
			fmt.Fprintf(d.errs, "%s: %v\n", c.File, f)
		}
		if len(fault.FieldsOf(err)) > 0 {
			return errSaid
		}
		return err
	}
	if c.JSON {
		return writeJSON(d.out, checked)
	}
	fmt.Fprintf(d.out, "%s: in order\n", c.File)
	return nil
}

type protocolExplainCommand struct {
	data
	Lot  string `arg:"" help:"Short name of the lot."`
	JSON bool   `help:"Print the explanation as JSON."`
}

func (c *protocolExplainCommand) Run(d *doors) error {
	return c.onDesk(func(ctx context.Context, _ ledger.Ledger, on *desk.Desk) error {
		v, err := on.View(ctx, time.Now())
		if err != nil {
			return err
		}
		e, err := advise.Explain(on.PlanInput(v), c.Lot)
		if err != nil {
			return err
		}
		if c.JSON {
			return writeJSON(d.out, e)
		}
		_, err = io.WriteString(d.out, e.Text())
		return err
	})
}

type calendarCommand struct {
	data
	Out string `help:"File to write (default: standard output)." placeholder:"FILE.ics"`
}

// Run writes the plan as an iCalendar file.
func (c *calendarCommand) Run(d *doors) error {
	return c.onDesk(func(ctx context.Context, _ ledger.Ledger, on *desk.Desk) error {
		v, err := on.View(ctx, time.Now())
		if err != nil {
			return err
		}
		write := func(w io.Writer) error { return feed.Write(w, serve.CalendarOf(v, homeKey, "", nil)) }
		if c.Out == "" {
			return write(d.out)
		}
		return writeFile(c.Out, write)
	})
}
