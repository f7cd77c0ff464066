package serve

import (
	"cmp"
	"net/http"
	"net/url"

	"elevage/internal/cellar"
	"elevage/internal/serve/ui"
)

// menuView is everything that can be written down, by what one does.
type menuView struct {
	Quick  []ui.Link // readings, each one tap away
	Groups []menuGroup
}

type menuGroup struct {
	Name  string
	Items []menuItem
}

type menuItem struct{ URL, Title, Lead string }

// An act is a form by a name of the trade: the form itself, or the form with
// something chosen already.
type act struct {
	form  string
	title string // the form's own when empty
	lead  string // likewise
	name  string // of a field that is filled in
	value string
	page  string // a page of its own that leads to an entry, instead of a form
}

// quickReadings are those that are made most often.
var quickReadings = []struct{ what, text string }{
	{cellar.ReadPH, "pH"}, {cellar.ReadDensity, "Density"}, {cellar.ReadTemperature, "Temperature"}, {cellar.ReadTA, "TA"}, {cellar.ReadFreeSO2, "Free SO2"},
	{cellar.ReadChromatogram, "Malic spot"}, {cellar.ReadMalic, "Malic acid"}, {cellar.ReadBubble, "Bubbles"},
}

// menu is the order in which acts are offered: what is read first, then by the
// stage of the wine.
var menu = []struct {
	name string
	acts []act
}{
	{"Read and taste", []act{{form: "reading", title: "Another reading", lead: "Alcohol, total SO2, volatile acidity, nitrogen, anything measured."}, {form: "tasting"},
		{form: "dip"}, {form: "trial"}, {form: "trial", title: "Blend trial", lead: "Glasses of a blend, tasted and decided.", name: "what", value: "blend"},
		{form: "control"}, {form: "verdict"}, {form: "note"}}},
	{"Fruit and must", []act{{form: "sample"}, {form: "fruit"}, {form: "crush"}, {form: "must"}, {form: "saignee"}, {form: "settling"}, {form: "press"}}},
	{"Ferment and lees", []act{{form: "inoculation", title: "Yeast", lead: "A culture for the primary fermentation, or left to start by itself.", name: "of", value: "primary"},
		{form: "inoculation", title: "Malolactic culture", lead: "Bacteria go in, or the wine is left to start by itself.", name: "of", value: "malolactic"},
		{form: "stirring", title: "Punching down", lead: "The cap pushed under.", name: "what", value: "punch-down"},
		{form: "stirring", title: "Pumping over", lead: "Must over its cap; also racked and returned.", name: "what", value: "pump-over"},
		{form: "stirring", title: "Stirring lees", lead: "Lees brought up.", name: "what", value: "lees"}, {form: "warmth"}}},
	{"Move wine", []act{{form: "racking"}, {form: "topping"}, {form: "splitting"}, {form: "blending"},
		{page: "/blend", title: "Work out a blend", lead: "Parts that come near what is wished, then made and written down."}, {form: "removal"}, {form: "fill"}}},
	{"Add and treat", []act{{form: "addition"}, {form: "addition", title: "Fining", lead: "Bentonite, egg white, gelatin and the like.", name: "product", value: "bentonite"},
		{form: "treatment", title: "Filtering", lead: "Through what, and how fine.", name: "what", value: "filtration"},
		{form: "treatment", title: "Chilling", lead: "For tartrate, or to settle.", name: "what", value: "chilling"},
		{form: "treatment", title: "Oak in", lead: "Chips, staves, a cask of one's own.", name: "what", value: "oak-in"},
		{form: "treatment", title: "Oak out", lead: "Taken out again.", name: "what", value: "oak-out"},
		{form: "treatment", title: "Another treatment", lead: "Aired, degassed, gas on top, pasteurised.", name: "what", value: "aeration"}}},
	{"Bottles", []act{{form: "bottling"}, {form: "opened"}}},
	{"Vessels, instruments, shelf", []act{{form: "care"}, {form: "check"}, {form: "calibration"}, {form: "purchase"}, {form: "lot"}, {form: "lot-anew"}, {form: "vessel"}, {form: "vessel-anew"}, {form: "instrument"}, {form: "prices"}}},
}

// writeMenu offers everything that can be written down.
func (s *Server) writeMenu(w http.ResponseWriter, r *http.Request) error {
	vessel := slugOf(r.URL.Query(), "vessel")
	to := func(a act) string {
		q := url.Values{}
		if vessel != "" {
			q.Set("vessel", vessel)
		}
		if a.name != "" {
			q.Set(a.name, a.value)
		}
		if len(q) == 0 {
			return "/write/" + a.form
		}
		return "/write/" + a.form + "?" + q.Encode()
	}
	var view menuView
	for _, quick := range quickReadings {
		view.Quick = append(view.Quick, ui.Link{Text: quick.text, URL: to(act{form: "reading", name: "what", value: quick.what})})
	}
	for _, g := range menu {
		group := menuGroup{Name: g.name}
		for _, a := range g.acts {
			if a.page != "" {
				group.Items = append(group.Items, menuItem{URL: a.page, Title: a.title, Lead: a.lead})
				continue
			}
			f, err := formNamed(a.form)
			if err != nil {
				return err
			}
			group.Items = append(group.Items, menuItem{URL: to(a), Title: cmp.Or(a.title, f.Title), Lead: cmp.Or(a.lead, f.Lead)})
		}
		view.Groups = append(view.Groups, group)
	}
	p := s.page(r, "Write something down", ui.Write, view)
	if vessel != "" {
		p.Lead = "In " + vessel + "."
		p.Log.Vessel = vessel
	}
	return s.kit.Render(w, http.StatusOK, "entries", p)
}
