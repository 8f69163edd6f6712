package biometry

import (
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// The sound velocities of Hoffer 1994 (abstract) are means of whole eyes; the
// others are of one medium.
var (
	hofferState = source.Ref{Key: source.Hoffer1994, Where: "abstract", Grade: source.Read}
	segmentRef  = source.Ref{Key: source.CommonPractice, Where: "sound velocity of the medium", Grade: source.Memory}
	oilRef      = source.Ref{Key: source.OilPractice, Where: "sound velocity and index of silicone oil", Grade: source.Memory}

	velocityEye     = limit("velocity-aqueous", 1532, "m/s", hofferState)
	velocityAphakic = limit("velocity-aphakic", 1534, "m/s", hofferState)
	phakicGain      = limit("velocity-phakic-gain", 0.35, "mm", hofferState)
	pseudoGain      = limit("velocity-pseudophakic-gain", 0.04, "mm", hofferState)
	velocityGas     = limit("velocity-phakic-gas", 534, "m/s", hofferState)
	velocityOil     = limit("velocity-phakic-oil", 1139, "m/s", hofferState)
	velocityOilNone = limit("velocity-aphakic-oil", 1052, "m/s", hofferState)

	oil1000  = limit("velocity-oil-1000", 980, "m/s", oilRef)
	oil5000  = limit("velocity-oil-5000", 1040, "m/s", oilRef)
	oilWhole = limit("oil-whole-eye", 0.71, "", oilRef)
	oilIndex = limit("oil-index", 1.4034, "", oilRef)
	vitreous = limit("oil-vitreous-index", 1.336, "", oilRef)
)

// Material is what an implanted lens is made of.
type Material string

// The materials with a published correction, per mm of central thickness.
const (
	PMMA     Material = "pmma"
	Silicone Material = "silicone"
	Acrylic  Material = "acrylic"
	Glass    Material = "glass"
)

// materialGain is the correction per mm of the lens's central thickness.
var materialGain = map[Material]float64{
	PMMA:     limit("velocity-gain-pmma", 0.44, "", hofferState),
	Silicone: limit("velocity-gain-silicone", -0.56, "", hofferState),
	Glass:    limit("velocity-gain-glass", 0.75, "", hofferState),
	Acrylic:  limit("velocity-gain-acrylic", 0.2438, "", source.Ref{Key: source.CommonPractice, Where: "1 − 1532/2026; 2120 m/s in other hands gives 0.2774", Grade: source.Memory}),
}

// OilRule is one way to correct a length for silicone oil. One is chosen; two
// are never combined.
type OilRule string

// The corrections for oil.
const (
	OilSegment  OilRule = "segment" // the vitreous segment by the oil's velocity
	OilMean     OilRule = "mean"    // the mean velocity of an oil-filled eye
	OilWholeEye OilRule = "whole"   // 0.71 of a length at 1532 m/s
)

// Oil is a viscosity of silicone oil in cSt; its velocity goes with it.
type Oil string

// The oils.
const (
	ThinOil  Oil = "1000"
	ThickOil Oil = "5000"
)

// Told is the answer to a question of fact; the zero Told is "not asked".
type Told string

// The answers.
const (
	Yes Told = "yes"
	No  Told = "no"
)

// LengthInput is one measured length and the state of the eye it was measured
// in.
type LengthInput struct {
	Measured      unit.Millimetre
	Method        eye.LengthMethod
	Velocity      unit.Reading[unit.MetrePerSecond] // the instrument's single velocity
	LensStatus    eye.LensStatus
	Vitreous      eye.Vitreous
	Material      Material                      // of the lens in a pseudophakic eye
	ImplantCentre unit.Reading[unit.Millimetre] // its central thickness
	ACD           unit.Reading[unit.Millimetre] // for OilSegment
	LensThickness unit.Reading[unit.Millimetre] // for OilSegment in a phakic eye
	Oil           Oil                           // for OilSegment
	OilRule       OilRule
	OilStays      Told
}

// LengthAnswer is the length beside its correction. The corrected length never
// takes the measured one's place by itself.
type LengthAnswer struct {
	Measured  unit.Millimetre
	Corrected unit.Reading[unit.Millimetre] // not known: nothing to correct
	Steps     []source.Step
	Findings  []finding.Finding
}

var (
	oilStaysAsk = finding.Declare(finding.Rule{Code: "oil-stays-ask", Severity: finding.Caution, Gate: true,
		Ref: oilRef, Limit: "silicone oil in the eye and not asked whether it stays"})
	oilStays = finding.Declare(finding.Rule{Code: "oil-stays", Severity: finding.Caution,
		Ref: oilRef, Limit: "the oil stays in: the lens needs more power"})
	oilOptical = finding.Declare(finding.Rule{Code: "oil-optical-mode", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "optical biometers have their own mode for oil", Grade: source.Memory},
		Limit: "silicone oil and an optical length: never corrected here"})
	lengthCorrected = caution("length-corrected", "an ultrasound length was corrected for velocity and eye state: shown beside the measured one", hofferState)
	opticalState    = note("length-optical-not-corrected", "an optical length is never corrected for sound velocity", ours)
	acrylicVelocity = note("acrylic-velocity-doubtful", "acrylic lens: 2026 m/s used, 2120 m/s in other hands", segmentRef)
)

// CorrectLength corrects an ultrasound length for the velocity it was measured
// at and the state of the eye. Optical lengths are returned as they are, with a
// finding. What is needed and not recorded is a *MissingError: velocity_m_s,
// lens_status, vitreous, implant_material, implant_thickness_mm, oil_rule, oil_viscosity_cst, acd_mm,
// lens_thickness_mm. A length outside 15 to 38 mm, before or after, is a
// *unit.RangeError; with oil or gas, which make ultrasound late, the measured
// one may be up to 110 mm.
func CorrectLength(in LengthInput) (LengthAnswer, error) {
	a := LengthAnswer{Measured: in.Measured}
	apparent := lengthField.Bounds
	if slow := in.Vitreous == eye.Oil || in.Vitreous == eye.Gas; slow && in.Method != eye.Optical {
		apparent.High = apparentMost
	}
	if !inside(float64(in.Measured), apparent) {
		return LengthAnswer{}, rangeError("axial_length_mm", float64(in.Measured), apparent, "mm")
	}
	a.Findings = in.OilFindings()
	if in.Method == eye.Optical {
		a.Findings = append(a.Findings, opticalState.On("axial_length_method"))
		return a, nil
	}
	if key := in.missing(); key != "" {
		return LengthAnswer{}, &MissingError{Field: key}
	}
	a.Steps = append(a.Steps, step("length.measured", "AL", float64(in.Measured), "mm", ours),
		step("length.velocity", "v", float64(in.Velocity.Value), "m/s", ours))
	v, err := a.correct(in)
	if err != nil {
		return LengthAnswer{}, err
	}
	if !inside(v, lengthField.Bounds) {
		return LengthAnswer{}, rangeError("axial_length_mm", v, lengthField.Bounds, "mm")
	}
	a.Corrected = unit.Known(unit.Millimetre(v))
	a.Findings = append(a.Findings, lengthCorrected.On("axial_length_mm", got(mm(float64(in.Measured))), finding.Value{Name: "corrected", Text: mm(v)}))
	if in.LensStatus == eye.Pseudophakic && in.Material == Acrylic {
		a.Findings = append(a.Findings, acrylicVelocity.On("axial_length_mm"))
	}
	return a, nil
}

// apparentMost is the longest length ultrasound can show in an eye of 38 mm
// filled with gas: 38·1532/534 mm, rounded up.
const apparentMost = 110

func step(name, symbol string, v float64, u string, ref source.Ref) source.Step {
	return source.Step{Name: name, Symbol: symbol, Value: v, Unit: u, Ref: ref}
}

// LengthStepNames lists every step name of this package's workings.
var LengthStepNames = []string{"length.measured", "length.velocity", "length.at-1532", "length.gas", "length.oil-segment", "length.oil-mean", "length.oil-whole",
	"length.phakic", "length.aphakic", "length.pseudophakic", "length.adjusted", "length.segments"}

func (in LengthInput) missing() string {
	oily, pseudo := in.Vitreous == eye.Oil, in.LensStatus == eye.Pseudophakic
	segment := oily && in.OilRule == OilSegment
	_, material := materialGain[in.Material]
	for _, r := range [...]struct {
		key  string
		lack bool
	}{
		{"axial_length_method", in.Method == ""}, {"velocity_m_s", !in.Velocity.Known || !(in.Velocity.Value > 0)},
		{"lens_status", in.LensStatus == ""}, {"vitreous", in.Vitreous == ""},
		{"implant_material", pseudo && !material}, {"implant_thickness_mm", pseudo && !in.ImplantCentre.Known},
		{"oil_rule", oily && in.OilRule != OilSegment && in.OilRule != OilMean && in.OilRule != OilWholeEye},
		{"oil_viscosity_cst", segment && in.oilVelocity() == 0}, {"acd_mm", segment && !in.ACD.Known},
		{"lens_thickness_mm", segment && in.LensStatus == eye.Phakic && !in.LensThickness.Known},
	} {
		if r.lack {
			return r.key
		}
	}
	return ""
}

func (in LengthInput) oilVelocity() float64 {
	switch in.Oil {
	case ThinOil:
		return oil1000
	case ThickOil:
		return oil5000
	}
	return 0
}

// correct carries the length to 1532 m/s and applies the one rule of the state.
func (a *LengthAnswer) correct(in LengthInput) (float64, error) {
	add := func(name, symbol string, v float64, ref source.Ref) float64 {
		a.Steps = append(a.Steps, step(name, symbol, v, "mm", ref))
		return v
	}
	measured, used := float64(in.Measured), float64(in.Velocity.Value)
	at := add("length.at-1532", "AL1532", measured*velocityEye/used, hofferState)
	switch {
	case in.Vitreous == eye.Gas && in.LensStatus == eye.Phakic:
		return add("length.gas", "AL 534/v", measured*velocityGas/used, hofferState), nil
	case in.Vitreous == eye.Gas:
		return 0, &MissingError{Field: "axial_length_mm"} // no published velocity: measure when the gas is gone
	case in.Vitreous == eye.Oil && in.OilRule == OilMean:
		return a.oilMean(in, measured/used)
	case in.Vitreous == eye.Oil && in.OilRule == OilWholeEye:
		return add("length.oil-whole", "0.71 AL1532", oilWhole*at, oilRef), nil
	case in.Vitreous == eye.Oil:
		front := float64(in.ACD.Value)
		if in.LensStatus == eye.Phakic {
			front += float64(in.LensThickness.Value)
		}
		if !(front < at) {
			return 0, rangeError("acd_mm", front, unit.Bounds{Low: 0, High: at}, "mm")
		}
		at = add("length.oil-segment", "front + (AL1532 - front) voil/1532", front+(at-front)*in.oilVelocity()/velocityEye, oilRef)
	}
	return a.lens(in, at)
}

func (a *LengthAnswer) oilMean(in LengthInput, time float64) (float64, error) {
	v := map[eye.LensStatus]float64{eye.Phakic: velocityOil, eye.Aphakic: velocityOilNone}[in.LensStatus]
	if v == 0 {
		return 0, &MissingError{Field: "oil_rule"} // no published mean velocity of a pseudophakic eye with oil
	}
	a.Steps = append(a.Steps, step("length.oil-mean", "AL voil/v", time*v, "mm", hofferState))
	return time * v, nil
}

// lens applies Hoffer's rule for what stands in the lens's place.
func (a *LengthAnswer) lens(in LengthInput, at float64) (float64, error) {
	name, symbol, v := "", "", 0.0
	switch in.LensStatus {
	case eye.Aphakic:
		name, symbol, v = "length.aphakic", "AL1532 1534/1532", at*velocityAphakic/velocityEye
	case eye.Pseudophakic:
		thick := float64(in.ImplantCentre.Value)
		if b := (unit.Bounds{Low: 0.1, High: 3}); !inside(thick, b) {
			return 0, rangeError("implant_thickness_mm", thick, b, "mm")
		}
		name, symbol, v = "length.pseudophakic", "AL1532 + 0.04 + g T", at+pseudoGain+materialGain[in.Material]*thick
	default:
		if !(at > phakicGain) {
			return 0, rangeError("axial_length_mm", at, lengthField.Bounds, "mm")
		}
		name, symbol, v = "length.phakic", "AL1532^2/(AL1532 - 0.35)", at*at/(at-phakicGain)
	}
	a.Steps = append(a.Steps, step(name, symbol, v, "mm", hofferState))
	return v, nil
}

// OilFindings says what silicone oil does to the length and what has to be asked;
// nothing in an eye without it. [CorrectLength] says it too.
func (in LengthInput) OilFindings() (list []finding.Finding) {
	if in.Vitreous != eye.Oil {
		return nil
	}
	if in.Method == eye.Optical {
		list = append(list, oilOptical.On("vitreous"))
	}
	switch in.OilStays {
	case Yes:
		list = append(list, oilStays.On("vitreous"))
	case No:
	default:
		list = append(list, oilStaysAsk.On("vitreous"))
	}
	return list
}

// OilEye is an eye in which the oil will stay.
type OilEye struct{ AxialLength, ACD unit.Millimetre }

// OilPower returns what to add to the lens power when the oil stays in,
// 1000·(1.4034 − 1.336)/(AL − ACD); it assumes a lens with a flat back. Domain:
// the input rules of both readings; else a *unit.RangeError.
func OilPower(e OilEye) (unit.Dioptre, error) {
	if !inside(float64(e.AxialLength), lengthField.Bounds) {
		return 0, rangeError("axial_length_mm", float64(e.AxialLength), lengthField.Bounds, "mm")
	}
	if b := (unit.Bounds{Low: 1.5, High: 6}); !inside(float64(e.ACD), b) {
		return 0, rangeError("acd_mm", float64(e.ACD), b, "mm")
	}
	return unit.Dioptre(1000 * (oilIndex - vitreous) / float64(e.AxialLength-e.ACD)), nil
}

// Segment is one stretch of a length measured at one velocity or index, and
// the velocity or index of its own medium.
type Segment struct {
	Shown     unit.Millimetre
	Used, Own unit.Constant // m/s both, or group indices both
}

// SumOfVelocities adds up segments that an ultrasound instrument timed at the
// velocity Used: Σ shown·own/used. A segment with a length or velocity not above
// 0 is a *unit.RangeError.
func SumOfVelocities(segments []Segment) (unit.Millimetre, error) { return sum(segments, false) }

// SumOfIndices adds up segments that an optical instrument showed with the
// group index Used: Σ shown·used/own. Group indices of the eye's media are the
// caller's; none is assumed. Errors are those of [SumOfVelocities].
func SumOfIndices(segments []Segment) (unit.Millimetre, error) { return sum(segments, true) }

func sum(segments []Segment, optical bool) (unit.Millimetre, error) {
	total := 0.0
	if len(segments) == 0 {
		return 0, &MissingError{Field: "axial_length_mm"}
	}
	for _, s := range segments {
		ratio := float64(s.Own / s.Used)
		if optical {
			ratio = 1 / ratio
		}
		if !(s.Shown > 0 && s.Used > 0 && s.Own > 0 && ratio > 0.2 && ratio < 5) {
			return 0, rangeError("segment", float64(s.Shown), unit.Bounds{Low: 0, High: 38}, "mm")
		}
		total += float64(s.Shown) * ratio
	}
	if !inside(total, lengthField.Bounds) {
		return 0, rangeError("axial_length_mm", total, lengthField.Bounds, "mm")
	}
	return unit.Millimetre(total), nil
}
