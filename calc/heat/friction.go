package heat

import (
	"linn/calc/ultrasound"
	"linn/source"
	"linn/unit"
)

// Rub is a tip rubbing in its sleeve.
type Rub struct {
	Coefficient unit.Ratio // of friction
	Load        unit.GramForce
	Motion      ultrasound.Motion
}

// Power is coefficient × load × mean speed: what the reference friction of 1 W
// at 30 gf stands for (0.43, 100 µm at 40 kHz).
func (r Rub) Power() (unit.Watt, error) {
	if err := within(bound{"friction", float64(r.Coefficient), 0, 2, ""}, bound{"load", float64(r.Load), 0, 500, "gf"}); err != nil {
		return 0, err
	}
	v, err := r.Motion.Moves()
	if err != nil {
		return 0, err
	}
	return unit.Watt(float64(r.Coefficient) * float64(r.Load.Newton()) * float64(v.MeanSpeed)), nil
}

// AcousticRise is how fast the tip's sound alone would warm a chamber without
// flow, in °C per second.
func (w Wound) AcousticRise() (float64, error) {
	if err := w.check(); err != nil {
		return 0, err
	}
	return float64(w.Acoustic) / (perMillilit * float64(w.Volume)), nil
}

// StepNames lists every name a working can carry, for the words that go with
// them.
var StepNames = []string{"heat.power", "heat.cooling", "heat.lag", "heat.final", "heat.chamber"}

// Working shows where a phase leads.
func (w Wound) Working(p Phase) ([]source.Step, error) {
	r, err := w.Rest(p)
	if err != nil {
		return nil, err
	}
	add := func(name, symbol string, value float64, u string) source.Step {
		return source.Step{Name: "heat." + name, Symbol: symbol, Value: value, Unit: u, Ref: modelRef}
	}
	return []source.Step{
		add("power", "P_w = D m (P_fr N/N0 p + P_in p^2)", float64(r.Heat), "W"),
		add("cooling", "G + G_t", float64(r.Conductance), "W/K"),
		add("lag", "tau = C_w/(G + G_t)", float64(r.Lag), "s"),
		add("final", "T_inf", float64(r.Wound), "°C"),
		add("chamber", "T_c", float64(r.Chamber), "°C"),
	}, nil
}
