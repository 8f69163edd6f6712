package fluidics

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// The standard atmosphere up to 5000 m.
var (
	airRef        = source.Ref{Key: source.StandardAir, Where: "troposphere", Grade: source.Memory}
	airSeaLevel   = declare("air-sea-level", 760, "mmHg", airRef)
	airLapse      = declare("air-lapse", 2.25577e-5, "1/m", airRef)
	airExponent   = declare("air-exponent", 5.25588, "", airRef)
	practicalPart = declare("practical-vacuum", 0.9, "", choice)
)

// Ceiling is the most vacuum a place allows: the pressure of the air less the
// vapour pressure of the fluid, where it boils.
type Ceiling struct {
	Air       unit.MillimetreHg
	Vacuum    unit.MillimetreHg
	Practical unit.MillimetreHg // 90 % of it
}

// VacuumCeiling is that of a place at an altitude from −400 to 5000 m for the
// fluid s.
func VacuumCeiling(altitude unit.Metre, s Saline) (Ceiling, error) {
	if err := inside("altitude", float64(altitude), unit.Bounds{Low: -400, High: 5000}, "m"); err != nil {
		return Ceiling{}, err
	}
	air := unit.MillimetreHg(airSeaLevel * math.Pow(1-airLapse*float64(altitude), airExponent))
	v := air - s.Vapour
	return Ceiling{Air: air, Vacuum: v, Practical: v * unit.MillimetreHg(practicalPart)}, nil
}

var vacuumAboveCeiling = finding.Declare(finding.Rule{Code: "vacuum-above-ceiling", Severity: finding.Caution,
	Ref: source.Ref{Key: source.OwnModel, Where: "air pressure less vapour pressure", Grade: source.Own}, Limit: "vacuum limit above 90 % of what the altitude allows"})

// Check says when a vacuum limit is more than the place can give.
func (c Ceiling) Check(limit unit.MillimetreHg) []finding.Finding {
	if limit <= c.Practical {
		return nil
	}
	return []finding.Finding{vacuumAboveCeiling.On("vacuum_limit_mmhg", finding.Value{Name: "got", Text: limit.String()},
		finding.Value{Name: "limit", Text: c.Practical.String()})}
}
