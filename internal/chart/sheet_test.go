package chart

import (
	"encoding/xml"
	"strings"
	"testing"
)

func TestSheetDrawsEverySpotAndSaysIt(t *testing.T) {
	c := Sheet{ID: "s", Title: "A sheet", Desc: "Two lanes.",
		Acids: []SheetAcid{{"malic", 0.51, 0.56}, {"lactic <&>", 0.69, 0.78}},
		Lanes: []SheetLane{{"day 0", []Spot{{"malic", 1}}}, {"later", []Spot{{"malic", 0.2}, {"lactic <&>", 1}}}}}
	for _, size := range []Size{Narrow, Wide} {
		svg := c.SVG(size)
		if err := xml.Unmarshal([]byte(svg), new(any)); err != nil && !strings.Contains(err.Error(), "unknown type") {
			t.Errorf("not XML: %v\n%s", err, svg)
		}
		if n := strings.Count(svg, "<ellipse"); n != 3 {
			t.Errorf("%d spots drawn, want 3", n)
		}
		if !strings.Contains(svg, `role="img"`) || strings.Contains(svg, "lactic <&>") {
			t.Errorf("no role, or a name that is not escaped")
		}
	}
	if rows := c.Table().Rows; len(rows) != 3 || rows[1][2] != "faint" {
		t.Errorf("table %v", rows)
	}
}
