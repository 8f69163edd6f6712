package optics

import (
	"math"

	"linn/unit"
)

// gradedSteps is the number of Runge–Kutta steps through one graded medium;
// twice as many move the power of the graded eyes by less than 1e-9 D.
const gradedSteps = 400

// Cardinal returns equivalent power and cardinal points of a train of centred
// faces of revolution, from z = 0, close to the axis; gradients count. A pose,
// two different meridians or no power at all are a *unit.RangeError.
func (t *Train) Cardinal() (Cardinal, error) {
	for _, f := range t.faces {
		if f.X.Radius != f.Y.Radius || f.Pose.Shift != ([2]unit.Millimetre{}) || f.Pose.Tilt != ([2]unit.Degree{}) {
			return Cardinal{}, &unit.RangeError{What: "centred", Got: 0, Low: 1, High: 1}
		}
	}
	a, c := t.paraxial(1, 0)
	_, d := t.paraxial(0, 1)
	if c == 0 {
		return Cardinal{}, &unit.RangeError{What: "power_d", Got: 0, Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
	}
	first, last := 1000*t.before, 1000*t.indexAfter()
	front, back := float64(t.faces[0].Vertex), float64(t.faces[len(t.faces)-1].Vertex)
	k := Cardinal{Power: unit.Dioptre(-c),
		Front: unit.Millimetre(front + d*first/c), Back: unit.Millimetre(back - a*last/c),
		H: unit.Millimetre(front + (d-1)*first/c), HPrime: unit.Millimetre(back + (1-a)*last/c)}
	k.N = k.Front - unit.Millimetre(last/c)
	k.NPrime = k.Back + unit.Millimetre(first/c)
	return k, nil
}

// paraxial carries height (m) and n times slope from the first face to behind
// the last.
func (t *Train) paraxial(y, p float64) (float64, float64) {
	n := t.before
	for i, f := range t.faces {
		p -= 1000 * (float64(f.After.Index) - n) * f.X.curvature() * y
		n = float64(f.After.Index)
		if i == len(t.faces)-1 {
			break
		}
		gap := float64(t.faces[i+1].Vertex - f.Vertex)
		if !f.After.graded() {
			y += p * gap / 1000 / n
			continue
		}
		y, p = f.After.paraxial(y, p, gap)
		n = f.After.at(Vec{Z: gap})
	}
	return y, p
}

// paraxial solves y′ = p/n₀(z), p′ = 2·RR·y across a graded medium.
func (m Medium) paraxial(y, p, gap float64) (float64, float64) {
	const perMetre = 1000
	h := gap / gradedSteps
	rate := func(z, y, p float64) (float64, float64) {
		return p / m.at(Vec{Z: z}) / perMetre, 2 * m.RR * y * perMetre
	}
	for i := range gradedSteps {
		z := float64(i) * h
		y1, p1 := rate(z, y, p)
		y2, p2 := rate(z+h/2, y+h/2*y1, p+h/2*p1)
		y3, p3 := rate(z+h/2, y+h/2*y2, p+h/2*p2)
		y4, p4 := rate(z+h, y+h*y3, p+h*p3)
		y += h / 6 * (y1 + 2*y2 + 2*y3 + y4)
		p += h / 6 * (p1 + 2*p2 + 2*p3 + p4)
	}
	return y, p
}
