package cited_test

import (
	"testing"

	"elevage/science/cited"
)

// Only what was read, or reckoned from what was read, may be shown as a fact.
func TestFirm(t *testing.T) {
	t.Parallel()
	for mark, want := range map[cited.Mark]bool{
		cited.Read: true, cited.Computed: true,
		cited.SecondHand: false, cited.CommonPractice: false, cited.Memory: false, cited.Proposal: false, "": false,
	} {
		if mark.Firm() != want {
			t.Errorf("%q: firm is %v", mark, !want)
		}
	}
}
