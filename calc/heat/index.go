package heat

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Index is a burn index: damage adds up at a rate that rises steeply with
// temperature, and 1 is called a burn.
type Index struct {
	Name string
	Ref  source.Ref

	lnA, energy       float64 // Arrhenius: ln of the factor in 1/s, J/mol
	enthalpy, entropy float64 // Eyring: J/mol, J/(mol K); used when enthalpy is above 0
}

var (
	henriques = source.Ref{Key: source.HenriquesMoritz, Where: "A = 3.1e98 1/s, 628 kJ/mol", Grade: source.Memory}
	collagen  = source.Ref{Key: source.Birefringence, Where: "A = 1.606e45 1/s, 306 kJ/mol", Grade: source.Memory}
	cornea    = source.Ref{Key: source.Kampmeier2000, Where: "abstract: 106 kJ/mol, 39 J/(mol K)", Grade: source.Read}

	burnFactor     = declare("burn-factor-mantissa", 3.1, "1e98/s", henriques)
	burnEnergy     = declare("burn-energy", 628000, "J/mol", henriques)
	collagenFactor = declare("collagen-factor-mantissa", 1.606, "1e45/s", collagen)
	collagenEnergy = declare("collagen-energy", 306000, "J/mol", collagen)
	corneaEnthalpy = declare("cornea-enthalpy", 106000, "J/mol", cornea)
	corneaEntropy  = declare("cornea-entropy", 39, "J/(mol K)", cornea)

	corneaFrom = declare("cornea-index-from", 55, "°C", source.Ref{Key: source.OwnModel, Where: "its rate at 37 °C would denature a normal cornea in 17 min", Grade: source.Own})
)

// Burn is the index of choice: about 1 s at 60 °C, as clinical texts say.
func Burn() Index {
	return Index{Name: "burn", Ref: henriques, lnA: math.Log(burnFactor) + 98*math.Ln10, energy: burnEnergy}
}

// Collagen counts the loss of birefringence in collagen; it underestimates the
// shrinkage at 60 °C.
func Collagen() Index {
	return Index{Name: "collagen", Ref: collagen, lnA: math.Log(collagenFactor) + 45*math.Ln10, energy: collagenEnergy}
}

// Cornea is the published set for porcine cornea. It must not be used below
// 55 °C: it would denature a normal cornea in 17 minutes.
func Cornea() Index {
	return Index{Name: "cornea", Ref: cornea, enthalpy: corneaEnthalpy, entropy: corneaEntropy}
}

// Indices lists them, the one of choice first.
func Indices() []Index { return []Index{Burn(), Collagen(), Cornea()} }

// rate in 1/s at c °C. Its logarithm is formed first: the factor alone has 98
// digits.
func (x *Index) rate(c float64) float64 {
	t := float64(unit.Celsius(c).Kelvin())
	if x.enthalpy > 0 {
		return math.Exp(math.Log(boltzmann*t/planck) + x.entropy/gasConstant - x.enthalpy/(gasConstant*t))
	}
	return math.Exp(x.lnA - x.energy/(gasConstant*t))
}

// ToBurn is how long a steady temperature from 0 to 150 °C takes to an index
// of 1.
func (x Index) ToBurn(t unit.Celsius) (unit.Second, error) {
	if err := within(bound{"temperature", float64(t), 0, 150, "°C"}); err != nil {
		return 0, err
	}
	return unit.Second(1 / x.rate(float64(t))), nil
}

// denatures is the rule about the cornea's set.
var denatures = finding.Declare(finding.Rule{Code: "burn-index-denatures", Severity: finding.Caution,
	Ref:   source.Ref{Key: source.OwnModel, Where: "rate of the cornea’s set at 37 °C", Grade: source.Own},
	Limit: "the cornea’s index used below 55 °C, where it would denature a normal cornea"})

// Check warns when the index is used at temperatures it was not made for.
func (x Index) Check(peak unit.Celsius) []finding.Finding {
	if x.enthalpy <= 0 || float64(peak) >= corneaFrom {
		return nil
	}
	return []finding.Finding{denatures.On("burn_index", finding.Value{Name: "got", Text: peak.String()}, finding.Value{Name: "limit", Text: unit.Celsius(corneaFrom).String()})}
}

// damage is the integral of the rate over the first t seconds of a phase that
// began at start: by Gauss's rule of five points, halved until it stands to
// 1e-10 of itself.
func (x *Index) damage(n *nodes, start, from, to float64) float64 {
	whole := x.five(n, start, from, to)
	return x.halve(n, start, from, to, whole, 30)
}

func (x *Index) halve(n *nodes, start, from, to, whole float64, depth int) float64 {
	mid := from + (to-from)/2
	left, right := x.five(n, start, from, mid), x.five(n, start, mid, to)
	if sum := left + right; depth == 0 || math.Abs(sum-whole) <= 1e-10*math.Abs(sum) {
		return sum
	}
	return x.halve(n, start, from, mid, left, depth-1) + x.halve(n, start, mid, to, right, depth-1)
}

// Gauss–Legendre points and weights on [-1, 1].
var (
	gaussPoints  = [...]float64{0, 0.5384693101056831, 0.9061798459386640}
	gaussWeights = [...]float64{0.5688888888888889, 0.4786286704993665, 0.2369268850561891}
)

func (x *Index) five(n *nodes, start, from, to float64) float64 {
	mid, half := (from+to)/2, (to-from)/2
	sum := gaussWeights[0] * x.rate(n.woundAt(mid, start))
	for i := 1; i < len(gaussPoints); i++ {
		d := half * gaussPoints[i]
		sum += gaussWeights[i] * (x.rate(n.woundAt(mid-d, start)) + x.rate(n.woundAt(mid+d, start)))
	}
	return half * sum
}
