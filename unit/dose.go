package unit

// The quantities of drugs.
type (
	Milligram              float64
	Kilogram               float64 // of a person
	MilligramPerMillilitre float64 // concentration
	MilligramPerKilogram   float64 // of a person
)

// mgPerMLPerPercent: 1 % weight in volume is 1 g in 100 ml.
const mgPerMLPerPercent = 10

// MilligramPerMillilitre converts a strength written as weight in volume:
// 2 % is 20 mg/ml (pharmacy's definition, 1 g in 100 ml).
func (p Percent) MilligramPerMillilitre() MilligramPerMillilitre {
	return MilligramPerMillilitre(p * mgPerMLPerPercent)
}

// Ratio is the N of "1 in N" (1 g in N ml) of this concentration.
func (c MilligramPerMillilitre) Ratio() float64 { return 1000 / float64(c) }

// OneIn is the concentration of "1 in n": 1 g in n ml.
func OneIn(n Ratio) MilligramPerMillilitre { return MilligramPerMillilitre(1000 / float64(n)) }

// Times is the amount in a volume.
func (c MilligramPerMillilitre) Times(v Millilitre) Milligram {
	return Milligram(float64(c) * float64(v))
}

func (m Milligram) String() string              { return significant(float64(m)) + Thin + "mg" }
func (k Kilogram) String() string               { return Fixed(float64(k), 1) + Thin + "kg" }
func (c MilligramPerMillilitre) String() string { return significant(float64(c)) + Thin + "mg/ml" }
func (d MilligramPerKilogram) String() string   { return Fixed(float64(d), 2) + Thin + "mg/kg" }

// significant prints small amounts with enough decimals to tell them apart:
// 0.001 mg/ml is not 0.00.
func significant(v float64) string {
	switch {
	case v != 0 && v < 0.1 && v > -0.1:
		return Fixed(v, 4)
	case v < 10 && v > -10:
		return Fixed(v, 2)
	}
	return Fixed(v, 1)
}
