package fluidics

import (
	"math"

	"linn/unit"
)

// Tip is what stands before the needle's mouth.
type Tip string

// The states of the mouth.
const (
	Open    Tip = "open"
	Blocked Tip = "blocked"
)

// Pedal is the position of the foot pedal.
type Pedal string

// The positions. Rest closes the irrigation and stops the pump; Irrigate opens
// the irrigation; Aspirate starts the pump, with or without ultrasound.
const (
	Rest     Pedal = "rest"
	Irrigate Pedal = "irrigate"
	Aspirate Pedal = "aspirate"
)

// Phase is a stretch of time under constant conditions. The zero values are an
// open tip under aspiration with everything in order.
type Phase struct {
	Lasts unit.Second
	Pedal Pedal // "" is Aspirate
	Tip   Tip   // "" is Open

	// An open mouth: how far it opens at most (0 is fully; a partial break is
	// less) and how long it takes from closed to fully open.
	Mouth   unit.Ratio
	Opening unit.Second

	Empty    bool       // no irrigation: the bottle is being changed
	Kink     unit.Ratio // what a kink adds to the sleeve's laminar resistance, in times that resistance
	PowerCut bool       // pump and forced infusion stop; a gravity bottle goes on
}

func (p *Phase) check() error {
	bounds := []bound{
		{"lasts", float64(p.Lasts), 1e-4, 3600, "s"}, {"mouth", float64(p.Mouth), 0, 1, ""},
		{"break_s", float64(p.Opening), 0, 60, "s"}, {"kink", float64(p.Kink), 0, 1e4, ""},
	}
	for _, b := range bounds {
		if err := inside(b.what, b.value, unit.Bounds{Low: b.low, High: b.high}, b.unit); err != nil {
			return err
		}
	}
	return nil
}

// enter sets the circuit's conditions to those of the phase beginning at t, and
// stops the flows that they cut off.
func (c *circuit) enter(p *Phase, t float64, y *vector) {
	c.blocked = p.Tip == Blocked
	c.pumping = (p.Pedal == "" || p.Pedal == Aspirate) && !p.PowerCut
	c.closed = p.Pedal == Rest || p.Empty
	c.dead = p.PowerCut
	c.began, c.opening, c.mouth, c.kink = t, float64(p.Opening), 1, float64(p.Kink)
	if p.Mouth > 0 {
		c.mouth = float64(p.Mouth)
	}
	if c.blocked {
		y[tipFlow] = 0
	}
	if c.closed {
		y[irrigation] = 0
	}
	if !c.pumping {
		y[pumpFlow] = 0
	}
}

// turns are the times within a phase at which the mouth's ramp begins and ends,
// and the end of the phase.
func (c *circuit) turns(from, to float64) []float64 {
	list := make([]float64, 0, 3)
	if c.opening > 0 && !c.blocked {
		for _, o := range [...]float64{leastOpen, c.mouth} {
			if t := from + o*c.opening; t > from && t < to {
				list = append(list, t)
			}
		}
	}
	return append(list, to)
}

// accuracy is the integrator's tolerance: 1e-8 of each state, and absolutely
// 1e-6 mmHg, 1e-5 µL/s, 1e-6 µL. The pressures then agree with a fixed step of
// 0.05 ms to 0.0003 mmHg. That is far more than any statement made of them
// needs, and costs nothing: stability bounds most steps, not the error.
func accuracy() tolerance { return toleranceOf(1e-8) }

// toleranceOf is relative r, and absolutely 100·r for pressures and volumes and
// 1000·r for flows.
func toleranceOf(r float64) tolerance {
	tol := tolerance{relative: r}
	for i := range tol.absolute {
		tol.absolute[i] = 100 * r
	}
	for _, i := range [...]int{irrigation, tipFlow, pumpFlow} {
		tol.absolute[i] = 1000 * r
	}
	return tol
}

// player runs phases one after the other from a state at rest.
type player struct {
	c *circuit
	v solver
	p problem
	y vector
	t float64
}

func newPlayer(c *circuit) *player {
	pl := &player{c: c}
	pl.p = problem{derive: c.derive, jacobian: c.jacobian, corners: c.corners(), tol: accuracy()}
	pl.y, _ = c.rest()
	return pl
}

// play runs one phase and shows every step to watch.
func (pl *player) play(p *Phase, watch func(*step)) error {
	pl.c.enter(p, pl.t, &pl.y)
	end := pl.t + float64(p.Lasts)
	for _, to := range pl.c.turns(pl.t, end) {
		if err := pl.v.run(&pl.p, pl.t, to, &pl.y, watch); err != nil {
			return err
		}
		pl.t = to
	}
	return nil
}

// Moment is a pressure and when it stood, in seconds since the start.
type Moment struct {
	At       unit.Second
	Pressure unit.MillimetreHg
}

// Passage is what happened in one phase.
type Passage struct {
	Begins, Ends    unit.Second
	Least, Greatest Moment
	PeakTip         unit.MillilitrePerMinute // greatest flow through the needle
	PeakAt          unit.Second
	Lost            unit.Microlitre // from the beginning of the phase to the least volume in it
	AboveHigh       unit.Second     // time with the chamber above 60 mmHg
	Collapse        unit.Reading[unit.Second]
	NodeVacuum      unit.MillimetreHg // at the end
	Chamber         unit.MillimetreHg // at the end

	Irrigated, Aspirated, Leaked unit.Microlitre // in this phase
}

// gauge gathers a Passage from the steps of a phase.
type gauge struct {
	m     *Model
	start vector
	least vector // of the volume, at index volume
	Passage
}

func newGauge(m *Model, t float64, y *vector) *gauge {
	g := &gauge{m: m, start: *y, least: *y}
	at := Moment{unit.Second(t), unit.MillimetreHg(y[chamber])}
	g.Begins, g.Least, g.Greatest, g.PeakAt = unit.Second(t), at, at, unit.Second(t)
	g.PeakTip = unit.MicrolitrePerSecond(y[tipFlow]).MillilitrePerMinute()
	if y[chamber] < formedAbove {
		g.Collapse = unit.Known(unit.Second(t))
	}
	return g
}

func (g *gauge) watch(s *step) {
	g.pressure(s, 1)
	for _, down := range [...]bool{true, false} {
		if theta, ok := s.turning(chamber, down); ok {
			g.pressure(s, theta)
		}
	}
	g.peak(s, 1)
	if theta, ok := s.turning(tipFlow, false); ok {
		g.peak(s, theta)
	}
	g.least[volume] = min(g.least[volume], s.y1[volume])
	if theta, ok := s.turning(volume, true); ok {
		g.least[volume] = min(g.least[volume], s.at(volume, theta))
	}
	g.AboveHigh += unit.Second(s.above(chamber, highPressure))
	g.collapse(s)
}

func (g *gauge) pressure(s *step, theta float64) {
	at := Moment{unit.Second(s.t + theta*s.h), unit.MillimetreHg(s.at(chamber, theta))}
	if at.Pressure < g.Least.Pressure {
		g.Least = at
	}
	if at.Pressure > g.Greatest.Pressure {
		g.Greatest = at
	}
}

func (g *gauge) peak(s *step, theta float64) {
	if q := unit.MicrolitrePerSecond(s.at(tipFlow, theta)).MillilitrePerMinute(); q > g.PeakTip {
		g.PeakTip, g.PeakAt = q, unit.Second(s.t+theta*s.h)
	}
}

// collapse notes the first time at which the chamber falls below the least
// pressure that keeps it formed, or has lost all its volume.
func (g *gauge) collapse(s *step) {
	if g.Collapse.Known {
		return
	}
	first := math.Inf(1)
	if s.y1[chamber] < formedAbove || float64(g.Least.Pressure) < formedAbove {
		first = s.t + s.h
		if theta, ok := s.crossing(chamber, formedAbove); ok {
			first = s.t + theta*s.h
		}
	}
	floor := g.start[volume] - float64(g.m.ChamberVolume)
	if theta, ok := s.crossing(volume, floor); ok {
		first = min(first, s.t+theta*s.h)
	}
	if !math.IsInf(first, 1) {
		g.Collapse = unit.Known(unit.Second(first))
	}
}

// finish closes the passage with the state y at its end.
func (g *gauge) finish(t float64, y *vector) Passage {
	p := g.Passage
	micro := func(i int) unit.Microlitre { return unit.Microlitre(y[i] - g.start[i]) }
	p.Ends, p.NodeVacuum, p.Chamber = unit.Second(t), unit.MillimetreHg(-y[node]), unit.MillimetreHg(y[chamber])
	p.Lost = unit.Microlitre(g.start[volume] - g.least[volume])
	p.Aspirated, p.Leaked = micro(aspirated), micro(leaked)
	p.Irrigated = micro(volume) + p.Aspirated + p.Leaked
	return p
}

// above is how long state i stands above level within the step.
func (s *step) above(i int, level float64) float64 {
	theta, crosses := s.crossing(i, level)
	switch {
	case !crosses && s.y0[i] >= level:
		return s.h
	case !crosses:
		return 0
	case s.y0[i] >= level:
		return theta * s.h
	}
	return (1 - theta) * s.h
}

// Play runs the phases from the steady state with the tip open and the pump on,
// and reports each. Phases last 0.1 ms to an hour.
func (m *Model) Play(phases []Phase) ([]Passage, error) {
	c, err := m.circuit()
	if err != nil {
		return nil, err
	}
	for i := range phases {
		if err := phases[i].check(); err != nil {
			return nil, err
		}
	}
	pl := newPlayer(c)
	list := make([]Passage, 0, len(phases))
	for i := range phases {
		g := newGauge(m, pl.t, &pl.y)
		if err := pl.play(&phases[i], g.watch); err != nil {
			return nil, err
		}
		list = append(list, g.finish(pl.t, &pl.y))
	}
	return list, nil
}

// Series is a nucleus taken piece by piece: each piece blocks the tip, breaks,
// and the tip is free until the next.
type Series struct {
	Pieces        int
	Blocked, Free unit.Second // of each piece
	Opening       unit.Second // how long each break takes
}

// Phases writes the series out, starting with the first block.
func (s Series) Phases() []Phase {
	var list []Phase
	for range s.Pieces {
		list = append(list, Phase{Lasts: s.Blocked, Tip: Blocked}, Phase{Lasts: s.Free, Opening: s.Opening})
	}
	return list
}
