package lenspower

import (
	"fmt"
	"math"
	"testing"

	"linn/finding"
	"linn/unit"
)

func mm(v float64) unit.Reading[unit.Millimetre] { return unit.Known(unit.Millimetre(v)) }
func pure(v float64) unit.Reading[unit.Constant] { return unit.Known(unit.Constant(v)) }

func TestResolve(t *testing.T) {
	for _, c := range []struct {
		name, method string
		given        Constants
		value        float64
		converted    bool
		codes        string // of the findings, with from and to
		missing      string
	}{
		{"given A", "srk-t", Constants{A: pure(118.4)}, 118.4, false, "[]", ""},
		{"A is never made", "srk-t", Constants{SF: mm(1.45), PACD: mm(5.2), A0: mm(1.5)}, 0, false, "[]", "a"},
		{"T2 takes A", "t2", Constants{A: pure(119)}, 119, false, "[]", ""},
		{"T2 without A", "t2", Constants{}, 0, false, "[]", "a"},
		{"given SF wins over A", "holladay-1", Constants{A: pure(118.4), SF: mm(1.84)}, 1.84, false, "[]", ""},
		{"SF from A", "holladay-1", Constants{A: pure(118.4), PACD: mm(5.64)}, 0.5663*118.4 - 65.60, true, "[constant-converted a sf_mm]", ""},
		{"SF from pACD", "holladay-1", Constants{PACD: mm(5.64)}, 0.9704*5.64 - 3.595, true, "[constant-converted pacd_mm sf_mm]", ""},
		{"Holladay 1 without any", "holladay-1", Constants{A0: mm(1.5)}, 0, false, "[]", "sf_mm"},
		{"given pACD wins over A", "hoffer-q", Constants{A: pure(118.4), PACD: mm(5.64)}, 5.64, false, "[]", ""},
		{"pACD from A", "hoffer-q", Constants{A: pure(118.4)}, 0.58357*118.4 - 63.896, true, "[constant-converted a pacd_mm]", ""},
		{"pACD from SF", "hoffer-q", Constants{SF: mm(1.84)}, (1.84 + 3.595) / 0.9704, true, "[constant-converted sf_mm pacd_mm]", ""},
		{"Hoffer Q without any", "hoffer-q", Constants{}, 0, false, "[]", "pacd_mm"},
		{"three Haigis constants", "haigis", Constants{A: pure(118.4), A0: mm(-0.769), A1: pure(0.234), A2: pure(0.217)}, -0.769, false, "[]", ""},
		{"a0 alone", "haigis", Constants{A0: mm(1.2)}, 1.2, false, "[constant-defaulted  ]", ""},
		{"a0 from A", "haigis", Constants{A: pure(118.4)}, 0.62467*118.4 - 72.434, true, "[constant-converted a a0]", ""},
		{"a0 from A beside the default a1 and a2", "haigis", Constants{A: pure(118.4), A1: pure(0.4), A2: pure(0.1)}, 0.62467*118.4 - 72.434, true, "[constant-converted a a0]", ""},
		{"a0 is not made for a fitted a1 and a2", "haigis", Constants{A: pure(118.4), A1: pure(0.234), A2: pure(0.217)}, 0, false, "[]", "a0"},
		{"a1 without a2", "haigis", Constants{A0: mm(1.2), A1: pure(0.4)}, 0, false, "[]", "a2"},
		{"a2 without a1", "haigis", Constants{A0: mm(1.2), A2: pure(0.1)}, 0, false, "[]", "a1"},
		{"Haigis without any", "haigis", Constants{SF: mm(1.84)}, 0, false, "[]", "a0"},
		{"a constant of 0 is a constant", "haigis", Constants{A0: mm(0), A1: pure(0), A2: pure(0)}, 0, false, "[]", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := MethodNamed(c.method)
			r, findings, missing := m.Resolve(c.given)
			said := []string{}
			for _, f := range findings {
				said = append(said, fmt.Sprintf("%s %s %s", f.Code, f.Value("from"), f.Value("to")))
				if f.Severity != finding.Caution || f.Method != m.ID || f.Source == "" {
					t.Errorf("%+v", f)
				}
			}
			if math.Abs(float64(r.Value)-c.value) > 1e-12 || r.Converted != c.converted || missing != c.missing || fmt.Sprint(said) != c.codes {
				t.Errorf("%+v, %v, missing %q", r, said, missing)
			}
			if missing == "" && r.Key != m.Key {
				t.Errorf("key %s", r.Key)
			}
		})
	}
}

func TestConvertedValueIsSaid(t *testing.T) {
	_, findings, _ := MethodNamed("holladay-1").Resolve(onlyA(118.4))
	if got := findings[0].Value("value"); got != "1.4499"+unit.Thin+"mm" {
		t.Errorf("value %q", got)
	}
}

// TestConversionsAgree holds separately published conversions against each
// other: SF by way of pACD is SF from A, and a0 is the SRK/T constant less 0.4
// and 0.1 of the mean depth 3.37 and length 23.39.
func TestConversionsAgree(t *testing.T) {
	for a := unit.Constant(110); a <= 122; a += 0.5 {
		// The printed coefficients carry four digits; at A 122 that is 5e-4 mm.
		if direct, by := sfFromA(a), sfOf(unit.Millimetre(pacdFromA(a))); math.Abs(direct-by) > 5e-4 {
			t.Errorf("A %v: SF %v, by way of pACD %v", a, direct, by)
		}
		if got, want := a0FromA(a), srktACDSlope*float64(a)+srktACDZero-0.4*3.37-0.1*23.39; math.Abs(got-want) > 1e-9 {
			t.Errorf("A %v: a0 %v, want %v", a, got, want)
		}
		if back := srktA(srktOffset(float64(a))); math.Abs(back-float64(a)) > 1e-9 {
			t.Errorf("A %v comes back as %v", a, back)
		}
		pacd := unit.Millimetre(pacdFromA(a))
		if back := pacdOf(unit.Millimetre(sfOf(pacd))); math.Abs(back-float64(pacd)) > 1e-12 {
			t.Errorf("pACD %v comes back as %v", pacd, back)
		}
	}
}
