package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"elevage/internal/bench"
)

type benchCommand struct {
	Name    string   `arg:"" optional:"" help:"Calculator; without one they are listed."`
	Args    []string `arg:"" optional:"" name:"key=value" help:"Inputs, such as ph=3.40. A ± goes with KEY_pm."`
	JSON    bool     `help:"Answer in JSON. Without key=value arguments the inputs are read as JSON from standard input."`
	Explain bool     `help:"Print the working, to be followed with a pencil."`
}

func (c *benchCommand) Run(d *doors) error {
	if c.Name == "" {
		return listBench(d.out, c.JSON)
	}
	calc, err := bench.Find(c.Name)
	if err != nil {
		return err
	}
	given, err := c.given(d.in)
	if err != nil {
		return err
	}
	r, err := calc.Run(given)
	var stop *bench.StopError
	if errors.As(err, &stop) && c.JSON {
		if err := writeJSON(d.out, stop); err != nil {
			return err
		}
		return errSaid
	}
	if err != nil {
		return err
	}
	switch {
	case c.JSON:
		return writeJSON(d.out, r)
	case c.Explain:
		_, err = io.WriteString(d.out, r.Text()+"\n"+r.Explain())
	default:
		_, err = io.WriteString(d.out, r.Text())
	}
	return err
}

func (c *benchCommand) given(in io.Reader) (bench.Given, error) {
	if len(c.Args) > 0 || !c.JSON {
		return bench.ParseArgs(c.Args)
	}
	const most = 1 << 20
	raw, err := io.ReadAll(io.LimitReader(in, most))
	if err != nil {
		return nil, err
	}
	return bench.ParseJSON(raw)
}

func listBench(w io.Writer, asJSON bool) error {
	if asJSON {
		return writeJSON(w, bench.All())
	}
	for _, q := range bench.Questions {
		fmt.Fprintf(w, "%s\n", q.Words())
		for _, c := range bench.For(q) {
			fmt.Fprintf(w, "  %-22s %s\n", c.Name, c.Purpose)
		}
	}
	_, err := fmt.Fprintln(w, "\nelevage bench NAME key=value …   for example: elevage bench molecular-so2 free_so2_mg_l=30 ph=3.40")
	return err
}

func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}
