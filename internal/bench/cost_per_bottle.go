package bench

import (
	"fmt"

	"elevage/science/cited"
)

var _ = declare(Calculator{
	Name:     "cost-per-bottle",
	Title:    "Cost per bottle",
	Purpose:  "what a bottle cost, with the barrel's share and, if you like, your hours; and what a test is worth",
	Question: Becomes,
	Inputs: []Input{
		{Key: "costs", Label: "costs", Kind: Table, MinRows: 1, MaxRows: 100, Required: true, Columns: []Input{
			{Key: "item", Label: "item", Kind: Text, Required: true},
			{Key: "cost", Label: "cost", Min: 0, Max: 1e7, Required: true, Help: "in your own money, the same for all"},
		}},
		{Key: "bottles", Label: "bottles", Min: 1, Max: 1e6, Required: true, Exact: true, Help: "a count: what was filled, losses left out"},
		{Key: "barrel_price", Label: "barrel, price less what it will fetch", Min: 0, Max: 1e6, Default: "0", Help: "in the same money"},
		{Key: "barrel_l", Label: "barrel holds", Unit: litre, Min: 1, Max: 10000, Default: "225", Exact: true},
		{Key: "barrel_years", Label: "years it is of use", Unit: year, Min: 0.5, Max: 50, Default: "4", Exact: true},
		{Key: "lot_l", Label: "of this lot in it", Unit: litre, Min: 0, Max: 10000, Default: "0", Exact: true},
		{Key: "lot_years", Label: "for years", Unit: year, Min: 0, Max: 20, Default: "0", Exact: true},
		{Key: "hours", Label: "hours of work", Min: 0, Max: 1e5, Default: "0", Help: "hours; 0 leaves your time out"},
		{Key: "hour_rate", Label: "an hour counts as", Min: 0, Max: 1e5, Default: "0", Help: "in the same money"},
		{Key: "test_price", Label: "a test costs", Min: 0, Max: 1e5, Exact: true, Help: "fee and the wine it uses, in the same money"},
		{Key: "bottle_value", Label: "a bottle is worth", Min: 0, Max: 1e5, Exact: true, Help: "in the same money"},
	},
	Groups: []Group{{AllOrNone, []string{"test_price", "bottle_value"}}},
	Outputs: []Output{
		{Key: "cost_per_bottle", Label: "cost per bottle", Decimals: 2},
		{Key: "total_cost", Label: "cost of the lot", Decimals: 2},
		{Key: "barrel_share", Label: "barrel's share in it", Decimals: 2},
		{Key: "work_share", Label: "hours in it", Decimals: 2},
		{Key: "test_pays_from_pct", Label: "a test pays if it avoids total loss in more than", Unit: percent, Decimals: 1, Optional: true},
		{Key: "shares", Label: "per bottle", Kind: Table, Columns: []Output{
			{Key: "item", Label: "item", Kind: Text}, {Key: "per_bottle", Label: "per bottle", Decimals: 2}, {Key: "share_pct", Label: "share", Unit: percent, Decimals: 1},
		}},
	},
	Cautions: []Warning{
		{Code: "not-for-sale", When: "always", Mark: cited.Read, Ref: "27 CFR 24.75", Text: "Wine made at home may not be sold in most places; these figures are for your own judgement."},
		{Code: "two-bottles", When: "a test costs more than two bottles", Mark: cited.Proposal, Text: "A test dearer than two bottles needs a reason: say what you would do differently after it."},
	},
	Sources: []Source{
		{Used: "sum of costs, barrel share = price / (litres × years of use) × litres × years, hours × rate, over bottles", Mark: cited.CommonPractice},
		{Used: "a test pays when the chance of avoiding the loss × the loss exceeds its price", Mark: cited.Computed},
	},
	Check:   Check{Against: "arithmetic by hand; price of a test: Cornell University, Wine and hard cider analyses (36.75 over 60 bottles worth 10 each is 6.1 %); common practice, no source", Mark: cited.CommonPractice},
	Example: []string{"costs=fruit,240;yeast and bacteria,18;bottles and corks,90", "bottles=86", "hours=30", "hour_rate=0", "test_price=36.75", "bottle_value=10"},
	Work:    workCostPerBottle,
})

func workCostPerBottle(s *Sheet) error {
	barrel := s.Num("barrel_price") / (s.Num("barrel_l") * s.Num("barrel_years")) * s.Num("lot_l") * s.Num("lot_years")
	s.Out("barrel_share", barrel, "{barrel's price} / ({it holds} * {years of use}) * {of this lot} * {for years}",
		term("barrel's price", s.Num("barrel_price"), plain), term("it holds", s.Num("barrel_l"), litre), term("years of use", s.Num("barrel_years"), plain),
		term("of this lot", s.Num("lot_l"), litre), term("for years", s.Num("lot_years"), plain))
	work := s.Num("hours") * s.Num("hour_rate")
	s.Out("work_share", work, "{hours} * {an hour}", term("hours", s.Num("hours"), plain), term("an hour", s.Num("hour_rate"), plain))
	total := barrel + work
	sum, terms := "{barrel} + {work}", []Term{term("barrel", barrel, plain), term("work", work, plain)}
	type item struct {
		name string
		cost float64
	}
	var items []item
	for i, row := range s.Rows("costs") {
		cost := row.Num("cost")
		total += cost
		name := fmt.Sprintf("cost %d", i+1)
		sum += " + {" + name + "}"
		terms = append(terms, term(name, cost, plain))
		items = append(items, item{row.Choice("item"), cost})
	}
	s.Out("total_cost", total, sum, terms...)
	count := term("bottles", s.Num("bottles"), plain)
	s.Out("cost_per_bottle", total/s.Num("bottles"), "{total} / {bottles}", term("total", total, plain), count)
	if barrel > 0 {
		items = append(items, item{"barrel", barrel})
	}
	if work > 0 {
		items = append(items, item{"hours", work})
	}
	rows := make([]map[string]any, len(items))
	for i, it := range items {
		share := 0.0
		if total > 0 {
			share = it.cost / total * 100
		}
		rows[i] = map[string]any{"item": it.name, "per_bottle": it.cost / s.Num("bottles"), "share_pct": share}
	}
	s.OutRows("shares", rows)
	if s.Given("test_price") {
		if s.Num("bottle_value") == 0 {
			s.Refuse("bottle_value", "more than 0")
			return nil
		}
		s.Out("test_pays_from_pct", s.Num("test_price")/(s.Num("bottles")*s.Num("bottle_value"))*100, "{a test} / ({bottles} * {a bottle is worth}) * 100",
			term("a test", s.Num("test_price"), plain), count, term("a bottle is worth", s.Num("bottle_value"), plain))
		if s.Num("test_price") > 2*s.Num("bottle_value") {
			s.Caution("two-bottles")
		}
	}
	s.Caution("not-for-sale")
	return nil
}
