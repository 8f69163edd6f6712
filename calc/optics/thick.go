package optics

import (
	"math"

	"linn/unit"
)

// Shape is the form of a lens without its power.
type Shape struct {
	Index     unit.Index
	Thickness unit.Millimetre // at the centre
	Factor    unit.Constant   // Coddington's X = (F₁ − F₂)/(F₁ + F₂); 0 is equi-biconvex, +1 flat behind
}

// Check refuses an index not above the aqueous, a negative thickness and a
// factor outside ±5 (our own bounds: menisci beyond that are not made).
func (s Shape) Check() error {
	switch {
	case !(s.Index > Aqueous && s.Index <= 2.5):
		return &unit.RangeError{What: "index", Got: float64(s.Index), Low: float64(Aqueous), High: 2.5}
	case !(s.Thickness >= 0 && s.Thickness <= 5):
		return &unit.RangeError{What: "thickness_mm", Got: float64(s.Thickness), Low: 0, High: 5, Unit: "mm"}
	case !(s.Factor >= -5 && s.Factor <= 5):
		return &unit.RangeError{What: "shape_factor", Got: float64(s.Factor), Low: -5, High: 5}
	}
	return nil
}

// reduced is T/n in metres.
func (s Shape) reduced() float64 { return Gap{s.Thickness, s.Index}.reduced() }

// halfPower is F = (F₁ + F₂)/2 of a lens of equivalent power P in aqueous, from
// P = 2F − (T/n)·(1 − X²)·F². It has no real value when the lens is too thick
// for its power.
func (s Shape) halfPower(power unit.Dioptre) (float64, error) {
	x := float64(s.Factor)
	k := s.reduced() * (1 - x*x)
	root := 1 - k*float64(power)
	if !(root >= 0) {
		low, high := math.Inf(-1), 1/k
		if k < 0 {
			low, high = 1/k, math.Inf(1)
		}
		return 0, &unit.RangeError{What: "power_d", Got: float64(power), Low: low, High: high, Unit: "D"}
	}
	return float64(power) / (1 + math.Sqrt(root)), nil
}

// powerOf undoes halfPower.
func (s Shape) powerOf(half float64) unit.Dioptre {
	x := float64(s.Factor)
	return unit.Dioptre(2*half - s.reduced()*(1-x*x)*half*half)
}

// Radii returns the radii of front and back of a lens of the given equivalent
// power in aqueous; the back of a biconvex lens has a negative radius.
func (s Shape) Radii(power unit.Dioptre) (front, back unit.Millimetre, err error) {
	if err := s.Check(); err != nil {
		return 0, 0, err
	}
	half, err := s.halfPower(power)
	if err != nil {
		return 0, 0, err
	}
	x := float64(s.Factor)
	front = SurfaceRadius(unit.Dioptre(half*(1+x)), Media{Aqueous, s.Index})
	back = SurfaceRadius(unit.Dioptre(half*(1-x)), Media{s.Index, Aqueous})
	return front, back, nil
}

// Thick is a pseudophakic eye of four surfaces: both of the cornea, both of a
// lens of which the form is known. Close to the axis, all surfaces spherical.
type Thick struct {
	Cornea Cornea
	Lens   Shape
	Centre unit.Millimetre // corneal front to the middle of the lens
	Length unit.Millimetre // corneal front to retina
	Vertex unit.Millimetre // spectacle plane to corneal front
}

// gaps returns the distances from cornea to lens and from lens to retina.
func (e Thick) gaps() (front, back unit.Millimetre, err error) {
	if err := e.Lens.Check(); err != nil {
		return 0, 0, err
	}
	half := e.Lens.Thickness / 2
	low, high := e.Cornea.Thickness+half, e.Length-half
	if !(e.Centre >= low && e.Centre < high) {
		return 0, 0, &unit.RangeError{What: "lens_position_mm", Got: float64(e.Centre), Low: float64(low), High: float64(high), Unit: "mm"}
	}
	return e.Centre - low, high - e.Centre, nil
}

// Refraction returns the refraction at the spectacle plane with a lens of the
// given equivalent power. Errors are *unit.RangeError.
func (e Thick) Refraction(power unit.Dioptre) (unit.Dioptre, error) {
	front, back, err := e.gaps()
	if err != nil {
		return 0, err
	}
	r1, r2, err := e.Lens.Radii(power)
	if err != nil {
		return 0, err
	}
	c := e.Cornea.surfaces(front)
	s := [4]Surface{c[0], c[1], {r1, e.Lens.Index, e.Lens.Thickness}, {r2, Aqueous, back}}
	v, err := System{Before: 1, Surfaces: s[:]}.VertexRefraction()
	if err != nil {
		return 0, err
	}
	return ToSpectacle(v, e.Vertex)
}

// Power returns the equivalent lens power that leaves the target refraction at
// the spectacle plane. With V₁ the vergence reaching the lens and V₂ the one
// that must leave it, the half power solves
//
//	(V₁ + F₁) + F₂·(1 − τ·(V₁ + F₁)) = V₂·(1 − τ·(V₁ + F₁)),  τ = T/n
//
// with F₁ = F(1 + X), F₂ = F(1 − X): a quadratic in F, of which the root that
// stays finite for a thin lens is the lens. Errors are *unit.RangeError.
func (e Thick) Power(target unit.Dioptre) (unit.Dioptre, error) {
	front, back, err := e.gaps()
	if err != nil {
		return 0, err
	}
	rc, err := ToCornea(target, e.Vertex)
	if err != nil {
		return 0, err
	}
	c := e.Cornea.surfaces(0)
	behind, err := System{Before: 1, Surfaces: c[:]}.Emerging(rc)
	if err != nil {
		return 0, err
	}
	in, err := Gap{front, Aqueous}.Step(behind)
	if err != nil {
		return 0, err
	}
	v1, v2 := float64(in), perMillimetre/float64(back)
	tau, a, b := e.Lens.reduced(), 1+float64(e.Lens.Factor), 1-float64(e.Lens.Factor)
	square := -tau * a * b
	linear := a + b*(1-tau*v1) + tau*a*v2
	rest := v1 - v2*(1-tau*v1)
	root := linear*linear - 4*square*rest
	if !(root >= 0) {
		return 0, &unit.RangeError{What: "target_d", Got: float64(target), Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
	}
	return e.Lens.powerOf(-2 * rest / (linear + math.Sqrt(root))), nil
}
