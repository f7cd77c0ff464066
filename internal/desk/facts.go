package desk

import (
	"math"
	"strconv"
	"time"

	"elevage/internal/bench"
	"elevage/internal/cellar"
	"elevage/internal/track/gather"
)

// Facts are what a parcel can fill a calculator of the bench with: what is
// believed where there is a belief, else what was read last.
func (v *View) Facts(s *Standing) map[bench.Fact]bench.Known {
	k := map[bench.Fact]bench.Known{}
	put := func(f bench.Fact, value float64, decimals int, plus float64) {
		known := bench.Known{Value: strconv.FormatFloat(value, 'f', decimals, 64)}
		if plus > 0 {
			known.Plus = strconv.FormatFloat(plus, 'g', 2, 64)
		}
		k[f] = known
	}
	const decimals = 2
	put(bench.LotVolume, s.Parcel.Volume.Litres(), decimals, s.Parcel.Spread.Litres())
	if size := s.Vessel.Capacity(); size > 0 {
		put(bench.VesselVolume, size.Litres(), decimals, 0)
	}
	if s.Lot.Colour != "" {
		colour := s.Lot.Colour
		if colour == "rosé" {
			colour = "rose"
		}
		k[bench.LotColour] = bench.Known{Value: colour}
	}
	stage := "wine"
	if s.Parcel.Form == cellar.FormMust {
		stage = "must"
	}
	k[bench.LotStage] = bench.Known{Value: stage}
	k[bench.LotMalolactic] = bench.Known{Value: v.malolactic(s)}
	for _, r := range []struct {
		what  string
		fact  bench.Fact
		scale float64 // from the base unit of the measure to the fact's
	}{
		{cellar.ReadPH, bench.LotPH, 1}, {cellar.ReadTA, bench.LotTA, 1}, {cellar.ReadAlcohol, bench.LotStrength, 1},
		{cellar.ReadTemperature, bench.LotTemp, 1}, {cellar.ReadFreeSO2, bench.LotFreeSO2, 1e3}, {cellar.ReadTotalSO2, bench.LotTotalSO2, 1e3},
		{cellar.ReadMalic, bench.LotMalic, 1}, {cellar.ReadSugar, bench.LotSugar, 1}, {cellar.ReadYAN, bench.LotYAN, 1e3},
		{cellar.ReadCopper, bench.LotCopper, 1e3}, {cellar.ReadTartaric, bench.LotTartaric, 1}, {cellar.ReadPotassium, bench.LotPotassium, 1},
	} {
		if value, ok := v.Read(s, r.what); ok {
			const thousand = 1000
			k[r.fact] = bench.Known{Value: strconv.FormatFloat(math.Round(value*r.scale*thousand)/thousand, 'f', -1, 64)} // no noughts that nobody read
		}
	}
	if r, _, ok := gather.Latest(v.State, s.Parcel, cellar.ReadDensity, v.Now); ok && r.Method != "refractometer" {
		if sg, err := r.Value.Gravity(); err == nil {
			put(bench.LotGravity, float64(sg), 4, 0)
		}
	}
	if brix, ok := gather.MustBrix(v.State, s.Parcel, v.Now); ok {
		put(bench.LotBrix, float64(brix), 1, 0)
	}
	if r, _, ok := gather.Latest(v.State, s.Parcel, cellar.ReadTA, v.Now); ok && r.EndPoint != "" {
		k[bench.LotTAEndpoint] = bench.Known{Value: r.EndPoint}
	}
	if b := s.Malo; b != nil {
		put(bench.LotMalic, b.Malic.Q50.GPerL(), decimals, (b.Malic.Q95-b.Malic.Q05).GPerL()/ninety)
	}
	if b := s.SO2; b != nil {
		put(bench.LotFreeSO2, b.Free.Q50.MgPerL(), 1, b.Free.Width().MgPerL()/ninety)
	}
	return k
}

// ninety is the width of the central 90 % of a normal distribution in standard deviations.
const ninety = 3.29

// Read is the last reading of a kind of a parcel, in the base unit of its measure.
func (v *View) Read(s *Standing, what string) (float64, bool) {
	r, _, ok := gather.Latest(v.State, s.Parcel, what, v.Now)
	if !ok {
		return 0, false
	}
	switch what {
	case cellar.ReadPH:
		p, err := r.Value.PH()
		return float64(p), err == nil
	case cellar.ReadAlcohol:
		a, err := r.Value.Strength()
		return float64(a), err == nil
	case cellar.ReadTemperature:
		t, err := r.Value.Temperature()
		return float64(t), err == nil
	}
	c, _, err := r.Value.Concentration()
	return float64(c), err == nil
}

// malolactic is how the bench names a wine's standing towards conversion.
func (v *View) malolactic(s *Standing) string {
	switch {
	case gather.Settled(v.State, s.Parcel, v.Now):
		return "finished"
	case v.State.Wish(s.Lot) == cellar.MalolacticKeptFrom:
		return "blocked"
	case v.State.Wish(s.Lot) == cellar.MalolacticWanted:
		return "wanted"
	}
	return "unknown"
}

// In is the standing of what a vessel holds, nil if it is empty or unknown.
func (v *View) In(vessel string) *Standing {
	p := v.State.In(vessel)
	if p == nil {
		return nil
	}
	return v.Of(p.ID)
}

// At is a moment of a day of the cellar's calendar.
func (v *View) At(day time.Time) time.Time {
	y, m, d := day.Date()
	return time.Date(y, m, d, 12, 0, 0, 0, v.Now.Location())
}
