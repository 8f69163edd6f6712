package constants

import (
	"math"

	"linn/unit"
)

// Positioned is a case whose lens position can be solved and set.
type Positioned interface {
	Predictor
	At(position unit.Millimetre) (unit.Dioptre, error)
	Placed(achieved unit.Dioptre) (position unit.Millimetre, ok bool)
	Readings() (acd, length unit.Millimetre)
}

// Three is a position as a line of chamber depth and axial length,
// d = A0 + A1·ACD + A2·AL, with the spread of what it predicts.
type Three struct {
	A0, A1, A2             unit.Constant
	SEA0, SEA1, SEA2       unit.Constant // of the regression; 0 from FitThree
	N                      int
	MeanPosition, SDPlaced unit.Millimetre // back-solved
	Residual               unit.Millimetre // SD, n−3
	R2                     unit.Ratio
	Errors                 Errors
	Refused                []string // no usable position, or a case that has none
}

// leastThree is the fewest eyes for three constants; guidance from memory.
const leastThree = 100

type placed struct {
	Positioned
	d, acd, al, achieved float64
}

// placed back-solves every case exactly.
func (s Set) placed() (list []placed, refused []string) {
	for _, c := range s.Cases {
		p, ok := c.Predictor.(Positioned)
		if !ok {
			refused = append(refused, c.ID)
			continue
		}
		d, ok := p.Placed(c.Achieved)
		if !ok {
			refused = append(refused, c.ID)
			continue
		}
		acd, al := p.Readings()
		list = append(list, placed{p, float64(d), float64(acd), float64(al), float64(c.Achieved)})
	}
	return list, refused
}

// FitPositions regresses the back-solved positions by least squares. It weighs
// weak lenses too much; FitThree does not. Below 100 eyes: ErrTooFew; readings
// that lie on a line: ErrWeak.
func (s Set) FitPositions() (Three, error) {
	list, refused := s.placed()
	if len(list) < leastThree {
		return Three{N: len(list), Refused: refused}, ErrTooFew
	}
	t, err := regress(list)
	t.Refused = refused
	return t, err
}

func regress(list []placed) (Three, error) {
	d, acd, al := make([]float64, len(list)), make([]float64, len(list)), make([]float64, len(list))
	for i, p := range list {
		d[i], acd[i], al[i] = p.d, p.acd, p.al
	}
	md, m1, m2 := mean(d), mean(acd), mean(al)
	s11, s22, s12 := cross(acd, acd), cross(al, al), cross(acd, al)
	s1d, s2d, sdd := cross(acd, d), cross(al, d), cross(d, d)
	det := s11*s22 - s12*s12
	if !(det > 1e-9*s11*s22) {
		return Three{N: len(list)}, ErrWeak
	}
	b1, b2 := (s22*s1d-s12*s2d)/det, (s11*s2d-s12*s1d)/det
	left := sdd - b1*s1d - b2*s2d
	n := float64(len(list))
	v := left / (n - 3)
	se0 := v * (1/n + (m1*m1*s22+m2*m2*s11-2*m1*m2*s12)/det)
	t := Three{A0: unit.Constant(md - b1*m1 - b2*m2), A1: unit.Constant(b1), A2: unit.Constant(b2), N: len(list),
		SEA0: unit.Constant(math.Sqrt(se0)), SEA1: unit.Constant(math.Sqrt(v * s22 / det)), SEA2: unit.Constant(math.Sqrt(v * s11 / det)),
		MeanPosition: unit.Millimetre(md), SDPlaced: unit.Millimetre(sd(d)), Residual: unit.Millimetre(math.Sqrt(v)), R2: unit.Ratio(1 - left/sdd)}
	e, err := t.errors(list)
	t.Errors = summed(e)
	return t, err
}

func cross(x, y []float64) float64 {
	mx, my, sum := mean(x), mean(y), 0.0
	for i := range x {
		sum += (x[i] - mx) * (y[i] - my)
	}
	return sum
}

// position is the line's at one case.
func (t Three) position(p placed) float64 {
	return float64(t.A0) + float64(t.A1)*p.acd + float64(t.A2)*p.al
}

// errors are achieved minus predicted.
func (t Three) errors(list []placed) ([]float64, error) {
	out := make([]float64, len(list))
	for i, p := range list {
		r, err := p.At(unit.Millimetre(t.position(p)))
		if err != nil {
			return nil, err
		}
		out[i] = p.achieved - float64(r)
	}
	return out, nil
}

// FitThree makes the root mean square error of the refraction least, by damped
// Gauss-Newton steps from the regression. Errors as FitPositions.
func (s Set) FitThree() (Three, error) {
	list, refused := s.placed()
	if len(list) < leastThree {
		return Three{N: len(list), Refused: refused}, ErrTooFew
	}
	t, err := regress(list)
	if err != nil {
		return t, err
	}
	for range 50 {
		next, moved := t.step(list)
		if !moved {
			break
		}
		t = next
	}
	e, err := t.errors(list)
	t.Errors, t.Refused = summed(e), refused
	t.SEA0, t.SEA1, t.SEA2, t.Residual, t.R2 = 0, 0, 0, 0, 0
	return t, err
}

// step is one Gauss-Newton step, halved until the errors shrink.
func (t Three) step(list []placed) (Three, bool) {
	e, err := t.errors(list)
	if err != nil {
		return t, false
	}
	var a [3][4]float64
	for i, p := range list {
		g := p.slope(t.position(p))
		row := [4]float64{g, g * p.acd, g * p.al, e[i]}
		for r := range 3 {
			for c := range 4 {
				a[r][c] += row[r] * row[c]
			}
		}
	}
	d, ok := solve3(a)
	if !ok {
		return t, false
	}
	for share := 1.0; share > 1e-6; share /= 2 {
		next := t
		next.A0 += unit.Constant(share * d[0])
		next.A1 += unit.Constant(share * d[1])
		next.A2 += unit.Constant(share * d[2])
		if after, err := next.errors(list); err == nil && rms(after) < rms(e) {
			return next, true
		}
	}
	return t, false
}

// slope is the change of the refraction per mm of position.
func (p placed) slope(at float64) float64 {
	low, err1 := p.At(unit.Millimetre(at - gradientStep))
	high, err2 := p.At(unit.Millimetre(at + gradientStep))
	if err1 != nil || err2 != nil {
		return 0
	}
	return float64(high-low) / (2 * gradientStep)
}

// solve3 solves three equations by elimination with row exchange.
func solve3(a [3][4]float64) (x [3]float64, ok bool) {
	for i := range 3 {
		top := i
		for r := i + 1; r < 3; r++ {
			if math.Abs(a[r][i]) > math.Abs(a[top][i]) {
				top = r
			}
		}
		a[i], a[top] = a[top], a[i]
		if a[i][i] == 0 {
			return x, false
		}
		for r := i + 1; r < 3; r++ {
			f := a[r][i] / a[i][i]
			for c := i; c < 4; c++ {
				a[r][c] -= f * a[i][c]
			}
		}
	}
	for i := 2; i >= 0; i-- {
		x[i] = a[i][3]
		for c := i + 1; c < 3; c++ {
			x[i] -= a[i][c] * x[c]
		}
		x[i] /= a[i][i]
	}
	return x, true
}
