package sheet

import (
	"math"

	"linn/calc/astigmatism"
	"linn/eye"
	"linn/internal/care/plan"
	"linn/unit"
)

// Clock is the cornea as the surgeon sees it from the seat, as places on a
// circle of radius 1 about (0, 0): X to the right, Y downwards, as on a page.
// The seat is at the bottom.
type Clock struct {
	Side eye.Side
	Seat eye.Seat // superior where none is recorded
	Said bool     // the seat was recorded

	Nasal, Temporal, Superior, Inferior Point
	Hours                               [12]Point // 1 to 12 o'clock of the eye
	Steep                               *Meridian // of the cornea as planned with
	Incision                            *Cut
	Ports                               []Point
	Lens                                *Meridian // where a toric lens's mark is to lie; advised only, unless Toric says chosen
	Cylinder                            plan.Number
	Toric                               ToricState
	Chosen                              *plan.ToricChoice // what was chosen and what it leaves
	Closed                              []Closed

	turn float64 // added to a direction to see it from the seat, degrees
}

// Point is a place on the circle and the direction it stands for.
type Point struct {
	X, Y float64
	At   float64 // degrees as seen from in front
}

// Meridian is a line through the middle.
type Meridian struct {
	From, To Point
	Axis     unit.Axis
}

// ToricState says whose the numbers of a toric lens are.
type ToricState string

// The states; "" is no toric lens.
const (
	ToricChosen     ToricState = "chosen"
	ToricAdvised    ToricState = "advised"      // and not chosen
	ToricNone       ToricState = "none"         // chosen: no cylinder
	ToricNotAdvised ToricState = "none-advised" // and nothing chosen
)

// Closed is a stretch of limbus that is not to be cut, as Excluded judges it:
// half an hour wider to both sides than the hours that were named.
type Closed struct {
	Edge     []Point // along the circle, every few degrees, clockwise as seen from in front
	Middle   Point
	From, To unit.Hour
	Why      string
}

// Cut is the main incision.
type Cut struct {
	Middle, From, To Point
	Hour             string
	Type             astigmatism.IncisionType
	Width            plan.Number // mm
}

// ClockOf draws the cornea of a plan; nil when there is nothing to draw.
func ClockOf(side eye.Side, c *plan.CorneaPlan) *Clock {
	if c == nil || c.Measured == nil || side == "" {
		return nil
	}
	k := &Clock{Side: side, Seat: c.Seat, Said: c.Seat != ""}
	if !k.Said {
		k.Seat = eye.SuperiorSeat
	}
	k.turn = 270 - float64(astigmatism.Place(k.Seat).Direction(side))
	nasal := float64(astigmatism.Nasal(side))
	k.Nasal, k.Temporal, k.Superior, k.Inferior = k.at(nasal), k.at(nasal+180), k.at(90), k.at(270)
	for i := range k.Hours {
		k.Hours[i] = k.at(float64(astigmatism.DirectionOf(float64(i + 1))))
	}
	if c.Adjusted != nil {
		k.Steep = k.meridian(c.Adjusted.Steep.Value)
	}
	if i := c.Incision; i != nil {
		half := float64(astigmatism.Arc(unit.Millimetre(i.Width.Value))) / 2
		k.Incision = &Cut{k.at(i.At.Value), k.at(i.At.Value - half), k.at(i.At.Value + half), i.Hour, i.Type, i.Width}
		for _, p := range i.SidePorts {
			k.Ports = append(k.Ports, k.at(p.Value))
		}
	}
	k.toric(c.Toric)
	return k
}

func (k *Clock) toric(t *plan.ToricPlan) {
	switch {
	case t == nil:
	case t.Chosen != nil && t.Chosen.Cylinder.Value > 0:
		k.Toric, k.Chosen, k.Lens, k.Cylinder = ToricChosen, t.Chosen, k.meridian(t.Chosen.Mark.Value), t.Chosen.Cylinder
	case t.Chosen != nil:
		k.Toric, k.Chosen = ToricNone, t.Chosen
	case t.Best.Value > 0:
		k.Toric, k.Lens, k.Cylinder = ToricAdvised, k.meridian(t.Axis.Value), t.Best
	default:
		k.Toric = ToricNotAdvised
	}
}

// Close adds the hours that are not to be cut, as eye.ParseHours reads them.
func (k *Clock) Close(hours string) {
	if k == nil {
		return
	}
	list, err := eye.ParseHours(hours)
	if err != nil {
		return // the field says so where it was typed
	}
	for _, h := range list {
		const margin, step = 0.5, 0.1 // hours
		span := math.Mod(float64(h.To-h.From)+12, 12) + 2*margin
		x := Closed{From: h.From, To: h.To, Why: h.Why}
		on := func(past float64) Point {
			return k.at(float64(astigmatism.DirectionOf(math.Mod(float64(h.From)-margin+past+12, 12))))
		}
		for i, n := 0, int(math.Round(span/step)); i <= n; i++ {
			x.Edge = append(x.Edge, on(span*float64(i)/float64(n)))
		}
		x.Middle = on(span / 2)
		k.Closed = append(k.Closed, x)
	}
}

func (k *Clock) meridian(axis float64) *Meridian {
	return &Meridian{k.at(axis), k.at(axis + 180), unit.NewAxis(unit.Degree(axis))}
}

// at is where a direction as seen from in front lies as seen from the seat.
func (k *Clock) at(direction float64) Point {
	sin, cos := math.Sincos((direction + k.turn) * math.Pi / 180)
	return Point{tidy(cos), tidy(-sin), math.Mod(direction+360, 360)}
}

// tidy takes the dust of rounding from a coordinate.
func tidy(v float64) float64 { return math.Round(v*1e9)/1e9 + 0 }

// Left is the word of what lies at the left of the page: nasal, temporal,
// superior or inferior.
func (k *Clock) Left() string { return k.extreme(func(p Point) float64 { return p.X }) }

// Right is the word of what lies at the right.
func (k *Clock) Right() string { return k.extreme(func(p Point) float64 { return -p.X }) }

func (k *Clock) extreme(of func(Point) float64) string {
	best, least := "", math.Inf(1)
	for _, w := range []struct {
		word string
		p    Point
	}{{"nasal", k.Nasal}, {"temporal", k.Temporal}, {"superior", k.Superior}, {"inferior", k.Inferior}} {
		if v := of(w.p); v < least-1e-6 {
			best, least = w.word, v
		}
	}
	return best
}
