package blend

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/fault"
	"elevage/internal/track"
	"elevage/science/quantity"
)

// An Order is a wish in plain numbers, as a form, a command or a program gives it.
type Order struct {
	Use        []string `json:"use,omitempty" doc:"vessels whose wine may be used; none: every wine of the cellar"`
	LeastL     float64  `json:"least_l,omitempty" doc:"at least so much, litres"`
	MostL      float64  `json:"most_l,omitempty" doc:"at most so much, litres"`
	Into       []string `json:"into,omitempty" doc:"vessels of which some are to be filled to the last drop"`
	Whole      bool     `json:"whole,omitempty" doc:"empty each vessel or leave it alone"`
	Unfinished bool     `json:"unfinished,omitempty" doc:"take in wines that may still ferment"`
	Wants      []Want   `json:"wants,omitempty"`
}

// A Want is a limit, an aim, or both, for one property of the blend.
type Want struct {
	What  string   `json:"what" enum:"abv_pct,ta_g_l,ph,sugar_g_l,va_g_l,total_so2_mg_l,free_so2_mg_l,malic_g_l,share_pct" doc:"the property, with its unit; titratable acidity as tartaric to pH 8.2, volatile acidity as acetic"`
	Of    string   `json:"of,omitempty" doc:"of a share: its kind and name, such as variety:Merlot; kinds are variety, place, vintage, lot"`
	Least *float64 `json:"least,omitempty"`
	Most  *float64 `json:"most,omitempty"`
	Aim   *float64 `json:"aim,omitempty"`
}

// A Wanted is a property that can be wanted.
type Wanted struct {
	Key, Name, Unit string
	Low, High       float64 // that can be asked for
	Within          float64 // a difference that hardly matters: what aims are met within
	Aims            bool    // it can be aimed at

	p property
}

// CanWant are the properties that can be wanted, in the order in which they are asked.
var CanWant = []Wanted{
	{"abv_pct", "Alcohol", "% vol", 0, 25, 0.2, true, alcohol},
	{"ta_g_l", "Titratable acidity", "g/L", 0, 30, 0.3, true, ta},
	{"ph", "pH", "", 2.5, 4.5, 0.05, true, ph},
	{"sugar_g_l", "Residual sugar", "g/L", 0, 400, 0.5, true, sugar},
	{"va_g_l", "Volatile acidity", "g/L", 0, 5, 0.05, true, va},
	{"malic_g_l", "Malic acid", "g/L", 0, 20, 0.2, true, malic},
	{"total_so2_mg_l", "Total SO2", "mg/L", 0, 1000, 10, true, totalSO2},
	{"free_so2_mg_l", "Free SO2", "mg/L", 0, 300, 0, false, freeSO2},
	{shareKey, "Share", "%", 0, 100, 3, true, share},
}

const shareKey = "share_pct"

// mostShares is how many shares a form or command can ask for: share_pct, share_pct2.
const mostShares = 2

// LookupWanted finds a property that can be wanted by its key; nil for none.
func LookupWanted(key string) *Wanted {
	for i := range CanWant {
		if CanWant[i].Key == key {
			return &CanWant[i]
		}
	}
	return nil
}

// Keys are the names by which ReadOrder knows what is given: use, least_l, most_l,
// into, whole, unfinished; for each property ph_least, ph_most, ph_aim and so on;
// and of shares share_pct_of, share_pct2_of.
func Keys() []string {
	out := []string{"use", "least_l", "most_l", "into", "whole", "unfinished"}
	for _, row := range Asked() {
		out = append(out, row.Field+"_least", row.Field+"_most", row.Field+"_aim")
		if row.Share {
			out = append(out, row.Field+"_of")
		}
	}
	return out
}

// A Question is a property as a form asks for it: its fields begin with Field.
type Question struct {
	Wanted
	Field string
	Share bool // which share is asked for too
}

// Asked are the questions of a form, in order.
func Asked() []Question {
	var out []Question
	for _, w := range CanWant {
		out = append(out, Question{w, w.Key, w.p == share})
	}
	for n := 2; n <= mostShares; n++ {
		out = append(out, Question{*LookupWanted(shareKey), fmt.Sprintf("%s%d", shareKey, n), true})
	}
	return out
}

// ReadOrder reads an order from names and texts, as a form's address or the words of
// a command hold them. Numbers may have a decimal comma, volumes a unit. The error is
// fault.Invalid and names each field with what was given and what is allowed.
func ReadOrder(given map[string][]string) (Order, error) {
	var bad []fault.Field
	text := func(name string) string {
		if all := given[name]; len(all) > 0 {
			return strings.TrimSpace(all[len(all)-1])
		}
		return ""
	}
	var o Order
	for name, to := range map[string]*[]string{"use": &o.Use, "into": &o.Into} {
		for _, one := range given[name] {
			for slug := range strings.FieldsFuncSeq(one, func(c rune) bool { return c == ',' || c == ' ' || c == ';' }) {
				if slug = strings.ToLower(slug); !slices.Contains(*to, slug) {
					*to = append(*to, slug)
				}
			}
		}
	}
	for _, v := range [...]struct {
		name string
		to   *float64
	}{{"least_l", &o.LeastL}, {"most_l", &o.MostL}} {
		if t := text(v.name); t != "" {
			litres, ok := litresOf(t)
			if !ok {
				bad = append(bad, fault.Field{Name: v.name, Given: t, Allowed: fmt.Sprintf("a volume of %g to %g L", pourable, mostLitres)})
				continue
			}
			*v.to = litres
		}
	}
	o.Whole, o.Unfinished = text("whole") != "", text("unfinished") != ""
	for _, row := range Asked() {
		want := Want{What: row.Key, Of: text(row.Field + "_of")}
		for _, end := range [...]struct {
			name string
			to   **float64
		}{{"_least", &want.Least}, {"_most", &want.Most}, {"_aim", &want.Aim}} {
			t := text(row.Field + end.name)
			if t == "" {
				continue
			}
			v, err := cellar.ParseNumber(t)
			if err != nil {
				bad = append(bad, fault.Field{Name: row.Field + end.name, Given: t, Allowed: row.allowed()})
				continue
			}
			*end.to = &v
		}
		for _, f := range want.check() {
			bad = append(bad, fault.Field{Name: strings.Replace(f.Name, row.Key, row.Field, 1), Given: f.Given, Allowed: f.Allowed})
		}
		if want.Least != nil || want.Most != nil || want.Aim != nil {
			o.Wants = append(o.Wants, want)
		}
	}
	return o, fault.BadFields("read blend", bad...)
}

const mostLitres = 1e5

func litresOf(text string) (float64, bool) {
	m, err := cellar.ParseMeasure(text, "L")
	if err != nil || m.Bound() != "" {
		return 0, false
	}
	v, _, err := m.Volume()
	return v.Litres(), err == nil && v.Litres() >= pourable && v.Litres() <= mostLitres
}

func (w *Wanted) allowed() string {
	return strings.TrimSpace(fmt.Sprintf("a number of %g to %g %s", w.Low, w.High, w.Unit))
}

// check says what is wrong with a want, by the key of its property.
func (w *Want) check() (bad []fault.Field) {
	p := LookupWanted(w.What)
	if p == nil {
		keys := make([]string, len(CanWant))
		for i := range CanWant {
			keys[i] = CanWant[i].Key
		}
		return []fault.Field{{Name: "what", Given: w.What, Allowed: strings.Join(keys, ", ")}}
	}
	for _, end := range [...]struct {
		name string
		v    *float64
	}{{"_least", w.Least}, {"_most", w.Most}, {"_aim", w.Aim}} {
		switch {
		case end.v == nil:
		case !(*end.v >= p.Low && *end.v <= p.High):
			bad = append(bad, fault.Field{Name: w.What + end.name, Given: figure(*end.v), Allowed: p.allowed()})
		case end.name == "_aim" && !p.Aims:
			bad = append(bad, fault.Field{Name: w.What + "_aim", Given: figure(*end.v), Allowed: "at least and at most only: what is free settles anew in a blend, and is dosed afterwards"})
		}
	}
	if len(bad) == 0 && w.Least != nil && w.Most != nil && *w.Least > *w.Most {
		bad = append(bad, fault.Field{Name: w.What + "_most", Given: figure(*w.Most), Allowed: "no less than the least, " + figure(*w.Least)})
	}
	if kind, name, _ := strings.Cut(w.Of, ":"); p.p == share && (w.Least != nil || w.Most != nil || w.Aim != nil) &&
		(name == "" || !slices.Contains([]string{ByVariety, ByPlace, ByVintage, ByLot}, kind)) {
		bad = append(bad, fault.Field{Name: w.What + "_of", Given: w.Of, Allowed: "a kind and a name, such as variety:Merlot; kinds are variety, place, vintage and lot"})
	}
	return bad
}

// Wish is the order as a wish on the wines of a cellar at a moment, as Sources has them.
func (o *Order) Wish(s *cellar.State, beliefs map[cellar.ParcelID]*track.Belief, at time.Time) (Wish, error) {
	var bad []fault.Field
	w := Wish{Least: quantity.Volume(o.LeastL), Most: quantity.Volume(o.MostL), Whole: o.Whole, Unfinished: o.Unfinished}
	all, err := Sources(s, beliefs, at)
	if err != nil {
		return w, err
	}
	for _, l := range all {
		if len(o.Use) == 0 || slices.Contains(o.Use, l.Vessel) {
			w.Sources = append(w.Sources, l)
		}
	}
	for _, slug := range o.Use {
		if !w.has(slug) {
			bad = append(bad, fault.Field{Name: "use", Given: slug, Allowed: "a vessel that holds wine: " + vesselsOf(all)})
		}
	}
	if len(all) == 0 {
		bad = append(bad, fault.Field{Name: "use", Allowed: "at least one vessel with wine; none holds any yet"})
	}
	for _, slug := range o.Into {
		v := s.Vessel(slug)
		if v == nil || v.Gone || v.Bottles || v.Capacity() <= 0 {
			bad = append(bad, fault.Field{Name: "into", Given: slug, Allowed: "a vessel whose size is known"})
			continue
		}
		w.Into = append(w.Into, v.Capacity())
	}
	for i := range o.Wants {
		want := &o.Wants[i]
		if wrong := want.check(); len(wrong) > 0 {
			bad = append(bad, wrong...)
			continue
		}
		want.put(&w)
	}
	return w, fault.BadFields("wish for blend", bad...)
}

// put adds a want that was checked to a wish.
func (w *Want) put(to *Wish) {
	p := LookupWanted(w.What)
	kind, name, _ := strings.Cut(w.Of, ":")
	held := func(v *float64, none float64) float64 {
		if v == nil {
			return none
		}
		return *v / properties[p.p].shown
	}
	if w.Least != nil || w.Most != nil {
		l := Limit{p: p.p, kind: kind, name: name, low: held(w.Least, math.Inf(-1)), high: held(w.Most, math.Inf(1))}
		if p.p == share {
			l.low, l.high = held(w.Least, 0), held(w.Most, 1)
		}
		to.Limits = append(to.Limits, l)
	}
	if w.Aim != nil {
		at := held(w.Aim, 0)
		to.Targets = append(to.Targets, Target{Limit{p: p.p, kind: kind, name: name, low: at, high: at}, p.Within / properties[p.p].shown})
	}
}

func vesselsOf(all []Source) string {
	names := make([]string, len(all))
	for i := range all {
		names[i] = all[i].Vessel
	}
	slices.SortFunc(names, cmp.Compare[string])
	return strings.Join(names, ", ")
}
