package web

import (
	"linn/internal/pathway"
	"linn/unit"
)

// measuredMachine is an invented machine as somebody measured it.
const measuredMachine = `{"format":"linn.calibration/1","machine":"Theatre 2","tip_gauge":20,"incision_mm":2.2,
"head":[{"true_cm":96,"displayed_cm":90}],
"free_flow":[{"head_cm":60,"volume_ml":80,"time_s":70},{"head_cm":90,"volume_ml":110,"time_s":69},{"head_cm":110,"volume_ml":130,"time_s":70}],
"rise":[{"flow_ml_min":20,"vacuum_limit_mmhg":400,"t50_s":0.18,"t90_s":0.33},{"flow_ml_min":40,"vacuum_limit_mmhg":400,"t50_s":0.09,"t90_s":0.165}],
"gauge":[{"shown_mmhg":300,"true_mmhg":339},{"shown_mmhg":500,"true_mmhg":543}]}`

// measuredEye has settings of a machine that was measured on site: settings are
// compared and the change that buys most is named.
func measuredEye() EyeCase {
	c := averageEye()
	data, fit, refused := pathway.Calibrate([]byte(measuredMachine))
	if len(refused) > 0 {
		panic("web: the gallery's machine is refused") // its own text
	}
	m := pathway.ShelfMachine{ID: "m1", Name: "Theatre 2", Data: data, Fit: fit}
	p := &c.Chamber
	p.Machine, p.Measured, p.Editable, p.Volume = m.ID, true, true, unit.Known(unit.Microlitre(140))
	p.Machines = []Option{{"", "", false}, {m.ID, m.Name, true}}
	p.Settings = map[string]map[string]string{
		"groove":          {"bottle_cm": "90", "vacuum_limit_mmhg": "60", "flow_ml_min": "20", "power_pct": "60"},
		"segment-removal": {"bottle_cm": "100", "vacuum_limit_mmhg": "400", "flow_ml_min": "32", "power_pct": "30"},
	}
	for _, phase := range pathway.OperationPhases {
		if a, ok := m.Advice(phase, p.Settings[phase], p.Volume); ok {
			p.Advice = append(p.Advice, a)
		}
	}
	return c
}
