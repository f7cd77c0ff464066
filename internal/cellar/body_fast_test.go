package cellar

import (
	"encoding/json"
	"reflect"
	"testing"
)

// What is read the quick way is what encoding/json reads, for any bytes whatever.
func FuzzDecodeOwn(f *testing.F) {
	kinds := []Kind{KindReading, KindAddition, KindStirring, KindPHCheck, KindNote}
	for i, k := range kinds {
		info, _ := InfoOf(k)
		raw, err := encodeBody(info.Example())
		if err != nil {
			f.Fatal(err)
		}
		f.Add(uint8(i), []byte(raw))
	}
	for _, s := range []string{`{}`, `{"vessel":"b2","vessel":"b3"}`, `{"value":{"value":"3"},"value":{"unit":"pH"}}`, `{"Vessel":"b2"}`, `{"vessel":null}`, `{"vessel":"b2",}`,
		`{"vessel":"b2"} `, `{"vessel":"b\u0032"}`, "{\"vessel\":\"b\xff\"}", `{"control":false}`, `{"control":truely}`, `{"repeats":3}`, `{"value":{}}`, `{"words":""}`, `{"words":"","words":"x"}`, `{"vessel":"a"}{`} {
		f.Add(uint8(0), []byte(s))
		f.Add(uint8(1), []byte(s))
	}
	f.Fuzz(func(t *testing.T, k uint8, raw []byte) {
		kind := kinds[int(k)%len(kinds)]
		got, ok := decodeOwn(kind, raw)
		if !ok {
			return
		}
		want, err := kindIndex[kind].decode(json.RawMessage(raw))
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s %q: %+v, want %+v, %v", kind, raw, got, want, err)
		}
	})
}

// What this program writes of these kinds is read the quick way.
func TestOwnBodiesAreReadTheQuickWay(t *testing.T) {
	t.Parallel()
	for _, b := range []Body{
		Reading{Vessel: "b2", What: ReadTA, Value: &Measure{Value: "6.1", Unit: "g/L", Spread: "0.1"}, As: "tartaric", EndPoint: "8.2", Control: true, Words: "Blaufränkisch"},
		Addition{Vessel: "c1", Product: "oak", Amount: M("3", "g"), For: M("54", "L"), Solution: true, Strength: M("10", "%")},
		Stirring{Vessel: "c1", What: "lees"}, PHCheck{Buffer: "7.00", Read: "7.02", Warm: M("20", "°C")},
	} {
		raw, err := encodeBody(b)
		if err != nil {
			t.Fatal(err)
		}
		if got, ok := decodeOwn(b.Kind(), raw); !ok || !reflect.DeepEqual(got, b) {
			t.Errorf("%s: %+v, %v", raw, got, ok)
		}
	}
}
