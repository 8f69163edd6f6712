package fluidics

import (
	"linn/unit"
)

// Pump is the kind of aspiration pump.
type Pump string

// The pumps. Peristaltic sets a flow up to the vacuum limit; Vacuum (a venturi
// or the like) holds the limit in its cassette and takes what flows.
const (
	Peristaltic Pump = "peristaltic"
	Vacuum      Pump = "vacuum"
)

// Model is one machine, tip, wound and eye with every number the equations
// need. Start from Reference or Settings.Model.
type Model struct {
	Temperature unit.Celsius

	Bottle, HeadOffset unit.CentimetreWater // displayed height; what must be added for the true height above the eye
	Forced             unit.Reading[unit.MillimetreHg]
	ForcedLag          unit.Second
	ForcedCeiling      unit.MillimetreHg // the highest pressure the source can make

	Tube, Channel Tube
	Sleeve        Sleeve
	Needle        Needle
	BypassBore    unit.Millimetre // 0: no bypass port
	Discharge     unit.Ratio
	Lumen, Line   Tube // handpiece and whole aspiration line; the model's node stands halfway along the line
	Compliance    unit.MicrolitrePerMmHg
	Air           Bubble // in the aspiration line, Volume 0: none

	Pump        Pump
	Flow        unit.MillilitrePerMinute // peristaltic only
	VacuumLimit unit.MillimetreHg
	Droop       unit.Ratio  // fraction of the limit over which a peristaltic pump slows
	PumpLag     unit.Second // of a vacuum pump's cassette

	Leak          unit.MillilitrePerMinuteMmHg
	Globe         GlobeLaw
	ChamberVolume unit.Microlitre
	CapsuleArea   unit.SquareMillimetre
}

// Reference is the reference model: gravity at 90 cm, 30 mL/min, 400 mmHg, a
// 20G needle in a 2.2 mm incision. It is no particular machine.
func Reference() Model {
	needle, err := NeedleOf(20)
	if err != nil {
		panic("fluidics: the reference needle is not in the table")
	}
	mm := func(v float64) unit.Millimetre { return unit.Millimetre(v) }
	loss := unit.Ratio(refLoss)
	return Model{
		Temperature: 25,
		Bottle:      unit.CentimetreWater(refBottle),
		ForcedLag:   unit.Second(refForcedLag), ForcedCeiling: unit.MillimetreHg(refForcedTop),
		Tube:    Tube{Bore: mm(refTubeBore), Length: mm(refTubeLength)},
		Channel: Tube{Bore: mm(refChannelBore), Length: mm(refChannelLength), Loss: loss},
		Sleeve: Sleeve{Bore: mm(sleeve22), Length: mm(refSleeveLength), PortBore: mm(refPortBore), Ports: 2, Loss: loss,
			WoundFactor: unit.Ratio(refWound)},
		Needle:    needle,
		Discharge: unit.Ratio(refDischarge),
		Lumen:     Tube{Bore: mm(refLumenBore), Length: mm(refLumenLength)},
		Line:      Tube{Bore: mm(refLineBore), Length: mm(refLineLength)},

		Compliance: unit.MicrolitrePerMmHg(refCompliance),
		Pump:       Peristaltic,
		Flow:       unit.MillilitrePerMinute(refFlow), VacuumLimit: unit.MillimetreHg(refLimit),
		Droop: unit.Ratio(refDroop), PumpLag: unit.Second(refPumpLag),
		Leak:  unit.MillilitrePerMinuteMmHg(refLeak),
		Globe: GlobeLaws()[0], ChamberVolume: unit.Microlitre(refChamber), CapsuleArea: unit.SquareMillimetre(refCapsule),
	}
}

// Head is the pressure under the irrigating column at the level of the eye.
func (m *Model) Head() unit.MillimetreHg { return (m.Bottle + m.HeadOffset).MillimetreHg() }

// Elements lists the passages in the order the fluid takes: irrigation tube,
// channel, sleeve, needle, lumen, half of the aspiration line (twice in the
// model: before and behind the node).
func (m *Model) Elements() ([]Element, error) {
	if err := m.check(); err != nil {
		return nil, err
	}
	s, err := SalineAt(m.Temperature)
	if err != nil {
		return nil, err
	}
	f := s.metric()
	half := m.Line
	half.Length /= 2
	return []Element{
		m.Tube.element("irrigation-tube", f), m.Channel.element("irrigation-channel", f), m.Sleeve.element("sleeve", m.Needle.Outer, f),
		m.Needle.tube().element("needle", f), m.Lumen.element("aspiration-lumen", f), half.element("half-line", f),
	}, nil
}

// bound is the domain of one number of the model.
type bound struct {
	what      string
	value     float64
	low, high float64
	unit      string
}

// check refuses a model with a number outside its domain. The limits are our
// own choice: wide beyond every part in use, narrow enough to keep the
// equations meaningful.
func (m *Model) check() error {
	if m.Pump != Peristaltic && m.Pump != Vacuum {
		return &unit.RangeError{What: "pump", Got: 0, Low: 1, High: 2, Unit: "peristaltic or vacuum"}
	}
	for _, b := range m.bounds() {
		if err := inside(b.what, b.value, unit.Bounds{Low: b.low, High: b.high}, b.unit); err != nil {
			return err
		}
	}
	return nil
}

func (m *Model) bounds() []bound {
	list := []bound{
		{"head", float64(m.Bottle + m.HeadOffset), 0, 250, "cm"},
		{"forced_lag", float64(m.ForcedLag), 0.01, 10, "s"},
		{"forced_ceiling", float64(m.ForcedCeiling), 1, 300, "mmHg"},
		{"needle-inner", float64(m.Needle.Inner), 0.2, 2, "mm"},
		{"sleeve-gap", float64(m.Sleeve.Bore - m.Needle.Outer), 0.05, 3, "mm"},
		{"sleeve-length", float64(m.Sleeve.Length), 1, 100, "mm"},
		{"sleeve-port", float64(m.Sleeve.PortBore), 0.1, 3, "mm"},
		{"sleeve-ports", float64(m.Sleeve.Ports), 1, 6, ""},
		{"wound_factor", float64(m.Sleeve.WoundFactor), 0.4, 20, ""},
		{"bypass_mm", float64(m.BypassBore), 0, 0.5, "mm"},
		{"bypass-discharge", float64(m.Discharge), 0.1, 1, ""},
		{"line_compliance_ul_per_mmhg", float64(m.Compliance), 0.005, 5, "µL/mmHg"},
		{"vacuum_limit_mmhg", float64(m.VacuumLimit), 1, 760, "mmHg"},
		{"pump_droop", float64(m.Droop), 0.01, 1, ""},
		{"pump-lag", float64(m.PumpLag), 0.01, 10, "s"},
		{"leak_ml_min_per_mmhg", float64(m.Leak), 0, 5, "(mL/min)/mmHg"},
		{"globe-coefficient", m.Globe.Coefficient, 0.001, 10, ""},
		{"globe-exponent", m.Globe.Exponent, 0, 1, ""},
		{"globe-floor", float64(m.Globe.Floor), 1, 30, "mmHg"},
		{"chamber_volume_ul", float64(m.ChamberVolume), 1, 2000, "µL"},
		{"capsule-area", float64(m.CapsuleArea), 1, 500, "mm²"},
	}
	if m.Pump == Peristaltic {
		list = append(list, bound{"flow_ml_min", float64(m.Flow), 0, 200, "mL/min"})
	}
	list = append(list, m.airBounds()...)
	if m.Forced.Known {
		list = append(list, bound{"forced_mmhg", float64(m.Forced.Value), 0, 200, "mmHg"})
	}
	for _, t := range []struct {
		name string
		Tube
	}{{"irrigation-tube", m.Tube}, {"irrigation-channel", m.Channel}, {"needle", m.Needle.tube()}, {"aspiration-lumen", m.Lumen}, {"aspiration-line", m.Line}} {
		list = append(list, bound{t.name + "-bore", float64(t.Bore), 0.2, 10, "mm"}, bound{t.name + "-length", float64(t.Length), 1, 10000, "mm"},
			bound{t.name + "-loss", float64(t.Loss), 0, 100, ""})
	}
	return list
}
