package astigmatism

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// The closed forms of F with two degrees of freedom against a general library.
func TestQuantileOfF(t *testing.T) {
	for m := 1; m < 400; m += 7 {
		for _, p := range []float64{0.5, 0.9, 0.95, 0.99} {
			f := QuantileF(p, m)
			d := distuv.F{D1: 2, D2: float64(m)}
			if got := d.CDF(f); math.Abs(got-p) > 1e-10 {
				t.Errorf("F(2, %d): %v has %v, not %v", m, f, got, p)
			}
			if got := tailF(f, m); math.Abs(got-(1-p)) > 1e-12 {
				t.Errorf("tail of F(2, %d) at %v: %v", m, f, got)
			}
		}
	}
}

// scipySays asks scipy for quantiles, and for T² of both groups of eyes by its
// own matrices.
const scipySays = `
import json, sys
import numpy as np
from scipy import stats
groups = json.load(sys.stdin)
out = []
for g in groups:
    a = np.array(g); n = len(a); m = a.mean(0); S = np.cov(a.T)
    T2 = n * m @ np.linalg.solve(S, m); F = (n-2)/(2*(n-1))*T2
    q = stats.f.ppf(0.95, 2, n-2)
    lam = np.sort(np.linalg.eigvalsh(S))[::-1]
    out.append([T2, F, float(stats.f.sf(F, 2, n-2)), float(q)] + list(np.sqrt(lam*2*(n-1)/(n*(n-2))*q)) + list(np.sqrt(lam*2*(n-1)*(n+1)/(n*(n-2))*q)))
json.dump(out, sys.stdout)
`

// TestHotellingByScipy is of the full test.
func TestHotellingByScipy(t *testing.T) {
	if os.Getenv("LINN_FULL") == "" {
		return // the frozen values by R and by Python stand in testdata
	}
	if err := exec.Command("/usr/bin/python3", "-c", "import scipy").Run(); err != nil {
		t.Skip("python3-scipy is not here")
	}
	if loaded == nil {
		TestCheckValues(t)
	}
	var lists [][]Vector
	var in [][][2]float64
	for _, group := range [][2]string{{"derived/sia-eyes.txt", ""}, {"derived/audit-eyes.txt", "temporal_2.8"}, {"derived/audit-eyes.txt", "superior_6.5"}} {
		list := eyesOf(group[0], group[1])
		lists = append(lists, list, list[:5])
	}
	for _, list := range lists {
		var g [][2]float64
		for _, v := range list {
			g = append(g, [2]float64{float64(v.X), float64(v.Y)})
		}
		in = append(in, g)
	}
	raw, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("/usr/bin/python3", "-c", scipySays)
	stdin, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	go func() { fmt.Fprint(stdin, string(raw)); stdin.Close() }()
	answer, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var want [][8]float64
	if err := json.Unmarshal(answer, &want); err != nil {
		t.Fatal(err)
	}
	for i, list := range lists {
		s := Of(list)
		got := [8]float64{s.Test.T2, s.Test.F, s.Test.P, QuantileF(0.95, s.N-2), float64(s.Confidence.Major), float64(s.Confidence.Minor), float64(s.Prediction.Major), float64(s.Prediction.Minor)}
		for k := range got {
			if math.Abs(got[k]-want[i][k]) > 1e-9*(1+math.Abs(want[i][k])) {
				t.Errorf("series %d, value %d: %v, scipy says %v", i, k, got[k], want[i][k])
			}
		}
	}
}
