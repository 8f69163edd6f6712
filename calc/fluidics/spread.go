package fluidics

import (
	"math"

	"linn/unit"
)

// TwoFigures writes a surge number for people: no more than two significant
// figures, since the model deserves no more.
func TwoFigures(v float64) string {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return unit.Fixed(v, 0)
	}
	decimals := 1 - int(math.Floor(math.Log10(math.Abs(v))))
	if decimals >= 0 {
		return unit.Fixed(v, min(decimals, 4))
	}
	scale := math.Pow(10, float64(-decimals))
	return unit.Fixed(math.Round(v/scale)*scale, 0)
}

// Spread is the range of an answer over the line compliances that are in use.
// People are shown this, never a single surge number.
type Spread struct {
	Lost        Range[unit.Microlitre]
	Minimum     Range[unit.MillimetreHg]
	Recovery    Range[unit.Second]
	Rise        Range[unit.Second] // of the lines that reach 90 % of the limit
	Excursion   Range[unit.Millimetre]
	CollapsesAt []unit.MicrolitrePerMmHg // of the lines tried, those with which the chamber collapses
	Tried       []unit.MicrolitrePerMmHg
}

// Range is the least and greatest of a quantity.
type Range[U unit.Quantity] struct{ Low, High U }

func newRange[U unit.Quantity]() Range[U] {
	return Range[U]{U(math.Inf(1)), U(math.Inf(-1))}
}

// One is the range that holds one value.
func One[U unit.Quantity](v U) Range[U] { return Range[U]{v, v} }

// Add widens the range to hold v.
func (r *Range[U]) Add(v U) { r.Low, r.High = min(r.Low, v), max(r.High, v) }

// Known reports whether the range holds any value.
func (r Range[U]) Known() bool { return r.Low <= r.High }

// The line compliances shown: stiff, standard and soft.
var (
	stiffLine = declare("line-compliance-stiff", 0.10, "µL/mmHg", surgeFit)
	softLine  = declare("line-compliance-soft", 0.60, "µL/mmHg", surgeFit)
)

// LinesInUse are the lines that are tried: stiff, standard and soft, and one's
// own where it is another.
func LinesInUse(own unit.MicrolitrePerMmHg) []unit.MicrolitrePerMmHg {
	tried := []unit.MicrolitrePerMmHg{unit.MicrolitrePerMmHg(stiffLine), unit.MicrolitrePerMmHg(refCompliance), unit.MicrolitrePerMmHg(softLine)}
	if own != tried[0] && own != tried[1] && own != tried[2] {
		tried = append(tried, own)
	}
	return tried
}

// Spread runs the break with a stiff, a standard and a soft line (0.1, 0.3 and
// 0.6 µL/mmHg) and, if it differs, with the model's own.
func (m *Model) Spread(b Break) (Spread, error) {
	tried := LinesInUse(m.Compliance)
	s := Spread{Lost: newRange[unit.Microlitre](), Minimum: newRange[unit.MillimetreHg](), Recovery: newRange[unit.Second](),
		Rise: newRange[unit.Second](), Excursion: newRange[unit.Millimetre](), Tried: tried}
	var u Surge
	for _, c := range tried {
		line := *m
		line.Compliance = c
		a, err := u.Run(&line, b)
		if err != nil {
			return Spread{}, err
		}
		s.Lost.Add(a.Lost)
		s.Minimum.Add(a.Minimum)
		s.Recovery.Add(a.Recovery)
		s.Excursion.Add(a.Excursion)
		if a.Rise.Known {
			s.Rise.Add(a.Rise.Value)
		}
		if a.Collapse {
			s.CollapsesAt = append(s.CollapsesAt, c)
		}
	}
	return s, nil
}
