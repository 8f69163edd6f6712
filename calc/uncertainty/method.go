package uncertainty

import (
	"math"

	"linn/eye"
	"linn/source"
	"linn/unit"
)

func constant(name string, value float64, u string, ref source.Ref) float64 {
	return source.Declare(source.Constant{Name: "uncertainty." + name, Value: value, Unit: u, Ref: ref})
}

var (
	opticalRef   = source.Ref{Key: source.Barrett2024, Where: "opening page; 0.020 mm in Hitzenberger 1993", Grade: source.Read}
	immersionRef = source.Ref{Key: source.OwnChoice, Where: "0.03 mm within one eye (Ademola-Popoola 2016), the rest assumed", Grade: source.Own}
	contactRef   = source.Ref{Key: source.OwnChoice, Where: "0.14 mm within one eye (Ademola-Popoola 2016), the rest assumed", Grade: source.Own}
	withinEye    = source.Ref{Key: source.Ademola2016, Where: "within-eye SD", Grade: source.Read}
	kRef         = source.Ref{Key: source.CommonPractice, Where: "0.15–0.25 D for the mean of both meridians", Grade: source.Memory}
	positionRef  = source.Ref{Key: source.OwnChoice, Where: "between 0.18 mm (registry) and 0.32 mm (implied by Norrby 2008)", Grade: source.Own}
	afterRef     = source.Ref{Key: source.OwnChoice, Where: "between 0.17 D (Sheedy 2004) and 0.39 D (implied by Norrby 2008)", Grade: source.Own}
	labelRef     = source.Ref{Key: source.ISO11979Part2, Where: "tolerance of the labelled power, taken as uniform", Grade: source.Secondary}
)

// spread is a declared SD with the part that repeating cannot reduce.
type spread struct {
	sd, fixed float64
	ref       source.Ref
}

// of splits an SD into what repeats scatter by and the rest.
func of(sd, within float64, ref source.Ref) spread {
	return spread{sd, math.Sqrt(max(sd*sd-within*within, 0)), ref}
}

var (
	opticalSD   = constant("length-optical", 0.025, "mm", opticalRef)
	immersionSD = constant("length-immersion", 0.10, "mm", immersionRef)
	contactSD   = constant("length-contact", 0.20, "mm", contactRef)

	// Repeats by one instrument scatter by the within-eye SD; its calibration
	// and the observer's habits stay. The optical figure is a scatter of
	// repeats as a whole.
	opticalLength   = of(opticalSD, opticalSD, opticalRef)
	immersionLength = of(immersionSD, constant("length-immersion-within", 0.03, "mm", withinEye), immersionRef)
	contactLength   = of(contactSD, constant("length-contact-within", 0.14, "mm", withinEye), contactRef)

	// Own choice: 0.15 D of it is scatter between sessions.
	kWithin      = constant("k-within", 0.15, "D", source.Ref{Key: source.OwnChoice, Where: "scatter between sessions", Grade: source.Own})
	kOptical     = of(constant("k-optical", 0.20, "D", kRef), kWithin, kRef)
	kByHand      = of(constant("k-beside-ultrasound", 0.25, "D", kRef), kWithin, kRef)
	position     = of(constant("lens-position", 0.30, "mm", positionRef), 0, positionRef)
	positionLess = of(constant("lens-position-beside-contact", 0.35, "mm", positionRef), 0, positionRef)
	after        = of(constant("refraction-after", 0.27, "D", afterRef), 0, afterRef)
)

// ForMethod returns the inputs of an eye whose length was measured by the
// method and that gets a lens of the labelled power: length, mean K, lens
// position, lens power and the refraction after surgery. The spread of the
// lens position includes what chamber depth and lens thickness add to it. A
// method that was not recorded is refused with a *MethodError: who wants the
// widest spread passes eye.Contact and says so.
func ForMethod(m eye.LengthMethod, power unit.Dioptre) ([]Input, error) {
	length, k, lens := spread{}, kByHand, position
	switch m {
	case eye.Optical:
		length, k = opticalLength, kOptical
	case eye.Immersion:
		length = immersionLength
	case eye.Contact:
		length, lens = contactLength, positionLess
	default:
		return nil, &MethodError{Got: m}
	}
	label, err := LabelTolerance(power)
	if err != nil {
		return nil, err
	}
	sd := UniformSD(label)
	return []Input{
		length.input(AxialLength), k.input(MeanK), lens.input(LensPosition),
		{Kind: LensPower, SD: float64(sd), Fixed: float64(sd), Uniform: true, Ref: labelRef},
		after.input(Refraction),
	}, nil
}

func (s spread) input(k Kind) Input { return Input{Kind: k, SD: s.sd, Fixed: s.fixed, Ref: s.ref} }

// MethodError says that the spread of a length is not known because its method
// was not recorded.
type MethodError struct{ Got eye.LengthMethod }

func (e *MethodError) Error() string {
	return "uncertainty: no spread is known for the length method \"" + string(e.Got) + "\""
}

// tolerances are the steps of the standard: above Over, ±Within.
var tolerances = [...]struct{ over, within float64 }{
	{30, constant("label-over-30", 1.0, "D", labelRef)},
	{25, constant("label-25-to-30", 0.5, "D", labelRef)},
	{15, constant("label-15-to-25", 0.4, "D", labelRef)},
}

var toleranceLow = constant("label-to-15", 0.3, "D", labelRef)

// LabelTolerance is how far the power of a lens may lie from its label: ±0.3 D
// to 15 D, ±0.4 D to 25 D, ±0.5 D to 30 D, ±1.0 D above; a step's upper end
// belongs to it. Negative powers are taken like positive ones (own reading).
// The edition behind it was replaced in 2024 and the new one was not read.
func LabelTolerance(power unit.Dioptre) (unit.Dioptre, error) {
	if !unit.Finite(power) {
		return 0, &unit.RangeError{What: "power_d", Got: float64(power), Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
	}
	for _, t := range tolerances {
		if math.Abs(float64(power)) > t.over {
			return unit.Dioptre(t.within), nil
		}
	}
	return unit.Dioptre(toleranceLow), nil
}

// UniformSD is the SD of a value that lies anywhere within ±half: half/√3.
func UniformSD(half unit.Dioptre) unit.Dioptre { return half / unit.Dioptre(math.Sqrt(3)) }
