package fault

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"

	"elevage/science/quantity"
)

func TestKindOf(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		err  error
		want Kind
	}{
		"unknown is ours":        {errors.New("boom"), Internal},
		"classified":             {New(NotFound, "get", "no lot %q", "x"), NotFound},
		"wrapped by fmt":         {fmt.Errorf("page: %w", New(Denied, "", "no")), Denied},
		"outermost decides":      {Wrap(Unavailable, "op", New(Invalid, "", "x")), Unavailable},
		"internal keeps beneath": {Wrap(Internal, "op", New(Invalid, "", "x")), Invalid},
		"science domain":         {quantity.Check("pH", 9, "", 2, 5), Invalid},
		"wrapped science domain": {fmt.Errorf("dose: %w", quantity.Check("pH", 9, "", 2, 5)), Invalid},
		"cancelled":              {fmt.Errorf("read: %w", context.Canceled), Unavailable},
		"timed out":              {context.DeadlineExceeded, Unavailable},
		"fields make it invalid": {BadFields("op", Field{Name: "n"}), Invalid},
	} {
		if got := KindOf(c.err); got != c.want {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
	if Wrap(Invalid, "op", nil) != nil || BadFields("op") != nil {
		t.Error("nothing wrong must be nil")
	}
}

func TestMessageHidesTheInside(t *testing.T) {
	t.Parallel()
	err := Wrap(Internal, "append", errors.New("disk I/O error at /home/someone/secret"))
	if m := Message(err); strings.Contains(m, "secret") || strings.Contains(m, "disk") {
		t.Errorf("an inner fault reached the person: %q", m)
	}
	if !strings.Contains(err.Error(), "disk I/O") {
		t.Errorf("the log lost the cause: %q", err)
	}
}

func TestMessageNamesFieldValueAndAllowed(t *testing.T) {
	t.Parallel()
	err := fmt.Errorf("import: %w", BadFields("read readings",
		Field{Line: 3, Column: "pH", Name: "pH", Given: "34.7", Allowed: "2.5 to 5", Hint: "3.47?"}))
	want := `line 3, column pH: "34.7" is given: allowed is 2.5 to 5 (3.47?)`
	if m := Message(err); m != want {
		t.Errorf("got  %s\nwant %s", m, want)
	}
	if f := FieldsOf(err); len(f) != 1 || f[0].Line != 3 {
		t.Errorf("fields lost: %v", f)
	}
	if m := Message(quantity.Check("pH", 9, "", 2, 5)); m != "pH is 9: allowed is 2 to 5" {
		t.Errorf("science's own words are kept: %q", m)
	}
}
