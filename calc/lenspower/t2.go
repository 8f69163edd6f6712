package lenspower

import "linn/source"

// T2: Sheard, Smith and Cooke 2010. SRK/T with another corneal height.
const (
	t2Height0      = -10.326
	t2HeightLength = 0.32630
	t2HeightK      = 0.13533
)

var _ = declare(source.Sheard2010, source.Memory,
	coefficient{"t2.height-0", t2Height0, "mm", "corneal height H2"},
	coefficient{"t2.height-length", t2HeightLength, "", "corneal height H2"},
	coefficient{"t2.height-k", t2HeightK, "mm/D", "corneal height H2"},
)

// t2Height is the corneal height H2 in mm. It has no cusp.
func t2Height(al, k float64) float64 { return t2Height0 + t2HeightLength*al + t2HeightK*k }
