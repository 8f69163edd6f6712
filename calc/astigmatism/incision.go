package astigmatism

import (
	"cmp"
	"math"
	"slices"

	"linn/eye"
	"linn/source"
	"linn/unit"
)

// IncisionType is the build of the main incision.
type IncisionType string

// The types. The first three open in the cornea or at the limbus, the others
// in the sclera.
const (
	CornealBevelled IncisionType = "clear-corneal-bevelled"
	CornealStepped  IncisionType = "clear-corneal-stepped"
	Limbal          IncisionType = "limbal"
	ScleralStraight IncisionType = "scleral-straight"
	ScleralFrown    IncisionType = "scleral-frown"
	ScleralChevron  IncisionType = "scleral-chevron"
)

// IncisionTypes lists them in the order in which they are offered.
var IncisionTypes = []IncisionType{CornealBevelled, CornealStepped, Limbal, ScleralStraight, ScleralFrown, ScleralChevron}

// Scleral reports whether the tunnel begins in the sclera.
func (t IncisionType) Scleral() bool {
	return t == ScleralStraight || t == ScleralFrown || t == ScleralChevron
}

// Place is where an incision is made, or where the surgeon sits.
type Place string

// The places.
const (
	Superior       Place = "superior"
	Superotemporal Place = "superotemporal"
	Temporal       Place = "temporal"
	OnAxis         Place = "on-axis"
)

// Places lists the fixed places.
var Places = []Place{Superior, Superotemporal, Temporal}

// Nasal is the direction of the nose as seen from in front: at the observer's
// right for the right eye.
func Nasal(side eye.Side) unit.Degree {
	if side == eye.Right {
		return 0
	}
	return 180
}

// Direction is where on the limbus a place lies, as seen from in front: 90 is
// superior for both eyes, temporal 180 in the right eye and 0 in the left.
func (p Place) Direction(side eye.Side) unit.Degree {
	t := 180 - Nasal(side)
	switch p {
	case Temporal:
		return t
	case Superotemporal:
		return (t + 90) / 2
	}
	return 90
}

// Hour is the clock hour of a direction on the eye, 12 at the top, as seen
// from in front: (0, 12].
func Hour(direction unit.Degree) float64 {
	h := math.Mod(3-float64(direction)/30, 12)
	if h <= 0 {
		h += 12
	}
	return h
}

// DirectionOf is the direction of a clock hour.
func DirectionOf(hour float64) unit.Degree { return around(unit.Degree(90 - 30*hour)) }

// around brings a direction into [0, 360).
func around(d unit.Degree) unit.Degree {
	v := math.Mod(float64(d), 360)
	if v < 0 {
		v += 360
	}
	return unit.Degree(v)
}

// fromDirection is the angle between two directions, 0 to 180 degrees.
func fromDirection(a, b unit.Degree) float64 { return math.Abs(math.Remainder(float64(a-b), 360)) }

// PlaceOf is the fixed place nearest to a direction.
func PlaceOf(direction unit.Degree, side eye.Side) Place {
	return slices.MinFunc(Places, func(a, b Place) int {
		return cmp.Compare(fromDirection(direction, a.Direction(side)), fromDirection(direction, b.Direction(side)))
	})
}

// OnSteep is the end of a meridian where an incision is easier to reach: the
// one nearer to the superotemporal direction.
func OnSteep(steep unit.Axis, side eye.Side) unit.Degree {
	a, b, from := unit.Degree(steep), around(unit.Degree(steep)+180), Superotemporal.Direction(side)
	if fromDirection(b, from) < fromDirection(a, from) {
		return b
	}
	return around(a)
}

// Effect is what an incision does on average to the cornea, and its spread.
type Effect struct {
	Flattening unit.Dioptre // of its own meridian, the centroid of a series
	SD         unit.Dioptre // of each component, from eye to eye
	Own        bool         // the surgeon's own figures
	Nearest    bool         // no row for the width: the nearest one
	Ref        source.Ref
}

// Vector is the astigmatism that an incision in a direction adds: the meridian
// across is steepened as much as its own is flattened.
func (e Effect) Vector(direction unit.Degree) Vector {
	return along(direction + 90).Scale(float64(e.Flattening))
}

// start is one row of the starting values.
type start struct {
	scleral bool
	curved  bool // frown or chevron
	place   Place
	width   float64 // mm
	effect  float64 // D, flattening
	sd      float64
}

// judged is where the starting values come from.
var judged = source.Ref{Key: source.OwnChoice, Where: "own judgement from series whose centroid was printed or could be bounded: masket2009, three-widths, long1996, msics-superior-temporal, nouhoum, pavithra", Grade: source.Own}

// starts are our own judgement until own results exist. The spread is that of
// one eye, from the mean magnitudes of the same series.
var starts = []start{
	{false, false, Temporal, 2.2, 0.10, 0.35}, {false, false, Temporal, 2.8, 0.25, 0.35}, {false, false, Temporal, 3.2, 0.35, 0.40},
	{false, false, Superotemporal, 2.2, 0.15, 0.35}, {false, false, Superotemporal, 2.8, 0.30, 0.35}, {false, false, Superotemporal, 3.2, 0.40, 0.40},
	{false, false, Superior, 2.2, 0.20, 0.35}, {false, false, Superior, 2.8, 0.40, 0.35}, {false, false, Superior, 3.2, 0.50, 0.40},
	{true, false, Temporal, 6.5, 0.50, 0.50}, {true, false, Superotemporal, 6.5, 0.80, 0.60}, {true, false, Superior, 6.5, 1.20, 0.70},
	{true, true, Temporal, 6.5, 0.50, 0.45}, {true, true, Superotemporal, 6.5, 0.60, 0.50}, {true, true, Superior, 6.5, 0.90, 0.55},
}

var _ = func() struct{} {
	for _, s := range starts {
		name := "incision.start"
		for _, part := range []string{map[bool]string{true: "scleral", false: "corneal"}[s.scleral], map[bool]string{true: "curved", false: "straight"}[s.curved], string(s.place), unit.Fixed(s.width, 1)} {
			name += "." + part
		}
		source.Declare(source.Constant{Name: name, Value: s.effect, Unit: "D", Ref: judged})
		source.Declare(source.Constant{Name: name + ".sd", Value: s.sd, Unit: "D", Ref: judged})
	}
	return struct{}{}
}()

// StartValue is our judgement of what an incision does until the surgeon's own
// results exist: between two widths it is interpolated, beyond them the
// nearest row is taken and Nearest says so.
func StartValue(t IncisionType, p Place, width unit.Millimetre) Effect {
	curved := t == ScleralFrown || t == ScleralChevron
	var rows []start
	for _, s := range starts {
		if s.scleral == t.Scleral() && s.curved == curved && s.place == p {
			rows = append(rows, s)
		}
	}
	w := float64(width)
	first, last := rows[0], rows[len(rows)-1]
	out := func(s start, nearest bool) Effect {
		return Effect{unit.Dioptre(s.effect), unit.Dioptre(s.sd), false, nearest, judged}
	}
	switch {
	case t.Scleral():
		return out(first, w < 5.5 || w > 7)
	case w <= first.width:
		return out(first, w < first.width)
	case w >= last.width:
		return out(last, w > last.width)
	}
	i := slices.IndexFunc(rows, func(s start) bool { return s.width >= w })
	a, b := rows[i-1], rows[i]
	k := (w - a.width) / (b.width - a.width)
	return out(start{effect: a.effect + k*(b.effect-a.effect), sd: a.sd + k*(b.sd-a.sd)}, false)
}

// Incision is one main incision.
type Incision struct {
	Type      IncisionType
	Direction unit.Degree // on the limbus, [0, 360)
	Width     unit.Millimetre
	Tunnel    unit.Reading[unit.Millimetre] // length; the sum of a stepped path
	Lip       unit.Reading[unit.Millimetre] // internal corneal lip, of a scleral tunnel
}

// Excluded is a stretch of clock hours that is not to be cut, and why.
type Excluded struct {
	From, To float64 // clock hours, (0, 12]; clockwise from From to To
	Why      string  // pannus, thinning, bleb, scar, brow, reach, or ""
}

// Hits reports whether an incision would lie in the stretch. A clock hour is
// half an hour wide to both sides, and an incision as wide as its chord on a
// limbus of 6 mm radius.
func (x Excluded) Hits(in Incision) bool {
	half := 0.5 + float64(Arc(in.Width))/2/30
	span := math.Mod(x.To-x.From+12, 12)
	at := math.Mod(Hour(in.Direction)-x.From+24, 12)
	return at <= span+half || at >= 12-half
}

// limbusRadius is that of the limbus for the arc of an incision, in mm.
const limbusRadius = 6.0

// Arc is the angle an incision of this chord takes on the limbus, in degrees.
func Arc(width unit.Millimetre) unit.Degree {
	return unit.Degree(2 * math.Asin(min(1, float64(width)/(2*limbusRadius))) * 180 / math.Pi)
}

// Chord is the straight width of an incision cut as an arc of the given length
// along the limbus: w = 2r·sin(s/2r), r = 6 mm.
func Chord(arc unit.Millimetre) unit.Millimetre {
	return unit.Millimetre(2 * limbusRadius * math.Sin(float64(arc)/(2*limbusRadius)))
}

// Candidate is one incision that might be made and what it is expected to
// leave on the cornea.
type Candidate struct {
	Place    Place
	Incision Incision
	Effect   Effect
	After    Cylinder     // on average
	Expected unit.Dioptre // mean magnitude with the spread
	Within   float64      // chance of at most 0.50 D
	Why      []string     // hours excluded that it would lie in, "" a reason not given
	Excluded bool
}

// Question is what candidates are asked for.
type Question struct {
	Side     eye.Side
	Cornea   Vector
	Types    []IncisionType
	Width    func(IncisionType) unit.Millimetre
	Own      func(IncisionType, Place) (Effect, bool) // the surgeon's own figures; may be nil
	Excluded []Excluded
}

// Candidates lists every type at the three places and on the steep meridian,
// those allowed first, by the astigmatism to expect. Planning takes the
// centroid of an incision's effect, never the mean magnitude.
func (q Question) Candidates() (list []Candidate) {
	steep := q.Cornea.Cylinder().Steep
	for _, t := range q.Types {
		for _, p := range append(slices.Clone(Places), OnAxis) {
			d := p.Direction(q.Side)
			if p == OnAxis {
				if q.Cornea.Magnitude() < unsteady {
					continue
				}
				d = OnSteep(steep, q.Side)
			}
			list = append(list, q.Candidate(p, Incision{Type: t, Direction: d, Width: q.Width(t)}))
		}
	}
	slices.SortStableFunc(list, func(a, b Candidate) int {
		if a.Excluded != b.Excluded {
			return map[bool]int{true: 1, false: -1}[a.Excluded]
		}
		return cmp.Compare(a.Expected, b.Expected)
	})
	return list
}

// Candidate is what one incision is expected to leave.
func (q Question) Candidate(p Place, in Incision) Candidate {
	near := PlaceOf(in.Direction, q.Side)
	e := StartValue(in.Type, near, in.Width)
	if q.Own != nil {
		if mine, ok := q.Own(in.Type, near); ok {
			mine.Own = true
			e = mine
		}
	}
	c := Candidate{Place: p, Incision: in, Effect: e}
	after := Spread{q.Cornea.Add(e.Vector(in.Direction)), e.SD}
	c.After, c.Expected, c.Within = after.Middle.Cylinder(), after.Mean(), after.Within(halfDioptre)
	for _, x := range q.Excluded {
		if x.Hits(in) {
			c.Excluded, c.Why = true, append(c.Why, x.Why)
		}
	}
	return c
}

const halfDioptre unit.Dioptre = 0.5
