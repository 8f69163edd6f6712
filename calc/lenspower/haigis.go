package lenspower

import "linn/source"

// Haigis: Haigis 2000 and 2004. Three constants per lens; the measured
// anterior chamber depth, from the epithelium, takes the place of K.
const (
	haigisCornea = 0.3315 // nC − 1
	haigisA1     = 0.4
	haigisA2     = 0.1
)

var _ = declare(source.Haigis2000, source.Memory,
	coefficient{"haigis.cornea", haigisCornea, "", "nC - 1"},
	coefficient{"haigis.a1", haigisA1, "", "default of a1"},
	coefficient{"haigis.a2", haigisA2, "", "default of a2"},
)

// haigisDepth is a1·ACD + a2·AL in mm.
func haigisDepth(al, acd, a1, a2 float64) float64 { return a1*acd + a2*al }
