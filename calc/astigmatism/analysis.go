package astigmatism

import (
	"math"

	"linn/unit"
)

// Change is one eye before and after: corneal astigmatism, or the eye's at the
// corneal plane, and what was aimed at.
type Change struct{ Before, After, Target Vector }

// Induced is what the surgery did, after minus before.
func (c Change) Induced() Vector { return c.After.Sub(c.Before) }

// Alpins is a change by the definitions of alpins1993 and alpins2001, in the
// double-angle plane. A magnitude error above 0 is an overcorrection; an angle
// error above 0 is counter-clockwise of what was meant.
type Alpins struct {
	Target     Vector       // TIA, target-induced: target − before
	Induced    Vector       // SIA, surgically induced: after − before
	Difference Vector       // DV, target − after
	Magnitude  unit.Dioptre // ME, |SIA| − |TIA|
	Angle      unit.Degree  // AE, (−90, 90]
	Correction float64      // CI, |SIA|/|TIA|; NaN without a target
	Success    float64      // IOS, |DV|/|TIA|; NaN without a target
	Flattening unit.Dioptre // FE, |SIA|·cos 2AE
	Index      float64      // FI, FE/|TIA|
	Torque     unit.Dioptre // |SIA|·sin 2AE
}

// Alpins analyses the change.
func (c Change) Alpins() Alpins {
	a := Alpins{Target: c.Target.Sub(c.Before), Induced: c.Induced(), Difference: c.Target.Sub(c.After)}
	t, s := float64(a.Target.Magnitude()), float64(a.Induced.Magnitude())
	angle := math.Remainder(2*float64(a.Induced.Cylinder().Steep-a.Target.Cylinder().Steep), 360) / 2
	if angle == -90 {
		angle = 90
	}
	sin, cos := math.Sincos(angle * math.Pi / 90)
	a.Magnitude, a.Angle = unit.Dioptre(s-t), unit.Degree(angle)
	a.Correction, a.Success = s/t, float64(a.Difference.Magnitude())/t
	a.Flattening, a.Torque = unit.Dioptre(s*cos), unit.Dioptre(s*sin)
	a.Index = s * cos / t
	if t == 0 {
		a.Correction, a.Success, a.Index = math.NaN(), math.NaN(), math.NaN()
	}
	return a
}

// Eydelman is the same change by the definitions of eydelman2006 and ANSI
// Z80.11, whose signs are the other way round: an error of magnitude above 0
// is an undercorrection.
type Eydelman struct {
	Intended  Vector // IRC, before − target
	Induced   Vector // SIRC, before − after
	Error     Vector // EV, IRC − SIRC
	Ratio     float64
	ErrorRate float64      // |EV|/|IRC|
	Magnitude unit.Dioptre // |IRC| − |SIRC|
	Angle     unit.Degree  // of SIRC from IRC
}

// Eydelman analyses the change.
func (c Change) Eydelman() Eydelman {
	a := c.Alpins()
	e := Eydelman{Intended: c.Before.Sub(c.Target), Induced: c.Before.Sub(c.After), Ratio: a.Correction, ErrorRate: a.Success, Magnitude: -a.Magnitude, Angle: a.Angle}
	e.Error = e.Intended.Sub(e.Induced)
	return e
}

// Sources of astigmatism of one eye, carried to the corneal plane.
type Sources struct{ Refractive, Corneal Vector }

// OcularResidual is the astigmatism of the eye that its cornea does not
// explain, refractive − corneal; holladay2001 calls it intraocular.
func (s Sources) OcularResidual() Vector { return s.Refractive.Sub(s.Corneal) }
