package uncertainty

import (
	"fmt"
	"math"

	"linn/source"
	"linn/unit"
)

// Kind is a source of uncertainty.
type Kind int

// The kinds. The first six change what an Eye computes; an error of
// Refraction, Other or Pupil is added to the refraction as it is.
const (
	AxialLength   Kind = iota // mm
	MeanK                     // D at index 1.3375
	ChamberDepth              // mm
	LensThickness             // mm
	LensPosition              // mm, of the real lens behind its prediction
	LensPower                 // D, of the real lens above its label
	Refraction                // D, of measuring the refraction after surgery
	Other                     // D at the spectacle plane: anatomy not modelled
	Pupil                     // D at the spectacle plane: the best focus of another pupil
	kinds
)

var kindKeys = [kinds]string{"axial_length_mm", "mean_k_d", "acd_mm", "lens_thickness_mm", "lens_position_mm", "power_d", "refraction_d", "other_d", "pupil_d"}

func (k Kind) String() string {
	if k < 0 || k >= kinds {
		return fmt.Sprintf("kind(%d)", int(k))
	}
	return kindKeys[k]
}

func (k Kind) known() bool    { return k >= 0 && k < kinds }
func (k Kind) additive() bool { return k == Refraction || k == Other || k == Pupil }

// Point is one state of the eye that an Eye computes from.
type Point struct {
	AxialLength   unit.Millimetre
	MeanK         unit.Dioptre // at index 1.3375
	ChamberDepth  unit.Millimetre
	LensThickness unit.Millimetre
	LensPosition  unit.Millimetre // added to the predicted position; 0 at the prediction
	LensPower     unit.Dioptre
}

// moved returns the point with one of its quantities increased.
func (p Point) moved(k Kind, by float64) Point {
	switch k {
	case AxialLength:
		p.AxialLength += unit.Millimetre(by)
	case MeanK:
		p.MeanK += unit.Dioptre(by)
	case ChamberDepth:
		p.ChamberDepth += unit.Millimetre(by)
	case LensThickness:
		p.LensThickness += unit.Millimetre(by)
	case LensPosition:
		p.LensPosition += unit.Millimetre(by)
	case LensPower:
		p.LensPower += unit.Dioptre(by)
	}
	return p
}

// Eye computes the refraction at the spectacle plane that an eye at p gets.
type Eye func(p Point) (unit.Dioptre, error)

// Input is one source of uncertainty. SD is in the unit of its kind; Fixed is
// the part of SD that repeating the measurement cannot reduce. Uniform says
// that the value lies anywhere within SD·√3, as behind a label; a simulation
// draws it so, the first order knows only the SD.
type Input struct {
	Kind    Kind
	SD      float64
	Fixed   float64
	Uniform bool
	Ref     source.Ref
}

// repeated returns the input after n independent measurements were averaged:
// √(Fixed² + (SD² − Fixed²)/n).
func (in Input) repeated(n int) Input {
	in.SD = math.Sqrt(in.Fixed*in.Fixed + (in.SD*in.SD-in.Fixed*in.Fixed)/float64(n))
	return in
}

// Correlation is how two errors hang together.
type Correlation struct {
	Between [2]Kind
	R       float64 // −1…1
}

// Budget is everything that is uncertain about one eye.
type Budget struct {
	At           Point
	Inputs       []Input
	Correlations []Correlation // absent pairs are independent

	// Offset is the mean error that is expected: achieved minus predicted, 0
	// after constants were fitted.
	Offset unit.Dioptre
}
