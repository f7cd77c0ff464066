package serve

import (
	"fmt"
	"net/http"

	"elevage/internal/chart"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
	"elevage/science/electrode"
	"elevage/science/quantity"
)

// A guide is a page that explains how something is read or made.
type guide struct {
	Name, Title, Lead string
	Drawing           *ui.Drawing
	Steps             []string
	Table             *ui.Table
	Tables            []ui.Table // further ones
	Links             []ui.Link
	Notes             []ui.Notice
	Sources           []string
}

// guides are made when asked for; they hold no state.
var guides = []func() guide{bacteriaGuide, chromatogramGuide, tartarGuide, controlGuide}

func (s *Server) guidePage(w http.ResponseWriter, r *http.Request) error {
	for _, make := range guides {
		if g := make(); g.Name == r.PathValue("guide") {
			p := s.page(r, g.Title, ui.Bench, g)
			p.Lead = g.Lead
			p.Up = &ui.Link{Text: "Bench", URL: "/bench"}
			return s.kit.Render(w, http.StatusOK, "guide", p)
		}
	}
	return fault.New(fault.NotFound, "guide", "there is no guide %q", r.PathValue("guide"))
}

// guideTools list the guides on the bench.
func guideTools() benchGroup {
	g := benchGroup{Question: "How is it done?"}
	for _, make := range guides {
		one := make()
		g.Tools = append(g.Tools, benchTool{URL: "/guides/" + one.Name, Title: one.Title, Purpose: one.Lead})
	}
	g.Tools = append(g.Tools, benchTool{URL: "/cards/trial", Title: "Bench trial sheet", Purpose: "coded glasses, random order, and their key"},
		benchTool{URL: "/cards/chromatography", Title: "Chromatography sheet", Purpose: "one paper for every lot that converts, controls first"})
	return g
}

// runs are the ranges in which the acids run on paper with butanol, water and
// formic acid: recalled after Kunkee 1968 and Zoecklein et al., unverified; the
// overlap of succinic and lactic is confirmed (Harris 2001).
var runs = []chart.SheetAcid{{Name: "tartaric", Low: 0.28, Top: 0.30}, {Name: "citric", Low: 0.42, Top: 0.45},
	{Name: "malic", Low: 0.51, Top: 0.56}, {Name: "lactic, succinic", Low: 0.69, Top: 0.78}}

// bacteriaGuide sets the ways and the moments of giving bacteria side by side.
func bacteriaGuide() guide {
	return guide{Name: "giving-bacteria", Title: "Giving bacteria: when and how", Lead: "what each way and each moment gains, and what it costs",
		Steps: []string{
			"Read pH, alcohol, temperature, free and total SO2 and malic acid. What is bound counts too, so the total matters more than the free.",
			"Look at the lot's page: it says how long the wine would take as it is, how likely it stalls, and what would change that.",
			"Put right what is hard before buying more culture: warm the wine, wait for SO2 to be bound and lost, blend.",
			"Keep a control sample back before the culture goes in, frozen.",
			"Divide the culture, and stir the fine lees gently after one to two weeks and again at about three (common practice, no source).",
			"From that hour until the end is shown: no SO2, no sorbate, no lysozyme, no chill, no topping with sulfited wine.",
		},
		Table: &ui.Table{Caption: "How", Head: []string{"way", "gains", "costs"}, Rows: [][]string{
			{"nothing: leave it to start by itself", "no money, no work", "unknown bacteria, weeks to months, biogenic amines; the wine stands unprotected meanwhile"},
			{"sprinkle it on", "quick", "cells are lost to acid, alcohol and SO2 at once: for easy wines"},
			{"soak it first, in water and its nutrient", "more cells live", "a quarter of an hour by the clock"},
			{"accustom it: water, juice, some of the wine", "easier on hard wines", "an hour, juice without sulfite; it brings a little sugar"},
			{"build up a starter over days", "the surest for hard wines", "days, a clean vessel, and it is a lot of its own"},
			{"lees of a wine that converts, 5 to 20 %", "no packet", "brings the other wine's faults, and joins the histories of two lots"},
		}},
		Tables: []ui.Table{{Caption: "When", Head: []string{"moment", "gains", "costs"}, Rows: [][]string{
			{"a day or two after the yeast", "over early, one warm time for both", "if the yeast sticks, bacteria eat sugar and make vinegar: not above pH 3.5, nor from must over 26 Brix, nor where the ferment gets hot; not every yeast lets them live"},
			{"near dryness", "warm wine, little sugar", "alcohol is high already, lees not yet settled"},
			{"after pressing, dry", "least risk of vinegar, the wine is known", "the cool season comes, nutrients are gone"},
		}}, {Caption: "Where sources and custom differ", Head: []string{"", "read in sources", "common practice, no source"}, Rows: [][]string{
			{"pH", "3.3 to 3.5 favourable, hard under 3.1", "hard going below 3.5"},
			{"alcohol, % vol", "13 to 15 workable, 16 the limit of tolerant cultures", "hard going from 14"},
			{"temperature, °C", "18 to 22", "21 to 23 best, 20 slower"},
			{"water per gram", "20 mL (from memory)", "100 mL with 20 g nutrient"},
			{"how long", "14 to 42 days in kind reds, 45 to 180 in hard wines (from memory)", "five to six weeks is usual; pH rises by about 0.2"},
			{"culture", "as its packet says", "about 4 g for 250 L"},
		}}},
		Notes: []ui.Notice{
			{Kind: ui.Unsure, Head: "A culture that stands more.", Text: "Cultures are rated for pH, alcohol and SO2 on their packets. How much a tolerant one gains in this wine cannot be told beforehand: choose one whose limits lie beyond all of the wine's figures, not beyond one of them."},
			{Kind: ui.Unsure, Head: "Nutrients and lees", Text: "are not part of the days and chances on a lot's page. Trials found no gain from malolactic nutrients in the wines they tried; fine lees kept in suspension feed and hold the bacteria."},
			{Kind: ui.Unsure, Head: "An airlock proves nothing.", Text: "One that converts may show a bubble in ten minutes in a carboy (common practice, no source); so does wine that only gets warmer."},
			{Kind: ui.Caution, Text: "With sugar above 2 g/L bacteria can make vinegar: look every day. Fermenting wine gives off carbon dioxide: air the room."},
		},
		Links: []ui.Link{{Text: "Divide one culture", URL: "/bench/culture-split"}, {Text: "Build a starter", URL: "/bench/bacteria-starter"}, {Text: "The control sample", URL: "/guides/control-sample"}},
		Sources: []string{
			"18 to 22 °C, alcohol, total SO2: Australian Wine Research Institute, Preparation of an MLF starter culture using freeze dried bacteria (opening read)",
			"pH, free and total SO2, factors add up: Australian Wine Research Institute, Ask the AWRI: malolactic fermentation issues explored (read)",
			"bound SO2 inhibits too: University of California Davis, Impact of alcoholic fermentation decisions (read)",
			"nutrients without gain: Wine Australia, Top tips for effective MLF, 2020 (read)",
			"with the yeast: a ferment that ran hot left malic acid, one yeast stuck when bacteria came early: Simultaneous and successive inoculations of yeasts and lactic acid bacteria, Braz J Microbiol 45, 2014 (abstract); pH 3.5, 26 Brix and the rest from memory, unverified",
		}}
}

func chromatogramGuide() guide {
	const tartaric, citric, malic, lactic = "tartaric", "citric", "malic", "lactic, succinic"
	d := ui.Drawn(chart.Sheet{ID: "sheet", Title: "How a sheet is read", Desc: "Six lanes: three control spots and a wine before, during and after malolactic fermentation. The malic spot fades; the spot of lactic and succinic acid is there from the beginning and grows.",
		Acids: runs, Lanes: []chart.SheetLane{
			{Name: "0.1", Spots: []chart.Spot{{Acid: malic, Strength: 0.12}}},
			{Name: "0.3", Spots: []chart.Spot{{Acid: malic, Strength: 0.4}}},
			{Name: "1 g/L", Spots: []chart.Spot{{Acid: malic, Strength: 0.9}}},
			{Name: "before", Spots: []chart.Spot{{Acid: tartaric, Strength: 1}, {Acid: citric, Strength: 0.25}, {Acid: malic, Strength: 1}, {Acid: lactic, Strength: 0.3}}},
			{Name: "during", Spots: []chart.Spot{{Acid: tartaric, Strength: 1}, {Acid: citric, Strength: 0.25}, {Acid: malic, Strength: 0.35}, {Acid: lactic, Strength: 0.8}}},
			{Name: "after", Spots: []chart.Spot{{Acid: tartaric, Strength: 1}, {Acid: citric, Strength: 0.2}, {Acid: lactic, Strength: 1}}},
		}})
	return guide{Name: "chromatogram", Title: "Reading a chromatogram", Lead: "which spots, what faint means, and what a clear paper does not say", Drawing: &d,
		Steps: []string{
			"Spot known malic acid of 0, 0.1, 0.3 and 1 g/L on the same sheet and read the wine by comparison.",
			"The spots are yellow on blue-green. Let the paper dry until nothing smells of formic acid: wet or sour paper hides faint spots.",
			"Strong: as dark as the 0.3 spot or darker. Faint: seen, but lighter than that. None: nothing where malic runs, with the control of 0.1 in sight.",
			"Log it as paper strong b2, paper faint b2 or paper none b2.",
			"A paper clear twice, one to two weeks apart, at 18 °C or warmer and with the lactic spot strong, or one malic test below the limit, is taken as the end.",
		},
		Notes: []ui.Notice{
			{Kind: ui.Unsure, Head: "Gone is not zero.", Text: "Paper sees malic acid down to about 0.1 g/L. Below that it can still give gas in a bottle; for wine to be kept long ask for one malic test."},
			{Kind: ui.Unsure, Head: "A lactic spot proves nothing.", Text: "Succinic acid, made by the yeast in every wine, runs to the same place. Read the malic spot."},
			{Kind: ui.Unsure, Head: "Old wine.", Text: "Ethyl acid tartrate runs just above malic and can be taken for it. Too much wine on the spot lets tartaric or citric tail upwards."},
			{Kind: ui.Caution, Text: "The solvent burns and its vapour is strong: air the room, no flame. Formic acid burns skin and eyes: gloves and goggles. Local rules decide where the rest goes."},
		},
		Sources: []string{
			"limit near 0.1 g/L, 6 h to run and 24 h to dry, flammable solvent: Mansfield, Monitoring malolactic fermentation 3 ways, Cornell 2010 (read in a copy)",
			"where the spots run: Kunkee 1968 and Zoecklein et al., Wine Analysis and Production (from memory, unverified); succinic on lactic: Harris 2001 (read)",
			"clear twice as the end: a proposal of this project, not a rule of the trade",
		}}
}

func tartarGuide() guide {
	t := ui.Table{Caption: "pH of saturated cream of tartar", Head: []string{"°C", "pH", ""}, Numbers: []bool{true, true}}
	for celsius := 10; celsius <= 40; celsius += 5 {
		ph, computed, err := electrode.CreamOfTartar(quantity.Celsius(float64(celsius)))
		if err != nil {
			continue
		}
		how := "tabulated (Bates 1962)"
		if computed {
			how = "computed, within 0.02"
		}
		t.Rows = append(t.Rows, []string{fmt.Sprint(celsius), fmt.Sprintf("%.3f", float64(ph)), how})
	}
	return guide{Name: "cream-of-tartar", Title: "A pH standard from the kitchen", Lead: "saturated cream of tartar reads 3.557 at 25 °C, where wine is", Table: &t,
		Steps: []string{
			"Put two level teaspoons of pure cream of tartar (potassium hydrogen tartrate, about 6 g) into half a litre of distilled water. More than dissolves must stay on the bottom: that is what makes it a standard.",
			"Shake now and then for half an hour at the temperature of the room; let it settle; pour the clear part off.",
			"Measure its temperature, read the pH, and compare with the table.",
			"Log it as check 3.56 read 3.60, in the same session as the wine.",
			"Make it fresh: it moulds within days (common practice, no source).",
		},
		Notes: []ui.Notice{
			{Kind: ui.Told, Head: "Why it is worth the pennies.", Text: "A buffer of 7.00 tells how far the meter is off at 7, not whether its slope is right where wine is. This one lies in the middle of wine."},
			{Kind: ui.Unsure, Head: "Not baking powder.", Text: "Only pure cream of tartar will do; mixtures with soda read far higher."},
		},
		Sources: []string{"3.557 at 25 °C and the values above: Bates 1962, J. Res. Natl. Bur. Stand. 66A:179 (table read)", "below 25 °C: computed from solubility and dissociation, see docs/chemistry.md", "6.4 g dissolve in a kilogram of water at 25 °C (from memory, unverified), so that 12 g in a litre leave plenty undissolved"}}
}

func controlGuide() guide {
	return guide{Name: "control-sample", Title: "The control sample", Lead: "wine kept back on day 0, and what it takes out of every difference",
		Steps: []string{
			"On the day the culture goes in, before it goes in, fill a small bottle to the brim with the wine, close it, and freeze it or keep it near 0 °C. Log it as kept 100 mL b2.",
			"At every later session thaw it, warm it to the temperature of the wine, shake until the crystals are back in, and read both with the same meter: ph 3.50 b2; control ph 3.44 b2.",
			"What counts is the difference: the meter's offset of the day is in both and falls out of it.",
		},
		Table: &ui.Table{Caption: "What a difference of two pH readings is worth, one standard deviation", Head: []string{"how", "SD"}, Numbers: []bool{false, true}, Rows: [][]string{
			{"one reading each, two sessions with their own calibrations", "0.08"}, {"one reading each, the same session", "0.04"}, {"three readings each, the same session, with the control", "0.024"}}},
		Notes: []ui.Notice{{Kind: ui.Unsure, Head: "Unfrozen and inoculated", Text: "it may convert too. Keep it back before the culture goes in, and frozen."},
			{Kind: ui.Caution, Text: "A full glass bottle bursts when it freezes: leave room, or use plastic."}},
		Sources: []string{"standard deviations: √2 · hypot(0.03, 0.05) and so on, from a hand meter's 0.03 and a session's 0.05 (both from memory, unverified); replace them by your own repeats"}}
}
