package lenspower

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

var (
	nearCusp = finding.Declare(finding.Rule{Code: "srkt-near-cusp", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "square root of r² - Cw²/4", Grade: source.Own},
		Limit: "root below 1 mm: the predicted height rises ever faster with length and K"})
	outsideUse = finding.Declare(finding.Rule{Code: "outside-ordinary-use", Severity: finding.Note,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "ordinary-use range of each method; see its documentation", Grade: source.Own},
		Limit: "axial length or K outside the method's ordinary use"})
)

// Findings says what the method has to say about an eye it was asked about:
// the caution near the cusp of srk-t and notes outside ordinary use. It needs
// no constant and is nil for an ordinary eye. The cusp itself is not a finding
// but the error of Solve.
func (m *Method) Findings(in Input) []finding.Finding {
	var list []finding.Finding
	al, k, field := float64(in.AxialLength), float64(m.positionK(&in)), "k_flat_d"
	if m.doubleK && in.KBefore.Known {
		field = "k_before_d"
	}
	if m.kind == srkT {
		root := math.Sqrt(srktRadicand(radius(k), srktWidth(al, k)))
		if root < srktNearCusp { // false when there is no root
			list = append(list, m.say(nearCusp, field,
				finding.Value{Name: "root", Text: unit.Millimetre(root).String()}, finding.Value{Name: "limit", Text: unit.Millimetre(srktNearCusp).String()}))
		}
	}
	if !within(al, m.Length) {
		list = append(list, m.unusual("axial_length_mm", in.AxialLength.String(), unit.Millimetre(m.Length.Low).String(), unit.Millimetre(m.Length.High).String()))
	}
	if !within(k, m.K) {
		list = append(list, m.unusual(field, m.positionK(&in).Unsigned(), unit.Dioptre(m.K.Low).Unsigned(), unit.Dioptre(m.K.High).Unsigned()))
	}
	return list
}

func (m *Method) unusual(field string, got, low, high string) finding.Finding {
	f := m.say(outsideUse, field, finding.Value{Name: "got", Text: got}, finding.Value{Name: "low", Text: low}, finding.Value{Name: "high", Text: high})
	f.Source = m.use.Key
	return f
}
