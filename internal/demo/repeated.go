package demo

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"time"

	"elevage/internal/cellar"
)

// Repeated is the ledger of a larger cellar, for measuring: the demo's lots told
// again and again, in vessels of their own and under other names ("syrah-2" in
// "d1-2"), until there are n of them.
func Repeated(now time.Time, n int) ([]cellar.Entry, error) {
	s := &story{now: now, random: rand.NewChaCha8([32]byte(bytes.Repeat([]byte{8}, 32)))}
	for told := 0; told < n && s.err == nil; s.again++ {
		things(s)
		for _, lot := range lots[:min(len(lots), n-told)] {
			lot(s)
			told++
		}
	}
	s.again = 0
	meterLog(s)
	return s.entries, s.err
}

// renamed gives lots, vessels and bottlings other names. Instruments and the
// shelf are the house's, and there already.
func (s *story) renamed(entries []cellar.Entry) []cellar.Entry {
	kept := entries[:0]
	for _, e := range entries {
		if e.Kind == cellar.KindInstrument || e.Kind == cellar.KindPurchase {
			continue
		}
		var body map[string]any
		dec := json.NewDecoder(bytes.NewReader(e.Body))
		dec.UseNumber()
		if s.err = dec.Decode(&body); s.err != nil {
			return nil
		}
		s.rename(body)
		if e.Body, s.err = json.Marshal(body); s.err != nil {
			return nil
		}
		kept = append(kept, e)
	}
	return kept
}

func (s *story) rename(part any) {
	switch part := part.(type) {
	case []any:
		for _, one := range part {
			s.rename(one)
		}
	case map[string]any:
		for key, value := range part {
			switch name, ok := value.(string); {
			case !ok:
				s.rename(value)
			case key == "vessel" || key == "lot" || key == "slug" || key == "bottling":
				part[key] = fmt.Sprintf("%s-%d", name, s.again+1)
			case key == "name":
				part[key] = fmt.Sprintf("%s, no. %d", name, s.again+1)
			}
		}
	}
}
