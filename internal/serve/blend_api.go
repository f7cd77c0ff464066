package serve

import (
	"context"
	"fmt"
	"strings"

	"elevage/internal/blend"
	"elevage/internal/desk"
)

// BlendsJSON are blends for programs: those that were found, or those that were asked.
type BlendsJSON struct {
	Blends   []BlendJSON   `json:"blends" doc:"none is better than another in every wish; the first misses its aims least"`
	LeftOut  []LeftOutJSON `json:"left_out"`
	Conflict *NoBlendJSON  `json:"conflict,omitempty" doc:"why there is none"`
}

// BlendJSON is one blend.
type BlendJSON struct {
	Recipe   string            `json:"recipe" example:"c1=12.25 c2=20" doc:"vessels and litres, as pour takes them"`
	Why      string            `json:"why,omitempty" doc:"what it is best at"`
	VolumeL  float64           `json:"volume_l"`
	Parts    []BlendPartJSON   `json:"parts"`
	Figures  []BlendFigureJSON `json:"figures"`
	FreeLow  *float64          `json:"free_so2_mg_l_low,omitempty" doc:"free SO2 lies between the least and the greatest of the parts, if each was read"`
	FreeHigh *float64          `json:"free_so2_mg_l_high,omitempty"`
	Aims     []BlendAimJSON    `json:"aims"`
	Barely   []string          `json:"barely_kept" doc:"limits kept by less than the ± of what is known"`
	Broken   []string          `json:"broken" doc:"limits that volumes of one's own do not keep"`
	PartFull []string          `json:"part_full" doc:"vessels that it leaves part full"`
	FilledL  []float64         `json:"filled_l,omitempty" doc:"sizes of the vessels that it fills"`
	OverL    float64           `json:"over_l,omitempty" doc:"what is left over then"`
}

// BlendPartJSON is what a blend takes from one vessel.
type BlendPartJSON struct {
	Vessel   string  `json:"vessel"`
	Lot      string  `json:"lot"`
	VolumeL  float64 `json:"volume_l"`
	SharePct float64 `json:"share_pct"`
	All      bool    `json:"all" doc:"the vessel is emptied"`
	LeftL    float64 `json:"left_l"`
	Over     string  `json:"conversion_over,omitempty" doc:"by which belief its malolactic conversion is over; empty where that was declared, or does not matter"`
}

// BlendFigureJSON is one property of a blend.
type BlendFigureJSON struct {
	What    string  `json:"what" doc:"with its unit, as in wants"`
	Value   float64 `json:"value"`
	PM      float64 `json:"pm" doc:"one standard deviation"`
	Known   string  `json:"known" enum:"read,believed,reckoned,assumed" doc:"believed: by all that was read of its conversion; assumed: more than half rests on what wines usually hold"`
	Trouble string  `json:"trouble,omitempty" doc:"why there is no value"`
}

// BlendAimJSON is how far a blend is from something aimed at.
type BlendAimJSON struct {
	Aim string  `json:"aim"`
	Off float64 `json:"off" doc:"above it is positive, in the aim's unit"`
	Met bool    `json:"met" doc:"within what hardly matters"`
}

// LeftOutJSON is a wine that was not used.
type LeftOutJSON struct {
	Vessel string `json:"vessel"`
	Why    string `json:"why"`
}

// NoBlendJSON says why there is no blend.
type NoBlendJSON struct {
	Says   string           `json:"says"`
	MostL  float64          `json:"most_l,omitempty" doc:"the most that keeps all limits, where only the volume stands in the way"`
	Limits []LimitShortJSON `json:"limits" doc:"a smallest set that cannot be kept together"`
}

// LimitShortJSON is how far a limit is out of reach while the others are kept.
type LimitShortJSON struct {
	Limit string `json:"limit"`
	Says  string `json:"says"`
}

func blendJSON(b *blend.Blend) BlendJSON {
	j := BlendJSON{Recipe: b.Recipe(), Why: b.Why, VolumeL: b.Volume.Litres(), OverL: b.Over.Litres(), Parts: []BlendPartJSON{}, Figures: []BlendFigureJSON{}, Aims: []BlendAimJSON{}, Barely: []string{}, Broken: []string{}, PartFull: []string{}}
	for i := range b.Parts {
		p := &b.Parts[i]
		j.Parts = append(j.Parts, BlendPartJSON{Vessel: p.Source.Vessel, Lot: p.Source.Wine.Lot, VolumeL: p.Volume.Litres(), SharePct: 100 * float64(p.Volume/b.Volume), All: p.All, LeftL: p.Left().Litres(), Over: p.Source.Converted})
		if !p.All {
			j.PartFull = append(j.PartFull, p.Source.Vessel)
		}
	}
	for _, f := range b.Figures() {
		j.Figures = append(j.Figures, BlendFigureJSON{What: f.Key, Value: f.Value, PM: f.SD, Known: f.How.String(), Trouble: f.Trouble})
	}
	if b.Free != nil {
		low, high := b.Free[0].MgPerL(), b.Free[1].MgPerL()
		j.FreeLow, j.FreeHigh = &low, &high
	}
	for i := range b.Misses {
		m := &b.Misses[i]
		j.Aims = append(j.Aims, BlendAimJSON{Aim: m.Target.String(), Off: m.Off(), Met: m.Met()})
	}
	for _, l := range b.Close {
		j.Barely = append(j.Barely, l.String())
	}
	for _, l := range b.Broken {
		j.Broken = append(j.Broken, l.String())
	}
	for _, v := range b.Filled {
		j.FilledL = append(j.FilledL, v.Litres())
	}
	return j
}

// Blends answers an order from what is on hand: the blends that were poured, or, if
// none were, those that Find finds. The error is fault.Invalid and names fields.
func Blends(v *desk.View, order blend.Order, pour []string) (BlendsJSON, error) {
	out := BlendsJSON{Blends: []BlendJSON{}, LeftOut: []LeftOutJSON{}}
	wish, err := order.Wish(v.State, v.Conversions(), v.Now)
	if err != nil {
		return out, err
	}
	if len(pour) > 0 {
		for _, recipe := range pour {
			parts, err := blend.ReadRecipe(recipe)
			if err != nil {
				return out, err
			}
			b, err := wish.Pour(parts)
			if err != nil {
				return out, err
			}
			out.Blends = append(out.Blends, blendJSON(&b))
		}
		return out, nil
	}
	a, err := blend.Find(wish)
	if err != nil {
		return out, err
	}
	for i := range a.Blends {
		out.Blends = append(out.Blends, blendJSON(&a.Blends[i]))
	}
	for _, x := range a.Excluded {
		out.LeftOut = append(out.LeftOut, LeftOutJSON{x.Vessel, x.Why})
	}
	if c := a.Conflict; c != nil {
		out.Conflict = &NoBlendJSON{Says: c.Says, MostL: c.Most.Litres(), Limits: []LimitShortJSON{}}
		for _, l := range c.Limits {
			out.Conflict.Limits = append(out.Conflict.Limits, LimitShortJSON{l.Limit.String(), l.Says})
		}
	}
	return out, nil
}

// Text is the blends for a terminal: a column of words for each.
func (b *BlendsJSON) Text() string {
	var s strings.Builder
	for i := range b.Blends {
		one := &b.Blends[i]
		fmt.Fprintf(&s, "%s. %.2f L", letterOf(i), one.VolumeL)
		if one.Why != "" {
			fmt.Fprintf(&s, ", %s", one.Why)
		}
		s.WriteString("\n")
		for _, p := range one.Parts {
			left := fmt.Sprintf("leaves %.2f L: part full", p.LeftL)
			if p.All {
				left = "all of it"
			}
			if p.Over != "" {
				left += "; " + p.Over
			}
			fmt.Fprintf(&s, "   %8.2f L  %3.0f %%  %s (%s), %s\n", p.VolumeL, p.SharePct, p.Vessel, p.Lot, left)
		}
		for _, f := range one.Figures {
			w := blend.LookupWanted(f.What)
			if f.Trouble != "" {
				fmt.Fprintf(&s, "   %-20s can't tell: %s\n", w.Name, f.Trouble)
				continue
			}
			fmt.Fprintf(&s, "   %-20s %.2f ± %.2f %s, %s\n", w.Name, f.Value, f.PM, w.Unit, f.Known)
		}
		if one.FreeLow != nil {
			fmt.Fprintf(&s, "   %-20s %.0f to %.0f mg/L, between those of its parts\n", "Free SO2", *one.FreeLow, *one.FreeHigh)
		}
		for _, a := range one.Aims {
			fmt.Fprintf(&s, "   %s aimed at: off by %+.2f\n", a.Aim, a.Off)
		}
		for _, l := range one.Barely {
			fmt.Fprintf(&s, "   ! barely kept: %s\n", l)
		}
		for _, l := range one.Broken {
			fmt.Fprintf(&s, "   ! broken: %s\n", l)
		}
	}
	if c := b.Conflict; c != nil {
		fmt.Fprintf(&s, "No blend does it: %s.\n", c.Says)
		for _, l := range c.Limits {
			fmt.Fprintf(&s, "   - %s\n", l.Says)
		}
	}
	for _, x := range b.LeftOut {
		fmt.Fprintf(&s, "left out: %s, %s\n", x.Vessel, x.Why)
	}
	return s.String()
}

func letterOf(i int) string {
	if i < len(letters) {
		return letters[i : i+1]
	}
	return fmt.Sprint(i + 1)
}

func (s *Server) apiBlend(ctx context.Context, in *struct {
	Body struct {
		blend.Order
		Pour []string `json:"pour,omitempty" maxItems:"12" doc:"volumes of one's own, such as c1=12 c2=8, instead of looking for some" example:"[\"c1=12 c2=8\"]"`
	}
}) (*body[BlendsJSON], error) {
	v, err := s.view(ctx)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	out, err := Blends(v, in.Body.Order, in.Body.Pour)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	return &body[BlendsJSON]{out}, nil
}
