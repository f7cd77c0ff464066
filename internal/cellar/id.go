package cellar

import (
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io"
	"strings"
	"time"
)

// ID names an entry for ever: a UUID (RFC 9562) as lower-case text. The device
// that writes an entry makes a version 7, whose first 48 bits are the
// milliseconds of writing, so that ids sort by the time they were made.
type ID string

// ParseID reads a UUID of any version in its 36-character form; upper case is taken.
func ParseID(text string) (ID, error) {
	s := strings.ToLower(text)
	if len(s) != 36 || s[8] != '-' || s[13] != '-' || s[18] != '-' || s[23] != '-' {
		return "", fmt.Errorf("%q is not an entry's id: allowed is a UUID such as 0190a5e0-7c3a-7000-8000-000000000000", text)
	}
	for i := range len(s) {
		switch c := s[i]; {
		case i == 8 || i == 13 || i == 18 || i == 23:
		case c >= '0' && c <= '9' || c >= 'a' && c <= 'f':
		default:
			return "", fmt.Errorf("%q is not an entry's id: it holds %q where a hexadecimal digit belongs", text, c)
		}
	}
	return ID(s), nil
}

// Time is the moment at which a version 7 id was made, to the millisecond; the
// zero time for ids of other versions.
func (id ID) Time() time.Time {
	if len(id) != 36 || id[14] != '7' {
		return time.Time{}
	}
	raw, err := hex.DecodeString(string(id[0:8] + id[9:13]))
	if err != nil {
		return time.Time{}
	}
	var ms [8]byte
	copy(ms[2:], raw)
	return time.UnixMilli(int64(binary.BigEndian.Uint64(ms[:]))).UTC()
}

// NewIDs makes n version 7 ids for one moment, each greater than the one before
// (RFC 9562 section 6.2, method 1: a counter seeded at random in the 12 bits
// after the version). Entries written together therefore keep their order.
func NewIDs(at time.Time, random io.Reader, n int) ([]ID, error) {
	ms := at.UnixMilli()
	if ms < 0 || ms >= 1<<48 {
		return nil, fmt.Errorf("make ids: %s cannot be written in an id", at)
	}
	ids := make([]ID, n)
	var counter uint32
	for i := range ids {
		var b [16]byte
		if _, err := io.ReadFull(random, b[6:]); err != nil {
			return nil, fmt.Errorf("make ids: %w", err)
		}
		if i == 0 {
			counter = uint32(binary.BigEndian.Uint16(b[6:8])) & 0x7ff // the top bit left free to count up into
		} else if counter++; counter > 0xfff {
			ms, counter = ms+1, 0 // more than 2,048 at once: borrow from the next millisecond
		}
		binary.BigEndian.PutUint64(b[0:8], uint64(ms)<<16|0x7000|uint64(counter))
		b[8] = b[8]&0x3f | 0x80
		ids[i] = formatUUID(b)
	}
	return ids, nil
}

// DerivedID makes the id of something that has no id of its own, such as a row
// of somebody's table, from its content: the same content gives the same id, so
// that reading a file twice adds nothing. It is a version 8 UUID ("custom",
// RFC 9562 section 5.8) of the first 122 usable bits of the digest.
func DerivedID(digest [32]byte) ID {
	b := [16]byte(digest[:16])
	b[6] = b[6]&0x0f | 0x80
	b[8] = b[8]&0x3f | 0x80
	return formatUUID(b)
}

func formatUUID(b [16]byte) ID {
	var out [36]byte
	hex.Encode(out[0:8], b[0:4])
	hex.Encode(out[9:13], b[4:6])
	hex.Encode(out[14:18], b[6:8])
	hex.Encode(out[19:23], b[8:10])
	hex.Encode(out[24:36], b[10:16])
	out[8], out[13], out[18], out[23] = '-', '-', '-', '-'
	return ID(out[:])
}
