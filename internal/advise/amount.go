package advise

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"cel.dev/cel-go/common/types"
	"cel.dev/cel-go/common/types/ref"

	"elevage/internal/bench"
	"elevage/internal/cellar"
	"elevage/internal/fault"
)

// Working is how an amount was reckoned, so that it can be opened and done again:
// the same inputs given to the same calculator give the same figures.
type Working struct {
	Calculator string       `json:"calculator"`
	Given      bench.Given  `json:"given"`
	Result     bench.Result `json:"result"`
	Take       string       `json:"take"` // the figure that is the amount
}

// amount checks that the calculator and what is put in and taken out exist.
func (b *builder) amount(f *amountFile) *amount {
	if f == nil {
		return nil
	}
	a := &amount{calculator: f.Calculator.text, take: f.Take.text, line: f.Calculator.line, row: f.Row, facts: f.Facts}
	c, err := bench.Find(a.calculator)
	if err != nil {
		b.bad(max(1, f.Calculator.line), "calculator", a.calculator, calculatorNames())
		return a
	}
	b.takes(c, f.Take)
	a.with = b.inputs(c, f.With)
	if f.Coarse != nil {
		b.takes(c, f.Coarse.Take)
		a.coarse = &coarse{take: f.Coarse.Take.text, with: b.inputs(c, f.Coarse.With)}
	}
	return a
}

func (b *builder) takes(c *bench.Calculator, at located) {
	var keys []string
	for _, o := range c.Outputs {
		keys = append(keys, o.Key)
		for _, column := range o.Columns {
			keys = append(keys, o.Key+"/"+column.Key)
		}
	}
	if slices.Contains(keys, at.text) {
		return
	}
	b.bad(max(1, at.line), "take", at.text, strings.Join(keys, ", "))
}

func (b *builder) inputs(c *bench.Calculator, with map[string]located) []input {
	keys := make([]string, len(c.Inputs))
	known := map[string]bool{}
	for i, in := range c.Inputs {
		keys[i] = in.Key
		known[in.Key] = true
	}
	var out []input
	for key, at := range with {
		if !known[key] {
			b.bad(at.line, "input", key, strings.Join(keys, ", "))
			continue
		}
		out = append(out, input{key: key, value: b.formula("input "+key, at, nil)})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].key < out[j].key })
	return out
}

func calculatorNames() string {
	var names []string
	for _, c := range bench.All() {
		names = append(names, c.Name)
	}
	return strings.Join(names, ", ")
}

// reckoned is an amount as it came out.
type reckoned struct {
	text, unit, plus string
	value            float64
	working          *Working
	cautions         []Caution
	asks             []string // what is missing for it
	stopped          string   // the bench holds it back, and why
	stock            bool     // measured as a stock solution, since the scale is too coarse
}

// reckon asks the bench. What is missing becomes what the act waits on.
func (a *amount) reckon(s *subject) reckoned {
	r := a.ask(s, a.take, nil)
	if a.coarse == nil || r.working == nil || r.value >= finestWeighing*s.plan.scaleStep || r.value == 0 {
		return r
	}
	if alt := a.ask(s, a.coarse.take, a.coarse.with); alt.working != nil {
		alt.stock = true
		return alt
	}
	return r
}

// finestWeighing is how many of its steps a weighing should have at least, for an
// error under 5 %. A rule of this program's own, from the error of a weighing.
const finestWeighing = 20

func (a *amount) ask(s *subject, take string, more []input) (r reckoned) {
	c, err := bench.Find(a.calculator)
	if err != nil {
		return reckoned{stopped: err.Error()}
	}
	given := bench.Given{}
	if a.facts {
		given = c.Prefill(s.facts())
	}
	for _, in := range append(a.with[:len(a.with):len(a.with)], more...) {
		v, unknown, err := in.value.eval(s)
		switch {
		case err != nil:
			return reckoned{stopped: err.Error()}
		case unknown != nil:
			r.asks = append(r.asks, asks(unknown)...)
		default:
			given[in.key] = forBench(v)
		}
	}
	if len(r.asks) > 0 {
		return r
	}
	result, err := c.Run(given)
	if err != nil {
		return refused(c, err)
	}
	f, ok := figureOf(result, take, a.row, s)
	if !ok {
		return reckoned{stopped: fmt.Sprintf("%s gives no %s for what is known here", c.Title, take)}
	}
	r = reckoned{value: f.Number, unit: f.Unit.Symbol, working: &Working{Calculator: c.Name, Given: given, Result: result, Take: take}}
	r.text = strconv.FormatFloat(f.Number, 'f', f.Decimals, 64)
	if f.HasPlus {
		r.plus = strconv.FormatFloat(f.Plus, 'f', f.Decimals, 64)
	}
	if f.Kind == bench.Table {
		r.text = f.Shown()
	}
	for _, n := range result.Cautions {
		r.cautions = append(r.cautions, fromNotice(n))
	}
	return r
}

// figureOf is the output that is the amount: a figure, or the cell of a table in the
// row that begins as the step says, or with the vessel's name ("shares/dose_ml").
func figureOf(r bench.Result, take, begins string, s *subject) (bench.Figure, bool) {
	key, column, cell := strings.Cut(take, "/")
	f, ok := r.Figure(key)
	if !ok || !cell {
		return f, ok
	}
	for _, row := range f.Rows {
		if len(f.Columns) == 0 {
			continue
		}
		head, _ := row[f.Columns[0].Key].(string)
		if begins != "" && !strings.HasPrefix(head, begins) || begins == "" && (s.vessel == nil || head != s.vessel.Slug) {
			continue
		}
		for _, c := range f.Columns {
			if n, isNumber := row[c.Key].(float64); isNumber && c.Key == column {
				return bench.Figure{Key: take, Label: c.Label, Kind: c.Kind, Unit: c.Unit, Decimals: c.Decimals, Number: n}, true
			}
		}
	}
	return bench.Figure{}, false
}

// refused says what the bench's refusal means for the act: something to find out,
// or a stop.
func refused(c *bench.Calculator, err error) reckoned {
	var stop *bench.StopError
	if errors.As(err, &stop) {
		texts := make([]string, len(stop.Stops))
		for i, n := range stop.Stops {
			texts[i] = n.Text
		}
		return reckoned{stopped: strings.Join(texts, " ")}
	}
	var bad *fault.Error
	if errors.As(err, &bad) && len(bad.Fields) > 0 {
		var r reckoned
		for _, f := range bad.Fields {
			if f.Given == "" {
				r.asks = append(r.asks, inputLabel(c, f.Name))
			}
		}
		if len(r.asks) == len(bad.Fields) {
			return r
		}
	}
	return reckoned{stopped: err.Error()}
}

func inputLabel(c *bench.Calculator, key string) string {
	for _, in := range c.Inputs {
		if in.Key == key {
			return in.Label
		}
	}
	return key
}

// forBench writes a value as the bench takes it, with its unit.
func forBench(v ref.Val) any {
	switch v := v.(type) {
	case measure:
		unit := [...]string{"g/L", "L", "g", "°C", "% vol", "d", ""}[v.kind]
		n := v.v
		if v.kind == concentration && v.unit == "mg/L" {
			n, unit = n*1000, "mg/L"
		}
		return numeral(n) + " " + unit
	case types.Double:
		return numeral(float64(v))
	case types.Int:
		return strconv.FormatInt(int64(v), 10)
	case types.Bool:
		if v {
			return "yes"
		}
		return "no"
	}
	return fmt.Sprint(v.Value())
}

// numeral has six significant figures: the rest is only binary arithmetic.
func numeral(x float64) string {
	return strconv.FormatFloat(x, 'g', 6, 64)
}

// facts are what a calculator may be filled in with from this wine.
func (s *subject) facts() map[bench.Fact]bench.Known {
	known := map[bench.Fact]bench.Known{}
	if s.parcel == nil {
		return known
	}
	put := func(f bench.Fact, value, plus float64) {
		k := bench.Known{Value: numeral(value)}
		if plus > 0 {
			k.Plus = numeral(plus)
		}
		known[f] = k
	}
	reading := func(f bench.Fact, what string, scale float64) {
		if k := s.life.last(what); k != nil {
			put(f, k.value*scale, k.plus*scale)
		}
	}
	if s.parcel.Volume > 0 {
		put(bench.LotVolume, math.Round(float64(s.parcel.Volume)*1000)/1000, math.Round(float64(s.parcel.Spread)*1000)/1000)
	}
	reading(bench.LotPH, cellar.ReadPH, 1)
	reading(bench.LotTA, cellar.ReadTA, 1)
	reading(bench.LotStrength, cellar.ReadAlcohol, 1)
	reading(bench.LotTemp, cellar.ReadTemperature, 1)
	reading(bench.LotMalic, cellar.ReadMalic, 1)
	reading(bench.LotSugar, cellar.ReadSugar, 1)
	reading(bench.LotYAN, cellar.ReadYAN, 1000)
	// A test of sulfur dioxide speaks until the next dose.
	if k := s.life.last(cellar.ReadFreeSO2); k != nil && k.at.After(s.life.sulfited) {
		reading(bench.LotFreeSO2, cellar.ReadFreeSO2, 1000)
	}
	if k := s.life.last(cellar.ReadTotalSO2); k != nil && k.at.After(s.life.sulfited) {
		reading(bench.LotTotalSO2, cellar.ReadTotalSO2, 1000)
	}
	if b := s.ageing; b != nil {
		if b.Total.Q50 >= b.Free.Q50 && b.Total.Q50 > 0 {
			put(bench.LotTotalSO2, math.Round(b.Total.Q50.MgPerL()), math.Round(float64(b.Total.Width())*1000/3.29))
		}
		put(bench.LotFreeSO2, math.Round(b.Free.Q50.MgPerL()*10)/10, math.Round(float64(b.Free.Width())*1000/3.29*10)/10)
		put(bench.LotBinding, math.Round(1000*(1-b.Dose.Share))/10, 0)
	}
	colour := s.lot.Colour
	if colour == "rosé" {
		colour = "rose"
	}
	if colour == "red" || colour == "white" || colour == "rose" {
		known[bench.LotColour] = bench.Known{Value: colour}
	}
	known[bench.LotMalolactic] = bench.Known{Value: s.malolacticForBench()}
	if law := s.plan.Prefs.Law; law != "" {
		known[bench.CellarPlace] = bench.Known{Value: law}
	}
	return known
}

// malolacticForBench tells the bench what holds its own stop against sulfur
// dioxide before the end.
func (s *subject) malolacticForBench() string {
	c, wanted := s.conversion(), s.wanted()
	switch {
	case c.over:
		return "finished"
	case c.givenUp || wanted != nil && !*wanted:
		return "blocked"
	case wanted != nil:
		return "wanted"
	}
	return "unknown"
}
