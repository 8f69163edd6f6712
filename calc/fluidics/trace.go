package fluidics

import (
	"linn/unit"
)

// Sample is the model at one instant.
type Sample struct {
	At         unit.Second
	Chamber    unit.MillimetreHg
	Node       unit.MillimetreHg // gauge: below 0 under vacuum
	Irrigation unit.MillilitrePerMinute
	Tip        unit.MillilitrePerMinute
	Bypass     unit.MillilitrePerMinute
	Leak       unit.MillilitrePerMinute
	Volume     unit.Microlitre // of the chamber, since the start
}

// Trace plays the phases as Play does and samples the states every Every, from
// the start to the end, both included. A sample at a change of phase shows the
// state before the change, but the one at the start shows the steady state.
type Trace struct {
	Phases []Phase
	Every  unit.Second // 0.1 ms to 10 s, at most a million samples
}

// Phases writes out the break's own two.
func (b Break) Phases() []Phase {
	return []Phase{{Lasts: b.Hold, Tip: Blocked}, {Lasts: unit.Second(refWatch), Opening: b.Opening}}
}

// Trace samples a scenario.
func (m *Model) Trace(t Trace) ([]Sample, error) {
	if err := inside("every", float64(t.Every), unit.Bounds{Low: 1e-4, High: 10}, "s"); err != nil {
		return nil, err
	}
	whole := 0.0
	for i := range t.Phases {
		if err := t.Phases[i].check(); err != nil {
			return nil, err
		}
		whole += float64(t.Phases[i].Lasts)
	}
	if err := inside("samples", whole/float64(t.Every), unit.Bounds{Low: 1, High: 1e6}, ""); err != nil {
		return nil, err
	}
	c, err := m.circuit()
	if err != nil {
		return nil, err
	}
	pl := newPlayer(c)
	samples := []Sample{c.sample(0, &pl.y)}
	for i := range t.Phases {
		err := pl.play(&t.Phases[i], func(s *step) {
			for {
				at := float64(len(samples)) * float64(t.Every)
				if at > s.t+s.h+1e-9 {
					return
				}
				y := s.state(min((at-s.t)/s.h, 1))
				samples = append(samples, c.sample(at, &y))
			}
		})
		if err != nil {
			return nil, err
		}
	}
	return samples, nil
}

func (c *circuit) sample(t float64, y *vector) Sample {
	flow := func(q float64) unit.MillilitrePerMinute { return unit.MicrolitrePerSecond(q).MillilitrePerMinute() }
	bypass, _ := c.bypassFlow(y[chamber] - y[node])
	leak, _ := c.leakFlow(y[chamber])
	return Sample{At: unit.Second(t), Chamber: unit.MillimetreHg(y[chamber]), Node: unit.MillimetreHg(y[node]),
		Irrigation: flow(y[irrigation]), Tip: flow(y[tipFlow]), Bypass: flow(bypass), Leak: flow(leak), Volume: unit.Microlitre(y[volume])}
}
