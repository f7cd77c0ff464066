package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"

	"elevage/internal/attach"
	"elevage/internal/cellar"
	"elevage/internal/demo"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/ledger"
	"elevage/internal/ledger/sqlite"
	"elevage/internal/serve"
)

// listening is what serve and demo share.
type listening struct {
	Addr           string   `help:"Where to listen. Loopback needs nothing; an address that other machines reach needs a pass-phrase." default:"127.0.0.1:8384" placeholder:"HOST:PORT"`
	NoBrowser      bool     `help:"Do not open a browser."`
	Name           []string `help:"Further host names that the cellar answers to." placeholder:"HOST"`
	PassphraseFile string   `help:"File whose first line is the pass-phrase that opens the cellar to a network (or set ELEVAGE_PASSPHRASE)." placeholder:"FILE"`
}

type serveCommand struct {
	listening
	data
}

type demoCommand struct {
	listening
	Lots int `help:"Another cellar, larger and older: so many lots over three harvests, up to 90." placeholder:"COUNT"`
}

// Run opens the person's own cellar.
func (c *serveCommand) Run(d *doors) error {
	book, err := c.open()
	if err != nil {
		return err
	}
	defer book.Close() //nolint:errcheck // every write is synced when it is acknowledged
	return c.listen(d, serve.Config{Ledger: book, Cellar: homeKey, Title: "", Pen: pen(homeKey)}, c.folder())
}

// Run opens the invented cellar. Its ledger lives in memory.
func (c *demoCommand) Run(d *doors) error {
	if c.Lots < 0 || c.Lots > 90 {
		return fault.BadFields("open demo", fault.Field{Name: "--lots", Given: strconv.Itoa(c.Lots), Allowed: "1 to 90"})
	}
	entries, err := demo.Entries(time.Now())
	if c.Lots > 0 {
		entries, err = demo.Vintages(time.Now(), c.Lots)
	}
	if err != nil {
		return err
	}
	book := ledger.NewMemory()
	if _, err := book.Append(context.Background(), entries); err != nil {
		return err
	}
	folder, err := os.MkdirTemp("", "elevage-demo-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder) //nolint:errcheck // a temporary folder of the system's
	return c.listen(d, serve.Config{Ledger: book, Cellar: demo.Key, Title: demo.Title, Invent: true, Pen: pen(demo.Key)}, folder)
}

func pen(key string) cellar.Pen {
	p := cellar.Pen{Cellar: key, Random: rand.Reader}
	if u, err := user.Current(); err == nil {
		p.By = u.Username
		if u.Name != "" {
			p.By = u.Name
		}
	}
	if host, err := os.Hostname(); err == nil {
		p.Device = host
	}
	return p
}

// listen serves a cellar until it is interrupted.
func (l *listening) listen(d *doors, c serve.Config, folder string) error {
	phrase, err := l.passphrase()
	if err != nil {
		return err
	}
	door, err := serve.NewDoor(l.Addr, phrase, l.Name, time.Now)
	if err != nil {
		return invalid("listen", err)
	}
	c.Clock, c.Zone, c.Folder = time.Now, time.Local, folder
	c.Log = slog.New(slog.NewTextHandler(d.errs, nil))
	if c.Files, err = attach.Open(filesIn(folder), attach.Limits{}); err != nil {
		return err
	}
	protocols, err := ownProtocols(folder)
	if err != nil {
		return err
	}
	c.Desk = desk.New(c.Ledger, c.Cellar, desk.Options{Zone: time.Local, Protocols: protocols, Shown: serve.Shown(folder)})
	serve.RecallBeliefs(folder, c.Desk)
	s, err := serve.New(c)
	if err != nil {
		return err
	}
	door.Ask = s.AskPhrase
	listener, err := net.Listen("tcp", l.Addr)
	if err != nil {
		return fmt.Errorf("cannot listen on %s: %w. Another address: --addr 127.0.0.1:0", l.Addr, err)
	}
	address := "http://" + listener.Addr().String() + "/"
	if door.Open() {
		cert, fingerprint, err := serve.Certificate(folder, door.Names(), time.Now())
		if err != nil {
			return err
		}
		listener = tls.NewListener(listener, &tls.Config{Certificates: []tls.Certificate{cert}, MinVersion: tls.VersionTLS13, NextProtos: []string{"h2", "http/1.1"}})
		address = strings.Replace(address, "http:", "https:", 1)
		fmt.Fprintf(d.out, "The cellar is open to the network, behind its pass-phrase. A device that meets it first shows this fingerprint:\n%s\n", fingerprint)
	}
	fmt.Fprintf(d.out, "%s\n", address)
	return l.run(d.out, s, door, listener, address)
}

func (l *listening) run(out io.Writer, s *serve.Server, door *serve.Door, listener net.Listener, address string) error {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	srv := &http.Server{Handler: door.Guard(s), ReadHeaderTimeout: 10 * time.Second, ReadTimeout: time.Minute, IdleTimeout: 2 * time.Minute,
		BaseContext: func(net.Listener) context.Context { return context.WithoutCancel(ctx) }}
	go s.Warm(ctx)
	if !l.NoBrowser {
		openBrowser(address)
	}
	failed := make(chan error, 1)
	go func() { failed <- srv.Serve(listener) }()
	select {
	case err := <-failed:
		return err
	case <-ctx.Done():
	}
	fmt.Fprintln(out, "Closing.")
	closing, cancel := context.WithTimeout(context.Background(), 5*time.Second)
	defer cancel()
	if err := srv.Shutdown(closing); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return err
	}
	return nil
}

func (l *listening) passphrase() (string, error) {
	if l.PassphraseFile == "" {
		return os.Getenv("ELEVAGE_PASSPHRASE"), nil
	}
	raw, err := os.ReadFile(l.PassphraseFile)
	if err != nil {
		return "", err
	}
	line, _, _ := strings.Cut(string(raw), "\n")
	return strings.TrimSpace(line), nil
}

// homeKey is the key of the one cellar that a person has.
const homeKey = "home"

// data says where a person's own cellar is kept.
type data struct {
	Data string `help:"Folder of your cellar. Default: the data folder of your account." placeholder:"FOLDER" env:"ELEVAGE_DATA"`
}

func (d *data) folder() string {
	if d.Data != "" {
		return d.Data
	}
	return filepath.Join(dataHome(), "elevage")
}

// filesIn is where the pictures and papers of a cellar lie.
func filesIn(folder string) string { return filepath.Join(folder, "files") }

// open opens the ledger in the folder, and makes both when they are not there.
func (d *data) open() (ledger.Ledger, error) {
	folder := d.folder()
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return nil, err
	}
	return sqlite.Open(context.Background(), filepath.Join(folder, "cellar.db"))
}
