package attach

import (
	"bytes"
	"encoding/binary"
	"image"
)

// How a picture was held, as cameras note it (Exif 2.3 = CIPA DC-008, tag
// 0x0112): which way its rows run. 1 is upright.
const upUpright = 1

// orientation reads the note out of a JPEG; upUpright if there is none or it
// cannot be read, since a picture the wrong way round is better than none.
func orientation(jpeg []byte) int {
	exif := exifOf(jpeg)
	if len(exif) < 14 {
		return upUpright
	}
	var order binary.ByteOrder
	switch string(exif[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
		order = binary.BigEndian
	default:
		return upUpright
	}
	at := int(order.Uint32(exif[4:]))
	if at < 8 || at+2 > len(exif) {
		return upUpright
	}
	n := int(order.Uint16(exif[at:]))
	for i := range n {
		entry := at + 2 + 12*i
		if entry+12 > len(exif) {
			break
		}
		if order.Uint16(exif[entry:]) == 0x0112 {
			if o := int(order.Uint16(exif[entry+8:])); o >= 1 && o <= 8 {
				return o
			}
			break
		}
	}
	return upUpright
}

// exifOf is the TIFF structure inside the first application segment of a JPEG.
func exifOf(b []byte) []byte {
	const start, app1, scan = 0xd8, 0xe1, 0xda
	if len(b) < 4 || b[0] != 0xff || b[1] != start {
		return nil
	}
	for at := 2; at+4 <= len(b) && b[at] == 0xff && b[at+1] != scan; {
		length := int(binary.BigEndian.Uint16(b[at+2:]))
		end := at + 2 + length
		if length < 2 || end > len(b) {
			return nil
		}
		body := b[at+4 : end]
		if b[at+1] == app1 && bytes.HasPrefix(body, []byte("Exif\x00\x00")) {
			return body[6:]
		}
		at = end
	}
	return nil
}

// upright turns and mirrors a picture so that it stands as it was held.
func upright(src *image.RGBA, o int) *image.RGBA {
	if o == upUpright {
		return src
	}
	w, h := src.Bounds().Dx(), src.Bounds().Dy()
	dw, dh := w, h
	if o >= 5 { // rows run down or up: width and height change places
		dw, dh = h, w
	}
	dst := image.NewRGBA(image.Rect(0, 0, dw, dh))
	for y := range dh {
		for x := range dw {
			sx, sy := from(o, x, y, w, h)
			dst.SetRGBA(x, y, src.RGBAAt(sx, sy))
		}
	}
	return dst
}

// from is the stored pixel that is seen at x, y once upright. By the standard, the
// stored row 0 and column 0 are seen as: 2 top and right, 3 bottom and right,
// 4 bottom and left, 5 left and top, 6 right and top, 7 right and bottom,
// 8 left and bottom.
func from(o, x, y, w, h int) (sx, sy int) {
	switch o {
	case 2:
		return w - 1 - x, y
	case 3:
		return w - 1 - x, h - 1 - y
	case 4:
		return x, h - 1 - y
	case 5:
		return y, x
	case 6:
		return y, h - 1 - x
	case 7:
		return w - 1 - y, h - 1 - x
	case 8:
		return w - 1 - y, x
	}
	return x, y
}
