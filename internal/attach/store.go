package attach

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"strings"

	"elevage/internal/fault"
)

// Limits keep a slip from filling the disk. The zero value stands for the defaults.
type Limits struct {
	File   int64 // most bytes of one file; default 20 MiB
	Pixels int   // most pixels of a picture that is opened for a thumbnail; default 60 million
}

// Defaults of Limits: a telephone's picture has 2 to 8 MB and 12 to 50 million pixels.
const (
	DefaultFile   = 20 << 20
	DefaultPixels = 60_000_000
)

// Kept is a file that lies in the store.
type Kept struct {
	Digest string // "sha256:" and 64 hexadecimal digits
	Name   string // as it was given, without folders
	Type   string // media type, found by its first bytes
	Bytes  int64
	Known  bool // it was there already
}

// A Store is a folder of files by digest. Its methods may be called by many at
// once, also from several processes.
type Store struct {
	dir    string
	limits Limits
}

// Open uses a folder, and makes it if it is not there.
func Open(dir string, limits Limits) (*Store, error) {
	if limits.File == 0 {
		limits.File = DefaultFile
	}
	if limits.Pixels == 0 {
		limits.Pixels = DefaultPixels
	}
	for _, sub := range []string{"whole", "small", "coming"} {
		if err := os.MkdirAll(filepath.Join(dir, sub), 0o700); err != nil {
			return nil, fault.Wrap(fault.Unavailable, "open attachments", err)
		}
	}
	return &Store{dir: dir, limits: limits}, nil
}

// Most is the most bytes that one file may have.
func (s *Store) Most() int64 { return s.limits.File }

const opKeep = "keep attachment"

// Keep takes a file in. It is on the disk when Keep returns without error; the
// same content twice is one file. A file that is empty or too big is fault.Invalid.
func (s *Store) Keep(name string, r io.Reader) (Kept, error) {
	kept := Kept{Name: tidyName(name)}
	if kept.Name == "" {
		return kept, fault.BadFields(opKeep, fault.Field{Name: "name", Given: name, Allowed: "a file's name"})
	}
	coming, err := os.CreateTemp(filepath.Join(s.dir, "coming"), "*")
	if err != nil {
		return kept, fault.Wrap(fault.Unavailable, opKeep, err)
	}
	defer os.Remove(coming.Name()) //nolint:errcheck // gone already once it was given its name
	defer coming.Close()           //nolint:errcheck // closed below where it matters
	sum := sha256.New()
	head := &heading{}
	kept.Bytes, err = io.Copy(io.MultiWriter(coming, sum, head), io.LimitReader(r, s.limits.File+1))
	switch {
	case err != nil:
		return kept, fault.Wrap(fault.Unavailable, opKeep, err)
	case kept.Bytes == 0:
		return kept, fault.BadFields(opKeep, fault.Field{Name: "file", Given: kept.Name, Allowed: "a file that is not empty"})
	case kept.Bytes > s.limits.File:
		return kept, fault.BadFields(opKeep, fault.Field{Name: "file", Given: kept.Name, Allowed: "at most " + size(s.limits.File)})
	}
	kept.Digest = "sha256:" + hex.EncodeToString(sum.Sum(nil))
	kept.Type = head.mediaType()
	path, err := s.path(kept.Digest)
	if err != nil {
		return kept, err
	}
	if _, err := os.Stat(path); err == nil {
		kept.Known = true
		return kept, nil
	}
	return kept, fault.Wrap(fault.Unavailable, opKeep, settle(coming, path))
}

// settle gives a file that was written its final name, so that it is either
// there whole or not at all.
func settle(f *os.File, path string) error {
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	folder, err := os.Open(filepath.Dir(path))
	if err != nil {
		return err
	}
	defer folder.Close() //nolint:errcheck // read only
	if err := folder.Sync(); err != nil && !errors.Is(err, errors.ErrUnsupported) {
		return err
	}
	return nil
}

// A File is an open attachment.
type File struct {
	*os.File
	Type  string
	Bytes int64
}

// Inline says whether a browser may show it in a page: pictures of known kinds.
// Everything else is only handed out to be saved.
func (f *File) Inline() bool { return inline[f.Type] }

var inline = map[string]bool{"image/jpeg": true, "image/png": true, "image/gif": true, "image/webp": true}

// Open opens a file to be read. One that is not there is fault.NotFound.
func (s *Store) Open(digest string) (*File, error) {
	path, err := s.path(digest)
	if err != nil {
		return nil, err
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, notThere("open attachment", digest, err)
	}
	head := &heading{}
	n, err := io.Copy(head, io.LimitReader(f, sniffed))
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	info, statErr := f.Stat()
	if err := errors.Join(err, statErr); err != nil || n == 0 {
		f.Close() //nolint:errcheck // read only
		return nil, fault.Wrap(fault.Unavailable, "open attachment", err)
	}
	return &File{File: f, Type: head.mediaType(), Bytes: info.Size()}, nil
}

func notThere(op, digest string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return fault.New(fault.NotFound, op, "the file %s is not in the data folder", digest)
	}
	return fault.Wrap(fault.Unavailable, op, err)
}

// All lists the digests of every file in the store, in order.
func (s *Store) All() ([]string, error) {
	var out []string
	err := filepath.WalkDir(filepath.Join(s.dir, "whole"), func(_ string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() && len(d.Name()) == 2*sha256.Size {
			out = append(out, "sha256:"+d.Name())
		}
		return err
	})
	return out, fault.Wrap(fault.Unavailable, "list attachments", err)
}

// CopyTo puts every file into another store, and says how many there are. A file
// whose content is no longer what its digest says is left out and is an error, told
// after all others are copied.
func (s *Store) CopyTo(other *Store) (copied int, err error) {
	const op = "copy attachments"
	all, err := s.All()
	if err != nil {
		return 0, err
	}
	var damaged []string
	for _, digest := range all {
		f, err := s.Open(digest)
		if err != nil {
			return copied, err
		}
		sum := sha256.New()
		_, err = io.Copy(sum, f)
		if err == nil {
			_, err = f.Seek(0, io.SeekStart)
		}
		switch {
		case err != nil:
		case "sha256:"+hex.EncodeToString(sum.Sum(nil)) != digest:
			damaged = append(damaged, digest)
		default:
			if _, err = other.Keep(filepath.Base(f.Name()), f); err == nil {
				copied++
			}
		}
		f.Close() //nolint:errcheck // read only
		if err != nil {
			return copied, fault.Wrap(fault.Unavailable, op, err)
		}
	}
	if len(damaged) > 0 {
		return copied, fault.New(fault.Conflict, op, "%d files are damaged and were left out: %s", len(damaged), strings.Join(damaged, ", "))
	}
	return copied, nil
}

// Damaged reads every file again and lists those whose content is no longer what
// their digest says.
func (s *Store) Damaged() ([]string, error) {
	all, err := s.All()
	if err != nil {
		return nil, err
	}
	var bad []string
	for _, digest := range all {
		f, err := s.Open(digest)
		if err != nil {
			bad = append(bad, digest)
			continue
		}
		sum := sha256.New()
		_, err = io.Copy(sum, f)
		f.Close() //nolint:errcheck // read only
		if err != nil || "sha256:"+hex.EncodeToString(sum.Sum(nil)) != digest {
			bad = append(bad, digest)
		}
	}
	return bad, nil
}

// path is where a file lies. Only a digest in its full form is a path, so that no
// name from outside can reach another place.
func (s *Store) path(digest string) (string, error) {
	hexes, ok := strings.CutPrefix(digest, "sha256:")
	if raw, err := hex.DecodeString(hexes); !ok || err != nil || len(raw) != sha256.Size || strings.ToLower(hexes) != hexes {
		return "", fault.BadFields("find attachment", fault.Field{Name: "digest", Given: digest, Allowed: "sha256: and 64 hexadecimal digits in lower case"})
	}
	return filepath.Join(s.dir, "whole", hexes[:2], hexes), nil
}

// tidyName is the last part of a path, in whichever system it was written.
func tidyName(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	name = strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == '\ufffd' {
			return -1
		}
		return r
	}, name)
	const most = 80 // bytes, as an entry takes
	for len(name) > most {
		r := []rune(name)
		name = string(r[:len(r)-1])
	}
	if strings.Trim(name, ". ") == "" {
		return ""
	}
	return strings.TrimSpace(name)
}

// sniffed is how many bytes tell a type.
const sniffed = 512

// heading keeps the first bytes written to it.
type heading struct{ bytes.Buffer }

func (h *heading) Write(p []byte) (int, error) {
	if room := sniffed - h.Len(); room > 0 {
		h.Buffer.Write(p[:min(room, len(p))])
	}
	return len(p), nil
}

func (h *heading) mediaType() string { return http.DetectContentType(h.Bytes()) }

func size(n int64) string {
	if n%(1<<20) == 0 {
		return itoa(n>>20) + " MiB"
	}
	return itoa(n) + " bytes"
}
