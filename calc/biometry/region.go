package biometry

import (
	"linn/finding"
	"linn/source"
	"linn/unit"
)

var corneaRef = source.Ref{Key: source.CorneaPractice, Where: "cornea before biometry", Grade: source.Memory}

// SickCornea is what was seen of the cornea and lids before biometry.
type SickCornea struct {
	Pterygium        Told                        // today
	PterygiumRemoved unit.Reading[unit.Constant] // days since it was excised, up to the keratometry
	Keratoconus      Told
	Trichiasis       Told // lashes on the eye
	Trachoma         Told // active
	Scar             Told // over the visual axis
}

var (
	pterygiumDays  = limit("pterygium-days", 90, "days", corneaRef)
	keratoconusSD  = limit("keratoconus-band", 2, "", ours)
	scarFellowSD   = limit("scar-fellow-sd", 1.0, "D", ours)
	scarMeanSD     = limit("scar-mean-sd", 1.70, "D", source.Ref{Key: source.Chinese2021, Where: "SD of K, 28,709 eyes", Grade: source.Read})
	scarMeanK      = limit("scar-mean-k", 44.26, "D", source.Ref{Key: source.Chinese2021, Where: "mean K, 28,709 eyes", Grade: source.Read})
	pterygiumFirst = gated("pterygium-first", "a pterygium at keratometry: treat first or measure again", corneaRef)
	pterygiumEarly = caution("pterygium-recent", "keratometry less than "+days(90)+" after excision of a pterygium", corneaRef)
	keratoconus    = caution("keratoconus-hyperopic-error", "keratoconus: expect a hyperopic error; the band is doubled (own choice)", corneaRef)
	lidGate        = gated("trichiasis-first", "lashes on the eye or active trachoma: lids first, no open eye beside them", corneaRef)
	scarNoK        = stop("scar-without-k", "a scar over the axis, no keratometry, and no K chosen in its place", corneaRef)
	scarChosen     = gated("k-substituted", "K taken from the fellow eye or a mean: larger SD, a line on every print", ours)
)

// KeratoconusBand is by how much to widen the band of the predicted refraction
// in keratoconus: our own choice, no source gives a number.
func KeratoconusBand() unit.Ratio { return unit.Ratio(keratoconusSD) }

// CheckCornea returns the findings of a cornea that is not sound. What was not
// asked says nothing.
func CheckCornea(c SickCornea) (list []finding.Finding) {
	if c.Pterygium == Yes {
		list = append(list, pterygiumFirst.On("k_flat_d"))
	}
	if c.PterygiumRemoved.Known && below(float64(c.PterygiumRemoved.Value), pterygiumDays) {
		list = append(list, pterygiumEarly.On("k_flat_d", got(days(int(c.PterygiumRemoved.Value))), limitText(days(int(pterygiumDays)))))
	}
	if c.Keratoconus == Yes {
		list = append(list, keratoconus.On("k_flat_d"))
	}
	if c.Trichiasis == Yes || c.Trachoma == Yes {
		list = append(list, lidGate.On("cornea"))
	}
	return list
}

// KFrom is whose K stands in for one that cannot be measured.
type KFrom string

// The substitutes. The zero KFrom is no choice.
const (
	FromFellow KFrom = "fellow"
	FromMean   KFrom = "mean"
)

// ScarredK is a cornea without keratometry and the explicit choice made for it.
type ScarredK struct {
	Chosen  KFrom
	FellowK unit.Reading[unit.Dioptre] // mean K of the fellow eye, at 1.3375
}

// SubstituteK returns the K chosen in place of one that cannot be measured, with
// a larger SD in its reading. Without a choice there is a stop and no K; a
// chosen fellow eye without K is a *MissingError.
func SubstituteK(s ScarredK) (unit.Reading[unit.Dioptre], []finding.Finding, error) {
	var k unit.Reading[unit.Dioptre]
	switch s.Chosen {
	case FromFellow:
		if !s.FellowK.Known {
			return k, nil, &MissingError{Field: "other_eye.k_flat_d"}
		}
		if !inside(float64(s.FellowK.Value), keratometryRange) {
			return k, nil, rangeError("other_eye.k_flat_d", float64(s.FellowK.Value), keratometryRange, "D")
		}
		k = unit.Known(s.FellowK.Value)
		k.SD = unit.Dioptre(scarFellowSD)
	case FromMean:
		k = unit.Known(unit.Dioptre(scarMeanK))
		k.SD = unit.Dioptre(scarMeanSD)
	default:
		return k, []finding.Finding{scarNoK.On("k_flat_d")}, nil
	}
	return k, []finding.Finding{scarChosen.On("k_flat_d", finding.Value{Name: "from", Text: string(s.Chosen)}, got(k.Value.Unsigned()),
		finding.Value{Name: "sd", Text: k.SD.Unsigned()})}, nil
}
