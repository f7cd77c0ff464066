package ui

import (
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

//go:embed assets/css assets/js assets/fonts assets/img
var assetFiles embed.FS

// AssetPrefix is where Assets wants to be mounted.
const AssetPrefix = "/assets/"

// styleOrder is the order of the sheets in the one that is sent.
var styleOrder = []string{"base.css", "frame.css", "form.css", "parts.css", "pages.css", "chart.css", "print.css"}

// Assets holds every file a page needs, under names that carry the hash of their
// content, so that a browser may keep them for ever.
type Assets struct {
	byPath map[string]asset  // "elevage.1f3a….css"
	path   map[string]string // "elevage.css" → "/assets/elevage.1f3a….css"
}

type asset struct {
	kind        string
	plain, gzip []byte // gzip is nil where it saves nothing
}

var kindOf = map[string]string{
	".css": "text/css; charset=utf-8", ".js": "text/javascript; charset=utf-8", ".woff2": "font/woff2",
	".svg": "image/svg+xml", ".txt": "text/plain; charset=utf-8",
}

// assetRef is how a sheet names another file: url(asset:piazzolla-latin.woff2).
var assetRef = regexp.MustCompile(`asset:([a-z0-9.-]+)`)

// loadAssets reads, joins, hashes and packs all files once.
func loadAssets() (*Assets, error) {
	a := &Assets{byPath: map[string]asset{}, path: map[string]string{}}
	for _, dir := range []string{"assets/fonts", "assets/img", "assets/js"} {
		files, err := fs.ReadDir(assetFiles, dir)
		if err != nil {
			return nil, err
		}
		for _, f := range files {
			body, err := fs.ReadFile(assetFiles, dir+"/"+f.Name())
			if err != nil {
				return nil, err
			}
			if err := a.add(f.Name(), body); err != nil {
				return nil, err
			}
		}
	}
	sheet := []byte("@layer tokens,base,frame,form,parts,chart,print;\n" + tokenSheet())
	for _, name := range styleOrder {
		body, err := fs.ReadFile(assetFiles, "assets/css/"+name)
		if err != nil {
			return nil, err
		}
		sheet = append(sheet, body...)
	}
	var missing error
	sheet = assetRef.ReplaceAllFunc(sheet, func(ref []byte) []byte {
		name := strings.TrimPrefix(string(ref), "asset:")
		p, ok := a.path[name]
		if !ok {
			missing = fmt.Errorf("style sheet names %q, which is not among the assets", name)
		}
		return []byte(p)
	})
	if missing != nil {
		return nil, missing
	}
	return a, a.add("elevage.css", sheet)
}

func (a *Assets) add(name string, body []byte) error {
	ext := path.Ext(name)
	kind, ok := kindOf[ext]
	if !ok {
		return fmt.Errorf("asset %q: no content type for %q", name, ext)
	}
	sum := sha256.Sum256(body)
	hashed := strings.TrimSuffix(name, ext) + "." + hex.EncodeToString(sum[:6]) + ext
	f := asset{kind: kind, plain: body}
	if ext != ".woff2" {
		var z bytes.Buffer
		w, err := gzip.NewWriterLevel(&z, gzip.BestCompression)
		if err != nil {
			return err
		}
		if _, err := w.Write(body); err != nil {
			return err
		}
		if err := w.Close(); err != nil {
			return err
		}
		if z.Len() < len(body) {
			f.gzip = z.Bytes()
		}
	}
	a.byPath[hashed] = f
	a.path[name] = AssetPrefix + hashed
	return nil
}

// Path is the address of an asset by its plain name; an error for one that does
// not exist, so that a template with a wrong name fails its test.
func (a *Assets) Path(name string) (string, error) {
	if p, ok := a.path[name]; ok {
		return p, nil
	}
	return "", fmt.Errorf("no asset %q", name)
}

// Paths lists every address, sorted: the shell an offline phone keeps.
func (a *Assets) Paths() []string {
	var out []string
	for _, p := range a.path {
		out = append(out, p)
	}
	slices.Sort(out)
	return out
}

// ServeHTTP answers for AssetPrefix. Names carry their hash, so an answer may be
// kept for ever and an old name is gone.
func (a *Assets) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, "only GET and HEAD", http.StatusMethodNotAllowed)
		return
	}
	f, ok := a.byPath[strings.TrimPrefix(r.URL.Path, AssetPrefix)]
	if !ok {
		http.NotFound(w, r)
		return
	}
	h := w.Header()
	h.Set("Content-Type", f.kind)
	h.Set("Cache-Control", "public, max-age=31536000, immutable")
	h.Set("X-Content-Type-Options", "nosniff")
	body := f.plain
	if f.gzip != nil {
		h.Set("Vary", "Accept-Encoding")
		if takesGzip(r.Header.Get("Accept-Encoding")) {
			h.Set("Content-Encoding", "gzip")
			body = f.gzip
		}
	}
	h.Set("Content-Length", strconv.Itoa(len(body)))
	if r.Method == http.MethodHead {
		return
	}
	_, _ = w.Write(body) // a reader that went away is no error of ours
}

// takesGzip reads an Accept-Encoding: gzip or *, unless refused with q=0.
func takesGzip(header string) bool {
	for part := range strings.SplitSeq(header, ",") {
		name, q, _ := strings.Cut(strings.TrimSpace(part), ";")
		if n := strings.TrimSpace(name); n != "gzip" && n != "*" {
			continue
		}
		_, v, has := strings.Cut(q, "=")
		if !has {
			return true
		}
		f, err := strconv.ParseFloat(strings.TrimSpace(v), 64)
		return err == nil && f > 0
	}
	return false
}
