package lenspower

import (
	"linn/source"
)

// Hoffer Q: Hoffer 1993 as corrected by the later errata. Both tangents take
// degrees; the limits on the length belong to the ACD equation alone.
const (
	hofferMinAL   = 18.5
	hofferMaxAL   = 31.0
	hofferSwitch  = 23.0
	hofferMeanAL  = 23.5
	hofferSlope   = 0.3
	hofferBend    = 0.1 // of the squared term, and inside its tangent
	hofferZero    = -0.99166
	hofferSurface = 0.05 // mm
	hofferShortG  = 28.0
	hofferLongG   = 23.5
)

var _ = declare(source.Hoffer1993, source.Memory,
	coefficient{"hoffer-q.min-length", hofferMinAL, "mm", "ACD equation"},
	coefficient{"hoffer-q.max-length", hofferMaxAL, "mm", "ACD equation"},
	coefficient{"hoffer-q.length-switch", hofferSwitch, "mm", "ACD equation, M and G"},
	coefficient{"hoffer-q.mean-length", hofferMeanAL, "mm", "ACD equation"},
	coefficient{"hoffer-q.slope", hofferSlope, "", "ACD equation"},
	coefficient{"hoffer-q.bend", hofferBend, "", "ACD equation"},
	coefficient{"hoffer-q.zero", hofferZero, "mm", "ACD equation"},
	coefficient{"hoffer-q.surface", hofferSurface, "mm", "power equation"},
	coefficient{"hoffer-q.g-short", hofferShortG, "mm", "ACD equation, G up to 23 mm"},
	coefficient{"hoffer-q.g-long", hofferLongG, "mm", "ACD equation, G above 23 mm"},
)

// hofferSides holds M and G of eyes up to 23 mm, and of longer ones.
var hofferSides = [2]struct{ m, g float64 }{{+1, hofferShortG}, {-1, hofferLongG}}

// hofferLength is the length the ACD equation sees, in mm.
func hofferLength(al float64) float64 {
	switch {
	case al < hofferMinAL:
		return hofferMinAL
	case al > hofferMaxAL:
		return hofferMaxAL
	}
	return al
}

// hofferCurve is M·0.1·(23.5 − A)²·tan[0.1·(G − A)²°] in mm.
func hofferCurve(a float64) float64 {
	side := &hofferSides[above(a, hofferSwitch)]
	off, angle := hofferMeanAL-a, side.g-a
	return side.m * hofferBend * off * off * tanSmall(hofferBend*angle*angle)
}

// hofferDepth is the predicted depth without pACD, plus the 0.05 mm of the
// power equation, in mm.
func hofferDepth(al, k float64) float64 {
	a := hofferLength(al)
	return hofferSlope*(a-hofferMeanAL) + tanSquared(k) + hofferCurve(a) + hofferZero + hofferSurface
}
