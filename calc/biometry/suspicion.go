package biometry

import (
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Suspicion is what readings say about corneal surgery nobody reported.
type Suspicion struct {
	AxialLength unit.Reading[unit.Millimetre]
	K           unit.Reading[unit.Dioptre]    // mean, at 1.3375
	Refraction  unit.Reading[unit.Dioptre]    // before the cataract, spherical equivalent
	Posterior   unit.Reading[unit.Millimetre] // mean back radius
}

// The thresholds. The ratio of back to front radius is about 0.82 ± 0.02 in eyes
// never operated on; the limits are 3 SD away.
var (
	suspectFlat    = limit("suspect-flat", 41, "D", ours)
	suspectLong    = limit("suspect-long", 25, "mm", ours)
	suspectMean    = limit("suspect-mean-length", 23.5, "mm", ours)
	suspectSlope   = limit("suspect-slope", 2.7, "D/mm", ours)
	suspectShort   = limit("suspect-missing-myopia", 4, "D", ours)
	ratioRef       = source.Ref{Key: source.CommonPractice, Where: "back over front radius 0.82 ± 0.02, 3 SD", Grade: source.Memory}
	suspectRatio   = limit("suspect-ratio-low", 0.76, "", ratioRef)
	suspectRatioUp = limit("suspect-ratio-high", 0.88, "", ratioRef)
)

var (
	suspectedFlat = caution("surgery-suspected-flat-long", "mean K below 41 D in an eye longer than 25 mm and no corneal surgery recorded", ours)
	suspectedRef  = caution("surgery-suspected-refraction", "an eye longer than 25 mm at least 4 D less myopic than its length makes usual (2.7 D per mm from 23.5 mm)", ours)
	suspectedLow  = caution("surgery-suspected-ratio-low", "back over front radius below 0.76: myopic laser or radial cuts", ratioRef)
	suspectedHigh = caution("surgery-suspected-ratio-high", "back over front radius above 0.88: hyperopic laser", ratioRef)
)

// SuspectSurgery returns what speaks for corneal surgery. The caller asks it
// only where none is recorded. Readings outside the input rules say nothing.
func SuspectSurgery(s Suspicion) (list []finding.Finding) {
	al, k, r := float64(s.AxialLength.Value), float64(s.K.Value), float64(s.Refraction.Value)
	hasLength := s.AxialLength.Known && inside(al, lengthField.Bounds)
	hasK := s.K.Known && inside(k, keratometryRange)
	if hasLength && hasK && above(al, suspectLong) && below(k, suspectFlat) {
		list = append(list, suspectedFlat.On("corneal_surgery", got(dp(k)), finding.Value{Name: "length", Text: mm(al)}))
	}
	usual := -(al - suspectMean) * suspectSlope
	if hasLength && s.Refraction.Known && inside(r, unit.Bounds{Low: -40, High: 40}) && above(al, suspectLong) && !below(r, usual+suspectShort) {
		list = append(list, suspectedRef.On("corneal_surgery", got(unit.Dioptre(r).String()), finding.Value{Name: "usual", Text: unit.Dioptre(usual).String()}, finding.Value{Name: "length", Text: mm(al)}))
	}
	if !hasK || !s.Posterior.Known || !inside(float64(s.Posterior.Value), unit.Bounds{Low: 3, High: 12}) {
		return list
	}
	ratio := float64(s.Posterior.Value) / (thousandIndex / k)
	value := got(unit.Fixed(ratio, 2))
	switch {
	case below(ratio, suspectRatio):
		list = append(list, suspectedLow.On("posterior_r_flat_mm", value, limitText(unit.Fixed(suspectRatio, 2))))
	case above(ratio, suspectRatioUp):
		list = append(list, suspectedHigh.On("posterior_r_flat_mm", value, limitText(unit.Fixed(suspectRatioUp, 2))))
	}
	return list
}
