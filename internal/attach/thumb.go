package attach

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	_ "image/gif" // pictures that can be made small
	"image/jpeg"
	_ "image/png" // likewise
	"io"
	"os"
	"path/filepath"
	"strconv"

	"elevage/internal/fault"
)

func itoa(n int64) string { return strconv.FormatInt(n, 10) }

// Edges are the sizes that thumbnails are made in: longest side in pixels. A
// size between them is made as the next larger one, so that nobody can fill the
// disk by asking for every size there is.
var Edges = []int{160, 320, 640, 1280}

const thumbQuality = 82 // of JPEG: small, and no blocks to be seen at this size

// Thumb is a JPEG of a picture, at most edge pixels on its longest side, standing
// upright as it was held. It is made once and kept. A file that is no picture is
// fault.Invalid; so is one with more pixels than the limit.
func (s *Store) Thumb(digest string, edge int) ([]byte, error) {
	const op = "make thumbnail"
	whole, err := s.path(digest)
	if err != nil {
		return nil, err
	}
	edge = nextEdge(edge)
	path := filepath.Join(s.dir, "small", filepath.Base(whole)+"-"+strconv.Itoa(edge)+".jpg")
	if b, err := os.ReadFile(path); err == nil {
		return b, nil
	}
	raw, err := os.ReadFile(whole)
	if err != nil {
		return nil, notThere(op, digest, err)
	}
	config, _, err := image.DecodeConfig(bytes.NewReader(raw))
	if err != nil {
		return nil, fault.New(fault.Invalid, op, "this file is no picture that can be made small: JPEG, PNG and GIF can")
	}
	if config.Width <= 0 || config.Height <= 0 || config.Width > s.limits.Pixels/config.Height {
		return nil, fault.New(fault.Invalid, op, "this picture has %d × %d pixels: allowed is %d in all", config.Width, config.Height, s.limits.Pixels)
	}
	picture, _, err := image.Decode(bytes.NewReader(raw))
	if err != nil {
		return nil, fault.New(fault.Invalid, op, "this picture cannot be read: %v", err)
	}
	var out bytes.Buffer
	if err := jpeg.Encode(&out, upright(shrink(picture, edge), orientation(raw)), &jpeg.Options{Quality: thumbQuality}); err != nil {
		return nil, fault.Wrap(fault.Internal, op, err)
	}
	return out.Bytes(), fault.Wrap(fault.Unavailable, op, s.write(path, out.Bytes()))
}

func (s *Store) write(path string, b []byte) error {
	f, err := os.CreateTemp(filepath.Join(s.dir, "coming"), "*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) //nolint:errcheck // gone once it was given its name
	defer f.Close()           //nolint:errcheck // closed by settle
	if _, err := io.Copy(f, bytes.NewReader(b)); err != nil {
		return err
	}
	return settle(f, path)
}

func nextEdge(edge int) int {
	for _, e := range Edges {
		if edge <= e {
			return e
		}
	}
	return Edges[len(Edges)-1]
}

// shrink averages the pixels that fall into each smaller one (a box filter), so
// that fine print greys instead of breaking up. Pictures are never made larger.
// What is transparent is laid on white.
func shrink(src image.Image, edge int) *image.RGBA {
	b := src.Bounds()
	w, h := b.Dx(), b.Dy()
	if longest := max(w, h); longest > edge {
		w, h = max(1, (w*edge+longest/2)/longest), max(1, (h*edge+longest/2)/longest)
	}
	flat := image.NewRGBA(image.Rect(0, 0, b.Dx(), b.Dy()))
	draw.Draw(flat, flat.Bounds(), image.NewUniform(color.White), image.Point{}, draw.Src)
	draw.Draw(flat, flat.Bounds(), src, b.Min, draw.Over)
	if w == b.Dx() && h == b.Dy() {
		return flat
	}
	dst := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		y0, y1 := y*b.Dy()/h, max((y+1)*b.Dy()/h, y*b.Dy()/h+1)
		for x := range w {
			x0, x1 := x*b.Dx()/w, max((x+1)*b.Dx()/w, x*b.Dx()/w+1)
			dst.SetRGBA(x, y, mean(flat, x0, y0, x1, y1))
		}
	}
	return dst
}

func mean(m *image.RGBA, x0, y0, x1, y1 int) color.RGBA {
	var sum [3]int
	for y := y0; y < y1; y++ {
		row := m.Pix[m.PixOffset(x0, y) : m.PixOffset(x1-1, y)+4]
		for i := 0; i < len(row); i += 4 {
			sum[0] += int(row[i])
			sum[1] += int(row[i+1])
			sum[2] += int(row[i+2])
		}
	}
	n := (x1 - x0) * (y1 - y0)
	return color.RGBA{uint8((sum[0] + n/2) / n), uint8((sum[1] + n/2) / n), uint8((sum[2] + n/2) / n), 0xff}
}
