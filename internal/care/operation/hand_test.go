package operation

import (
	"slices"
	"testing"

	"linn/unit"
)

// What kept boxes from eyes, by the published causes of wrong lenses that end
// at the box (Kelly and Jalil 2011, Steeples 2016); the figures are invented.
func TestCompare(t *testing.T) {
	today := unit.Date{Year: 2026, Month: 3, Day: 5}
	plan := HandPlan{Planned: Planned{Model: "Test Lens", Power: 21.5, HasLens: true}, Ladder: []Rung{{"sulcus", "Three Piece", 20.5}}}
	minus := plan
	minus.Power = -2
	toric := plan
	toric.Cylinder = unit.Known(unit.Dioptre(2.25))
	right := InHand{Serial: "S1", Expiry: today, Model: "test lens", First: Reader{"a", "+21.5", "0"}, Second: Reader{"b", "21,50", "0.00"}}
	with := func(change func(*InHand)) InHand { h := right; change(&h); return h }
	both := func(power string) InHand {
		return with(func(h *InHand) { h.First.Power, h.Second.Power = power, power })
	}
	for name, c := range map[string]struct {
		plan HandPlan
		box  InHand
		want []string
	}{
		"agrees":            {plan, right, nil},
		"transposed digits": {plan, both("12.5"), []string{"hand-power"}},
		"half a dioptre":    {plan, both("22.0"), []string{"hand-power"}},
		"sign lost":         {minus, both("2.0"), []string{"hand-sign"}},
		"sign kept":         {minus, both("−2.0"), nil},
		"one misreads":      {plan, with(func(h *InHand) { h.Second.Power = "22" }), []string{"hand-readers", "hand-power"}},
		"no number":         {plan, both("2l.5"), []string{"hand-power"}},
		"one person":        {plan, with(func(h *InHand) { h.Second.Who = "a" }), []string{"hand-alone"}},
		"other model":       {plan, with(func(h *InHand) { h.Model = "Three Piece" }), []string{"hand-model"}},
		"expired":           {plan, with(func(h *InHand) { h.Expiry = today.AddDays(-1) }), []string{"hand-expired"}},
		"no date of use":    {plan, with(func(h *InHand) { h.Expiry = unit.Date{} }), []string{"hand-no-date"}},
		"no serial":         {plan, with(func(h *InHand) { h.Serial = "" }), []string{"hand-no-serial"}},
		"toric not planned": {plan, with(func(h *InHand) { h.First.Cylinder, h.Second.Cylinder = "1.5", "1.5" }), []string{"hand-cylinder"}},
		"not toric":         {toric, right, []string{"hand-cylinder"}},
		"toric":             {toric, with(func(h *InHand) { h.First.Cylinder, h.Second.Cylinder = "2.25", "2.25" }), nil},
		"rescue lens": {plan, with(func(h *InHand) {
			h.Place, h.Model, h.First.Power, h.Second.Power = "sulcus", "Three Piece", "20.5", "20.5"
		}), nil},
		"rescue, no place":  {plan, with(func(h *InHand) { h.Model, h.First.Power, h.Second.Power = "Three Piece", "20.5", "20.5" }), []string{"hand-model", "hand-power"}},
		"no such rung":      {plan, with(func(h *InHand) { h.Place = "chamber" }), []string{"hand-no-lens"}},
		"plan without lens": {HandPlan{}, right, []string{"hand-no-lens"}},
	} {
		var got []string
		for _, f := range c.box.Compare(c.plan, today) {
			got = append(got, f.Code)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
}
