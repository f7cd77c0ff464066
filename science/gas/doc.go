// Package gas reckons with carbon dioxide: how much a wine holds, what an airlock
// says about malic acid, what warming and weather set free, how much outside air a
// cellar needs, and what pressure builds up in a closed bottle.
//
//	lock := gas.Airlock{Wine: 23, Bubble: 0.7 * quantity.Millilitre, Temperature: 20, Barometer: quantity.Atmosphere}
//	rate, _ := lock.MalicRate(73 * time.Second) // 0.2 g/L malic a day
package gas
