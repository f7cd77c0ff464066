// Command elevage is the cellar book that reckons: see README.md, or
// "elevage --help".
package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/alecthomas/kong"

	"elevage/internal/fault"
)

// version is set when a release is built.
var version = "development"

func main() {
	os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}

// run is main with its doors handed in; it returns the exit code: 0 done, 1 a
// fault of ours or of the machine, 2 something given is not allowed.
func run(args []string, in io.Reader, out, errs io.Writer) int {
	var c commands
	exited := -1
	parser, err := kong.New(&c, kong.Name("elevage"), kong.Description(about), kong.UsageOnError(),
		kong.Writers(out, errs), kong.Exit(func(code int) { exited = code }), kong.Vars{"version": version})
	if err != nil {
		fmt.Fprintln(errs, "elevage:", err)
		return 1
	}
	ctx, err := parser.Parse(args)
	if exited >= 0 {
		return exited
	}
	if err != nil {
		fmt.Fprintf(errs, "elevage: %v\nTry \"elevage --help\".\n", err)
		return 2
	}
	err = ctx.Run(&doors{in: in, out: out, errs: errs})
	switch {
	case err == nil:
		return 0
	case errors.Is(err, errSaid):
		return 2
	}
	fmt.Fprintln(errs, "elevage:", err)
	if k := fault.KindOf(err); k == fault.Invalid || k == fault.NotFound || k == fault.Conflict || k == fault.Denied {
		return 2
	}
	return 1
}
