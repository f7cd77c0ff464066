package advise

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"elevage/internal/fault"
)

// A file that is wrong is refused with the line and the reason, all at once.
func TestBadProtocolFiles(t *testing.T) {
	t.Parallel()
	const head = "name: mine\ntitle: Mine\nsteps:\n  - id: stir\n    act: stir\n    class: stir\n"
	for name, c := range map[string]struct {
		text string
		line int
		says string // in the fault
	}{
		"empty":               {"", 0, "the file is empty"},
		"not yaml":            {"name: mine\n\tsteps: []\n", 2, "line 2"},
		"unknown field":       {"name: mine\ntitle: Mine\ncolor: red\nsteps: []\n", 3, `"color" is no field here`},
		"unknown step field":  {head + "    wen: 'true'\n", 7, `"wen" is no field here`},
		"twice the same key":  {"name: mine\nname: yours\ntitle: x\n", 2, "already"},
		"misspelt word":       {head + "    when: wine.hp < 3.4\n    why: x\n    mark: proposal\n", 7, "there is no 'wine.hp' (did you mean 'wine.ph'?)"},
		"figure without unit": {head + "    when: wine.free_so2 < 10\n    why: x\n    mark: proposal\n", 7, "concentration, int"},
		"grams against days":  {head + "    when: wine.volume > days(3)\n    why: x\n    mark: proposal\n", 7, "volume, span"},
		"second of a list":    {head + "    when:\n      - 'true'\n      - wine.ph\n    why: x\n    mark: proposal\n", 9, "an expression that gives a bool"},
		"in a folded text":    {head + "    when: >\n      wine.ph < 3.5\n      && wine.hp > 3\n    why: x\n    mark: proposal\n", 8, "wine.hp"},
		"not a condition":     {head + "    when: '1 + 1'\n    why: x\n    mark: proposal\n", 7, "this gives a int"},
		"a clock":             {head + "    when: 'now() > today'\n    why: x\n    mark: proposal\n", 7, "now"},
		"a loop":              {head + "    when: '[1,2].exists(x, x > 1)'\n    why: x\n    mark: proposal\n", 7, "exists"},
		"window is no day":    {head + "    when: 'true'\n    from: days(3)\n    why: x\n    mark: proposal\n", 8, "an expression that gives a date"},
		"open brace":          {head + "    when: 'true'\n    why: 'pH {wine.ph is high'\n    mark: proposal\n", 8, "a closing brace"},
		"bad word in why":     {head + "    when: 'true'\n    why: 'pH {wine.hp}'\n    mark: proposal\n", 8, "wine.hp"},
		"no mark":             {head + "    when: 'true'\n    why: x\n", 4, "read, computed, second-hand"},
		"read without source": {head + "    when: 'true'\n    why: x\n    mark: read\n", 4, "where it stands"},
		"no condition":        {head + "    why: x\n    mark: proposal\n", 4, "a condition"},
		"unknown calculator":  {head + "    when: 'true'\n    why: x\n    mark: proposal\n    amount: {calculator: so2, take: product_g}\n", 10, "so2-addition"},
		"unknown output":      {head + "    when: 'true'\n    why: x\n    mark: proposal\n    amount: {calculator: so2-addition, take: grams}\n", 10, "product_g"},
		"unknown input":       {head + "    when: 'true'\n    why: x\n    mark: proposal\n    amount:\n      calculator: so2-addition\n      take: product_g\n      with: {acid: wine.ph}\n", 13, "volume_l"},
		"unknown caution":     {head + "    when: 'true'\n    why: x\n    mark: proposal\n    cautions: [fire]\n", 10, "so2-gas"},
		"unknown entry":       {head + "    when: 'true'\n    why: x\n    mark: proposal\n    write: {entry: dance}\n", 10, "addition, reading"},
		"unknown reading":     {head + "    when: 'true'\n    why: x\n    mark: proposal\n    write: {entry: reading, what: ph7}\n", 10, "free-so2"},
		"unknown class":       {"name: mine\ntitle: Mine\nsteps:\n  - id: stir\n    act: stir\n    class: wobble\n    when: 'true'\n    why: x\n    mark: proposal\n", 6, "check, test, look"},
		"same id twice":       {head + "    when: 'true'\n    why: x\n    mark: proposal\n  - id: stir\n    act: stir\n    class: stir\n    when: 'true'\n    why: x\n    mark: proposal\n", 10, "each step's own"},
		"bad name":            {strings.Replace(head, "name: mine", "name: My Own", 1) + "    when: 'true'\n    why: x\n    mark: proposal\n", 1, "short name"},
		"two documents":       {head + "    when: 'true'\n    why: x\n    mark: proposal\n---\nname: b\n", 0, "more than one document"},
		"includes nothing":    {"name: mine\ntitle: Mine\nincludes: [no-such]\n", 0, "no-such"},
		"a thousand parens":   {head + "    when: '" + strings.Repeat("(", 1000) + "true" + strings.Repeat(")", 1000) + "'\n    why: x\n    mark: proposal\n", 7, "stir"},
		"too large":           {"#" + strings.Repeat("x", maxFile), 0, "bytes"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			_, err := Check("mine.yaml", []byte(c.text))
			if fault.KindOf(err) != fault.Invalid {
				t.Fatalf("got %v", err)
			}
			if name != "a thousand parens" && !strings.Contains(err.Error(), c.says) {
				t.Errorf("the fault does not say %q: %v", c.says, err)
			}
			var f *fault.Error
			if !errors.As(err, &f) {
				t.Fatalf("%T is no fault", err)
			}
			for _, field := range f.Fields {
				if field.Line == c.line || c.line == 0 {
					return
				}
			}
			if c.line > 0 {
				t.Errorf("no field has line %d: %v", c.line, f.Fields)
			}
		})
	}
}

func TestGoodFile(t *testing.T) {
	t.Parallel()
	c, err := Check("mine.yaml", []byte(`name: mine
title: Mine
for: lot.colour == "red"
includes: [keeping]
steps:
  - id: listen
    act: listen to {vessel.name}
    class: look
    when:
      - wine.form == "wine"
      - wine.temperature > celsius(10)
    from: at.began + days(3)
    by: at.began + weeks(1)
    why: "It stands at {wine.temperature} since {at.began}."
    mark: common-practice
`))
	if err != nil {
		t.Fatal(err)
	}
	if c.Steps != 1 || strings.Join(c.Words, " ") != "at.began vessel.name wine.form wine.temperature" || len(c.Notes) != 0 {
		t.Errorf("%+v", c)
	}
}

// Every built-in file has a source with a mark for each step and is what Source
// gives, and none has a note of Check that nobody looked at.
func TestBuiltInFiles(t *testing.T) {
	t.Parallel()
	files, err := filepath.Glob("protocols/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	seen := map[string]bool{}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		c, err := Check(file, text)
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		if c.Name+".yaml" != filepath.Base(file) {
			t.Errorf("%s is named %s", file, c.Name)
		}
		if own, err := Source(c.Name); err != nil || string(own) != string(text) {
			t.Errorf("Source(%q) gives something else: %v", c.Name, err)
		}
		for _, n := range c.Notes {
			if n != "it stands in for the built-in protocol of the same name" && n != "no lot follows it unless it is told to" {
				t.Errorf("%s: %s", file, n)
			}
		}
		seen[c.Name] = true
	}
	// The programmes that a cellar of small lots needs.
	for _, name := range []string{"red-with-malolactic", "white-kept-from-malolactic", "white-with-malolactic", "rose", "coinoculated-red", "native-red",
		"barrel-programme", "carboy-programme", "bottling-run", "stuck-ferment-rescue", "cellar-hygiene"} {
		if !seen[name] {
			t.Errorf("there is no %s", name)
		}
	}
}

// A person's own protocol stands in for a built-in one, step by step or whole.
func TestOwnProtocol(t *testing.T) {
	t.Parallel()
	own, err := ParseProtocol("mine.yaml", []byte(`name: red-with-malolactic
title: As my grandmother did
for: lot.colour == "red"
includes: [keeping]
steps:
  - id: first-sulfite
    act: add sulfur dioxide the next day
    class: sulfite
    when: malolactic.over
    from: at.malolactic_finished + days(1)
    by: at.malolactic_finished + days(2)
    why: x
    mark: common-practice
`))
	if err != nil {
		t.Fatal(err)
	}
	lib, err := BuiltIn().With(own)
	if err != nil {
		t.Fatal(err)
	}
	d := newDiary(t)
	pressed(d)
	d.on(60).do(cellarFinished)
	d.on(61)
	plan, err := Plan(Input{State: d.state(), Now: d.now, Protocols: lib})
	if err != nil {
		t.Fatal(err)
	}
	if a := find(plan, "d1", "first-sulfite"); a == nil || a.Do != "add sulfur dioxide the next day" || a.Standing != Due {
		t.Errorf("%+v", a)
	}
	if a := find(plan, "d1", "measure-va-before-sulfite"); a == nil {
		t.Error("the included steps are gone")
	}
}

func FuzzParseProtocol(f *testing.F) {
	for _, name := range BuiltIn().Names() {
		text, err := Source(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Add([]byte("name: x\nsteps:\n  - &a {id: a, when: *a}\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		if _, err := ParseProtocol("fuzz.yaml", text); err != nil && fault.KindOf(err) != fault.Invalid {
			t.Errorf("%v", err)
		}
	})
}
