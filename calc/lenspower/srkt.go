package lenspower

import (
	"math"

	"linn/source"
)

// SRK/T: Retzlaff, Sanders and Kraff 1990, with 1.716 of the erratum where the
// first print is said to read 1.715, and −5.41 where others carry −5.40948.
const (
	srktSwitch = 24.2 // mm; longer eyes take the corrected length

	srktLength0 = -3.446
	srktLength1 = 1.716
	srktLength2 = -0.0237

	srktWidth0      = -5.41
	srktWidthLength = 0.58412
	srktWidthK      = 0.098

	srktACDSlope = 0.62467
	srktACDZero  = -68.747
	srktMeanACD  = 3.336 // mm, corneal height of the eyes the ACD constant was made on

	srktRetina0      = 0.65696
	srktRetinaLength = -0.02029

	srktCornea = 0.333 // nc − 1
)

var _ = declare(source.SRKT1990, source.Memory,
	coefficient{"srk-t.length-switch", srktSwitch, "mm", "corrected axial length"},
	coefficient{"srk-t.length-0", srktLength0, "mm", "corrected axial length"},
	coefficient{"srk-t.length-1", srktLength1, "", "corrected axial length, erratum"},
	coefficient{"srk-t.length-2", srktLength2, "1/mm", "corrected axial length"},
	coefficient{"srk-t.width-0", srktWidth0, "mm", "computed corneal width"},
	coefficient{"srk-t.width-length", srktWidthLength, "", "computed corneal width"},
	coefficient{"srk-t.width-k", srktWidthK, "mm/D", "computed corneal width"},
	coefficient{"srk-t.acd-slope", srktACDSlope, "mm", "ACD constant from A"},
	coefficient{"srk-t.acd-zero", srktACDZero, "mm", "ACD constant from A"},
	coefficient{"srk-t.mean-height", srktMeanACD, "mm", "offset"},
	coefficient{"srk-t.retina-0", srktRetina0, "mm", "retinal thickness"},
	coefficient{"srk-t.retina-length", srktRetinaLength, "", "retinal thickness"},
	coefficient{"srk-t.cornea", srktCornea, "", "nc - 1"},
)

// srktNearCusp is the root below which the predicted height rises so fast with
// K and length that the answer should not be leaned on. Our own choice.
const srktNearCusp = 1.0 // mm

// srktLength is the corrected axial length LCOR in mm.
func srktLength(al float64) float64 {
	v := [2]float64{al, srktLength0 + al*(srktLength1+srktLength2*al)}
	return v[above(al, srktSwitch)]
}

// srktWidth is the computed corneal width Cw in mm.
func srktWidth(al, k float64) float64 {
	return srktWidth0 + srktWidthLength*srktLength(al) + srktWidthK*k
}

// srktRadicand is r² − Cw²/4 in mm²: negative where the width is wider than the
// sphere of the cornea, and the formula has no height.
func srktRadicand(r, cw float64) float64 { return r*r - cw*cw/4 }

// srktHeight is the corneal height H = r − √(r² − Cw²/4) in mm; ok is false
// where the radicand is negative.
func srktHeight(r, cw float64) (h float64, ok bool) {
	x := srktRadicand(r, cw)
	if x < 0 {
		return 0, false
	}
	return r - math.Sqrt(x), true
}

// srktOffset is the part of the position that the lens decides, ACDconst −
// 3.336 in mm, from its A constant.
func srktOffset(a float64) float64 { return srktACDSlope*a + srktACDZero - srktMeanACD }

// srktA undoes srktOffset.
func srktA(offset float64) float64 { return (offset + srktMeanACD - srktACDZero) / srktACDSlope }

// above is 1 when x > limit and 0 otherwise, without a branch to mispredict.
func above(x, limit float64) int {
	i := 0
	if x > limit {
		i = 1
	}
	return i
}
