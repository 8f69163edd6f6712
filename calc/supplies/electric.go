package supplies

import (
	"linn/finding"
	"linn/source"
	"linn/unit"
)

func declare(name string, value float64, u string, ref source.Ref) float64 {
	return source.Declare(source.Constant{Name: "supplies." + name, Value: value, Unit: u, Ref: ref})
}

var (
	practice = source.Ref{Key: source.CommonPractice, Where: "sizing of supplies", Grade: source.Memory}
	choice   = source.Ref{Key: source.OwnChoice, Where: "theatre’s electric supply", Grade: source.Own}

	supplyMargin = declare("supply-margin", 1.25, "", practice)
	heavyLoad    = declare("heavy-load", 1000, "W", choice)
	leastCases   = declare("least-cases", 20, "cases", choice)
	centile      = declare("remaining-centile", 0.9, "", choice)

	heavyOnSupply = finding.Declare(finding.Rule{Code: "load-too-heavy", Severity: finding.Caution, Ref: choice,
		Limit: "a load of 1000 W or more behind the supply: an autoclave or a heater belongs on the mains alone"})
	batteryShort = finding.Declare(finding.Rule{Code: "battery-short", Severity: finding.Caution, Ref: choice,
		Limit: "minutes left on the battery below the 90th centile of the time such a case still takes"})
	fewCases = finding.Declare(finding.Rule{Code: "too-few-case-times", Severity: finding.Note, Ref: choice,
		Limit: "fewer than 20 recorded operations that lasted longer than this one has"})
)

type bound struct {
	what             string
	value, low, high float64
	unit             string
}

func within(list ...bound) error {
	for _, b := range list {
		if !(b.value >= b.low && b.value <= b.high) {
			return &unit.RangeError{What: b.what, Got: b.value, Low: b.low, High: b.high, Unit: b.unit}
		}
	}
	return nil
}

// Load is one thing that draws power.
type Load struct {
	Name     string
	Running  unit.Watt
	Factor   unit.Ratio // power factor, above 0 to 1
	Starting unit.Ratio // power while it starts over Running, 1 to 10
}

func (l Load) check() error {
	return within(bound{"load_w", float64(l.Running), 0, 10000, "W"}, bound{"power_factor", float64(l.Factor), 0.3, 1, ""}, bound{"starting", float64(l.Starting), 1, 10, ""})
}

// Demand is what loads draw together.
type Demand struct {
	Running  unit.Watt
	Apparent unit.VoltAmpere
	Starting unit.VoltAmpere // while the load with the greatest surge starts and the others run
	Supply   unit.VoltAmpere // that the supply must be rated for: the greater of Starting and 1.25 times Apparent
	Findings []finding.Finding
}

// Sum adds loads.
func Sum(loads []Load) (d Demand, err error) {
	surge := 0.0
	for _, l := range loads {
		if err := l.check(); err != nil {
			return Demand{}, err
		}
		va := float64(l.Running) / float64(l.Factor)
		d.Running += l.Running
		d.Apparent += unit.VoltAmpere(va)
		surge = max(surge, va*(float64(l.Starting)-1))
		if float64(l.Running) >= heavyLoad {
			d.Findings = append(d.Findings, heavyOnSupply.On("load_w", finding.Value{Name: "load", Text: l.Name}, finding.Value{Name: "got", Text: l.Running.String()}))
		}
	}
	d.Starting = d.Apparent + unit.VoltAmpere(surge)
	d.Supply = max(unit.VoltAmpere(supplyMargin)*d.Apparent, d.Starting)
	return d, nil
}

// Battery says how much of a battery's label can be drawn.
type Battery struct {
	Efficiency unit.Ratio // of the inverter
	Depth      unit.Ratio // how deep it may be discharged
	Ageing     unit.Ratio // part of the label's capacity that is left
	Voltage    unit.Volt
}

// Usual batteries: lead-acid, and lithium.
var (
	leadAcid = Battery{unit.Ratio(declare("lead-efficiency", 0.85, "", practice)), unit.Ratio(declare("lead-depth", 0.5, "", practice)),
		unit.Ratio(declare("lead-ageing", 0.8, "", practice)), 12}
	lithium = Battery{unit.Ratio(declare("lithium-efficiency", 0.9, "", practice)), unit.Ratio(declare("lithium-depth", 0.8, "", practice)),
		unit.Ratio(declare("lithium-ageing", 0.9, "", practice)), 12}
)

// LeadAcid is a usual lead-acid battery of 12 V behind an inverter.
func LeadAcid() Battery { return leadAcid }

// Lithium is a usual lithium battery of 12 V behind an inverter.
func Lithium() Battery { return lithium }

func (b Battery) part() (float64, error) {
	err := within(bound{"efficiency", float64(b.Efficiency), 0.3, 1, ""}, bound{"depth", float64(b.Depth), 0.05, 1, ""},
		bound{"ageing", float64(b.Ageing), 0.05, 1, ""}, bound{"voltage_v", float64(b.Voltage), 1, 800, "V"})
	return float64(b.Efficiency * b.Depth * b.Ageing), err
}

// Draw is a load for a time.
type Draw struct {
	Power unit.Watt
	Time  unit.Minute
}

// Energy of the draw.
func (d Draw) Energy() unit.WattHour { return unit.WattHour(float64(d.Power) * float64(d.Time) / 60) }

// Size is the battery's label for a draw: energy over efficiency, depth of
// discharge and ageing.
func (b Battery) Size(d Draw) (unit.WattHour, unit.AmpereHour, error) {
	part, err := b.part()
	if err == nil {
		err = within(bound{"load_w", float64(d.Power), 0, 20000, "W"}, bound{"time_min", float64(d.Time), 0, 24 * 60, "min"})
	}
	if err != nil {
		return 0, 0, err
	}
	wh := float64(d.Energy()) / part
	return unit.WattHour(wh), unit.AmpereHour(wh / float64(b.Voltage)), nil
}

// Bank is a battery as it stands in the room.
type Bank struct {
	Battery
	Label unit.AmpereHour
}

// Lasts is how long the bank carries a load.
func (b Bank) Lasts(power unit.Watt) (unit.Minute, error) {
	part, err := b.part()
	if err == nil {
		err = within(bound{"battery_ah", float64(b.Label), 0.1, 10000, "Ah"}, bound{"load_w", float64(power), 1, 20000, "W"})
	}
	if err != nil {
		return 0, err
	}
	return unit.Minute(60 * float64(b.Label) * float64(b.Voltage) * part / float64(power)), nil
}
