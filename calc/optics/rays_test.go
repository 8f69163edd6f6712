package optics

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"pgregory.net/rapid"

	"linn/unit"
)

func trainOf(t *testing.T, key string) *Train {
	t.Helper()
	tr, err := SchematicEyeNamed(key).Train()
	if err != nil {
		t.Fatal(err)
	}
	return tr
}

// anEye is a pseudophakic eye with everything that can be wrong with it.
func anEye(t *rapid.T) Pseudophakic {
	draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	flat := unit.Millimetre(draw("flat", 7, 8.6))
	c := ToricCornea{Flat: flat, Steep: flat - unit.Millimetre(draw("toricity", 0, 0.5)), SteepAt: unit.Degree(draw("steep", 0, 180)),
		BackFlat: 0.84 * flat, BackSteep: 0.82 * flat, BackSteepAt: unit.Degree(draw("back", 0, 180)), Thickness: 0.55,
		Q: unit.Constant(draw("Q", -0.6, 0.2)), BackQ: unit.Constant(draw("Qb", -0.6, 0.2))}
	l, err := Design{Index: unit.Index(draw("n", 1.43, 1.56)), Optic: 6, Edge: 0.25, Factor: unit.Constant(draw("X", -1, 1)), Cylinder: unit.Dioptre(draw("cylinder", 0, 5))}.Make(unit.Dioptre(draw("P", 5, 28)))
	if err != nil {
		t.Fatal(err)
	}
	return Pseudophakic{Cornea: c.Faces(), Lens: l, Length: unit.Millimetre(draw("length", 21, 27)),
		At: Placed{EdgePlane: unit.Millimetre(draw("at", 4, 5.5)), Marks: unit.Degree(draw("marks", 0, 180)),
			Pose: Pose{Shift: [2]unit.Millimetre{unit.Millimetre(draw("dx", -0.6, 0.6)), unit.Millimetre(draw("dy", -0.6, 0.6))},
				Tilt: [2]unit.Degree{unit.Degree(draw("ax", -10, 10)), unit.Degree(draw("ay", -10, 10))}}}}
}

// TestRaysGoBack sends rays through and back through the mirrored train: they
// return along their own way, with the same optical path.
func TestRaysGoBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tr, err := anEye(t).Train()
		if err != nil {
			t.Fatal(err)
		}
		back, err := tr.Reversed()
		if err != nil {
			t.Fatal(err)
		}
		x, y := rapid.Float64Range(-2, 2).Draw(t, "x"), rapid.Float64Range(-2, 2).Draw(t, "y")
		d := Vec{rapid.Float64Range(-0.2, 0.2).Draw(t, "u"), rapid.Float64Range(-0.2, 0.2).Draw(t, "v"), 1}
		d = d.unit()
		start := Vec{x, y, -1}
		out, fate := tr.Trace(Ray{At: start, Along: d})
		if fate != Through {
			t.Skip("does not come through")
		}
		if math.Abs(out.Along.length()-1) > 1e-12 {
			t.Fatalf("direction of length %v", out.Along.length())
		}
		mirror := func(v Vec) Vec { return Vec{v.X, v.Y, -v.Z} }
		home, fate := back.Trace(Ray{At: mirror(out.At.along(out.Along, 3)), Along: mirror(out.Along.times(-1))})
		if fate != Through {
			t.Fatalf("fate %d on the way back", fate)
		}
		at, along := mirror(home.At), mirror(home.Along)
		reach := (start.Z - at.Z) / along.Z
		end := at.along(along, reach)
		if along.plus(d).length() > 1e-9 || end.minus(start).length() > 1e-8 {
			t.Fatalf("returned to %v along %v, not to %v along %v", end, along, start, d)
		}
		if there, here := out.Path, home.Path+reach-3*float64(Aqueous); math.Abs(there-here) > 1e-8 {
			t.Fatalf("path %v there, %v back", there, here)
		}
	})
}

// TestStigmaticCornea: a cornea of Q = −1/n² brings a parallel bundle to one
// point, whatever the pupil.
func TestStigmaticCornea(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Float64Range(1.3, 1.6).Draw(t, "n")
		r := rapid.Float64Range(6, 10).Draw(t, "r")
		tr, err := NewTrain(1, []Face{Round(0, Profile{unit.Millimetre(r), unit.Constant(-1 / n / n)}, of(n))})
		if err != nil {
			t.Fatal(err)
		}
		b, err := tr.TraceBundle(Bundle{Pupil: 8, Rays: 300})
		if err != nil {
			t.Fatal(err)
		}
		if f := b.SmallestSpot(); math.Abs(float64(f)-n*r/(n-1)) > 1e-8 || b.SpotAt(f).Far > 1e-9 {
			t.Fatalf("focus %v, %v off it", f, b.SpotAt(f).Far)
		}
		w, err := b.BestWavefront()
		if err != nil || w.RMS(2) > 1e-6 {
			t.Fatalf("wave error %g, %v", w.RMS(2), err)
		}
	})
}

// TestTurnedEye turns a whole eye about its axis: every meridian turns with it
// and nothing else changes.
func TestTurnedEye(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := anEye(t)
		e.At.Pose = Pose{}
		by := unit.Degree(rapid.Float64Range(0, 180).Draw(t, "by"))
		a, err := e.Refraction(12)
		if err != nil {
			t.Skip("no refraction at spectacles")
		}
		turned := e
		turned.Cornea[0].Turn += by
		turned.Cornea[1].Turn += by
		turned.At.Marks += by
		b, err := turned.Refraction(12)
		a.Highest += by
		want, got := a.Matrix(), b.Matrix()
		if d := want.Minus(got); err != nil || math.Abs(d.XX)+math.Abs(d.XY)+math.Abs(d.YY) > 1e-7*(1+math.Abs(float64(a.Mean))) {
			t.Fatalf("%+v, %+v, %v", a, b, err)
		}
	})
}

// TestExactMeetsParaxial: through a tiny pupil the wave on the retina shows the
// refraction of the matrices.
func TestExactMeetsParaxial(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := anEye(t)
		e.At.Pose = Pose{}
		tr, err := e.Train()
		if err != nil {
			t.Fatal(err)
		}
		need, err := tr.Needs(Retina{e.Length})
		if err != nil {
			t.Fatal(err)
		}
		got, err := e.Residual(Bundle{Pupil: 0.3, Rays: 250})
		if err != nil {
			t.Fatal(err)
		}
		// the wave is measured at the vertex and a large error bends the rays
		// before they reach it: the agreement is relative to its square
		d := need.Minus(got.Matrix())
		size := math.Abs(need.XX) + math.Abs(need.YY) + math.Abs(need.XY)
		if off := math.Abs(d.XX) + math.Abs(d.XY) + math.Abs(d.YY); off > 0.002+0.02*size {
			t.Fatalf("matrices %+v, wave %+v", need.Parts(), got)
		}
	})
}

func TestFlippedLens(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := anEye(t).Lens
		r := l.Reversed()
		power := func(l Lens) float64 {
			p, err := System{Aqueous, []Surface{{l.Front, l.Index, l.Thickness}, {l.Back, Aqueous, 0}}}.Power()
			if err != nil {
				t.Fatal(err)
			}
			return float64(p)
		}
		if math.Abs(power(l)-float64(l.Power)) > 1e-9 || math.Abs(power(r)-float64(l.Power)) > 1e-9 {
			t.Fatalf("%v, reversed %v, made for %v", power(l), power(r), l.Power)
		}
		if again := r.Reversed(); again.Front != l.Front || again.Back != l.Back || math.Abs(float64(again.H-l.H)) > 1e-12 {
			t.Fatal("reversing twice is not the lens")
		}
		again, err := r.principal()
		if err != nil || math.Abs(float64(again.H-r.H)) > 1e-9 || math.Abs(float64(again.HPrime-r.HPrime)) > 1e-9 {
			t.Fatalf("principal points %v %v, computed %v %v, %v", r.H, r.HPrime, again.H, again.HPrime, err)
		}
	})
}

// TestThickness: thinner with index, thicker with power, optic and edge.
func TestThickness(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Design{Index: unit.Index(rapid.Float64Range(1.42, 1.54).Draw(t, "n")), Optic: unit.Millimetre(rapid.Float64Range(5, 6.4).Draw(t, "optic")), Edge: 0.25}
		p := unit.Dioptre(rapid.Float64Range(1, 29).Draw(t, "P"))
		made := func(d Design, p unit.Dioptre) unit.Millimetre {
			l, err := d.Make(p)
			if err != nil {
				t.Fatal(err)
			}
			return l.Thickness
		}
		base := made(d, p)
		dense, wide, edged := d, d, d
		dense.Index += 0.01
		wide.Optic += 0.1
		edged.Edge += 0.05
		if !(made(dense, p) < base && made(d, p+1) > base && made(wide, p) > base && made(edged, p) > base) {
			t.Fatalf("%v of %+v", base, d)
		}
	})
}

// TestMarksShowLowPower: what the trade knows of toric optics follows from the
// model. Laid on the steep meridian of the cornea the marks leave the least
// cylinder.
func TestMarksShowLowPower(t *testing.T) {
	c := ToricCornea{Flat: 7.9, Steep: 7.5, SteepAt: 70, BackFlat: 6.5, BackSteep: 6.5, Thickness: 0.55}
	l, err := Design{Index: 1.5, Optic: 6, Edge: 0.25, Cylinder: 3.5}.Make(20)
	if err != nil {
		t.Fatal(err)
	}
	best, least := 0, math.Inf(1)
	for marks := range 180 {
		e := Pseudophakic{Cornea: c.Faces(), Lens: l, Length: 23.5, At: Placed{EdgePlane: 4.9, Marks: unit.Degree(marks)}}
		if got := float64(l.LowPowerMeridian(e.At)); math.Abs(math.Remainder(got-float64(marks), 180)) > 1e-6 {
			t.Fatalf("marks at %d, low power at %v", marks, got)
		}
		r, err := e.Refraction(12)
		if err != nil {
			t.Fatal(err)
		}
		if float64(r.Cylinder) < least {
			best, least = marks, float64(r.Cylinder)
		}
	}
	if best != 70 {
		t.Errorf("least cylinder with the marks at %d, the steep meridian is 70", best)
	}
}

// TestTradeFacts are facts of the trade as results.
func TestTradeFacts(t *testing.T) {
	made := func(n unit.Index) Lens {
		l, err := Design{Index: n, Optic: UsualOptic, Edge: 0.25}.Make(20)
		if err != nil {
			t.Fatal(err)
		}
		return l
	}
	gel, pmma := made(1.43), made(1.4915)
	if d := gel.Thickness - pmma.Thickness; math.Abs(float64(d)-0.402) > 0.001 { // 1.238 − 0.836, reference B2
		t.Errorf("hydrogel is %v thicker", d)
	}
	if gel.Volume() <= pmma.Volume() || gel.Incision(Injected) <= made(1.55).Incision(Injected) || gel.Incision(Folded) >= gel.Incision(Rigid) {
		t.Error("a low index does not need the larger incision")
	}
	s, err := UsualHydrogel.Swollen()
	if err != nil || s.Linear < 1.15 || s.Linear > 1.25 || math.Abs(float64(s.Index)-1.43) > 0.01 {
		t.Errorf("hydrogel swells %+v, %v", s, err)
	}
	dry, err := Hydrogel{0, 1.27, 1.51}.Swollen()
	if err != nil || dry.Linear != 1 || dry.Index != 1.51 {
		t.Errorf("dry %+v, %v", dry, err)
	}
	if _, err := (Hydrogel{Water: 99}).Swollen(); !errors.Is(err, unit.ErrRange) {
		t.Error("99 % water was taken")
	}
	if UsualOptic != 6 || UsualOverall != 13 {
		t.Error("the usual lens")
	}
}

// TestVolume integrates the sags of a lens in another way.
func TestVolume(t *testing.T) {
	for _, x := range []unit.Constant{-1, -0.4, 0, 1, 1.5} {
		l, err := Design{Index: 1.46, Optic: 6, Edge: 0.3, Factor: x}.Make(22)
		if err != nil {
			t.Fatal(err)
		}
		const n = 20000
		var volume, area float64
		for i := range n {
			h := (float64(i) + 0.5) / n * 3
			f, _ := Sphere(l.Front).Sag(unit.Millimetre(h))
			b, _ := Sphere(l.Back).Sag(unit.Millimetre(h))
			thick := float64(l.Thickness - f + b)
			volume += 2 * math.Pi * h * thick * 3 / n
			area += 2 * thick * 3 / n
		}
		if math.Abs(volume-float64(l.Volume())) > 1e-6 || math.Abs(area-float64(l.Section())) > 1e-6 {
			t.Errorf("X %v: %v and %v, by slices %v and %v", x, l.Volume(), l.Section(), volume, area)
		}
	}
}

// TestZernikeIsOrthonormal integrates products of modes over the disc.
func TestZernikeIsOrthonormal(t *testing.T) {
	const rings, spokes = 200, 64
	for i := range modesTo(6) {
		if ModeNumbered(i).Number() != i {
			t.Fatalf("mode %d is %+v", i, ModeNumbered(i))
		}
		for j := range i + 1 {
			sum := 0.0
			for a := range rings {
				r := math.Sqrt((float64(a) + 0.5) / rings)
				for b := range spokes {
					s, c := math.Sincos(2 * math.Pi * float64(b) / spokes)
					sum += ModeNumbered(i).At([2]float64{r * c, r * s}) * ModeNumbered(j).At([2]float64{r * c, r * s})
				}
			}
			want := 0.0
			if i == j {
				want = 1
			}
			if got := sum / rings / spokes; math.Abs(got-want) > 2e-3 {
				t.Fatalf("modes %d and %d: %v", i, j, got)
			}
		}
	}
}

func TestPolynomialIsTheModes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Wavefront{Pupil: 5, Coefficients: rapid.SliceOfN(rapid.Float64Range(-1, 1), 1, modesTo(8)).Draw(t, "c")}
		x, y := rapid.Float64Range(-0.7, 0.7).Draw(t, "x"), rapid.Float64Range(-0.7, 0.7).Draw(t, "y")
		if a, b := w.At([2]float64{x, y}), w.polynomial().at(x, y); math.Abs(a-b) > 1e-8 {
			t.Fatalf("%v, %v", a, b)
		}
	})
}

// TestTransformIsTheLibrarys holds our transform against a general library's.
func TestTransformIsTheLibrarys(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := 1 << rapid.IntRange(0, 9).Draw(t, "bits")
		x := make([]complex128, n)
		for i := range x {
			x[i] = complex(rapid.Float64Range(-1, 1).Draw(t, "re"), rapid.Float64Range(-1, 1).Draw(t, "im"))
		}
		want := fourier.NewCmplxFFT(n).Coefficients(nil, x)
		transform(x)
		for i := range x {
			if d := x[i] - want[i]; math.Hypot(real(d), imag(d)) > 1e-11 {
				t.Fatalf("size %d, place %d: %v, %v", n, i, x[i], want[i])
			}
		}
	})
}

// TestPointSpreadKeepsEnergy: whatever the error, all light arrives, the peak
// is not above the perfect one, and a perfect pupil has 1.
func TestPointSpreadKeepsEnergy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Wavefront{Pupil: unit.Millimetre(rapid.Float64Range(2, 5).Draw(t, "pupil")), Coefficients: rapid.SliceOfN(rapid.Float64Range(-0.5, 0.5), 1, modesTo(4)).Draw(t, "c")}
		im := Imaging{Pixel: 0.25, Grid: 128, Light: 0.555, Apodisation: rapid.Float64Range(0, 0.2).Draw(t, "beta")}
		p, err := w.PointSpread(im)
		if err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for _, v := range p.Values {
			sum += v
		}
		if math.Abs(sum-1) > 1e-9 || p.Strehl > 1+1e-9 || p.Strehl <= 0 {
			t.Fatalf("sum %v, peak %v", sum, p.Strehl)
		}
		m := p.Transfer()
		if math.Abs(m.X[0]-1) > 1e-9 || math.Abs(m.Y[0]-1) > 1e-9 {
			t.Fatalf("contrast of nothing %v %v", m.X[0], m.Y[0])
		}
		perfect, err := Wavefront{Pupil: w.Pupil}.PointSpread(im)
		if err != nil || math.Abs(perfect.Strehl-1) > 1e-9 {
			t.Fatalf("perfect %v, %v", perfect.Strehl, err)
		}
		binned := p.Binned(4)
		sum = 0
		for _, v := range binned.Values {
			sum += v
		}
		if math.Abs(sum-1) > 1e-9 || binned.Grid != 32 {
			t.Fatalf("binned sum %v", sum)
		}
	})
}

// TestPerfectTransfer holds the transfer of a clear pupil against its closed
// form, 2/π·(acos s − s·√(1 − s²)).
func TestPerfectTransfer(t *testing.T) {
	const pupil, light = 3.0, 0.555
	p, err := Wavefront{Pupil: pupil}.PointSpread(Imaging{Pixel: 0.1, Grid: 1024, Light: light})
	if err != nil {
		t.Fatal(err)
	}
	m := p.Transfer()
	cut := pupil / (light / 1000) * math.Pi / 180 // cycles per degree
	for k, got := range m.X {
		s := float64(k) * float64(m.Step) / cut
		want := 0.0
		if s < 1 {
			want = 2 / math.Pi * (math.Acos(s) - s*math.Sqrt(1-s*s))
		}
		if math.Abs(got-want) > 0.01 { // the disc is made of squares
			t.Fatalf("at %v of the limit: %v, want %v", s, got, want)
		}
	}
}

// TestBlur: a point becomes the point spread, an even field stays as it is,
// and the mean of any image stays.
func TestBlur(t *testing.T) {
	w := Eye{Residual: Parts{-1, 0.5, 30}, Pupil: 3}.Wavefront()
	p, err := w.PointSpread(Imaging{Pixel: 0.5, Grid: 128, Light: 0.555})
	if err != nil {
		t.Fatal(err)
	}
	image := make([]float64, 256*256)
	image[100*256+90] = 1
	out, err := p.Blur(image, 256)
	if err != nil {
		t.Fatal(err)
	}
	for y := range 128 {
		for x := range 128 {
			got, want := out[(100+y-64)*256+90+x-64], p.Values[y*128+x]
			if math.Abs(got-want) > 1e-12 {
				t.Fatalf("at %d %d: %v, want %v", x, y, got, want)
			}
		}
	}
	if _, err := p.Blur(image[:10], 256); !errors.Is(err, unit.ErrRange) {
		t.Error("a grid that is not the image's was taken")
	}
}

// TestRefractionOfAWave: the wave of a refraction shows that refraction, by
// either criterion.
func TestRefractionOfAWave(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Parts{unit.Dioptre(rapid.Float64Range(-8, 8).Draw(t, "M")), unit.Dioptre(rapid.Float64Range(0, 5).Draw(t, "C")), unit.Degree(rapid.Float64Range(0, 179).Draw(t, "axis"))}
		w := Eye{p, 4}.Wavefront()
		for _, by := range []Criterion{LeastSquares, Paraxial} {
			if d := w.Refraction(by).Matrix().Minus(p.Matrix()); math.Abs(d.XX)+math.Abs(d.YY)+math.Abs(d.XY) > 1e-9 {
				t.Fatalf("%+v became %+v", p, w.Refraction(by))
			}
		}
	})
}

// TestMyopiaIsNegative: an eye that is too long needs a minus lens, and an
// object at the far point is sharp.
func TestMyopiaIsNegative(t *testing.T) {
	l, err := Design{Index: 1.47, Optic: 6, Edge: 0.25}.Make(21)
	if err != nil {
		t.Fatal(err)
	}
	e := Pseudophakic{Cornea: ToricCornea{Flat: 7.7, Steep: 7.7, BackFlat: 6.4, BackSteep: 6.4, Thickness: 0.5}.Faces(), Lens: l, Length: 24.5, At: Placed{EdgePlane: 4.8}}
	r, err := e.Residual(Bundle{Pupil: 1, Rays: 300})
	if err != nil || r.Mean > -1 {
		t.Fatalf("%+v, %v", r, err)
	}
	vergences := []unit.Dioptre{0, r.Mean, 2 * r.Mean}
	f, err := e.ThroughFocus(Bundle{Pupil: 3, Rays: 300}, Imaging{Pixel: 0.4, Grid: 256, Light: 0.555}, vergences)
	if err != nil || !(f.Strehl[1] > 5*f.Strehl[0] && f.Strehl[1] > 5*f.Strehl[2]) {
		t.Fatalf("%v, %v", f.Strehl, err)
	}
}

func TestRayRefusals(t *testing.T) {
	good := SchematicEyeNamed("navarro").Faces
	changed := func(f func(*Face)) []Face {
		out := append([]Face(nil), good...)
		f(&out[1])
		return out
	}
	nan := unit.Millimetre(math.NaN())
	for name, faces := range map[string][]Face{
		"none":       nil,
		"radius 0":   changed(func(f *Face) { f.X.Radius = 0 }),
		"radius NaN": changed(func(f *Face) { f.Y.Radius = nan }),
		"Q":          changed(func(f *Face) { f.X.Q = unit.Constant(math.Inf(1)) }),
		"vertex":     changed(func(f *Face) { f.Vertex = nan }),
		"tilt":       changed(func(f *Face) { f.Pose.Tilt[0] = unit.Degree(math.NaN()) }),
		"index":      changed(func(f *Face) { f.After.Index = 0.5 }),
	} {
		if _, err := NewTrain(1, faces); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
	tr := trainOf(t, "navarro")
	if _, fate := tr.Trace(Ray{At: Vec{0, 40, -1}, Along: Vec{0, 0, 1}}); fate != Missed {
		t.Errorf("a ray beside the eye: %d", fate)
	}
	if _, err := tr.TraceBundle(Bundle{Pupil: 0, Rays: 10}); !errors.Is(err, unit.ErrRange) {
		t.Error("no pupil")
	}
	if _, err := tr.TraceBundle(Bundle{Pupil: 3}); !errors.Is(err, unit.ErrRange) {
		t.Error("no rays")
	}
	few, err := tr.TraceBundle(Bundle{Pupil: 3, Rays: 20})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := few.BestWavefront(); !errors.Is(err, unit.ErrRange) {
		t.Error("modes from too few rays")
	}
	w := Wavefront{Pupil: 3}
	for _, im := range []Imaging{{0.5, 100, 0.555, 0}, {0.5, 128, 5, 0}, {30, 128, 0.555, 0}, {0.5, 128, 0.555, -1}} {
		if _, err := w.PointSpread(im); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v was taken", im)
		}
	}
	graded := trainOf(t, "liou-brennan")
	if _, err := graded.Reversed(); !errors.Is(err, unit.ErrRange) {
		t.Error("a gradient was reversed")
	}
	if _, err := graded.Needs(Retina{24}); !errors.Is(err, unit.ErrRange) {
		t.Error("a gradient was taken for one index")
	}
	if _, fate := (&Train{}).Trace(Ray{}); fate != Through {
		t.Error("nothing in the way")
	}
	for _, d := range []Design{{Index: 1.3, Optic: 6, Edge: .2}, {Index: 1.5, Optic: 9, Edge: .2}, {Index: 1.5, Optic: 6}, {Index: 1.5, Optic: 6, Edge: .2, Factor: 9}} {
		if _, err := d.Make(20); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v was made", d)
		}
	}
	if _, err := (Design{Index: 1.4, Optic: 7, Edge: 0.2}).Make(60); !errors.Is(err, unit.ErrRange) {
		t.Errorf("a lens that cannot be made: %v", err)
	}
	if _, err := (Design{Index: 1.5, Optic: 6, Edge: 0.2}).Make(-10); !errors.Is(err, unit.ErrRange) {
		t.Errorf("a centre thinner than nothing: %v", err)
	}
	p := Pseudophakic{Cornea: ToricCornea{Flat: 7.7, Steep: 7.7, BackFlat: 6.4, BackSteep: 6.4, Thickness: 0.5}.Faces(), Length: 23}
	p.Lens, _ = Design{Index: 1.5, Optic: 6, Edge: 0.2}.Make(20)
	p.At.EdgePlane = 0.3
	if _, err := p.Train(); !errors.Is(err, unit.ErrRange) {
		t.Error("a lens in the cornea")
	}
}

// TestTotalReflection: from glass to air beyond the critical angle.
func TestTotalReflection(t *testing.T) {
	tr, err := NewTrain(1.5, []Face{Round(0, Sphere(Plane), of(1))})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		sine float64
		want Fate
	}{{0.66, Through}, {0.67, Reflected}} {
		if _, fate := tr.Trace(Ray{At: Vec{0, 0, -1}, Along: Vec{c.sine, 0, math.Sqrt(1 - c.sine*c.sine)}}); fate != c.want {
			t.Errorf("sine %v: %d", c.sine, fate)
		}
	}
}

// TestBiconicIsTheConic: two alike meridians traced as a biconic.
func TestBiconicIsTheConic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := conic{1 / rapid.Float64Range(5, 20).Draw(t, "r"), 1 + rapid.Float64Range(-5, 1).Draw(t, "Q")}
		d := Vec{rapid.Float64Range(-0.3, 0.3).Draw(t, "u"), rapid.Float64Range(-0.3, 0.3).Draw(t, "v"), 1}
		d = d.unit()
		p := Vec{rapid.Float64Range(-2, 2).Draw(t, "x"), rapid.Float64Range(-2, 2).Draw(t, "y"), -1}
		a, ok := s.meet(p, d)
		b, ok2 := biconic{s, s}.meet(p, d)
		if ok != ok2 || ok && math.Abs(a-b) > 1e-10 {
			t.Fatalf("%v %v, %v %v", a, ok, b, ok2)
		}
		if at := p.along(d, a); ok && s.normal(at).minus(biconic{s, s}.normal(at)).length() > 1e-9 {
			t.Fatal("normals differ")
		}
	})
}

// TestGradientConverges: half the stride of the reference eye through a medium
// whose gradient is nothing is a straight line.
func TestGradientIsStraightWithout(t *testing.T) {
	m := Medium{Index: 1.4, RR: 1e-300}
	graded, err := NewTrain(1, []Face{Round(0, Sphere(8), m), Round(4, Sphere(-6), of(1.336))})
	if err != nil {
		t.Fatal(err)
	}
	plain, err := NewTrain(1, []Face{Round(0, Sphere(8), of(1.4)), Round(4, Sphere(-6), of(1.336))})
	if err != nil {
		t.Fatal(err)
	}
	r := Ray{At: Vec{0.3, 2, -1}, Along: Vec{0.1, 0, math.Sqrt(0.99)}}
	a, _ := graded.Trace(r)
	b, _ := plain.Trace(r)
	if a.At.minus(b.At).length() > 1e-12 || a.Along.minus(b.Along).length() > 1e-12 || math.Abs(a.Path-b.Path) > 1e-11 {
		t.Errorf("%+v, %+v", a, b)
	}
}

// TestTiltAndShift: a tilted and shifted lens still passes light, moves the
// image the way a prism would and brings astigmatism.
func TestTiltAndShift(t *testing.T) {
	l, err := Design{Index: 1.5, Optic: 6, Edge: 0.25}.Make(21)
	if err != nil {
		t.Fatal(err)
	}
	e := Pseudophakic{Cornea: ToricCornea{Flat: 7.7, Steep: 7.7, BackFlat: 6.4, BackSteep: 6.4, Thickness: 0.5}.Faces(), Lens: l, Length: 23.4, At: Placed{EdgePlane: 4.8}}
	straight, err := e.Residual(Bundle{Pupil: 3, Rays: 300})
	if err != nil || straight.Cylinder > 1e-4 {
		t.Fatalf("%+v, %v", straight, err)
	}
	e.At.Pose.Tilt = [2]unit.Degree{10, 0}
	tilted, err := e.Residual(Bundle{Pupil: 3, Rays: 300})
	// a lens tilted by θ gains a cylinder of about P·sin²θ·…: 0.4 to 1 D here, its axis along the axis of the tilt
	if err != nil || tilted.Cylinder < 0.2 || tilted.Cylinder > 1.2 {
		t.Fatalf("%+v, %v", tilted, err)
	}
	e.At.Pose = Pose{Shift: [2]unit.Millimetre{0.5, 0}}
	tr, err := e.Train()
	if err != nil {
		t.Fatal(err)
	}
	b, err := tr.TraceBundle(Bundle{Pupil: 2, Rays: 300})
	if err != nil {
		t.Fatal(err)
	}
	x, _ := b.Chief.where(23.4)
	// Prentice: shift times lens power, carried to the retina
	want := 0.5 * 21 / 1000 / float64(Aqueous) * (23.4 - 4.8)
	if math.Abs(x-want) > 0.03 {
		t.Errorf("image moved by %v mm, Prentice says %v", x, want)
	}
}

func BenchmarkTrace(b *testing.B) {
	for _, key := range []string{"navarro", "liou-brennan"} {
		tr, err := SchematicEyeNamed(key).Train()
		if err != nil {
			b.Fatal(err)
		}
		b.Run(key, func(b *testing.B) {
			b.ReportAllocs()
			r := Ray{At: Vec{0, 2, -1}, Along: Vec{0, 0, 1}}
			for b.Loop() {
				if _, fate := tr.Trace(r); fate != Through {
					b.Fatal(fate)
				}
			}
		})
	}
}

func BenchmarkBlur512(b *testing.B) {
	w := Eye{Residual: Parts{-1, 0.5, 30}, Pupil: 3}.Wavefront()
	image := make([]float64, 512*512)
	for i := range image {
		image[i] = float64(i % 7)
	}
	for b.Loop() {
		p, err := w.PointSpread(Imaging{Pixel: 0.375, Grid: 512, Light: 0.555})
		if err != nil {
			b.Fatal(err)
		}
		if _, err := p.Blur(image, 512); err != nil {
			b.Fatal(err)
		}
	}
}
