package fluidics

import (
	"cmp"
	"slices"

	"linn/unit"
)

// EnvelopeInput asks where, over a grid of settings, the worst-case break keeps
// the chamber formed. Give Bottles or Forced, not both. For a machine that was
// not calibrated take the soft line (0.6 µL/mmHg) as the model's compliance.
type EnvelopeInput struct {
	Model    Model
	Break    Break
	Bottles  []unit.CentimetreWater
	Forced   []unit.MillimetreHg
	Limits   []unit.MillimetreHg
	Flows    []unit.MillilitrePerMinute
	Progress func(Progress) bool // may be nil; false stops
}

// Progress of an envelope.
type Progress struct{ Done, Total int }

// Cell is one point of the grid.
type Cell struct {
	Supply  int // index into Bottles or Forced
	Limit   int
	Flow    int
	Open    unit.MillimetreHg
	Minimum unit.MillimetreHg
	Lost    unit.Microlitre
	Formed  bool // no collapse at the break, and formed while open
}

// Envelope is the grid, supplies first, then limits, then flows.
type Envelope struct {
	Cells   []Cell
	Stopped bool // Progress said so; Cells holds what was done
}

// coarse is the tolerance of the envelope: it stays within 0.05 mmHg and 0.1 µL
// of accuracy, which a test holds it to.
func coarse() tolerance { return toleranceOf(2e-5) }

// Envelope computes the grid.
func (in EnvelopeInput) Envelope() (Envelope, error) {
	supplies := max(len(in.Bottles), len(in.Forced))
	total := supplies * len(in.Limits) * len(in.Flows)
	if err := inside("grid", float64(total), unit.Bounds{Low: 1, High: 1e6}, "points"); err != nil {
		return Envelope{}, err
	}
	if len(in.Bottles) > 0 && len(in.Forced) > 0 {
		return Envelope{}, &unit.RangeError{What: "forced_mmhg", Got: float64(len(in.Forced)), Unit: "values beside bottle_cm"}
	}
	u := Surge{tol: coarse()}
	out := Envelope{Cells: make([]Cell, 0, total)}
	for s := range supplies {
		for l := range in.Limits {
			for f := range in.Flows {
				cell, err := in.cell(&u, s, l, f)
				if err != nil {
					return out, err
				}
				out.Cells = append(out.Cells, cell)
			}
			if in.Progress != nil && !in.Progress(Progress{len(out.Cells), total}) {
				out.Stopped = true
				return out, nil
			}
		}
	}
	return out, nil
}

func (in *EnvelopeInput) cell(u *Surge, s, l, f int) (Cell, error) {
	m := in.Model
	if len(in.Forced) > 0 {
		m.Forced = unit.Known(in.Forced[s])
	} else {
		m.Bottle, m.Forced = in.Bottles[s], unit.Reading[unit.MillimetreHg]{}
	}
	m.VacuumLimit, m.Flow = in.Limits[l], in.Flows[f]
	a, err := u.Run(&m, in.Break)
	if err != nil {
		return Cell{}, err
	}
	return Cell{Supply: s, Limit: l, Flow: f, Open: a.Open, Minimum: a.Minimum, Lost: a.Lost,
		Formed: !a.Collapse && float64(a.Open) >= formedAbove}, nil
}

// Change is one setting moved by one usual step, and what that does in the
// model.
type Change struct {
	Key      string
	From, To float64
	Unit     string
	Answer   Answer
	Saved    unit.Microlitre // volume lost before less after; below 0 it makes things worse
	Steadier unit.MillimetreHg
}

// The usual steps of Changes.
var (
	bottleStep = declare("change-bottle", 10, "cm", choice)
	limitStep  = declare("change-limit", 50, "mmHg", choice)
	flowStep   = declare("change-flow", 5, "mL/min", choice)
	bypassSize = declare("change-bypass", 0.175, "mm", choice)
)

// Changes tries each setting alone: bottle or set pressure up, limit down, flow
// down, the next narrower needle, a bypass port, a stiff line. Best first, by
// the least pressure after the break and then by the volume saved. What would
// leave the bounds of Fields is not tried.
func (m *Model) Changes(b Break) (Answer, []Change, error) {
	var u Surge
	before, err := u.Run(m, b)
	if err != nil {
		return Answer{}, nil, err
	}
	var list []Change
	for _, c := range m.candidates() {
		if f := FieldNamed(c.Key); f != nil && (c.To < f.Bounds.Low || c.To > f.Bounds.High) {
			continue
		}
		trial := *m
		c.put(&trial)
		a, err := u.Run(&trial, b)
		if err != nil {
			return before, nil, err
		}
		c.Answer, c.Saved, c.Steadier = a, before.Lost-a.Lost, a.Minimum-before.Minimum
		list = append(list, c.Change)
	}
	slices.SortStableFunc(list, func(x, y Change) int {
		return cmp.Or(cmp.Compare(y.Steadier, x.Steadier), cmp.Compare(y.Saved, x.Saved))
	})
	return before, list, nil
}

type candidate struct {
	Change
	put func(*Model)
}

func (m *Model) candidates() (list []candidate) {
	add := func(key, name string, from, to float64, put func(*Model)) {
		list = append(list, candidate{Change{Key: key, From: from, To: to, Unit: name}, put})
	}
	if m.Forced.Known {
		to := m.Forced.Value + unit.CentimetreWater(bottleStep).MillimetreHg()
		add("forced_mmhg", "mmHg", float64(m.Forced.Value), float64(to), func(m *Model) { m.Forced = unit.Known(to) })
	} else {
		to := m.Bottle + unit.CentimetreWater(bottleStep)
		add("bottle_cm", "cm", float64(m.Bottle), float64(to), func(m *Model) { m.Bottle = to })
	}
	limit := m.VacuumLimit - unit.MillimetreHg(limitStep)
	add("vacuum_limit_mmhg", "mmHg", float64(m.VacuumLimit), float64(limit), func(m *Model) { m.VacuumLimit = limit })
	if m.Pump == Peristaltic {
		flow := m.Flow - unit.MillilitrePerMinute(flowStep)
		add("flow_ml_min", "mL/min", float64(m.Flow), float64(flow), func(m *Model) { m.Flow = flow })
	}
	for i, g := range Gauges()[:3] {
		if n, err := NeedleOf(g); err == nil && n == m.Needle {
			next := Gauges()[i+1]
			narrow, err := NeedleOf(next)
			if err == nil {
				add("tip_gauge", "G", float64(g), float64(next), func(m *Model) { m.Needle = narrow })
			}
		}
	}
	if m.BypassBore == 0 {
		add("bypass_mm", "mm", 0, bypassSize, func(m *Model) { m.BypassBore = unit.Millimetre(bypassSize) })
	}
	if float64(m.Compliance) > stiffLine {
		add("line_compliance_ul_per_mmhg", "µL/mmHg", float64(m.Compliance), stiffLine, func(m *Model) { m.Compliance = unit.MicrolitrePerMmHg(stiffLine) })
	}
	return list
}
