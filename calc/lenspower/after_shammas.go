package lenspower

import (
	"linn/calc/optics"
	"linn/source"
	"linn/unit"
)

// Shammas: the corneal power is a line of the measured K, and the lens power
// comes from his own formula, whose position does not depend on K.
const (
	shammasSlope, shammasZero             = 1.14, -6.8
	shammasHyperSlope, shammasHyperZero   = 1.0457, -1.9538
	shammasConstantSlope                  = 0.5835
	shammasConstantZero                   = -64.40
	shammasLengthSlope, shammasLengthZero = 0.1, 23.0
	shammasSurface                        = 0.05
	shammasCornea                         = 1.0125
	shammasCorrected                      = 0.23
)

var _ = declare(source.Shammas2003, source.Read,
	coefficient{"shammas.slope", shammasSlope, "", "Kc.cd, 100 eyes"},
	coefficient{"shammas.zero", shammasZero, "D", "Kc.cd, 100 eyes"},
	coefficient{"shammas.refraction-slope", shammasCorrected, "", "Kc.rd, 100 eyes"},
) && declare(source.Shammas2013, source.Read,
	coefficient{"shammas.hyperopic-slope", shammasHyperSlope, "", "abstract"},
	coefficient{"shammas.hyperopic-zero", shammasHyperZero, "D", "abstract"},
) && declare(source.Shammas2007, source.Memory,
	coefficient{"shammas.constant-slope", shammasConstantSlope, "mm", "C from A; 0.58385 in a congress abstract"},
	coefficient{"shammas.constant-zero", shammasConstantZero, "mm", "C from A"},
	coefficient{"shammas.length-slope", shammasLengthSlope, "", "adjusted length"},
	coefficient{"shammas.length-zero", shammasLengthZero, "mm", "adjusted length"},
	coefficient{"shammas.surface", shammasSurface, "mm", "power equation"},
	coefficient{"shammas.cornea", shammasCornea, "", "power equation, 1.3375 to 1.333…"},
)

var shammas = []*OperatedMethod{
	{ID: "shammas-pl", Version: "1", Ref: source.Ref{Key: source.Shammas2007, Where: "equations", Grade: source.Memory}, Surgeries: myopicOnly,
		correct: func(in *OperatedInput, n *notes) (correction, error) {
			return shammasLine(in, shammasSlope*float64(in.K)+shammasZero, n), nil
		}},
	{ID: "shammas-phl", Version: "1", Ref: source.Ref{Key: source.Shammas2013, Where: "corneal power; optics of shammas2007, from memory", Grade: source.Memory}, Surgeries: hyperopic,
		correct: func(in *OperatedInput, n *notes) (correction, error) {
			return shammasLine(in, shammasHyperSlope*float64(in.K)+shammasHyperZero, n), nil
		}},
}

func shammasLine(in *OperatedInput, k float64, n *notes) correction {
	n.reading("after.k-now", "Kpost", float64(in.K), "D")
	n.add("after.k-true", "Kc", k, "D")
	return correction{k: unit.Dioptre(k), trueK: true}
}

// ShammasKByRefraction returns Kpost − 0.23·|change of refraction at the
// cornea|, the form of Shammas 2003 that needs the refraction corrected; it is
// printed beside, no method is built on it.
func ShammasKByRefraction(in OperatedInput) (unit.Dioptre, error) {
	for _, key := range []string{"refraction_before_d", "refraction_after_d"} {
		if !in.has(key) {
			return 0, &MissingError{"shammas-rd", key}
		}
	}
	if err := in.check(); err != nil {
		return 0, err
	}
	c, err := in.laserChange(nil)
	if err != nil {
		return 0, err
	}
	return in.K + shammasCorrected*c.cornea, nil
}

// shammas settles the eye of
//
//	P = 1336/(AL − 0.1(AL − 23) − (C + 0.05)) − 1/(1.0125/(Kc + R) − (C + 0.05)/1336)
//
// which is the thin eye with cornea and refraction at the cornea both divided
// by 1.0125.
func (s *OperatedSolution) shammas(in *OperatedInput, c correction, n *notes) error {
	if !within(float64(c.k), kBounds) {
		return outside("k_flat_d", float64(c.k), kBounds, "D")
	}
	constant := shammasConstantSlope*float64(in.Constants.A.Value) + shammasConstantZero
	al := float64(in.AxialLength)
	n.reading("input.constant", "A", float64(in.Constants.A.Value), "")
	n.add("after.shammas-constant", "C", constant, "mm")
	s.scale = shammasCornea
	s.Position = unit.Millimetre(constant + shammasSurface)
	s.eye = optics.Thin{Cornea: c.k / shammasCornea, Length: unit.Millimetre(al - shammasLengthSlope*(al-shammasLengthZero)), Position: s.Position}
	if !(s.Position > 0 && s.Position < s.eye.Length) {
		got := float64(s.Position)
		*s = OperatedSolution{}
		return outside("lens_position_mm", got, unit.Bounds{Low: 0, High: al}, "mm")
	}
	return nil
}
