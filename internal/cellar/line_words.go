package cellar

// reservedWords cannot be short names of vessels, since the typed line reads
// them otherwise; package line tests that none of its first words is missing.
var reservedWords = func() map[string]bool {
	words := map[string]bool{}
	for _, w := range []string{"so2", "paper", "bubble", "bubbles", "control", "check", "added", "add", "racked", "rack", "topped", "top",
		"stirred", "stir", "punched", "punch", "inoculated", "inoculate", "holds", "dip", "set", "held", "kept", "declared", "declare", "note",
		"vessel", "lot", "instrument", "sampled", "sample", "received", "crushed", "crush", "filled", "fill", "pressed", "press", "drained", "drain",
		"bled", "bleed", "settled", "settle", "split", "blended", "blend", "removed", "remove", "lost", "pumped", "pump", "returned", "filtered",
		"chilled", "aerated", "degassed", "gassed", "pasteurised", "oak", "cleaned", "rinsed", "sulfured", "swelled", "steamed", "inspected",
		"repaired", "tasted", "taste", "bottled", "bottle", "opened", "open", "bought", "calibrated",
		"to", "into", "from", "with", "by", "rest", "lees", "in", "of", "and", "as", "at", "today", "yesterday", "read", "free", "total"} {
		words[w] = true
	}
	for i := range Readables {
		words[Readables[i].What] = true
		for _, w := range Readables[i].Also {
			words[w] = true
		}
	}
	for word := range unitIndex {
		words[word] = true // "temp 19 c" is degrees, not a vessel
	}
	return words
}()

// Reserved says that a word means something else in the typed line, so that no
// vessel can be called by it.
func Reserved(word string) bool { return reservedWords[word] }
