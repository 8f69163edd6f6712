package fluidics

import (
	"math"
	"math/rand/v2"
	"slices"

	"linn/source"
	"linn/unit"
)

// Doubt is a number of the reference model that differs between machines,
// wounds and eyes, and the range in which it lies.
type Doubt struct {
	Key       string // of the settings; a name of its own where the settings have no key
	Low, High float64
	Unit      string
	Log       bool // drawn evenly in its logarithm
	Ref       source.Ref
	put       func(*Model, float64)
}

// Doubts lists what Uncertainty varies. Ranges without a study are usual
// dimensions from memory; the ends of the line compliance are those that
// reproduce the ends of published surge volumes.
func Doubts() []Doubt {
	own := source.Ref{Key: source.OwnModel, Where: "range of the parameter", Grade: source.Own}
	wounds := source.Ref{Key: source.Leakage2009, Where: "127 ± 60 mL in 105 cases", Grade: source.Read}
	chambers := source.Ref{Key: source.Chamber2016, Where: "mean ± 1.5 SD", Grade: source.Read}
	living := source.Ref{Key: source.Pallikaris2005, Where: "lower end", Grade: source.Read}
	return []Doubt{
		{"head_offset_cm", -5, 20, "cm", false, own, func(m *Model, v float64) { m.HeadOffset = unit.CentimetreWater(v) }},
		{"sleeve_bore", -0.15, 0.15, "mm", false, usual, func(m *Model, v float64) { m.Sleeve.Bore += unit.Millimetre(v) }},
		{"wound_factor", 1, 3, "", false, own, func(m *Model, v float64) { m.Sleeve.WoundFactor = unit.Ratio(v) }},
		{"leak_ml_min_per_mmhg", 0.02, 0.3, "(mL/min)/mmHg", true, wounds, func(m *Model, v float64) { m.Leak = unit.MillilitrePerMinuteMmHg(v) }},
		{"line_bore_mm", 1.2, 1.7, "mm", false, usual, func(m *Model, v float64) { m.Line.Bore = unit.Millimetre(v) }},
		{"line_compliance_ul_per_mmhg", 0.03, 0.6, "µL/mmHg", true, surgeFit, func(m *Model, v float64) { m.Compliance = unit.MicrolitrePerMmHg(v) }},
		{"pump_droop", 0.1, 1, "", false, own, func(m *Model, v float64) { m.Droop = unit.Ratio(v) }},
		{"globe_rigidity", 0.0126, 0.05, "1/µL", true, living, func(m *Model, v float64) { m.Globe.Coefficient, m.Globe.Exponent = v, 1 }},
		{"globe_floor", 5, 10, "mmHg", false, own, func(m *Model, v float64) { m.Globe.Floor = unit.MillimetreHg(v) }},
		{"chamber_volume_ul", 82, 197, "µL", false, chambers, func(m *Model, v float64) { m.ChamberVolume = unit.Microlitre(v) }},
		{"pump_lag", 0.2, 1, "s", true, usual, func(m *Model, v float64) { m.PumpLag = unit.Second(v) }},
	}
}

// UncertaintyInput asks for runs with the doubtful numbers drawn at random.
type UncertaintyInput struct {
	Settings Settings
	Runs     int         // 20 to 100 000
	Source   rand.Source // seeded by the caller: the same seed gives the same answer
}

// Uncertainty is how far the answers spread. What the settings state is held;
// only what they leave open is drawn.
type Uncertainty struct {
	Runs      int
	Open      Quantiles[unit.MillimetreHg]
	Blocked   Quantiles[unit.MillimetreHg]
	Rise      Quantiles[unit.Second] // of the runs that reach 90 % of the limit
	Lost      Quantiles[unit.Microlitre]
	Minimum   Quantiles[unit.MillimetreHg]
	Recovery  Quantiles[unit.Second]
	Collapses unit.Ratio // share of the runs
	Varied    []string   // keys of the doubts drawn
}

// Quantiles are the 5th, 50th and 95th centiles; NaN-free, and Known is false
// when no run gave a value.
type Quantiles[U unit.Quantity] struct {
	Low, Median, High U
	Known             bool
}

// Uncertainty draws and runs.
func (in UncertaintyInput) Uncertainty() (Uncertainty, error) {
	if err := inside("runs", float64(in.Runs), unit.Bounds{Low: 20, High: 100000}, ""); err != nil {
		return Uncertainty{}, err
	}
	if err := in.Settings.gauges(); err != nil {
		return Uncertainty{}, err
	}
	r := rand.New(in.Source)
	doubts := in.Settings.open()
	var u Surge
	answers := make([]Answer, in.Runs)
	collapses := 0
	for n := range answers {
		m := in.Settings.Model()
		for _, d := range doubts {
			d.put(&m, d.draw(r))
		}
		m.HeadOffset = max(m.HeadOffset, -m.Bottle) // a bottle is not below the eye
		m.Sleeve.Bore = max(m.Sleeve.Bore, m.Needle.Outer+0.06)
		a, err := u.Run(&m, in.Settings.Break())
		if err != nil {
			return Uncertainty{}, err
		}
		if answers[n] = a; a.Collapse {
			collapses++
		}
	}
	out := Uncertainty{Runs: in.Runs, Collapses: unit.Ratio(collapses) / unit.Ratio(in.Runs),
		Open:     quantiles(answers, func(a *Answer) (unit.MillimetreHg, bool) { return a.Open, true }),
		Blocked:  quantiles(answers, func(a *Answer) (unit.MillimetreHg, bool) { return a.Blocked, true }),
		Rise:     quantiles(answers, func(a *Answer) (unit.Second, bool) { return a.Rise.Value, a.Rise.Known }),
		Lost:     quantiles(answers, func(a *Answer) (unit.Microlitre, bool) { return a.Lost, true }),
		Minimum:  quantiles(answers, func(a *Answer) (unit.MillimetreHg, bool) { return a.Minimum, true }),
		Recovery: quantiles(answers, func(a *Answer) (unit.Second, bool) { return a.Recovery, true })}
	for _, d := range doubts {
		out.Varied = append(out.Varied, d.Key)
	}
	return out, nil
}

// open lists the doubts that the settings leave open.
func (s *Settings) open() (list []Doubt) {
	for _, d := range Doubts() {
		f := FieldNamed(d.Key)
		switch {
		case f != nil && f.get(s) != "":
		case d.Key == "head_offset_cm" && s.Forced.Known:
		case d.Key == "pump_droop" && s.Pump == Vacuum, d.Key == "pump_lag" && s.Pump != Vacuum:
		default:
			list = append(list, d)
		}
	}
	return list
}

func (d *Doubt) draw(r *rand.Rand) float64 {
	u := r.Float64()
	if d.Log {
		return d.Low * math.Pow(d.High/d.Low, u)
	}
	return d.Low + (d.High-d.Low)*u
}

func quantiles[U unit.Quantity](answers []Answer, of func(*Answer) (U, bool)) (q Quantiles[U]) {
	var list []U
	for i := range answers {
		if v, ok := of(&answers[i]); ok {
			list = append(list, v)
		}
	}
	if len(list) == 0 {
		return q
	}
	slices.Sort(list)
	at := func(p float64) U { // straight between the order statistics (type 7)
		x := p * float64(len(list)-1)
		i := int(x)
		if i+1 >= len(list) {
			return list[len(list)-1]
		}
		return list[i] + U(x-float64(i))*(list[i+1]-list[i])
	}
	return Quantiles[U]{at(0.05), at(0.5), at(0.95), true}
}
