package fluidics

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Calibration of one's own machine with a tape, a clamp, a stopwatch, a
// measuring cylinder and a gauge. Every result is an Estimate; what the
// measurements cannot support is an error, never a number.

// Estimate is a fitted value with its 95 % interval. Bounded is false when
// there are only as many measurements as unknowns.
type Estimate struct {
	Value, Low, High float64
	Bounded          bool
}

// HeadZero is the pole measured with a tape: the true height of the fluid's
// surface (or the vent) above the eye and what the machine displays.
type HeadZero struct{ True, Displayed unit.CentimetreWater }

// Offset is what must be added to the displayed height.
func (h HeadZero) Offset() (unit.CentimetreWater, error) {
	for _, v := range []unit.CentimetreWater{h.True, h.Displayed} {
		if err := inside("height", float64(v), unit.Bounds{Low: 0, High: 250}, "cm"); err != nil {
			return 0, err
		}
	}
	return h.True - h.Displayed, nil
}

// FreeFlow is one run into a measuring cylinder: sleeve and needle in free air
// at eye height, aspiration off, the true head above it.
type FreeFlow struct {
	Head   unit.CentimetreWater
	Volume unit.Millilitre
	Time   unit.Second
}

// IrrigationFit is the irrigation as measured: P = Resistance·Q + Quadratic·Q².
type IrrigationFit struct {
	Resistance Estimate // mmHg per mL/min
	Quadratic  Estimate // mmHg per (mL/min)²
	Runs       int
}

// FitError says why measurements cannot support a fit.
type FitError struct {
	What   string // "flows", "resistance", …
	Reason FitReason
}

// FitReason is why a fit was refused.
type FitReason string

// The reasons.
const (
	TooFew      FitReason = "too-few"       // fewer measurements than unknowns
	TooAlike    FitReason = "too-alike"     // the settings differ too little to tell the unknowns apart
	Impossible  FitReason = "impossible"    // the fitted value is of the wrong sign
	WiderThanIt FitReason = "wider-than-it" // the interval is wider than the value
)

func (e *FitError) Error() string { return "fluidics: cannot fit " + e.What + ": " + string(e.Reason) }

// leastRatio is how far apart, as a ratio, the flows of a fit must reach.
var leastRatio = declare("calibration-least-ratio", 1.15, "", choice)

// FitIrrigation fits resistance and quadratic loss to runs at two heights or
// more: with x = Q and y = P/Q a straight line y = R + K·x.
func FitIrrigation(runs []FreeFlow) (IrrigationFit, error) {
	var pts []point
	low, high := math.Inf(1), 0.0
	for _, r := range runs {
		bounds := []bound{{"head", float64(r.Head), 1, 250, "cm"}, {"volume", float64(r.Volume), 1, 5000, "mL"}, {"time", float64(r.Time), 1, 3600, "s"}}
		for _, b := range bounds {
			if err := inside(b.what, b.value, unit.Bounds{Low: b.low, High: b.high}, b.unit); err != nil {
				return IrrigationFit{}, err
			}
		}
		q := 60 * float64(r.Volume) / float64(r.Time)
		pts = append(pts, point{q, float64(r.Head.MillimetreHg()) / q})
		low, high = min(low, q), max(high, q)
	}
	switch {
	case len(pts) < 2:
		return IrrigationFit{}, &FitError{"flows", TooFew}
	case high < leastRatio*low:
		return IrrigationFit{}, &FitError{"flows", TooAlike}
	}
	r, k := line(pts)
	fit := IrrigationFit{Resistance: r, Quadratic: k, Runs: len(pts)}
	switch {
	case r.Value <= 0:
		return fit, &FitError{"resistance", Impossible}
	case k.Value < 0 && !(k.Bounded && k.High >= 0):
		return fit, &FitError{"quadratic", Impossible}
	case r.Bounded && r.High-r.Low > 2*r.Value:
		return fit, &FitError{"resistance", WiderThanIt}
	}
	return fit, nil
}

// Apply makes m's irrigation the measured one: the tube's bore and the
// channel's loss take what sleeve, channel and ports do not explain. The sleeve
// was free in air, so its wound factor during the measurement was 1. A measured
// resistance below what the rest has alone is refused.
func (f IrrigationFit) Apply(m *Model) error {
	free := *m
	free.Sleeve.WoundFactor = 1
	parts, err := free.Elements()
	if err != nil {
		return err
	}
	rest := f.Resistance.Value - parts[1].ResistancePerMinute() - parts[2].ResistancePerMinute()
	if rest <= 0 {
		return &FitError{"resistance", Impossible}
	}
	m.Tube.Bore *= unit.Millimetre(math.Pow(parts[0].ResistancePerMinute()/rest, 0.25))
	perMinute := float64(unit.MillilitrePerMinute(1).MicrolitrePerSecond())
	extra := max(f.Quadratic.Value, 0)/(perMinute*perMinute) - parts[2].Quadratic
	m.Channel.Loss *= unit.Ratio(max(extra, 0) / parts[1].Quadratic)
	return nil
}

// RiseTime is one occlusion timed from the pedal: tip blocked with a gloved
// finger in a test chamber.
type RiseTime struct {
	Flow     unit.MillilitrePerMinute
	Limit    unit.MillimetreHg
	T50, T90 unit.Second
}

// LineFit is the line's compliance from timed occlusions.
type LineFit struct {
	Compliance Estimate // µL/mmHg
	PerRun     []unit.MicrolitrePerMmHg
	Findings   []finding.Finding
}

var (
	pumpDroops = finding.Declare(finding.Rule{Code: "pump-droops", Severity: finding.Caution, Ref: modelRef,
		Limit: "line compliance from two flows differs by more than 20 %: the pump slows before its limit"})
	leastSpread = declare("calibration-droop-spread", 0.2, "", choice)
)

// FitLine takes C = q(t90 - t50)/(0.4 V) from each occlusion and their mean. It
// wants two or more, at different flows.
func FitLine(runs []RiseTime) (LineFit, error) {
	var fit LineFit
	var values []float64
	low, high := math.Inf(1), 0.0
	for _, r := range runs {
		bounds := []bound{{"flow_ml_min", float64(r.Flow), 1, 200, "mL/min"}, {"vacuum_limit_mmhg", float64(r.Limit), 10, 760, "mmHg"},
			{"t50", float64(r.T50), 0, 60, "s"}, {"t90-t50", float64(r.T90 - r.T50), 0.005, 60, "s"}}
		for _, b := range bounds {
			if err := inside(b.what, b.value, unit.Bounds{Low: b.low, High: b.high}, b.unit); err != nil {
				return fit, err
			}
		}
		c := float64(r.Flow.MicrolitrePerSecond()) * float64(r.T90-r.T50) / (0.4 * float64(r.Limit))
		fit.PerRun, values = append(fit.PerRun, unit.MicrolitrePerMmHg(c)), append(values, c)
		low, high = min(low, float64(r.Flow)), max(high, float64(r.Flow))
	}
	switch {
	case len(values) < 2:
		return fit, &FitError{"occlusions", TooFew}
	case high < leastRatio*low:
		return fit, &FitError{"flows", TooAlike}
	}
	fit.Compliance = mean(values)
	least, most := values[0], values[0]
	for _, v := range values {
		least, most = min(least, v), max(most, v)
	}
	if most > (1+leastSpread)*least {
		fit.Findings = append(fit.Findings, pumpDroops.On("pump_droop", finding.Value{Name: "low", Text: unit.MicrolitrePerMmHg(least).String()},
			finding.Value{Name: "high", Text: unit.MicrolitrePerMmHg(most).String()}))
	}
	return fit, nil
}

// Reading of a console against a calibrated gauge.
type GaugeReading struct{ Shown, True unit.MillimetreHg }

// GaugeFit is True = Offset + Gain·Shown.
type GaugeFit struct{ Offset, Gain Estimate }

// FitGauge fits a straight line to readings at two or more limits.
func FitGauge(list []GaugeReading) (GaugeFit, error) {
	var pts []point
	low, high := math.Inf(1), 0.0
	for _, r := range list {
		for _, v := range []unit.MillimetreHg{r.Shown, r.True} {
			if err := inside("vacuum", float64(v), unit.Bounds{Low: 0, High: 760}, "mmHg"); err != nil {
				return GaugeFit{}, err
			}
		}
		pts = append(pts, point{float64(r.Shown), float64(r.True)})
		low, high = min(low, float64(r.Shown)), max(high, float64(r.Shown))
	}
	switch {
	case len(pts) < 2:
		return GaugeFit{}, &FitError{"readings", TooFew}
	case high < leastRatio*low || high == 0:
		return GaugeFit{}, &FitError{"readings", TooAlike}
	}
	offset, gain := line(pts)
	if gain.Value <= 0 {
		return GaugeFit{offset, gain}, &FitError{"gain", Impossible}
	}
	return GaugeFit{offset, gain}, nil
}

// At is the true vacuum where the console shows v.
func (f GaugeFit) At(v unit.MillimetreHg) unit.MillimetreHg {
	return unit.MillimetreHg(f.Offset.Value + f.Gain.Value*float64(v))
}

// LeakCase is one operation: what went in, what was aspirated, the time with the
// irrigation on and the mean chamber pressure in it.
type LeakCase struct {
	Irrigated, Aspirated unit.Millilitre
	Time                 unit.Second
	Pressure             unit.MillimetreHg
}

// FitLeak is the mean conductance of the wounds over the cases, in
// (mL/min)/mmHg.
func FitLeak(cases []LeakCase) (Estimate, error) {
	var values []float64
	for _, c := range cases {
		bounds := []bound{{"leaked", float64(c.Irrigated - c.Aspirated), 0, 2000, "mL"}, {"time", float64(c.Time), 10, 7200, "s"},
			{"pressure", float64(c.Pressure), 1, 150, "mmHg"}, {"aspirated", float64(c.Aspirated), 0, 5000, "mL"}}
		for _, b := range bounds {
			if err := inside(b.what, b.value, unit.Bounds{Low: b.low, High: b.high}, b.unit); err != nil {
				return Estimate{}, err
			}
		}
		values = append(values, float64(c.Irrigated-c.Aspirated)/(float64(c.Time)/60)/float64(c.Pressure))
	}
	if len(values) == 0 {
		return Estimate{}, &FitError{"cases", TooFew}
	}
	return mean(values), nil
}

// point of a straight line.
type point struct{ x, y float64 }

// line is least squares of y = a + b·x.
func line(pts []point) (a, b Estimate) {
	n := float64(len(pts))
	var mx, my float64
	for _, p := range pts {
		mx, my = mx+p.x/n, my+p.y/n
	}
	var sxx, sxy float64
	for _, p := range pts {
		sxx, sxy = sxx+(p.x-mx)*(p.x-mx), sxy+(p.x-mx)*(p.y-my)
	}
	b.Value = sxy / sxx
	a.Value = my - b.Value*mx
	if len(pts) < 3 {
		return a, b
	}
	var rest float64
	for _, p := range pts {
		r := p.y - a.Value - b.Value*p.x
		rest += r * r
	}
	s2 := rest / (n - 2)
	t := student(len(pts) - 2)
	a.widen(t * math.Sqrt(s2*(1/n+mx*mx/sxx)))
	b.widen(t * math.Sqrt(s2/sxx))
	return a, b
}

// mean of values with its interval.
func mean(values []float64) (e Estimate) {
	n := float64(len(values))
	for _, v := range values {
		e.Value += v / n
	}
	if len(values) < 2 {
		return e
	}
	var s2 float64
	for _, v := range values {
		s2 += (v - e.Value) * (v - e.Value) / (n - 1)
	}
	e.widen(student(len(values)-1) * math.Sqrt(s2/n))
	return e
}

func (e *Estimate) widen(half float64) {
	e.Low, e.High, e.Bounded = e.Value-half, e.Value+half, true
}

// student95 is the two-sided 95 % point of Student's t for 1 to 30 degrees of
// freedom.
var student95 = [...]float64{12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131,
	2.120, 2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042}

// normal95 is the limit for many degrees of freedom.
var normal95 = declare("normal-95", 1.95996, "", source.Ref{Key: source.StudentTable, Where: "last line", Grade: source.Memory})

// student is the 95 % point; beyond the table the first terms of its expansion
// in 1/df.
func student(df int) float64 {
	if df <= len(student95) {
		return student95[df-1]
	}
	z, n := normal95, float64(df)
	return z + (z*z*z+z)/(4*n) + (5*math.Pow(z, 5)+16*z*z*z+3*z)/(96*n*n)
}
