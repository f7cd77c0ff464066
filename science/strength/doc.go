// Package strength turns what floats and prisms show into sugar and alcohol.
package strength
