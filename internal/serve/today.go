package serve

import (
	"net/http"

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
	if v.State.Lots.Len() == 0 && len(v.State.Vessels) == 0 {
		return todayView{Empty: firstSteps()}
	}
	return s.planView(v)
}

// firstSteps is what an empty cellar says.
func firstSteps() *ui.Empty {
	return &ui.Empty{
		Head: "Nothing is written here yet.",
		Text: "Name a vessel, start a lot, and put the wine into the vessel. From then on one line logs anything: ph 3.47 b2. What is due, how much and why will stand on this page.",
		Do:   []ui.Link{{Text: "Name a vessel", URL: "/write/vessel"}, {Text: "Start a lot", URL: "/write/lot"}, {Text: "Use the bench", URL: "/bench"}},
	}
}
