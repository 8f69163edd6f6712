package lenspower

import (
	"linn/source"
	"linn/unit"
)

// Jarade and Tabbara: K before less what the front surface lost at the index of
// the stroma. That is the separate-surfaces power with K before, but for 1.114
// in place of 376/337.5: it is shown and not counted a second time.
var jaradeTabbara = []*OperatedMethod{{ID: "jarade-tabbara", Version: "1", Ref: source.Ref{Key: source.JaradeTabbara, Where: "abstract; the double-K method is SRK/T, our choice", Grade: source.Read},
	Surgeries: eitherLaser, VariantOf: "separate-surfaces", Needs: []string{"k_before_d"}, base: always("srk-t"),
	correct: func(in *OperatedInput, n *notes) (correction, error) {
		before, now := unit.Millimetre(radius(float64(in.KBefore.Value))), unit.Millimetre(radius(float64(in.K)))
		k, err := JaradeTabbaraK(LaserChange{KBefore: in.KBefore.Value, RadiusBefore: before, RadiusAfter: now})
		if err != nil {
			return correction{}, err
		}
		n.add("after.radius-before", "Rpre", float64(before), "mm")
		n.add("after.radius-now", "Rpost", float64(now), "mm")
		c := in.corrected("jarade-tabbara", float64(k), n)
		c.history = true
		return c, nil
	}}}
