package serve

import (
	"net/http"
	"net/url"

	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// rowsView is a form of several alike: a row of questions for each vessel, and one
// button for all.
type rowsView struct {
	Action, Button string
	Nothing        string
	Rows           []rowView
	When           []ui.Field
	Errors         ui.FormErrors
	Others         []ui.Notice
	Warned         string
	Do             []ui.Link
}

type rowView struct {
	Head, Says string
	Fields     []ui.Field
}

// answer puts what was typed, and what is wrong with it, into the rows.
func (v *rowsView) answer(q url.Values, wrong []fault.Field) {
	var none form
	for i := range v.Rows {
		v.Rows[i].Fields, _ = answered(none, v.Rows[i].Fields, nil, q, wrong)
		v.Errors.Fields = append(v.Errors.Fields, v.Rows[i].Fields...)
	}
	v.When, _ = answered(none, v.When, nil, q, wrong)
	v.Errors.Fields = append(v.Errors.Fields, v.When...)
	asked := map[string]bool{}
	for _, f := range v.Errors.Fields {
		asked[f.Name] = true
	}
	for _, bad := range wrong {
		if !asked[bad.Name] {
			v.Others = append(v.Others, ui.Notice{Kind: ui.Stopped, Head: "Not kept.", Text: bad.String()})
		}
	}
}

func (s *Server) showRows(w http.ResponseWriter, r *http.Request, status int, title, lead string, up ui.Link, view rowsView) error {
	p := s.page(r, title, "", view)
	p.Lead, p.Up = lead, &up
	return s.kit.Render(w, status, "rows", p)
}
