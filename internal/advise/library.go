package advise

import (
	"embed"
	"fmt"
	"io/fs"
	"slices"
	"sort"
	"sync"

	"elevage/internal/fault"
)

//go:embed protocols/*.yaml
var builtIn embed.FS

// A Library is a set of protocols that know each other by name.
type Library struct {
	// Protocols by name; of the exclusive ones the first that fits a lot is
	// followed, so that their conditions should not overlap.
	Protocols []*Protocol
	byName    map[string]*Protocol
	all       map[string][]*Step // steps of a protocol with those it includes
}

// BuiltIn are the protocols that come with the program.
var BuiltIn = sync.OnceValue(func() *Library {
	names, err := fs.Glob(builtIn, "protocols/*.yaml")
	if err != nil {
		panic("advise: " + err.Error())
	}
	l := &Library{}
	for _, name := range names {
		text, err := builtIn.ReadFile(name)
		if err != nil {
			panic("advise: " + err.Error())
		}
		p, err := ParseProtocol(name, text)
		if err != nil {
			panic("advise: " + err.Error())
		}
		l.Protocols = append(l.Protocols, p)
	}
	if err := l.settle(); err != nil {
		panic("advise: " + err.Error())
	}
	return l
})

// With gives a library in which a person's own protocols stand in for built-in
// ones of the same name, or beside them. The error is fault.Invalid: two of one
// name, or an inclusion of what is not there.
func (l *Library) With(own ...*Protocol) (*Library, error) {
	out := &Library{}
	mine := map[string]bool{}
	for _, p := range own {
		if mine[p.Name] {
			return nil, fault.New(fault.Invalid, "add protocols", "two of your protocols are called %q", p.Name)
		}
		mine[p.Name] = true
		out.Protocols = append(out.Protocols, p)
	}
	for _, p := range l.Protocols {
		if !mine[p.Name] {
			out.Protocols = append(out.Protocols, p)
		}
	}
	return out, out.settle()
}

// settle orders the library and resolves inclusions.
func (l *Library) settle() error {
	sort.SliceStable(l.Protocols, func(i, j int) bool { return l.Protocols[i].Name < l.Protocols[j].Name })
	l.byName, l.all = map[string]*Protocol{}, map[string][]*Step{}
	for _, p := range l.Protocols {
		l.byName[p.Name] = p
	}
	for _, p := range l.Protocols {
		steps, err := l.gather(p, nil)
		if err != nil {
			return err
		}
		l.all[p.Name] = steps
	}
	return nil
}

// gather are a protocol's own steps and those it includes; its own stand in for
// included ones of the same id.
func (l *Library) gather(p *Protocol, within []string) ([]*Step, error) {
	for _, w := range within {
		if w == p.Name {
			return nil, fault.New(fault.Invalid, "read protocol "+p.Origin, "%s includes itself by way of %v", p.Name, within)
		}
	}
	var out []*Step
	seen := map[string]bool{}
	add := func(steps []*Step) {
		for _, s := range steps {
			if !seen[s.ID] {
				seen[s.ID] = true
				out = append(out, s)
			}
		}
	}
	add(p.Steps)
	for _, name := range p.Includes {
		other := l.byName[name]
		if other == nil {
			return nil, fault.BadFields("read protocol "+p.Origin, fault.Field{Name: "includes", Given: name, Allowed: fmt.Sprint(l.Names())})
		}
		steps, err := l.gather(other, append(within, p.Name))
		if err != nil {
			return nil, err
		}
		add(steps)
	}
	return out, nil
}

// Find is the protocol of that name; nil if there is none.
func (l *Library) Find(name string) *Protocol { return l.byName[name] }

// Choices are the protocols that a lot can be told to follow: not those that stand
// beside, nor stages that others include.
func (l *Library) Choices() []*Protocol {
	var out []*Protocol
	for _, p := range l.Protocols {
		stage := slices.ContainsFunc(l.Protocols, func(o *Protocol) bool { return slices.Contains(o.Includes, p.Name) })
		if !p.Beside && !stage {
			out = append(out, p)
		}
	}
	return out
}

// Names of the protocols, in order.
func (l *Library) Names() []string {
	names := make([]string, len(l.Protocols))
	for i, p := range l.Protocols {
		names[i] = p.Name
	}
	return names
}

func (l *Library) steps(p *Protocol) []*Step { return l.all[p.Name] }

// Source is the text of a built-in protocol, to be copied and changed.
func Source(name string) ([]byte, error) {
	text, err := builtIn.ReadFile("protocols/" + name + ".yaml")
	if err != nil {
		return nil, fault.New(fault.NotFound, "read protocol", "no built-in protocol is called %q: allowed are %v", name, BuiltIn().Names())
	}
	return text, nil
}
