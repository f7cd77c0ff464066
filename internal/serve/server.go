// Package serve shows a cellar: pages for people, an API for programs, and the
// door that both stand behind. It does no arithmetic on wine; figures come from
// the desk and the bench.
//
//	s, err := serve.New(serve.Config{Desk: d, Ledger: book, Cellar: "home", Clock: time.Now})
//	http.Serve(listener, door.Guard(s))
//
// Every page works without JavaScript. One file holds one page or one act.
package serve

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"net/http"
	"strings"
	"sync/atomic"
	"time"

	"elevage/internal/attach"
	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/ledger"
	"elevage/internal/serve/ui"
)

//go:embed pages/*.html
var pageFiles embed.FS

// Config is what a server is made of.
type Config struct {
	Desk   *desk.Desk
	Ledger ledger.Ledger
	Cellar string // key of the cellar in the ledger
	Title  string // the cellar's name for people
	Invent bool   // the data is invented, and every page says so
	Pen    cellar.Pen
	Clock  func() time.Time
	Zone   *time.Location
	Folder string        // where the server keeps its own small files; "" keeps them in memory
	Files  *attach.Store // pictures and papers that belong to entries; nil for none
	Log    *slog.Logger
}

// Server answers for one cellar.
type Server struct {
	Config
	kit      *ui.Kit
	mux      *http.ServeMux
	calendar *calendarKey

	lastShown atomic.Pointer[desk.View]
}

// New makes a server; the error says what in the program's own pages is broken.
func New(c Config) (*Server, error) {
	if c.Clock == nil || c.Desk == nil || c.Ledger == nil {
		return nil, errors.New("serve: a desk, a ledger and a clock are needed")
	}
	if c.Zone == nil {
		c.Zone = time.Local
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	pages, err := fs.Sub(pageFiles, "pages")
	if err != nil {
		return nil, err
	}
	kit, err := ui.New(pages)
	if err != nil {
		return nil, err
	}
	s := &Server{Config: c, kit: kit, mux: http.NewServeMux(), calendar: newCalendarKey(c.Folder)}
	s.routes()
	return s, nil
}

func (s *Server) routes() {
	s.mux.Handle(ui.AssetPrefix, s.kit.Assets())
	s.mux.Handle("POST /theme", ui.ThemeSwitch())
	page := func(pattern string, h func(http.ResponseWriter, *http.Request) error) {
		s.mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
			err := h(w, r)
			if errors.Is(err, errReckoning) {
				err = s.reckoning(w, r)
			}
			if err != nil {
				s.problem(w, r, err)
			}
		})
	}
	page("GET /{$}", s.today)
	page("GET /cellar", s.cellarPage)
	page("GET /ledger", s.ledgerPage)
	page("GET /lots/{lot}", s.lotPage)
	page("GET /bench", s.benchPage)
	page("GET /bench/{name}", s.calculatorPage)
	page("GET /clock/{name}", s.clockPage)
	page("GET /guides/{guide}", s.guidePage)
	page("GET /log/preview", s.logPreview)
	page("POST /log/preview", s.logPreview)
	page("POST /log", s.logLine)
	page("GET /write", s.writeMenu)
	page("GET /write/{form}", s.writeForm)
	page("POST /write/{form}", s.writeEntry)
	page("GET /strike/{id}", s.strikeForm)
	page("POST /strike/{id}", s.strikeEntry)
	page("GET "+attachPath+"{id}", s.attachForm)
	page("POST "+attachPath+"{id}", s.attachFile)
	page("GET /files/{digest}", s.file)
	page("GET /files/{digest}/small", s.smallFile)
	page("GET /tick/{act...}", s.tickForm)
	page("POST /tick/{act...}", s.tickAct)
	page("GET /away", s.awayPage)
	page("GET /compare", s.comparePage)
	page("GET /account", s.accountPage)
	page("GET /went", s.wentPage)
	page("GET /went/{entry}", s.wentPage)
	page("GET /vessels", s.vesselsPage)
	page("GET /blend", s.blendPage)
	page("GET /blend/own", s.ownPage)
	page("GET /blend/make", s.makeForm)
	page("POST /blend/make", s.makeBlend)
	page("GET /blend/trial", s.trialPage)
	page("POST /blend/trial", s.trialEntry)
	page("GET /blend/tastings", s.tastingsPage)
	page("GET /rounds", s.roundsPage)
	page("POST /rounds", s.keepRounds)
	page("GET /walk", s.walkPage)
	page("POST /walk", s.keepWalk)
	page("GET /lots/{lot}/protocol", s.protocolPage)
	page("POST /lots/{lot}/protocol", s.keepProtocol)
	page("GET /bottles", s.bottlesPage)
	page("GET /doubts", s.doubtsPage)
	page("GET /meters", s.metersPage)
	page("GET /made", s.madePage)
	page("GET /calendar", s.calendarPage)
	page("POST /calendar", s.calendarRenew)
	page("GET /calendar.ics", s.calendarFile)
	page("GET "+calendarPath+"{key}", s.calendarFeed)
	page("GET /cards/tonight", s.tonightCard)
	page("GET /cards/lots/{lot}", s.lotCards)
	page("GET /cards/starter/{vessel}", s.starterCard)
	page("GET /cards/steps/{name}", s.stepsCardPage)
	page("GET /cards/bottling/{vessel}", s.bottlingCard)
	page("GET /cards/trial", s.trialCard)
	page("GET /cards/blend", s.blendCards)
	page("GET /cards/blend-key", s.blendKeyCard)
	page("GET /cards/chromatography", s.chromatographyCard)
	s.api()
	page("/", func(http.ResponseWriter, *http.Request) error {
		return fault.New(fault.NotFound, "find page", "there is no page here")
	})
}

// ServeHTTP answers a request that has come through the door.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	// Forms of a cellar are small; a larger body is a mistake or an attack, unless a
	// file comes with it.
	most := int64(formRoom)
	carries := strings.HasPrefix(r.URL.Path, writePath) && strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/")
	if s.Files != nil && (strings.HasPrefix(r.URL.Path, attachPath) || carries) {
		most += s.Files.Most()
	}
	r.Body = http.MaxBytesReader(w, r.Body, most)
	s.mux.ServeHTTP(w, r)
}

// Warm computes what the first page needs, so that it need not wait for it.
func (s *Server) Warm(ctx context.Context) {
	if _, err := s.view(ctx); err != nil && ctx.Err() == nil {
		s.Log.ErrorContext(ctx, "the cellar could not be read", "error", err)
	}
}

// now is the moment in the cellar's own zone.
func (s *Server) now() time.Time { return s.Clock().In(s.Zone) }

// view is what lies on the desk now.
func (s *Server) view(ctx context.Context) (*desk.View, error) {
	v, err := s.Desk.View(ctx, s.now())
	if err == nil {
		s.shown(v)
	}
	return v, err
}

// shown keeps what a plan showed, once for each plan.
func (s *Server) shown(v *desk.View) {
	if s.lastShown.Swap(v) == v {
		return
	}
	if err := KeepShown(s.Folder, v.Plan); err != nil {
		s.Log.Warn("the windows shown could not be kept", "error", err)
	}
	if err := KeepBeliefs(s.Folder, s.Desk); err != nil {
		s.Log.Warn("the beliefs could not be kept", "error", err)
	}
}

// page fills in what every page says.
func (s *Server) page(r *http.Request, title string, place ui.Place, body any) ui.Page {
	return ui.Page{Title: title, Place: place, Cellar: s.Title, Invent: s.Invent, Theme: ui.ThemeOf(r), Now: s.now(),
		Here: r.URL.RequestURI(), Log: &ui.LogLine{}, Notes: s.cameWith(r), Body: body}
}

// problem answers with what went wrong, in words for the person; what lies
// beneath goes to the log only.
func (s *Server) problem(w http.ResponseWriter, r *http.Request, err error) {
	kind := fault.KindOf(err)
	if kind == fault.Internal {
		s.Log.ErrorContext(r.Context(), "request failed", "method", r.Method, "path", loggable(r.URL.Path), "error", err)
	}
	p := s.page(r, problemTitle[kind], "", nil)
	p.Notes = []ui.Notice{{Kind: ui.Stopped, Head: problemTitle[kind] + ".", Text: fault.Message(err)}}
	if renderErr := s.kit.Render(w, StatusOf(err), "plain", p); renderErr != nil {
		s.Log.ErrorContext(r.Context(), "problem page failed", "error", renderErr)
		http.Error(w, fault.Message(err), StatusOf(err))
	}
}

// loggable keeps the calendar's key out of logs.
func loggable(path string) string {
	if strings.HasPrefix(path, calendarPath) {
		return calendarPath + "…"
	}
	return path
}

var problemTitle = map[fault.Kind]string{
	fault.Internal: "Something went wrong here", fault.Invalid: "Not understood", fault.NotFound: "Not found",
	fault.Conflict: "It contradicts what is kept", fault.Denied: "Not permitted", fault.Unavailable: "Not just now",
}

// StatusOf is the HTTP status for an error.
func StatusOf(err error) int {
	var big *http.MaxBytesError
	if errors.As(err, &big) {
		return http.StatusRequestEntityTooLarge
	}
	switch fault.KindOf(err) {
	case fault.Invalid:
		return http.StatusUnprocessableEntity
	case fault.NotFound:
		return http.StatusNotFound
	case fault.Conflict:
		return http.StatusConflict
	case fault.Denied:
		return http.StatusForbidden
	case fault.Unavailable:
		return http.StatusServiceUnavailable
	}
	return http.StatusInternalServerError
}

// AskPhrase is the page of a door that asks for its pass-phrase.
func (s *Server) AskPhrase(w http.ResponseWriter, r *http.Request, status int, to, trouble string) {
	p := s.page(r, "The cellar door", "", struct {
		Field ui.Field
		To    string
	}{ui.Field{Name: "phrase", Label: "Pass-phrase", Kind: ui.Secret, Error: trouble, Complete: "current-password"}, to})
	p.Bare, p.Cellar, p.Invent = true, "", false
	if err := s.kit.Render(w, status, "enter", p); err != nil {
		s.Log.ErrorContext(r.Context(), "door page failed", "error", err)
	}
}

// parcelName speaks of a parcel: "b2", the vessel that holds it.
func parcelName(s *desk.Standing) string { return s.Vessel.Title() }

// plural is "1 lot", "3 lots".
func plural(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}
