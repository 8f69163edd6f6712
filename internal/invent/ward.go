package invent

import (
	"math"
	"math/rand/v2"
	"time"

	"linn/calc/biometry"
	"linn/eye"
	"linn/unit"
)

// Pair is one invented person with both eyes as measured before surgery.
type Pair struct {
	Person      Person
	Right, Left eye.Eye // each with the other as its Fellow
}

// Eyes returns both eyes, right first.
func (p *Pair) Eyes() [2]*eye.Eye { return [2]*eye.Eye{&p.Right, &p.Left} }

// Order says how many people to invent and for which day their lists are made.
type Order struct {
	People int
	AsOf   unit.Date // exact
}

// Ward draws adults with cataract and both eyes unoperated, everything
// recorded, from the series biometry.China. The same source state gives the
// same ward. A person whose readings the eye format would refuse is drawn
// again. It panics when the day is not exact: our own broken invariant.
func Ward(src rand.Source, o Order) []Pair {
	if !o.AsOf.Exact() {
		panic("invent: the day of a ward must be exact")
	}
	r := rand.New(src)
	series := biometry.China
	list := make([]Pair, 0, o.People)
	for len(list) < o.People {
		if p, ok := pairOf(r, &series, len(list)+1, o.AsOf); ok {
			list = append(list, p)
		}
	}
	return list
}

// pairOf draws one person; ok is false when a reading fell outside the format.
func pairOf(r *rand.Rand, s *biometry.Series, number int, asOf unit.Date) (p Pair, ok bool) {
	first, second, lengths := bodies(r, s)
	age := math.Floor(normal(first.age, s.Age))
	if age < 18 || age > 110 {
		return p, false
	}
	p.Person = person(r, number, int(age), asOf)
	a, okA := measured(r, s, first, lengths[0])
	b, okB := measured(r, s, second, lengths[1])
	if r.IntN(2) == 0 {
		a, b = b, a
	}
	visit := addDays(asOf, -waiting(r))
	method := lengthMethod(r)
	for _, e := range [...]*eye.Eye{&a, &b} {
		e.Age, e.Sex = unit.Known(unit.Year(age)), p.Person.Sex
		e.AxialLengthMethod, e.MeasuredOn, e.AsOf = method, visit, asOf
	}
	p.Right, p.Left = join(a, b)
	return p, okA && okB
}

// join names the sides and makes each eye the other's fellow.
func join(right, left eye.Eye) (eye.Eye, eye.Eye) {
	right.Side, left.Side = eye.Right, eye.Left
	right.Fellow, left.Fellow = nil, nil
	fellowOfLeft, fellowOfRight := right, left
	right.Fellow, left.Fellow = &fellowOfRight, &fellowOfLeft
	return right, left
}

// measured turns scores into readings, rounded as instruments print them.
func measured(r *rand.Rand, s *biometry.Series, b body, length float64) (e eye.Eye, ok bool) {
	k := normal(b.k, s.MeanK)
	cylinder := logNormal(b.cylinder, 0, s.Cylinder)
	steep := steepAxis(r)
	e = eye.Eye{LensStatus: eye.Phakic, Vitreous: eye.NaturalVitreous, CornealSurgery: eye.NoSurgery,
		KeratometricIndex: unit.Known(biometry.StandardIndex), Device: "invented", Operator: "invented"}
	ok = true
	ok = put(&e.AxialLength, "axial_length_mm", length, 2) && ok
	ok = put(&e.KFlat, "k_flat_d", k-cylinder/2, 2) && ok
	ok = put(&e.KSteep, "k_steep_d", k+cylinder/2, 2) && ok
	ok = put(&e.ACD, "acd_mm", normal(b.chamber, s.Chamber), 2) && ok
	ok = put(&e.LensThickness, "lens_thickness_mm", normal(b.lens, s.Lens), 2) && ok
	ok = put(&e.WhiteToWhite, "white_to_white_mm", normal(b.width, s.Width), 1) && ok
	ok = put(&e.CornealThickness, "corneal_thickness_um", normal(b.thickness, s.Thickness), 0) && ok
	e.KSteepAxis = unit.Known(unit.NewAxis(unit.Degree(steep)))
	e.KFlatAxis = unit.Known(unit.NewAxis(unit.Degree(steep + 90)))
	return e, ok
}

// put rounds v to decimals and sets it, unless the format would refuse it.
func put[U unit.Quantity](at *unit.Reading[U], key string, v float64, decimals int) bool {
	v = round(v, decimals)
	*at = unit.Known(U(v))
	b := eye.FieldNamed(key).Bounds
	return v >= b.Low && v <= b.High
}

// lengthMethod draws how the ward measures: our own choice of a ward that has
// an optical instrument which fails in dense cataracts.
func lengthMethod(r *rand.Rand) eye.LengthMethod {
	switch p := r.IntN(100); {
	case p < 75:
		return eye.Optical
	case p < 85:
		return eye.Immersion
	}
	return eye.Contact
}

// waiting draws the days from measurement to the list: log-normal around 40
// days, our own choice; about one in twenty waits longer than half a year.
func waiting(r *rand.Rand) int {
	return int(math.Round(40 * math.Exp(0.9*r.NormFloat64())))
}

// addDays moves an exact date.
func addDays(d unit.Date, days int) unit.Date {
	return unit.DateOf(time.Date(d.Year, time.Month(d.Month), d.Day+days, 0, 0, 0, 0, time.UTC))
}
