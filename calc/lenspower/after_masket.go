package lenspower

import (
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Masket: the power of the ordinary method with K as it is now, SRK/T after
// myopic and Hoffer Q after hyperopic laser, plus a line of the change of
// refraction at the cornea.
const (
	masketSlope, masketZero                 = -0.326, 0.101
	masketModifiedSlope, masketModifiedZero = -0.4385, 0.0295
)

var _ = declare(source.Masket2006, source.Memory,
	coefficient{"masket.slope", masketSlope, "", "power added"},
	coefficient{"masket.zero", masketZero, "D", "power added"},
	coefficient{"masket.modified-slope", masketModifiedSlope, "", "power added, modified"},
	coefficient{"masket.modified-zero", masketModifiedZero, "D", "power added, modified"},
)

var masket = []*OperatedMethod{
	masketMethod("masket", "equation", line{masketSlope, masketZero}),
	masketMethod("masket-modified", "modified coefficients", line{masketModifiedSlope, masketModifiedZero}),
}

// line is slope·x + zero.
type line struct{ slope, zero float64 }

func (l line) at(x unit.Dioptre) unit.Dioptre { return unit.Dioptre(l.slope*float64(x) + l.zero) }

func masketMethod(id, where string, l line) *OperatedMethod {
	return &OperatedMethod{ID: id, Version: "1", Ref: source.Ref{Key: source.Masket2006, Where: where, Grade: source.Memory},
		Surgeries: eitherLaser, Needs: []string{"refraction_before_d", "refraction_after_d"},
		base: func(s eye.CornealSurgery) string {
			if s == eye.HyperopicLaser {
				return "hoffer-q"
			}
			return "srk-t"
		},
		correct: func(in *OperatedInput, n *notes) (correction, error) {
			c, err := in.laserChange(n)
			if err != nil {
				return correction{}, err
			}
			added := l.at(c.cornea)
			n.add("after.added", "dP", float64(added), "D")
			return correction{k: in.K, added: added, history: true, found: []finding.Finding{in.historyNote(id)}}, nil
		}}
}
