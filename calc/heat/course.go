package heat

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Outcome is what a course of phases does to wound and chamber.
type Outcome struct {
	Start, Final               unit.Celsius // of the wound
	Peak                       unit.Celsius
	PeakAt                     unit.Second
	ChamberStart, ChamberFinal unit.Celsius
	ChamberPeak                unit.Celsius
	To45, To60                 unit.Reading[unit.Second] // not known: never reached
	Index                      float64                   // at the end
	BurnAt                     unit.Reading[unit.Second]
	Phases                     []End
}

// End is the state at the end of a phase.
type End struct {
	At      unit.Second
	Wound   unit.Celsius
	Chamber unit.Celsius
	Index   float64
}

// Play runs the phases from the temperatures that the first one's flow keeps
// without ultrasound, and adds up the index x. Up to a day in all. Everything is
// in closed form but the index.
func (w Wound) Play(x Index, phases []Phase) (Outcome, error) {
	if err := w.check(); err != nil {
		return Outcome{}, err
	}
	if len(phases) == 0 {
		return Outcome{}, &unit.RangeError{What: "phases", Got: 0, Low: 1, High: math.Inf(1)}
	}
	for i := range phases {
		if err := phases[i].check(); err != nil {
			return Outcome{}, err
		}
	}
	quiet := phases[0]
	quiet.Power = 0
	before := w.nodes(&quiet)
	o := Outcome{Start: unit.Celsius(before.wound), ChamberStart: unit.Celsius(before.chamber)}
	o.Final, o.Peak, o.ChamberFinal, o.ChamberPeak = o.Start, o.Start, o.ChamberStart, o.ChamberStart
	at := 0.0
	for i := range phases {
		n := w.nodes(&phases[i])
		o.add(&x, &n, at, float64(phases[i].Lasts))
		at += float64(phases[i].Lasts)
	}
	return o, nil
}

// add appends a phase of t seconds that begins at the time at.
func (o *Outcome) add(x *Index, n *nodes, at, t float64) {
	start, chamber := float64(o.Final), float64(o.ChamberFinal)
	first := func(level float64, r *unit.Reading[unit.Second]) {
		if s, ok := n.reaches(level, start); ok && s <= t && !r.Known {
			*r = unit.Known(unit.Second(at + s))
		}
	}
	first(warmAt, &o.To45)
	first(shrinkAt, &o.To60)
	dose := x.damage(n, start, 0, t)
	if !o.BurnAt.Known && o.Index+dose >= 1 {
		o.BurnAt = unit.Known(unit.Second(at + x.reach(n, start, t, 1-o.Index)))
	}
	o.Index += dose
	o.Final, o.ChamberFinal = unit.Celsius(n.woundAt(t, start)), unit.Celsius(n.chamberAt(t, start, chamber))
	if o.Final > o.Peak { // within a phase the wound only rises or only falls
		o.Peak, o.PeakAt = o.Final, unit.Second(at+t)
	}
	o.ChamberPeak = max(o.ChamberPeak, unit.Celsius(n.chamberPeak(t, start, chamber)))
	o.Phases = append(o.Phases, End{At: unit.Second(at + t), Wound: o.Final, Chamber: o.ChamberFinal, Index: o.Index})
}

// chamberPeak is the warmest the chamber gets in a phase: it turns at most once.
func (n *nodes) chamberPeak(t, wound, chamber float64) float64 {
	const looks = 64
	best, at := math.Max(chamber, n.chamberAt(t, wound, chamber)), -1
	for i := 1; i < looks; i++ {
		if v := n.chamberAt(t*float64(i)/looks, wound, chamber); v > best {
			best, at = v, i
		}
	}
	if at < 0 {
		return best
	}
	low, high := t*float64(at-1)/looks, t*float64(at+1)/looks
	for range 100 { // thirds: the top is a single one
		a, b := low+(high-low)/3, high-(high-low)/3
		if n.chamberAt(a, wound, chamber) < n.chamberAt(b, wound, chamber) {
			low = a
		} else {
			high = b
		}
	}
	return n.chamberAt((low+high)/2, wound, chamber)
}

// reach is when the damage within the phase comes to goal, which it does before t.
func (x *Index) reach(n *nodes, start, t, goal float64) float64 {
	low, high, done := 0.0, t, 0.0
	for range 60 {
		mid := (low + high) / 2
		if d := x.damage(n, start, low, mid); done+d < goal {
			low, done = mid, done+d
		} else {
			high = mid
		}
	}
	return high
}

// LeastFlow is the flow that keeps the phase's final temperature at limit: less
// is warmer. It is 0 when the wound stays below without any, and a RangeError
// when 200 mL/min do not suffice.
func (w Wound) LeastFlow(p Phase, limit unit.Celsius) (unit.MillilitrePerMinute, error) {
	if err := w.check(); err != nil {
		return 0, err
	}
	if err := p.check(); err != nil {
		return 0, err
	}
	p.Plugged = false
	final := func(q float64) float64 {
		p.Flow = unit.MillilitrePerMinute(q)
		n := w.nodes(&p)
		return n.wound
	}
	low, high := 0.0, 200.0
	switch {
	case final(0) <= float64(limit):
		return 0, nil
	case final(high) > float64(limit):
		return 0, &unit.RangeError{What: "limit", Got: float64(limit), Low: final(high), High: final(0), Unit: "°C"}
	}
	for range 80 {
		if mid := (low + high) / 2; final(mid) > float64(limit) {
			low = mid
		} else {
			high = mid
		}
	}
	return unit.MillilitrePerMinute(high), nil
}

var (
	modelRef = source.Ref{Key: source.OwnModel, Where: "wound heat", Grade: source.Own}

	noFlow = finding.Declare(finding.Rule{Code: "no-flow", Severity: finding.Caution, Ref: alarm,
		Limit: "pedal at ultrasound, power × duty above 30 %, aspirated flow below 2 mL/min for more than 1 s"})
	woundWarm = finding.Declare(finding.Rule{Code: "wound-warm", Severity: finding.Note, Ref: modelRef,
		Limit: "the wound reaches 45 °C in the model"})
	woundBurn = finding.Declare(finding.Rule{Code: "wound-burn", Severity: finding.Caution, Ref: henriques,
		Limit: "the burn index reaches 1, or the wound 60 °C, in the model"})
)

// Findings says what a course leads to in the model.
func (o *Outcome) Findings(x Index) []finding.Finding {
	list := x.Check(o.Peak)
	peak := finding.Value{Name: "peak", Text: o.Peak.String()}
	switch {
	case o.BurnAt.Known:
		list = append(list, woundBurn.On("", peak, finding.Value{Name: "after", Text: o.BurnAt.Value.String()}))
	case o.To60.Known:
		list = append(list, woundBurn.On("", peak, finding.Value{Name: "after", Text: o.To60.Value.String()}))
	case o.To45.Known:
		list = append(list, woundWarm.On("", peak, finding.Value{Name: "after", Text: o.To45.Value.String()}))
	}
	return list
}

// Moment is what a machine knows of the present.
type Moment struct {
	UltrasoundOn bool
	Power, Duty  unit.Percent
	Aspirated    unit.MillilitrePerMinute
	LowFor       unit.Second // how long the flow has been this low
}

// Alarm says "no flow: stop" when power runs without cooling for more than a
// second. It is a rule to teach and to ask of a machine; linn runs none.
func (m Moment) Alarm() []finding.Finding {
	mean := 100 * m.Power.Fraction() * m.Duty.Fraction()
	if !m.UltrasoundOn || mean <= alarmPower || float64(m.Aspirated) >= alarmFlow || float64(m.LowFor) <= alarmTime {
		return nil
	}
	return []finding.Finding{noFlow.On("", finding.Value{Name: "flow", Text: m.Aspirated.String()}, finding.Value{Name: "power", Text: unit.Percent(mean).String()},
		finding.Value{Name: "for", Text: m.LowFor.String()})}
}
