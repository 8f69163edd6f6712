package fluidics

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"linn/unit"
)

// freeFlow is what the reference machine runs into the cylinder at a head.
func freeFlow(t *testing.T, m Model, head unit.CentimetreWater) FreeFlow {
	t.Helper()
	m.Sleeve.WoundFactor = 1
	c, err := m.circuit()
	if err != nil {
		t.Fatal(err)
	}
	q := root(0, 1e5, func(q float64) float64 {
		d, _ := c.in.drop(q)
		return float64(head.MillimetreHg()) - d
	})
	return FreeFlow{Head: head, Volume: unit.Millilitre(q * 60 / 1000), Time: 60}
}

// What a known machine measures gives that machine back.
func TestCalibrationRoundTrip(t *testing.T) {
	m := Reference()
	m.Tube.Bore, m.Channel.Loss = 2.8, 3
	fit, err := FitIrrigation([]FreeFlow{freeFlow(t, m, 30), freeFlow(t, m, 50), freeFlow(t, m, 70)})
	if err != nil {
		t.Fatal(err)
	}
	mine := Reference()
	if err := fit.Apply(&mine); err != nil || math.Abs(float64(mine.Tube.Bore)-2.8) > 1e-6 || math.Abs(float64(mine.Channel.Loss)-3) > 1e-5 {
		t.Errorf("bore %v, loss %v (%v)", float64(mine.Tube.Bore), float64(mine.Channel.Loss), err)
	}
	if !fit.Resistance.Bounded || fit.Resistance.Low > fit.Resistance.Value || fit.Resistance.High < fit.Resistance.Value {
		t.Errorf("%+v", fit.Resistance)
	}
	two, err := FitIrrigation([]FreeFlow{freeFlow(t, m, 30), freeFlow(t, m, 70)})
	if err != nil || two.Resistance.Bounded {
		t.Errorf("two runs have no interval: %+v %v", two, err)
	}
}

func TestFitLine(t *testing.T) {
	rise := func(c unit.MicrolitrePerMmHg, q unit.MillilitrePerMinute, droop unit.Ratio) RiseTime {
		r := Rise{c, 400, 0, q, droop}
		t50, _ := r.To(0.5)
		t90, _ := r.To(0.9)
		return RiseTime{q, 400, t50, t90}
	}
	fit, err := FitLine([]RiseTime{rise(0.25, 20, 0.1), rise(0.25, 40, 0.1)})
	if err != nil || math.Abs(fit.Compliance.Value-0.25) > 1e-9 || len(fit.Findings) != 0 {
		t.Errorf("%+v %v", fit, err)
	}
	// a real pump droops the more the faster it runs: here only at 40 mL/min
	fit, err = FitLine([]RiseTime{rise(0.25, 20, 0.1), rise(0.25, 40, 0.8)})
	if err != nil || codes(fit.Findings) != "pump-droops" {
		t.Errorf("%+v %v", fit, err)
	}
}

func TestFitGauge(t *testing.T) {
	fit, err := FitGauge([]GaugeReading{{300, 339}, {500, 543}}) // jumps as published for one machine, phaco-physics A.9
	if err != nil || math.Abs(float64(fit.At(400))-441) > 1e-9 || math.Abs(fit.Gain.Value-1.02) > 1e-12 {
		t.Errorf("%+v %v", fit, err)
	}
}

// Least squares against a closed example: Anscombe's first set (1973, from
// memory) has slope 0.5001 and intercept 3.0001 with standard errors 0.1179 and
// 1.1247.
func TestLeastSquares(t *testing.T) {
	x := []float64{10, 8, 13, 9, 11, 14, 6, 4, 12, 7, 5}
	y := []float64{8.04, 6.95, 7.58, 8.81, 8.33, 9.96, 7.24, 4.26, 10.84, 4.82, 5.68}
	var pts []point
	for i := range x {
		pts = append(pts, point{x[i], y[i]})
	}
	a, b := line(pts)
	half := 2.262 // Student's t for 9 degrees of freedom
	for _, c := range [][2]float64{{a.Value, 3.0001}, {b.Value, 0.5001}, {(a.High - a.Low) / 2 / half, 1.1247}, {(b.High - b.Low) / 2 / half, 0.1179}} {
		if math.Abs(c[0]-c[1]) > 5.1e-5 {
			t.Errorf("got %.5f, want %.4f", c[0], c[1])
		}
	}
}

// The interval holds the truth in about 95 of 100 trials.
func TestIntervalCovers(t *testing.T) {
	r := rand.New(rand.NewPCG(9, 9))
	held := 0
	for range 2000 {
		var pts []point
		for _, x := range []float64{1, 2, 3, 4, 5} {
			pts = append(pts, point{x, 2 + 3*x + r.NormFloat64()})
		}
		if _, b := line(pts); b.Low <= 3 && 3 <= b.High {
			held++
		}
	}
	if held < 1860 || held > 1940 { // 1900 ± 4 SD of the binomial
		t.Errorf("%d of 2000", held)
	}
}

func TestCalibrationRefuses(t *testing.T) {
	flow := func(head unit.CentimetreWater, volume unit.Millilitre) FreeFlow {
		return FreeFlow{head, volume, 60}
	}
	_, one := FitIrrigation([]FreeFlow{flow(60, 60)})
	_, alike := FitIrrigation([]FreeFlow{flow(60, 60), flow(61, 61)})
	_, negative := FitIrrigation([]FreeFlow{flow(30, 20), flow(60, 60)})                                           // more flow than the head explains
	_, wide := FitIrrigation([]FreeFlow{flow(27.19, 20), flow(70.70, 40), flow(81.57, 60)})                        // P/Q 1.0, 1.3, 1.0: nothing known of K
	_, none := FitLine(nil)                                                                                        //
	_, same := FitLine([]RiseTime{{30, 400, 0.1, 0.2}, {30, 400, 0.1, 0.2}})                                       // one flow twice
	_, single := FitGauge([]GaugeReading{{300, 300}})                                                              //
	_, zero := FitGauge([]GaugeReading{{0, 0}, {0, 0}})                                                            //
	_, falls := FitGauge([]GaugeReading{{300, 400}, {500, 350}})                                                   // the true vacuum falls
	_, empty := FitLeak(nil)                                                                                       //
	tight := IrrigationFit{Resistance: Estimate{Value: 0.1}}.Apply(&Model{})                                       // an invalid model
	less := func() error { m := Reference(); return IrrigationFit{Resistance: Estimate{Value: 0.01}}.Apply(&m) }() // less than the sleeve alone
	for name, c := range map[string]struct {
		err  error
		want FitReason
	}{"one": {one, TooFew}, "alike": {alike, TooAlike}, "negative": {negative, Impossible}, "wide": {wide, WiderThanIt}, "none": {none, TooFew}, "same": {same, TooAlike},
		"single": {single, TooFew}, "zero": {zero, TooAlike}, "falls": {falls, Impossible}, "empty": {empty, TooFew}, "less": {less, Impossible}} {
		var fit *FitError
		if !errors.As(c.err, &fit) || fit.Reason != c.want {
			t.Errorf("%s: %v, want %s", name, c.err, c.want)
		}
	}
	_, outside := FitIrrigation([]FreeFlow{flow(-1, 60), flow(60, 60)})
	_, slow := FitLine([]RiseTime{{30, 400, 0.3, 0.2}})
	_, high := FitGauge([]GaugeReading{{800, 800}})
	_, gained := FitLeak([]LeakCase{{10, 20, 60, 50}})
	_, zeroed := HeadZero{-1, 90}.Offset()
	for name, err := range map[string]error{"outside": outside, "slow": slow, "high": high, "gained": gained, "zeroed": zeroed, "tight": tight} {
		if !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if v, err := (HeadZero{97, 90}).Offset(); v != 7 || err != nil {
		t.Errorf("%v %v", v, err)
	}
	// 105 cases lost 127 mL on average of about 190 (jcrs2009-35-1003); over 30 min at 45 mmHg
	if e, err := FitLeak([]LeakCase{{190, 63, 1800, 45}, {150, 60, 1500, 45}}); err != nil || !e.Bounded || math.Abs(e.Value-(127/30./45+90/25./45)/2) > 1e-12 {
		t.Errorf("%+v %v", e, err)
	}
}
