// Package browser holds the journeys of a person through the program in a real
// browser. It has no code of its own: see journey_test.go.
package browser
