package optics

import (
	"math"

	"linn/unit"
)

// arcminute is one in radian.
const arcminute = math.Pi / 180 / 60

// Imaging is how a point spread is sampled.
type Imaging struct {
	Pixel       float64         // arcmin in object space
	Grid        int             // pixels on a side, a power of two
	Light       unit.Micrometre // wavelength in air
	Apodisation float64         // per mm²: transmittance exp(−β·r²) of the pupil; 0, as by default, none
}

// PointSpread is the image of a point, normalised to a sum of 1, its centre at
// pixel (Grid/2, Grid/2).
type PointSpread struct {
	Grid   int
	Pixel  float64 // arcmin
	Values []float64
	Strehl float64 // its peak over that of the same pupil without error
}

// check refuses what cannot be sampled: the pupil must fit into the grid that
// belongs to the pixel, λ/pixel wide.
func (im Imaging) check(pupil unit.Millimetre) error {
	if im.Grid < 8 || im.Grid > 4096 || im.Grid&(im.Grid-1) != 0 {
		return &unit.RangeError{What: "grid", Got: float64(im.Grid), Low: 8, High: 4096}
	}
	if !(im.Light >= 0.38 && im.Light <= 0.78) {
		return &unit.RangeError{What: "light_um", Got: float64(im.Light), Low: 0.38, High: 0.78, Unit: "µm"}
	}
	if !(im.Apodisation >= 0 && im.Apodisation <= 1) {
		return &unit.RangeError{What: "apodisation", Got: im.Apodisation, Low: 0, High: 1}
	}
	limit := float64(im.Light) / 1000 / (float64(pupil) * arcminute)
	if !(im.Pixel > 0 && im.Pixel <= limit) {
		return &unit.RangeError{What: "pixel_arcmin", Got: im.Pixel, Low: 0, High: limit}
	}
	return nil
}

// spacing is the distance of two samples in the pupil, in mm.
func (im Imaging) spacing() float64 {
	return float64(im.Light) / 1000 / (float64(im.Grid) * im.Pixel * arcminute)
}

// strehl is PointSpread's Strehl alone, on a grid that is used again.
func (w Wavefront) strehl(im Imaging, field square) (float64, error) {
	if err := im.check(w.Pupil); err != nil {
		return 0, err
	}
	clear(field.v)
	open, energy := w.fill(field, im)
	if open == 0 {
		return 0, &unit.RangeError{What: "grid", Got: float64(im.Grid), Low: 8, High: 4096}
	}
	field.transform()
	scale, peak := 1/(energy*float64(im.Grid*im.Grid)), 0.0
	for _, v := range field.v {
		peak = max(peak, (real(v)*real(v)+imag(v)*imag(v))*scale)
	}
	return peak / (open * open * scale), nil
}

// PointSpread is the squared magnitude of the Fourier transform of the pupil
// with the wave's error as phase. A grid that cannot hold it is a
// *unit.RangeError.
func (w Wavefront) PointSpread(im Imaging) (*PointSpread, error) {
	if err := im.check(w.Pupil); err != nil {
		return nil, err
	}
	field := newSquare(im.Grid)
	open, energy := w.fill(field, im)
	if open == 0 {
		return nil, &unit.RangeError{What: "grid", Got: float64(im.Grid), Low: 8, High: 4096}
	}
	field.transform()
	n := im.Grid
	out := &PointSpread{Grid: n, Pixel: im.Pixel, Values: make([]float64, n*n)}
	scale := 1 / (energy * float64(n*n))
	peak := 0.0
	for y := range n {
		to := out.Values[((y+n/2)%n)*n:][:n]
		for x := range n {
			v := field.v[y*n+x]
			i := (real(v)*real(v) + imag(v)*imag(v)) * scale
			to[(x+n/2)%n] = i
			peak = max(peak, i)
		}
	}
	out.Strehl = peak / (open * open * scale)
	return out, nil
}

// fill writes the pupil into the grid, its centre at the corner, and returns
// the sums of its amplitude and of its square.
func (w Wavefront) fill(field square, im Imaging) (open, energy float64) {
	n, dx, r := field.n, im.spacing(), float64(w.Pupil)/2
	reach := int(r / dx)
	wave := 2 * math.Pi / float64(im.Light)
	fast := w.polynomial()
	for iy := -reach; iy <= reach; iy++ {
		y := float64(iy) * dx / r
		for ix := -reach; ix <= reach; ix++ {
			x := float64(ix) * dx / r
			rho2 := x*x + y*y
			if rho2 > 1 {
				continue
			}
			a := 1.0
			if im.Apodisation > 0 {
				a = math.Exp(-im.Apodisation / 2 * rho2 * r * r)
			}
			s, c := math.Sincos(wave * fast.at(x, y))
			field.v[((iy+n)%n)*n+(ix+n)%n] = complex(a*c, a*s)
			open += a
			energy += a * a
		}
	}
	return open, energy
}

// polynomial is a wavefront as sums of x^i·y^k, quick to evaluate.
type polynomial struct {
	order int
	c     []float64 // by i·(order + 1) + k
}

func (w Wavefront) polynomial() polynomial {
	last := 0
	for j, c := range w.Coefficients {
		if c != 0 {
			last = j
		}
	}
	p := polynomial{order: ModeNumbered(last).N}
	p.c = make([]float64, (p.order+1)*(p.order+1))
	for j, c := range w.Coefficients {
		if c != 0 {
			p.add(ModeNumbered(j), c)
		}
	}
	return p
}

// add expands (x² + y²)^k times the real or imaginary part of (x + iy)^|m|.
func (p polynomial) add(m Mode, c float64) {
	a := max(m.M, -m.M)
	norm := math.Sqrt(float64(2 * (m.N + 1)))
	if m.M == 0 {
		norm = math.Sqrt(float64(m.N + 1))
	}
	for k := 0; k <= (m.N-a)/2; k++ {
		radial := c * norm * m.coefficient(k, a)
		half := (m.N - a - 2*k) / 2
		for h := 0; h <= half; h++ {
			for s := 0; s <= a; s++ { // binomial of (x + iy)^a
				if (s%2 == 1) != (m.M < 0) {
					continue
				}
				sign := 1.0
				if s%4 >= 2 {
					sign = -1
				}
				x, y := 2*(half-h)+a-s, 2*h+s
				p.c[x*(p.order+1)+y] += radial * sign * binomial(half, h) * binomial(a, s)
			}
		}
	}
}

func binomial(n, k int) float64 { return factorial(n) / (factorial(k) * factorial(n-k)) }

func (p polynomial) at(x, y float64) float64 {
	sum := 0.0
	for i := p.order; i >= 0; i-- {
		row := 0.0
		for k := p.order - i; k >= 0; k-- {
			row = row*y + p.c[i*(p.order+1)+k]
		}
		sum = sum*x + row
	}
	return sum
}

// Transfer is the modulation transfer along the x and y meridians: contrast of
// a grating by spatial frequency, in steps of Step cycles per degree from 0.
type Transfer struct {
	Step unit.Constant
	X, Y []float64
}

// Transfer is the magnitude of the Fourier transform of the point spread.
func (p *PointSpread) Transfer() Transfer {
	n := p.Grid
	s := newSquare(n)
	for i, v := range p.Values {
		s.v[i] = complex(v, 0)
	}
	s.transform()
	size := func(v complex128) float64 { return math.Hypot(real(v), imag(v)) }
	t := Transfer{Step: unit.Constant(60 / (float64(n) * p.Pixel)), X: make([]float64, n/2), Y: make([]float64, n/2)}
	for k := range n / 2 {
		t.X[k], t.Y[k] = size(s.v[k]), size(s.v[k*n])
	}
	return t
}

// Binned joins k by k pixels into one; k is a power of two below the grid.
func (p *PointSpread) Binned(k int) *PointSpread {
	n := p.Grid / k
	out := &PointSpread{Grid: n, Pixel: p.Pixel * float64(k), Values: make([]float64, n*n), Strehl: p.Strehl}
	for y := range p.Grid {
		for x := range p.Grid {
			// the joined pixel around the centre is centred on it
			bx, by := ((x+k/2)/k)%n, ((y+k/2)/k)%n
			out.Values[by*n+bx] += p.Values[y*p.Grid+x]
		}
	}
	return out
}

// Blur is an image on a grid, seen through a point spread of the same pixel.
// The image repeats beyond its edges. A grid that is not the image's, or a
// point spread wider than it, is a *unit.RangeError.
func (p *PointSpread) Blur(image []float64, grid int) ([]float64, error) {
	if len(image) != grid*grid || grid&(grid-1) != 0 || grid < p.Grid {
		return nil, &unit.RangeError{What: "grid", Got: float64(grid), Low: float64(p.Grid), High: math.Inf(1)}
	}
	s := newSquare(grid)
	for i, v := range image {
		s.v[i] = complex(v, 0)
	}
	for y := range p.Grid {
		ty := (y - p.Grid/2 + grid) % grid
		for x := range p.Grid {
			i := ty*grid + (x-p.Grid/2+grid)%grid
			s.v[i] += complex(0, p.Values[y*p.Grid+x])
		}
	}
	s.transform() // both at once: the image real, the spread imaginary
	multiplyPacked(s)
	s.inverse()
	out := make([]float64, grid*grid)
	for i, v := range s.v {
		out[i] = real(v)
	}
	return out, nil
}

// multiplyPacked turns the transform of a + ib, a and b real, into the product
// of the transforms of a and b: (Z(k)² − conj Z(−k)²)/4i.
func multiplyPacked(s square) {
	n := s.n
	for y := range n {
		my := (n - y) % n
		for x := range n {
			i, j := y*n+x, my*n+(n-x)%n
			if j < i {
				continue
			}
			u, v := s.v[i], s.v[j]
			cv := complex(real(v), -imag(v))
			d := u*u - cv*cv
			product := complex(imag(d)/4, -real(d)/4)
			s.v[i] = product
			s.v[j] = complex(real(product), -imag(product))
		}
	}
}
