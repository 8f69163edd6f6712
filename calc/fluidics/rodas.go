package fluidics

import "math"

// The linearly implicit (Rosenbrock) pair of orders 4 and 3 by Hairer and
// Wanner (1996, IV.7), six stages, stiffly accurate and L-stable, with its
// interpolant of order 3. The coefficients were entered from memory; as for
// the explicit pair the orders are measured by test.
const (
	roGamma          = 0.25
	roC2, roC3, roC4 = 0.386, 0.21, 0.63

	roD1, roD2, roD3, roD4 = 0.25, -0.1043, 0.1035, -0.03620000000000023

	roA21                      = 1.544
	roA31, roA32               = 0.9466785280815826, 0.2557011698983284
	roA41, roA42, roA43        = 3.314825187068521, 2.896124015972201, 0.9986419139977817
	roA51, roA52, roA53, roA54 = 1.221224509226641, 6.019134481288629, 12.53708332932087, -0.6878860361058950

	roC21                             = -5.6688
	roC31, roC32                      = -2.430093356833875, -0.2063599157091915
	roC41, roC42, roC43               = -0.1073529058151375, -9.594562251023355, -20.47028614809616
	roC51, roC52, roC53, roC54        = 7.496443313967647, -10.24680431464352, -33.99990352819905, 11.70890893206160
	roC61, roC62, roC63, roC64, roC65 = 8.083246795921522, -7.981132988064893, -31.52159432874371, 16.31930543123136, -6.058818238834054

	roH21, roH22, roH23, roH24, roH25 = 10.12623508344586, -7.487995877610167, -34.80091861555747, -7.992771707568823, 1.025137723295662
	roH31, roH32, roH33, roH34, roH35 = -0.6762803392801253, 6.087714651680015, 16.43084320892478, 24.76722511418386, -6.594389125716872
)

// implicit holds the stages of a Rosenbrock step.
type implicit struct {
	j          matrix
	ft         vector
	lu         matrix
	pivot      [dim]int
	f0, f, rhs vector
	a          [6]vector
	y, y1      vector
	fresh      bool // j, ft and f0 belong to the present (t, y0)
}

// try takes a step of h from (t, y0) and returns its error norm, +Inf when the
// matrix of the step is singular.
func (w *implicit) try(p *problem, t, h float64, y0 *vector) float64 {
	if !w.fresh {
		p.derive(t, y0, &w.f0)
		p.jacobian(t, y0, &w.j, &w.ft)
		w.fresh = true
	}
	for r := range w.lu {
		for c := range w.lu[r] {
			w.lu[r][c] = -w.j[r][c]
		}
		w.lu[r][r] += 1 / (h * roGamma)
	}
	if !factor(&w.lu, &w.pivot) {
		return math.Inf(1)
	}
	a := &w.a
	w.f = w.f0
	w.stage(0, h*roD1, 0, 0, 0, 0, 0)
	for i := range w.y {
		w.y[i] = y0[i] + roA21*a[0][i]
	}
	p.derive(t+roC2*h, &w.y, &w.f)
	w.stage(1, h*roD2, roC21/h, 0, 0, 0, 0)
	for i := range w.y {
		w.y[i] = y0[i] + roA31*a[0][i] + roA32*a[1][i]
	}
	p.derive(t+roC3*h, &w.y, &w.f)
	w.stage(2, h*roD3, roC31/h, roC32/h, 0, 0, 0)
	for i := range w.y {
		w.y[i] = y0[i] + roA41*a[0][i] + roA42*a[1][i] + roA43*a[2][i]
	}
	p.derive(t+roC4*h, &w.y, &w.f)
	w.stage(3, h*roD4, roC41/h, roC42/h, roC43/h, 0, 0)
	for i := range w.y {
		w.y[i] = y0[i] + roA51*a[0][i] + roA52*a[1][i] + roA53*a[2][i] + roA54*a[3][i]
	}
	p.derive(t+h, &w.y, &w.f)
	w.stage(4, 0, roC51/h, roC52/h, roC53/h, roC54/h, 0)
	for i := range w.y {
		w.y[i] += a[4][i]
	}
	p.derive(t+h, &w.y, &w.f)
	w.stage(5, 0, roC61/h, roC62/h, roC63/h, roC64/h, roC65/h)
	for i := range w.y1 {
		w.y1[i] = w.y[i] + a[5][i] // the last stage is the error
	}
	return p.tol.norm(&a[5], y0, &w.y1)
}

// stage solves for a[n] from f, the weight of ∂f/∂t and those of the earlier
// stages.
func (w *implicit) stage(n int, time, c0, c1, c2, c3, c4 float64) {
	weights := [...]float64{c0, c1, c2, c3, c4}
	for i := range w.rhs {
		sum := w.f[i] + time*w.ft[i]
		for k := range n {
			sum += weights[k] * w.a[k][i]
		}
		w.rhs[i] = sum
	}
	solve(&w.lu, &w.pivot, &w.rhs)
	w.a[n] = w.rhs
}

// interpolate fills the interpolant of the step just taken.
func (w *implicit) interpolate(s *step) {
	a := &w.a
	for i := range s.c3 {
		s.c3[i] = roH21*a[0][i] + roH22*a[1][i] + roH23*a[2][i] + roH24*a[3][i] + roH25*a[4][i]
		s.c4[i] = roH31*a[0][i] + roH32*a[1][i] + roH33*a[2][i] + roH34*a[3][i] + roH35*a[4][i]
		s.c5[i] = 0
	}
}

// factor turns m into its triangular factors with row exchanges; false when m
// is singular.
func factor(m *matrix, pivot *[dim]int) bool {
	for k := range dim {
		best := k
		for r := k + 1; r < dim; r++ {
			if math.Abs(m[r][k]) > math.Abs(m[best][k]) {
				best = r
			}
		}
		pivot[k] = best
		m[k], m[best] = m[best], m[k]
		if m[k][k] == 0 {
			return false
		}
		for r := k + 1; r < dim; r++ {
			q := m[r][k] / m[k][k]
			if m[r][k] = q; q == 0 {
				continue
			}
			for c := k + 1; c < dim; c++ {
				m[r][c] -= q * m[k][c]
			}
		}
	}
	return true
}

// solve replaces b by the solution of the factored system.
func solve(m *matrix, pivot *[dim]int, b *vector) {
	for k := range dim {
		b[k], b[pivot[k]] = b[pivot[k]], b[k]
	}
	for r := range dim {
		for c := range r {
			b[r] -= m[r][c] * b[c]
		}
	}
	for r := dim - 1; r >= 0; r-- {
		for c := r + 1; c < dim; c++ {
			b[r] -= m[r][c] * b[c]
		}
		b[r] /= m[r][r]
	}
}
