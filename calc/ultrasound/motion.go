package ultrasound

import (
	"math"

	"linn/source"
	"linn/unit"
)

// Motion is a sinusoidal motion of the tip: x = ½·Stroke·sin(2πft).
type Motion struct {
	Frequency unit.Kilohertz
	Stroke    unit.Micrometre // peak to peak; for a torsional tip the arc at its end
}

// Moves is what a motion amounts to.
type Moves struct {
	Amplitude    unit.Micrometre // half the stroke
	Velocity     unit.MetrePerSecond
	MeanSpeed    unit.MetrePerSecond
	Acceleration unit.MetrePerSecondSquared
	Gravities    unit.Ratio // the acceleration in units of gravity
}

// kinematics is where the formulas come from: they follow from the sine.
var kinematics = source.Ref{Key: source.CommonPractice, Where: "v = πfs, a = 2π²f²s of a sinusoidal motion", Grade: source.Memory}

// motionBounds hold every number that has been taught, however wrong.
func (m Motion) check() error {
	return within(bound{"frequency", float64(m.Frequency), 1e-3, 1e4, "kHz"}, bound{"stroke", float64(m.Stroke), 1e-4, 1e6, "µm"})
}

// Moves returns peak velocity πfs, mean speed 2fs and peak acceleration 2π²f²s.
// Frequencies from 1 Hz to 10 MHz, strokes from 0.1 nm to 1 m.
func (m Motion) Moves() (Moves, error) {
	if err := m.check(); err != nil {
		return Moves{}, err
	}
	f, s := float64(m.Frequency)*1e3, float64(m.Stroke)*1e-6
	a := 2 * math.Pi * math.Pi * f * f * s
	return Moves{
		Amplitude: m.Stroke / 2,
		Velocity:  unit.MetrePerSecond(math.Pi * f * s), MeanSpeed: unit.MetrePerSecond(2 * f * s),
		Acceleration: unit.MetrePerSecondSquared(a), Gravities: unit.Ratio(a / float64(unit.StandardGravity)),
	}, nil
}

// At is the motion at a part of full power: the stroke is taken as proportional
// to the power set, which holds without load.
func (m Motion) At(power unit.Percent) (Motion, error) {
	if err := within(percent("power", power)); err != nil {
		return Motion{}, err
	}
	m.Stroke *= unit.Micrometre(power.Fraction())
	return m, m.check()
}

// StepNames lists every name a working can carry, for the words that go with
// them.
var StepNames = []string{
	"ultrasound.frequency", "ultrasound.stroke", "ultrasound.velocity", "ultrasound.acceleration", "ultrasound.gravities",
	"ultrasound.face-size", "ultrasound.disc-pressure", "ultrasound.rim-pressure",
	"ultrasound.nucleus-rate", "ultrasound.removal-time", "ultrasound.blocked-time", "ultrasound.effective-time", "ultrasound.fluid",
}

func step(name, symbol string, value float64, u string, ref source.Ref) source.Step {
	return source.Step{Name: "ultrasound." + name, Symbol: symbol, Value: value, Unit: u, Ref: ref}
}

// Working shows the motion's numbers.
func (m Motion) Working() ([]source.Step, error) {
	v, err := m.Moves()
	if err != nil {
		return nil, err
	}
	entered := source.Ref{Key: source.Linn, Where: "as entered", Grade: source.Own}
	return []source.Step{
		step("frequency", "f", float64(m.Frequency), "kHz", entered),
		step("stroke", "s", float64(m.Stroke), "µm", entered),
		step("velocity", "v = pi f s", float64(v.Velocity), "m/s", kinematics),
		step("acceleration", "a = 2 pi^2 f^2 s", float64(v.Acceleration), "m/s²", kinematics),
		step("gravities", "a/g", float64(v.Gravities), "", kinematics),
	}, nil
}
