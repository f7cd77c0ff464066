package bench

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// evaluate works out a step's formula from the very numbers it shows, so that
// the working is proven to lead where it says. Grammar: + - * / ^, brackets,
// and the functions below.
func evaluate(s Step) (float64, error) {
	text := s.Formula
	for _, t := range s.Terms {
		text = strings.ReplaceAll(text, "{"+t.Name+"}", "("+strconv.FormatFloat(t.Value, 'g', 17, 64)+")")
	}
	if i := strings.IndexAny(text, "{}"); i >= 0 {
		return 0, fmt.Errorf("a term of %q has no number: %s", s.Formula, text[i:])
	}
	p := &parser{text: text}
	x := p.sum()
	if p.err == nil && p.peek() != 0 {
		p.fail("cannot read the rest")
	}
	return x, p.err
}

type parser struct {
	text string
	at   int
	err  error
}

func (p *parser) fail(why string) {
	if p.err == nil {
		p.err = fmt.Errorf("%s: %s at %d", p.text, why, p.at)
	}
	p.at = len(p.text)
}

func (p *parser) peek() byte {
	for p.at < len(p.text) && p.text[p.at] == ' ' {
		p.at++
	}
	if p.at == len(p.text) {
		return 0
	}
	return p.text[p.at]
}

func (p *parser) sum() float64 {
	x := p.product()
	for {
		switch p.peek() {
		case '+':
			p.at++
			x += p.product()
		case '-':
			p.at++
			x -= p.product()
		default:
			return x
		}
	}
}

func (p *parser) product() float64 {
	x := p.power()
	for {
		switch p.peek() {
		case '*':
			p.at++
			x *= p.power()
		case '/':
			p.at++
			x /= p.power()
		default:
			return x
		}
	}
}

func (p *parser) power() float64 {
	if p.peek() == '-' {
		p.at++
		return -p.power()
	}
	x := p.atom()
	if p.peek() == '^' {
		p.at++
		return math.Pow(x, p.power())
	}
	return x
}

func (p *parser) atom() float64 {
	c := p.peek()
	start := p.at
	switch {
	case c == '(':
		p.at++
		x := p.sum()
		if p.peek() != ')' {
			p.fail("a bracket is open")
			return x
		}
		p.at++
		return x
	case isDigit(c) || c == '.':
		for p.at < len(p.text) && (isDigit(p.text[p.at]) || p.text[p.at] == '.' || p.text[p.at] == 'e' ||
			((p.text[p.at] == '-' || p.text[p.at] == '+') && p.text[p.at-1] == 'e')) {
			p.at++
		}
		x, err := strconv.ParseFloat(p.text[start:p.at], 64)
		if err != nil {
			p.fail(err.Error())
		}
		return x
	case c >= 'a' && c <= 'z':
		for p.at < len(p.text) && (p.text[p.at] >= 'a' && p.text[p.at] <= 'z' || isDigit(p.text[p.at])) {
			p.at++
		}
		return p.call(p.text[start:p.at])
	}
	p.fail("a number is wanted")
	return math.NaN()
}

func (p *parser) call(name string) float64 {
	if p.peek() != '(' {
		p.fail("a bracket is wanted after " + name)
		return math.NaN()
	}
	p.at++
	args := []float64{p.sum()}
	for p.peek() == ',' {
		p.at++
		args = append(args, p.sum())
	}
	if p.peek() != ')' {
		p.fail("a bracket is open after " + name)
		return math.NaN()
	}
	p.at++
	functions := map[string]func(...float64) float64{
		"sqrt":  func(a ...float64) float64 { return math.Sqrt(a[0]) },
		"ln":    func(a ...float64) float64 { return math.Log(a[0]) },
		"log10": func(a ...float64) float64 { return math.Log10(a[0]) },
		"exp":   func(a ...float64) float64 { return math.Exp(a[0]) },
		"floor": func(a ...float64) float64 { return math.Floor(a[0]) },
		"ceil":  func(a ...float64) float64 { return math.Ceil(a[0]) },
		"max":   func(a ...float64) float64 { return math.Max(a[0], a[len(a)-1]) },
		"min":   func(a ...float64) float64 { return math.Min(a[0], a[len(a)-1]) },
	}
	f, ok := functions[name]
	if !ok {
		p.fail("unknown function " + name)
		return math.NaN()
	}
	return f(args...)
}
