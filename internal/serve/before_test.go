package serve

import (
	"regexp"
	"strconv"
	"testing"

	"elevage/science/malolactic"
)

// Before bacteria go in, a lot's page sets doing nothing, sprinkling, soaking, building a
// starter, warming and waiting side by side, as days and chances with their change.
func TestBeforeBacteriaAreGiven(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	page := v.get("/lots/dornfelder")
	page.shows(t, "If bacteria went in today", "as it is, sprinkled in", "do nothing: leave it to start by itself", "rehydrate the culture first", "build up a starter in this wine",
		"How rich its lees are, and nutrients, are not reckoned with.", "Divide one culture", "Keep a control sample", "When and how")
	on, err := v.view(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	st := on.In("c7")
	if st.Alone == nil || st.Alone.WithinSixty >= st.Outlook.Outlook.WithinSixty || st.Alone.Q50 <= st.Outlook.Outlook.Q50 {
		t.Errorf("left alone it would be %+v, with a culture %+v", st.Alone, st.Outlook.Outlook)
	}
	// By hand: √2·0.03, that over √3, and √2·hypot(0.03, 0.05). The rise for each g/L is the bench's
	// own, 0.107 for 2 g/L at pH 3.53 and 6.0 g/L; Bousbouras and Kunkee 1971 have up to 0.2 in a wine.
	page.shows(t, "a change of pH is then good to ± 0.04, or ± 0.024 with three readings of each, instead of ± 0.08", "rises by about 0.05 for each g/L")
	// The change in brackets is that of the figures shown.
	shown := regexp.MustCompile(`^(\d+)\x{a0}% \(([+−])(\d+)\)$`)
	rows := beforeOf(on, st).Table.Rows
	base, _ := strconv.Atoi(regexp.MustCompile(`^\d+`).FindString(rows[0][3]))
	changed := 0
	for _, row := range rows[1:] {
		m := shown.FindStringSubmatch(row[3])
		if m == nil {
			continue
		}
		now, _ := strconv.Atoi(m[1])
		by, _ := strconv.Atoi(m[3])
		if m[2] == "−" {
			by = -by
		}
		if changed++; now != base+by {
			t.Errorf("%s: %s, as it is %d", row[0], row[3], base)
		}
	}
	if changed < 3 {
		t.Errorf("%d rows tell a change: %q", changed, rows)
	}
	if lost := changeOf(float64(malolactic.Outlook{}.Q50), 0, " d"); lost != "" {
		t.Errorf("no change is %q", lost)
	}
}

// While must ferments, its page leads to when bacteria may go in, where they are wanted.
func TestMustLeadsToWhenBacteriaGoIn(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	v.get("/lots/nebbiolo").shows(t, "Bacteria: with the yeast, near dryness, or after pressing")
	v.get("/guides/giving-bacteria").shows(t, "if the yeast sticks, bacteria eat sugar and make vinegar", "nothing: leave it to start by itself", "Where sources and custom differ", "about 4 g for 250 L", "21 to 23 best, 20 slower")
}
