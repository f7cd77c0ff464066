package serve

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"elevage/internal/blend"
	"elevage/internal/compose"
	"elevage/internal/desk"
	"elevage/internal/serve/ui"
	"elevage/science/quantity"
)

// compared sets blends side by side, property by property.
func compared(v *desk.View, wish *blend.Wish, blends []blend.Blend, sources []blend.Source) *comparedView {
	c := &comparedView{}
	for i := range blends {
		c.Columns = append(c.Columns, blendColumn{Letter: letters[i : i+1], Why: blends[i].Why, Recipe: blends[i].Recipe(), Taste: i < 3})
	}
	row := func(head, name string, cell func(b *blend.Blend) comparedCell) {
		r := comparedRow{Head: head, Name: name}
		for i := range blends {
			r.Cells = append(r.Cells, cell(&blends[i]))
		}
		if slices.ContainsFunc(r.Cells, func(c comparedCell) bool { return c.Text != "" }) {
			c.Rows = append(c.Rows, r)
		}
	}
	row("Poured together", "in all", func(b *blend.Blend) comparedCell { return comparedCell{Text: litresText(b.Volume)} })
	for i := range sources {
		vessel := sources[i].Vessel
		row("", vesselTitle(v, vessel), func(b *blend.Blend) comparedCell { return partCell(b, vessel) })
	}
	row("", "left part full", func(b *blend.Blend) comparedCell { return partFullCell(b) })
	if len(wish.Into) > 0 {
		row("", "fills", func(b *blend.Blend) comparedCell { return filledCell(b) })
	}
	c.figures(blends, row)
	row("", "free SO2", freeCell)
	row("Where it comes from", "variety", func(b *blend.Blend) comparedCell { return sharesCell(b, blend.ByVariety) })
	row("", "place", func(b *blend.Blend) comparedCell { return sharesCell(b, blend.ByPlace) })
	row("", "vintage", func(b *blend.Blend) comparedCell { return sharesCell(b, blend.ByVintage) })
	head := "Against your wishes"
	for i, t := range wish.Targets {
		row(head, t.String()+" aimed at", func(b *blend.Blend) comparedCell { return missCell(&b.Misses[i]) })
		head = ""
	}
	for _, l := range wish.Limits {
		row(head, l.String(), func(b *blend.Blend) comparedCell { return limitCell(b, l) })
		head = ""
	}
	c.Notes = []string{"± is one standard deviation. Believed: by all that was read of a wine’s conversion, spots too. Reckoned: from readings, by what mixes by volume, the pH solved for the blend. Assumed: more than half of it rests on what wines usually hold, so read it first.",
		"Taste, colour and stability do not mix by volume: taste the blend, let it stand, and test it again before bottling."}
	return c
}

func litresText(v quantity.Volume) string { return fmt.Sprintf("%.2f\u00a0L", v.Litres()) }

func (c *comparedView) figures(blends []blend.Blend, row func(head, name string, cell func(b *blend.Blend) comparedCell)) {
	head := "What it comes to"
	for k, f := range blends[0].Figures() {
		name := strings.ToLower(f.Name[:1]) + f.Name[1:]
		if f.Key == "ph" || f.Key == "total_so2_mg_l" {
			name = f.Name
		}
		name = strings.Replace(name, "Total", "total", 1)
		row(head, name, func(b *blend.Blend) comparedCell { return figureCell(b.Figures()[k]) })
		head = ""
	}
}

// howWords are how a figure is known, as a page writes it.
var howWords = map[compose.How]string{compose.Read: "read", compose.Believed: "believed", compose.Reckon: "reckoned", compose.Assumed: "assumed"}

func figureCell(f blend.Figure) comparedCell {
	if f.Trouble != "" {
		return comparedCell{Text: "can’t tell", Note: f.Trouble, Weak: true}
	}
	unit := f.Unit
	if unit == "" {
		unit = "pH"
	}
	return comparedCell{Text: ui.Spread(f.Value, f.SD, unit), Note: howWords[f.How], Weak: f.How == compose.Assumed}
}

func partCell(b *blend.Blend, vessel string) comparedCell {
	for i := range b.Parts {
		p := &b.Parts[i]
		if p.Source.Vessel != vessel {
			continue
		}
		share := fmt.Sprintf("%.0f\u00a0%%", 100*float64(p.Volume/b.Volume))
		if p.All {
			return comparedCell{Text: litresText(p.Volume), Note: share + ", all of it"}
		}
		return comparedCell{Text: litresText(p.Volume), Note: share + ", leaves " + litresText(p.Left())}
	}
	return comparedCell{}
}

func partFullCell(b *blend.Blend) comparedCell {
	var names []string
	for i := range b.Parts {
		if p := &b.Parts[i]; !p.All {
			names = append(names, p.Source.Vessel)
		}
	}
	slices.Sort(names)
	if len(names) == 0 {
		return comparedCell{Text: "none"}
	}
	return comparedCell{Text: list(names), Note: "air over what is left", Bad: true}
}

func filledCell(b *blend.Blend) comparedCell {
	if len(b.Filled) == 0 {
		return comparedCell{Text: "none", Bad: true}
	}
	sizes := make([]string, len(b.Filled))
	for i, f := range b.Filled {
		sizes[i] = ui.Plain(f.Litres(), "L")
	}
	cell := comparedCell{Text: list(sizes)}
	if b.Over.Litres() >= 0.01 {
		cell.Note = ui.Plain(b.Over.Litres(), "L") + " over, to top up with"
	}
	return cell
}

func freeCell(b *blend.Blend) comparedCell {
	if b.Free == nil {
		return comparedCell{Text: "can’t tell", Note: "not read in every part since anything came in", Weak: true}
	}
	low, high := b.Free[0].MgPerL(), b.Free[1].MgPerL()
	if len(b.Parts) == 1 {
		return comparedCell{Text: ui.Plain(low, "mg/L"), Note: "read"}
	}
	return comparedCell{Text: ui.Between(low, high, "mg/L"), Note: "between those of its parts"}
}

func sharesCell(b *blend.Blend, kind string) comparedCell {
	var words []string
	rest := 1.0
	for _, n := range b.Shares(kind) {
		words = append(words, fmt.Sprintf("%s %.0f\u00a0%%", n.Name, 100*n.Share))
		rest -= n.Share
	}
	if len(words) == 0 {
		return comparedCell{}
	}
	if rest > 0.005 {
		words = append(words, fmt.Sprintf("not written down %.0f\u00a0%%", 100*rest))
	}
	return comparedCell{Text: strings.Join(words, ", ")}
}

func missCell(m *blend.Miss) comparedCell {
	unit := m.Unit()
	if unit == "" {
		unit = "pH"
	}
	off, way := m.Off(), "above"
	if off < 0 {
		way = "below"
	}
	by := ui.Plain(math.Abs(off), unit)
	if !m.Met() {
		return comparedCell{Text: by + " " + way, Bad: true}
	}
	cell := comparedCell{Text: "met"}
	if by != ui.Plain(0, unit) {
		cell.Note = by + " " + way + " hardly matters"
	}
	return cell
}

func limitCell(b *blend.Blend, l blend.Limit) comparedCell {
	is := func(o blend.Limit) bool { return o == l }
	switch {
	case slices.ContainsFunc(b.Broken, is):
		return comparedCell{Text: "broken", Bad: true}
	case slices.ContainsFunc(b.Close, is):
		return comparedCell{Text: "barely kept", Note: "by less than its ±: read the wines again", Bad: true}
	}
	return comparedCell{Text: "kept"}
}
