package supplies

import (
	"math"

	"linn/unit"
)

// Share is a short stock and the eyes that compete for it. Error[e][l] is how
// far lens l would leave eye e from its target; NaN where it must not be used
// in that eye.
type Share struct{ Error [][]unit.Dioptre }

// Shared gives each eye a lens (its place in the stock, or -1).
type Shared struct {
	Lens   []int
	Served int
	Total  unit.Dioptre // sum of the errors of the eyes served
}

// withoutLens stands for an eye that gets no lens: more than all errors
// together can save, so that as many eyes as possible are served first.
const withoutLens = 1e6

// Best gives the lenses out so that as many eyes as possible get one, and of
// all such ways the one with the least sum of errors: the assignment problem by
// shortest augmenting paths with potentials (Kuhn, Naval Research Logistics
// Quarterly 1955;2:83-97; Munkres, SIAM J 1957;5:32-38).
func (s Share) Best() (Shared, error) {
	eyes := len(s.Error)
	if err := within(bound{"eyes", float64(eyes), 1, 500, ""}); err != nil {
		return Shared{}, err
	}
	lenses := len(s.Error[0])
	if err := within(bound{"lenses", float64(lenses), 0, 2000, ""}); err != nil {
		return Shared{}, err
	}
	for _, row := range s.Error {
		if err := within(bound{"lenses", float64(len(row)), float64(lenses), float64(lenses), ""}); err != nil {
			return Shared{}, err
		}
		for _, v := range row {
			if math.IsNaN(float64(v)) {
				continue
			}
			if err := within(bound{"error_d", float64(v), 0, 100, "D"}); err != nil {
				return Shared{}, err
			}
		}
	}
	// As many columns "no lens" as there are eyes make every eye assignable.
	chosen := assign(eyes, lenses+eyes, func(e, l int) float64 {
		if l >= lenses || math.IsNaN(float64(s.Error[e][l])) {
			return withoutLens
		}
		return float64(s.Error[e][l])
	})
	out := Shared{Lens: chosen}
	for e, l := range chosen {
		if l >= lenses || math.IsNaN(float64(s.Error[e][l])) {
			chosen[e] = -1
			continue
		}
		out.Served++
		out.Total += s.Error[e][l]
	}
	return out, nil
}

// assign gives each of rows its own one of cols (at least as many) at the
// least total cost.
func assign(rows, cols int, cost func(row, col int) float64) []int {
	u, v := make([]float64, rows+1), make([]float64, cols+1)
	owner, from := make([]int, cols+1), make([]int, cols+1) // column 0 is the row being placed
	for row := 1; row <= rows; row++ {
		owner[0] = row
		reach, done := make([]float64, cols+1), make([]bool, cols+1)
		for j := range reach {
			reach[j] = math.Inf(1)
		}
		at := 0
		for owner[at] != 0 {
			done[at] = true
			i, step, next := owner[at], math.Inf(1), 0
			for j := 1; j <= cols; j++ {
				if done[j] {
					continue
				}
				if c := cost(i-1, j-1) - u[i] - v[j]; c < reach[j] {
					reach[j], from[j] = c, at
				}
				if reach[j] < step {
					step, next = reach[j], j
				}
			}
			for j := range done {
				if done[j] {
					u[owner[j]] += step
					v[j] -= step
				} else {
					reach[j] -= step
				}
			}
			at = next
		}
		for at != 0 {
			owner[at] = owner[from[at]]
			at = from[at]
		}
	}
	out := make([]int, rows)
	for j := 1; j <= cols; j++ {
		if owner[j] > 0 {
			out[owner[j]-1] = j - 1
		}
	}
	return out
}
