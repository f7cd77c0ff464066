package serve

import (
	"context"
	"errors"
	"net/http"
	"strings"
	"time"

	"elevage/internal/desk"
	"elevage/internal/serve/ui"
)

// patience is how long a page waits for beliefs before it says how far they are;
// atFirst when the program has just begun, and all of them are to be computed.
const (
	patience = 700 * time.Millisecond
	atFirst  = 100 * time.Millisecond
)

// errReckoning says that beliefs are still being computed.
var errReckoning = errors.New("still reckoning")

// viewSoon is view for pages: it does not keep a person waiting. What takes
// longer goes on by itself and is there the next time.
func (s *Server) viewSoon(r *http.Request) (*desk.View, error) {
	type answer struct {
		view *desk.View
		err  error
	}
	ready := make(chan answer, 1)
	go func() {
		v, err := s.view(context.WithoutCancel(r.Context()))
		ready <- answer{v, err}
	}()
	waits := patience
	if !s.Desk.Ready() {
		waits = atFirst
	}
	wait := time.NewTimer(waits)
	defer wait.Stop()
	select {
	case a := <-ready:
		return a.view, a.err
	case <-wait.C:
		return nil, errReckoning
	case <-r.Context().Done():
		return nil, r.Context().Err()
	}
}

// look is the cellar without beliefs: what a form or a typed line needs, at once,
// also while beliefs are being computed.
func (s *Server) look(ctx context.Context) (*desk.View, error) { return s.Desk.Look(ctx, s.now()) }

// reckoning shows how far the beliefs are, and looks again in a second.
func (s *Server) reckoning(w http.ResponseWriter, r *http.Request) error {
	done, of := s.Desk.Working()
	p := s.page(r, "Reckoning", "", ui.Progress{Name: "What is believed of each vessel", Done: done, Of: of, Note: "The page comes by itself."})
	// The address is named, since one with a fragment would only be scrolled in.
	w.Header().Set("Refresh", "1; url=/"+strings.TrimLeft(r.URL.RequestURI(), "/"))
	return s.kit.Render(w, http.StatusOK, "reckoning", p)
}
