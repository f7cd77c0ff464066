package serve

import (
	"elevage/internal/cellar"
	"elevage/internal/chart"
	"elevage/internal/desk"
)

// riverOf draws every lot that still has wine as bands as thick as their volume.
func riverOf(v *desk.View) chart.River {
	r := chart.River{ID: "river", Title: "The cellar over time", Now: v.Now}
	shown := map[cellar.ParcelID]bool{}
	for _, p := range v.State.Parcels.All() {
		if p.Form == cellar.FormFruit || len(p.Levels) == 0 {
			continue
		}
		shown[p.ID] = true
		r.Bands = append(r.Bands, bandOf(v, p))
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
	b := chart.Band{ID: string(p.ID), Name: p.Vessel}
	if lot := v.State.Lot(p.Lot); lot != nil {
		b.Name = lot.Title() + ", " + p.Vessel
		b.Tone = toneOf(lot.Colour)
	}
	for _, l := range p.Levels {
		b.Points = append(b.Points, chart.RiverPoint{At: l.At, Litres: l.Volume.Litres()})
	}
	if n := len(b.Points); p.Ended() && n > 0 && b.Points[n-1].Litres > 0 {
		b.Points = append(b.Points, chart.RiverPoint{At: p.End})
	}
	if st := v.Of(p.ID); st != nil && st.Malo != nil && st.Malo.Finish.Q50 != nil && st.Malo.Finish.Q50.After(v.Now) {
		b.Marks = append(b.Marks, chart.RiverMark{At: noonIn(st.Malo.Finish.Q50.Time, v.Now.Location()), Label: "malolactic over"})
	}
	return b
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
