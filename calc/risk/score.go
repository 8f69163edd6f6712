package risk

import (
	"math"

	"linn/source"
)

var (
	muhtaseb1 = source.Ref{Key: source.Muhtaseb2004, Where: "table 1", Grade: source.Read}
	muhtaseb2 = source.Ref{Key: source.Muhtaseb2004, Where: "table 2", Grade: source.Read}
	habib1    = source.Ref{Key: source.Habib2005, Where: "table 1", Grade: source.Read}
)

// Points is one item of a score.
type Points struct {
	Key  string
	Each int
}

// Score adds points of items that are present. Items of one exclusive set
// count once, with the greatest.
type Score struct {
	ID        string
	Ref       source.Ref
	Items     []Points
	Exclusive [][]string
}

// Answers say of items whether they are present; an item that is absent from
// the map was not answered.
type Answers map[string]bool

// Total is a score with what was not answered.
type Total struct {
	Points  int // of the items answered as present
	Most    int // if every unanswered item were present
	Missing []string
}

// MuhtasebScore is the scoring of Muhtaseb and others 2004.
var MuhtasebScore = Score{ID: "muhtaseb", Ref: muhtaseb1, Items: []Points{
	{"vitrectomy_past", 1}, {"corneal_scar", 1}, {"pupil_below_3", 1}, {"acd_below_2_5", 1}, {"age_over_88", 1}, {"ametropia_over_6", 1},
	{"capsule_plaque", 1}, {"posterior_polar", 1}, {"surgeon_doubts", 1},
	{"dense_or_white", 3}, {"exfoliation", 3}, {"phacodonesis", 3}}}

// HabibScore is the selection score for trainees of Habib and others. Nuclear
// grades exclude one another.
var HabibScore = Score{ID: "habib", Ref: habib1, Items: []Points{
	{"cannot_lie_flat", 1}, {"severe_anxiety", 1}, {"head_tremor", 1}, {"angle_closure_past", 1}, {"fellow_complicated", 1}, {"vitrectomy_past", 1},
	{"corneal_scar", 1}, {"shallow_chamber", 1}, {"poor_dilation", 1}, {"exfoliation", 1}, {"phacodonesis", 1}, {"length_over_27", 1}, {"length_below_20", 1},
	{"nucleus_1_2", 1}, {"nucleus_3", 2}, {"dense_or_white", 3}},
	Exclusive: [][]string{{"nucleus_1_2", "nucleus_3", "dense_or_white"}, {"length_over_27", "length_below_20"}}}

// Add adds the score up.
func (s *Score) Add(a Answers) (t Total) {
	least, most := map[int]int{}, map[int]int{}
	for i, item := range s.Items {
		present, answered := a[item.Key]
		set := s.set(item.Key, i)
		if !answered {
			t.Missing = append(t.Missing, item.Key)
		}
		if present {
			least[set] = max(least[set], item.Each)
		}
		if present || !answered {
			most[set] = max(most[set], item.Each)
		}
	}
	for set, n := range most {
		if t.Points += least[set]; least[set] > 0 && set < 0 {
			n = least[set] // one of an exclusive set was answered: the others are not present
		}
		t.Most += n
	}
	return t
}

// set numbers the exclusive set of an item: negative, or the item's own place.
func (s *Score) set(key string, own int) int {
	for i, list := range s.Exclusive {
		for _, k := range list {
			if k == key {
				return -1 - i
			}
		}
	}
	return own
}

// Group is the risk group of a Muhtaseb score, 1 to 4.
func Group(points int) int {
	switch {
	case points <= 0:
		return 1
	case points <= 2:
		return 2
	case points <= 5:
		return 3
	}
	return 4
}

// GroupRate is how often one outcome was seen in one group of muhtaseb2004.
type GroupRate struct {
	Outcome  string
	Events   [4]int
	Operated [4]int
}

// GroupRates is its table 2, as printed: eyes 579, 255, 141, 25.
var GroupRates = []GroupRate{
	{"any-complication", [4]int{25, 19, 19, 8}, groupSizes},
	{"capsule-rupture", [4]int{9, 4, 7, 2}, groupSizes},
	{"vitreous-loss", [4]int{6, 1, 8, 2}, groupSizes},
	{"failed-rhexis", [4]int{1, 1, 3, 2}, groupSizes},
	{"zonular-dehiscence", [4]int{1, 3, 3, 2}, groupSizes},
	{"lost-nucleus", [4]int{1, 1, 1, 1}, groupSizes},
	{"wound-burn-or-leak", [4]int{0, 0, 2, 1}, groupSizes},
}

var groupSizes = [4]int{579, 255, 141, 25}

// GroupRef is where the rates were read.
var GroupRef = muhtaseb2

// Of is the rate in a group with its 95 % Wilson interval.
func (g *GroupRate) Of(group int) (Interval, error) {
	if group < 1 || group > 4 {
		return Interval{}, ErrLevel
	}
	return Wilson(Count{Events: g.Events[group-1], Of: g.Operated[group-1]})
}

// Register is the Swedish register's adjusted odds ratios. Several are known
// only during the operation: a composite for audit, not a forecast.
var Register = map[string]float64{
	"acuity-0.1-or-less": register("acuity", 1.82), "exfoliation": register("exfoliation", 1.53), "other-sight-threatening": register("other", 1.35),
	"trypan": register("trypan", 1.76), "mechanical-dilation": register("dilation", 1.36), "hooks-at-rhexis": register("hooks", 6.99),
}

func register(name string, v float64) float64 {
	return source.Declare(source.Constant{Name: "swedish." + name, Value: v, Ref: source.Ref{Key: source.Swedish2021, Where: "adjusted odds ratios", Grade: source.Read}})
}

// RegisterComposite multiplies the ratios of the items; an item the register
// does not know, or one named twice, is an error that wraps ErrLevel.
func RegisterComposite(items []string) (float64, error) {
	product, seen := 1.0, map[string]bool{}
	for _, item := range items {
		r, known := Register[item]
		if !known || seen[item] {
			return math.NaN(), ErrLevel
		}
		product, seen[item] = product*r, true
	}
	return product, nil
}
