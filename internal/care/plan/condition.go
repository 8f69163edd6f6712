package plan

import (
	"linn/calc/biometry"
	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// meanK is the eye's mean K or, by explicit choice where a scar allows none, the
// fellow eye's or a mean, with its larger SD and the finding that says so.
func meanK(e *eye.Eye) (k unit.Dioptre, sd unit.Reading[unit.Dioptre], found []finding.Finding, err error) {
	if !replacesK(e) {
		k, err = biometry.MeanK(e)
		return k, sd, nil, err
	}
	r, found, err := biometry.SubstituteK(scarred(e))
	if err != nil || !r.Known {
		return 0, sd, found, err
	}
	return r.Value, unit.Known(r.SD), found, nil
}

func scarred(e *eye.Eye) biometry.ScarredK {
	s := biometry.ScarredK{Chosen: biometry.KFrom(e.Unusual.SubstituteK)}
	if e.Fellow != nil {
		if k, err := biometry.MeanK(e.Fellow); err == nil {
			s.FellowK = unit.Known(k)
		}
	}
	return s
}

// replacesK reports that a scar allows no K and another was chosen.
func replacesK(e *eye.Eye) bool {
	u := &e.Unusual
	return u.Scar == eye.Yes && u.SubstituteK != "" && !e.KFlat.Known && !e.KSteep.Known && !operated(e)
}

// refuseK says what is wrong with the corneal powers: missing without a choice
// in their place, or both.
func refuseK(e *eye.Eye) (refused finding.Refusals) {
	u := &e.Unusual
	if replacesK(e) {
		if u.SubstituteK == eye.FellowK && !scarred(e).FellowK.Known {
			refused = append(refused, finding.Refusal{Code: "missing", Field: "other_eye.k_flat_d"})
		}
		return refused
	}
	if u.SubstituteK != "" && (e.KFlat.Known || e.KSteep.Known) {
		refused = append(refused, finding.Refusal{Code: "k-and-substitute", Field: "k_substitute"})
	}
	for key, known := range map[string]bool{"k_flat_d": e.KFlat.Known, "k_steep_d": e.KSteep.Known} {
		if !known {
			code := "missing"
			if u.Scar == eye.Yes {
				code = "scar-without-k"
			}
			refused = append(refused, finding.Refusal{Code: code, Field: key})
		}
	}
	if len(refused) > 1 && refused[0].Field > refused[1].Field {
		refused[0], refused[1] = refused[1], refused[0]
	}
	return refused
}

// conditions are what was seen of cornea, lids and capsule.
func (q *question) conditions() []finding.Finding {
	e, u := q.eye, &q.eye.Unusual
	c := biometry.SickCornea{Pterygium: biometry.Told(u.Pterygium), Keratoconus: biometry.Told(u.Keratoconus), Trichiasis: biometry.Told(u.Lashes),
		Trachoma: biometry.Told(u.Trachoma), Scar: biometry.Told(u.Scar)}
	if days, ok := u.PterygiumRemovedOn.DaysUntil(e.MeasuredOn); ok {
		c.PterygiumRemoved = unit.Known(unit.Constant(days))
	}
	list := append(q.replaced[:len(q.replaced):len(q.replaced)], biometry.CheckCornea(c)...)
	if u.TensionRing == eye.Yes {
		list = append(list, lenspower.CheckPlacement(lenspower.SulcusFacts{TensionRing: true,
			TornCapsulorhexis: told(u.Capsulorhexis, "torn", "whole"), OpenPosteriorCapsule: told(u.PosteriorCapsule, "open", "closed")})...)
	}
	if e.Placement == eye.Chamber && q.rules >= 2 {
		list = append(list, lenspower.CheckChamberLens(lenspower.ChamberFacts{LensLength: u.LensLength, Iridectomy: lenspower.Told(u.Iridectomy), Depth: e.ACD, Cells: u.Cells})...)
	}
	return list
}

// told turns one of two words into an answer.
func told(word, yes, no string) lenspower.Told {
	switch word {
	case yes:
		return lenspower.Yes
	case no:
		return lenspower.No
	}
	return ""
}
