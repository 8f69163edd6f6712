package pathway

import (
	"math"
	"testing"
)

// TestLookThrough: a sharp eye keeps a stripe, a blurred one loses it, the
// light stays, and a myope sees near what he does not see far away.
func TestLookThrough(t *testing.T) {
	const grid = 128
	scene := make([]float64, grid*grid)
	for i := range scene {
		scene[i] = float64((i / 4) % 2) // stripes of four pixels
	}
	contrast := func(l Look) float64 {
		l.Pupil, l.Pixel = 3, 1.2
		if l.Axis == 0 {
			l.Axis = 180
		}
		seen, err := LookThrough(scene, l)
		if err != nil {
			t.Fatal(err)
		}
		low, high, sum := math.Inf(1), math.Inf(-1), 0.0
		for _, v := range seen {
			low, high, sum = min(low, v), max(high, v), sum+v
		}
		if math.Abs(sum/grid/grid-0.5) > 1e-9 {
			t.Fatalf("mean %v", sum/grid/grid)
		}
		return high - low
	}
	sharp, myope, near := contrast(Look{}), contrast(Look{Sphere: -2.5}), contrast(Look{Sphere: -2.5, Object: -2.5})
	if !(sharp > 0.8 && myope < 0.35*sharp && math.Abs(near-sharp) < 1e-9) {
		t.Errorf("sharp %v, myope %v, near %v", sharp, myope, near)
	}
	// upright stripes are lost in the blur along the horizontal, kept along the vertical
	along, across := contrast(Look{Cylinder: -2, Axis: 180}), contrast(Look{Sphere: 0, Cylinder: -2, Axis: 90})
	if !(along > 2*across) {
		t.Errorf("power across the vertical %v, across the horizontal %v", along, across)
	}
	for _, bad := range []Look{{Pupil: 3, Pixel: 9}, {Pupil: 0, Pixel: 1}, {Pupil: 3, Pixel: 1, Sphere: 50}, {Pupil: 3, Pixel: 1, Cylinder: 1}, {Pupil: 3, Pixel: 1, Sphere: -3, Axis: 400}} {
		if _, err := LookThrough(scene, bad); err == nil {
			t.Errorf("%+v was taken", bad)
		}
	}
	if _, err := LookThrough(scene[:100], Look{Pupil: 3, Pixel: 1, Axis: 90}); err == nil {
		t.Error("a scene that is not square was taken")
	}
}

func BenchmarkLookThrough512(b *testing.B) {
	scene := make([]float64, 512*512)
	for i := range scene {
		scene[i] = float64((i / 4) % 2)
	}
	for b.Loop() {
		if _, err := LookThrough(scene, Look{Sphere: -1, Cylinder: -0.75, Axis: 20, Pupil: 3, Pixel: 0.4}); err != nil {
			b.Fatal(err)
		}
	}
}
