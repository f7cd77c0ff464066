package advise

import (
	"math"
	"regexp"
	"strings"
	"testing"

	"elevage/science/cited"
)

// followable is what lets a reader find a publication: its title in quotation
// marks, a journal with volume and page, the number of a rule, a standard or a
// table of constants, or the address of a page. An author and a year alone do not.
var followable = regexp.MustCompile(`“[^”]{8,}”|[a-z] \d+:\d+|\d+ CFR \d+\.\d+|Reg\. \(E[CEU]+\) (No )?\d+/\d+|\bOIML R \d+ \(\d{4}\)|OIV-[A-Z0-9-]+|IUPAC atomic weights|[a-z]+\.[a-z]+\.au[/,]\S*`)

// Whatever a protocol says was read, or was computed from what was read, names a
// publication that a reader can find; the rest says itself that there is none.
func TestSourcesCanBeFollowed(t *testing.T) {
	t.Parallel()
	quoted := 0
	for _, p := range BuiltIn().Protocols {
		for _, s := range p.Steps {
			switch s.Source.Mark {
			case cited.Read, cited.Computed, cited.SecondHand:
				quoted++
				if !followable.MatchString(s.Source.Text) {
					t.Errorf("%s of %s is marked %q, and nobody can find %q", s.ID, p.Name, s.Source.Mark, s.Source.Text)
				}
			}
			if nickname := regexp.MustCompile(`AWRI, [a-z]|Purdue FS|\bpages?\b\)?$| pages? \(`).FindString(s.Source.Text); nickname != "" {
				t.Errorf("%s of %s cites a nickname, %q in %q", s.ID, p.Name, nickname, s.Source.Text)
			}
		}
	}
	if quoted < 20 {
		t.Errorf("%d steps rest on a publication", quoted)
	}
	for _, loose := range []string{"density of wine at 12.5 % vol between 10 and 25 °C", "molecular share of free SO2 against pH",
		"Theron and others 2022 (composite samples)", "AWRI, packaging page", "UC Davis, volatile acidity", "Purdue FS-56"} {
		if followable.MatchString(loose) {
			t.Errorf("%q passes for a source", loose)
		}
	}
}

// What steps say was computed comes out again from what they name: atomic weights
// as IUPAC gives them (abridged, 2021), the pK of their own text, and the two
// spreads of a hand meter that it recalls.
func TestComputedSources(t *testing.T) {
	t.Parallel()
	const c, h, o = 12.011, 1.008, 15.999
	malic, tartaric, hexose, dioxide := 4*c+6*h+5*o, 4*c+6*h+6*o, 6*c+12*h+6*o, c+2*o
	share := func(pH float64) float64 { return 1 / (1 + math.Pow(10, pH-1.81)) }
	for _, want := range []struct {
		protocol, step, says string
		value, printed, half float64
	}{
		{"malolactic", "titrate-before-culture", "0.560 g/g", tartaric / malic / 2, 0.560, 0.0005},
		{"cellar-hygiene", "air-the-room", "0.489 g", 2 * dioxide / hexose, 0.489, 0.0005},
		{"malolactic", "keep-control", "= 0.08 between two sessions", math.Sqrt2 * math.Hypot(0.03, 0.05), 0.08, 0.005},
		{"malolactic", "keep-control", "= 0.024 with three readings", 0.03 * math.Sqrt(2./3), 0.024, 0.0005},
		{"keeping", "read-ph-for-sulfite", "10^(pH − 1.81)", share(3.5) / share(3.6), 1.25, 0.02}, // "a quarter" for 0.1 of pH
	} {
		var found *Step
		for _, s := range BuiltIn().Find(want.protocol).Steps {
			if s.ID == want.step {
				found = s
			}
		}
		if found == nil || !strings.Contains(found.Source.Text, want.says) {
			t.Fatalf("%s of %s does not say %q", want.step, want.protocol, want.says)
		}
		if math.Abs(want.value-want.printed) > want.half {
			t.Errorf("%s: %v is printed for %v", want.step, want.printed, want.value)
		}
	}
}
