// Package fault holds the closed list of kinds that an error can have, so that
// every door (page, API, command) answers the same mishap in the same way.
//
//	if name == "" {
//		return fault.BadFields("start lot", fault.Field{Name: "name", Given: "", Allowed: "a word or two"})
//	}
//	…
//	switch fault.KindOf(err) {
//	case fault.Invalid:  // 422, exit code 2, the form again with the text still in it
//	case fault.NotFound: // 404
//	}
//
// A caller decides by Kind; a person reads Message. What is wrong inside the
// program stays in the chain that Error prints, which goes to the log only.
package fault

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"

	"elevage/science/quantity"
)

// Kind says which decision an error calls for. The list is closed and its order
// is never changed.
type Kind uint8

// The kinds. The zero Kind is Internal, so an error that nobody classified is
// never mistaken for the user's.
const (
	Internal    Kind = iota // a fault of ours; nothing the person can put right
	Invalid                 // what was given is not allowed; the message says what is
	NotFound                // what was asked for is not there
	Conflict                // it contradicts what is already kept
	Denied                  // not permitted to this person or from this place
	Unavailable             // may work later: cancelled, timed out, locked, full
)

var kindNames = [...]string{"internal", "invalid", "not found", "conflict", "denied", "unavailable"}

func (k Kind) String() string {
	if int(k) < len(kindNames) {
		return kindNames[k]
	}
	return "internal"
}

// A Field is one thing wrong with what was given, in words for the person who gave it.
type Field struct {
	Name    string `json:"name"`             // trade's name of the field: "volume", "pH"
	Given   string `json:"given"`            // as it was given
	Allowed string `json:"allowed"`          // what would have been taken
	Line    int    `json:"line,omitempty"`   // in a file or a form with lines, from 1; 0 where it means nothing
	Column  string `json:"column,omitempty"` // name of the column in a table
	Hint    string `json:"hint,omitempty"`   // a likely intention: "b2 or b3?"
}

// String reads, for example: line 3, column pH: "34.7" is given: allowed is 2.5 to 5.
func (f Field) String() string {
	var b strings.Builder
	if f.Line > 0 {
		b.WriteString("line " + strconv.Itoa(f.Line) + ", ")
	}
	if f.Column != "" {
		b.WriteString("column " + f.Column + ": ")
	} else if f.Name != "" {
		b.WriteString(f.Name + ": ")
	}
	if f.Given == "" {
		b.WriteString("nothing is given")
	} else {
		b.WriteString(strconv.Quote(f.Given) + " is given")
	}
	if f.Allowed != "" {
		b.WriteString(": allowed is " + f.Allowed)
	}
	if f.Hint != "" {
		b.WriteString(" (" + f.Hint + ")")
	}
	return b.String()
}

// Error is an error of a known kind.
type Error struct {
	Kind   Kind
	Op     string  // what was being done: "append entries"
	Text   string  // for people; may be empty when Fields say it all
	Fields []Field // what was wrong with which input; only with Invalid
	Err    error   // what lies beneath, for the log; may be nil
}

// Error is the whole chain, for the log.
func (e *Error) Error() string {
	parts := make([]string, 0, 3)
	if e.Op != "" {
		parts = append(parts, e.Op)
	}
	if m := e.message(); m != "" {
		parts = append(parts, m)
	} else {
		parts = append(parts, e.Kind.String())
	}
	if e.Err != nil {
		parts = append(parts, e.Err.Error())
	}
	return strings.Join(parts, ": ")
}

// Unwrap gives the error beneath.
func (e *Error) Unwrap() error { return e.Err }

func (e *Error) message() string {
	parts := make([]string, 0, len(e.Fields)+1)
	if e.Text != "" {
		parts = append(parts, e.Text)
	}
	for _, f := range e.Fields {
		parts = append(parts, f.String())
	}
	return strings.Join(parts, "; ")
}

// New makes an error of a kind with a text for people.
func New(kind Kind, op, format string, args ...any) *Error {
	return &Error{Kind: kind, Op: op, Text: fmt.Sprintf(format, args...)}
}

// Wrap gives an error from below a kind and says what was being done; nil stays nil.
// An error that already has a kind keeps it when kind is Internal.
func Wrap(kind Kind, op string, err error) error {
	if err == nil {
		return nil
	}
	if kind == Internal {
		kind = KindOf(err)
	}
	return &Error{Kind: kind, Op: op, Err: err}
}

// BadFields is an Invalid error about the fields, or nil if there are none.
func BadFields(op string, fields ...Field) error {
	if len(fields) == 0 {
		return nil
	}
	return &Error{Kind: Invalid, Op: op, Fields: fields}
}

// KindOf is the kind of the outermost error in the chain that has one. A value
// out of a science function's domain is Invalid, a cancelled or timed-out
// context Unavailable, anything unknown Internal. It must not be asked of nil.
func KindOf(err error) Kind {
	var e *Error
	if errors.As(err, &e) {
		return e.Kind
	}
	var r *quantity.RangeError
	switch {
	case errors.As(err, &r):
		return Invalid
	case errors.Is(err, context.Canceled), errors.Is(err, context.DeadlineExceeded):
		return Unavailable
	}
	return Internal
}

// Message is what may be shown to the person: never the inside of an Internal error.
func Message(err error) string {
	var e *Error
	if errors.As(err, &e) {
		if m := e.message(); m != "" {
			return m
		}
		if e.Err != nil && e.Kind != Internal {
			return Message(e.Err)
		}
	}
	var r *quantity.RangeError
	if errors.As(err, &r) {
		return r.Error()
	}
	switch KindOf(err) {
	case Invalid:
		return "what was given cannot be read"
	case NotFound:
		return "there is no such thing here"
	case Conflict:
		return "it contradicts what is already kept"
	case Denied:
		return "this is not permitted here"
	case Unavailable:
		return "this cannot be done just now; try again"
	}
	return "something went wrong inside the program; nothing you typed is at fault"
}

// FieldsOf gives the fields of the outermost error that has any.
func FieldsOf(err error) []Field {
	for err != nil {
		var e *Error
		if !errors.As(err, &e) {
			return nil
		}
		if len(e.Fields) > 0 {
			return e.Fields
		}
		err = e.Err
	}
	return nil
}
