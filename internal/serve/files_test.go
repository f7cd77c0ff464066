package serve

import (
	"bytes"
	"html"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"mime/multipart"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"elevage/internal/cellar"
)

// picture is a photograph that nobody took: a square of one colour.
func picture(tb testing.TB, edge int) []byte {
	tb.Helper()
	m := image.NewRGBA(image.Rect(0, 0, edge, edge))
	for i := range edge * edge {
		m.Set(i%edge, i/edge, color.RGBA{120, 20, 60, 255})
	}
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

// attaches posts a file as a browser does.
func (v *visitor) attaches(tb testing.TB, entry, name string, content []byte, words string) leaf {
	tb.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	part, err := form.CreateFormFile("file", name)
	if err == nil {
		_, err = part.Write(content)
	}
	if err == nil {
		err = form.WriteField("words", words)
	}
	if err == nil {
		err = form.Close()
	}
	if err != nil {
		tb.Fatal(err)
	}
	r := httptest.NewRequest("POST", "/attach/"+entry, &b)
	r.Header.Set("Content-Type", form.FormDataContentType())
	return v.send(r)
}

// A photograph is put to an entry, stands small in its lot's ledger, opens whole, and
// goes from there when it is struck.
func TestPictureStandsWithItsEntry(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	v.keeps(t, "/write/reading", q("vessel", "d1", "what", "chromatogram", "value", "faint", "day", "2026-11-25"))
	_, e := last[cellar.Reading](t, v)
	entry := string(e.ID)
	if p := v.get("/lots/syrah"); !strings.Contains(p.Body, `href="/attach/`+entry+`"`) {
		t.Fatal("the ledger does not offer to put a picture to an entry")
	}
	raw := picture(t, 600)
	p := v.attaches(t, entry, "paper.png", raw, "after two hours")
	if p.Code != 303 || p.Header.Get("Location") != "/lots/syrah#e-"+entry {
		t.Fatalf("%d to %s: %s", p.Code, p.Header.Get("Location"), p.text())
	}
	b, kept := last[cellar.Attachment](t, v)
	if string(b.To) != entry || b.Name != "paper.png" || b.Type != "image/png" || b.Bytes != int64(len(raw)) || b.Words != "after two hours" {
		t.Errorf("kept %s", kept.Body)
	}
	page := v.get("/lots/syrah")
	page.shows(t, "paper.png", "after two hours")
	small := regexp.MustCompile(`<img src="(/files/[0-9a-f]{64}/small)"`).FindStringSubmatch(page.Body)
	if small == nil {
		t.Fatal("no thumbnail in the lot's ledger")
	}
	got := v.get(small[1])
	if m, err := jpeg.Decode(strings.NewReader(got.Body)); err != nil || m.Bounds().Dx() != 320 {
		t.Errorf("the thumbnail: %v", err)
	}
	whole := v.get(strings.TrimSuffix(small[1], "/small"))
	if whole.Body != string(raw) || whole.Header.Get("Content-Type") != "image/png" || !strings.HasPrefix(whole.Header.Get("Content-Disposition"), "inline") {
		t.Errorf("the whole picture has %d bytes, type %q, %q", len(whole.Body), whole.Header.Get("Content-Type"), whole.Header.Get("Content-Disposition"))
	}
	v.post("/strike/"+string(kept.ID), q("reason", "the wrong paper"))
	if p := v.get("/lots/syrah"); strings.Contains(p.Body, small[1]) {
		t.Error("a struck picture is still shown")
	}
}

// sends posts a form with a picture, as a browser does: the file last.
func (v *visitor) sends(tb testing.TB, path string, answers url.Values, name string, content []byte) leaf {
	tb.Helper()
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	for key, values := range answers {
		for _, value := range values {
			if err := form.WriteField(key, value); err != nil {
				tb.Fatal(err)
			}
		}
	}
	part, err := form.CreateFormFile("picture", name)
	if err == nil {
		_, err = part.Write(content)
	}
	if err == nil {
		err = form.Close()
	}
	if err != nil {
		tb.Fatal(err)
	}
	r := httptest.NewRequest("POST", path, &b)
	r.Header.Set("Content-Type", form.FormDataContentType())
	return v.send(r)
}

// A picture comes with an entry on its first sending, and is not lost where the form is
// asked again, for an answer or for a second thought.
func TestPictureComesWithItsEntry(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	if p := v.get("/write/reading"); !strings.Contains(p.Body, `enctype="multipart/form-data"`) || !strings.Contains(p.Body, `type="file"`) {
		t.Fatal("the form asks for no picture")
	}
	raw := picture(t, 40)
	spot := q("vessel", "d1", "what", "chromatogram", "value", "faint", "day", "2026-11-25")
	if p := v.sends(t, "/write/reading", spot, "paper.png", raw); p.Code != 303 || !strings.Contains(p.Header.Get("Location"), "/lots/syrah#e-") {
		t.Fatalf("%d to %s: %s", p.Code, p.Header.Get("Location"), p.text())
	}
	b, _ := last[cellar.Attachment](t, v)
	if _, e := last[cellar.Reading](t, v); b.To != e.ID || b.Name != "paper.png" || b.Type != "image/png" || b.Bytes != int64(len(raw)) {
		t.Errorf("kept %+v", b)
	}
	v.get("/lots/syrah").shows(t, "paper.png")
	// None was chosen: the entry is kept as without.
	before := len(v.entries(t))
	if p := v.sends(t, "/write/reading", spot, "", nil); p.Code != 303 || len(v.entries(t)) != before+1 {
		t.Errorf("without a picture: %d, %d entries", p.Code, len(v.entries(t))-before)
	}
	// An answer is wanted again, then a second thought, then words: the picture goes along.
	for name, c := range map[string]struct {
		path     string
		bad, say url.Values
		then     url.Values
	}{
		"a wrong answer": {"/write/reading", with(spot, "value", "green"), spot, nil},
		"a warning":      {"/write/reading", nil, q("vessel", "d1", "what", "ph", "value", "4.05", "day", "2026-11-25"), nil},
		"a stop":         {"/write/addition", nil, q("vessel", "d1", "product", "potassium-metabisulfite", "amount", "3 g", "day", "2026-11-25"), q("overruled", "the lab says so")},
	} {
		before := len(v.entries(t))
		first := c.say
		if c.bad != nil {
			first = c.bad
		}
		p := v.sends(t, c.path, first, name+".png", picture(t, 50))
		if p.Code == 303 || len(v.entries(t)) != before {
			t.Fatalf("%s: %d, kept at once", name, p.Code)
		}
		again := url.Values{}
		for key, values := range c.say {
			again[key] = values
		}
		for key, values := range c.then {
			again[key] = values
		}
		for _, hidden := range regexp.MustCompile(`<input type="hidden" name="(picture_[a-z]+|warned)" value="([^"]*)">`).FindAllStringSubmatch(p.Body, -1) {
			again.Set(hidden[1], html.UnescapeString(hidden[2]))
		}
		if p := v.post(c.path, again); p.Code != 303 || len(v.entries(t)) != before+2 {
			t.Errorf("%s: %d, %d entries: %s", name, p.Code, len(v.entries(t))-before, p.text())
			continue
		}
		if b, _ := last[cellar.Attachment](t, v); b.Name != name+".png" {
			t.Errorf("%s: the picture is %q", name, b.Name)
		}
	}
	// What cannot be kept is told by the field, and what was typed stays.
	before = len(v.entries(t))
	for file, content := range map[string][]byte{"large.jpg": bytes.Repeat([]byte("x"), mostInTests+1), "huge.jpg": bytes.Repeat([]byte("x"), 3*mostInTests), "empty.jpg": {}} {
		p := v.sends(t, "/write/reading", with(spot, "method", "by eye"), file, content)
		if p.Code != 422 || p.wrong("picture") == "" || p.value("method") != "by eye" {
			t.Errorf("%s: %d, %q", file, p.Code, p.wrong("picture"))
		}
	}
	if p := v.post("/write/reading", with(spot, "picture_kept", "sha256:"+strings.Repeat("0", 64), "picture_name", "gone.jpg")); p.Code != 422 || !strings.Contains(p.wrong("picture"), "choose it again") {
		t.Errorf("a picture that is not there: %d, %q", p.Code, p.wrong("picture"))
	}
	if n := len(v.entries(t)); n != before {
		t.Errorf("%d entries were kept", n-before)
	}
}

// What is no picture is handed out to be saved, and never runs as a page of ours.
func TestFilesThatAreNoPicturesAreSaved(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	entry := v.anEntry(t)
	for name, content := range map[string]string{"lab.html": "<html><script>alert(1)</script></html>", "lab.csv": "ph;3.47\n", "évil\".svg": `<svg xmlns="http://www.w3.org/2000/svg"><script>1</script></svg>`} {
		if p := v.attaches(t, entry, name, []byte(content), ""); p.Code != 303 {
			t.Fatalf("%s: %d", name, p.Code)
		}
		b, _ := last[cellar.Attachment](t, v)
		p := v.get("/files/" + strings.TrimPrefix(b.Digest, "sha256:"))
		if p.Body != content || p.Header.Get("Content-Type") != "application/octet-stream" || !strings.HasPrefix(p.Header.Get("Content-Disposition"), "attachment") ||
			!strings.Contains(p.Header.Get("Content-Security-Policy"), "sandbox") {
			t.Errorf("%s comes as %v", name, p.Header)
		}
	}
}

// A file that is too large, empty or not there is told next to its field, and the
// words stay typed.
func TestFilesThatAreRefused(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	entry, before := v.anEntry(t), len(v.entries(t))
	for name, c := range map[string]struct {
		content []byte
		file    string
		says    string
	}{
		"more than is kept":  {bytes.Repeat([]byte("x"), mostInTests+1), "large.jpg", "at most 1 MiB"},
		"more than is read":  {bytes.Repeat([]byte("x"), 3*mostInTests), "huge.jpg", "at most 1 MiB"},
		"empty":              {nil, "empty.jpg", "a file that is not empty"},
		"none was chosen":    {nil, "", "a picture or a paper"},
		"a name of no words": {[]byte("x"), "...", "a file's name"},
	} {
		p := v.attaches(t, entry, c.file, c.content, "the back label")
		if p.Code != 422 {
			t.Errorf("%s: %d: %s", name, p.Code, p.text())
			continue
		}
		if said := p.wrong("file"); !strings.Contains(said, c.says) {
			t.Errorf("%s: next to the file stands %q, want %q", name, said, c.says)
		}
	}
	if n := len(v.entries(t)); n != before {
		t.Errorf("%d entries were kept", n-before)
	}
	if p := v.attaches(t, "0190a5e0-7c3a-7000-8000-000000000000", "x.jpg", []byte("x"), ""); p.Code != 404 {
		t.Errorf("to an entry that is not there: %d", p.Code)
	}
	if p := v.post("/attach/"+entry, q("words", "no file at all")); p.Code != 422 {
		t.Errorf("a form without a file: %d", p.Code)
	}
	for path, code := range map[string]int{"/files/" + strings.Repeat("0", 64): 404, "/files/..%2f..%2fcellar.db": 422, "/files/" + strings.Repeat("0", 64) + "/small": 404} {
		if p := v.get(path); p.Code != code {
			t.Errorf("%s: %d, want %d", path, p.Code, code)
		}
	}
}
