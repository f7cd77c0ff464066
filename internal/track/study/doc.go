// Package study judges the malolactic belief of package track by simulation: on
// the model itself (simulation-based calibration) and, more to the point, on a
// world that the model does not know: other laws of conversion and growth, meters
// that drift, titrant that is off, readings of the wrong vessel, missing weeks,
// stalls. Nothing here is used by the tool; cmd/malostudy runs it and prints the
// tables of docs/studies.
package study
