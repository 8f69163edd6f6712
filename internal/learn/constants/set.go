package constants

import (
	"errors"
	"math"
	"time"

	"linn/calc/lenspower"
	"linn/calc/optics"
	"linn/unit"
)

// Key is what a constant belongs to.
type Key struct{ Lens, Method, Biometer string }

// Predictor says what a case's implanted lens would have left with the constant
// at a value, in D. An error says that the method refuses the eye there.
type Predictor interface {
	Predict(constant unit.Constant) (unit.Dioptre, error)
}

// Case is one eligible outcome.
type Case struct {
	ID       string
	On       time.Time // day of the operation; orders the cases
	Achieved unit.Dioptre
	Predictor
}

// Set is the eyes of one key.
type Set struct {
	Key     Key
	InForce unit.Constant // the constant they are judged by
	Reach   unit.Constant // how far from it a fit may go; ReachOf
	Cases   []Case
}

// How far a fit may move a constant: beyond it an error of data is likelier
// than a lens. Our own choice.
const (
	reachA  = 2.0  // of an A constant
	reachMM = 1.25 // mm, of a constant that is a position
)

// ReachOf returns how far a fit may go for a method's constant, by its contract
// key.
func ReachOf(key string) unit.Constant {
	if key == "a" {
		return reachA
	}
	return reachMM
}

var (
	// ErrTooFew says that there are fewer eyes than the fit has to have.
	ErrTooFew = errors.New("constants: too few eyes")
	// ErrOutOfReach says that no constant within reach meets the criterion.
	ErrOutOfReach = errors.New("constants: no constant within reach explains these eyes")
	// ErrWeak says that the eyes' lenses are too weak to tell a constant.
	ErrWeak = errors.New("constants: the lenses are too weak to tell a constant")
	// ErrReach says that the set's reach is missing or the constant is no number.
	ErrReach = errors.New("constants: the set has no reach or no constant in force")
)

// split parts the cases that can be predicted over the whole reach from those
// that cannot, whose IDs it returns. Achieved refractions that are no numbers
// are refused too.
func (s Set) split() (Set, []string) {
	var refused []string
	kept := make([]Case, 0, len(s.Cases))
	for _, c := range s.Cases {
		if c.fits(s.InForce-s.Reach) && c.fits(s.InForce+s.Reach) {
			kept = append(kept, c)
			continue
		}
		refused = append(refused, c.ID)
	}
	s.Cases = kept
	return s, refused
}

func (c Case) fits(constant unit.Constant) bool {
	if c.Predictor == nil || math.IsNaN(float64(c.Achieved)) || math.IsInf(float64(c.Achieved), 0) {
		return false
	}
	p, err := c.Predict(constant)
	return err == nil && !math.IsNaN(float64(p)) && !math.IsInf(float64(p), 0)
}

// errors returns the prediction errors at a constant within reach.
func (s Set) errors(at float64) []float64 {
	list := make([]float64, len(s.Cases))
	for i, c := range s.Cases {
		p, err := c.Predict(unit.Constant(at))
		if err != nil { // split saw both ends answer; between them a method has no gap
			p = unit.Dioptre(math.NaN())
		}
		list[i] = float64(c.Achieved - p)
	}
	return list
}

// gradientStep is the half width of the difference that gives a gradient.
const gradientStep = 1e-4

// gradient is the mean change of the predicted refraction with the constant, in
// D per unit.
func (s Set) gradient(at float64) float64 {
	return (mean(s.errors(at-gradientStep)) - mean(s.errors(at+gradientStep))) / (2 * gradientStep)
}

// Classic is an eye as one of the classical methods sees it.
type Classic struct {
	Method *lenspower.Method
	Input  lenspower.Input // its constant is replaced
	Lens   lenspower.Constants
	Power  unit.Dioptre // implanted
}

// Predict implements [Predictor]. For haigis the constant is a0 and a1 and a2
// are those of the lens.
func (c Classic) Predict(constant unit.Constant) (unit.Dioptre, error) {
	lens, mm := c.Lens, unit.Reading[unit.Millimetre]{Value: unit.Millimetre(constant), Known: true}
	switch c.Method.Key {
	case "a":
		lens.A = unit.Reading[unit.Constant]{Value: constant, Known: true}
	case "sf_mm":
		lens.SF = mm
	case "pacd_mm":
		lens.PACD = mm
	default:
		lens.A0 = mm
	}
	in := c.Input
	resolved, _, missing := c.Method.Resolve(lens)
	if missing != "" {
		return 0, &lenspower.MissingError{Method: c.Method.ID, Field: missing}
	}
	in.Constant = resolved
	return c.Method.Refraction(in, c.Power)
}

// At returns the refraction with the lens at a position, in D.
func (c Classic) At(position unit.Millimetre) (unit.Dioptre, error) {
	in := c.Input
	resolved, _, missing := c.Method.Resolve(c.Lens)
	if missing != "" {
		return 0, &lenspower.MissingError{Method: c.Method.ID, Field: missing}
	}
	in.Constant = resolved
	solved, err := c.Method.Solve(in)
	if err != nil {
		return 0, err
	}
	eye := solved.Eye()
	eye.Position = position
	return eye.Refraction(c.Power)
}

// Placed returns the position that explains the achieved refraction; ok is
// false when there is none or it says little (see lenspower.BackSolved).
func (c Classic) Placed(achieved unit.Dioptre) (position unit.Millimetre, ok bool) {
	back, err := c.Method.BackSolve(c.Input, optics.Achieved{Power: c.Power, Refraction: achieved})
	return back.Position, err == nil && back.Usable
}

// Readings returns what the three-constant position is a line of.
func (c Classic) Readings() (acd, length unit.Millimetre) {
	return c.Input.ACD.Value, c.Input.AxialLength
}
