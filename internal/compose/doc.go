// Package compose says what a wine is made of: any parcel of a cellar, at any past
// moment, from everything that was read, added, converted and poured together until
// then.
//
//	wine, err := compose.Of(state, state.In("b2").ID, now)
//	wine.Alcohol.Value, wine.Alcohol.SD     // 13.2 ± 0.2 % vol
//	wine.PH.Value, wine.PH.SD               // 3.52 ± 0.05, solved if not measured
//	blend, err := compose.Mix(compose.Part{Wine: wine, Volume: 30}, compose.Part{Wine: other, Volume: 10})
//	account := compose.AccountOf(state, cellar.Scope{Lot: "merlot-26"}, from, to)
//
// # What mixes
//
// Everything here is an amount in a volume: alcohol, sugar, acids, potassium, total
// sulfur dioxide, and the strong ions that hold a pH. Amounts mix by volume. A pH
// does not: it is solved by package acidbase from what the wine then holds. Free
// sulfur dioxide and taste do not mix at all and are not reckoned.
//
// # What is known, and how well
//
// A reading puts a figure right from its moment on; between readings a figure moves
// by what was added, by what came in, and by what was converted. What was never
// read is taken to be what wines usually have, widely, and is told as assumed. Each
// figure carries its errors as a sum over their causes (this reading, that dose, the
// volume of that transfer), so that two halves of one wine poured together again are
// known no better than before, and a blend of two wines that were read apart is.
//
// # Doors
//
// In an account, amounts come and go by named doors only: with wine, by addition,
// converted, precipitated, oxidised, or re-anchored, where a reading says something
// else than the record and no door of its own explains it.
package compose
