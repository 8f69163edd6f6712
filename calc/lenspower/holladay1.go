package lenspower

import (
	"math"

	"linn/source"
)

// Holladay 1: Holladay and co-workers 1988.
const (
	holladayMinRadius = 7.0  // mm
	holladayMaxWidth  = 13.5 // mm
	holladayWidth     = 12.5 // mm, at the mean length
	holladayMeanAL    = 23.45
	holladayThickness = 0.56     // mm of cornea
	holladayRetina    = 0.20     // mm
	holladayCornea    = 4./3 - 1 // nc − 1
)

var _ = declare(source.Holladay1988, source.Memory,
	coefficient{"holladay-1.min-radius", holladayMinRadius, "mm", "Rag"},
	coefficient{"holladay-1.max-width", holladayMaxWidth, "mm", "AG"},
	coefficient{"holladay-1.width", holladayWidth, "mm", "AG"},
	coefficient{"holladay-1.mean-length", holladayMeanAL, "mm", "AG"},
	coefficient{"holladay-1.corneal-thickness", holladayThickness, "mm", "anatomic anterior chamber depth"},
	coefficient{"holladay-1.retina", holladayRetina, "mm", "modified axial length"},
	coefficient{"holladay-1.cornea", holladayCornea, "", "nc - 1"},
)

// holladayRag is the corneal radius in mm, not below 7.
func holladayRag(r float64) float64 {
	if r < holladayMinRadius {
		return holladayMinRadius
	}
	return r
}

// holladayAG is the width of the anterior segment in mm, not above 13.5.
func holladayAG(al float64) float64 {
	ag := holladayWidth / holladayMeanAL * al
	if ag > holladayMaxWidth {
		return holladayMaxWidth
	}
	return ag
}

// holladayDepth is the anatomic anterior chamber depth aACD in mm, from the
// length and the corneal radius. Its radicand is never below 49 − 45.5625 =
// 3.4375.
func holladayDepth(al, r float64) float64 {
	rag, ag := holladayRag(r), holladayAG(al)
	return holladayThickness + rag - math.Sqrt(rag*rag-ag*ag/4)
}
