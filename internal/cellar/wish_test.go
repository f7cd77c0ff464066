package cellar

import "testing"

// A wine put together from several lots is meant to convert, or not, as all of them are;
// where they do not agree, or one said nothing, nothing is decided.
func TestWishOfAWinePutTogether(t *testing.T) {
	t.Parallel()
	q := newQuill(t)
	for slug, wish := range map[string]string{"w1": MalolacticWanted, "w2": MalolacticWanted, "k1": MalolacticKeptFrom, "open": MalolacticOpen} {
		q.do(LotStarted{Slug: slug, Malolactic: wish}, VesselNamed{Slug: "v" + slug, Size: M("225", "L")}, Movement{How: "filling", Lot: slug, To: []Portion{{Vessel: "v" + slug, Volume: M("200", "L")}}})
	}
	blend := func(becomes string, from ...string) {
		b := Movement{How: "blending", Becomes: becomes, To: []Portion{{Vessel: "v" + becomes}}}
		for _, f := range from {
			b.From = append(b.From, Portion{Vessel: "v" + f, Volume: M("10", "L")})
		}
		q.do(VesselNamed{Slug: "v" + becomes, Size: M("54", "L")}, b)
	}
	for _, slug := range []string{"both", "mixed", "unsaid", "second", "said", "never"} {
		q.do(LotStarted{Slug: slug})
	}
	q.do(LotStarted{Slug: "said", Malolactic: MalolacticKeptFrom, Anew: true})
	blend("both", "w1", "w2")
	blend("mixed", "w1", "k1")
	blend("unsaid", "w1", "open")
	blend("second", "both", "w2") // a blend of a blend
	blend("said", "w1", "w2")
	q.do(Movement{How: "topping", From: []Portion{{Vessel: "vopen", Volume: M("1", "L")}}, To: []Portion{{Vessel: "vboth", Volume: M("1", "L")}}}) // is no parent
	s := q.fold()
	for slug, want := range map[string]string{"w1": MalolacticWanted, "k1": MalolacticKeptFrom, "open": MalolacticOpen, "both": MalolacticWanted, "mixed": MalolacticOpen,
		"unsaid": MalolacticOpen, "second": MalolacticWanted, "said": MalolacticKeptFrom, "never": MalolacticOpen} {
		if got := s.Wish(s.Lot(slug)); got != want {
			t.Errorf("%s: %q, want %q", slug, got, want)
		}
	}
	if got := s.Wish(nil); got != MalolacticOpen {
		t.Errorf("no lot: %q", got)
	}
	// It follows what is said of the lots that went in, later too.
	q.do(LotStarted{Slug: "w2", Malolactic: MalolacticKeptFrom, Anew: true})
	if s := q.fold(); s.Wish(s.Lot("both")) != MalolacticOpen {
		t.Errorf("w2 is kept from it now, and both is %q", s.Wish(s.Lot("both")))
	}
}
