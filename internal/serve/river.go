package serve

import (
	"fmt"
	"net/url"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/chart"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// riverView is the river with what may be asked of it.
type riverView struct {
	ui.Drawing
	Spans  []spanChoice
	Which  []spanChoice // all wine, or what is in vessels
	Of     *ui.Link     // the wine that it is drawn for, if for one
	Slides bool         // it is wider than the page
}

type spanChoice struct {
	ui.Link
	Chosen bool
}

// spans are how much time a page's width may hold.
var spans = []struct {
	name, words string
	perYear     float64 // user units
}{{"all", "all of it", 0}, {"year", "about a year", 720}, {"season", "about a season", 2200}}

// riverAsked draws the river as the request asks: ?span= says how much time the page
// holds, ?of= a lot keeps only the wine that flows into it or out of it.
func riverAsked(v *desk.View, q url.Values) (*riverView, error) {
	kept := func(cellar.ParcelID) bool { return true }
	view := &riverView{}
	switch slug, only := q.Get("of"), q.Get("only"); {
	case slug != "":
		lot := v.State.Lot(slug)
		if lot == nil {
			return nil, fault.New(fault.NotFound, "draw river", "there is no lot %q", slug)
		}
		view.Of = &ui.Link{Text: lot.Title(), URL: lotURL(slug)}
		of := kin(v.State, lot.Parcels, both)
		kept = func(id cellar.ParcelID) bool { return of[id] }
	case only == onlyVessels:
		var held []*cellar.Parcel
		for _, vessel := range v.State.Vessels {
			if vessel.Holds != nil && !vessel.Bottles {
				held = append(held, vessel.Holds)
			}
		}
		of := kin(v.State, held, upstream)
		kept = func(id cellar.ParcelID) bool { return of[id] }
	case only != "":
		return nil, fault.BadFields("draw river", fault.Field{Name: "only", Given: only, Allowed: onlyVessels + ", or nothing for all wine"})
	}
	river := riverOf(v, kept)
	span := q.Get("span")
	if span == "" {
		span = "all"
		if len(river.Bands) > 0 && v.Now.Sub(river.Bands[0].Points[0].At) > 500*24*time.Hour {
			span = "year"
		}
	}
	known := false
	for _, s := range spans {
		with := url.Values{"span": {s.name}}
		for _, key := range []string{"of", "only"} {
			if q.Get(key) != "" {
				with.Set(key, q.Get(key))
			}
		}
		view.Spans = append(view.Spans, spanChoice{ui.Link{Text: s.words, URL: "/cellar?" + with.Encode() + "#river"}, s.name == span})
		if s.name == span {
			known, river.PerYear, view.Slides = true, s.perYear, s.perYear > 0
		}
	}
	if !known {
		return nil, fault.BadFields("draw river", fault.Field{Name: "span", Given: span, Allowed: "all, year, season"})
	}
	if len(river.Bands) == 0 && q.Get("only") == "" {
		return nil, nil
	}
	if view.Of == nil {
		for _, w := range []struct{ name, words string }{{"", "all wine"}, {onlyVessels, "what is in vessels now"}} {
			with := url.Values{"span": {span}}
			if w.name != "" {
				with.Set("only", w.name)
			}
			view.Which = append(view.Which, spanChoice{ui.Link{Text: w.words, URL: "/cellar?" + with.Encode() + "#river"}, w.name == q.Get("only")})
		}
	}
	view.Drawing = ui.Drawn(river)
	return view, nil
}

const onlyVessels = "vessels"

// Which way kin are looked for.
const (
	upstream = 1 << iota
	downstream
	both = upstream | downstream
)

// kin are parcels with all that flowed into them, or out of them.
func kin(s *cellar.State, of []*cellar.Parcel, way int) map[cellar.ParcelID]bool {
	next := map[int]map[cellar.ParcelID][]cellar.ParcelID{upstream: {}, downstream: {}}
	for _, p := range s.Parcels.All() {
		for _, f := range p.Inflows {
			if f.From != "" {
				next[upstream][p.ID] = append(next[upstream][p.ID], f.From)
				next[downstream][f.From] = append(next[downstream][f.From], p.ID)
			}
		}
	}
	found := map[cellar.ParcelID]bool{}
	for w, follow := range next {
		if w&way == 0 {
			continue
		}
		seen := map[cellar.ParcelID]bool{}
		var walk func(cellar.ParcelID)
		walk = func(id cellar.ParcelID) {
			if seen[id] {
				return
			}
			seen[id], found[id] = true, true
			for _, n := range follow[id] {
				walk(n)
			}
		}
		for _, p := range of {
			walk(p.ID)
		}
	}
	return found
}

// riverOf draws wine as bands as thick as its volume, from must to bottles.
func riverOf(v *desk.View, kept func(cellar.ParcelID) bool) chart.River {
	r := chart.River{ID: "cellar-river", Title: "The cellar over time", Now: v.Now}
	shown, named := map[cellar.ParcelID]bool{}, map[string]bool{}
	for _, p := range v.State.Parcels.All() {
		if p.Form == cellar.FormFruit || len(p.Levels) == 0 || !kept(p.ID) {
			continue
		}
		shown[p.ID] = true
		r.Bands = append(r.Bands, bandOf(v, p))
		if lot := v.State.Lot(p.Lot); lot != nil && !named[p.Lot] {
			named[p.Lot] = true
			r.Reaches = append(r.Reaches, chart.Reach{ID: p.Lot, Name: lot.Title(), Link: lotURL(p.Lot)})
		}
	}
	for _, p := range v.State.Parcels.All() {
		for _, f := range p.Inflows {
			if f.From != "" && shown[f.From] && shown[p.ID] {
				r.Flows = append(r.Flows, chart.Flow{From: string(f.From), To: string(p.ID), At: f.At, Litres: f.Volume.Litres()})
			}
		}
	}
	return r
}

func bandOf(v *desk.View, p *cellar.Parcel) chart.Band {
	b := chart.Band{ID: string(p.ID), Name: p.Vessel, Reach: p.Lot, Bottled: p.Form == cellar.FormBottle, Marks: marksOf(v, p)}
	if lot := v.State.Lot(p.Lot); lot != nil {
		b.Tone = toneOf(lot.Colour)
	}
	if b.Bottled {
		b.Name = "bottles"
	}
	for _, l := range p.Levels {
		b.Points = append(b.Points, chart.RiverPoint{At: l.At, Litres: l.Volume.Litres()})
	}
	if n := len(b.Points); p.Ended() && b.Points[n-1].Litres > 0 {
		b.Points = append(b.Points, chart.RiverPoint{At: p.End})
	}
	return b
}

// marksOf are the turning points of a parcel: those written down, and those expected.
func marksOf(v *desk.View, p *cellar.Parcel) (out []chart.RiverMark) {
	mark := func(at time.Time, shape chart.Shape, words string) {
		out = append(out, chart.RiverMark{At: at, Shape: shape, Label: words})
	}
	if p.Form == cellar.FormBottle {
		mark(p.Began, chart.Ring, "bottled")
		return out
	}
	for _, r := range p.Events {
		if !r.Counts() {
			continue
		}
		switch b := r.Body.(type) {
		case cellar.Inoculation:
			if b.Of == "malolactic" {
				mark(r.At, chart.Triangle, "malolactic culture")
			}
		case cellar.Verdict:
			switch b.Says {
			case cellar.VerdictDry:
				mark(r.At, chart.Square, "dry")
			case cellar.VerdictMalolacticFinished:
				mark(r.At, chart.Diamond, "malolactic over")
			}
		case cellar.Addition:
			if b.BringsSO2() {
				mark(r.At, chart.Plus, "sulfur dioxide")
			}
		}
	}
	st := v.Of(p.ID)
	if st == nil || p.Ended() {
		return out
	}
	expect := func(at *time.Time, shape chart.Shape, words string) {
		if at != nil && at.After(v.Now) {
			mark(noonIn(*at, v.Now.Location()), shape, words)
		}
	}
	if st.Malo != nil && st.Malo.Finish.Q50 != nil {
		expect(&st.Malo.Finish.Q50.Time, chart.Diamond, "malolactic over")
	}
	if st.Primary != nil {
		expect(st.Primary.Dry.Q50, chart.Square, "dry")
	}
	if st.SO2 != nil {
		expect(st.SO2.MeasureBy, chart.Plus, fmt.Sprintf("measure SO2, %s chance that it is low", ui.Chance(st.SO2.Risk)))
	}
	return out
}

// toneOf is how dense a wine is drawn.
func toneOf(colour string) chart.Tone {
	switch colour {
	case "white":
		return chart.Light
	case "rosé", "orange":
		return chart.Middle
	}
	return chart.Dark
}
