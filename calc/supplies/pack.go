package supplies

import (
	"cmp"
	"math"
	"slices"

	"linn/unit"
)

// Suits are the shelf steps, both ends included, whose lenses bring one eye
// within the wanted distance of its target. None does when High < Low.
type Suits struct{ Low, High int }

// Camp is the question what to pack for eyes nobody has measured yet: Drawn
// holds as many possible lists of eyes as were drawn, all of one length, and
// the shelf has steps 0 … Steps−1.
type Camp struct {
	Drawn [][]Suits
	Steps int
	Take  int // lenses that go into the box
}

// Packed is a box of lenses and how far it goes.
type Packed struct {
	Count  []int      // lenses of each step
	Served unit.Ratio // mean share of eyes that get a lens that suits them
	All    unit.Ratio // share of the drawn lists in which every eye gets one
	Limit  unit.Ratio // Served, had every step an endless stock
	Error  unit.Ratio // standard error of All, from the number of lists
}

const (
	mostSteps = 400
	mostTake  = 2000
	mostDrawn = 100_000
)

func (c Camp) check() error {
	if err := within(bound{"steps", float64(c.Steps), 1, mostSteps, ""}, bound{"take", float64(c.Take), 0, mostTake, ""}, bound{"drawn", float64(len(c.Drawn)), 1, mostDrawn, ""}); err != nil {
		return err
	}
	if err := within(bound{"eyes", float64(len(c.Drawn[0])), 1, mostTake, ""}); err != nil {
		return err
	}
	for _, list := range c.Drawn {
		if err := within(bound{"eyes", float64(len(list)), float64(len(c.Drawn[0])), float64(len(c.Drawn[0])), ""}); err != nil {
			return err
		}
	}
	return nil
}

// Best packs Take lenses so that as large a share of eyes as possible gets one
// that suits it: lens by lens the one that gains most, then single lenses are
// exchanged while that gains. For each drawn list the lenses are given out the
// best way (see give). The gain of a further lens never grows with the box, so
// that the first stage alone reaches at least 1 − 1/e of the best box
// (Nemhauser, Wolsey, Fisher, Mathematical Programming 1978;14:265-294).
func (c Camp) Best() (Packed, error) {
	if err := c.check(); err != nil {
		return Packed{}, err
	}
	p := c.ready()
	box, total := make([]int, c.Steps), 0
	// Since no gain grows, one worked out for a smaller box is an upper bound:
	// only the steps whose bound leads are counted anew.
	gain, counted := make([]int, c.Steps), make([]int, c.Steps)
	for step := range gain {
		gain[step] = math.MaxInt
	}
	for taken := 1; taken <= c.Take; {
		at := 0
		for step, g := range gain {
			if g > gain[at] {
				at = step
			}
		}
		if counted[at] < taken {
			gain[at], counted[at] = p.served(box, at, -1)-total, taken
			continue
		}
		box[at]++
		total += gain[at]
		taken++
	}
	for p.exchange(box, &total) {
	}
	return c.Judge(box)
}

// exchange swaps one lens for another step if that serves more eyes.
func (p *packing) exchange(box []int, total *int) bool {
	for out := range box {
		if box[out] == 0 {
			continue
		}
		for in := range box {
			if n := p.served(box, in, out); n > *total {
				box[out]--
				box[in]++
				*total = n
				return true
			}
		}
	}
	return false
}

// Judge says how far a box of lenses goes over the drawn lists.
func (c Camp) Judge(count []int) (Packed, error) {
	if err := c.check(); err != nil {
		return Packed{}, err
	}
	if err := within(bound{"steps", float64(len(count)), float64(c.Steps), float64(c.Steps), ""}); err != nil {
		return Packed{}, err
	}
	p := c.ready()
	all, got, could := 0, 0, 0
	for _, list := range p.lists {
		n := p.give(list, count, -1, -1)
		got += n
		if n == len(c.Drawn[0]) {
			all++
		}
		could += len(list)
	}
	lists, eyes := float64(len(c.Drawn)), float64(len(c.Drawn[0]))
	share := float64(all) / lists
	return Packed{slices.Clone(count), unit.Ratio(float64(got) / lists / eyes), unit.Ratio(share), unit.Ratio(float64(could) / lists / eyes),
		unit.Ratio(math.Sqrt(share * (1 - share) / lists))}, nil
}

// packing is a camp made ready for counting: of each list the eyes that any
// step of the shelf suits, by the lowest step that does.
type packing struct {
	lists [][]Suits
	open  []int // eyes still without a lens, by the highest step that suits them
}

func (c Camp) ready() *packing {
	p := &packing{open: make([]int, c.Steps+1)}
	for _, list := range c.Drawn {
		var eyes []Suits
		for _, e := range list {
			if e = (Suits{max(e.Low, 0), min(e.High, c.Steps-1)}); e.Low <= e.High {
				eyes = append(eyes, e)
			}
		}
		slices.SortFunc(eyes, func(a, b Suits) int { return cmp.Compare(a.Low, b.Low) })
		p.lists = append(p.lists, eyes)
	}
	return p
}

// served counts the eyes of all lists that get a lens from the box, with one
// lens of the step in more and one of the step out less (-1: none).
func (p *packing) served(box []int, in, out int) (n int) {
	for _, list := range p.lists {
		n += p.give(list, box, in, out)
	}
	return n
}

// give counts the eyes of one list that get a lens: going up the steps, each
// lens goes to the eye in wait whose range ends first, which is the best
// matching of points to intervals (Glover, Naval Research Logistics Quarterly
// 1967;14:313-316).
func (p *packing) give(list []Suits, box []int, in, out int) (served int) {
	clear(p.open)
	next, waiting := 0, 0
	for step, n := range box {
		if step == in {
			n++
		}
		if step == out {
			n--
		}
		for next < len(list) && list[next].Low <= step {
			p.open[list[next].High]++
			waiting++
			next++
		}
		for end := step; n > 0 && waiting > 0 && end < len(p.open); end++ {
			k := min(n, p.open[end])
			p.open[end] -= k
			n, waiting, served = n-k, waiting-k, served+k
		}
		waiting -= p.open[step]
		p.open[step] = 0
		if next == len(list) && waiting == 0 {
			break
		}
	}
	return served
}
