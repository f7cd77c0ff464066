package serve

import (
	"crypto/rand"
	"crypto/subtle"
	"encoding/hex"
	"errors"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/feed"
)

// calendarPath is where a subscription is answered without a session, since a
// calendar program cannot type a pass-phrase: the token in the path is its key.
const calendarPath = "/calendar/"

// A calendarKey is the token of the calendar's address, kept in a file that only
// its owner can read. Renewing it ends every subscription made with the old one.
type calendarKey struct {
	mu   sync.Mutex
	file string // "" keeps it in memory only
	key  string
}

func newCalendarKey(folder string) *calendarKey {
	k := &calendarKey{}
	if folder != "" {
		k.file = filepath.Join(folder, "calendar.key")
	}
	return k
}

// current is the token, made when there is none.
func (k *calendarKey) current() (string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	if k.key != "" {
		return k.key, nil
	}
	if k.file != "" {
		raw, err := os.ReadFile(k.file)
		if err == nil && len(strings.TrimSpace(string(raw))) >= 32 {
			k.key = strings.TrimSpace(string(raw))
			return k.key, nil
		}
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return "", err
		}
	}
	return k.renewLocked()
}

func (k *calendarKey) renew() (string, error) {
	k.mu.Lock()
	defer k.mu.Unlock()
	return k.renewLocked()
}

func (k *calendarKey) renewLocked() (string, error) {
	raw := make([]byte, 24)
	if _, err := rand.Read(raw); err != nil {
		return "", err
	}
	key := hex.EncodeToString(raw)
	if k.file != "" {
		if err := os.WriteFile(k.file, []byte(key+"\n"), 0o600); err != nil {
			return "", err
		}
	}
	k.key = key
	return key, nil
}

// calendarPage says how to subscribe, and lets the address be renewed.
func (s *Server) calendarPage(w http.ResponseWriter, r *http.Request) error {
	key, err := s.calendar.current()
	if err != nil {
		return err
	}
	scheme := "http"
	if r.TLS != nil {
		scheme = "https"
	}
	p := s.page(r, "Calendar", "", struct{ Address, File string }{scheme + "://" + r.Host + calendarPath + key + ".ics", "/calendar.ics"})
	p.Lead = "What is planned, for the calendar on your phone."
	return s.kit.Render(w, http.StatusOK, "calendar", p)
}

func (s *Server) calendarRenew(w http.ResponseWriter, r *http.Request) error {
	if _, err := s.calendar.renew(); err != nil {
		return err
	}
	http.Redirect(w, r, "/calendar", http.StatusSeeOther)
	return nil
}

// calendarFile is the plan as a file, for calendars that cannot reach this computer.
func (s *Server) calendarFile(w http.ResponseWriter, r *http.Request) error {
	v, err := s.view(r.Context())
	if err != nil {
		return err
	}
	link := func(lot string) string { return addressOf(r, lotURL(lot)) }
	return writeCalendar(w, CalendarOf(v, s.Cellar, s.Title, link))
}

// calendarFeed answers a subscription.
func (s *Server) calendarFeed(w http.ResponseWriter, r *http.Request) error {
	key, err := s.calendar.current()
	if err != nil {
		return err
	}
	given := strings.TrimSuffix(r.PathValue("key"), ".ics")
	if subtle.ConstantTimeCompare([]byte(given), []byte(key)) != 1 {
		return fault.New(fault.NotFound, "calendar", "there is no calendar at this address; it may have been renewed")
	}
	return s.calendarFile(w, r)
}

func writeCalendar(w http.ResponseWriter, c feed.Calendar) error {
	var b strings.Builder
	if err := feed.Write(&b, c); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	w.Header().Set("Content-Disposition", `inline; filename="cellar.ics"`)
	_, err := w.Write([]byte(b.String()))
	return err
}

// CalendarOf is what is planned, for a calendar; link makes the address of a lot's
// page, nil for none.
func CalendarOf(v *desk.View, key, title string, link func(lot string) string) feed.Calendar {
	name := title
	if name == "" {
		name = "Cellar"
	}
	return feed.Calendar{Name: name, Stamp: v.Now, Refresh: 6 * time.Hour, Events: v.Plan.Calendar(key, link, nil)}
}
