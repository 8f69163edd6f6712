package astigmatism

import (
	"math"

	"linn/unit"
)

// power is a symmetric power matrix as mean and double-angle astigmatism:
// M·I + ½[[x, y], [y, −x]], steep at ½·atan2(y, x). All in D.
type power struct{ mean, x, y float64 }

func powerOf(mean unit.Dioptre, v Vector) power {
	return power{float64(mean), float64(v.X), float64(v.Y)}
}

func (p power) vector() Vector { return Vector{unit.Dioptre(p.x), unit.Dioptre(p.y)} }

func (p power) add(q power) power { return power{p.mean + q.mean, p.x + q.x, p.y + q.y} }

func (p power) sub(q power) power { return power{p.mean - q.mean, p.x - q.x, p.y - q.y} }

// step carries an astigmatic wave over a reduced distance in metres, each of
// its meridians by itself: V′ = V(I − d·V)⁻¹. The meridians stay.
func (p power) step(d float64) (power, bool) {
	c := math.Hypot(p.x, p.y)
	high, low := p.mean+c/2, p.mean-c/2
	qh, ql := 1-d*high, 1-d*low
	high, low = high/qh, low/ql
	out := power{mean: (high + low) / 2}
	if c > 0 {
		k := (high - low) / c
		out.x, out.y = p.x*k, p.y*k
	}
	ok := qh > 0 && ql > 0 && !math.IsNaN(out.mean) && !math.IsInf(out.mean, 0)
	return out, ok
}
