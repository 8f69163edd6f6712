package biometry

import (
	"errors"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"linn/eye"
	"linn/finding"
	"linn/internal/checkvalue"
	"linn/unit"
)

func known(v float64) unit.Reading[unit.Millimetre] { return unit.Known(unit.Millimetre(v)) }

func ultrasound(al float64, status eye.LensStatus) LengthInput {
	return LengthInput{Measured: unit.Millimetre(al), Method: eye.Immersion, Velocity: unit.Known(unit.MetrePerSecond(1532)), LensStatus: status, Vitreous: eye.NaturalVitreous}
}

func corrected(t *testing.T, in LengthInput) float64 {
	t.Helper()
	a, err := CorrectLength(in)
	if err != nil || !a.Corrected.Known || !finding.Has(a.Findings, "length-corrected") {
		t.Fatalf("%+v: %+v %v", in, a, err)
	}
	if last := a.Steps[len(a.Steps)-1]; last.Value != float64(a.Corrected.Value) {
		t.Errorf("steps end in %+v", last)
	}
	for _, s := range a.Steps {
		if !slices.Contains(LengthStepNames, s.Name) || s.Symbol == "" || !s.Ref.Grade.Valid() {
			t.Errorf("%+v", s)
		}
	}
	return float64(a.Corrected.Value)
}

// TestMeanVelocity holds Hoffer's rule against the mean velocities of his
// abstract.
func TestMeanVelocity(t *testing.T) {
	const path = "testdata/published/phakic-velocity.txt"
	eachRow(t, path, func(f *checkvalue.File, row checkvalue.Row) {
		al := cell(t, f, row, "AL")
		if err := f.Compare(row, "v", 1532*corrected(t, ultrasound(al, eye.Phakic))/al); err != nil {
			t.Error(err)
		}
	})
}

// TestLensGains holds the gain per mm of an implanted lens, as the abstract
// prints it, against its sound velocity: 1 − 1532/v.
func TestLensGains(t *testing.T) {
	eachRow(t, "testdata/published/lens-gain.txt", func(f *checkvalue.File, row checkvalue.Row) {
		if err := f.Compare(row, "gain", 1-1532/cell(t, f, row, "v")); err != nil {
			t.Error(err)
		}
	})
	for material, gain := range map[Material]float64{PMMA: 0.44, Silicone: -0.56, Glass: 0.75, Acrylic: 0.2438} {
		in := ultrasound(23, eye.Pseudophakic)
		in.Material, in.ImplantCentre = material, known(0.8)
		if got := corrected(t, in); math.Abs(got-(23+0.04+0.8*gain)) > 1e-9 {
			t.Errorf("%s: %v", material, got)
		}
	}
}

func TestLengthTables(t *testing.T) {
	eachRow(t, "testdata/derived/cooke-length.txt", func(f *checkvalue.File, row checkvalue.Row) {
		v, err := CookeModified(SegmentLength{unit.Millimetre(cell(t, f, row, "AL")), known(cell(t, f, row, "LT")), eye.Optical})
		if err != nil || f.Compare(row, "CMAL", float64(v.Value)) != nil {
			t.Errorf("line %d: %v %v", row.Line, v.Value, err)
		}
	})
	eachRow(t, "testdata/derived/long-length.txt", func(f *checkvalue.File, row checkvalue.Row) {
		id, _ := f.Text(row, "line")
		method, _ := f.Text(row, "method")
		list, _, err := LongLength(unit.Millimetre(cell(t, f, row, "AL")))
		i := slices.IndexFunc(list, func(v LengthVariant) bool { return v.ID == id && v.Method == method })
		if err != nil || i < 0 {
			t.Fatalf("line %d: %v %v", row.Line, list, err)
		}
		if err := f.Compare(row, "adjusted", float64(list[i].Value)); err != nil {
			t.Error(err)
		}
	})
	eachRow(t, "testdata/derived/oil-power.txt", func(f *checkvalue.File, row checkvalue.Row) {
		p, err := OilPower(OilEye{unit.Millimetre(cell(t, f, row, "AL")), unit.Millimetre(cell(t, f, row, "ACD"))})
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Compare(row, "P", float64(p)); err != nil {
			t.Error(err)
		}
	})
}

func TestCorrectLength(t *testing.T) {
	if got := corrected(t, ultrasound(23, eye.Aphakic)); math.Abs(got-23*1534./1532) > 1e-12 {
		t.Errorf("aphakic %v", got)
	}
	// An instrument at 1555 m/s, the mean of an average eye, is already right.
	in := ultrasound(23.5, eye.Phakic)
	in.Velocity.Value = 1555
	if got := corrected(t, in); math.Abs(got-23.5) > 0.02 {
		t.Errorf("at 1555 m/s %v", got)
	}
	in = ultrasound(66, eye.Phakic)
	in.Vitreous = eye.Gas
	if got := corrected(t, in); math.Abs(got-66*534./1532) > 1e-9 {
		t.Errorf("gas %v", got)
	}
	in.LensStatus = eye.Aphakic
	if _, err := CorrectLength(in); !errors.Is(err, ErrMissing) {
		t.Errorf("aphakic with gas: %v", err)
	}
}

// TestOil: one correction at a time, the question asked, nothing on optical.
func TestOil(t *testing.T) {
	in := ultrasound(33, eye.Phakic)
	in.Vitreous, in.ACD, in.LensThickness, in.Oil, in.OilRule = eye.Oil, known(3.2), known(4.3), ThinOil, OilSegment
	at := 7.5 + 25.5*980/1532
	if got := corrected(t, in); math.Abs(got-at*at/(at-0.35)) > 1e-9 {
		t.Errorf("segment %v", got)
	}
	in.OilRule = OilMean
	if got := corrected(t, in); math.Abs(got-33*1139./1532) > 1e-9 {
		t.Errorf("mean %v", got)
	}
	in.OilRule = OilWholeEye
	if got := corrected(t, in); math.Abs(got-33*0.71) > 1e-9 {
		t.Errorf("whole %v", got)
	}
	if a, _ := CorrectLength(in); !finding.Has(a.Findings, "oil-stays-ask") || !a.Findings[0].Gate {
		t.Errorf("%v", a.Findings)
	}
	in.OilStays = Yes
	if a, _ := CorrectLength(in); !finding.Has(a.Findings, "oil-stays") || finding.Has(a.Findings, "oil-stays-ask") {
		t.Errorf("%v", a.Findings)
	}
	in.OilStays, in.Method = No, eye.Optical
	a, err := CorrectLength(in)
	if err != nil || a.Corrected.Known || a.Steps != nil || !slices.Equal(codes(a.Findings), []string{"oil-optical-mode", "length-optical-not-corrected"}) {
		t.Errorf("%+v %v", a, err)
	}
}

func TestLengthMissing(t *testing.T) {
	for want, change := range map[string]func(*LengthInput){
		"velocity_m_s":         func(in *LengthInput) { in.Velocity.Known = false },
		"axial_length_method":  func(in *LengthInput) { in.Method = "" },
		"lens_status":          func(in *LengthInput) { in.LensStatus = "" },
		"vitreous":             func(in *LengthInput) { in.Vitreous = "" },
		"implant_material":     func(in *LengthInput) { in.LensStatus = eye.Pseudophakic },
		"implant_thickness_mm": func(in *LengthInput) { in.LensStatus, in.Material = eye.Pseudophakic, PMMA },
		"oil_rule":             func(in *LengthInput) { in.Vitreous = eye.Oil },
		"oil_viscosity_cst":    func(in *LengthInput) { in.Vitreous, in.OilRule = eye.Oil, OilSegment },
		"acd_mm":               func(in *LengthInput) { in.Vitreous, in.OilRule, in.Oil = eye.Oil, OilSegment, ThickOil },
		"lens_thickness_mm": func(in *LengthInput) {
			in.Vitreous, in.OilRule, in.Oil, in.ACD = eye.Oil, OilSegment, ThickOil, known(3)
		},
	} {
		in := ultrasound(23, eye.Phakic)
		change(&in)
		a, err := CorrectLength(in)
		var missing *MissingError
		if !errors.As(err, &missing) || missing.Field != want || a.Corrected.Known {
			t.Errorf("%s: %v", want, err)
		}
	}
	if _, err := CorrectLength(ultrasound(14, eye.Phakic)); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
}

func TestLongLengthLimits(t *testing.T) {
	if list, found, err := LongLength(25.2); list != nil || found != nil || err != nil {
		t.Errorf("%v %v %v", list, found, err)
	}
	list, found, err := LongLength(27.5)
	if err != nil || len(list) != 10 || !finding.Has(found, "length-adjusted-beside") {
		t.Errorf("%v %v %v", list, found, err)
	}
	for _, v := range list {
		if v.Value > 27.5 || v.Method == "" || len(v.Steps) != 2 {
			t.Errorf("%+v", v)
		}
	}
	for _, in := range []SegmentLength{{24, known(4.5), eye.Immersion}, {24, unit.Reading[unit.Millimetre]{}, eye.Optical}} {
		if _, err := CookeModified(in); !errors.Is(err, ErrMissing) {
			t.Errorf("%+v: %v", in, err)
		}
	}
	if _, err := CookeModified(SegmentLength{24, known(7), eye.Optical}); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
}

func TestSegments(t *testing.T) {
	// One medium measured at its own velocity or index is what it is.
	for _, f := range []func([]Segment) (unit.Millimetre, error){SumOfVelocities, SumOfIndices} {
		if v, err := f([]Segment{{3.5, 1532, 1532}, {4.5, 1641, 1641}, {16, 1532, 1532}}); err != nil || v != 24 {
			t.Errorf("%v %v", v, err)
		}
		for _, bad := range [][]Segment{nil, {{0, 1, 1}}, {{20, 0, 1}}, {{20, 1, unit.Constant(math.NaN())}}, {{40, 1, 1}}} {
			if v, err := f(bad); err == nil || v != 0 {
				t.Errorf("%v: %v", bad, v)
			}
		}
	}
	up, _ := SumOfVelocities([]Segment{{4.5, 1532, 1641}, {19, 1532, 1532}})
	down, _ := SumOfIndices([]Segment{{4.5, 1.3549, 1.41}, {19, 1.3549, 1.3549}})
	if math.Abs(float64(up)-(4.5*1641/1532+19)) > 1e-9 || math.Abs(float64(down)-(4.5*1.3549/1.41+19)) > 1e-9 {
		t.Errorf("%v %v", up, down)
	}
}

func TestLengthOffsets(t *testing.T) {
	for method, want := range map[eye.LengthMethod][]string{"": nil, eye.Optical: nil, eye.Immersion: {"length-offset-immersion"}, eye.Contact: {"length-offset-contact", "length-offset-child"}} {
		if got := codes(LengthOffsets(&eye.Eye{AxialLengthMethod: method, Age: unit.Known(unit.Year(5))})); !slices.Equal(got, want) {
			t.Errorf("%s: %v", method, got)
		}
	}
}

func TestLengthNothingStrangeEscapes(t *testing.T) {
	any := rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), 0, 1532, 0.35}), rapid.Float64Range(0, 60))
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) float64 { return any.Draw(t, name) }
		a, err := CorrectLength(LengthInput{Measured: unit.Millimetre(draw("AL")), Method: rapid.SampledFrom([]eye.LengthMethod{"", eye.Optical, eye.Contact}).Draw(t, "method"),
			Velocity: unit.Known(unit.MetrePerSecond(draw("v"))), LensStatus: rapid.SampledFrom([]eye.LensStatus{eye.Phakic, eye.Aphakic, eye.Pseudophakic}).Draw(t, "status"),
			Vitreous: rapid.SampledFrom([]eye.Vitreous{eye.NaturalVitreous, eye.Oil, eye.Gas}).Draw(t, "vitreous"), Material: PMMA, ImplantCentre: known(draw("T")),
			ACD: known(draw("ACD")), LensThickness: known(draw("LT")), Oil: ThinOil, OilRule: rapid.SampledFrom([]OilRule{OilSegment, OilMean, OilWholeEye}).Draw(t, "rule")})
		v := float64(a.Corrected.Value)
		if math.IsNaN(v) || math.IsInf(v, 0) || err != nil && v != 0 || a.Corrected.Known && !(v >= 15 && v <= 38) {
			t.Fatalf("%v %v", v, err)
		}
	})
}

// Segments of one velocity are what they are; at the mean velocity of a phakic
// eye the lens gains what the rest loses (Hoffer 1994: 1555 m/s is the mean of
// a 23.5 mm eye, so the sum comes back within 0.05 mm).
func TestSumOfSegments(t *testing.T) {
	in := SegmentsShown{Chamber: known(3.1), Lens: known(4.6), Vitreous: known(15.8), Velocity: unit.Known(unit.MetrePerSecond(1555)), Method: eye.Immersion}
	v, err := SumOfSegments(in)
	if err != nil || math.Abs(float64(v.Value)-23.5) > 0.05 {
		t.Errorf("%v %v", v, err)
	}
	for key, change := range map[string]func(*SegmentsShown){
		"axial_length_method": func(in *SegmentsShown) { in.Method = eye.Optical },
		"velocity_m_s":        func(in *SegmentsShown) { in.Velocity.Known = false },
		"acd_mm":              func(in *SegmentsShown) { in.Chamber.Known = false },
		"lens_thickness_mm":   func(in *SegmentsShown) { in.Lens.Known = false },
		"vitreous_mm":         func(in *SegmentsShown) { in.Vitreous.Known = false },
	} {
		lacking := in
		change(&lacking)
		_, err := SumOfSegments(lacking)
		if m := (*MissingError)(nil); !errors.As(err, &m) || m.Field != key {
			t.Errorf("%s: %v", key, err)
		}
	}
}
