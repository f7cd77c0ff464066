package track

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"sort"
	"strings"
	"time"

	"elevage/science/malolactic"
	"elevage/science/quantity"
)

// Facts is what is known of a parcel apart from its readings. A nil field is not
// known, and the belief is the wider for it. PH, TA and Malic are readings taken at
// inoculation, with their own error, not truth.
type Facts struct {
	Name        string
	Colour      string // "red", "white", "rosé"; empty is taken as red
	Site        string // "warm", "cool" or empty: narrows the malic acid expected
	Volume      *quantity.Volume
	Alcohol     *quantity.Strength
	Temperature *quantity.Temperature
	PH          *quantity.PH
	TA          *quantity.Concentration // as tartaric acid
	TAEndPoint  *quantity.PH
	FreeSO2     *quantity.Concentration
	TotalSO2    *quantity.Concentration
	Malic       *quantity.Concentration
	Inoculated  *time.Time // a date; for native conversions the end of alcoholic fermentation
	Inoculation *malolactic.Inoculation

	Unrecognised []string // keys of the file that nobody here understands; shown as a flag
}

// DateLayout is how dates are written.
const DateLayout = "2006-01-02"

// ReadFacts reads the JSON form. Every key may be missing or null. A value of the
// wrong kind or far outside what a wine can have is an error that names the key,
// the value and what is allowed; several are joined. Unknown keys are
// kept by name in Unrecognised, so that a slip of the pen does not pass for a
// missing fact unseen.
func ReadFacts(r io.Reader) (Facts, error) {
	var raw map[string]json.RawMessage
	if err := json.NewDecoder(r).Decode(&raw); err != nil {
		return Facts{}, fmt.Errorf("facts are not a JSON object: %w", err)
	}
	var f Facts
	var errs []error
	keys := make([]string, 0, len(raw))
	for k := range raw {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	for _, k := range keys {
		if string(raw[k]) == "null" {
			continue
		}
		set, ok := factFields[k]
		if !ok {
			f.Unrecognised = append(f.Unrecognised, k)
			continue
		}
		if err := set(&f, raw[k]); err != nil {
			errs = append(errs, fmt.Errorf("fact %q: %w", k, err))
		}
	}
	return f, errors.Join(errs...)
}

type setter func(*Facts, json.RawMessage) error

var factFields = map[string]setter{
	"name":     func(f *Facts, m json.RawMessage) error { return text(m, &f.Name) },
	"colour":   func(f *Facts, m json.RawMessage) error { return choice(m, &f.Colour, "red", "white", "rosé", "rose") },
	"site":     func(f *Facts, m json.RawMessage) error { return choice(m, &f.Site, "warm", "cool") },
	"volume_l": func(f *Facts, m json.RawMessage) error { return number(m, &f.Volume, 1, "L", 0.1, 1e6) },
	"abv_pct":  func(f *Facts, m json.RawMessage) error { return number(m, &f.Alcohol, 1, "% vol", 0, 20) },
	"temp_c":   func(f *Facts, m json.RawMessage) error { return number(m, &f.Temperature, 1, "°C", -2, 45) },
	"ph":       func(f *Facts, m json.RawMessage) error { return number(m, &f.PH, 1, "", 2.5, 4.5) },
	"ta_g_l":   func(f *Facts, m json.RawMessage) error { return number(m, &f.TA, 1, "g/L", 1, 20) },
	"ta_endpoint_ph": func(f *Facts, m json.RawMessage) error {
		return number(m, &f.TAEndPoint, 1, "", 6.5, 9)
	},
	"free_so2_mg_l":  func(f *Facts, m json.RawMessage) error { return number(m, &f.FreeSO2, 1e-3, "mg/L", 0, 200) },
	"total_so2_mg_l": func(f *Facts, m json.RawMessage) error { return number(m, &f.TotalSO2, 1e-3, "mg/L", 0, 400) },
	"malic_g_l":      func(f *Facts, m json.RawMessage) error { return number(m, &f.Malic, 1, "g/L", 0, 15) },
	"inoculated": func(f *Facts, m json.RawMessage) error {
		var s string
		if err := text(m, &s); err != nil {
			return err
		}
		t, err := parseDate(s)
		if err == nil {
			f.Inoculated = &t
		}
		return err
	},
	"inoculation": func(f *Facts, m json.RawMessage) error {
		var s string
		if err := text(m, &s); err != nil {
			return err
		}
		how, err := malolactic.ParseInoculation(s)
		if err == nil {
			f.Inoculation = &how
		}
		return err
	},
}

func text(m json.RawMessage, into *string) error {
	if err := json.Unmarshal(m, into); err != nil {
		return fmt.Errorf("got %s: a text in quotes is wanted", m)
	}
	return nil
}

func choice(m json.RawMessage, into *string, allowed ...string) error {
	var s string
	if err := text(m, &s); err != nil {
		return err
	}
	s = strings.ToLower(strings.TrimSpace(s))
	for _, a := range allowed {
		if s == a {
			*into = s
			return nil
		}
	}
	return fmt.Errorf("got %q: allowed are %s", s, strings.Join(allowed, ", "))
}

func number[T ~float64](m json.RawMessage, into **T, scale float64, unit string, lo, hi float64) error {
	var v float64
	if err := json.Unmarshal(m, &v); err != nil {
		return fmt.Errorf("got %s: a number is wanted", m)
	}
	if err := quantity.Check("value", v, unit, lo, hi); err != nil {
		return err
	}
	t := T(v * scale)
	*into = &t
	return nil
}

// parseDate reads a date, or a time of which only the date is kept: a day is one
// session.
func parseDate(s string) (time.Time, error) {
	s = strings.TrimSpace(s)
	for _, layout := range []string{DateLayout, time.RFC3339, "2006-01-02T15:04", "2006-01-02 15:04", "2006-01-02T15:04:05"} {
		if t, err := time.Parse(layout, s); err == nil {
			return midnight(t), nil
		}
	}
	return time.Time{}, fmt.Errorf("got %q: a date like 2026-11-10 is wanted", s)
}

func midnight(t time.Time) time.Time {
	y, m, d := t.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}
