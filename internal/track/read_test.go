package track

import (
	"strings"
	"testing"
)

func TestReadReadingsNamesLineColumnValueAndWhatIsAllowed(t *testing.T) {
	t.Parallel()
	const file = "at,what,value\n2026-10-01,ph,3.47\n\n# a note\n10/2/26,ph,3.5\n2026-10-03,colour,3\n2026-10-03,ta,six\n2026-10-04,chromatogram,weak\n2026-10-05,ph,34.7\n2026-10-06,stir,\n2026-10-06,\"ta\",\"5,9\"\n2026-10-07,bubble_s,7200\n\"2026-10-08\n"
	got, bad, err := ReadReadings(strings.NewReader(file), false)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 4 || got[2].Value != 5.9 || got[3].Line != 12 {
		t.Errorf("read %+v", got)
	}
	want := []string{
		`line 5, column at: "10/2/26" is not allowed: a date like 2026-11-10`,
		`line 6, column what: "colour" is not allowed: ph, ph_check_7.00`,
		`line 7, column value: "six" is not allowed: a number from 0.5 to 20 g/L`,
		`line 8, column value: "weak" is not allowed: strong, faint, none`,
		`line 9, column value: "34.7" is not allowed: a number from 2.5 to 4.8`,
		`line 13, column (row)`,
	}
	if len(bad) != len(want) {
		t.Fatalf("faults %v", bad)
	}
	for i, w := range want {
		if !strings.HasPrefix(bad[i].Error(), w) {
			t.Errorf("fault %d: %q, want %q", i, bad[i].Error(), w)
		}
	}
	if _, _, err := ReadReadings(strings.NewReader(file), true); err == nil || !strings.Contains(err.Error(), "line 5") {
		t.Errorf("strict: %v", err)
	}
	if _, _, err := ReadReadings(strings.NewReader("date,kind\n"), false); err == nil || !strings.Contains(err.Error(), `lacks "at"`) {
		t.Errorf("header: %v", err)
	}
}

func TestReadFactsNamesTheField(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ in, want string }{
		"text for number": {`{"ph":"3.5"}`, `fact "ph": got "3.5": a number is wanted`},
		"impossible":      {`{"abv_pct":31}`, `fact "abv_pct": value is 31 % vol: allowed is 0 to 20 % vol`},
		"bad date":        {`{"inoculated":"soon"}`, `fact "inoculated": got "soon"`},
		"bad word":        {`{"inoculation":"thrown"}`, `allowed are native, direct, rehydrated, starter`},
		"bad colour":      {`{"colour":"blue"}`, `allowed are red, white`},
		"not an object":   {`[1]`, `not a JSON object`},
		"two at once":     {`{"ph":9,"ta_g_l":0}`, `fact "ta_g_l"`},
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := ReadFacts(strings.NewReader(c.in)); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want %q", err, c.want)
			}
		})
	}
	f, err := ReadFacts(strings.NewReader(`{"malic_g_l":null,"barrel":"b2","ph":3.5,"free_so2_mg_l":4}`))
	if err != nil || f.Malic != nil || *f.PH != 3.5 || len(f.Unrecognised) != 1 || f.FreeSO2.MgPerL() != 4 {
		t.Errorf("%+v, %v", f, err)
	}
}

// Whatever is typed, reading never panics, and what it accepts the belief accepts.
func FuzzReadReadings(f *testing.F) {
	f.Add("at,what,value\n2026-10-01,ph,3.47\n")
	f.Add("what,at,value\nstir,2026-10-01,\ninoculate,2026-10-02,starter\n")
	f.Add("at,what,value\n2026-10-01,bubble_s,1e-1\n\"\"\"")
	f.Fuzz(func(t *testing.T, s string) {
		got, _, err := ReadReadings(strings.NewReader(s), false)
		if err != nil || len(got) == 0 || len(got) > 20 {
			return
		}
		start := day("2026-10-01")
		for i := range got {
			if d := got[i].On.Sub(start).Hours() / 24; d < -100 || d > 100 {
				return
			}
		}
		if _, err := Malo(Input{Facts: Facts{Inoculated: &start}, Readings: got, At: day("2026-11-01"), Options: Options{Particles: 50}}); err != nil {
			t.Fatal(err)
		}
	})
}

func FuzzReadFacts(f *testing.F) {
	f.Add(`{"ph":3.5,"inoculation":"direct"}`)
	f.Add(`{"ph":null,"temp_c":-1e300}`)
	f.Fuzz(func(t *testing.T, s string) {
		facts, err := ReadFacts(strings.NewReader(s))
		if err != nil {
			return
		}
		start := day("2026-10-01")
		facts.Inoculated = &start
		if _, err := Malo(Input{Facts: facts, At: day("2026-11-01"), Options: Options{Particles: 50}}); err != nil {
			t.Fatal(err)
		}
	})
}
