package serve

import (
	"crypto/rand"
	"crypto/sha256"
	"crypto/subtle"
	"encoding/hex"
	"errors"
	"fmt"
	"maps"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"strings"
	"sync"
	"time"

	"golang.org/x/crypto/argon2"

	"elevage/internal/serve/ui"
)

// A Door decides who comes in. Shut (the zero value with loopback names) it
// answers this computer only. Opened to a home network it asks for a
// pass-phrase first; there is no way to open it without one.
//
// Two checks hold either way: the Host header must be a name this door answers
// to (else a web page elsewhere could rebind its name to this machine and read
// the cellar), and a request that changes anything must come from our own pages
// ([http.CrossOriginProtection]).
type Door struct {
	names  map[string]bool
	phrase *phrase // nil on loopback
	now    func() time.Time

	// Ask shows the page that asks for the pass-phrase: where to go on to
	// afterwards, and what was wrong with the last try.
	Ask func(w http.ResponseWriter, r *http.Request, status int, to, trouble string)

	mu     sync.Mutex
	inside map[[sha256.Size]byte]time.Time // hashed token → until when
	tries  map[string]tries                // by remote address
}

// MinPhrase is the shortest pass-phrase that opens a door to a network, in bytes.
const MinPhrase = 12

const (
	sessionCookie = "elevage_session"
	sessionLasts  = 30 * 24 * time.Hour
	triesBefore   = 5 // wrong phrases before an address must wait
	triesWait     = 5 * time.Minute
)

type tries struct {
	wrong int
	until time.Time
}

// phrase keeps what is needed to recognise a pass-phrase, never the phrase itself.
type phrase struct{ salt, key []byte }

// NewDoor makes the door for a listening address such as "127.0.0.1:8384".
// An address that other machines can reach needs a pass-phrase of at least
// [MinPhrase] bytes; names are further host names the door answers to.
func NewDoor(addr, passphrase string, names []string, now func() time.Time) (*Door, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, fmt.Errorf("address %q: want HOST:PORT, such as 127.0.0.1:8384", addr)
	}
	d := &Door{names: map[string]bool{}, now: now, inside: map[[sha256.Size]byte]time.Time{}, tries: map[string]tries{}}
	for _, n := range []string{"localhost", "127.0.0.1", "::1"} {
		d.names[n] = true
	}
	for _, n := range names {
		d.names[strings.ToLower(n)] = true
	}
	if loopback(host) {
		return d, nil
	}
	switch {
	case passphrase == "":
		return nil, fmt.Errorf("address %q can be reached from the network: opening it needs a pass-phrase", addr)
	case len(passphrase) < MinPhrase:
		return nil, fmt.Errorf("pass-phrase has %d characters: allowed is at least %d", len(passphrase), MinPhrase)
	}
	if unspecified(host) {
		for _, a := range ownAddresses() {
			d.names[a] = true
		}
	} else {
		d.names[strings.ToLower(host)] = true
	}
	salt := make([]byte, 16)
	if _, err := rand.Read(salt); err != nil {
		return nil, err
	}
	d.phrase = &phrase{salt: salt, key: derive(passphrase, salt)}
	return d, nil
}

// Open says whether other machines may knock.
func (d *Door) Open() bool { return d.phrase != nil }

// Names are the host names that the door answers to, sorted.
func (d *Door) Names() []string { return slices.Sorted(maps.Keys(d.names)) }

func derive(passphrase string, salt []byte) []byte {
	return argon2.IDKey([]byte(passphrase), salt, 2, 19*1024, 1, 32)
}

func loopback(host string) bool {
	if host == "localhost" {
		return true
	}
	a, err := netip.ParseAddr(host)
	return err == nil && a.IsLoopback()
}

func unspecified(host string) bool {
	a, err := netip.ParseAddr(host)
	return host == "" || (err == nil && a.IsUnspecified())
}

func ownAddresses() []string {
	var own []string
	addrs, err := net.InterfaceAddrs()
	if err != nil {
		return nil // the door then answers to loopback and the names it was given
	}
	for _, a := range addrs {
		if n, ok := a.(*net.IPNet); ok {
			own = append(own, n.IP.String())
		}
	}
	return own
}

// Guard puts the door in front of a handler.
func (d *Door) Guard(next http.Handler) http.Handler {
	guarded := http.NewCrossOriginProtection().Handler(d.requirePhrase(next))
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !d.answersTo(r.Host) {
			http.Error(w, fmt.Sprintf("This cellar does not answer to the name %q.", r.Host), http.StatusMisdirectedRequest)
			return
		}
		ui.Headers(w)
		guarded.ServeHTTP(w, r)
	})
}

func (d *Door) answersTo(hostport string) bool {
	host := hostport
	if h, _, err := net.SplitHostPort(hostport); err == nil {
		host = h
	}
	host = strings.ToLower(strings.Trim(host, "[]"))
	return d.names[host]
}

func (d *Door) requirePhrase(next http.Handler) http.Handler {
	if d.phrase == nil {
		return next
	}
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		switch {
		case r.URL.Path == "/enter" && r.Method == http.MethodPost:
			d.enter(w, r)
		case d.known(r) || strings.HasPrefix(r.URL.Path, ui.AssetPrefix) || strings.HasPrefix(r.URL.Path, calendarPath):
			next.ServeHTTP(w, r)
		case strings.HasPrefix(r.URL.Path, "/api/"):
			http.Error(w, "pass-phrase needed", http.StatusUnauthorized)
		default:
			d.Ask(w, r, http.StatusUnauthorized, r.URL.RequestURI(), "")
		}
	})
}

func (d *Door) known(r *http.Request) bool {
	c, err := r.Cookie(sessionCookie)
	if err != nil {
		return false
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	until, ok := d.inside[sha256.Sum256([]byte(c.Value))]
	return ok && d.now().Before(until)
}

var errWait = errors.New("too many wrong pass-phrases")

func (d *Door) enter(w http.ResponseWriter, r *http.Request) {
	r.Body = http.MaxBytesReader(w, r.Body, 4096)
	to := local(r.PostFormValue("to"))
	from, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		from = r.RemoteAddr
	}
	token, err := d.try(from, r.PostFormValue("phrase"))
	switch {
	case errors.Is(err, errWait):
		d.Ask(w, r, http.StatusTooManyRequests, to, "Too many wrong pass-phrases from this device. Wait five minutes.")
	case err != nil:
		d.Ask(w, r, http.StatusUnauthorized, to, "That is not the pass-phrase.")
	default:
		http.SetCookie(w, &http.Cookie{Name: sessionCookie, Value: token, Path: "/", MaxAge: int(sessionLasts.Seconds()),
			HttpOnly: true, Secure: r.TLS != nil, SameSite: http.SameSiteStrictMode})
		http.Redirect(w, r, to, http.StatusSeeOther)
	}
}

// try checks a pass-phrase and hands out a session token.
func (d *Door) try(from, given string) (string, error) {
	d.mu.Lock()
	t := d.tries[from]
	waiting := t.wrong >= triesBefore && d.now().Before(t.until)
	d.mu.Unlock()
	if waiting {
		return "", errWait
	}
	right := subtle.ConstantTimeCompare(derive(given, d.phrase.salt), d.phrase.key) == 1
	d.mu.Lock()
	defer d.mu.Unlock()
	if !right {
		t.wrong++
		t.until = d.now().Add(triesWait)
		d.tries[from] = t
		return "", errors.New("wrong pass-phrase")
	}
	delete(d.tries, from)
	raw := make([]byte, 24)
	if _, err := rand.Read(raw); err != nil {
		return "", err
	}
	token := hex.EncodeToString(raw)
	d.inside[sha256.Sum256([]byte(token))] = d.now().Add(sessionLasts)
	return token, nil
}

// local keeps a redirect on this site: anything with a host or a scheme becomes "/".
func local(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.Host != "" || u.Scheme != "" || !strings.HasPrefix(u.Path, "/") || strings.HasPrefix(to, "//") || strings.Contains(to, `\`) {
		return "/"
	}
	return to
}
