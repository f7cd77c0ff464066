// Package cellar is the domain: what a cellar's entries say, and the state of
// lots, vessels and parcels that follows from them.
//
// A cellar is a ledger of entries; everything else is computed from it by pure
// functions. An [Entry] states that something happened and is never changed;
// a mistake is struck out by another entry. [Fold] turns entries into a [State]
// and never fails: what does not add up becomes a [Finding] for the person to
// settle.
//
//	pen := cellar.Pen{Cellar: "home", By: "Ada", Device: "desk", Random: rand.Reader}
//	entries, err := pen.Write(now,
//		cellar.Draft{Happened: cellar.On(day), Body: cellar.VesselNamed{Slug: "b2", Type: "barrel", Size: cellar.M("225", "L")}},
//		cellar.Draft{Happened: cellar.On(day), Body: cellar.LotStarted{Slug: "merlot-26", Colour: "red", Malolactic: cellar.MalolacticWanted}},
//		cellar.Draft{Happened: cellar.On(day), Body: cellar.Movement{How: "filling", Lot: "merlot-26",
//			To: []cellar.Portion{{Vessel: "b2", Volume: cellar.M("222", "L")}}}},
//	)
//	…
//	state := cellar.Fold(entries, cellar.Options{Now: now})
//	parcel := state.In("b2") // merlot-26 in b2, 222 ± 4 L
//
// Where entries keep coming, a [Book] keeps the state: it reckons anew only what an
// entry changed, tells which parcels that were, and which decisions rested on it.
//
// # Lots, vessels, parcels
//
// A lot is a wine with a name and a history, a vessel a place for wine, and a
// [Parcel] one lot in one vessel over one span of time: it is what is sampled
// and believed about. Racking a lot into three vessels makes three parcels; each
// knows what it came from ([Parcel.Inflows], [Parcel.Roots]), what was added to
// its wine ([Parcel.Amounts]) and what was done to it ([State.History]). Every litre
// that moves is a [Transfer], so that a [Balance] closes; [State.Origins] leads wine
// back to its fruit and [State.Trace] leads a load or a dose forward.
//
// # What is promised
//
// The order in which entries arrive makes no difference, nor do duplicates; a
// strike may arrive before what it strikes. Bodies are kept as they were
// written, numerals as text. Kinds that are not known are kept and shown. Time,
// randomness and ids come in as arguments; nothing here reads a clock or a disk.
package cellar
