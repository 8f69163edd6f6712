package ultrasound

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Quantity is one of the four numbers of a tip's motion; any two fix the other
// two.
type Quantity string

// The quantities.
const (
	Frequency    Quantity = "frequency"
	Velocity     Quantity = "velocity"
	Acceleration Quantity = "acceleration"
	Stroke       Quantity = "stroke"
)

// Claim is what somebody says about a tip: two to four of the quantities. A
// stroke may be a range.
type Claim struct {
	Frequency    unit.Reading[unit.Kilohertz]
	Velocity     unit.Reading[unit.MetrePerSecond] // peak
	Acceleration unit.Reading[unit.MetrePerSecondSquared]
	Stroke       unit.Reading[unit.Micrometre] // peak to peak; the least when StrokeTo is known
	StrokeTo     unit.Reading[unit.Micrometre]
}

var (
	taughtFrequency    = declare("taught-frequency", 40, "kHz", taught)
	taughtVelocity     = declare("taught-velocity", 20, "m/s", taught)
	taughtAcceleration = declare("taught-acceleration", 51000, "m/s²", taught)
	taughtStroke       = declare("taught-stroke-least", 1000, "µm", taught)
	taughtStrokeTo     = declare("taught-stroke-most", 2000, "µm", taught)
	taught             = source.Ref{Key: source.CommonlyTaught, Grade: source.Memory}

	claimMargin = declare("claim-margin", 1.25, "", source.Ref{Key: source.OwnChoice, Where: "a quarter", Grade: source.Own})
)

// Taught is the set of numbers that is commonly taught: 40 kHz, 20 m/s,
// 51 000 m/s² and a stroke of 1–2 mm. No two of its pairs agree.
func Taught() Claim {
	return Claim{Frequency: unit.Known(unit.Kilohertz(taughtFrequency)), Velocity: unit.Known(unit.MetrePerSecond(taughtVelocity)),
		Acceleration: unit.Known(unit.MetrePerSecondSquared(taughtAcceleration)),
		Stroke:       unit.Known(unit.Micrometre(taughtStroke)), StrokeTo: unit.Known(unit.Micrometre(taughtStrokeTo))}
}

// interval of an SI value.
type interval struct{ low, high float64 }

func (i interval) div(j interval) interval { return interval{i.low / j.high, i.high / j.low} }

// All is the four quantities in trade units, each as a range that is a single
// value unless the stroke was one.
type All struct {
	Frequency    [2]unit.Kilohertz
	Velocity     [2]unit.MetrePerSecond
	Acceleration [2]unit.MetrePerSecondSquared
	Stroke       [2]unit.Micrometre
}

// Clash is a quantity whose claimed value a pair contradicts.
type Clash struct {
	Quantity Quantity
	TooLarge bool       // the claim is larger than the pair allows, else smaller
	Factor   [2]float64 // by how much, least and most; above 1
}

// Pair is what two of the claimed numbers imply for the others.
type Pair struct {
	Take    [2]Quantity
	Implies All
	Clashes []Clash
}

// Verdict is what the claim's pairs say of each other.
type Verdict struct {
	Pairs []Pair
	Holds bool // no pair contradicts a claimed number by more than a quarter
}

// Check takes every pair of the claimed numbers as true and compares what it
// implies with the rest. Two quantities or more are needed; with two there is
// nothing to contradict. Values are above 0.
func (c Claim) Check() (Verdict, error) {
	have, err := c.values()
	if err != nil {
		return Verdict{}, err
	}
	v := Verdict{Holds: true}
	for i, a := range order {
		for _, b := range order[i+1:] {
			if have[a] == (interval{}) || have[b] == (interval{}) {
				continue
			}
			p := Pair{Take: [2]Quantity{a, b}}
			all := implied(a, have[a], b, have[b])
			p.Implies = inUnits(all)
			for _, q := range order {
				if clash, bad := compare(q, have[q], all[q]); q != a && q != b && bad {
					p.Clashes = append(p.Clashes, clash)
				}
			}
			v.Holds = v.Holds && len(p.Clashes) == 0
			v.Pairs = append(v.Pairs, p)
		}
	}
	return v, nil
}

var order = [...]Quantity{Frequency, Velocity, Acceleration, Stroke}

// values are the claimed numbers in SI units.
func (c *Claim) values() (map[Quantity]interval, error) {
	have := map[Quantity]interval{}
	put := func(q Quantity, known bool, low, high, si float64, name string) error {
		if !known {
			return nil
		}
		have[q] = interval{low * si, high * si}
		return within(bound{string(q), low, 1e-9, 1e12, name}, bound{string(q), high, low, 1e12, name})
	}
	to := c.Stroke.Value
	if c.StrokeTo.Known {
		to = c.StrokeTo.Value
	}
	f, v, a := float64(c.Frequency.Value), float64(c.Velocity.Value), float64(c.Acceleration.Value)
	for _, err := range [...]error{
		put(Frequency, c.Frequency.Known, f, f, 1e3, "kHz"), put(Velocity, c.Velocity.Known, v, v, 1, "m/s"),
		put(Acceleration, c.Acceleration.Known, a, a, 1, "m/s²"), put(Stroke, c.Stroke.Known, float64(c.Stroke.Value), float64(to), 1e-6, "µm"),
	} {
		if err != nil {
			return nil, err
		}
	}
	if len(have) < 2 {
		return nil, &unit.RangeError{What: "numbers of the tip", Got: float64(len(have)), Low: 2, High: 4}
	}
	return have, nil
}

// implied solves the four quantities from two, SI units.
func implied(a Quantity, x interval, b Quantity, y interval) map[Quantity]interval {
	all := map[Quantity]interval{a: x, b: y}
	ends := func(of func(x, y float64) float64) interval { // each formula is monotone in both
		p, q := of(x.low, y.low), of(x.high, y.high)
		r, s := of(x.low, y.high), of(x.high, y.low)
		return interval{min(p, q, r, s), max(p, q, r, s)}
	}
	const pi = math.Pi
	switch [2]Quantity{a, b} {
	case [2]Quantity{Frequency, Velocity}:
		all[Acceleration] = ends(func(f, v float64) float64 { return 2 * pi * f * v })
		all[Stroke] = ends(func(f, v float64) float64 { return v / (pi * f) })
	case [2]Quantity{Frequency, Acceleration}:
		all[Velocity] = ends(func(f, a float64) float64 { return a / (2 * pi * f) })
		all[Stroke] = ends(func(f, a float64) float64 { return a / (2 * pi * pi * f * f) })
	case [2]Quantity{Frequency, Stroke}:
		all[Velocity] = ends(func(f, s float64) float64 { return pi * f * s })
		all[Acceleration] = ends(func(f, s float64) float64 { return 2 * pi * pi * f * f * s })
	case [2]Quantity{Velocity, Acceleration}:
		all[Frequency] = ends(func(v, a float64) float64 { return a / (2 * pi * v) })
		all[Stroke] = ends(func(v, a float64) float64 { return 2 * v * v / a })
	case [2]Quantity{Velocity, Stroke}:
		all[Frequency] = ends(func(v, s float64) float64 { return v / (pi * s) })
		all[Acceleration] = ends(func(v, s float64) float64 { return 2 * v * v / s })
	case [2]Quantity{Acceleration, Stroke}:
		all[Frequency] = ends(func(a, s float64) float64 { return math.Sqrt(a/s/2) / pi })
		all[Velocity] = ends(func(a, s float64) float64 { return math.Sqrt(a * s / 2) })
	}
	return all
}

func inUnits(all map[Quantity]interval) All {
	f, v, a, s := all[Frequency], all[Velocity], all[Acceleration], all[Stroke]
	return All{[2]unit.Kilohertz{unit.Kilohertz(f.low / 1e3), unit.Kilohertz(f.high / 1e3)}, [2]unit.MetrePerSecond{unit.MetrePerSecond(v.low), unit.MetrePerSecond(v.high)},
		[2]unit.MetrePerSecondSquared{unit.MetrePerSecondSquared(a.low), unit.MetrePerSecondSquared(a.high)}, [2]unit.Micrometre{unit.Micrometre(s.low * 1e6), unit.Micrometre(s.high * 1e6)}}
}

// compare says whether the claim parts from what is implied by more than the
// margin, ranges taken at their nearest.
func compare(q Quantity, claim, implied interval) (Clash, bool) {
	if claim == (interval{}) {
		return Clash{}, false
	}
	switch r := claim.div(implied); {
	case r.low > claimMargin:
		return Clash{q, true, [2]float64{r.low, r.high}}, true
	case r.high < 1/claimMargin:
		return Clash{q, false, [2]float64{1 / r.high, 1 / r.low}}, true
	}
	return Clash{}, false
}

const clashLimit = "two of frequency, velocity, acceleration and stroke imply another than the one claimed by more than a quarter"

var (
	claimTooLarge = finding.Declare(finding.Rule{Code: "tip-number-too-large", Severity: finding.Caution, Ref: kinematics, Limit: clashLimit})
	claimTooSmall = finding.Declare(finding.Rule{Code: "tip-number-too-small", Severity: finding.Caution, Ref: kinematics, Limit: clashLimit})
)

// Findings is one caution per contradicted number of each pair.
func (v Verdict) Findings() (list []finding.Finding) {
	for _, p := range v.Pairs {
		for _, c := range p.Clashes {
			rule := claimTooSmall
			if c.TooLarge {
				rule = claimTooLarge
			}
			list = append(list, rule.On(string(c.Quantity), finding.Value{Name: "first", Text: string(p.Take[0])}, finding.Value{Name: "second", Text: string(p.Take[1])},
				finding.Value{Name: "least", Text: threeFigures(c.Factor[0])}, finding.Value{Name: "most", Text: threeFigures(c.Factor[1])}))
		}
	}
	return list
}

// threeFigures writes a factor without an exponent.
func threeFigures(v float64) string {
	digits := 2 - int(math.Floor(math.Log10(v)))
	scale := math.Pow(10, float64(digits))
	return unit.Fixed(math.Round(v*scale)/scale, max(digits, 0))
}
