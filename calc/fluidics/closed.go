package fluidics

import (
	"math"

	"linn/unit"
)

// Rise is the closed form of how the vacuum rises behind a blocked tip: a
// peristaltic pump, no bypass.
type Rise struct {
	Compliance unit.MicrolitrePerMmHg
	Limit      unit.MillimetreHg
	Start      unit.MillimetreHg // vacuum at the node when the tip closes
	Flow       unit.MillilitrePerMinute
	Droop      unit.Ratio
}

// To is the time to the fraction of the limit: C·(V·x - V₀)/q while the pump runs
// at full flow, then exponential over the droop. The fraction is below 1; at or
// below the start the time is 0. Flow, limit, compliance and droop are above 0.
func (r Rise) To(fraction unit.Ratio) (unit.Second, error) {
	bounds := []bound{
		{"line_compliance_ul_per_mmhg", float64(r.Compliance), 1e-6, 100, "µL/mmHg"}, {"vacuum_limit_mmhg", float64(r.Limit), 1e-3, 760, "mmHg"},
		{"flow_ml_min", float64(r.Flow), 1e-3, 1000, "mL/min"}, {"pump_droop", float64(r.Droop), 1e-6, 1, ""},
		{"fraction", float64(fraction), 0, 1 - 1e-9, ""}, {"start", float64(r.Start), -760, 760, "mmHg"},
	}
	for _, b := range bounds {
		if err := inside(b.what, b.value, unit.Bounds{Low: b.low, High: b.high}, b.unit); err != nil {
			return 0, err
		}
	}
	c, v, q := float64(r.Compliance), float64(r.Limit), float64(r.Flow.MicrolitrePerSecond())
	beta, start, goal := float64(r.Droop), float64(r.Start), float64(fraction)*float64(r.Limit)
	if goal <= start {
		return 0, nil
	}
	knee := (1 - beta) * v // the pump slows from here on
	linear := max(min(goal, knee)-start, 0)
	t := c * linear / q
	if goal > knee {
		from := max(start, knee)
		t += c * beta * v / q * math.Log((v-from)/(v-goal))
	}
	return unit.Second(t), nil
}

// SurgeBound is the most that the line can take back at a break: its compliance
// times the vacuum lost, C·(V - V₀). What the chamber loses can exceed it by
// what the irrigation still owes while its column is set moving.
func (r Rise) SurgeBound() unit.Microlitre {
	return unit.Microlitre(float64(r.Compliance) * float64(r.Limit-r.Start))
}

// ForcedLagLimit is the shortest lag of forced infusion that does not swing with
// the chamber closed: inertance over resistance of the irrigation (Routh's
// condition of I·C·s³ + R·C·s² + s + 1/τ = 0). Below it the control rings or runs
// away: a limit of the design, not of the computation.
func (m *Model) ForcedLagLimit() (unit.Second, error) {
	c, err := m.circuit()
	if err != nil {
		return 0, err
	}
	return unit.Second(c.in.i / c.in.r), nil
}

// BottleTime is how long a bottle lasts.
type BottleTime struct {
	Flow            unit.MillilitrePerMinute
	Bottle, Reserve unit.Millilitre // the reserve stays: an empty drip chamber pushes air
}

// Foot is the time with irrigation and aspiration on all the while.
func (b BottleTime) Foot() (unit.Second, error) {
	if err := inside("flow", float64(b.Flow), unit.Bounds{Low: 0.1, High: 500}, "mL/min"); err != nil {
		return 0, err
	}
	if err := inside("bottle", float64(b.Bottle-b.Reserve), unit.Bounds{Low: 0, High: 5000}, "mL"); err != nil {
		return 0, err
	}
	return unit.Second(60 * float64(b.Bottle-b.Reserve) / float64(b.Flow)), nil
}
