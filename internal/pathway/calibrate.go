package pathway

import (
	"linn/calc/fluidics"
	"linn/finding"
)

// The parts of a calibration, for those who print it.
type (
	MachineData = fluidics.Measured
	Calibrated  = fluidics.Calibrated
	Estimate    = fluidics.Estimate
)

// Calibrate answers the file of the command `linn calibrate`: what was
// measured, what it says of the machine, and which parts the data cannot
// support.
func Calibrate(data []byte) (MachineData, Calibrated, finding.Refusals) {
	m, refused := fluidics.ParseMeasured(data)
	if len(refused) > 0 {
		return m, Calibrated{}, refused
	}
	return m, m.Fit(), nil
}

// MeasuredParts lists what can be measured on a machine.
func MeasuredParts() []fluidics.MeasuredPart { return fluidics.MeasuredParts }
