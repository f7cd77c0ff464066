package main

import (
	"errors"
	"io"

	"github.com/alecthomas/kong"
)

const about = `Élevage carries small lots of wine from fruit to bottle: what is in each vessel, what a slow fermentation is doing and how sure one may be, what to do tonight and with how much.`

// commands are the program's commands; help and docs/cli.md come from them.
type commands struct {
	Serve    serveCommand    `cmd:"" default:"withargs" help:"Open your own cellar in the browser (what elevage does when nothing else is said)."`
	Demo     demoCommand     `cmd:"" help:"Open an invented cellar, kept in a temporary folder only."`
	Malo     maloCommand     `cmd:"" help:"The belief about one parcel's malolactic fermentation from two files, without a cellar."`
	Bench    benchCommand    `cmd:"" help:"The calculators: list them, or run one."`
	Today    todayCommand    `cmd:"" help:"What is due in your cellar."`
	Lot      lotCommand      `cmd:"" help:"A lot: what is in it, what is believed, what comes next."`
	Blend    blendCommand    `cmd:"" help:"Find what to pour together out of your vessels, or reckon volumes of your own; keeps nothing."`
	Log      logCommand      `cmd:"" help:"Log one typed line, such as: ph 3.47 b2."`
	Prices   pricesCommand   `cmd:"" help:"What tests cost you, and what a mistake or a day of waiting would; shown, or changed."`
	Backup   backupCommand   `cmd:"" help:"Copy your cellar to a file, also while it is open; pictures go into a folder beside it."`
	Restore  restoreCommand  `cmd:"" help:"Put a copy where your cellar is to be."`
	Calendar calendarCommand `cmd:"" help:"The plan as an iCalendar file."`
	Protocol protocolCommand `cmd:"" help:"The files that say what is due when."`
	Import   importCommand   `cmd:"" help:"Bring entries (JSON Lines) or readings (CSV) into your cellar."`
	Export   exportCommand   `cmd:"" help:"Write the whole ledger as JSON Lines, or the readings as CSV."`

	Version kong.VersionFlag `help:"Print the version and leave."`
}

// doors are where a command reads and writes.
type doors struct {
	in        io.Reader
	out, errs io.Writer
}

// errSaid stands for trouble that has already been told.
var errSaid = errors.New("already said")
