package fluidics

import (
	"math"

	"linn/unit"
)

// Steady is the chamber at rest.
type Steady struct {
	Chamber      unit.MillimetreHg
	Supply       unit.MillimetreHg // at the top of the irrigation
	NodeVacuum   unit.MillimetreHg // below atmosphere, halfway along the line
	PumpVacuum   unit.MillimetreHg // at the pump: what a display shows
	Irrigation   unit.MillilitrePerMinute
	Tip          unit.MillilitrePerMinute // through the needle
	Bypass, Leak unit.MillilitrePerMinute
	AtCeiling    bool // forced infusion cannot reach its set pressure
}

// SteadyOpen is the exact steady state with the tip open and the pump on.
func (m *Model) SteadyOpen() (Steady, error) { return m.steady(false) }

// SteadyBlocked is the exact steady state with the tip blocked and the pump
// on: what an occlusion settles to if it lasts.
func (m *Model) SteadyBlocked() (Steady, error) { return m.steady(true) }

func (m *Model) steady(blocked bool) (Steady, error) {
	c, err := m.circuit()
	if err != nil {
		return Steady{}, err
	}
	c.blocked = blocked
	y, ceiling := c.rest()
	return c.report(&y, ceiling), nil
}

// report turns a state at rest into trade units.
func (c *circuit) report(y *vector, ceiling bool) Steady {
	bypass, _ := c.bypassFlow(y[chamber] - y[node])
	leak, _ := c.leakFlow(y[chamber])
	out := y[pumpFlow]
	if !c.vacuum {
		out, _ = c.pumped(y[node])
	}
	line, _ := c.half.drop(out)
	flow := func(q float64) unit.MillilitrePerMinute { return unit.MicrolitrePerSecond(q).MillilitrePerMinute() }
	return Steady{Chamber: unit.MillimetreHg(y[chamber]), Supply: unit.MillimetreHg(y[supply]),
		NodeVacuum: unit.MillimetreHg(-y[node]), PumpVacuum: unit.MillimetreHg(line - y[node]),
		Irrigation: flow(y[irrigation]), Tip: flow(y[tipFlow]), Bypass: flow(bypass), Leak: flow(leak), AtCeiling: ceiling}
}

// rest solves the equations for no change. For a chamber pressure given, the
// outflow follows by one search; the chamber pressure is where the irrigation
// brings just that. Both balances fall monotonically, so halving and secants
// always find them.
func (c *circuit) rest() (y vector, ceiling bool) {
	if c.vacuum {
		y[cassette] = c.cassetteTarget()
	}
	y[supply] = c.head
	if c.forced {
		c.outflow(c.set, &y)
		drop, _ := c.irrigationDrop(y[irrigation])
		if y[supply] = c.set + drop; y[supply] <= c.top {
			y[chamber] = c.set
			return y, false
		}
		y[supply], ceiling = c.top, true
	}
	p := root(-c.limit, y[supply], func(p float64) float64 {
		c.outflow(p, &y)
		drop, _ := c.irrigationDrop(y[irrigation])
		return y[supply] - p - drop
	})
	c.outflow(p, &y)
	y[chamber] = p
	return y, ceiling
}

// outflow sets node, tip, pump and irrigation of y to what leaves a chamber
// held at the pressure p.
func (c *circuit) outflow(p float64, y *vector) {
	leak, _ := c.leakFlow(p)
	tip, pa := 0.0, p
	switch {
	case c.blocked:
		pa = c.blockedNode(p, y)
	case c.pumping:
		tip = c.tipAt(p, y)
		drop, _ := c.tipDrop(tip, c.mouth)
		pa = p - drop
	}
	bypass, _ := c.bypassFlow(p - pa)
	y[node], y[tipFlow], y[pumpFlow] = pa, tip, 0
	if c.vacuum && c.pumping {
		y[pumpFlow] = tip + bypass
	}
	y[irrigation] = tip + bypass + leak
}

// tipAt is the flow through an open tip: what the pump takes less the bypass.
func (c *circuit) tipAt(p float64, y *vector) float64 {
	top := c.flow
	if c.vacuum {
		top = max(p-y[cassette], 0) / (c.out.r + c.half.r) // the laminar flow is the most
	}
	return root(0, top, func(q float64) float64 {
		drop, _ := c.tipDrop(q, c.mouth)
		bypass, _ := c.bypassFlow(drop)
		if c.vacuum {
			line, _ := c.half.drop(q + bypass)
			return p - drop - line - y[cassette]
		}
		taken, _ := c.pumped(p - drop)
		return taken - q - bypass
	})
}

// blockedNode is the node's pressure behind a blocked tip.
func (c *circuit) blockedNode(p float64, y *vector) float64 {
	low, high := -c.limit, max(p, -c.limit)
	if !c.pumping {
		return high
	}
	if c.bypass == 0 {
		return low
	}
	return root(low, high, func(pa float64) float64 { // rises with pa: more is taken, less arrives
		bypass, _ := c.bypassFlow(p - pa)
		if c.vacuum {
			line, _ := c.half.drop(bypass)
			return y[cassette] + line - pa
		}
		taken, _ := c.pumped(pa)
		return bypass - taken
	})
}

// root finds where f, which falls from low to high, passes zero, to the last
// bits: the Illinois variant of the secant rule, kept inside the bracket. At an
// end where f has the wrong sign it returns that end.
func root(low, high float64, f func(float64) float64) float64 {
	fl, fh := f(low), f(high)
	switch {
	case fl <= 0:
		return low
	case fh >= 0:
		return high
	}
	side := 0
	for n := range 200 {
		x := (low*fh - high*fl) / (fh - fl)
		if !(x > low && x < high) || n%8 == 7 {
			x = low + (high-low)/2
		}
		if high-low <= 4e-16*(math.Abs(low)+math.Abs(high)) || x <= low || x >= high {
			return x
		}
		switch fx := f(x); {
		case fx == 0:
			return x
		case fx > 0:
			low, fl = x, fx
			if side > 0 {
				fh /= 2
			}
			side = 1
		default:
			high, fh = x, fx
			if side < 0 {
				fl /= 2
			}
			side = -1
		}
	}
	return low + (high-low)/2
}
