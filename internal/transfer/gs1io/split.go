package gs1io

import (
	"cmp"
	"slices"

	"linn/unit"
)

// Our own bounds: more ways than mostWays are no question a person can answer,
// and mostSteps keeps a string of noise from being tried for ever.
const (
	mostWays  = 12
	mostSteps = 20000
)

// splitter tries every way to read a string without separators.
type splitter struct {
	today unit.Date
	ways  [][]Element
	steps int
	many  bool
}

// splits are all valid ways to read s: known identifiers only, each once,
// every check digit and date right. The way with the fewest cuts comes first.
// many says that there are too many to ask about.
func splits(s string, today unit.Date) (ways [][]Element, many bool) {
	p := splitter{today: today}
	p.from(s, nil)
	slices.SortStableFunc(p.ways, func(a, b []Element) int { return cmp.Compare(len(a), len(b)) })
	return p.ways, p.many
}

func (p *splitter) from(s string, before []Element) {
	if p.steps++; p.steps > mostSteps || len(p.ways) > mostWays {
		p.many = true
		return
	}
	if s == "" {
		p.ways = append(p.ways, slices.Clone(before))
		return
	}
	ai := identifier(s)
	if ai == "" || slices.ContainsFunc(before, func(e Element) bool { return e.AI == ai }) {
		return
	}
	rest, k := s[len(ai):], kinds[ai]
	least, most := k.fixed, k.fixed
	if k.fixed == 0 {
		least, most = 1, min(k.most, len(rest))
	}
	for n := most; n >= least && n <= len(rest); n-- {
		if e := (Element{ai, rest[:n]}); e.wrong(p.today) == "" {
			p.from(rest[n:], append(before, e))
		}
	}
}
