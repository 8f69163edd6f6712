package outcome

import (
	"math"

	"linn/calc/refraction"
	"linn/source"
	"linn/unit"
)

// lossLines is the worsening that counts as visual loss: the doubling of the
// visual angle.
var lossLines = source.Declare(source.Constant{Name: "outcome.visual_loss", Value: 0.30, Unit: "logMAR", Ref: source.Ref{Key: source.Sparrow2012, Where: "doubling of the visual angle or worse", Grade: source.Read}})

// AtLeast says whether an acuity can see the line 6/denominator. Of an acuity
// written as a rounded logMAR the line is not known: 6/18 is 0.4771, and 0.48
// does not count, as in calc/refraction.
func AtLeast(v unit.LogMAR, denominator float64) bool {
	return float64(v) <= math.Log10(denominator/6)+guard
}

// Band is the band of outcome of an operated eye: good can see 6/18, poor
// cannot see 6/60. With presenting acuity, unless it is said otherwise.
func Band(v unit.LogMAR) refraction.Band {
	switch {
	case AtLeast(v, 18):
		return refraction.Good
	case AtLeast(v, 60):
		return refraction.Borderline
	}
	return refraction.Poor
}

// Lost says whether sight became worse by the doubling of the visual angle.
// before and after are best-measured.
func Lost(c Change) bool { return float64(c.After-c.Before) >= lossLines-guard }

// Change is an acuity before and after.
type Change struct{ Before, After unit.LogMAR }
