package chart

import (
	"cmp"
	"math"
	"slices"
	"time"
)

// riverPlan is a River laid out for one size.
type riverPlan struct {
	River
	w       float64
	t       timescale
	perL    float64 // user units a litre
	dense   bool    // too many rows to name vessels
	stages  []*stretch
	lanes   map[string]*lane
	flows   []crossing
	y0, y1  float64
	nowX    float64
	hasName map[string]Reach
}

// A stretch is a reach in its place: its rows lie under its heading.
type stretch struct {
	Reach
	rows   [][]*lane // each in time
	begin  time.Time
	label  float64 // baseline of its name
	x0, x1 float64 // from where to where it is drawn
}

// lane is where a band lies.
type lane struct {
	band       Band
	of         *stretch
	begin, end time.Time // end is zero while it holds wine
	mid        float64
	label      float64 // baseline of its own name
	edges      []edge
}

// edge is how thick the band is from a place on.
type edge struct{ x, thick float64 }

// crossing is a flow on its way from one band to another.
type crossing struct {
	Flow
	from, to       *lane
	width          float64
	x0, y0, x1, y1 float64 // its middle where it leaves and arrives
}

const (
	headRoom  = 18.0 // of a reach's name
	nameRoom  = 13.5 // of a vessel's name
	rowGap    = 5.0
	reachGap  = 11.0
	manyRows  = 24
	thinnest  = 2.0
	thinnestF = 0.8
)

func (c River) plan(size Size) *riverPlan {
	p := &riverPlan{River: c, w: size.width(), lanes: map[string]*lane{}, hasName: map[string]Reach{}, y0: 22}
	from, to := c.span()
	if wide := to.Sub(from).Hours() / 24 / 365.25 * c.PerYear; wide > p.w {
		p.w = math.Min(wide, 30_000)
	}
	p.t = timescale{from: from, to: to, a: 4, b: p.w - 4}
	p.nowX = p.t.b
	if !c.Now.IsZero() {
		p.nowX = p.t.at(c.Now)
	}
	p.gather()
	rows := p.settle()
	most := 26.0
	if size == Wide {
		most = 42
	}
	if p.dense = rows > manyRows; p.dense {
		most = 18
	}
	p.stack(most)
	p.cross()
	for _, l := range p.lanes {
		p.follow(l)
	}
	return p
}

// gather sorts the bands into stretches, and both by their beginning.
func (p *riverPlan) gather() {
	for _, r := range p.Reaches {
		p.hasName[r.ID] = r
	}
	by := map[string]*stretch{}
	for _, b := range p.Bands {
		b.Points = slices.DeleteFunc(slices.Clone(b.Points), func(q RiverPoint) bool { return !(q.Litres >= 0) || math.IsInf(q.Litres, 1) })
		if len(b.Points) == 0 || p.lanes[b.ID] != nil {
			continue
		}
		s := by[b.reach()]
		if s == nil {
			s = &stretch{Reach: Reach{ID: b.ID, Name: b.Name}, begin: b.Points[0].At}
			if r, ok := p.hasName[b.Reach]; ok {
				s.Reach = r
			}
			by[b.reach()] = s
			p.stages = append(p.stages, s)
		}
		l := &lane{band: b, of: s, begin: b.Points[0].At}
		if last := b.Points[len(b.Points)-1]; !(last.Litres > 0) {
			l.end = last.At
		}
		if l.begin.Before(s.begin) {
			s.begin = l.begin
		}
		p.lanes[b.ID] = l
	}
	slices.SortStableFunc(p.stages, func(a, b *stretch) int { return a.begin.Compare(b.begin) })
}

// settle gives each band a row of its stretch, and counts the rows: where its wine
// came from if that is over, else one that is free, else a new one.
func (p *riverPlan) settle() (rows int) {
	parent, most := map[string]*lane{}, map[string]float64{}
	for _, f := range p.Flows {
		to, from := p.lanes[f.To], p.lanes[f.From]
		if to != nil && from != nil && f.At.Equal(to.begin) && f.Litres > most[f.To] {
			parent[f.To], most[f.To] = from, f.Litres
		}
	}
	var all []*lane
	for _, b := range p.Bands {
		if l := p.lanes[b.ID]; l != nil && !slices.Contains(all, l) {
			all = append(all, l)
		}
	}
	slices.SortStableFunc(all, func(a, b *lane) int {
		return cmp.Or(a.begin.Compare(b.begin), cmp.Compare(b.band.Points[0].Litres, a.band.Points[0].Litres))
	})
	place := map[*lane]int{}
	for _, l := range all {
		s := l.of
		free := func(i int) bool {
			last := s.rows[i][len(s.rows[i])-1]
			return !last.end.IsZero() && !last.end.After(l.begin)
		}
		row := -1
		from := parent[l.band.ID]
		if i, placed := place[from]; placed && from.of == s && free(i) {
			row = i
		}
		for i := 0; row < 0 && i < len(s.rows); i++ {
			if free(i) {
				row = i
			}
		}
		if row < 0 {
			row, rows = len(s.rows), rows+1
			s.rows = append(s.rows, nil)
		}
		place[l], s.rows[row] = row, append(s.rows[row], l)
	}
	return rows
}

// stack gives each row its height, from the top.
func (p *riverPlan) stack(most float64) {
	big := 0.0
	for _, l := range p.lanes {
		big = math.Max(big, l.band.most())
	}
	p.perL = 1
	if big > 0 && !math.IsInf(big, 1) {
		p.perL = most / big
	}
	y := p.y0
	for _, s := range p.stages {
		s.label = y + 13
		y += headRoom
		for i, row := range s.rows {
			thick := 0.0
			for _, l := range row {
				thick = math.Max(thick, p.thick(l.band.most()))
			}
			if named := !p.dense && s.names(); named && (i > 0 || len(row) > 1) {
				y += nameRoom
			}
			for _, l := range row {
				l.mid, l.label = y+thick/2, y-3
			}
			y += thick + rowGap
		}
		y += reachGap - rowGap
	}
	p.y1 = y + 4
}

// names says whether the bands of a stretch have names of their own.
func (s *stretch) names() bool {
	return len(s.rows) > 1 || len(s.rows[0]) > 1 || s.rows[0][0].band.Name != s.Name
}

func (p *riverPlan) thick(litres float64) float64 {
	if !(litres > 0) || math.IsInf(litres, 1) {
		return 0
	}
	return math.Max(litres*p.perL, thinnest)
}

// bend is how far to each side of its moment a flow needs to cross.
func bend(from, to *lane) float64 { return clamp(math.Abs(from.mid-to.mid)*0.3, 0, 16) }

// cross lays the flows: what leaves a band at one moment leaves side by side in the
// order of where it goes, around what stays; so does what arrives.
func (p *riverPlan) cross() {
	leaving, arriving := map[sluice][]*crossing{}, map[sluice][]*crossing{}
	p.flows = make([]crossing, 0, len(p.Flows)) // the maps point into it
	for _, f := range p.Flows {
		from, to := p.lanes[f.From], p.lanes[f.To]
		if from == nil || to == nil || from == to || !(f.Litres > 0) || math.IsInf(f.Litres, 1) || !p.t.holds(f.At) {
			continue
		}
		x, half := p.t.at(f.At), bend(from, to)
		p.flows = append(p.flows, crossing{Flow: f, from: from, to: to, width: math.Max(f.Litres*p.perL, thinnestF), x0: x - half, x1: math.Min(x+half, p.t.b)})
		c := &p.flows[len(p.flows)-1]
		if !f.At.After(p.Now) {
			c.x1 = math.Min(c.x1, p.nowX)
		}
		gone, come := sluice{from, f.At.UnixMilli()}, sluice{to, f.At.UnixMilli()}
		leaving[gone], arriving[come] = append(leaving[gone], c), append(arriving[come], c)
	}
	for s, fs := range leaving {
		x := fs[0].x0 // they leave at one place
		for _, f := range fs {
			x = math.Min(x, f.x0)
		}
		for _, f := range fs {
			f.x0 = math.Max(x, p.t.at(s.lane.begin))
		}
		p.abreast(s.lane, p.thick(s.lane.band.litres(time.UnixMilli(s.at))), fs, func(c *crossing) *lane { return c.to }, func(c *crossing, y float64) { c.y0 = y })
	}
	for s, fs := range arriving {
		before := 0.0
		if !s.lane.begin.Equal(fs[0].At) {
			before = p.thick(s.lane.band.litres(fs[0].At.Add(-time.Millisecond)))
		}
		p.abreast(s.lane, before, fs, func(c *crossing) *lane { return c.from }, func(c *crossing, y float64) { c.y1 = y })
	}
}

// sluice is a band at a moment at which wine leaves it, or arrives.
type sluice struct {
	*lane
	at int64
}

// abreast sets flows side by side around what stays, by the height of their other end.
func (p *riverPlan) abreast(l *lane, stays float64, fs []*crossing, other func(*crossing) *lane, set func(*crossing, float64)) {
	slices.SortStableFunc(fs, func(a, b *crossing) int { return cmp.Compare(other(a).mid, other(b).mid) })
	total := stays
	for _, f := range fs {
		total += f.width
	}
	y := l.mid - total/2
	stayed := false
	for _, f := range fs {
		if !stayed && other(f).mid >= l.mid {
			stayed = true
			y += stays
		}
		set(f, y+f.width/2)
		y += f.width
	}
}

// follow works out how thick a band is from where to where.
func (p *riverPlan) follow(l *lane) {
	begin, end := p.t.at(l.begin), p.t.b
	if !l.end.IsZero() {
		end = p.t.at(l.end)
	}
	first := true
	for i := range p.flows {
		f := &p.flows[i]
		switch {
		case f.to == l && f.At.Equal(l.begin) && (first || f.x1 > begin):
			begin, first = f.x1, false
		case f.from == l && !l.end.IsZero() && f.At.Equal(l.end):
			end = math.Min(end, f.x0)
		}
	}
	if l.begin.After(p.t.to) || !l.end.IsZero() && l.end.Before(p.t.from) {
		return
	}
	for i, q := range l.band.Points {
		x := clamp(p.t.at(q.At), begin, math.Max(begin, end))
		if i == 0 {
			x = begin
		}
		l.edges = append(l.edges, edge{x, p.thick(q.Litres)})
	}
	l.edges = append(l.edges, edge{math.Max(begin, end), 0})
	s := l.of
	if s.x1 == 0 || begin < s.x0 {
		s.x0 = begin
	}
	s.x1 = math.Max(s.x1, end)
}

// at is how thick the band is at a place.
func (l *lane) at(x float64) float64 {
	v := 0.0
	for _, e := range l.edges {
		if e.x > x {
			break
		}
		v = e.thick
	}
	return v
}

// span settles the dates shown.
func (c River) span() (from, to time.Time) {
	from, to = c.From, c.To
	for _, band := range c.Bands {
		for _, q := range band.Points {
			if c.From.IsZero() && (from.IsZero() || q.At.Before(from)) {
				from = q.At
			}
			if c.To.IsZero() && q.At.After(to) {
				to = q.At
			}
		}
		for _, m := range band.Marks {
			if c.To.IsZero() && m.At.After(to) {
				to = m.At
			}
		}
	}
	if from.IsZero() {
		from = c.Now
	}
	if c.To.IsZero() && !c.Now.IsZero() && !to.After(c.Now) { // always some way ahead
		to = c.Now.Add(min(c.Now.Sub(from)/5, 60*24*time.Hour))
	}
	if !to.After(from) {
		to = from.AddDate(0, 0, 1)
	}
	return from, to
}
