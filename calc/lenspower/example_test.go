package lenspower_test

import (
	"fmt"

	"linn/calc/lenspower"
	"linn/unit"
)

// An eye of 24.5 mm with a corneal power of 39 D by Holladay 1, the first row of
// testdata/published/holladay-without-double-k.txt; the note prints 23.3 D.
func ExampleMethod_Power() {
	m := lenspower.MethodNamed("holladay-1")
	constant, findings, _ := m.Resolve(lenspower.Constants{A: unit.Known(unit.Constant(118.9))})
	fmt.Println(findings[0].Code, findings[0].Value("from"), "to", findings[0].Value("to"))
	p, err := m.Power(lenspower.Input{AxialLength: 24.5, K: 39, Vertex: 12, Constant: constant}, 0)
	fmt.Printf("%.3f D %v\n", p, err)
	// Output:
	// constant-converted a to sf_mm
	// 23.336 D <nil>
}
