package ultrasound

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

var (
	salineDensity = declare("saline-density", 1003.5, "kg/m³", source.Ref{Key: source.OwnModel, Where: "saline at 25 °C", Grade: source.Own})
	salineSound   = declare("saline-sound-velocity", 1507, "m/s", source.Ref{Key: source.CommonPractice, Where: "saline near 25 °C", Grade: source.Memory})
	piston        = source.Ref{Key: source.AcousticTextbook, Where: "reactance of a small piston, 8ka/(3π)", Grade: source.Memory}
	rimOwn        = source.Ref{Key: source.OwnModel, Where: "inertia of the fluid over the width of the wall", Grade: source.Own}
)

// Face is the end of the tip.
type Face struct {
	Radius unit.Millimetre // of the whole face
	Wall   unit.Millimetre // width of the annular wall
}

// UsualFace is that of a 0.9 mm tip.
func UsualFace() Face { return Face{Radius: 0.45, Wall: 0.10} }

// Pressures are amplitudes of sound pressure at the face by three readings.
type Pressures struct {
	Plane unit.Bar // ρcv: only for a face much wider than the wave
	Disc  unit.Bar // 8/(3π)·ρωva: the near field of a small piston
	Rim   unit.Bar // ρωvw: of the annular wall, one free length
}

// Near are the numbers of the field that say which reading fits.
type Near struct {
	Pressures
	Wavelength unit.Millimetre
	Size       unit.Ratio // wave number × radius; the plane wave needs it far above 1
}

// Pressure of the motion m at the face.
func (f Face) Pressure(m Motion) (Near, error) {
	v, err := m.Moves()
	if err != nil {
		return Near{}, err
	}
	if err := within(bound{"radius", float64(f.Radius), 0.05, 5, "mm"}, bound{"wall", float64(f.Wall), 0.01, 5, "mm"}); err != nil {
		return Near{}, err
	}
	omega, peak := 2*math.Pi*float64(m.Frequency)*1e3, float64(v.Velocity)
	bar := func(pascal float64) unit.Bar { return unit.Pascal(pascal).Bar() }
	return Near{
		Pressures: Pressures{
			Plane: bar(salineDensity * salineSound * peak),
			Disc:  bar(8 / (3 * math.Pi) * salineDensity * omega * peak * float64(f.Radius) * 1e-3),
			Rim:   bar(salineDensity * omega * peak * float64(f.Wall) * 1e-3),
		},
		Wavelength: unit.Millimetre(salineSound / float64(m.Frequency)),
		Size:       unit.Ratio(omega / salineSound * float64(f.Radius) * 1e-3),
	}, nil
}

// Working shows the near field of the motion m, the plane wave left out: it does
// not apply.
func (f Face) Working(m Motion) ([]source.Step, error) {
	n, err := f.Pressure(m)
	if err != nil {
		return nil, err
	}
	return []source.Step{
		step("face-size", "k a", float64(n.Size), "", piston),
		step("disc-pressure", "8/(3 pi) rho omega v a", float64(n.Disc), "bar", piston),
		step("rim-pressure", "rho omega v w", float64(n.Rim), "bar", rimOwn),
	}, nil
}

// SoundVelocity is that of saline near room temperature.
func SoundVelocity() unit.MetrePerSecond { return unit.MetrePerSecond(salineSound) }

// Thresholds of power at which cavitation was seen on high-speed video.
var (
	seen                   = source.Ref{Key: source.Cavitation2013, Where: "abstract", Grade: source.Read}
	cavitationLongitudinal = declare("cavitation-seen-longitudinal", 60, "%", seen)
	cavitationTorsional    = declare("cavitation-seen-torsional", 80, "%", seen)

	cavitationSeen = finding.Declare(finding.Rule{Code: "cavitation-seen", Severity: finding.Note, Ref: seen,
		Limit: "power from 60 % longitudinal, 80 % torsional; whether it cuts is disputed"})
)

// Cavitation notes when bubbles were seen at this power in one study. There,
// raising the ambient pressure suppressed them and the cutting stayed; a review
// (packer2005) holds that both work. Any single threshold is nominal: what
// counts is the number of nuclei and the gas in the fluid.
func Cavitation(d Drive) []finding.Finding {
	limit := cavitationLongitudinal
	if d.Way == Torsional {
		limit = cavitationTorsional
	}
	if float64(d.Power) < limit {
		return nil
	}
	return []finding.Finding{cavitationSeen.On("power_pct", finding.Value{Name: "got", Text: d.Power.String()}, finding.Value{Name: "limit", Text: unit.Percent(limit).String()})}
}
