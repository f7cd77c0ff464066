package ui

import (
	"fmt"
	"strings"
)

// A Theme is one of the two dresses of the one design.
type Theme string

// The themes. Auto follows the device: slate on a phone or where the system is
// dark, paper on a light desk. Print is always paper.
const (
	Auto  Theme = ""
	Slate Theme = "slate"
	Paper Theme = "paper"
)

// token is one role of colour in both themes.
type token struct {
	name         string
	slate, paper string
	use          string
}

// tokens are all the colours there are: grounds, inks, one accent. Contrast of
// every pair that carries meaning is checked in tokens_test.go.
//
// The accent is the blue-green that copper sulphate leaves on vineyard walls. It
// marks what wants a hand and where now is, and nothing else.
var tokens = []token{
	{"ground", "#20272a", "#f7f8f4", "what everything lies on"},
	{"sunk", "#181e20", "#eceee8", "docked bars and what is set back"},
	{"ink", "#f5f2e8", "#12181d", "text and shapes"},
	{"ink-1", "#d2d1c8", "#3a4249", "secondary text; a figure past half its time"},
	{"ink-2", "#b3b5ae", "#505960", "notes; a figure past its time"},
	{"ink-3", "#9ea39d", "#5c656b", "a figure long past its time"},
	{"rule", "#465055", "#cdd2cb", "hairlines that only divide"},
	{"edge", "#869094", "#767f84", "the edge of a field or a tick"},
	{"accent", "#74d6e2", "#005d6e", "what wants a hand; now"},
	{"accent-ground", "#74d6e2", "#005d6e", "ground of the one main button"},
	{"on-accent", "#10181a", "#ffffff", "text on it"},
}

// colour is a token's value in a theme; empty for a name that does not exist.
func colour(name string, th Theme) string {
	for _, t := range tokens {
		if t.name == name {
			if th == Slate {
				return t.slate
			}
			return t.paper
		}
	}
	return ""
}

// tokenSheet writes the tokens as CSS: slate first, paper where the device is a
// light desk, either by the person's own choice, and paper always in print.
func tokenSheet() string {
	set := func(th Theme) string {
		var b strings.Builder
		fmt.Fprintf(&b, "color-scheme:%s;", map[Theme]string{Slate: "dark", Paper: "light"}[th])
		for _, t := range tokens {
			fmt.Fprintf(&b, "--%s:%s;", t.name, colour(t.name, th))
		}
		fmt.Fprintf(&b, "--stroke:var(--stroke-%s);", th)
		return b.String()
	}
	return "@layer tokens{\n" +
		":root{" + set(Slate) + "}\n" +
		"@media (min-width:48rem) and (prefers-color-scheme:light){:root:not([data-theme=slate]){" + set(Paper) + "}}\n" +
		":root[data-theme=paper]{" + set(Paper) + "}\n" +
		"@media print{:root,:root[data-theme]{" + set(Paper) + "}}\n" +
		"}\n"
}
