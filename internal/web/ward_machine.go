package web

import (
	"context"
	"math"

	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/unit"
)

func (a *ward) AddMachine(ctx context.Context, by Actor, m MachineForm) error {
	_, err := a.Pathway.AddMachine(ctx, actorOf(by), m.ID, m.Revision, pathway.MachineForm{Name: m.Name, Gauge: m.Gauge, Incision: m.Incision, Parts: m.Parts})
	return said(err)
}

// machinesOf prints the machines of the Shelf.
func (a *ward) machinesOf(list []pathway.ShelfMachine) (out []Machine) {
	for _, m := range list {
		v := Machine{ID: m.ID, Name: m.Name, Revision: m.Number, Complete: m.Fit.Complete()}
		add := func(key string, e *pathway.Estimate, u string) {
			if e != nil {
				v.Fits = append(v.Fits, a.fitOf(key, e, u))
			}
		}
		add("field.head_offset_cm", m.Fit.Offset, "cm")
		if m.Fit.Irrigation != nil {
			add("calibrate.resistance", &m.Fit.Irrigation.Resistance, "mmHg/(mL/min)")
			add("calibrate.quadratic", &m.Fit.Irrigation.Quadratic, "mmHg/(mL/min)²")
		}
		if m.Fit.Line != nil {
			add("field.line_compliance_ul_per_mmhg", &m.Fit.Line.Compliance, "µL/mmHg")
		}
		if m.Fit.Vacuum != nil {
			add("calibrate.gauge-offset", &m.Fit.Vacuum.Offset, "mmHg")
			add("calibrate.gauge-gain", &m.Fit.Vacuum.Gain, "")
		}
		add("field.leak_ml_min_per_mmhg", m.Fit.Leak, "(mL/min)/mmHg")
		out = append(out, v)
	}
	return out
}

func (a *ward) fitOf(key string, e *pathway.Estimate, u string) MachineFit {
	d := 3
	switch {
	case math.Abs(e.Value) >= 10:
		d = 1
	case math.Abs(e.Value) < 0.01:
		d = 5
	}
	f := MachineFit{Key: locale.T(a.lang, key), Value: unit.Fixed(e.Value, d), Interval: a.t("machine.no-interval")}
	if u != "" {
		f.Value += unit.Thin + u
	}
	if e.Bounded {
		f.Interval = a.t("machine.interval", "low", unit.Fixed(e.Low, d), "high", unit.Fixed(e.High, d))
	}
	return f
}
