package attach

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/iotest"

	"elevage/internal/fault"
)

func open(t testing.TB, limits Limits) *Store {
	t.Helper()
	s, err := Open(t.TempDir(), limits)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// The digest is SHA-256: of "abc" it is the value of FIPS 180-2, appendix B.1.
func TestKeepsByDigest(t *testing.T) {
	t.Parallel()
	s := open(t, Limits{})
	kept, err := s.Keep("abc.txt", strings.NewReader("abc"))
	const want = "sha256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
	if err != nil || kept.Digest != want || kept.Bytes != 3 || kept.Known || !strings.HasPrefix(kept.Type, "text/plain") {
		t.Fatalf("%+v, %v", kept, err)
	}
	again, err := s.Keep("other name.txt", strings.NewReader("abc"))
	if err != nil || !again.Known || again.Digest != want {
		t.Errorf("the same content again: %+v, %v", again, err)
	}
	f, err := s.Open(want)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if b, err := io.ReadAll(f); err != nil || string(b) != "abc" || f.Bytes != 3 || f.Inline() {
		t.Errorf("read back %q, %v, %+v", b, err, f)
	}
	all, err := s.All()
	if err != nil || !slices.Equal(all, []string{want}) {
		t.Errorf("all: %v, %v", all, err)
	}
	if left, _ := filepath.Glob(filepath.Join(s.dir, "coming", "*")); len(left) > 0 {
		t.Errorf("left behind: %v", left)
	}
}

func TestRefuses(t *testing.T) {
	t.Parallel()
	s := open(t, Limits{File: 10})
	for _, c := range []struct {
		name, file string
		r          io.Reader
		want       fault.Kind
	}{
		{"empty", "a", strings.NewReader(""), fault.Invalid},
		{"too big", "a", strings.NewReader("12345678901"), fault.Invalid},
		{"no name", "", strings.NewReader("x"), fault.Invalid},
		{"only dots", "../..", strings.NewReader("x"), fault.Invalid},
		{"broken off", "a", iotest.ErrReader(io.ErrUnexpectedEOF), fault.Unavailable},
	} {
		if _, err := s.Keep(c.file, c.r); err == nil || fault.KindOf(err) != c.want {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	if kept, err := s.Keep("a", strings.NewReader("1234567890")); err != nil || kept.Bytes != 10 {
		t.Errorf("exactly at the limit: %+v, %v", kept, err)
	}
	all, _ := s.All()
	if len(all) != 1 {
		t.Errorf("what was refused lies in the store: %v", all)
	}
	for _, digest := range []string{"", "sha256:", "sha256:../../../etc/passwd", "md5:" + strings.Repeat("0", 64), "sha256:" + strings.Repeat("A", 64), "sha256:" + strings.Repeat("0", 63)} {
		if _, err := s.Open(digest); fault.KindOf(err) != fault.Invalid {
			t.Errorf("%q: %v", digest, err)
		}
	}
	if _, err := s.Open("sha256:" + strings.Repeat("0", 64)); fault.KindOf(err) != fault.NotFound {
		t.Errorf("not there: %v", err)
	}
}

func TestNamesLoseTheirFolders(t *testing.T) {
	t.Parallel()
	for given, want := range map[string]string{
		"paper.jpg": "paper.jpg", "/home/x/paper.jpg": "paper.jpg", `C:\Bilder\paper.jpg`: "paper.jpg", "../../etc/passwd": "passwd",
		"a\x00b\nc.png": "abc.png", " Blaufränkisch.png ": "Blaufränkisch.png", "..": "", "": "", strings.Repeat("ä", 60): strings.Repeat("ä", 40),
	} {
		if got := tidyName(given); got != want {
			t.Errorf("%q: %q, want %q", given, got, want)
		}
	}
}

// A page that calls itself a picture is not shown as one.
func TestTypeIsByContentNotName(t *testing.T) {
	t.Parallel()
	s := open(t, Limits{})
	kept, err := s.Keep("innocent.jpg", strings.NewReader("<!DOCTYPE html><script>alert(1)</script>"))
	if err != nil || !strings.HasPrefix(kept.Type, "text/html") {
		t.Fatalf("%+v %v", kept, err)
	}
	f, err := s.Open(kept.Digest)
	if err != nil || f.Inline() {
		t.Errorf("shown in a page: %+v %v", f, err)
	}
	f.Close()
	if _, err := s.Thumb(kept.Digest, 100); fault.KindOf(err) != fault.Invalid {
		t.Errorf("thumbnail of a page: %v", err)
	}
}

func TestDamageIsFound(t *testing.T) {
	t.Parallel()
	s := open(t, Limits{})
	whole, err := s.Keep("a", strings.NewReader("sound"))
	if err != nil {
		t.Fatal(err)
	}
	hurt, err := s.Keep("b", strings.NewReader("to be damaged"))
	if err != nil {
		t.Fatal(err)
	}
	path, _ := s.path(hurt.Digest)
	if err := os.WriteFile(path, []byte("to be demaged"), 0o600); err != nil {
		t.Fatal(err)
	}
	bad, err := s.Damaged()
	if err != nil || !slices.Equal(bad, []string{hurt.Digest}) {
		t.Errorf("damaged: %v %v, sound %s", bad, err, whole.Digest)
	}
}

func TestManyAtOnce(t *testing.T) {
	t.Parallel()
	s := open(t, Limits{})
	var wg sync.WaitGroup
	for i := range 16 {
		wg.Go(func() {
			if _, err := s.Keep("x", bytes.NewReader(bytes.Repeat([]byte{byte(i % 3)}, 1000))); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if all, err := s.All(); err != nil || len(all) != 3 {
		t.Errorf("%v %v", all, err)
	}
}

// quarters is a picture with a colour in each corner: red, green over blue, white.
func quarters(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := [][]color.RGBA{{{255, 0, 0, 255}, {0, 255, 0, 255}}, {{0, 0, 255, 255}, {255, 255, 255, 255}}}[y*2/h][x*2/w]
			m.SetRGBA(x, y, c)
		}
	}
	return m
}

func thumb(t *testing.T, s *Store, raw []byte, edge int) image.Image {
	t.Helper()
	kept, err := s.Keep("p", bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	small, err := s.Thumb(kept.Digest, edge)
	if err != nil {
		t.Fatal(err)
	}
	again, err := s.Thumb(kept.Digest, edge)
	if err != nil || !bytes.Equal(small, again) {
		t.Error("the second time it is another thumbnail")
	}
	m, err := jpeg.Decode(bytes.NewReader(small))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func near(m image.Image, x, y int, want color.RGBA) bool {
	r, g, b, _ := m.At(x, y).RGBA()
	off := func(got uint32, want uint8) bool { return max(int(got>>8), int(want))-min(int(got>>8), int(want)) > 12 }
	return !off(r, want.R) && !off(g, want.G) && !off(b, want.B)
}

func TestThumbnailIsTheSamePictureSmaller(t *testing.T) {
	t.Parallel()
	s := open(t, Limits{})
	var raw bytes.Buffer
	if err := png.Encode(&raw, quarters(1000, 500)); err != nil {
		t.Fatal(err)
	}
	m := thumb(t, s, raw.Bytes(), 150)
	if b := m.Bounds(); b.Dx() != 160 || b.Dy() != 80 {
		t.Fatalf("size %v, want 160 × 80", b)
	}
	for _, c := range []struct {
		x, y int
		want color.RGBA
	}{{20, 20, color.RGBA{255, 0, 0, 255}}, {140, 20, color.RGBA{0, 255, 0, 255}}, {20, 60, color.RGBA{0, 0, 255, 255}}, {140, 60, color.RGBA{255, 255, 255, 255}}} {
		if !near(m, c.x, c.y, c.want) {
			t.Errorf("at %d, %d: %v, want %v", c.x, c.y, m.At(c.x, c.y), c.want)
		}
	}
}

// A box filter keeps the mean brightness: of a chequer of black and white, half.
func TestShrinkingAverages(t *testing.T) {
	t.Parallel()
	m := image.NewGray(image.Rect(0, 0, 640, 640))
	for i := range m.Pix {
		if (i/640+i%640)%2 == 0 {
			m.Pix[i] = 255
		}
	}
	for _, p := range shrink(m, 160).Pix {
		if p != 255 && (p < 127 || p > 128) {
			t.Fatalf("a pixel of %d where the mean is 127.5", p)
		}
	}
	if got := shrink(quarters(40, 20), 160).Bounds(); got.Dx() != 40 || got.Dy() != 20 {
		t.Errorf("a small picture was made %v", got)
	}
	clear := image.NewNRGBA(image.Rect(0, 0, 4, 4))
	if shrink(clear, 160).RGBAAt(1, 1) != (color.RGBA{255, 255, 255, 255}) {
		t.Error("what is transparent is not laid on white")
	}
}

// exif is an application segment with one entry: the orientation (CIPA DC-008, tag 0x0112).
func exif(order binary.AppendByteOrder, mark string, o uint16) []byte {
	tiff := append([]byte(mark), order.AppendUint32(nil, 8)...)
	tiff = order.AppendUint16(tiff, 1)
	tiff = order.AppendUint16(tiff, 0x0112)
	tiff = order.AppendUint16(tiff, 3)
	tiff = order.AppendUint32(tiff, 1)
	tiff = order.AppendUint16(tiff, o)
	tiff = append(tiff, 0, 0, 0, 0, 0, 0)
	body := append([]byte("Exif\x00\x00"), tiff...)
	return append(binary.BigEndian.AppendUint16([]byte{0xff, 0xe1}, uint16(len(body)+2)), body...)
}

// Where the stored upper left corner (red) and upper right corner (green) are to
// be seen, by the table of CIPA DC-008 4.6.4 for tag 0x0112: for 6, row 0 is the
// right-hand side and column 0 the top.
func TestPicturesStandUpright(t *testing.T) {
	t.Parallel()
	var plain bytes.Buffer
	if err := jpeg.Encode(&plain, quarters(80, 40), &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	red, green := color.RGBA{255, 0, 0, 255}, color.RGBA{0, 255, 0, 255}
	type corner struct{ right, down bool }
	for o, want := range map[uint16][2]corner{
		1: {{false, false}, {true, false}}, 2: {{true, false}, {false, false}}, 3: {{true, true}, {false, true}}, 4: {{false, true}, {true, true}},
		5: {{false, false}, {false, true}}, 6: {{true, false}, {true, true}}, 7: {{true, true}, {true, false}}, 8: {{false, true}, {false, false}},
	} {
		for _, e := range []struct {
			order binary.AppendByteOrder
			mark  string
		}{{binary.LittleEndian, "II*\x00"}, {binary.BigEndian, "MM\x00*"}} {
			raw := slices.Concat(plain.Bytes()[:2], exif(e.order, e.mark, o), plain.Bytes()[2:])
			m := thumb(t, open(t, Limits{}), raw, 160)
			b := m.Bounds()
			if o >= 5 != (b.Dy() > b.Dx()) {
				t.Errorf("orientation %d: size %v", o, b)
				continue
			}
			for i, c := range []color.RGBA{red, green} {
				x, y := b.Dx()/4, b.Dy()/4
				if want[i].right {
					x = b.Dx() * 3 / 4
				}
				if want[i].down {
					y = b.Dy() * 3 / 4
				}
				if !near(m, x, y, c) {
					t.Errorf("orientation %d: %v at %d, %d", o, m.At(x, y), x, y)
				}
			}
		}
	}
}

func TestTooManyPixelsAreNotOpened(t *testing.T) {
	t.Parallel()
	s := open(t, Limits{Pixels: 5000})
	var raw bytes.Buffer
	if err := png.Encode(&raw, quarters(100, 51)); err != nil {
		t.Fatal(err)
	}
	kept, err := s.Keep("big.png", &raw)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Thumb(kept.Digest, 160); fault.KindOf(err) != fault.Invalid {
		t.Errorf("%v", err)
	}
	if _, err := s.Thumb("sha256:"+strings.Repeat("0", 64), 160); fault.KindOf(err) != fault.NotFound {
		t.Errorf("a thumbnail of nothing: %v", err)
	}
}

func FuzzOrientation(f *testing.F) {
	f.Add([]byte{0xff, 0xd8})
	f.Add(append([]byte{0xff, 0xd8}, exif(binary.LittleEndian, "II*\x00", 6)...))
	f.Add(append([]byte{0xff, 0xd8}, exif(binary.BigEndian, "MM\x00*", 9)...))
	f.Fuzz(func(t *testing.T, b []byte) {
		if o := orientation(b); o < 1 || o > 8 {
			t.Errorf("orientation %d", o)
		}
	})
}

func BenchmarkThumb12Megapixels(b *testing.B) {
	m := quarters(4000, 3000)
	for b.Loop() {
		shrink(m, 320)
	}
}

// A copy holds what the store held, to the byte, and not what was changed behind it.
func TestCopiesWhatIsSound(t *testing.T) {
	t.Parallel()
	s, other := open(t, Limits{}), open(t, Limits{})
	var digests []string
	for _, content := range []string{"abc", "paper", "label"} {
		kept, err := s.Keep("x", strings.NewReader(content))
		if err != nil {
			t.Fatal(err)
		}
		digests = append(digests, kept.Digest)
	}
	path, err := s.path(digests[1])
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte("papyr"), 0o600); err != nil {
		t.Fatal(err)
	}
	n, err := s.CopyTo(other)
	if n != 2 || fault.KindOf(err) != fault.Conflict || !strings.Contains(err.Error(), digests[1]) {
		t.Errorf("%d copied, %v", n, err)
	}
	all, err := other.All()
	slices.Sort(all)
	want := []string{digests[0], digests[2]}
	slices.Sort(want)
	if err != nil || !slices.Equal(all, want) {
		t.Errorf("the copy holds %v, %v; want %v", all, err, want)
	}
	if bad, err := other.Damaged(); err != nil || len(bad) > 0 {
		t.Errorf("damaged in the copy: %v, %v", bad, err)
	}
}
