package lenspower

import (
	"math"

	"linn/finding"
	"linn/source"
)

// Adjusted K: the central power of topography less a share of the change of
// refraction at the cornea; then double K.
const (
	adjustedShare, adjustedMargin = 0.15, 0.05
	adjustedShare3mm              = 0.16
)

var _ = declare(source.AdjustedK, source.Memory,
	coefficient{"adjusted-k.share", adjustedShare, "", "Hamed, Wang and Koch 2002, mean central power"},
	coefficient{"adjusted-k.margin", adjustedMargin, "D", "Hamed, Wang and Koch 2002"},
	coefficient{"adjusted-k.share-3mm", adjustedShare3mm, "", "Awwad 2008, mean of the central 3 mm"},
)

var adjustedK = []*OperatedMethod{
	adjustedMethod("adjusted-k", "", "mean central power", adjustedShare, adjustedMargin),
	adjustedMethod("adjusted-k-3mm", "adjusted-k", "mean of the central 3 mm", adjustedShare3mm, 0),
}

func adjustedMethod(id, variantOf, where string, share, margin float64) *OperatedMethod {
	return &OperatedMethod{ID: id, Version: "1", Ref: source.Ref{Key: source.AdjustedK, Where: where + "; the double-K method is SRK/T, our choice", Grade: source.Memory},
		Surgeries: myopicOnly, VariantOf: variantOf, Needs: []string{"refraction_before_d", "refraction_after_d"}, base: always("srk-t"),
		correct: func(in *OperatedInput, n *notes) (correction, error) {
			ch, err := in.laserChange(n)
			if err != nil {
				return correction{}, err
			}
			n.reading("after.k-now", "K", float64(in.K), "D")
			c := in.corrected(id, float64(in.K)-share*math.Abs(float64(ch.cornea))-margin, n)
			c.history = true
			note := topographyK.On("k_flat_d")
			note.Method = id
			c.found = append([]finding.Finding{in.historyNote(id), note}, c.found...)
			return c, nil
		}}
}
