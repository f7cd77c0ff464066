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

	"elevage/internal/advise"
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
	return writeCalendar(w, v, s.Title)
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

func writeCalendar(w http.ResponseWriter, v *desk.View, title string) error {
	var b strings.Builder
	if err := feed.Write(&b, CalendarOf(v, title)); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	w.Header().Set("Content-Disposition", `inline; filename="cellar.ics"`)
	_, err := w.Write([]byte(b.String()))
	return err
}

// revisionsFrom is where the count of revisions begins; an event's revision is
// the minute it was written, so that it never falls behind an earlier one.
var revisionsFrom = time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)

// CalendarOf is what is planned as whole-day events: an act on its likeliest day,
// or the first of its window. Acts that wait on something have no day yet.
func CalendarOf(v *desk.View, title string) feed.Calendar {
	name := title
	if name == "" {
		name = "Cellar"
	}
	c := feed.Calendar{Name: name, Stamp: v.Now, Refresh: 6 * time.Hour}
	revision := int(v.Now.Sub(revisionsFrom).Minutes())
	for i := range v.Plan.Acts {
		a := &v.Plan.Acts[i]
		day := dayOf(v, a)
		if day.IsZero() {
			continue
		}
		summary := capital(a.Do)
		if a.Amount != "" {
			summary += " " + a.Amount + " " + a.Unit
		}
		if a.Vessel != "" {
			summary += ": " + a.Vessel
		}
		notes := spoken(a.Why, v.Now)
		if when := windowOf(v, a); when != "" {
			notes += "\n" + capital(when) + "."
		}
		for _, caution := range a.Cautions {
			notes += "\n! " + caution.Text
		}
		c.Events = append(c.Events, feed.Event{UID: a.ID + "@elevage", Revision: revision, Day: day, Summary: summary, Notes: notes, Place: a.Place, Urgent: a.Matters >= 3})
	}
	return c
}

// dayOf is the day of an act in a calendar; what is late stands on today.
func dayOf(v *desk.View, a *advise.Act) time.Time {
	if a.Standing == advise.Waiting {
		return time.Time{}
	}
	var d *advise.Day
	for _, one := range []*advise.Day{a.About, a.From, a.To} {
		if one != nil {
			d = one
			break
		}
	}
	if d == nil {
		return time.Time{}
	}
	if d.Before(v.Now) {
		return v.Now
	}
	return d.Time
}
