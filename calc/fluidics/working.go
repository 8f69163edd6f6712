package fluidics

import (
	"linn/source"
	"linn/unit"
)

// StepNames lists every name a working can carry, for the words that go with
// them.
var StepNames = []string{
	"fluidics.head", "fluidics.irrigation-resistance", "fluidics.irrigation-flow", "fluidics.irrigation-drop", "fluidics.leak-flow", "fluidics.open-pressure",
	"fluidics.tip-flow", "fluidics.tip-drop", "fluidics.node-vacuum", "fluidics.pump-vacuum", "fluidics.line-store", "fluidics.rise", "fluidics.grip",
}

// Working shows how the steady state comes about, and the closed forms beside
// the simulation: what the line stores, how long the vacuum rises (peristaltic
// pumps without a bypass), how hard the limit holds a piece.
func (m *Model) Working() ([]source.Step, error) {
	c, err := m.circuit()
	if err != nil {
		return nil, err
	}
	y, ceiling := c.rest()
	s := c.report(&y, ceiling)
	var steps []source.Step
	add := func(name, symbol string, value float64, u string, ref source.Ref) {
		steps = append(steps, source.Step{Name: "fluidics." + name, Symbol: symbol, Value: value, Unit: u, Ref: ref})
	}
	water := source.Ref{Key: source.SI, Where: "conventional column of water", Grade: source.Memory}
	drop, _ := c.irrigationDrop(y[irrigation])
	tip, _ := c.tipDrop(y[tipFlow], 1)
	add("head", "P_b", float64(s.Supply), "mmHg", water)
	add("irrigation-resistance", "R_i", c.in.r*float64(unit.MillilitrePerMinute(1).MicrolitrePerSecond()), "mmHg/(mL/min)", poiseuille)
	add("irrigation-flow", "Q_i", float64(s.Irrigation), "mL/min", modelRef)
	add("irrigation-drop", "D_i(Q_i)", drop, "mmHg", poiseuille)
	add("leak-flow", "Q_leak = g_l P_c", float64(s.Leak), "mL/min", modelRef)
	add("open-pressure", "P_c = P_b - D_i", float64(s.Chamber), "mmHg", modelRef)
	add("tip-flow", "Q_t", float64(s.Tip), "mL/min", modelRef)
	add("tip-drop", "D_t(Q_t)", tip, "mmHg", poiseuille)
	add("node-vacuum", "-P_a", float64(s.NodeVacuum), "mmHg", modelRef)
	add("pump-vacuum", "-P_a + D_h", float64(s.PumpVacuum), "mmHg", modelRef)
	rise := Rise{Compliance: m.Compliance, Limit: m.VacuumLimit, Start: s.NodeVacuum, Flow: m.Flow, Droop: m.Droop}
	add("line-store", "C_a (V_lim - V_0)", float64(rise.SurgeBound()), "µL", modelRef)
	if t, err := rise.To(unit.Ratio(riseFraction)); err == nil && m.Pump == Peristaltic && m.BypassBore == 0 {
		add("rise", "t90 = C_a (0.9 V_lim - V_0)/q", float64(t), "s", modelRef)
	}
	if g, err := m.Needle.Grip(m.VacuumLimit); err == nil {
		add("grip", "F = V_lim pi d^2/4", float64(g.OnBore), "N", gripRef)
	}
	return steps, nil
}
