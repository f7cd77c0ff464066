package serve

import (
	"net/http"
	"net/url"

	"elevage/internal/desk"
	"elevage/internal/serve/ui"
)

// todayView is what there is to do, in the order of a walk.
type todayView struct {
	Empty   *ui.Empty
	Walk    []ui.Stop
	Spare   []ui.Stop // for when there is time
	Soon    []ui.Stop
	Waiting []ui.Stop
	Batches []ui.Notice
	Nothing string
	Back    *ui.ComeBack
}

func (s *Server) today(w http.ResponseWriter, r *http.Request) error {
	v, err := s.viewSoon(r)
	if err != nil {
		return err
	}
	p := s.page(r, "Today", ui.Today, s.todayOf(v))
	p.Lead = v.Now.Format("Monday 2 January")
	return s.kit.Render(w, http.StatusOK, "today", p)
}

func (s *Server) todayOf(v *desk.View) todayView {
	steps := firstSteps(v)
	if v.State.Lots.Len() == 0 && len(v.State.Vessels) == 0 {
		return todayView{Empty: steps}
	}
	t := s.planView(v)
	if steps != nil {
		t.Empty, t.Nothing = steps, ""
	}
	return t
}

// firstSteps is what a cellar says that holds nothing: what comes next on the way
// to a lot in a vessel. It is nil once there is one.
func firstSteps(v *desk.View) *ui.Empty {
	vessel, lot := ui.Link{Text: "Name a vessel", URL: "/write/vessel"}, ui.Link{Text: "Start a lot", URL: "/write/lot"}
	lots, vessels := v.State.Lots.Len(), len(v.State.Vessels)
	switch {
	case len(v.Standings) > 0:
		return nil
	case lots == 0 && vessels == 0:
		return &ui.Empty{Head: "Nothing is written here yet.",
			Text: "Name a vessel, start a lot, and say what comes in: fruit, juice or must, or wine. From then on one line logs anything: ph 3.47 b2. What is due, how much and why will stand on this page.",
			Do:   []ui.Link{vessel, lot, {Text: "Use the bench", URL: "/bench"}}}
	case lots == 0:
		vessel.Text = "Name another vessel"
		return &ui.Empty{Head: "A lot comes next.", Text: "A lot is a wine with a name and a history. Start one, then say whether it comes in as fruit, as juice or must, or as wine.", Do: []ui.Link{lot, vessel}}
	case vessels == 0:
		return &ui.Empty{Head: "A vessel comes next.", Text: "Say what is chalked on it and how much it holds; then put the lot into it.", Do: []ui.Link{vessel}}
	}
	return &ui.Empty{Head: "No vessel holds wine.", Text: "Say what came in, and what is due stands here.", Do: append(comingIn(""), lot, vessel)}
}

// comingIn are the ways in which a lot comes into a vessel; any lot if it is empty.
func comingIn(lot string) []ui.Link {
	query := ""
	if lot != "" {
		query = "?lot=" + url.QueryEscape(lot)
	}
	return []ui.Link{{Text: "Fruit received", URL: "/write/fruit" + query}, {Text: "Juice or must", URL: "/write/must" + query}, {Text: "Wine", URL: "/write/fill" + query}}
}
