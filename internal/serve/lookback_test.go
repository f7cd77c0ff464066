package serve

import (
	"math"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"elevage/internal/cellar"
	"elevage/internal/compose"
)

// The account on the page is that of package compose: it closes, door by door.
func TestAccountPageCloses(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	page := v.get("/account")
	page.shows(t, "Volume, L", "Pure alcohol, L", "there at first", "there at last", "converted")
	view, err := v.view(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	a := compose.AccountOf(view.State, cellar.Scope{}, evening.AddDate(-5, 0, 0), evening)
	if a.Volume.Closing <= 0 || math.Abs(a.Volume.Off().Litres()) > 1e-6 {
		t.Fatalf("closing %v, off by %v", a.Volume.Closing, a.Volume.Off())
	}
	page.shows(t, strconv.FormatFloat(a.Volume.Closing.Litres(), 'f', 2, 64))
	for _, bad := range []struct{ query, want string }{
		{"lot=nowhere", "a lot of this cellar"}, {"vessel=nowhere", "a vessel of this cellar"}, {"from=yesterdy", "a date such as"}, {"from=2026-11-02&to=2026-11-01", "a day not before the first"}} {
		if p := v.get("/account?" + bad.query); p.Code != 422 || !strings.Contains(p.Body, bad.want) {
			t.Errorf("%s: %d", bad.query, p.Code)
		}
	}
}

func TestComparePage(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	v.get("/compare?a=syrah").shows(t, "Set side by side")
	v.get("/compare?a=syrah&b=merlot").shows(t, "Syrah", "Merlot", "Malolactic fermentation")
	v.get("/compare?a=syrah&b=syrah").shows(t, "Nothing that was written down differs.")
	if p := v.get("/compare?a=syrah&b=nowhere"); p.Code != 422 {
		t.Error(p.Code)
	}
}

// Every share of an addition is somewhere: what is now in wines and what has gone
// adds up to the whole on the page's own figures.
func TestWhereItWent(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	v.get("/went").shows(t, "Follow it")
	view, err := v.view(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	traces := view.State.TraceAdded("potassium-metabisulfite", "")
	if len(traces) == 0 {
		t.Fatal("the demo added no sulfite")
	}
	for _, tr := range traces {
		sum := 0.0
		for _, n := range tr.Now {
			sum += n.Part
		}
		for _, g := range tr.Gone {
			sum += g.Out
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Errorf("%s: %.6f of it is accounted for", tr.Of.Entry.ID, sum)
		}
		v.get("/went/"+url.PathEscape(string(tr.Of.Entry.ID))).shows(t, cellar.Sentence(tr.Of), "Every wine that ever held some of it")
	}
	v.get("/went?product=potassium-metabisulfite").shows(t, cellar.Sentence(traces[0].Of))
	if p := v.get("/went?product=unicorn"); p.Code != 422 {
		t.Error(p.Code)
	}
	if p := v.get("/went/nothing"); p.Code != 404 {
		t.Error(p.Code)
	}
}

func TestVesselsPage(t *testing.T) {
	t.Parallel()
	v := demoToRead(t)
	v.get("/vessels").shows(t, "How they stand", "In the order of a walk")
	v.get("/vessels?volume=20&spread=0.5").shows(t, "Sets that 20")
	for _, bad := range []string{"volume=lots", "volume=-3", "volume=20&spread=much", "volume="} {
		if p := v.get("/vessels?" + bad); p.Code != 422 || !strings.Contains(p.Body, "a volume of") {
			t.Errorf("%s: %d", bad, p.Code)
		}
	}
}
