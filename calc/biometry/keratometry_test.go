package biometry

import (
	"errors"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"linn/eye"
	"linn/internal/checkvalue"
	"linn/unit"
)

func cornea(flat, steep unit.Dioptre) *eye.Eye {
	return &eye.Eye{KFlat: unit.Known(flat), KSteep: unit.Known(steep)}
}

func TestMeanKAveragesPowersNotRadii(t *testing.T) {
	// Own arithmetic: the mean of the radii of 42.0 and 44.5 D is 43.2139 D.
	got, err := MeanK(cornea(42, 44.5))
	if err != nil || got != 43.25 {
		t.Fatalf("got %v, %v; want 43.25", got, err)
	}
	r1, _ := Radius(42)
	r2, _ := Radius(44.5)
	if k := thousandIndex / (float64(r1+r2) / 2); math.Abs(k-43.2139) > 0.00005 {
		t.Errorf("mean radius as power %.5f, want 43.2139", k)
	}
}

func TestIndexConversionKeepsTheRadius(t *testing.T) {
	// Definition of keratometry, no printed example: one radius read by two
	// instruments. r = 7.70 mm: 331.5/7.7 at 1.3315, 337.5/7.7 at 1.3375.
	e := cornea(unit.Dioptre(331.5/7.7), unit.Dioptre(331.5/7.5))
	e.KeratometricIndex = unit.Known(unit.Index(1.3315))
	got, err := MeanK(e)
	if want := (337.5/7.7 + 337.5/7.5) / 2; err != nil || math.Abs(float64(got)-want) > 1e-12 {
		t.Errorf("mean %v, %v; want %v", got, err, want)
	}
	cyl, err := Cylinder(e)
	if want := 337.5/7.5 - 337.5/7.7; err != nil || math.Abs(float64(cyl)-want) > 1e-12 {
		t.Errorf("cylinder %v, %v; want %v", cyl, err, want)
	}
}

func TestPublishedRadius(t *testing.T) {
	eachRow(t, "testdata/published/radius.txt", func(f *checkvalue.File, row checkvalue.Row) {
		r := cell(t, f, row, "r")
		k, err := f.Number(row, "K")
		if err != nil {
			t.Fatal(err)
		}
		back, err := Radius(unit.Dioptre(k))
		if err != nil || math.Abs(float64(back)-r) > 1e-12 {
			t.Errorf("K %v has the radius %v, %v; printed %v", k, back, err, r)
		}
		if err := f.Compare(row, "K", thousandIndex/r); err != nil {
			t.Error(err)
		}
	})
}

func TestDerivedIndex(t *testing.T) {
	eachRow(t, "testdata/derived/index.txt", func(f *checkvalue.File, row checkvalue.Row) {
		k, r := unit.Dioptre(cell(t, f, row, "K")), unit.Millimetre(cell(t, f, row, "r"))
		if err := f.Compare(row, "n", float64(impliedIndex(k, r))); err != nil {
			t.Error(err)
		}
		got, err := InferIndex(k, r)
		if (err == nil) == (got == 0) {
			t.Error(got, err)
		}
		if want := cell(t, f, row, "snapped"); float64(got) != want {
			t.Errorf("line %d: snapped to %v, want %v", row.Line, got, want)
		}
	})
}

func eachRow(t *testing.T, path string, do func(*checkvalue.File, checkvalue.Row)) {
	t.Helper()
	files, err := checkvalue.Load(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(files, func(f checkvalue.File) bool { return f.Path == path })
	if i < 0 {
		t.Fatalf("no %s", path)
	}
	for _, row := range files[i].Rows {
		do(&files[i], row)
	}
}

func cell(t *testing.T, f *checkvalue.File, row checkvalue.Row, name string) float64 {
	t.Helper()
	v, err := f.Number(row, name)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func TestInferIndex(t *testing.T) {
	for _, c := range []struct {
		k    unit.Dioptre
		r    unit.Millimetre
		want unit.Index // 0: refused
	}{
		{44.41, 7.60, 1.3375},
		{unit.Dioptre(332 / 7.9), 7.9, 1.332},
		{unit.Dioptre(336 / 7.5), 7.5, 1.336},
		{unit.Dioptre(331.5 / 7.7), 7.7, 1.3315},
		{unit.Dioptre(337.8 / 7.7), 7.7, 1.3375}, // +0.0003: still it
		{unit.Dioptre(337.9 / 7.7), 7.7, 0},      // +0.0004
		{unit.Dioptre(331.1 / 7.7), 7.7, 0},
		{unit.Dioptre(334.0 / 7.7), 7.7, 0}, // between the usual ones
		{unit.Dioptre(331.8 / 7.7), 7.7, 1.332},
		{unit.Dioptre(331.7 / 7.7), 7.7, 1.3315},
		{43.5, 8.9, 0},
		{unit.Dioptre(math.NaN()), 7.7, 0},
		{0, 0, 0},
	} {
		got, err := InferIndex(c.k, c.r)
		if got != c.want || (err != nil) != (c.want == 0) {
			t.Errorf("InferIndex(%v, %v) = %v, %v; want %v", c.k, c.r, got, err, c.want)
		}
		var wrong *IndexError
		if err != nil && (!errors.As(err, &wrong) || wrong.Error() == "") {
			t.Errorf("InferIndex(%v, %v): %T", c.k, c.r, err)
		}
	}
}

func TestKeratometryRefuses(t *testing.T) {
	half := cornea(43, 44)
	half.KSteep.Known = false
	turned := cornea(44, 43)
	odd := cornea(43, 44)
	odd.KeratometricIndex = unit.Known(unit.Index(1.376))
	nan := cornea(unit.Dioptre(math.NaN()), 44)
	var missing *MissingError
	if _, err := MeanK(half); !errors.As(err, &missing) || missing.Field != "k_steep_d" || !errors.Is(err, ErrMissing) || missing.Error() == "" {
		t.Errorf("half-recorded: %v", err)
	}
	if _, err := MeanK(&eye.Eye{}); !errors.Is(err, ErrMissing) {
		t.Errorf("empty: %v", err)
	}
	if _, err := Cylinder(half); !errors.Is(err, ErrMissing) {
		t.Errorf("half-recorded: %v", err)
	}
	for name, e := range map[string]*eye.Eye{"radius": cornea(7.8, 7.7), "index": odd, "not a number": nan, "too steep": cornea(43, 60.1)} {
		if _, err := MeanK(e); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Cylinder(turned); !errors.Is(err, unit.ErrRange) {
		t.Errorf("turned: %v", err)
	}
	if _, err := Radius(7.8); !errors.Is(err, unit.ErrRange) {
		t.Error("a radius was taken for a power")
	}
}

func TestKeratometryProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := rapid.Float64Range(30, 60).Draw(t, "a")
		b := rapid.Float64Range(30, 60).Draw(t, "b")
		e := cornea(unit.Dioptre(min(a, b)), unit.Dioptre(max(a, b)))
		n := rapid.SampledFrom(Indices[:]).Draw(t, "n")
		e.KeratometricIndex = unit.Known(n)
		mean, err := MeanK(e)
		cyl, err2 := Cylinder(e)
		if err != nil || err2 != nil || cyl < 0 {
			t.Fatal(mean, cyl, err, err2)
		}
		// Both powers come back from mean and cylinder at the recorded index.
		back := (float64(mean) + float64(cyl)/2) * (float64(n) - 1) / 0.3375
		if math.Abs(back-max(a, b)) > 1e-10 {
			t.Fatalf("steep %v came back as %v", max(a, b), back)
		}
		// A lower index means a lower power for the same radius, so the power
		// at 1.3375 is never below the stated one.
		if float64(mean) < (a+b)/2-1e-9 {
			t.Fatalf("index %v lowered %v to %v", n, (a+b)/2, mean)
		}
		// The index that made a power is found again.
		r := 1000 * (float64(n) - 1) / a
		if got, err := InferIndex(unit.Dioptre(a), unit.Millimetre(r)); err != nil || got != n {
			t.Fatalf("inferred %v, %v from %v", got, err, n)
		}
	})
}

func TestMeanKAllocatesNothing(t *testing.T) {
	e := cornea(43, 44)
	if n := testing.AllocsPerRun(100, func() {
		if _, err := MeanK(e); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
