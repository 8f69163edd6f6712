package biometry

import (
	"math"
	"testing"

	"linn/internal/checkvalue"
)

// TestSeriesAsPrinted asks for the printed numbers themselves: they are
// entered, not computed.
func TestSeriesAsPrinted(t *testing.T) {
	moments := map[string]Moments{"length": China.Length, "k": China.MeanK, "chamber": China.Chamber, "lens": China.Lens,
		"width": China.Width, "cornea": China.Thickness, "cylinder": China.Cylinder, "age": China.Age}
	eachRow(t, "testdata/published/china-series.txt", func(f *checkvalue.File, row checkvalue.Row) {
		name, err := f.Text(row, "reading")
		if want := (Moments{cell(t, f, row, "mean"), cell(t, f, row, "sd")}); err != nil || moments[name] != want {
			t.Errorf("%s: %v, printed %v, %v", name, moments[name], want, err)
		}
	})
	rho := map[string]float64{"length-chamber": China.LengthChamber, "length-k": China.LengthK, "chamber-lens": China.ChamberLens,
		"chamber-width": China.ChamberWidth, "chamber-age": China.ChamberAge, "chamber-k": China.ChamberK, "length-cylinder": China.LengthCylinder}
	eachRow(t, "testdata/published/china-correlations.txt", func(f *checkvalue.File, row checkvalue.Row) {
		name, err := f.Text(row, "pair")
		if want := cell(t, f, row, "rho"); err != nil || rho[name] != want {
			t.Errorf("%s: %v, printed %v, %v", name, rho[name], want, err)
		}
	})
}

// The limits of Pearson: it is odd, keeps 0 and ±1, and for the normal
// distribution arcsin(r/2)·6/π gives Spearman's rho back.
func TestPearson(t *testing.T) {
	for _, rho := range []float64{-1, -0.66, -0.41, 0, 0.11, 0.54, 1} {
		r := Pearson(rho)
		if back := 6 / math.Pi * math.Asin(r/2); math.Abs(back-rho) > 1e-12 || math.Abs(Pearson(-rho)+r) > 1e-15 || math.Abs(r) < math.Abs(rho)-1e-12 {
			t.Errorf("Spearman %v, Pearson %v, back %v", rho, r, back)
		}
	}
}

// Own arithmetic by hand: 2·sin(π·0.54/6) = 0.55798; at 26 mm the chamber is
// expected at 3.02 + 0.55798·0.45/2.47·1.83 = 3.2060 mm, SD 0.45·√(1 − 0.55798²) =
// 0.37343. Behind a lens of 4.9 mm: r −0.67747, 3.02 − 0.67747·0.38 = 2.7626, SD
// 0.33100. At 12 mm white to white: r 0.31287, 3.02 + 0.31287·0.45/0.46·0.36 =
// 3.1302, SD 0.42741.
func TestExpectedChamber(t *testing.T) {
	for _, c := range []struct {
		p           *pair
		x, mean, sd float64
	}{{&lengthChamber, 26, 3.2060, 0.37343}, {&lensChamber, 4.9, 2.7626, 0.33100}, {&widthChamber, 12, 3.1302, 0.42741}} {
		mean, sd := c.p.expected(c.x)
		if math.Abs(mean-c.mean) > 0.0001 || math.Abs(sd-c.sd) > 0.00002 {
			t.Errorf("%s at %v: %.5f ± %.5f, by hand %v ± %v", c.p.xField, c.x, mean, sd, c.mean, c.sd)
		}
	}
}
