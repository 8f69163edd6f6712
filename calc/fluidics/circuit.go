package fluidics

import (
	"math"

	"linn/unit"
)

// The states: chamber and node pressure in mmHg gauge, flows in µL/s, volumes
// in µL since the start.
const (
	chamber    = iota // P_c
	node              // P_a, between the halves of the aspiration line
	irrigation        // Q_i, into the chamber
	tipFlow           // Q_t, through the needle
	supply            // P_b, at the top of the irrigation
	pumpFlow          // Q_p, through the second half line (vacuum pump)
	cassette          // P_v (vacuum pump)
	volume            // V_c
	aspirated         // through needle and bypass
	leaked            // out of the wounds
)

// circuit is a Model turned into the coefficients of the equations, and the
// conditions of the phase that is running.
type circuit struct {
	in, out  path    // irrigation; needle, lumen and first half line
	half     path    // second half line
	needleK  float64 // the needle's own quadratic term: the mouth narrows it
	sleeveR  float64
	bypass   float64 // µL/s per √mmHg
	leak     float64 // µL/s per mmHg
	globe    GlobeLaw
	compl    float64 // C_a
	air, sky float64 // air in the line at the pressure around it, and that pressure
	flow     float64 // µL/s
	limit    float64
	droop    float64
	pumpLag  float64
	vacuum   bool
	forced   bool
	set      float64
	lag, top float64
	head     float64

	// of the phase
	blocked, closed, pumping, dead bool
	began                          float64 // when the mouth began to open
	opening, mouth                 float64 // s, fraction
	kink                           float64 // extra resistance of the sleeve
}

func (m *Model) circuit() (*circuit, error) {
	parts, err := m.Elements()
	if err != nil {
		return nil, err
	}
	s, err := SalineAt(m.Temperature)
	if err != nil {
		return nil, err
	}
	bore := float64(m.BypassBore) / 1000
	return &circuit{
		in: chain(parts[:3]...), out: chain(parts[3:]...), half: chain(parts[5]),
		needleK: parts[3].Quadratic, sleeveR: parts[2].Resistance,
		bypass: float64(m.Discharge) * math.Pi * bore * bore / 4 * math.Sqrt(2*pascalPerMmHg/s.metric().rho) / cubicToMicro,
		leak:   float64(m.Leak) * float64(unit.MillilitrePerMinute(1).MicrolitrePerSecond()),
		globe:  m.Globe, compl: float64(m.Compliance), air: float64(m.Air.Volume), sky: float64(m.Air.Air),
		flow: float64(m.Flow.MicrolitrePerSecond()), limit: float64(m.VacuumLimit), droop: float64(m.Droop),
		pumpLag: float64(m.PumpLag), vacuum: m.Pump == Vacuum,
		forced: m.Forced.Known, set: float64(m.Forced.Value), lag: float64(m.ForcedLag), top: float64(m.ForcedCeiling),
		head: float64(m.Head()), pumping: true, mouth: 1,
	}, nil
}

// corners lists where the equations are not smooth: the pump's law, the globe's
// floor, the leak's end, a bypass at rest, and the changes of friction.
func (c *circuit) corners() []corner {
	list := []corner{{a: chamber, b: -1}, {a: chamber, b: -1, level: float64(c.globe.Floor)}}
	if c.bypass > 0 {
		list = append(list, corner{a: chamber, b: node})
	}
	if !c.vacuum {
		list = append(list, corner{a: node, b: -1, level: -c.limit}, corner{a: node, b: -1, level: (c.droop - 1) * c.limit})
	}
	if c.forced {
		list = append(list, corner{a: supply, b: -1}, corner{a: supply, b: -1, level: c.top})
	}
	friction := func(flow int, p *path) {
		for i := range p.n {
			for _, re := range [...]float64{laminarTo, turbulentFrom} {
				list = append(list, corner{a: flow, b: -1, level: re / p.parts[i].Reynolds, size: true})
			}
		}
	}
	friction(irrigation, &c.in)
	friction(tipFlow, &c.out)
	if c.vacuum {
		friction(pumpFlow, &c.half)
	}
	return list
}

// tiny keeps the slope of the bypass finite where its flow stops.
const tiny = 1e-9

// bypassFlow through the port at the pressure difference d, and its slope.
func (c *circuit) bypassFlow(d float64) (q, slope float64) {
	if c.bypass == 0 || d <= 0 {
		return 0, 0
	}
	root := math.Sqrt(d)
	return c.bypass * root, c.bypass / (2 * max(root, tiny))
}

// leakFlow out of the wounds.
func (c *circuit) leakFlow(p float64) (q, slope float64) {
	if p <= 0 {
		return 0, 0
	}
	return c.leak * p, c.leak
}

// pumped is what a peristaltic pump takes at node pressure p, and its slope: it
// slows over the last part of the limit.
func (c *circuit) pumped(p float64) (q, slope float64) {
	if !c.pumping {
		return 0, 0
	}
	switch x := (c.limit + p) / (c.droop * c.limit); {
	case x <= 0:
		return 0, 0
	case x >= 1:
		return c.flow, 0
	default:
		return c.flow * x, c.flow / (c.droop * c.limit)
	}
}

// open is how far the tip's mouth is open at t, and its rate.
func (c *circuit) open(t float64) (o, rate float64) {
	if c.opening <= 0 {
		return c.mouth, 0
	}
	switch o = (t - c.began) / c.opening; {
	case o < leastOpen:
		return leastOpen, 0
	case o >= c.mouth:
		return c.mouth, 0
	default:
		return o, 1 / c.opening
	}
}

// tipDrop is the drop from the chamber to the node at the tip flow q.
func (c *circuit) tipDrop(q, o float64) (dp, slope float64) {
	dp, slope = c.out.drop(q)
	if o < 1 {
		extra := c.needleK * (1/(o*o) - 1)
		dp += extra * q * math.Abs(q)
		slope += 2 * extra * math.Abs(q)
	}
	return dp, slope
}

// irrigationDrop is the drop from the supply to the chamber.
func (c *circuit) irrigationDrop(q float64) (dp, slope float64) {
	dp, slope = c.in.drop(q)
	return dp + c.kink*c.sleeveR*q, slope + c.kink*c.sleeveR
}

// supplyRate is how forced infusion steers its source: integral control of the
// chamber, within 0 and the ceiling. Without power its pressure drains away.
func (c *circuit) supplyRate(pc, pb float64) float64 {
	if !c.forced {
		return 0
	}
	if c.dead {
		return -pb / c.lag
	}
	r := (c.set - pc) / c.lag
	if pb >= c.top && r > 0 || pb <= 0 && r < 0 {
		return 0
	}
	return r
}

// cassetteTarget is what a vacuum pump's cassette goes to.
func (c *circuit) cassetteTarget() float64 {
	if c.pumping {
		return -c.limit
	}
	return 0
}

// derive is the right-hand side of the model's equations.
func (c *circuit) derive(t float64, y, f *vector) {
	pc, pa := y[chamber], y[node]
	bypass, _ := c.bypassFlow(pc - pa)
	leak, _ := c.leakFlow(pc)
	tip := y[tipFlow]
	if c.blocked {
		tip, f[tipFlow] = 0, 0
	} else {
		o, _ := c.open(t)
		drop, _ := c.tipDrop(tip, o)
		f[tipFlow] = (pc - pa - drop) / c.out.i
	}
	f[irrigation] = 0
	if !c.closed {
		drop, _ := c.irrigationDrop(y[irrigation])
		f[irrigation] = (y[supply] - pc - drop) / c.in.i
	}
	f[supply] = c.supplyRate(pc, y[supply])
	f[pumpFlow], f[cassette] = 0, 0
	var out float64
	if c.vacuum {
		out = y[pumpFlow]
		f[cassette] = (c.cassetteTarget() - y[cassette]) / c.pumpLag
		if c.pumping {
			drop, _ := c.half.drop(out)
			f[pumpFlow] = (pa - y[cassette] - drop) / c.half.i
		}
	} else {
		out, _ = c.pumped(pa)
	}
	dv := y[irrigation] - leak - tip - bypass
	e, _ := c.globe.elastance(pc)
	f[chamber] = dv * e
	compl, _ := c.compliance(pa)
	f[node] = (tip + bypass - out) / compl
	f[volume], f[aspirated], f[leaked] = dv, tip+bypass, leak
}

// jacobian is that of derive.
func (c *circuit) jacobian(t float64, y *vector, j *matrix, ft *vector) {
	*j, *ft = matrix{}, vector{}
	pc, pa := y[chamber], y[node]
	bypass, dBypass := c.bypassFlow(pc - pa)
	leak, dLeak := c.leakFlow(pc)
	tip, open := y[tipFlow], 1.0
	if c.blocked {
		tip, open = 0, 0
	} else {
		o, rate := c.open(t)
		_, slope := c.tipDrop(tip, o)
		j[tipFlow][chamber], j[tipFlow][node], j[tipFlow][tipFlow] = 1/c.out.i, -1/c.out.i, -slope/c.out.i
		ft[tipFlow] = 2 * c.needleK * tip * math.Abs(tip) / (o * o * o) * rate / c.out.i
	}
	if !c.closed {
		_, slope := c.irrigationDrop(y[irrigation])
		j[irrigation][supply], j[irrigation][chamber], j[irrigation][irrigation] = 1/c.in.i, -1/c.in.i, -slope/c.in.i
	}
	switch {
	case c.forced && c.dead:
		j[supply][supply] = -1 / c.lag
	case c.supplyRate(pc, y[supply]) != 0:
		j[supply][chamber] = -1 / c.lag
	}
	dv := vector{chamber: -dLeak - dBypass, node: dBypass, irrigation: 1, tipFlow: -open}
	e, dE := c.globe.elastance(pc)
	net := y[irrigation] - leak - tip - bypass
	for i, v := range dv {
		j[chamber][i], j[volume][i] = v*e, v
	}
	j[chamber][chamber] += net * dE
	compl, bend := c.compliance(pa)
	j[node][chamber], j[node][node], j[node][tipFlow] = dBypass/compl, -dBypass/compl, open/compl
	j[aspirated][chamber], j[aspirated][node], j[aspirated][tipFlow] = dBypass, -dBypass, open
	j[leaked][chamber] = dLeak
	if !c.vacuum {
		out, slope := c.pumped(pa)
		j[node][node] -= slope/compl + (tip*open+bypass-out)*bend/(compl*compl)
		return
	}
	j[node][node] -= (tip*open + bypass - y[pumpFlow]) * bend / (compl * compl)
	j[node][pumpFlow], j[cassette][cassette] = -1/compl, -1/c.pumpLag
	if c.pumping {
		_, slope := c.half.drop(y[pumpFlow])
		j[pumpFlow][node], j[pumpFlow][cassette], j[pumpFlow][pumpFlow] = 1/c.half.i, -1/c.half.i, -slope/c.half.i
	}
}
