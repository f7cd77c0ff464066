package serve

import (
	"net/http"
	"net/url"
	"strings"

	"elevage/internal/cellar"
	"elevage/internal/serve/ui"
)

// A late entry or a strike can take the ground from under what was decided before it.
// The page that follows says so.

// follow leads on after entries were kept, to a page that tells what came up with them;
// to its head then, where that stands, and not to the place of the entry.
func (s *Server) follow(w http.ResponseWriter, r *http.Request, to string, kept []cellar.Entry) {
	if _, err := s.look(r.Context()); err == nil && len(kept) > 0 && len(s.Desk.Came(kept[0].ID)) > 0 {
		to, _, _ = strings.Cut(to, "#")
		to = withQuery(to, "after", string(kept[0].ID))
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
}

func withQuery(to, name, value string) string {
	join := "?"
	if strings.Contains(to, "?") {
		join = "&"
	}
	return to + join + name + "=" + url.QueryEscape(value)
}

// cameWith are notices of what came up with the entry that the page follows.
func (s *Server) cameWith(r *http.Request) []ui.Notice {
	id := r.URL.Query().Get("after")
	if id == "" {
		return nil
	}
	var out []ui.Notice
	for _, f := range s.Desk.Came(cellar.ID(id)) {
		n := findingNotice(f)
		if f.Lot != "" && n.Link != nil {
			n.Link.URL = lotURL(f.Lot) + n.Link.URL
		} else {
			n.Link = nil
		}
		out = append(out, n)
	}
	return out
}

// restedOf are the findings of a lot that tell of decisions, to stand at the head of
// its page.
func restedOf(findings []*cellar.Finding) (decisions, others []ui.Notice) {
	for _, f := range findings {
		if f.OfDecision() {
			decisions = append(decisions, findingNotice(f))
		} else {
			others = append(others, findingNotice(f))
		}
	}
	return decisions, others
}
