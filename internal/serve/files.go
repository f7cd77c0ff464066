package serve

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"mime"
	"mime/multipart"
	"net/http"
	"net/url"
	"path"
	"strings"

	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/serve/ui"
)

// attachPath is where files are put to entries, writePath where entries are written, with
// a file if there is one; only there may a request be large.
const (
	attachPath = "/attach/"
	writePath  = "/write/"
)

// formRoom is what a form takes besides its file.
const formRoom = 1 << 20

type attachView struct {
	Entry  ui.LedgerLine
	Action string
	Fields []ui.Field
	Errors ui.FormErrors
	Back   string
}

// entryOf is the entry that a path names.
func (s *Server) entryOf(r *http.Request) (*desk.View, *cellar.Record, error) {
	v, err := s.look(r.Context())
	if err != nil {
		return nil, nil, err
	}
	rec := v.State.Record(cellar.ID(strings.ToLower(r.PathValue("id"))))
	if rec == nil || s.Files == nil {
		return nil, nil, fault.New(fault.NotFound, "attach", "there is no entry %q to which a file can be put", r.PathValue("id"))
	}
	return v, rec, nil
}

// attachForm asks for a picture or a paper that belongs to an entry.
func (s *Server) attachForm(w http.ResponseWriter, r *http.Request) error {
	return s.showAttach(w, r, http.StatusOK, "", nil)
}

func (s *Server) showAttach(w http.ResponseWriter, r *http.Request, status int, words string, wrong []fault.Field) error {
	v, rec, err := s.entryOf(r)
	if err != nil {
		return err
	}
	lines := s.withFiles(v, []ui.LedgerLine{s.ledgerLine(v, rec)})
	line := lines[0]
	line.Undo, line.Attach = nil, nil
	fields := []ui.Field{{Name: "file", Label: "Picture or paper", Kind: ui.File, Help: "A photograph, a laboratory's sheet: at most " + megabytes(s.Files.Most()) + "."},
		{Name: "words", Label: "Words", Value: words, Optional: true, Example: "paper after two hours"}}
	view := attachView{Entry: line, Action: attachPath + string(rec.Entry.ID), Back: s.homeOf(v.State, rec)}
	for _, bad := range wrong {
		at := 0
		if bad.Name == "words" {
			at = 1
		}
		fields[at].Error = joined(fields[at].Error, bad)
	}
	view.Fields, view.Errors = fields, ui.FormErrors{Fields: fields}
	p := s.page(r, "Put a picture to an entry", ui.Cellar, view)
	p.Up = &ui.Link{Text: "Ledger", URL: "/ledger"}
	return s.kit.Render(w, status, "attach", p)
}

func megabytes(n int64) string { return fmt.Sprintf("%d MiB", n>>20) }

// attachFile keeps a file and the entry that says whose it is.
func (s *Server) attachFile(w http.ResponseWriter, r *http.Request) error {
	v, rec, err := s.entryOf(r)
	if err != nil {
		return err
	}
	b, err := s.readAttachment(r)
	b.To = rec.Entry.ID
	wrong := fault.FieldsOf(err)
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		wrong = []fault.Field{{Name: "file", Given: b.Name, Allowed: "at most " + megabytes(s.Files.Most())}}
	}
	draft := cellar.Draft{Happened: cellar.At(s.now()), Body: b}
	if err == nil {
		wrong = fault.FieldsOf(draft.Check())
	}
	if len(wrong) > 0 {
		return s.showAttach(w, r, http.StatusUnprocessableEntity, b.Words, wrong)
	}
	if err != nil {
		return err
	}
	if _, err := s.keep(r.Context(), s.now(), draft); err != nil {
		return err
	}
	http.Redirect(w, r, s.homeOf(v.State, rec)+"#e-"+string(rec.Entry.ID), http.StatusSeeOther)
	return nil
}

// readAttachment reads the form part by part, so that a file goes to the disk as it comes.
func (s *Server) readAttachment(r *http.Request) (cellar.Attachment, error) {
	var b cellar.Attachment
	form, err := r.MultipartReader()
	if err != nil {
		return b, fault.BadFields("attach", fault.Field{Name: "file", Allowed: "a picture or a paper"})
	}
	for {
		part, err := form.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return b, wrongPart(err)
		}
		if err := s.readPart(&b, part); err != nil {
			return b, err
		}
	}
	if b.Digest == "" {
		return b, fault.BadFields("attach", fault.Field{Name: "file", Allowed: "a picture or a paper"})
	}
	return b, nil
}

func wrongPart(err error) error {
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		return err
	}
	return &fault.Error{Kind: fault.Invalid, Op: "read form", Text: "the form could not be read", Err: err}
}

func (s *Server) readPart(b *cellar.Attachment, part *multipart.Part) error {
	switch part.FormName() {
	case "words":
		words, err := io.ReadAll(io.LimitReader(part, formRoom))
		if err != nil {
			return wrongPart(err)
		}
		b.Words = strings.TrimSpace(string(words))
	case "file":
		if part.FileName() == "" { // none was chosen
			return nil
		}
		b.Name = part.FileName()
		kept, err := s.Files.Keep(part.FileName(), part)
		if err != nil {
			return err
		}
		b.Name, b.Type, b.Bytes, b.Digest = kept.Name, kept.Type, kept.Bytes, kept.Digest
	}
	return nil
}

// A form carries a picture on its first sending: it is kept as it comes, and what stands
// for it goes along with the answers until the entry is kept.
const (
	pictureField  = "picture"
	pictureDigest = "picture_kept"
	pictureName   = "picture_name"
)

// pictureAsked is the field for a picture, and a word about one that came already.
func (s *Server) pictureAsked(q url.Values) (ui.Field, []ui.Notice) {
	f := ui.Field{Name: pictureField, Label: "Picture or paper", Kind: ui.File, Optional: true, Left: "if there is one", Extra: true,
		Help: "A photograph, a laboratory's sheet: at most " + megabytes(s.Files.Most()) + "."}
	if q.Get(pictureDigest) == "" {
		return f, nil
	}
	f.Help = "Another one takes its place."
	return f, []ui.Notice{{Kind: ui.Told, Text: text(q, pictureName) + " goes with it."}}
}

// readAnswers reads a form that may carry a picture into r.PostForm. What is wrong with
// the picture is told by its field; the answers stay.
func (s *Server) readAnswers(r *http.Request) ([]fault.Field, error) {
	form, err := r.MultipartReader()
	if err != nil || s.Files == nil { // a form without files
		return nil, readForm(r)
	}
	r.PostForm = url.Values{}
	room := int64(formRoom)
	for {
		part, err := form.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, unreadable(err)
		}
		if part.FormName() != pictureField {
			value, err := io.ReadAll(io.LimitReader(part, room+1))
			if room -= int64(len(value)); err == nil && room < 0 {
				err = &http.MaxBytesError{Limit: formRoom}
			}
			if err != nil {
				return nil, unreadable(err)
			}
			r.PostForm.Add(part.FormName(), string(value))
			continue
		}
		if part.FileName() == "" { // none was chosen
			continue
		}
		kept, err := s.Files.Keep(part.FileName(), part)
		if wrong := s.wrongPicture(part.FileName(), err); err != nil {
			r.Form = r.PostForm
			return wrong, nil // it stands last in the form
		}
		r.PostForm.Set(pictureDigest, kept.Digest)
		r.PostForm.Set(pictureName, kept.Name)
	}
	r.Form = r.PostForm
	return nil, nil
}

func (s *Server) wrongPicture(name string, err error) []fault.Field {
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		return []fault.Field{{Name: pictureField, Given: name, Allowed: "at most " + megabytes(s.Files.Most())}}
	}
	fields := fault.FieldsOf(err)
	if err != nil && len(fields) == 0 {
		return []fault.Field{{Name: pictureField, Given: name, Allowed: "a file that can be kept here: " + fault.Message(err)}}
	}
	for i := range fields {
		fields[i].Name = pictureField
	}
	return fields
}

// pictureOf is the picture that came with a form's answers; false if none did.
func (s *Server) pictureOf(q url.Values) (cellar.Attachment, bool, []fault.Field) {
	digest := text(q, pictureDigest)
	if digest == "" || s.Files == nil {
		return cellar.Attachment{}, false, nil
	}
	f, err := s.Files.Open(digest)
	if err != nil {
		return cellar.Attachment{}, false, []fault.Field{{Name: pictureField, Given: text(q, pictureName), Allowed: "a picture or a paper; this one is not here any more: choose it again"}}
	}
	defer f.Close() //nolint:errcheck // read only
	return cellar.Attachment{Name: text(q, pictureName), Type: f.Type, Bytes: f.Bytes, Digest: digest}, true, nil
}

// file hands out a file: a picture to be seen, anything else to be saved.
func (s *Server) file(w http.ResponseWriter, r *http.Request) error {
	if s.Files == nil {
		return fault.New(fault.NotFound, "file", "there are no files here")
	}
	digest := "sha256:" + r.PathValue("digest")
	f, err := s.Files.Open(digest)
	if err != nil {
		return err
	}
	defer f.Close() //nolint:errcheck // read only
	h := w.Header()
	h.Set("Content-Type", "application/octet-stream")
	how := "attachment"
	if f.Inline() {
		h.Set("Content-Type", f.Type)
		how = "inline"
	}
	name := r.PathValue("digest")
	if v, err := s.look(r.Context()); err == nil {
		for rec := range attachments(v.State) {
			if b := rec.Body.(cellar.Attachment); b.Digest == digest {
				name = b.Name
			}
		}
	}
	h.Set("Content-Disposition", mime.FormatMediaType(how, map[string]string{"filename": path.Base(name)}))
	stays(h)
	info, err := f.Stat()
	if err != nil {
		return fault.Wrap(fault.Unavailable, "file", err)
	}
	http.ServeContent(w, r, "", info.ModTime(), f)
	return nil
}

// smallFile is a picture made small, for a ledger.
func (s *Server) smallFile(w http.ResponseWriter, r *http.Request) error {
	if s.Files == nil {
		return fault.New(fault.NotFound, "file", "there are no files here")
	}
	const edge = 320
	small, err := s.Files.Thumb("sha256:"+r.PathValue("digest"), edge)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "image/jpeg")
	stays(w.Header())
	_, err = w.Write(small)
	return err
}

// stays lets a browser keep a file, which never changes under its digest; nothing
// in it may run as a page.
func stays(h http.Header) {
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	h.Set("Cache-Control", "private, max-age=31536000, immutable")
}

// attachments are the files that belong to entries, those struck left out.
func attachments(state *cellar.State) iter.Seq[*cellar.Record] {
	return func(yield func(*cellar.Record) bool) {
		for _, rec := range state.Records.All() {
			if _, ok := rec.Body.(cellar.Attachment); ok && rec.Counts() && !yield(rec) {
				return
			}
		}
	}
}

// withFiles puts to each line of a ledger the files that belong to it, and takes
// out the lines of the attachments that are shown so.
func (s *Server) withFiles(v *desk.View, lines []ui.LedgerLine) []ui.LedgerLine {
	if s.Files == nil {
		return lines
	}
	at := make(map[string]int, len(lines))
	for i := range lines {
		at[lines[i].ID] = i
	}
	shown := map[string]bool{}
	for rec := range attachments(v.State) {
		b := rec.Body.(cellar.Attachment)
		i, ok := at[string(b.To)]
		if !ok {
			continue
		}
		shown[string(rec.Entry.ID)] = true
		digest := strings.TrimPrefix(b.Digest, "sha256:")
		file := ui.Attached{Name: b.Name, Words: b.Words, URL: "/files/" + digest, Undo: &ui.Link{Text: "strike", URL: "/strike/" + string(rec.Entry.ID)}}
		switch b.Type {
		case "image/jpeg", "image/png", "image/gif":
			file.Small = "/files/" + digest + "/small"
		}
		lines[i].Files = append(lines[i].Files, file)
	}
	kept := lines[:0]
	for _, l := range lines {
		if shown[l.ID] {
			continue
		}
		if l.Kind != string(cellar.KindAttachment) && l.Kind != string(cellar.KindStrike) && l.Strike == nil {
			l.Attach = &ui.Link{Text: "picture", URL: attachPath + l.ID}
		}
		kept = append(kept, l)
	}
	return kept
}
