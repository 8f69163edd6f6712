package sheet

import (
	"strings"
	"testing"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/plan"
	"linn/unit"
)

func ordinary(t *testing.T) *plan.Plan {
	t.Helper()
	e := eye.Eye{Side: eye.Left, AxialLength: unit.Known(unit.Millimetre(23.5)), AxialLengthMethod: eye.Contact,
		KFlat: unit.Known(unit.Dioptre(43.25)), KSteep: unit.Known(unit.Dioptre(43.75)), KFlatAxis: unit.Known(unit.NewAxis(170))}
	l := lenspower.NewLens()
	l.Model, l.Constants.A = "Lake 3", unit.Known(unit.Constant(118.4))
	p := plan.Make(plan.Input{Eye: e, Shelf: []plan.Shelved{{Lens: l}}, Chosen: &plan.Pick{Model: "Lake 3", Power: 20.5}, Program: "0.1.0"})
	return &p
}

// A sheet that was not signed has neither a number nor a mark, whatever it is
// given.
func TestUnsignedHasNoNumber(t *testing.T) {
	s := New(Input{Plan: ordinary(t), Number: 17})
	if s.Signed || s.Number != "" || s.Mark != "" {
		t.Errorf("%+v", s)
	}
	s = New(Input{Plan: ordinary(t), Number: 17, Signed: &Act{Name: "B. Ro"}})
	if !s.Signed || s.Number != "00017" || s.Mark != "linn:00017" {
		t.Errorf("%+v", s)
	}
}

func TestSheetFromPlan(t *testing.T) {
	s := New(Input{Plan: ordinary(t)})
	if s.SideWords != "LEFT EYE" || s.Lens.Model != "Lake 3" || s.Lens.Power.Value != 20.5 || !s.Lens.Predicted.Known || !s.Lens.SD.Known || !s.Lens.Assumed {
		t.Errorf("%+v", s.Lens)
	}
	if got := strings.Join(s.Lens.Methods, " "); got != "srk-t t2" {
		t.Errorf("methods %q", got)
	}
	want := map[string]Reading{"axial_length_mm": {"axial_length_mm", unit.Millimetre(23.5).String(), "contact"},
		"k_flat_d": {"k_flat_d", unit.Dioptre(43.25).Unsigned(), "170°"}, "acd_mm": {"acd_mm", "", ""}, "mean_k_d": {"mean_k_d", unit.Dioptre(43.5).Unsigned(), ""}}
	for _, r := range s.Readings {
		if w, ok := want[r.Field]; ok && r != w {
			t.Errorf("%+v, want %+v", r, w)
		}
		delete(want, r.Field)
	}
	if len(want) > 0 {
		t.Errorf("not on the sheet: %v", want)
	}
	for _, f := range s.Alerts {
		if f.Severity == finding.Note {
			t.Errorf("a note on the sheet: %s", f.Code)
		}
	}
	if s.Notes == 0 || len(s.Alerts) == 0 {
		t.Errorf("%d alerts, %d notes", len(s.Alerts), s.Notes)
	}
}

// The fellow eye's mean K stands beside this eye's, each at index 1.3375.
func TestFellowMeanK(t *testing.T) {
	p := ordinary(t)
	p.Input.Eye.Fellow = &eye.Eye{Side: eye.Right, KFlat: unit.Known(unit.Dioptre(43)), KSteep: unit.Known(unit.Dioptre(44.5))}
	s := New(Input{Plan: p})
	if len(s.Fellow) != len(s.Readings) {
		t.Fatalf("%d readings beside %d", len(s.Fellow), len(s.Readings))
	}
	if got, want := s.Fellow[len(s.Fellow)-1], (Reading{"mean_k_d", unit.Dioptre(43.75).Unsigned(), ""}); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}

func TestNoLensChosen(t *testing.T) {
	p := ordinary(t)
	p.Decision = nil
	if s := New(Input{Plan: p}); s.Lens.Chosen || s.Lens.Power.Known || !s.Lens.Target.Known {
		t.Errorf("%+v", s.Lens)
	}
}
