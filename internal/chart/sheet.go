package chart

// Sheet is a finished paper chromatogram, drawn: lanes of spots over the line
// they started from, for learning to read one. Rf is the distance a spot ran as a
// share of the distance the solvent ran.
type Sheet struct {
	ID, Title, Desc string
	Acids           []SheetAcid // bands where each acid lies, named at the side
	Lanes           []SheetLane
}

// SheetAcid is where an acid's spot lies on a sheet.
type SheetAcid struct {
	Name     string
	Low, Top float64 // Rf from, to
}

// SheetLane is what one sample left.
type SheetLane struct {
	Name  string
	Spots []Spot
}

// Spot is one stain; Strength 1 is strong, 0.3 faint.
type Spot struct {
	Acid     string
	Strength float64
}

// Name is the title.
func (c Sheet) Name() string { return c.Title }

const (
	sheetTop    = 26.0
	sheetHeight = 250.0
	sheetBottom = 44.0
)

// SVG is the drawing.
func (c Sheet) SVG(size Size) string {
	width, side, font := 720.0, 150.0, 13.0
	if size == Narrow {
		width, side, font = 320, 104, 11
	}
	height := sheetTop + sheetHeight + sheetBottom
	s := begin(c.ID, size, width, height, c.Title, c.Desc, "sheet")
	y := func(rf float64) float64 { return sheetTop + sheetHeight*(1-rf) }
	for _, a := range c.Acids {
		s.el("rect", "x", num(side), "y", num(y(a.Top)), "width", num(width-side-8), "height", num(max(2, y(a.Low)-y(a.Top))), "fill-opacity", "0.07")
		s.text(side-8, (y(a.Low)+y(a.Top))/2+font/3, "end", a.Name, "font-size", num(font))
	}
	for _, line := range []struct {
		rf   float64
		name string
	}{{1, "solvent front"}, {0, "start"}} {
		s.el("line", "x1", num(side), "x2", num(width-8), "y1", num(y(line.rf)), "y2", num(y(line.rf)), "stroke", "currentColor", "stroke-dasharray", "3 4", "stroke-opacity", "0.6")
		s.text(side-8, y(line.rf)+font/3, "end", line.name, "font-size", num(font), "font-style", "italic")
	}
	step := (width - side - 8) / float64(max(1, len(c.Lanes)))
	for i, lane := range c.Lanes {
		x := side + step*(float64(i)+0.5)
		s.text(x, sheetTop+sheetHeight+22, "middle", lane.Name, "font-size", num(font))
		for _, spot := range lane.Spots {
			for _, a := range c.Acids {
				if a.Name == spot.Acid {
					s.el("ellipse", "cx", num(x), "cy", num((y(a.Low)+y(a.Top))/2), "rx", num(step*0.2), "ry", num(max(5, (y(a.Low)-y(a.Top))*0.55)), "fill-opacity", num(0.12+0.75*spot.Strength))
				}
			}
		}
	}
	return s.end()
}

// Table lists where each acid runs, and what each lane shows.
func (c Sheet) Table() Table {
	t := Table{Caption: c.Title, Head: []string{"lane", "acid", "spot"}}
	for _, lane := range c.Lanes {
		for _, spot := range lane.Spots {
			words := "strong"
			if spot.Strength < 0.5 {
				words = "faint"
			}
			t.Rows = append(t.Rows, []string{lane.Name, spot.Acid, words})
		}
	}
	return t
}
