package serve

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"elevage/internal/advise"
	"elevage/internal/cellar"
	"elevage/internal/demo"
	"elevage/internal/desk"
)

// A program that is started again still knows which windows it showed: what moves
// because something was learned says from where, and what was learned; what hangs on a
// forecast and on nothing new stays where it stood.
func TestWindowsAreRememberedOverAStart(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	v := demoToRead(t)
	plan := must(v.view(t.Context())).Plan
	if Shown(dir) != nil || Shown("") != nil {
		t.Error("windows are remembered that nobody showed")
	}
	var act advise.Act
	for _, a := range plan.Acts {
		if a.About != nil && a.Standing == advise.Later && a.Parcel != "" {
			act = a
		}
	}
	if act.ID == "" {
		t.Fatal("no act of the demo hangs on a forecast")
	}
	shift := func(basis string) *advise.Act {
		t.Helper()
		old := plan.Windows()
		for i := range old.Acts {
			if old.Acts[i].ID == act.ID {
				on := advise.Day{Time: act.From.AddDate(0, 0, 20)}
				old.Acts[i].From, old.Acts[i].About, old.Acts[i].To, old.Acts[i].Basis = &on, &on, &on, basis
			}
		}
		if err := KeepShown(dir, old); err != nil {
			t.Fatal(err)
		}
		again := desk.New(v.book, demo.Key, desk.Options{Particles: fewDraws, Zone: evening.Location(), Shown: Shown(dir)})
		return must(again.View(t.Context(), evening)).Plan.Find(act.ID)
	}
	moved := shift("something else was known")
	if moved.Moved == nil || moved.Moved.From.Format(time.DateOnly) != act.From.AddDate(0, 0, 20).Format(time.DateOnly) || moved.Moved.Because == "" || moved.From.String() != act.From.String() {
		t.Errorf("after something was learned: %+v, from %v", moved.Moved, moved.From)
	}
	if still := shift(act.Basis); still.Moved != nil || still.From.Format(time.DateOnly) != act.From.AddDate(0, 0, 20).Format(time.DateOnly) {
		t.Errorf("though nothing was learned: %+v, from %v", still.Moved, still.From)
	}
	if err := os.WriteFile(filepath.Join(dir, shownFile), []byte("{half"), 0o600); err != nil {
		t.Fatal(err)
	}
	if Shown(dir) != nil {
		t.Error("a file that breaks off is read")
	}
}

// What was read in one wine before others were blended with it says so on the blend's page.
func TestReadBeforeTheBlend(t *testing.T) {
	t.Parallel()
	began := time.Date(2026, 11, 20, 12, 0, 0, 0, time.UTC)
	blend := &cellar.Parcel{Start: "b", Began: began, Inflows: []cellar.Inflow{{Entry: "b", From: "one", Share: 0.67}, {Entry: "b", From: "two", Share: 0.33}}}
	racked := &cellar.Parcel{Start: "b", Began: began, Inflows: []cellar.Inflow{{Entry: "b", From: "one", Share: 1}, {Entry: "later", From: "two", Share: 0.02}}}
	if !blendedSince(blend, began.AddDate(0, 0, -5)) {
		t.Error("a reading of one of the wines passes for the blend's")
	}
	if blendedSince(blend, began.AddDate(0, 0, 1)) || blendedSince(blend, began) {
		t.Error("the blend's own reading passes for one from before it")
	}
	if blendedSince(racked, began.AddDate(0, 0, -5)) {
		t.Error("a racked wine passes for a blend")
	}
}
