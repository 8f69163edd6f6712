package lenspower

import (
	"linn/calc/optics"
	"linn/source"
	"linn/unit"
)

// HistoricalMethod is a formula of the past: for teaching and comparison, never
// for a plan. SRK II jumps by up to 1 D where its bands meet.
type HistoricalMethod struct {
	ID, Version string
	Ref         source.Ref
	Key         string // contract key of its constant
	solve       func(HistoricalInput) HistoricalSolution
}

// HistoricalInput is one eye.
type HistoricalInput struct {
	AxialLength unit.Millimetre
	K           unit.Dioptre // mean, at 1.3375
	Vertex      unit.Millimetre
	Constants   Constants // A for srk-1 and srk-2, pACD for binkhorst-2
}

// HistoricalSolution answers one eye. SRK I and II have no lens position.
type HistoricalSolution struct {
	Position unit.Reading[unit.Millimetre]
	thin     bool
	eye      optics.Thin
	emme     unit.Dioptre
	factor   unit.Dioptre // lens power per dioptre of refraction
}

// HistoricalMethods are the formulas of the past.
var HistoricalMethods = []*HistoricalMethod{
	{ID: "srk-1", Version: "1", Ref: source.Ref{Key: source.SRKI, Where: "SRK I; the factor of a target is SRK II's", Grade: source.Read}, Key: "a",
		solve: func(in HistoricalInput) HistoricalSolution { return srkLine(in, 0) }},
	{ID: "srk-2", Version: "1", Ref: source.Ref{Key: source.SRKII, Where: "equation", Grade: source.Memory}, Key: "a",
		solve: func(in HistoricalInput) HistoricalSolution { return srkLine(in, srk2Step(in.AxialLength)) }},
	{ID: "binkhorst-2", Version: "1", Ref: source.Ref{Key: source.Binkhorst1984, Where: "equation", Grade: source.Memory}, Key: "pacd_mm", solve: binkhorst2},
}

const (
	srkLength, srkK                  = 2.5, 0.9
	srk2Strong, srk2Weak, srk2Change = 1.25, 1.0, 14.0

	binkhorstMean, binkhorstMost = 23.45, 26.0
	binkhorstCornea              = 4.0 // the cornea's image lies at 4r
)

var _ = declare(source.SRKI, source.Read,
	coefficient{"srk.length", srkLength, "D/mm", "SRK I"},
	coefficient{"srk.k", srkK, "", "SRK I"},
) && declare(source.SRKII, source.Memory,
	coefficient{"srk.factor-strong", srk2Strong, "", "per dioptre of target, above 14 D"},
	coefficient{"srk.factor-weak", srk2Weak, "", "per dioptre of target"},
	coefficient{"srk.factor-change", srk2Change, "D", "emmetropic power"},
) && declare(source.Binkhorst1984, source.Memory,
	coefficient{"binkhorst-2.mean-length", binkhorstMean, "mm", "depth scaled by the length"},
	coefficient{"binkhorst-2.most-length", binkhorstMost, "mm", "depth scaled by the length"},
	coefficient{"binkhorst-2.cornea", binkhorstCornea, "", "image at 4r, nc = 4/3"},
)

// HistoricalMethodNamed returns the method with the id, nil when there is none.
func HistoricalMethodNamed(id string) *HistoricalMethod {
	for _, m := range HistoricalMethods {
		if m.ID == id {
			return m
		}
	}
	return nil
}

// srk2Step is what SRK II adds to A by axial length.
func srk2Step(al unit.Millimetre) unit.Dioptre {
	switch {
	case al < 20:
		return 3
	case al < 21:
		return 2
	case al < 22:
		return 1
	case al < 24.5:
		return 0
	}
	return -0.5
}

func srkLine(in HistoricalInput, step unit.Dioptre) HistoricalSolution {
	p := unit.Dioptre(in.Constants.A.Value) + step - srkK*in.K - unit.Dioptre(srkLength*in.AxialLength)
	s := HistoricalSolution{emme: p, factor: srk2Weak}
	if p > srk2Change {
		s.factor = srk2Strong
	}
	return s
}

func binkhorst2(in HistoricalInput) HistoricalSolution {
	d := in.Constants.PACD.Value * min(in.AxialLength, binkhorstMost) / binkhorstMean
	cornea := 1000 * float64(optics.Aqueous) / (binkhorstCornea * radius(float64(in.K)))
	return HistoricalSolution{Position: unit.Known(d), thin: true, eye: optics.Thin{Cornea: unit.Dioptre(cornea), Length: in.AxialLength, Position: d, Vertex: in.Vertex}}
}

// Solve answers one eye. Errors: *MissingError for the constant, *unit.RangeError
// outside axial length 15 to 38 mm, K 25 to 65 D, vertex 8 to 16 mm or where
// the lens would not lie in the eye.
func (m *HistoricalMethod) Solve(in HistoricalInput) (HistoricalSolution, error) {
	switch {
	case m.Key == "a" && !in.Constants.A.Known || m.Key == "pacd_mm" && !in.Constants.PACD.Known:
		return HistoricalSolution{}, &MissingError{m.ID, m.Key}
	case !within(float64(in.AxialLength), lengthBounds):
		return HistoricalSolution{}, outside("axial_length_mm", float64(in.AxialLength), lengthBounds, "mm")
	case !within(float64(in.K), kBounds):
		return HistoricalSolution{}, outside("k_flat_d", float64(in.K), kBounds, "D")
	case !within(float64(in.Vertex), vertexBounds):
		return HistoricalSolution{}, outside("vertex_mm", float64(in.Vertex), vertexBounds, "mm")
	}
	if a := (unit.Bounds{Low: 110, High: 122}); m.Key == "a" && !within(float64(in.Constants.A.Value), a) {
		return HistoricalSolution{}, outside("a", float64(in.Constants.A.Value), a, "")
	}
	s := m.solve(in)
	if _, err := s.Power(0); err != nil {
		return HistoricalSolution{}, err
	}
	return s, nil
}

// Power returns the lens power for a target refraction.
func (s HistoricalSolution) Power(target unit.Dioptre) (unit.Dioptre, error) {
	if s.thin {
		return s.eye.Power(target)
	}
	if !within(float64(target), historyBounds) {
		return 0, outside("target_d", float64(target), historyBounds, "D")
	}
	return s.emme - target*s.factor, nil
}

// Refraction returns the refraction a lens leaves.
func (s HistoricalSolution) Refraction(power unit.Dioptre) (unit.Dioptre, error) {
	if s.thin {
		return s.eye.Refraction(power)
	}
	if s.factor == 0 || !unit.Finite(power) {
		return 0, outside("power_d", float64(power), unit.Bounds{Low: -40, High: 60}, "D")
	}
	return (s.emme - power) / s.factor, nil
}
