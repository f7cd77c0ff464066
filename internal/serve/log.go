package serve

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"time"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/line"
	"elevage/internal/serve/ui"
)

// seenOf is the token of what was shown: a line is only kept when it still means
// what the person read. The hour that a sentence without one takes from the
// clock does not count.
func seenOf(u line.Understood) string {
	said := sha256.New()
	for _, d := range u.Drafts {
		fmt.Fprintf(said, "%s %#v\n", d.Happened.Time.Format(time.DateOnly), cellar.Sentence(&cellar.Record{Body: d.Body}))
	}
	sum := said.Sum(nil)
	const enough = 12
	return hex.EncodeToString(sum[:enough])
}

// readLine takes a line apart and weighs it.
func (s *Server) readLine(v *desk.View, text string) (line.Understood, ui.Understood) {
	u, err := line.Read(text, v.State, v.Now)
	if err != nil {
		shown := ui.Understood{Problem: fault.Message(err), Try: wouldDo(v)}
		if f := fault.FieldsOf(err); len(f) > 0 && f[0].Given != "" {
			shown.At = f[0].Given
			shown.Problem = "Wanted is " + f[0].Allowed + "."
			if f[0].Hint != "" {
				shown.Problem += " " + capital(f[0].Hint)
			}
		}
		return u, shown
	}
	shown := ui.Understood{Entries: u.Says, Seen: seenOf(u)}
	for _, d := range u.Drafts {
		for _, w := range append(cellar.Weigh(v.State, d), v.Foresee(d)...) {
			kind := ui.Caution
			if w.Stop {
				kind = ui.Stopped
			}
			shown.Notices = append(shown.Notices, ui.Notice{Kind: kind, Text: w.Says})
		}
	}
	return u, shown
}

// wouldDo are lines of a kind that is read, about a vessel of this cellar if there is one.
func wouldDo(v *desk.View) []string {
	for _, st := range v.Standings {
		if st.Parcel.Form == cellar.FormWine {
			return []string{"ph 3.47 " + st.Vessel.Slug, "temp 18 " + st.Vessel.Slug}
		}
	}
	return []string{"vessel c1 carboy 23 L", "lot merlot red"}
}

// logPreview says what a line is taken to mean, for the page's script.
func (s *Server) logPreview(w http.ResponseWriter, r *http.Request) error {
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	text := r.FormValue("line")
	if strings.TrimSpace(text) == "" {
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	_, shown := s.readLine(v, text)
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	return s.kit.Part(w, "understood", shown)
}

// logLine shows what was understood, and keeps it once that was seen.
func (s *Server) logLine(w http.ResponseWriter, r *http.Request) error {
	if err := readForm(r); err != nil {
		return err
	}
	text, overruled := r.PostForm.Get("line"), strings.TrimSpace(r.PostForm.Get("overruled"))
	v, err := s.look(r.Context())
	if err != nil {
		return err
	}
	u, shown := s.readLine(v, text)
	if shown.Problem != "" || r.PostForm.Get("seen") != shown.Seen {
		status := http.StatusOK
		if shown.Problem != "" {
			status = http.StatusUnprocessableEntity
		}
		p := s.page(r, "Is this what happened?", "", nil)
		if shown.Problem != "" {
			p.Title = "Not understood"
		}
		p.Here, p.Lead = "/", "Nothing is kept yet."
		p.Log, p.OwnLine = &ui.LogLine{Value: text, Understood: &shown}, true
		return s.kit.Render(w, status, "understood", p)
	}
	for i := range u.Drafts {
		if stops := cellar.Weigh(v.State, u.Drafts[i]).Stops(); len(stops) > 0 && overruled == "" {
			return s.askToOverrule(w, r, u.Says[i], "/log", url.Values{"line": {text}, "seen": {shown.Seen}}, stops)
		} else if len(stops) > 0 {
			u.Drafts[i].Overruled = overruled
		}
	}
	kept, err := s.keep(r.Context(), s.now(), u.Drafts...)
	if err != nil {
		return err
	}
	s.backTo(w, r, kept)
	return nil
}

// Keep reads a typed line and keeps it: the same act for the API and the command
// line. Stops hold it back unless overruled in words.
func (s *Server) Keep(ctx context.Context, text, overruled string) (Logged, error) {
	return KeepLine(ctx, s.Desk, s.Config, text, overruled)
}

// Logged is what a typed line was taken to mean, and what came up with it.
type Logged struct {
	line.Understood
	Came []*cellar.Finding // decisions that rested on something else, and what does not add up
}

// KeepLine is Keep without a server.
func KeepLine(ctx context.Context, d *desk.Desk, c Config, text, overruled string) (out Logged, err error) {
	v, err := d.Look(ctx, c.Clock())
	if err != nil {
		return out, err
	}
	u, err := line.Read(text, v.State, v.Now)
	out.Understood = u
	if err != nil {
		return out, err
	}
	for i := range u.Drafts {
		stops := cellar.Weigh(v.State, u.Drafts[i]).Stops()
		if len(stops) == 0 {
			continue
		}
		if overruled == "" {
			says := make([]string, len(stops))
			for j, w := range stops {
				says[j] = w.Says
			}
			return out, fault.New(fault.Denied, "log", "%s It can be overruled in words that are kept.", strings.Join(says, " "))
		}
		u.Drafts[i].Overruled = overruled
	}
	entries, err := c.Pen.Write(c.Clock(), u.Drafts...)
	if err != nil {
		return out, err
	}
	if _, err := c.Ledger.Append(ctx, entries); err != nil {
		return out, err
	}
	if _, err := d.Look(ctx, c.Clock()); err == nil { // it is kept, whatever comes of looking again
		out.Came = d.Came(entries[0].ID)
	}
	return out, nil
}
