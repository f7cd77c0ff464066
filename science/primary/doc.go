// Package primary knows how yeast turns a must into wine: a published model of sugar,
// nitrogen, cells and ethanol, the heat and gas it gives off, and what a stuck one
// asks for.
//
//	must := primary.Must{Sugar: 240, Nitrogen: 0.200, Yeast: 0.25}
//	c, _ := primary.Coleman.Course(must, primary.Steady(20), 30)
//	dry, _ := c.When(2)   // 5.36 days until 2 g/L are left
//
// The model is Coleman, Fish & Block 2007 (Appl Environ Microbiol 73:5875) with the
// reference's warnings built in:
//   - its coefficients are recalled and not read; they pass the checks that could be
//     made (ratios between 11 and 35 °C), and say so in [ColemanSource];
//   - its yield on nitrogen peaks near 0.28 g N/L and falls beyond, which no yeast
//     does; [Coleman] holds the cells formed at that peak, [ColemanAsPublished] does
//     not;
//   - its ethanol yield of 0.55 g/g is more than sugar can give: right inside the fit,
//     wrong for display, where [EthanolYield] is used;
//   - it was fitted to flasks of white must and runs faster than a cellar: [LotFactors]
//     slow it down, and must analysis alone forecasts poorly. Learn from the lot's own
//     readings (internal/track/primary).
package primary
