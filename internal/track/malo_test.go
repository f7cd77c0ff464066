package track

import (
	"encoding/json"
	"fmt"
	"os"
	"testing"
	"time"
)

func day(s string) time.Time {
	t, err := time.Parse(DateLayout, s)
	if err != nil {
		panic(err)
	}
	return t
}

func carboy(t testing.TB) Input {
	t.Helper()
	f, err := os.Open("testdata/carboy.json")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	facts, err := ReadFacts(f)
	if err != nil {
		t.Fatal(err)
	}
	c, err := os.Open("testdata/carboy.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer c.Close()
	readings, bad, err := ReadReadings(c, false)
	if err != nil || len(bad) > 0 {
		t.Fatal(err, bad)
	}
	return Input{Facts: facts, Readings: readings}
}

func TestLook(t *testing.T) {
	in := carboy(t)
	for _, at := range []string{"2026-10-01", "2026-10-15", "2026-10-29", "2026-11-05", "2026-11-10"} {
		in.At = day(at)
		t0 := time.Now()
		b, err := Malo(in)
		if err != nil {
			t.Fatal(err)
		}
		b.Fan = nil
		if at != "2026-11-05" {
			b.Readings, b.WhatIf = nil, nil
		}
		j, _ := json.Marshal(b)
		fmt.Println(time.Since(t0), string(j))
	}
}
