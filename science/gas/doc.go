// Package gas reckons with carbon dioxide: how much a wine holds, what an airlock
// says about malic acid, what warming and weather set free, how much outside air a
// cellar needs, and what pressure builds up in a closed bottle.
//
//	lock := gas.Airlock{Wine: 23, Bubble: 0.7 * quantity.Millilitre, Temperature: 20, Barometer: quantity.Atmosphere}
//	rate, _ := lock.MalicRate(73 * time.Second) // 0.2 g/L malic a day
//
// Solubility follows one of two published [Relation] values, which part by up to
// 8.5 %; [ForecastBottle] reckons by both and judges by the worse. A bottle's CO2 is
// balanced between wine and headspace, the air sealed in is counted, and danger is
// judged by gauge pressure:
//
//	f, _ := gas.ForecastBottle(gas.Filled, gas.Contents{Alcohol: 12, Dissolved: 1, Sugar: 4}, 25)
//	f.Worst().Gauge.Bars() // 2.5
//	f.Hazard               // danger, by a limit that is this project's proposal
//
// Room air is reckoned as if it mixed well; CO2 lies at the floor, so every figure
// about air is the least that is needed. Exposure limits guide; local codes and
// licensed practice decide. A candle is not a monitor, and an oxygen meter does not
// protect against CO2 ([Oxygen] says why).
package gas
