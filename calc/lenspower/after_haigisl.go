package lenspower

import (
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Haigis-L: the radius measured by partial-coherence keratometry is corrected
// and put into the ordinary Haigis method, whose position does not depend on K.
// The hyperopic coefficients could not be found.
var haigisL = []*OperatedMethod{{ID: "haigis-l", Version: "1", Ref: source.Ref{Key: source.HaigisLNote, Where: "equation, myopic", Grade: source.Secondary},
	Surgeries: myopicOnly, Needs: []string{"acd_mm"}, base: always("haigis"), correct: correctHaigisL}}

func correctHaigisL(in *OperatedInput, n *notes) (correction, error) {
	r := unit.Millimetre(radius(float64(in.K)))
	corrected, err := HaigisLRadius(r)
	if err != nil {
		return correction{}, err
	}
	k := unit.Dioptre(keratometric / float64(corrected))
	n.reading("after.k-now", "K", float64(in.K), "D")
	n.add("after.radius-now", "r", float64(r), "mm")
	n.add("after.radius-corrected", "r,corr", float64(corrected), "mm")
	n.add("after.k-true", "Kc", float64(k), "D")
	note := opticalKOnly.On("k_flat_d")
	note.Method = "haigis-l"
	return correction{k: k, trueK: true, found: []finding.Finding{note}}, nil
}
