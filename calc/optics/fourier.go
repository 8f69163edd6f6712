package optics

import (
	"math"
	"math/bits"
	"sync"
)

// twiddles hold, by size n, the factors of every stage one after the other:
// e^(−2πik/m) for k below m/2, m = 4, 8, … n.
var twiddles sync.Map

func twiddle(n int) []complex128 {
	if w, ok := twiddles.Load(n); ok {
		return w.([]complex128)
	}
	w := make([]complex128, 0, n)
	for size := 4; size <= n; size *= 2 {
		for k := range size / 2 {
			s, c := math.Sincos(-2 * math.Pi * float64(k) / float64(size))
			w = append(w, complex(c, s))
		}
	}
	twiddles.Store(n, w)
	return w
}

// transform is the discrete Fourier transform of a power-of-two row in place,
// Σ x·e^(−2πijk/n), without scaling.
func transform(x []complex128) {
	n := len(x)
	if n < 2 {
		return
	}
	shift := 64 - bits.Len(uint(n-1))
	for i := range x {
		if j := int(bits.Reverse64(uint64(i)) >> shift); j > i {
			x[i], x[j] = x[j], x[i]
		}
	}
	for i := 0; i < n; i += 2 {
		x[i], x[i+1] = x[i]+x[i+1], x[i]-x[i+1]
	}
	w := twiddle(n)
	for size := 4; size <= n; size *= 2 {
		half := size / 2
		stage := w[:half]
		w = w[half:]
		for start := 0; start < n; start += size {
			butterflies(x[start:start+half], x[start+half:start+size], stage)
		}
	}
}

// butterflies joins two half transforms into one.
func butterflies(low, high, w []complex128) {
	high, w = high[:len(low)], w[:len(low)]
	for k, a := range low {
		b, c := high[k], w[k]
		p := complex(real(b)*real(c)-imag(b)*imag(c), real(b)*imag(c)+imag(b)*real(c))
		low[k], high[k] = a+p, a-p
	}
}

// square is an n by n grid, row by row; n is a power of two.
type square struct {
	n int
	v []complex128
}

func newSquare(n int) square { return square{n, make([]complex128, n*n)} }

// block is how many columns are transformed together, so that what is read
// from memory at once is used at once.
const block = 8

// transform is the transform of rows and then columns, in place.
func (s square) transform() {
	n := s.n
	for y := range n {
		if row := s.v[y*n : (y+1)*n]; !empty(row) { // most of a pupil's grid is dark
			transform(row)
		}
	}
	s.columns()
}

func empty(row []complex128) bool {
	for _, v := range row {
		if v != 0 {
			return false
		}
	}
	return true
}

func (s square) columns() {
	n := s.n
	width := min(block, n)
	columns := make([]complex128, width*n)
	for x0 := 0; x0 < n; x0 += width {
		for y := range n {
			row := s.v[y*n+x0 : y*n+x0+width]
			for k, v := range row {
				columns[k*n+y] = v
			}
		}
		for k := range width {
			transform(columns[k*n : (k+1)*n])
		}
		for y := range n {
			row := s.v[y*n+x0 : y*n+x0+width]
			for k := range row {
				row[k] = columns[k*n+y]
			}
		}
	}
}

// inverse undoes transform: the transform of the conjugate, conjugated, over
// n². Only the real part is wanted by those who ask.
func (s square) inverse() {
	for i, v := range s.v {
		s.v[i] = complex(real(v), -imag(v))
	}
	s.transform()
	k := 1 / float64(s.n*s.n)
	for i, v := range s.v {
		s.v[i] = complex(real(v)*k, -imag(v)*k)
	}
}
