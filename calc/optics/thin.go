package optics

import (
	"math"

	"linn/source"
	"linn/unit"
)

// Aqueous is the refractive index of aqueous and vitreous in every classical
// lens formula and in the definition of a lens's labelled power.
const Aqueous unit.Index = 1.336

// perMillimetre is the vergence of a wave one millimetre from its focus in
// aqueous: 1000·n, in D·mm.
const perMillimetre = 1000 * float64(Aqueous)

var _ = source.Declare(source.Constant{Name: "optics.index-aqueous", Value: float64(Aqueous),
	Ref: source.Ref{Key: source.ISO11979Part2, Where: "medium of the power definition; also Retzlaff 1990, Holladay 1988, Hoffer 1993, Haigis 2000", Grade: source.Memory}})

// Thin is a pseudophakic eye of two thin elements: a cornea and a lens, with
// aqueous between them and up to the retina. Every classical lens formula is
// this eye with its own corneal power, optical length and lens position.
type Thin struct {
	Cornea   unit.Dioptre    // Kc, corneal power by the formula's own index
	Length   unit.Millimetre // L, cornea to retina along the formula's optical length
	Position unit.Millimetre // d, cornea to thin lens
	Vertex   unit.Millimetre // V, spectacle plane to cornea
}

// Achieved is what was implanted and how the eye refracts with it.
type Achieved struct {
	Power      unit.Dioptre // of the lens
	Refraction unit.Dioptre // spherical equivalent at the spectacle plane
}

// Power returns the lens power that leaves the eye with the target refraction
// at the spectacle plane:
//
//	P = 1000n/(L − d) − 1000n/(1000n/(Kc + Rc) − d),  Rc = Ref/(1 − 0.001·V·Ref)
//
// computed over a common denominator, so that one division is made and a cornea
// without power is no special case. A *unit.RangeError says that the eye or the
// target has no such lens: the position is not between cornea and retina, the
// spectacle lens would focus in front of the cornea, or the cornea would focus
// in front of the lens.
func (e Thin) Power(target unit.Dioptre) (unit.Dioptre, error) {
	const n = perMillimetre
	l, d := float64(e.Length), float64(e.Position)
	q := 1 - 0.001*float64(e.Vertex)*float64(target)
	z := float64(e.Cornea)*q + float64(target) // (Kc + Rc)·q
	behind, image := l-d, n*q-d*z
	p := unit.Dioptre(n * (n*q - l*z) / (behind * image))
	if !(d > 0 && behind > 0 && q > 0 && image > 0) || !unit.Finite(p) {
		return 0, e.refuse("target_d", target)
	}
	return p, nil
}

// Refraction returns the refraction at the spectacle plane that a lens of the
// given power leaves:
//
//	S = 1000n/(1000n/(1000n/(L − d) − P) + d),  Rc = S − Kc,  Ref = Rc/(1 + 0.001·V·Rc)
//
// over a common denominator like [Thin.Power]. A *unit.RangeError says that the
// position is not between cornea and retina or that the far point is not one a
// spectacle lens could serve.
func (e Thin) Refraction(power unit.Dioptre) (unit.Dioptre, error) {
	const n = perMillimetre
	d := float64(e.Position)
	behind := float64(e.Length) - d
	w := n - float64(power)*behind // (1000n/(L − d) − P)·(L − d)
	s := n*behind + d*w            // S = 1000n·w/s
	rc := n*w - float64(e.Cornea)*s
	den := s + 0.001*float64(e.Vertex)*rc
	r := unit.Dioptre(rc / den)
	if !(d > 0 && behind > 0 && s > 0 && den > 0) || !unit.Finite(r) {
		return 0, e.refuse("power_d", power)
	}
	return r, nil
}

// AphakicRefraction returns the refraction at the spectacle plane without any
// lens in the eye. The position does not matter to it but must lie in the eye.
func (e Thin) AphakicRefraction() (unit.Dioptre, error) { return e.Refraction(0) }

// PositionFor solves the position from an outcome; the eye's own Position is
// not used. With z = (Kc + Rc)·q and q = 1 − 0.001·V·Ref it is the smaller
// root of
//
//	z·d² − (1000n·q + L·z)·d + 1000n·L·q − 1000n·(1000n·q − L·z)/P = 0
//
// which is where the lens can be; the other root lies behind the retina. The
// position is ill-conditioned for weak lenses and may come out unphysical; it
// is returned as it is. A *unit.RangeError says that no position exists.
func (e Thin) PositionFor(a Achieved) (unit.Millimetre, error) {
	const n = perMillimetre
	l, p := float64(e.Length), float64(a.Power)
	q := 1 - 0.001*float64(e.Vertex)*float64(a.Refraction)
	z := float64(e.Cornea)*q + float64(a.Refraction)
	if p == 0 || !(q > 0) {
		return 0, e.refuse("power_d", a.Power)
	}
	b := n*q + l*z
	c := n*l*q - n*(n*q-l*z)/p
	root := b*b - 4*z*c
	d := unit.Millimetre(2 * c / (b + math.Sqrt(root)))
	if root < 0 || !unit.Finite(d) {
		return 0, e.refuse("power_d", a.Power)
	}
	return d, nil
}

// refuse says which of the eye's quantities, or else which argument, has no
// answer.
func (e Thin) refuse(what string, got unit.Dioptre) error {
	if l, d := float64(e.Length), float64(e.Position); !(d > 0 && d < l) {
		return &unit.RangeError{What: "lens_position_mm", Got: d, Low: 0, High: l, Unit: "mm"}
	}
	low, high := math.Inf(-1), math.Inf(1)
	if v := float64(e.Vertex); what == "target_d" && v > 0 {
		high = 1000 / v // the spectacle lens would focus on the cornea
	}
	if n, d := perMillimetre, float64(e.Position); what == "target_d" && d > 0 {
		if rc := n/d - float64(e.Cornea); 1+0.001*float64(e.Vertex)*rc > 0 {
			high = min(high, rc/(1+0.001*float64(e.Vertex)*rc)) // the cornea would focus on the lens
		}
	}
	return &unit.RangeError{What: what, Got: float64(got), Low: low, High: high, Unit: "D"}
}
