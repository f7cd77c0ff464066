package line

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"elevage/internal/cellar"
)

var update = flag.Bool("update", false, "rewrite the reference page")

// TestReference compares docs/log.md with the grammar it is made from.
func TestReference(t *testing.T) {
	const file = "../../docs/log.md"
	want := reference()
	if *update {
		if err := os.WriteFile(file, []byte(want), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := os.ReadFile(file)
	if err != nil || string(got) != want {
		t.Errorf("%s is not what the grammar says (%v); rewrite it with: go test ./internal/line -run Reference -update", file, err)
	}
}

// Every line of the guide that begins with a word of the grammar is understood, in a
// cellar that has what the guide names.
func TestLinesOfTheGuideAreUnderstood(t *testing.T) {
	guide, err := os.ReadFile("../../docs/guide.md")
	if err != nil {
		t.Fatal(err)
	}
	s := guideState(t)
	first := map[string]bool{}
	for _, w := range allFirstWords() {
		first[w] = true
	}
	known := func(text string) bool {
		word, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
		return rest != "" && (first[word] || strings.HasPrefix(word, "+"))
	}
	read := 0
	check := func(text string) {
		if !known(text) {
			return
		}
		read++
		if _, err := Read(text, s, now); err != nil {
			t.Errorf("the guide says %q: %v", text, err)
		}
	}
	for _, l := range strings.Split(string(guide), "\n") {
		if code, ok := strings.CutPrefix(l, "    "); ok {
			if quoted, ok := strings.CutPrefix(code, "elevage log '"); ok {
				for _, one := range strings.Split(strings.TrimSuffix(quoted, "'"), ";") {
					if !strings.Contains(one, "vessel ") && !strings.Contains(one, "lot ") && !strings.Contains(one, "instrument ") { // those are there already
						check(one)
					}
				}
				continue
			}
			check(code)
			continue
		}
		for i, span := range strings.Split(l, "`") {
			if i%2 == 1 {
				check(span)
			}
		}
	}
	if read < 25 {
		t.Errorf("only %d lines of the guide were read", read)
	}
}

// guideState is a cellar with the vessels and lots that the guide names.
func guideState(t *testing.T) *cellar.State {
	t.Helper()
	pen := cellar.Pen{Cellar: "test", Random: rand.NewChaCha8([32]byte{4})}
	bodies := []cellar.Body{cellar.LotStarted{Slug: "gamay"}, cellar.LotStarted{Slug: "rose"}, cellar.InstrumentNamed{Slug: "meter", Type: "ph-meter"}}
	for _, v := range []string{"bin1", "bin2", "d1", "c1", "c2", "c3", "b2", "b3"} {
		size := cellar.M("54", "L")
		if strings.HasPrefix(v, "bin") {
			size = cellar.M("200", "L")
		}
		bodies = append(bodies, cellar.VesselNamed{Slug: v, Type: "demijohn", Size: size},
			cellar.Movement{Lot: "gamay", To: []cellar.Portion{{Vessel: v, Volume: cellar.M("50", "L")}}})
	}
	bodies = append(bodies, cellar.VesselNamed{Slug: "spare", Type: "jug", Size: cellar.M("9", "L")}, cellar.Movement{Lot: "gamay", To: []cellar.Portion{{Vessel: "spare", Volume: cellar.M("9", "L")}}},
		cellar.Bottling{Slug: "gamay-bottles", From: []cellar.Portion{{Vessel: "spare", All: true}}, Count: 12, Size: cellar.M("750", "mL")})
	var drafts []cellar.Draft
	for _, b := range bodies {
		drafts = append(drafts, cellar.Draft{Happened: cellar.At(now.AddDate(0, 0, -9)), Body: b})
	}
	entries, err := pen.Write(now, drafts...)
	if err != nil {
		t.Fatal(err)
	}
	return cellar.Fold(entries, cellar.Options{Now: now})
}

func reference() string {
	var b strings.Builder
	b.WriteString(`# The typed line

Made from the grammar in ` + "`internal/line`" + `; do not edit.

One line logs anything. What it was taken to mean is shown before it is kept. Before the sentence may stand a day and an hour
(` + "`yesterday`, `2026-11-03`, `3 nov`, `19:30`" + `); without them it is now. Several sentences are parted by semicolons; a day holds for those that follow it. A comma is a decimal
comma. A bare number has the usual unit; another is written after it (` + "`66F`, `6 gal`, `9 min`" + `).

| says | for example |
| --- | --- |
`)
	for _, g := range Grammar {
		fmt.Fprintf(&b, "| %s | `%s` |\n", g.Means, g.Example)
	}
	b.WriteString("\nA reading may be followed by `to 8.2` (end point), `as tartaric` (acid), `by aspiration` (method), `with meter` (instrument), `at 27C` (temperature of the sample), `degassed`, `control`.\n\n## What is refused, and what is asked\n\nRefused is what nothing could make true: more than a vessel is large, put in or taken out at once (a tenth over its written size passes);\na temperature, pH or strength that no wine can have (`set 90 C b2`). The answer names the figure, what was given and what is allowed.\nAsked is what cannot be by the record so far: wine from an empty vessel, more than it holds, more than there is room for. The answer says how\nmuch there is, and the line is kept when it is sent again all the same, since what filled the vessel may be written down later, with its own\nday (`yesterday filled c3 22 L merlot`). `elevage log` and programs then want a few words, `--overruled \"not written down yet\"`, which are\nkept. In one line of several sentences, what an earlier one brings is there for the later ones.\n\n## What can be read\n\n| write | reads | unit without one |\n| --- | --- | --- |\n")
	for i := range cellar.Readables {
		r := &cellar.Readables[i]
		unit := r.Unit
		if len(r.Words) > 0 {
			unit = strings.Join(r.Words, ", ")
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s |\n", strings.Join(append([]string{r.What}, r.Also...), "`, `"), r.Title, unit)
	}
	b.WriteString("\n## What can be added\n\n| write | adds |\n| --- | --- |\n")
	for i := range cellar.Products {
		p := &cellar.Products[i]
		fmt.Fprintf(&b, "| `%s` | %s |\n", strings.Join(append([]string{p.Name}, p.Also...), "`, `"), p.Title)
	}
	return b.String()
}
