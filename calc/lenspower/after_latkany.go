package lenspower

import (
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Latkany: SRK/T with K as it is now, plus a line of the refraction before
// myopic surgery; one line for the average K, one for the flattest.
const (
	latkanySlope, latkanyZero         = 0.46, 0.21
	latkanyFlatSlope, latkanyFlatZero = 0.47, 0.85
)

var _ = declare(source.Latkany2005, source.Memory,
	coefficient{"latkany.slope", latkanySlope, "", "average K"},
	coefficient{"latkany.zero", latkanyZero, "D", "average K"},
	coefficient{"latkany.flat-slope", latkanyFlatSlope, "", "flattest K"},
	coefficient{"latkany.flat-zero", latkanyFlatZero, "D", "flattest K"},
)

var latkany = []*OperatedMethod{
	{ID: "latkany", Version: "1", Ref: source.Ref{Key: source.Latkany2005, Where: "average K", Grade: source.Memory}, Surgeries: myopicOnly,
		Needs: []string{"refraction_before_d"}, base: always("srk-t"),
		correct: func(in *OperatedInput, n *notes) (correction, error) {
			n.reading("after.k-now", "K", float64(in.K), "D")
			return in.latkany("latkany", in.K, line{-latkanySlope, -latkanyZero}, n)
		}},
	{ID: "latkany-flattest", Version: "1", Ref: source.Ref{Key: source.Latkany2005, Where: "flattest K", Grade: source.Memory}, Surgeries: myopicOnly, VariantOf: "latkany",
		Needs: []string{"refraction_before_d", "k_flat_d"}, base: always("srk-t"),
		correct: func(in *OperatedInput, n *notes) (correction, error) {
			n.reading("after.k-flat", "Kflat", float64(in.KFlat.Value), "D")
			return in.latkany("latkany-flattest", in.KFlat.Value, line{-latkanyFlatSlope, -latkanyFlatZero}, n)
		}},
}

// latkany refuses a history of hyperopia, which the line was not made for.
func (in *OperatedInput) latkany(id string, k unit.Dioptre, l line, n *notes) (correction, error) {
	before := in.RefractionBefore.Value
	if bounds := (unit.Bounds{Low: historyBounds.Low, High: 0}); !within(float64(before), bounds) {
		return correction{}, outside("refraction_before_d", float64(before), bounds, "D")
	}
	added := l.at(before)
	n.reading("after.refraction-before", "SEpre", float64(before), "D")
	n.add("after.added", "dP", float64(added), "D")
	note := latkanySpectacle.On("refraction_before_d", finding.Value{Name: "before", Text: before.String()})
	note.Method = id
	return correction{k: k, added: added, history: true, found: []finding.Finding{note}}, nil
}

var latkanySpectacle = finding.Declare(finding.Rule{Code: "history-at-spectacle", Severity: finding.Note,
	Ref:   source.Ref{Key: source.Latkany2005, Where: "refraction before, taken at the spectacle plane", Grade: source.Memory},
	Limit: "latkany takes the refraction before surgery as recorded, not carried to the cornea"})
