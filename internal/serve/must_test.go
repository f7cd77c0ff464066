package serve

import (
	"slices"
	"strings"
	"testing"

	"elevage/internal/demo"
)

// The demo's must, had it stopped at 1.057 and stood for days: its page says what
// holds it back and leads to a rescue; as it is, it says nothing of the kind.
func TestAFermentThatStands(t *testing.T) {
	t.Parallel()
	const causes = "What holds the ferment back"
	if page := demoToRead(t).get("/lots/nebbiolo"); page.Code != 200 {
		t.Fatal(page.Code)
	} else {
		if strings.Contains(page.Body, causes) {
			t.Error("a sound ferment is said to be held back")
		}
	}
	entries, err := demo.Entries(evening)
	if err != nil {
		t.Fatal(err)
	}
	entries = slices.Clone(entries)
	changed := 0
	for i, e := range entries {
		for _, was := range []string{`"1.038"`, `"1.024"`} {
			if body := string(e.Body); strings.Contains(body, `"bin2"`) && strings.Contains(body, was) {
				entries[i].Body = []byte(strings.ReplaceAll(body, was, `"1.057"`))
				changed++
			}
		}
	}
	if changed != 2 {
		t.Fatalf("%d readings changed, want 2: the demo has other figures", changed)
	}
	v := visit(t, demo.Key, entries)
	page := v.get("/lots/nebbiolo")
	page.shows(t, causes, "The same ferment without each", "What could be done today", "rescue culture", "its temperature not read")
	if !strings.Contains(page.Body, "/bench/rescue-culture?from=bin2") {
		t.Error("the page does not lead to the rescue culture")
	}
	v.get("/bench/rescue-culture?from=bin2").shows(t, "stuck wine")
}
