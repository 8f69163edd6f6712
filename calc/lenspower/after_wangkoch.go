package lenspower

import (
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Wang, Koch and Maloney: the central power of topography at the index of the
// stroma, less the power of the back surface; then double K.
const (
	maloneyIndex   = 376 / 337.5
	maloneyBack    = 4.9
	wangKochBack   = 6.1
	wangKochRefit  = 5.59
	wangKochBaseID = "srk-t"
)

var _ = declare(source.WangKoch2004, source.Memory,
	coefficient{"maloney.index", maloneyIndex, "", "376/337.5"},
	coefficient{"maloney.back", maloneyBack, "D", "Maloney’s original"},
	coefficient{"wang-koch-maloney.back", wangKochBack, "D", "Wang and Koch"},
	coefficient{"wang-koch-maloney.refit", wangKochRefit, "D", "later refit"},
)

var wangKochMaloney = []*OperatedMethod{{ID: "wang-koch-maloney", Version: "1", Ref: source.Ref{Key: source.WangKoch2004, Where: "6.1; the double-K method is SRK/T, our choice", Grade: source.Memory},
	Surgeries: myopicOnly, base: always(wangKochBaseID),
	correct: func(in *OperatedInput, n *notes) (correction, error) {
		k := MaloneyPowers(in.K)
		n.reading("after.k-now", "K", float64(in.K), "D")
		c := in.corrected("wang-koch-maloney", float64(k.WangKoch), n)
		note := topographyK.On("k_flat_d")
		note.Method = "wang-koch-maloney"
		c.found = append([]finding.Finding{note}, c.found...)
		return c, nil
	}}}

// Maloney are the corneal powers of one measured power by the three constants
// in print; the method uses WangKoch.
type Maloney struct{ Original, WangKoch, Refit unit.Dioptre }

// MaloneyPowers returns K·376/337.5 less 4.9, 6.1 and 5.59 D.
func MaloneyPowers(k unit.Dioptre) Maloney {
	stroma := unit.Dioptre(maloneyIndex * float64(k))
	return Maloney{stroma - maloneyBack, stroma - wangKochBack, stroma - wangKochRefit}
}
