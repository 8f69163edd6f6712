package fluidics

import "linn/unit"

// envelopeGrid has n bottles, limits and flows over what is used.
func envelopeGrid(n int) EnvelopeInput {
	in := EnvelopeInput{Model: Reference(), Break: StandardBreak()}
	for i := range n {
		x := float64(i) / float64(max(n-1, 1))
		in.Bottles = append(in.Bottles, unit.CentimetreWater(50+80*x))
		in.Limits = append(in.Limits, unit.MillimetreHg(100+500*x))
		in.Flows = append(in.Flows, unit.MillilitrePerMinute(15+45*x))
	}
	return in
}
