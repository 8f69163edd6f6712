package lenspower

import (
	"math"
	"slices"
	"testing"

	"linn/eye"
	"linn/internal/locale"
	"linn/unit"
)

// TestLinesOfHistory holds the lines that no table holds, typed a second time
// from the reference page (grade c). The eye went from −6.0 to −0.5 D.
func TestLinesOfHistory(t *testing.T) {
	change := -6/1.072 + 0.5/1.006 // at the cornea, V 12 mm
	for id, want := range map[string]struct{ added, k float64 }{
		"latkany":          {0.46*6 - 0.21, 0},
		"latkany-flattest": {0.47*6 - 0.85, 0},
		"feiz-mannis":      {5.5 / 0.7, 0},
		"masket":           {-0.326*change + 0.101, 0},
		"adjusted-k":       {0, 39 + 0.15*change - 0.05},
		"adjusted-k-3mm":   {0, 39 + 0.16*change},
		"clinical-history": {0, 43.5 + change},
		"haigis-l":         {0, 337.5 * (-5.1625*337.5/39 + 82.2603 - 0.35) / 331.5},
		"rosa":             {0, 39 / (0.0276*26 + 0.3635)},
	} {
		s, err := OperatedMethodNamed(id).Solve(full(eye.MyopicLaser))
		if err != nil || math.Abs(float64(s.Added)-want.added) > 1e-9 || s.KTrue.Known != (want.k != 0) || math.Abs(float64(s.KTrue.Value)-want.k) > 1e-9 {
			t.Errorf("%s: added %v, K %v, %v; want %+v", id, s.Added, s.KTrue, err, want)
		}
	}
	in := full(eye.MyopicLaser)
	in.KBefore.Known = false
	if s, err := OperatedMethodNamed("separate-surfaces").Solve(in); err != nil || s.History || math.Abs(float64(s.KTrue.Value)-(1.114*39-4.98)) > 1e-9 || s.Findings[0].Code != "k-before-assumed" {
		t.Errorf("%+v %v", s, err)
	}
	for _, c := range []struct {
		surgery      eye.CornealSurgery
		change, want float64
	}{{eye.MyopicLaser, -6, 3.339}, {eye.HyperopicLaser, 3, -1.835}, {eye.MyopicLaser, 0, 0}, {eye.HyperopicLaser, 0, 0}, {eye.Graft, -6, 0}} {
		if got := FeizMannisNomogram(c.surgery, unit.Dioptre(c.change)); math.Abs(float64(got)-c.want) > 1e-9 {
			t.Errorf("%s %v: %v", c.surgery, c.change, got)
		}
	}
	if got := MaloneyPowers(40).Refit; math.Abs(float64(got)-(40*376/337.5-5.59)) > 1e-9 {
		t.Error(got)
	}
}

// TestUnusualHasWords: every method and step of unusual eyes has English words.
func TestUnusualHasWords(t *testing.T) {
	var keys []string
	for _, m := range OperatedMethods {
		keys = append(keys, "method."+m.ID)
	}
	for _, m := range HistoricalMethods {
		keys = append(keys, "method."+m.ID)
	}
	for _, name := range slices.Concat(OperatedStepNames, ThickStepNames, SecondStepNames) {
		keys = append(keys, "step."+name)
	}
	for _, key := range append(keys, "method."+ThickLensID) {
		if !locale.Has(key) {
			t.Errorf("no words for %s", key)
		}
	}
}
