package supplies

import (
	"math"
	"slices"
	"strconv"

	"linn/calc/fluidics"
	"linn/finding"
	"linn/unit"
)

// Running is the operation on the table when the mains fails.
type Running struct {
	Elapsed unit.Minute
	Past    []unit.Minute // how long the unit's own operations lasted
}

// Remaining is the 90th centile of the time such an operation still takes: of
// the past ones that lasted longer than this one has, less what has gone by.
// Not known below 20 such operations.
func (r Running) Remaining() (unit.Reading[unit.Minute], error) {
	if err := within(bound{"elapsed_min", float64(r.Elapsed), 0, 600, "min"}); err != nil {
		return unit.Reading[unit.Minute]{}, err
	}
	var left []float64
	for _, d := range r.Past {
		if err := within(bound{"case_min", float64(d), 0.5, 600, "min"}); err != nil {
			return unit.Reading[unit.Minute]{}, err
		}
		if d > r.Elapsed {
			left = append(left, float64(d-r.Elapsed))
		}
	}
	if float64(len(left)) < leastCases {
		return unit.Reading[unit.Minute]{N: len(left)}, nil
	}
	slices.Sort(left)
	at := centile * float64(len(left)-1)
	low := int(math.Floor(at))
	v := left[low]
	if low+1 < len(left) {
		v += (at - float64(low)) * (left[low+1] - left[low])
	}
	out := unit.Known(unit.Minute(v))
	out.N = len(left)
	return out, nil
}

// Check compares the minutes a bank has left with what the operation needs.
func (r Running) Check(left unit.Minute) ([]finding.Finding, error) {
	need, err := r.Remaining()
	switch {
	case err != nil:
		return nil, err
	case !need.Known:
		return []finding.Finding{fewCases.On("case_min", finding.Value{Name: "n", Text: strconv.Itoa(need.N)}, finding.Value{Name: "limit", Text: strconv.Itoa(int(leastCases))})}, nil
	case left < need.Value:
		return []finding.Finding{batteryShort.On("battery_ah", finding.Value{Name: "got", Text: left.String()}, finding.Value{Name: "need", Text: need.Value.String()})}, nil
	}
	return nil, nil
}

// Bottles is a list's irrigating fluid.
type Bottles struct {
	Flow            unit.MillilitrePerMinute // with the foot down
	Foot            unit.Minute              // of one operation
	Bottle, Reserve unit.Millilitre
}

// Change says when bottles are changed within one operation, each operation
// beginning with its own bottle, and how many it takes.
type Change struct {
	Each   unit.Minute   // what one bottle lasts
	At     []unit.Minute // of foot-down time
	Needed int
}

// Plan the bottles of one operation.
func (b Bottles) Plan() (Change, error) {
	if err := within(bound{"foot_min", float64(b.Foot), 0.1, 300, "min"}, bound{"bottle_ml", float64(b.Bottle), 50, 5000, "mL"},
		bound{"reserve_ml", float64(b.Reserve), 0, 0.9 * float64(b.Bottle), "mL"}); err != nil {
		return Change{}, err
	}
	s, err := fluidics.BottleTime{Flow: b.Flow, Bottle: b.Bottle, Reserve: b.Reserve}.Foot()
	if err != nil {
		return Change{}, err
	}
	c := Change{Each: unit.Minute(s / 60), Needed: 1}
	for t := c.Each; t < b.Foot; t += c.Each {
		c.At, c.Needed = append(c.At, t), c.Needed+1
	}
	return c, nil
}
