package heat

import (
	"math"

	"linn/source"
	"linn/unit"
)

func declare(name string, value float64, u string, ref source.Ref) float64 {
	return source.Declare(source.Constant{Name: "heat." + name, Value: value, Unit: u, Ref: ref})
}

// Where the numbers come from.
var (
	fit      = source.Ref{Key: source.OwnModel, Where: "wound and chamber nodes, fitted to sleeve temperatures without flow", Grade: source.Own}
	derived  = source.Ref{Key: source.OwnModel, Where: "friction 0.43 × 0.294 N × 8 m/s; laminar exchange over 50 mm²", Grade: source.Own}
	axial    = source.Ref{Key: source.ThermalAxial, Where: "abstract: internal loss below friction, ratio of rises", Grade: source.Read}
	acoustic = source.Ref{Key: source.Mechanisms, Where: "0.2 W/mm² at the tip’s end, times 0.64 mm²", Grade: source.Read}
	room     = source.Ref{Key: source.CommonPractice, Where: "theatre and eye", Grade: source.Memory}
	textbook = source.Ref{Key: source.CommonPractice, Where: "textbook value", Grade: source.Memory}
)

// The reference wound and chamber.
var (
	refFriction  = declare("friction-power", 1.0, "W at 30 gf", derived)
	refInternal  = declare("internal-power", 0.5, "W", axial)
	refLoad      = declare("load", 30, "gf", axial)
	refTorsional = declare("torsional-factor", 0.5, "", axial)
	refCapacity  = declare("wound-capacity", 0.08, "J/K", fit)
	refExchange  = declare("sleeve-exchange", 0.20, "W/K", derived)
	refTissue    = declare("tissue-conduction", 0.02, "W/K", fit)
	refVolume    = declare("chamber-volume", 0.25, "mL", fit)
	refAcoustic  = declare("acoustic-power", 0.13, "W", acoustic)
	refEye       = declare("eye-conduction", 0.02, "W/K", fit)
	refRoom      = declare("irrigation-temperature", 24, "°C", room)
	refBody      = declare("body-temperature", 34, "°C", room)

	density      = declare("saline-density", 1003.5, "kg/m³", source.Ref{Key: source.OwnModel, Where: "saline at 25 °C", Grade: source.Own})
	specificHeat = declare("saline-specific-heat", 4130, "J/(kg K)", textbook)
	perMillilit  = density * specificHeat * 1e-6 // J/(mL K)

	gasConstant = declare("gas-constant", 8.314462618, "J/(mol K)", source.Ref{Key: source.SI, Where: "exact", Grade: source.Memory})
	boltzmann   = declare("boltzmann-constant", 1.380649e-23, "J/K", source.Ref{Key: source.SI, Where: "exact", Grade: source.Memory})
	planck      = declare("planck-constant", 6.62607015e-34, "J s", source.Ref{Key: source.SI, Where: "exact", Grade: source.Memory})
)

// The temperatures that matter, and the alarm.
var (
	warmAt   = declare("warm", 45, "°C", source.Ref{Key: source.OwnChoice, Where: "well below any shrinkage", Grade: source.Own})
	shrinkAt = declare("shrinkage", 60, "°C", source.Ref{Key: source.WoundBurnPage, Where: "60 °C, 1–3 s", Grade: source.Secondary})

	alarm      = source.Ref{Key: source.OwnModel, Where: "one second leaves the hottest case near 50 °C", Grade: source.Own}
	alarmFlow  = declare("alarm-flow", 2, "mL/min", alarm)
	alarmTime  = declare("alarm-time", 1, "s", alarm)
	alarmPower = declare("alarm-power", 30, "%", alarm)
)

// bound is the domain of one number.
type bound struct {
	what      string
	value     float64
	low, high float64
	unit      string
}

// within refuses the first number outside its domain.
func within(list ...bound) error {
	for _, b := range list {
		if !(b.value >= b.low && b.value <= b.high) || math.IsInf(b.value, 0) {
			return &unit.RangeError{What: b.what, Got: b.value, Low: b.low, High: b.high, Unit: b.unit}
		}
	}
	return nil
}
