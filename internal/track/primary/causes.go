package primary

import (
	"math"
	"sort"
	"time"

	"elevage/science/cited"
	"elevage/science/primary"
	"elevage/science/quantity"
)

// A Cause is something that may hold a ferment back, with what its absence would
// have changed: the same ferment is run again from the start without it.
type Cause struct {
	Name   string        `json:"name"`
	Sticks float64       `json:"sticks"` // probability that it would not come dry without this cause
	Spared float64       `json:"spared"` // by how much that is less than as it is
	Days   quantity.Days `json:"days"`   // by how much sooner it would be dry, on average; not coming dry counts as the horizon's end
	Words  string        `json:"words"`
	Act    string        `json:"act"`
	Source cited.Source  `json:"source"`
}

// A Way is something that can be done now, with what comes of it.
type Way struct {
	Name   string       `json:"name"`
	Sticks float64      `json:"sticks"`
	Spared float64      `json:"spared"`
	Dry    DayInterval  `json:"dry"`
	Words  string       `json:"words"`
	Source cited.Source `json:"source"`
}

// A Diagnosis ranks what holds a ferment back and what can be done.
type Diagnosis struct {
	Sticks float64 `json:"sticks"` // as it is run now
	Causes []Cause `json:"causes"` // the strongest first
	Ways   []Way   `json:"ways"`
	Caveat string  `json:"caveat"`
}

// change is a counterfactual: another temperature history, and other terms for a
// particle.
type change struct {
	name, words, act string
	source           cited.Source
	warmth           func(h float64, t quantity.Temperature) quantity.Temperature
	lot              func(*primary.Draw, *particle)
	noStall          bool
}

// judged is how many particles a counterfactual is run for.
const judged = 96

// Diagnose fits the ferment and asks of each suspected cause what its absence would
// have changed (a counterfactual in the fitted model, particle by particle, with
// everything else kept), and of each remedy what it would change from now on. What
// the law does not know (toxins, sterols, killer yeast) comes as one cause.
func Diagnose(given Input) (Diagnosis, error) {
	in, err := given.prepared()
	if err != nil {
		return Diagnosis{}, err
	}
	in.NoForecast = false
	ft := in.fit()
	ft.ahead(in)
	base := ft.thinned(in)
	d := Diagnosis{Sticks: share(base), Caveat: "Ranked within the model and the readings given. Confirm a stop first: degas, strain, second float, sugar test. Everything at once teaches nothing: change one thing."}
	for _, c := range suspects(in) {
		dry := ft.rerun(in, c)
		cause := Cause{Name: c.name, Sticks: share(dry), Words: c.words, Act: c.act, Source: c.source}
		cause.Spared = d.Sticks - cause.Sticks
		end := ft.runs.now + 24*float64(in.Horizon)
		for i := range dry {
			cause.Days += quantity.Days((math.Min(base[i], end) - math.Min(dry[i], end)) / 24 / float64(len(dry)))
		}
		if cause.Days > 0.3 {
			d.Causes = append(d.Causes, cause)
		}
	}
	sort.SliceStable(d.Causes, func(a, b int) bool { return d.Causes[a].Days > d.Causes[b].Days })
	for _, c := range remedies(in, ft) {
		dry := ft.rerun(in, c)
		w := Way{Name: c.name, Sticks: share(dry), Spared: d.Sticks - share(dry), Words: c.words, Source: c.source}
		w.Dry = quantiles(in, dry)
		d.Ways = append(d.Ways, w)
	}
	sort.SliceStable(d.Ways, func(a, b int) bool { return d.Ways[a].Spared > d.Ways[b].Spared })
	return d, nil
}

// thin picks the particles that are judged, evenly.
func (ft *fitted) thin() []*particle {
	var out []*particle
	for i := 0; i < len(ft.particles); i += max(1, len(ft.particles)/judged) {
		out = append(out, &ft.particles[i])
	}
	return out
}

func (ft *fitted) thinned(in Input) []float64 {
	var out []float64
	for _, p := range ft.thin() {
		out = append(out, p.path.When(in.DryAt.GPerL()))
	}
	return out
}

func share(dry []float64) float64 {
	n := 0
	for _, h := range dry {
		if math.IsInf(h, 1) {
			n++
		}
	}
	return float64(n) / float64(len(dry))
}

func quantiles(in Input, dry []float64) DayInterval {
	s := append([]float64(nil), dry...)
	sort.Float64s(s)
	at := func(q float64) *time.Time {
		h := s[min(len(s)-1, int(q*float64(len(s))))]
		if math.IsInf(h, 1) {
			return nil
		}
		t := in.Pitched.Add(time.Duration(h * float64(time.Hour))).Truncate(time.Minute)
		return &t
	}
	return DayInterval{at(0.05), at(0.5), at(0.95)}
}

// rerun gives the hours to dryness of each judged particle under a change.
func (ft *fitted) rerun(in Input, c change) []float64 {
	warm := in.warmth()
	if c.warmth != nil {
		as := warm
		warm = func(h float64) quantity.Temperature { return c.warmth(h, as(h)) }
	}
	grid := primary.Coleman.NewGrid(warm, ft.runs.now+24*float64(in.Horizon)+12)
	to := min(grid.Nodes-2, int((ft.runs.now+24*float64(in.Horizon))/grid.Step))
	var out []float64
	var path primary.Path
	for _, p := range ft.thin() {
		l := p.m.unfold(p.z, p.more, p.m.grid.Nodes-1)
		d := l.draw
		d.Stall, d.Fade = p.lot.draw.Stall, p.lot.draw.Fade
		if grid.Step != p.m.grid.Step { // the wandering is laid out on the old steps
			w := make([]float64, grid.Nodes)
			for i := range w {
				w[i] = d.Wander[min(len(d.Wander)-1, int(float64(i)*grid.Step/p.m.grid.Step))]
			}
			d.Wander = w
		}
		if c.noStall && p.m.stalled {
			d.Stall = math.Inf(1)
		}
		if c.lot != nil {
			c.lot(&d, p)
		}
		if d.From > 0 {
			d.From = int(math.Ceil(float64(d.From)*p.m.grid.Step/grid.Step - 1e-9))
			grid.Lead(&path, &p.path, d.From)
		}
		grid.Run(&d, &path, to)
		out = append(out, path.When(in.DryAt.GPerL()))
	}
	return out
}

// suspects are the causes that the law can weigh.
func suspects(in Input) []change {
	bb := cited.Source{Text: "shapes of problem ferments point to different stresses (Bisson & Butzke 2000); weights by the fitted model", Mark: cited.Proposal}
	return []change{
		{name: "heat", words: "the liquid was too warm: cells were lost", act: "cool to 20 to 24 °C; a fresh, strong culture if many cells are dead", source: bb,
			warmth: func(_ float64, t quantity.Temperature) quantity.Temperature { return min(t, 27) }},
		{name: "cold", words: "it is or was too cold", act: "warm to 20 to 24 °C over a day, stir the lees up", source: bb,
			warmth: func(_ float64, t quantity.Temperature) quantity.Temperature { return max(t, 20) }},
		{name: "little nitrogen", words: "the yeast had little nitrogen and grew few cells", act: "nitrogen while more than a third of the sugar remains; over 12 % vol it may not help (UC Davis)", source: bb,
			lot: func(d *primary.Draw, _ *particle) { d.Nitrogen = max(d.Nitrogen, 0.25) }},
		{name: "slow start", words: "it set off late: little living yeast, a cold or sulfited must", act: "a strong rehydrated culture", source: bb,
			lot: func(d *primary.Draw, _ *particle) { d.Factors.Lag, d.Yeast = min(d.Factors.Lag, 12), max(d.Yeast, 0.2) }},
		{name: "much alcohol", words: "the must is so sweet that its alcohol holds the yeast back", act: "a tolerant yeast, 20 to 22 °C, patience", source: bb,
			lot: func(d *primary.Draw, _ *particle) { d.Sugar = min(d.Sugar, 220) }},
		{name: "something else", words: "it stopped for a reason that temperature, nitrogen, sugar and yeast do not explain", act: "smell, volatile acidity, microscope; air early, yeast hulls, rack off old lees, then a rescue culture", source: bb, noStall: true},
	}
}

// remedies are what may be done from now on.
func remedies(in Input, ft *fitted) []change {
	now := ft.runs.now
	cp := cited.Source{Text: "order of action for slow ferments (UC Davis, AWRI); effect by the fitted model", Mark: cited.Proposal}
	out := []change{
		{name: "warm to 22 °C", words: "warmed to 22 °C from today", source: cp, warmth: func(h float64, t quantity.Temperature) quantity.Temperature {
			if h > now {
				return max(t, 22)
			}
			return t
		}},
		{name: "cool to 24 °C", words: "cooled to 24 °C from today", source: cp, warmth: func(h float64, t quantity.Temperature) quantity.Temperature {
			if h > now {
				return min(t, 24)
			}
			return t
		}},
		{name: "rescue culture", words: "a rescue culture worth 0.3 g/L of active yeast goes in today", source: cp, noStall: true,
			lot: func(d *primary.Draw, p *particle) {
				d.From = p.m.last
				d.Stall = math.Inf(1)
				d.State = primary.State{Cells: p.path.Active[p.m.last] + 0.3, Active: p.path.Active[p.m.last] + 0.3, Sugar: p.path.Sugar[p.m.last]}
				d.Nitrogen, d.Added = d.Yeast*0, nil // it grows no more, it works
			}},
	}
	gone := ft.each(func(p *particle) float64 { return 1 - p.sugarNow()/p.lot.sugar })
	if gone[len(gone)/2] < 2./3 {
		out = append(out, change{name: "50 mg/L nitrogen", words: "50 mg/L assimilable nitrogen (240 mg/L DAP) today", source: cp,
			lot: func(d *primary.Draw, p *particle) {
				d.Added = append(append([]primary.Nitrogen(nil), d.Added...), primary.Nitrogen{Hours: now, Amount: 0.050})
			}})
	}
	return out
}
