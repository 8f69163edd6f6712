package optics

import (
	"math"

	"linn/unit"
)

// Surface is one refracting surface of a centred system.
type Surface struct {
	Radius unit.Millimetre // positive when its centre lies behind it; Plane when flat
	After  unit.Index      // index behind it
	Gap    unit.Millimetre // to the next surface, or from the last to the retina
}

// System is a row of surfaces in the order light meets them, close to the axis.
type System struct {
	Before   unit.Index // in front of the first surface; 1 is air
	Surfaces []Surface
}

// Cardinal are the cardinal points of a system, measured from its first
// surface; positive is towards the retina.
type Cardinal struct {
	Power       unit.Dioptre    // equivalent power
	Front, Back unit.Millimetre // focal points F and F′
	H, HPrime   unit.Millimetre // principal points
	N, NPrime   unit.Millimetre // nodal points
}

// Check refuses a system without surfaces, with a radius of 0, an index below
// 1 or a negative or endless gap.
func (s System) Check() error {
	if len(s.Surfaces) == 0 {
		return &unit.RangeError{What: "surfaces", Got: 0, Low: 1, High: math.Inf(1)}
	}
	if err := checkIndex(s.Before); err != nil {
		return err
	}
	for _, f := range s.Surfaces {
		if err := checkIndex(f.After); err != nil {
			return err
		}
		if r := float64(f.Radius); r == 0 || math.IsNaN(r) {
			return &unit.RangeError{What: "radius_mm", Got: r, Low: math.Inf(-1), High: math.Inf(1), Unit: "mm"}
		}
		if !(f.Gap >= 0) || !unit.Finite(f.Gap) {
			return &unit.RangeError{What: "gap_mm", Got: float64(f.Gap), Low: 0, High: math.Inf(1), Unit: "mm"}
		}
	}
	return nil
}

// checkIndex refuses an index no medium of an eye has; the bounds are our own,
// vacuum below and the densest glass above.
func checkIndex(n unit.Index) error {
	if !(n >= 1 && n <= 2.5) {
		return &unit.RangeError{What: "index", Got: float64(n), Low: 1, High: 2.5}
	}
	return nil
}

// matrix is the product of refractions [[1,0],[−F,1]] and transfers
// [[1,t/n],[0,1]] (metres, dioptres) from the first surface to the last.
func (s System) matrix() (a, b, c, d float64) {
	a, d = 1, 1
	n := s.Before
	for i, f := range s.Surfaces {
		p := float64(SurfacePower(f.Radius, Media{n, f.After}))
		c, d = c-p*a, d-p*b
		n = f.After
		if i < len(s.Surfaces)-1 {
			t := Gap{f.Gap, n}.reduced()
			a, b = a+t*c, b+t*d
		}
	}
	return a, b, c, d
}

// Cardinal returns the equivalent power and the cardinal points. A system
// without power has no points: a *unit.RangeError.
func (s System) Cardinal() (Cardinal, error) {
	if err := s.Check(); err != nil {
		return Cardinal{}, err
	}
	a, _, c, d := s.matrix()
	if c == 0 {
		return Cardinal{}, &unit.RangeError{What: "power_d", Got: 0, Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
	}
	first, last := 1000*float64(s.Before), 1000*float64(s.Surfaces[len(s.Surfaces)-1].After)
	var depth unit.Millimetre
	for _, f := range s.Surfaces[:len(s.Surfaces)-1] {
		depth += f.Gap
	}
	k := Cardinal{Power: unit.Dioptre(-c),
		Front: unit.Millimetre(d * first / c), Back: depth - unit.Millimetre(a*last/c),
		H: unit.Millimetre((d - 1) * first / c), HPrime: depth + unit.Millimetre((1-a)*last/c)}
	k.N = k.Front - unit.Millimetre(last/c)
	k.NPrime = k.Back + unit.Millimetre(first/c)
	return k, nil
}

// Power returns the equivalent power. A system without power has 0 D.
func (s System) Power() (unit.Dioptre, error) {
	if err := s.Check(); err != nil {
		return 0, err
	}
	_, _, c, _ := s.matrix()
	return unit.Dioptre(0 - c), nil
}

// VertexRefraction returns the vergence that must reach the first surface for
// a sharp image at the end of the last gap: the correction a lens touching the
// first surface would need. It steps backwards from the retina.
func (s System) VertexRefraction() (unit.Dioptre, error) {
	if err := s.Check(); err != nil {
		return 0, err
	}
	last := s.Surfaces[len(s.Surfaces)-1]
	if last.Gap == 0 {
		return 0, &unit.RangeError{What: "gap_mm", Got: 0, Low: 0, High: math.Inf(1), Unit: "mm"}
	}
	v := unit.Dioptre(1000 * float64(last.After) / float64(last.Gap))
	for i := len(s.Surfaces) - 1; i >= 0; i-- {
		f := s.Surfaces[i]
		if i < len(s.Surfaces)-1 {
			var err error
			if v, err = (Gap{f.Gap, f.After}).Back(v); err != nil {
				return 0, err
			}
		}
		v -= SurfacePower(f.Radius, Media{s.before(i), f.After})
	}
	return v, nil
}

// Emerging returns the vergence behind the last surface of a wave that reaches
// the first with vergence v.
func (s System) Emerging(v unit.Dioptre) (unit.Dioptre, error) {
	if err := s.Check(); err != nil {
		return 0, err
	}
	for i, f := range s.Surfaces {
		v += SurfacePower(f.Radius, Media{s.before(i), f.After})
		if i < len(s.Surfaces)-1 {
			var err error
			if v, err = (Gap{f.Gap, f.After}).Step(v); err != nil {
				return 0, err
			}
		}
	}
	return v, nil
}

func (s System) before(i int) unit.Index {
	if i == 0 {
		return s.Before
	}
	return s.Surfaces[i-1].After
}
