package fluidics

import (
	"math"

	"linn/unit"
)

// Break is the model's standard trial: the tip open and steady, blocked for
// Hold, then opening over Opening (0: at once), watched for 2.5 s.
type Break struct {
	Hold    unit.Second
	Opening unit.Second
}

// StandardBreak blocks for 3 s and opens at once: the worst case.
func StandardBreak() Break { return Break{Hold: unit.Second(refHold)} }

// Answer is what a break does in the model.
type Answer struct {
	Open          unit.MillimetreHg // exact steady state
	Blocked       unit.MillimetreHg // chamber at the end of the occlusion
	BlockedVacuum unit.MillimetreHg // node at the end of the occlusion
	Rise          unit.Reading[unit.Second]
	Peak          unit.MillilitrePerMinute // greatest flow through the needle after the break
	Minimum       unit.MillimetreHg        // least pressure after the break; below 0 it only says how much is missing
	MinimumAt     unit.Second              // after the break
	Lost          unit.Microlitre          // from before the break to the least volume
	LostBelowOpen unit.Microlitre          // of it, below the volume with the tip open and steady
	Recovery      unit.Second              // last time more than 2 mmHg from the final pressure, after the break
	Collapse      bool

	PeakAt    unit.Second // after the break
	Steady    Steady
	Excursion unit.Millimetre // Lost over the capsule's area: the most the capsule can come forward
	AboveHigh unit.Second     // time above 60 mmHg while blocked and after
	Final     unit.MillimetreHg
	Steps     int // the integrator's
}

// piece is a step of the chamber pressure alone.
type piece struct {
	t, h       float64
	p0, p1     float64
	c3, c4, c5 float64
}

func (p *piece) at(theta float64) float64 {
	rest := 1 - theta
	return p.p0 + theta*(p.p1-p.p0+rest*(p.c3+theta*(p.c4+rest*p.c5)))
}

// Surge runs breaks without allocating anew for each.
type Surge struct {
	pl     player
	pieces []piece
	tol    tolerance // zero: accuracy
}

// Run answers for one break of one model. Hold is from 1 ms to 10 min, Opening
// to 60 s.
func (m *Model) Run(b Break) (Answer, error) {
	var s Surge
	return s.Run(m, b)
}

// Run is Model.Run on the surge's own memory.
func (u *Surge) Run(m *Model, b Break) (Answer, error) {
	if err := inside("occlusion_s", float64(b.Hold), unit.Bounds{Low: 0.001, High: 600}, "s"); err != nil {
		return Answer{}, err
	}
	free := Phase{Lasts: unit.Second(refWatch), Opening: b.Opening}
	if err := free.check(); err != nil {
		return Answer{}, err
	}
	c, err := m.circuit()
	if err != nil {
		return Answer{}, err
	}
	pl := &u.pl
	pl.c, pl.t = c, 0
	pl.p = problem{derive: c.derive, jacobian: c.jacobian, corners: c.corners(), tol: u.tol}
	if u.tol.relative == 0 {
		pl.p.tol = accuracy()
	}
	y, ceiling := c.rest()
	pl.y = y
	a := Answer{Steady: c.report(&y, ceiling), Open: unit.MillimetreHg(y[chamber])}
	if err := u.occlude(&a, m, b); err != nil {
		return Answer{}, err
	}
	if err := u.release(&a, m, &free); err != nil {
		return Answer{}, err
	}
	return a, nil
}

// occlude plays the blocked phase and notes the rise of the vacuum.
func (u *Surge) occlude(a *Answer, m *Model, b Break) error {
	pl := &u.pl
	goal := -riseFraction * float64(m.VacuumLimit)
	if pl.y[node] <= goal {
		a.Rise = unit.Known(unit.Second(0))
	}
	above, steps := 0.0, 0
	err := pl.play(&Phase{Lasts: b.Hold, Tip: Blocked}, func(s *step) {
		steps++
		above += s.above(chamber, highPressure)
		if theta, ok := s.crossing(node, goal); ok && !a.Rise.Known {
			a.Rise = unit.Known(unit.Second(s.t + theta*s.h))
		}
	})
	a.AboveHigh, a.Steps = unit.Second(above), steps
	a.Blocked, a.BlockedVacuum = unit.MillimetreHg(pl.y[chamber]), unit.MillimetreHg(-pl.y[node])
	return err
}

// release plays the phase after the break.
func (u *Surge) release(a *Answer, m *Model, free *Phase) error {
	pl := &u.pl
	u.pieces = u.pieces[:0]
	began := pl.t
	g := newGauge(m, began, &pl.y)
	before := pl.y[volume]
	err := pl.play(free, func(s *step) {
		g.watch(s)
		a.Steps++
		u.pieces = append(u.pieces, piece{t: s.t, h: s.h, p0: s.y0[chamber], p1: s.y1[chamber], c3: s.c3[chamber], c4: s.c4[chamber], c5: s.c5[chamber]})
	})
	p := g.finish(pl.t, &pl.y)
	after := func(t unit.Second) unit.Second { return min(t-unit.Second(began), free.Lasts) } // the difference may end a bit late
	a.Peak, a.Minimum, a.MinimumAt = p.PeakTip, p.Least.Pressure, after(p.Least.At)
	a.PeakAt = after(p.PeakAt)
	a.Lost = p.Lost
	a.LostBelowOpen = p.Lost - unit.Microlitre(before)
	a.Excursion = unit.Millimetre(float64(p.Lost) / float64(m.CapsuleArea))
	a.AboveHigh += p.AboveHigh
	a.Final = p.Chamber
	a.Recovery = max(after(unit.Second(u.settled(float64(p.Chamber)))), 0)
	a.Collapse = float64(a.Minimum) < formedAbove || a.Lost > m.ChamberVolume
	return err
}

// settled is the last time at which the chamber stands more than 2 mmHg from
// its final pressure, the beginning when it never does.
func (u *Surge) settled(final float64) float64 {
	const looks = 8 // per step, so that a swing inside one is not missed
	far := func(p float64) bool { return math.Abs(p-final) > settledWithin }
	for n := len(u.pieces) - 1; n >= 0; n-- {
		p := &u.pieces[n]
		for k := looks - 1; k >= 0; k-- {
			low, high := float64(k)/looks, float64(k+1)/looks
			if !far(p.at(low)) {
				continue
			}
			for range bisections {
				if mid := (low + high) / 2; far(p.at(mid)) {
					low = mid
				} else {
					high = mid
				}
			}
			return p.t + low*p.h
		}
	}
	return 0
}
