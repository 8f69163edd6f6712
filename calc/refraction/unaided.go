package refraction

import (
	"math"

	"linn/source"
	"linn/unit"
)

// Unaided is an eye that looks without spectacles.
type Unaided struct {
	Residual AtCornea     // what it would need to see far away
	Object   unit.Dioptre // vergence of the object at the cornea: 0 far away, −2.5 at 40 cm
	Best     unit.LogMAR  // with the best correction
	Pupil    unit.Millimetre
}

// Vision is what is predicted of it.
type Vision struct {
	Blur    unit.Dioptre // dioptric distance √(SE² + C²/4)
	LogMAR  unit.LogMAR  // by the square of the blur
	Smith   unit.LogMAR  // by blur times pupil, for comparison
	Outside bool         // the blur lies beyond what the model was made for
}

// The two models. Beyond mostBlur the first is an extrapolation: a choice of
// our own.
var (
	mostBlur   = source.Declare(source.Constant{Name: "unaided.most-blur", Value: 4, Unit: "D", Ref: source.Ref{Key: source.OwnChoice, Where: "limit of the model's use here", Grade: source.Own}})
	smithSlope = source.Declare(source.Constant{Name: "unaided.smith-slope", Value: 0.65, Unit: "arcmin/(D·mm)", Ref: source.Ref{Key: source.Smith1991, Where: "MAR = 0.65·E·D at large blur", Grade: source.Memory}})
	hoshikawa  = [3]float64{unaidedTerm("square", 0.017), unaidedTerm("linear", 0.125), unaidedTerm("constant", -0.116)}
)

func unaidedTerm(name string, v float64) float64 {
	return source.Declare(source.Constant{Name: "unaided.astigmatism-" + name, Value: v, Unit: "logMAR", Ref: source.Ref{Key: source.Hoshikawa2021, Where: "abstract, logMAR over astigmatism in D", Grade: source.Read}})
}

// Predict says what the eye is likely to read: the least angle grows as
// 1 + b², b the dioptric distance of the residual refraction from the object's
// vergence. It knows neither squinting nor depth of focus beyond that, nor the
// state of macula and media. A value that is not finite or a pupil outside
// 0.5–12 mm is a *unit.RangeError.
func (u Unaided) Predict() (Vision, error) {
	if !(u.Pupil >= 0.5 && u.Pupil <= 12) {
		return Vision{}, &unit.RangeError{What: "pupil_mm", Got: float64(u.Pupil), Low: 0.5, High: 12, Unit: "mm"}
	}
	b := math.Hypot(float64(u.Residual.Equivalent()-u.Object), float64(u.Residual.Cylinder)/2)
	if math.IsNaN(b) || math.IsInf(b, 0) || !unit.Finite(u.Best) {
		return Vision{}, &unit.RangeError{What: "refraction_d", Got: b, Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
	}
	best := math.Pow(10, float64(u.Best))
	return Vision{Blur: unit.Dioptre(b), LogMAR: unit.LogMAR(math.Log10(best * (1 + b*b))),
		Smith: unit.LogMAR(math.Log10(math.Hypot(best, smithSlope*b*float64(u.Pupil)))), Outside: b > mostBlur}, nil
}

// AstigmaticVision is the acuity measured in presbyopes whose spherical
// equivalent is corrected and whose astigmatism is left, to 3 D: a cross-check
// of [Unaided.Predict]. Beyond 0–3 D it is a *unit.RangeError.
func AstigmaticVision(c unit.Dioptre) (unit.LogMAR, error) {
	x := float64(c)
	if !(x >= 0 && x <= 3) {
		return 0, &unit.RangeError{What: "cylinder_d", Got: x, Low: 0, High: 3, Unit: "D"}
	}
	return unit.LogMAR(hoshikawa[0]*x*x + hoshikawa[1]*x + hoshikawa[2]), nil
}
