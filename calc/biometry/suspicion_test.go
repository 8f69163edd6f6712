package biometry

import (
	"errors"
	"math"
	"slices"
	"testing"

	"linn/finding"
	"linn/unit"
)

func dioptres(v float64) unit.Reading[unit.Dioptre] { return unit.Known(unit.Dioptre(v)) }

// The thresholds are our own but for the ratio (grade c): each is tried at and
// just beyond itself.
func TestSuspectSurgery(t *testing.T) {
	for _, c := range []struct {
		name string
		in   Suspicion
		want []string
	}{
		{"nothing recorded", Suspicion{}, nil},
		{"ordinary", Suspicion{known(23.5), dioptres(43.5), dioptres(-0.5), known(6.4)}, nil},
		{"flat and long", Suspicion{AxialLength: known(25.01), K: dioptres(40.99)}, []string{"surgery-suspected-flat-long"}},
		{"flat at the limit", Suspicion{AxialLength: known(25.01), K: dioptres(41)}, nil},
		{"flat and short", Suspicion{AxialLength: known(25), K: dioptres(38)}, nil},
		{"long and hardly myopic", Suspicion{AxialLength: known(26), Refraction: dioptres(-2.75)}, []string{"surgery-suspected-refraction"}},
		{"long and myopic", Suspicion{AxialLength: known(26), Refraction: dioptres(-2.76)}, nil},
		{"ratio low", Suspicion{K: dioptres(45), Posterior: known(5.69)}, []string{"surgery-suspected-ratio-low"}},
		{"ratio at the limits", Suspicion{K: dioptres(45), Posterior: known(5.7)}, nil},
		{"ratio high", Suspicion{K: dioptres(45), Posterior: known(6.61)}, []string{"surgery-suspected-ratio-high"}},
		{"ratio just inside", Suspicion{K: dioptres(45), Posterior: known(6.6)}, nil},
		{"not numbers", Suspicion{known(math.NaN()), dioptres(math.NaN()), dioptres(math.NaN()), known(math.NaN())}, nil},
		{"all three", Suspicion{known(27), dioptres(38), dioptres(0), known(6.4)}, []string{"surgery-suspected-flat-long", "surgery-suspected-refraction", "surgery-suspected-ratio-low"}},
	} {
		if got := codes(SuspectSurgery(c.in)); !slices.Equal(got, c.want) {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

func TestSickCornea(t *testing.T) {
	for _, c := range []struct {
		in   SickCornea
		want []string
	}{
		{SickCornea{}, nil},
		{SickCornea{Pterygium: No, Keratoconus: No, Trichiasis: No, Trachoma: No}, nil},
		{SickCornea{Pterygium: Yes}, []string{"pterygium-first"}},
		{SickCornea{PterygiumRemoved: unit.Known(unit.Constant(89))}, []string{"pterygium-recent"}},
		{SickCornea{PterygiumRemoved: unit.Known(unit.Constant(90))}, nil},
		{SickCornea{Keratoconus: Yes, Trachoma: Yes}, []string{"keratoconus-hyperopic-error", "trichiasis-first"}},
		{SickCornea{Trichiasis: Yes}, []string{"trichiasis-first"}},
	} {
		if got := codes(CheckCornea(c.in)); !slices.Equal(got, c.want) {
			t.Errorf("%+v: %v", c.in, got)
		}
	}
	if KeratoconusBand() != 2 {
		t.Error(KeratoconusBand())
	}
	if !CheckCornea(SickCornea{Trichiasis: Yes})[0].Gate {
		t.Error("no gate")
	}
}

func TestSubstituteK(t *testing.T) {
	if k, found, err := SubstituteK(ScarredK{FellowK: dioptres(43)}); k.Known || err != nil || finding.Worst(found) != finding.Stop || found[0].Code != "scar-without-k" {
		t.Errorf("%v %v %v", k, found, err)
	}
	if k, found, err := SubstituteK(ScarredK{FromFellow, dioptres(43)}); err != nil || k.Value != 43 || k.SD != 1 || found[0].Code != "k-substituted" || found[0].Value("from") != "fellow" {
		t.Errorf("%v %v %v", k, found, err)
	}
	if k, found, err := SubstituteK(ScarredK{Chosen: FromMean}); err != nil || k.Value != 44.26 || k.SD != 1.70 || !found[0].Gate {
		t.Errorf("%v %v %v", k, found, err)
	}
	if _, _, err := SubstituteK(ScarredK{Chosen: FromFellow}); !errors.Is(err, ErrMissing) {
		t.Error(err)
	}
	if _, _, err := SubstituteK(ScarredK{FromFellow, dioptres(7.8)}); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
}
