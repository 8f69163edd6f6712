package ultrasound

import (
	"linn/unit"
)

// Way is the direction in which the tip swings.
type Way string

// The ways.
const (
	Longitudinal Way = "longitudinal"
	Torsional    Way = "torsional"
)

// Mode is how power is given over time.
type Mode string

// The modes. A pulse is short on and short off at a steady rate of up to about
// 20 per second; a short pulse faster than that; a burst has a fixed on-time
// while the rest shortens with the pedal. The bounds are usage, without a source.
const (
	Continuous Mode = "continuous"
	Pulse      Mode = "pulse"
	ShortPulse Mode = "short-pulse"
	Burst      Mode = "burst"
)

// Drive is a stretch of ultrasound.
type Drive struct {
	Way     Way          // "" is Longitudinal
	Power   unit.Percent // of full power while on; for a torsional tip of its amplitude
	On, Off unit.Second  // of one cycle; Off 0 is continuous
	Time    unit.Second  // with the pedal down
}

// Rhythm is a pulse as consoles state it.
type Rhythm struct {
	PerSecond unit.Ratio
	Duty      unit.Percent
}

// Cycle turns the rhythm into on and off times.
func (r Rhythm) Cycle() (on, off unit.Second, err error) {
	if err := within(bound{"pulses per second", float64(r.PerSecond), 0.1, 1000, "1/s"}, percent("duty", r.Duty)); err != nil {
		return 0, 0, err
	}
	whole := 1 / unit.Second(r.PerSecond)
	on = whole * unit.Second(r.Duty.Fraction())
	return on, whole - on, nil
}

func (d Drive) check() error {
	return within(percent("power", d.Power), bound{"on", float64(d.On), 0, 60, "s"}, bound{"off", float64(d.Off), 0, 60, "s"}, bound{"time", float64(d.Time), 0, 3600, "s"})
}

// Duty is the share of the time that power is on: 100 % when Off is 0.
func (d Drive) Duty() (unit.Percent, error) {
	if err := d.check(); err != nil {
		return 0, err
	}
	if d.Off == 0 {
		return 100, nil
	}
	return unit.Percent(100 * d.On / (d.On + d.Off)), nil
}

// Mode names the rhythm; a burst cannot be told from a pulse by one cycle.
func (d Drive) Mode() Mode {
	switch {
	case d.Off == 0:
		return Continuous
	case 1/float64(d.On+d.Off) > 20:
		return ShortPulse
	}
	return Pulse
}

// Energy is what drives add up to. None of it is in joules: a console knows its
// power in per cent of its own full power, so numbers of different makers cannot
// be compared.
type Energy struct {
	Time      unit.Second  // pedal down
	On        unit.Second  // with power
	MeanPower unit.Percent // over the time with the pedal down; some consoles leave out the rests
	Effective unit.Second  // effective phaco time: as if at full power without rests

	Longitudinal, Torsional unit.Second // the effective time by way
}

// Sum adds drives. Power is from 0 to 100 %, times to an hour.
func Sum(drives []Drive) (Energy, error) {
	var e Energy
	for _, d := range drives {
		duty, err := d.Duty()
		if err != nil {
			return Energy{}, err
		}
		e.Time += d.Time
		e.On += d.Time * unit.Second(duty.Fraction())
		effective := d.Time * unit.Second(duty.Fraction()*d.Power.Fraction())
		if e.Effective += effective; d.Way == Torsional {
			e.Torsional += effective
		} else {
			e.Longitudinal += effective
		}
	}
	if e.Time > 0 {
		e.MeanPower = unit.Percent(100 * e.Effective / e.Time)
	}
	return e, nil
}

// StrokeTime is the sum of amplitude × time with torsional time weighted. No
// weight is assumed: one family of systems uses a weight of its maker's that no
// study supports, and sums with different weights cannot be compared. The weight
// is from 0 to 2.
func (e Energy) StrokeTime(torsionalWeight unit.Ratio) (unit.Second, error) {
	if err := within(bound{"weight", float64(torsionalWeight), 0, 2, ""}); err != nil {
		return 0, err
	}
	return e.Longitudinal + e.Torsional*unit.Second(torsionalWeight), nil
}
