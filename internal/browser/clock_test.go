package browser

import (
	"strings"
	"testing"
	"time"

	"elevage/internal/demo"
)

// The timetable of a culture on the phone: a tap begins it, each step counts down, the
// one that is due stands out, and a reload loses nothing.
func TestTimetableCountsDown(t *testing.T) {
	entries, err := demo.Entries(time.Now())
	if err != nil {
		t.Fatal(err)
	}
	b := open(t, demo.Key, entries)
	b.show("/clock/yeast-rehydration?volume_l=100&must_c=18", 390)
	if n := ask[int](b, `document.querySelectorAll('[data-due]').length`); n != 0 {
		t.Errorf("%d steps run before the start", n)
	}
	ask[bool](b, `(() => { document.querySelector('.clock-start button').click(); return true })()`)
	b.waits("the start stands in the address", `location.search.includes('began=')`)
	left := `[...document.querySelectorAll('[data-clock-left]')].map(n => n.textContent).join('|')`
	b.waits("it counts down", left+`.startsWith('now|in ')`)
	first := ask[string](b, left)
	b.waits("a second passes", left+` !== '`+first+`'`)
	if due := ask[string](b, `document.querySelector('[aria-current=step] .clock-do').textContent`); !strings.HasPrefix(due, "Sprinkle ") {
		t.Errorf("what is due is %q", due)
	}
	if ask[bool](b, `document.documentElement.scrollWidth > innerWidth`) {
		t.Error("the page slides sideways")
	}
	ask[bool](b, `(() => { const u = new URL(location.href), t = new Date(Date.now() - 24 * 60000); u.searchParams.set('began', new Date(t - t.getTimezoneOffset() * 60000).toISOString().slice(0, 16)); location.href = u; return true })()`)
	b.waits("24 minutes on, the second step is due", `document.querySelectorAll('[data-over]').length === 1 && document.querySelector('[aria-current=step] .clock-do').textContent.startsWith('Stir.')`)
}
