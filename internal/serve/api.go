package serve

import (
	"context"
	"encoding/json"
	"errors"
	"net/http"
	"path"
	"reflect"
	"strings"
	"time"

	"github.com/danielgtaylor/huma/v2"
	"github.com/danielgtaylor/huma/v2/adapters/humago"

	"elevage/internal/advise"
	"elevage/internal/bench"
	"elevage/internal/cellar"
	"elevage/internal/desk"
	"elevage/internal/fault"
	"elevage/internal/ledger"
	"elevage/internal/track"
	"elevage/internal/track/ageing"
	"elevage/internal/track/primary"
)

// apiVersion is the version of the programs' interface, in every path.
const apiVersion = "1"

// api serves the same figures to programs. Its description, from these
// declarations, is at /api/v1/openapi.json and in docs/openapi.json.
func (s *Server) api() huma.API {
	config := huma.DefaultConfig("Élevage", apiVersion)
	config.OpenAPIPath, config.DocsPath, config.SchemasPath = "/api/v1/openapi", "", "/api/v1/schemas" // the library's docs page would fetch from a network
	config.CreateHooks = nil                                                                           // no $schema links in answers: they would name this machine
	config.Components.Schemas = huma.NewMapRegistry("#/components/schemas/", schemaName)
	config.Info.Description = "The figures of one cellar, as its pages show them. Concentrations carry their unit in their name."
	a := humago.New(s.mux, config)
	get := func(path, id, summary string) huma.Operation {
		return huma.Operation{OperationID: id, Method: http.MethodGet, Path: "/api/v1" + path, Summary: summary}
	}
	huma.Register(a, get("/today", "today", "What is due, with amounts and reasons"), s.apiToday)
	huma.Register(a, get("/lots", "lots", "Every lot"), s.apiLots)
	huma.Register(a, get("/parcels", "parcels", "What is in each vessel now"), s.apiParcels)
	huma.Register(a, get("/beliefs", "beliefs", "What is believed of each parcel"), s.apiBeliefs)
	huma.Register(a, get("/rounds", "rounds", "Every vessel that ferments, with what was read last"), s.apiRounds)
	huma.Register(a, huma.Operation{OperationID: "keepRounds", Method: http.MethodPost, Path: "/api/v1/rounds", Summary: "Keep a day's rounds: densities, temperatures, caps worked",
		Errors: []int{http.StatusUnprocessableEntity}}, s.apiKeepRounds)
	huma.Register(a, get("/entries", "entries", "The ledger, in the order in which entries arrived"), s.apiEntries)
	huma.Register(a, get("/findings", "findings", "What does not add up"), s.apiFindings)
	huma.Register(a, get("/prices", "prices", "What tests cost, and what mistakes and waiting would; write an entry of the kind prices to change them"), s.apiPrices)
	huma.Register(a, get("/bench", "calculators", "The calculators and their inputs"), s.apiCalculators)
	huma.Register(a, huma.Operation{OperationID: "calculate", Method: http.MethodPost, Path: "/api/v1/bench/{name}", Summary: "Run a calculator",
		Errors: []int{http.StatusNotFound, http.StatusUnprocessableEntity}}, s.apiCalculate)
	huma.Register(a, huma.Operation{OperationID: "blend", Method: http.MethodPost, Path: "/api/v1/blend", Summary: "Find blends of the wines on hand, or reckon volumes of one's own; keeps nothing",
		Errors: []int{http.StatusUnprocessableEntity}}, s.apiBlend)
	huma.Register(a, huma.Operation{OperationID: "append", Method: http.MethodPost, Path: "/api/v1/entries", Summary: "Append entries; the same entry twice is one",
		Errors: []int{http.StatusUnprocessableEntity}}, s.apiAppend)
	huma.Register(a, huma.Operation{OperationID: "write", Method: http.MethodPost, Path: "/api/v1/drafts", Summary: "Write an entry of any kind; its id, writer and time of writing are given here",
		Errors: []int{http.StatusUnprocessableEntity, http.StatusForbidden}}, s.apiWrite)
	huma.Register(a, huma.Operation{OperationID: "log", Method: http.MethodPost, Path: "/api/v1/log", Summary: "Log one typed line",
		Errors: []int{http.StatusUnprocessableEntity}}, s.apiLog)
	s.mux.HandleFunc("/api/", s.apiNowhere)
	return a
}

// apiNowhere answers programs in JSON, also where there is nothing.
func (s *Server) apiNowhere(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "application/problem+json")
	w.WriteHeader(http.StatusNotFound)
	err := json.NewEncoder(w).Encode(huma.ErrorModel{Status: http.StatusNotFound, Title: http.StatusText(http.StatusNotFound),
		Detail: "there is nothing at " + r.Method + " " + r.URL.Path + "; what there is stands at /api/v1/openapi.json"})
	if err != nil {
		s.Log.DebugContext(r.Context(), "the answer did not arrive", "error", err)
	}
}

// schemaName tells apart types of the same name in two packages: a plan's figure
// and a calculator's.
func schemaName(t reflect.Type, hint string) string {
	name := huma.DefaultSchemaNamer(t, hint)
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	pkg := path.Base(t.PkgPath())
	if pkg == "." || pkg == "serve" || pkg == "v2" {
		return name
	}
	return capital(pkg) + name
}

// apiError gives an error its status and names the fields it is about.
func (s *Server) apiError(ctx context.Context, err error) error {
	if fault.KindOf(err) == fault.Internal {
		s.Log.ErrorContext(ctx, "api request failed", "error", err)
	}
	details := make([]error, 0, len(fault.FieldsOf(err)))
	for _, f := range fault.FieldsOf(err) {
		details = append(details, &huma.ErrorDetail{Location: f.Name, Message: f.String(), Value: f.Given})
	}
	return huma.NewError(StatusOf(err), fault.Message(err), details...)
}

type body[T any] struct{ Body T }

func (s *Server) apiToday(ctx context.Context, _ *struct{}) (*body[advise.Today], error) {
	v, err := s.view(ctx)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	return &body[advise.Today]{v.Plan}, nil
}

// LotJSON is a lot for programs.
type LotJSON struct {
	Lot        string   `json:"lot" doc:"short name"`
	Name       string   `json:"name"`
	Colour     string   `json:"colour,omitempty"`
	Vintage    int      `json:"vintage,omitempty"`
	Variety    string   `json:"variety,omitempty"`
	Malolactic string   `json:"malolactic,omitempty" doc:"wanted, kept-from, or not decided"`
	VolumeL    float64  `json:"volume_l"`
	VolumePM   float64  `json:"volume_l_pm" doc:"one standard deviation"`
	Vessels    []string `json:"vessels"`
}

func (s *Server) apiLots(ctx context.Context, _ *struct{}) (*body[[]LotJSON], error) {
	v, err := s.view(ctx)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	out := []LotJSON{}
	for _, l := range v.State.Lots.All() {
		volume, spread := l.Volume()
		j := LotJSON{Lot: l.Slug, Name: l.Title(), Colour: l.Colour, Vintage: l.Vintage, Variety: l.Variety, Malolactic: v.State.Wish(l),
			VolumeL: volume.Litres(), VolumePM: spread.Litres(), Vessels: []string{}}
		for _, p := range l.Holds() {
			j.Vessels = append(j.Vessels, p.Vessel)
		}
		out = append(out, j)
	}
	return &body[[]LotJSON]{out}, nil
}

// ParcelJSON is one lot in one vessel for programs.
type ParcelJSON struct {
	Parcel   string    `json:"parcel"`
	Lot      string    `json:"lot"`
	Vessel   string    `json:"vessel"`
	Place    string    `json:"place,omitempty"`
	Form     string    `json:"form" doc:"fruit, must, wine or bottle"`
	Began    time.Time `json:"began"`
	VolumeL  float64   `json:"volume_l"`
	VolumePM float64   `json:"volume_l_pm" doc:"one standard deviation"`
	Bottles  int       `json:"bottles,omitempty"`
}

func (s *Server) apiParcels(ctx context.Context, _ *struct{}) (*body[[]ParcelJSON], error) {
	v, err := s.view(ctx)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	out := []ParcelJSON{}
	for _, st := range v.Standings {
		p := st.Parcel
		out = append(out, ParcelJSON{Parcel: string(p.ID), Lot: p.Lot, Vessel: p.Vessel, Place: st.Vessel.Place, Form: p.Form, Began: p.Began,
			VolumeL: p.Volume.Litres(), VolumePM: p.Spread.Litres(), Bottles: p.Count})
	}
	return &body[[]ParcelJSON]{out}, nil
}

// BeliefJSON is what is believed of one parcel.
type BeliefJSON struct {
	Parcel     string          `json:"parcel"`
	Lot        string          `json:"lot"`
	Vessel     string          `json:"vessel"`
	Malolactic *track.Belief   `json:"malolactic,omitempty"`
	SO2        *ageing.Belief  `json:"so2,omitempty"`
	Primary    *primary.Belief `json:"primary,omitempty"`
	Trouble    []string        `json:"trouble,omitempty" doc:"why a belief that was asked for is missing"`
}

func (s *Server) apiBeliefs(ctx context.Context, in *struct {
	Vessel string `query:"vessel" doc:"only the parcel in this vessel"`
	Lot    string `query:"lot" doc:"only parcels of this lot"`
}) (*body[[]BeliefJSON], error) {
	v, err := s.view(ctx)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	var wanted []*desk.Standing
	for _, st := range v.Standings {
		if (in.Vessel == "" || st.Vessel.Slug == in.Vessel) && (in.Lot == "" || st.Lot.Slug == in.Lot) {
			wanted = append(wanted, st)
		}
	}
	return &body[[]BeliefJSON]{BeliefsOf(wanted)}, nil
}

// BeliefsOf are the beliefs about parcels, for programs; parcels about which
// nothing is believed are left out.
func BeliefsOf(standings []*desk.Standing) []BeliefJSON {
	out := []BeliefJSON{}
	for _, st := range standings {
		if st.Malo == nil && st.SO2 == nil && st.Primary == nil && st.MaloTrouble+st.SO2Trouble+st.PrimaryTrouble == "" {
			continue
		}
		b := BeliefJSON{Parcel: string(st.Parcel.ID), Lot: st.Lot.Slug, Vessel: st.Vessel.Slug, Malolactic: st.Malo, SO2: st.SO2, Primary: st.Primary}
		for _, t := range []string{st.PrimaryTrouble, st.MaloTrouble, st.SO2Trouble} {
			if t != "" {
				b.Trouble = append(b.Trouble, t)
			}
		}
		out = append(out, b)
	}
	return out
}

// EntriesJSON is a stretch of the ledger.
type EntriesJSON struct {
	Entries []json.RawMessage `json:"entries"`
	Next    int               `json:"next" doc:"give it as after to read on"`
	More    bool              `json:"more"`
}

func (s *Server) apiEntries(ctx context.Context, in *struct {
	After int `query:"after" minimum:"0" doc:"how many to leave out"`
	Limit int `query:"limit" minimum:"1" maximum:"10000" default:"1000"`
}) (*body[EntriesJSON], error) {
	entries, err := s.entries(ctx, in.After)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	out := EntriesJSON{Entries: []json.RawMessage{}, Next: in.After}
	for i := range entries {
		if i == in.Limit {
			out.More = true
			break
		}
		out.Entries = append(out.Entries, entries[i].AppendLine(nil))
		out.Next++
	}
	return &body[EntriesJSON]{out}, nil
}

// FindingJSON is something that does not add up.
type FindingJSON struct {
	Code    string   `json:"code"`
	Says    string   `json:"says"`
	Lot     string   `json:"lot,omitempty"`
	Vessel  string   `json:"vessel,omitempty"`
	Entries []string `json:"entries"`
	Note    bool     `json:"note" doc:"it only informs"`
}

func (s *Server) apiFindings(ctx context.Context, _ *struct{}) (*body[[]FindingJSON], error) {
	v, err := s.view(ctx)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	return &body[[]FindingJSON]{FindingsOf(v.State.Findings.Slice())}, nil
}

// FindingsOf are findings for programs.
func FindingsOf(findings []*cellar.Finding) []FindingJSON {
	out := []FindingJSON{}
	for _, f := range findings {
		j := FindingJSON{Code: string(f.Code), Says: f.Says, Lot: f.Lot, Vessel: f.Vessel, Note: f.Note, Entries: []string{}}
		for _, id := range f.Entries {
			j.Entries = append(j.Entries, string(id))
		}
		out = append(out, j)
	}
	return out
}

func (s *Server) apiPrices(ctx context.Context, _ *struct{}) (*body[desk.Prices], error) {
	v, err := s.look(ctx)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	return &body[desk.Prices]{v.Prices}, nil
}

func (s *Server) apiCalculators(context.Context, *struct{}) (*body[[]*bench.Calculator], error) {
	return &body[[]*bench.Calculator]{bench.All()}, nil
}

func (s *Server) apiCalculate(ctx context.Context, in *struct {
	Name string         `path:"name"`
	Body map[string]any `doc:"inputs by key; KEY_pm for a ±"`
}) (*body[json.RawMessage], error) {
	c, err := bench.Find(in.Name)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	r, err := c.Run(bench.Given(in.Body))
	var stop *bench.StopError
	if errors.As(err, &stop) {
		details := make([]error, len(stop.Stops))
		for i, n := range stop.Stops {
			details[i] = &huma.ErrorDetail{Location: "overrule", Message: n.String()}
		}
		return nil, huma.NewError(http.StatusUnprocessableEntity, stop.Overrule, details...)
	}
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	raw, err := json.Marshal(r)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	return &body[json.RawMessage]{raw}, nil
}

// AppendedJSON says what became of each entry.
type AppendedJSON struct {
	New         int `json:"new"`
	Known       int `json:"known"`
	Conflicting int `json:"conflicting"`
}

func (s *Server) apiAppend(ctx context.Context, in *struct {
	Body struct {
		Entries []json.RawMessage `json:"entries" maxItems:"5000" doc:"as GET gives them"`
	}
}) (*body[AppendedJSON], error) {
	entries := make([]cellar.Entry, len(in.Body.Entries))
	for i, raw := range in.Body.Entries {
		e, err := cellar.ParseLine(raw)
		if err != nil {
			return nil, s.apiError(ctx, err)
		}
		e.Cellar = s.Cellar
		entries[i] = e
	}
	out, err := s.append(ctx, entries)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	return &body[AppendedJSON]{out}, nil
}

func (s *Server) apiWrite(ctx context.Context, in *struct {
	Body struct {
		Kind      string          `json:"kind" example:"fruit" doc:"one of docs/entries.md"`
		Happened  string          `json:"happened,omitempty" example:"2026-09-12+02:00" doc:"a day or a minute with its offset; now, if it is left out"`
		Body      json.RawMessage `json:"body" doc:"what the entry says, as docs/entries.md gives it"`
		Overruled string          `json:"overruled,omitempty" doc:"the words with which a stop, or what cannot be by the record so far, is overruled; they are kept"`
	}
}) (*body[json.RawMessage], error) {
	v, err := s.look(ctx)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	draft := cellar.Draft{Happened: cellar.At(v.Now), Overruled: in.Body.Overruled}
	if in.Body.Happened != "" {
		if draft.Happened, err = cellar.ParseMoment(in.Body.Happened); err != nil {
			return nil, s.apiError(ctx, fault.BadFields("write", fault.Field{Name: "happened", Given: in.Body.Happened, Allowed: "2026-11-03T19:30+01:00, or 2026-11-03+01:00 for a day"}))
		}
	}
	e := cellar.Entry{Kind: cellar.Kind(in.Body.Kind), Body: in.Body.Body}
	if draft.Body, err = e.Decode(); errors.Is(err, cellar.ErrUnknownKind) {
		err = fault.BadFields("write", fault.Field{Name: "kind", Given: in.Body.Kind, Allowed: kindNames()})
	} else if err != nil {
		err = fault.BadFields("write", fault.Field{Name: "body", Given: string(in.Body.Body), Allowed: "the fields of a " + in.Body.Kind, Hint: err.Error()})
	}
	if err == nil {
		err = draft.CheckIn(v.State)
	}
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	if held := cellar.Weigh(v.State, v.Now, draft).Held(); len(held) > 0 && draft.Overruled == "" {
		return nil, s.apiError(ctx, fault.New(fault.Denied, "write", "%s It can be overruled in words that are kept.", saidOf(held)))
	}
	kept, err := s.keep(ctx, s.now(), draft)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	return &body[json.RawMessage]{kept[0].AppendLine(nil)}, nil
}

func kindNames() string {
	names := make([]string, len(cellar.Kinds))
	for i := range cellar.Kinds {
		names[i] = string(cellar.Kinds[i].Kind)
	}
	return strings.Join(names, ", ")
}

// LoggedJSON is what a typed line was taken to mean.
type LoggedJSON struct {
	Says []string      `json:"says"`
	Came []FindingJSON `json:"came_up,omitempty" doc:"decisions that rested on something else than what stands now, and what does not add up"`
}

func (s *Server) apiLog(ctx context.Context, in *struct {
	Body struct {
		Line      string `json:"line" maxLength:"400" example:"ph 3.47 b2"`
		Overruled string `json:"overruled,omitempty" doc:"the words with which a stop, or what cannot be by the record so far, is overruled; they are kept"`
	}
}) (*body[LoggedJSON], error) {
	u, err := s.Keep(ctx, in.Body.Line, in.Body.Overruled)
	if err != nil {
		return nil, s.apiError(ctx, err)
	}
	return &body[LoggedJSON]{LoggedJSON{u.Says, FindingsOf(u.Came)}}, nil
}

// entries is the ledger after the first n entries.
func (s *Server) entries(ctx context.Context, n int) ([]cellar.Entry, error) {
	return s.Ledger.After(ctx, s.Cellar, n)
}

func (s *Server) append(ctx context.Context, entries []cellar.Entry) (AppendedJSON, error) {
	outcomes, err := s.Ledger.Append(ctx, entries)
	var out AppendedJSON
	for _, o := range outcomes {
		switch o {
		case ledger.New:
			out.New++
		case ledger.Known:
			out.Known++
		case ledger.Conflicting:
			out.Conflicting++
		}
	}
	return out, err
}
