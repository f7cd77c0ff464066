package serve

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"net/http"
	"net/url"
	"slices"
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
func (s *Server) readLine(v *desk.View, text string) (line.Understood, []cellar.Warnings, ui.Understood) {
	u, err := line.Read(text, v.State, v.Now)
	if err != nil {
		return u, nil, notTaken(v, u.Like, err)
	}
	shown := ui.Understood{Entries: u.Says, Seen: seenOf(u)}
	weighed := cellar.WeighAll(v.State, v.Now, u.Drafts...)
	for i, d := range u.Drafts {
		for _, w := range append(slices.Clip(weighed[i]), v.Foresee(d)...) {
			kind := ui.Caution
			if w.Stop {
				kind = ui.Stopped
			}
			shown.Notices = append(shown.Notices, ui.Notice{Kind: kind, Text: w.Says})
		}
	}
	return u, weighed, shown
}

// notTaken says why a line was not understood, or was and cannot be: field by field what
// was given and what is wanted. Like is a line of the kind that was begun, or "".
func notTaken(v *desk.View, like string, err error) ui.Understood {
	fields := fault.FieldsOf(err)
	if len(fields) == 0 {
		return ui.Understood{Problem: fault.Message(err)}
	}
	shown := ui.Understood{At: fields[0].Given}
	for i, f := range fields {
		words := "Wanted is " + f.Allowed + "."
		if f.Name != "line" { // the words were understood
			shown.Impossible = true
			words = capital(f.Name) + ": allowed is " + f.Allowed + "."
			if i > 0 {
				words = capital(f.String()) + "."
			}
		}
		if f.Hint != "" {
			words += " " + capital(f.Hint)
		}
		shown.Problem = strings.TrimSpace(shown.Problem + " " + words)
	}
	switch {
	case shown.Impossible:
	case len(v.State.Vessels) == 0: // nothing else could be understood yet
		shown.Try = []string{"vessel c1 carboy 23 L", "lot merlot red"}
	case like != "":
		shown.Try = []string{like}
	}
	return shown
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
	_, _, shown := s.readLine(v, text)
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
	u, weighed, shown := s.readLine(v, text)
	if shown.Problem != "" || r.PostForm.Get("seen") != shown.Seen {
		status := http.StatusOK
		if shown.Problem != "" {
			status = http.StatusUnprocessableEntity
		}
		p := s.page(r, "Is this what happened?", "", nil)
		if shown.Problem != "" {
			p.Title = shown.Unable()
		}
		p.Here, p.Lead = "/", "Nothing is kept yet."
		p.Log, p.OwnLine = &ui.LogLine{Value: text, Understood: &shown}, true
		return s.kit.Render(w, status, "understood", p)
	}
	line := url.Values{"line": {text}, "seen": {shown.Seen}}
	var asked []cellar.Warning
	for i := range u.Drafts {
		held := weighed[i].Held()
		switch {
		case len(held) > 0 && overruled != "":
			u.Drafts[i].Overruled = overruled
		case len(weighed[i].Stops()) > 0:
			return s.askToOverrule(w, r, u.Says[i], "/log", line, held)
		default:
			asked = append(asked, held...)
		}
	}
	if len(asked) > 0 && r.PostForm.Get("warned") != warnedOf(asked) {
		return s.askAgain(w, r, strings.Join(u.Says, "; "), "/log", line, asked)
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

// saidOf are warnings in one paragraph.
func saidOf(warnings []cellar.Warning) string {
	says := make([]string, len(warnings))
	for i, w := range warnings {
		says[i] = w.Says
	}
	return strings.Join(says, " ")
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
	for i, weighed := range cellar.WeighAll(v.State, v.Now, u.Drafts...) {
		held := weighed.Held()
		if len(held) == 0 {
			continue
		}
		if overruled == "" {
			return out, fault.New(fault.Denied, "log", "%s It can be overruled in words that are kept.", saidOf(held))
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
