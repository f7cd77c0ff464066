package desk

import (
	"bytes"
	"encoding/gob"
	"io"
	"reflect"
	"strings"
	"testing"

	"elevage/internal/demo"
	"elevage/internal/track/primary"
)

// What was kept is taken up by the next desk, which then computes nothing and believes
// the same to the last digit; another program computes anew; a file that is cut off
// does no harm.
func TestBeliefsOutliveTheProgram(t *testing.T) {
	t.Parallel()
	first := New(demoBook(t), demo.Key, Options{Particles: few})
	was := view(t, first, evening)
	if !first.Fresh() {
		t.Fatal("nothing was computed")
	}
	var file bytes.Buffer
	if err := first.Keep(&file, "this program"); err != nil {
		t.Fatal(err)
	}
	if first.Fresh() {
		t.Error("what was kept still passes for new")
	}
	whole := file.String()
	next := New(demoBook(t), demo.Key, Options{Particles: few})
	if err := next.Recall(strings.NewReader(whole), "this program"); err != nil {
		t.Fatal(err)
	}
	is := view(t, next, evening)
	if next.Fresh() {
		t.Error("it was computed again")
	}
	believed := 0
	for i, s := range is.Standings {
		o := was.Standings[i]
		for _, pair := range [][2]any{{o.Malo, s.Malo}, {o.SO2, s.SO2}, {o.Primary, s.Primary}, {o.Outlook, s.Outlook}, {o.Slow, s.Slow}} {
			if !reflect.DeepEqual(pair[0], pair[1]) {
				t.Errorf("%s: a belief came back otherwise: %T", s.Vessel.Slug, pair[0])
			}
			if !reflect.ValueOf(pair[0]).IsNil() {
				believed++
			}
		}
	}
	if believed < 10 {
		t.Errorf("only %d beliefs were compared", believed)
	}
	other := New(demoBook(t), demo.Key, Options{Particles: few})
	if err := other.Recall(strings.NewReader(whole), "another program"); err != nil {
		t.Fatal(err)
	}
	if view(t, other, evening); !other.Fresh() {
		t.Error("another program's beliefs were taken up")
	}
	if err := New(demoBook(t), demo.Key, Options{}).Recall(strings.NewReader(whole[:len(whole)/2]), "this program"); err == nil {
		t.Error("half a file was taken for a whole one")
	}
	if err := gob.NewEncoder(io.Discard).Encode(&primary.Diagnosis{}); err != nil { // the demo has none
		t.Error(err)
	}
}
