package pathway

import (
	"strings"
	"testing"
)

func TestSelfTest(t *testing.T) {
	if wrong := SelfTest(); len(wrong) > 0 {
		t.Error(wrong)
	}
}

// A wrong digit in any row is found.
func TestSelfTestFindsAWrongDigit(t *testing.T) {
	for _, swap := range [][2]string{{"4.5422", "4.5423"}, {"25.3623", "25.3624"}, {"22.1956", "22.1966"}, {"3.2345", "3.2445"},
		{"12.2066", "-12.2066"}, {"5.0669", "5.0668"}, {" 23.3\n", " 23.2\n"}, {"srk-t ", "srk-x "}, {"a=118.4 ", "b=118.4 "}} {
		if !strings.Contains(selfTestRows, swap[0]) {
			t.Fatalf("no row holds %q", swap[0])
		}
		if wrong := selfTest(strings.Replace(selfTestRows, swap[0], swap[1], 1)); len(wrong) != 1 {
			t.Errorf("%q for %q: %v", swap[1], swap[0], wrong)
		}
	}
	if len(selfTest("# nothing\n")) == 0 {
		t.Error("no rows pass for a check")
	}
}

// A program that failed its check makes no plan, and signs none.
func TestCalculationOff(t *testing.T) {
	w, id := newCase(t)
	w.measure(id, ordinary, other)
	w.Pathway.Off = true
	j := w.check(id)
	if j.Plan != nil || len(j.Refused) != 1 || j.Refused[0].Code != "calculation-off" {
		t.Errorf("plan %v, refused %v", j.Plan != nil, j.Refused)
	}
	if _, err := w.Sign(w.ctx(), w.who["senior"], Signing{Case: id, Seen: Newest}); err == nil {
		t.Error("signed without a calculation")
	}
}
