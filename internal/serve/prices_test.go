package serve

import (
	"encoding/json"
	"fmt"
	"regexp"
	"strings"
	"testing"
)

// A lot's page lays both costs of "finished" on the table, by proposed prices that are
// said to be proposed, or by the person's own; programs read and write the same.
func TestBothCostsOnTheTable(t *testing.T) {
	t.Parallel()
	v := visitDemo(t)
	v.get("/lots/syrah").shows(t, "Judged by proposed prices, not by yours.", "Wrongly called finished 150", "Calling it finished today costs")
	p := v.ask("POST", "/api/v1/drafts", `{"kind":"prices","body":{"money":"EUR","false_finished":"600","lost_day":"2","tests":[{"what":"malic","cannot":true}]}}`)
	if p.Code != 200 {
		t.Fatalf("%d: %s", p.Code, p.Body)
	}
	page := v.get("/lots/syrah")
	// By hand: 600/(600 + 7·1.13) = 0.98699
	page.shows(t, "Judged by your own prices.", "all in EUR", "600 if malic acid is left", "from a chance of 98.7 % on", "2 a day if it has stalled unseen")
	if options := regexp.MustCompile(`(?s)What each test would be worth.*?</table>`).FindString(page.Body); options == "" || strings.Contains(options, "malic acid") && strings.Contains(options, "strip") {
		t.Errorf("a test that cannot be made is among the options: %s", options)
	}
	var prices struct {
		Money    string
		Proposed bool
		Lost     float64 `json:"lost_day"`
		Tests    []any
	}
	if err := json.Unmarshal([]byte(v.get("/api/v1/prices").Body), &prices); err != nil || prices.Money != "EUR" || prices.Proposed || prices.Lost != 2 || len(prices.Tests) != 4 {
		t.Errorf("%+v, %v", prices, err)
	}
	if form := v.get("/write/prices"); form.value("false_finished") != "600" || strings.Contains(form.field("tests"), fmt.Sprintf("value=%q checked", "malic")) || !strings.Contains(form.field("tests"), fmt.Sprintf("value=%q checked", "ta")) {
		t.Error("the form does not begin with the prices as they stand")
	}
	if p := v.ask("POST", "/api/v1/drafts", `{"kind":"prices","body":{"lost_day":"-2"}}`); p.Code != 422 || !strings.Contains(p.Body, "a day lost") {
		t.Errorf("%d: %s", p.Code, p.Body)
	}
}
