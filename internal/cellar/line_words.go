package cellar

// reservedWords cannot be short names, since the typed line reads them otherwise.
var reservedWords = map[string]bool{}
