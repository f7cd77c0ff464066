// Package bench holds the calculators of the cellar bench, each declared once.
//
// A calculator is a value: its name, the question it answers, typed inputs and
// outputs whose keys carry their unit, a pure function, the working that
// function shows, its sources with a mark on each, its cautions, and the doses
// it stops at. The web form, the command line, the HTTP interface and the
// reference page are all made from that one declaration; adding a calculator
// adds one file to this package.
//
//	c, err := bench.Find("molecular-so2")
//	given, err := bench.ParseArgs([]string{"free_so2_mg_l=30", "ph=3.40", "ph_pm=0.05"})
//	result, err := c.Run(given)
//	fmt.Print(result.Text())     // the figures, each with its ±, and the cautions
//	fmt.Print(result.Explain())  // the working, to be followed with a pencil
//
// # What a caller must know
//
// Given is what a person or a script wrote, not yet judged. A bare number is in
// the unit of its key; text may bring its own unit ("6 gal" for volume_l). Any
// number may have a companion KEY_pm, its ±; then each figure that comes out
// has one too, of the same kind (one standard deviation in, one out).
//
// Run answers in one of three ways. A Result. An error of kind fault.Invalid,
// which holds every field that is wrong, with what was given and what is allowed.
// Or a *StopError: the dose would be dangerous, against a legal limit, or absurd. A stop is
// overruled by giving the key "overrule" with the reason in words; the words
// stay in the Result together with what they overruled.
//
// Nothing here reads a clock, a file or the network, and equal input gives
// equal output.
package bench
