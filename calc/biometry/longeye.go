package biometry

import (
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

var (
	wangKochOne  = source.Ref{Key: source.WangKochLong, Where: "2011, one centre", Grade: source.Memory}
	wangKochTwo  = source.Ref{Key: source.WangKochLong, Where: "2011, two centres", Grade: source.Memory}
	wangKochLate = source.Ref{Key: source.WangKochLong, Where: "2018", Grade: source.Memory}
	cookeRef     = source.Ref{Key: source.CookeLength, Where: "regression of the sum of segments", Grade: source.Memory}
)

// lengthLine is one published regression for long eyes: optimised length =
// slope·AL + zero above a length.
type lengthLine struct {
	id, method  string // of calc/lenspower
	ref         source.Ref
	above       float64
	slope, zero float64
}

func longLine(id, method string, ref source.Ref, above, slope, zero float64) lengthLine {
	name := id + "." + method
	return lengthLine{id, method, ref, limit(name+".above", above, "mm", ref), limit(name+".slope", slope, "", ref), limit(name+".zero", zero, "mm", ref)}
}

// The 2011 lines hold above 25.0 to 25.2 mm; the upper end is taken.
var lengthLines = []lengthLine{
	longLine("wang-koch-2011", "srk-t", wangKochOne, 25.2, 0.8544, 3.7222),
	longLine("wang-koch-2011", "holladay-1", wangKochOne, 25.2, 0.8289, 4.2663),
	longLine("wang-koch-2011", "hoffer-q", wangKochOne, 25.2, 0.8530, 3.5794),
	longLine("wang-koch-2011", "haigis", wangKochOne, 25.2, 0.9286, 1.562),
	longLine("wang-koch-2011-two", "srk-t", wangKochTwo, 25.2, 0.8981, 2.5637),
	longLine("wang-koch-2011-two", "holladay-1", wangKochTwo, 25.2, 0.8814, 2.8701),
	longLine("wang-koch-2011-two", "hoffer-q", wangKochTwo, 25.2, 0.8776, 2.9269),
	longLine("wang-koch-2011-two", "haigis", wangKochTwo, 25.2, 0.9621, 0.6763),
	longLine("wang-koch-2018", "srk-t", wangKochLate, 27.0, 0.8453, 4.0773),
	longLine("wang-koch-2018", "holladay-1", wangKochLate, 26.5, 0.817, 4.7013),
}

// The line of Cooke.
var (
	cookeZero   = limit("cooke.zero", 1.23853, "mm", cookeRef)
	cookeLength = limit("cooke.length", 0.95855, "", cookeRef)
	cookeLens   = limit("cooke.lens", -0.05467, "", cookeRef)
)

// LengthVariant is another length for an eye, to be put into a method beside
// the measured one. Two are never combined.
type LengthVariant struct {
	ID     string // "wang-koch-2018"
	Method string // the method the line was made for, "" for all
	Value  unit.Millimetre
	Ref    source.Ref
	Steps  []source.Step
}

var longBeside = note("length-adjusted-beside", "an axial length above the limit of a long-eye regression: shown beside, tends to overcorrect to myopia", source.Ref{Key: source.Melles2018, Where: "long eyes", Grade: source.Read})

// LongLength returns the published lengths for a long eye, each with the method
// it was made for: min(AL, slope·AL + zero) above its limit, nothing below.
func LongLength(al unit.Millimetre) (list []LengthVariant, findings []finding.Finding, err error) {
	if !inside(float64(al), lengthField.Bounds) {
		return nil, nil, rangeError("axial_length_mm", float64(al), lengthField.Bounds, "mm")
	}
	for _, l := range lengthLines {
		if float64(al) <= l.above {
			continue
		}
		v := min(float64(al), l.slope*float64(al)+l.zero)
		list = append(list, LengthVariant{l.id, l.method, unit.Millimetre(v), l.ref,
			[]source.Step{step("length.measured", "AL", float64(al), "mm", ours), step("length.adjusted", "min(AL, m AL + c)", v, "mm", l.ref)}})
	}
	if list != nil {
		findings = append(findings, longBeside.On("axial_length_mm", got(mm(float64(al)))))
	}
	return list, findings, nil
}

// SegmentLength is what Cooke's line needs.
type SegmentLength struct {
	AxialLength   unit.Millimetre
	LensThickness unit.Reading[unit.Millimetre]
	Method        eye.LengthMethod
}

// CookeModified returns 1.23853 + 0.95855·AL − 0.05467·LT, the regression that
// stands for the sum of segments. It is for optical lengths shown with a single
// group index; constants have to be optimised again. Errors: *MissingError for
// lens_thickness_mm or axial_length_method (also when it is not optical),
// *unit.RangeError.
func CookeModified(in SegmentLength) (LengthVariant, error) {
	switch {
	case in.Method != eye.Optical:
		return LengthVariant{}, &MissingError{Field: "axial_length_method"}
	case !in.LensThickness.Known:
		return LengthVariant{}, &MissingError{Field: "lens_thickness_mm"}
	case !inside(float64(in.AxialLength), lengthField.Bounds):
		return LengthVariant{}, rangeError("axial_length_mm", float64(in.AxialLength), lengthField.Bounds, "mm")
	}
	if b := (unit.Bounds{Low: 2.5, High: 6.5}); !inside(float64(in.LensThickness.Value), b) {
		return LengthVariant{}, rangeError("lens_thickness_mm", float64(in.LensThickness.Value), b, "mm")
	}
	v := cookeZero + cookeLength*float64(in.AxialLength) + cookeLens*float64(in.LensThickness.Value)
	return LengthVariant{"cooke-modified", "", unit.Millimetre(v), cookeRef,
		[]source.Step{step("length.measured", "AL", float64(in.AxialLength), "mm", ours), step("length.segments", "CMAL", v, "mm", cookeRef)}}, nil
}

// SegmentsShown are the stretches of the visual axis as ultrasound showed them
// at one velocity.
type SegmentsShown struct {
	Chamber, Lens, Vitreous unit.Reading[unit.Millimetre]
	Velocity                unit.Reading[unit.MetrePerSecond] // the instrument's
	Method                  eye.LengthMethod
}

var velocityLens = limit("velocity-lens", 1641, "m/s", segmentRef)

// SumOfSegments returns the length of a phakic eye with natural vitreous by the
// velocity of each of its media: 1532 m/s in aqueous and vitreous, 1641 m/s in
// the lens. Optical segments need group indices nobody told us: a
// *MissingError, as for every reading that is lacking; else the errors of
// [SumOfVelocities].
func SumOfSegments(in SegmentsShown) (LengthVariant, error) {
	switch {
	case in.Method != eye.Immersion && in.Method != eye.Contact:
		return LengthVariant{}, &MissingError{Field: "axial_length_method"}
	case !in.Velocity.Known:
		return LengthVariant{}, &MissingError{Field: "velocity_m_s"}
	case !in.Chamber.Known:
		return LengthVariant{}, &MissingError{Field: "acd_mm"}
	case !in.Lens.Known:
		return LengthVariant{}, &MissingError{Field: "lens_thickness_mm"}
	case !in.Vitreous.Known:
		return LengthVariant{}, &MissingError{Field: "vitreous_mm"}
	}
	used := unit.Constant(in.Velocity.Value)
	v, err := SumOfVelocities([]Segment{{in.Chamber.Value, used, unit.Constant(velocityEye)}, {in.Lens.Value, used, unit.Constant(velocityLens)}, {in.Vitreous.Value, used, unit.Constant(velocityEye)}})
	if err != nil {
		return LengthVariant{}, err
	}
	return LengthVariant{"segments", "", v, segmentRef, []source.Step{step("length.velocity", "v", float64(used), "m/s", ours), step("length.segments", "sum t vi/v", float64(v), "mm", segmentRef)}}, nil
}

// Offsets between methods of measuring length, mm: what the first reads longer
// than the second. They are told, never applied.
var (
	opticalImmersion = limit("offset-optical-immersion", 0.18, "mm", source.Ref{Key: source.Hitzenberger1993, Where: "196 cataract eyes", Grade: source.Read})
	opticalContact   = limit("offset-optical-contact", 0.47, "mm", source.Ref{Key: source.Hitzenberger1993, Where: "196 cataract eyes", Grade: source.Read})
	childContact     = limit("offset-child-immersion-contact", 0.27, "mm", source.Ref{Key: source.Trivedi2011, Where: "children", Grade: source.Read})
)

var (
	offsetImmersion = note("length-offset-immersion", "immersion ultrasound with a constant for optical lengths reads 0.18 mm shorter", source.Ref{Key: source.Hitzenberger1993, Where: "196 cataract eyes", Grade: source.Read})
	offsetContact   = note("length-offset-contact", "contact ultrasound with a constant for optical lengths reads 0.47 mm shorter", source.Ref{Key: source.Hitzenberger1993, Where: "196 cataract eyes", Grade: source.Read})
	offsetChild     = note("length-offset-child", "contact ultrasound in a child reads 0.27 mm shorter than immersion", source.Ref{Key: source.Trivedi2011, Where: "children", Grade: source.Read})
)

// LengthOffsets says what the method of measuring does to a length. An age of
// under 18 years adds what was found in children.
func LengthOffsets(e *eye.Eye) (list []finding.Finding) {
	say := func(r finding.Rule, v float64) {
		list = append(list, r.On("axial_length_method", finding.Value{Name: "shortfall", Text: mm(v)}))
	}
	switch e.AxialLengthMethod {
	case eye.Immersion:
		say(offsetImmersion, opticalImmersion)
	case eye.Contact:
		say(offsetContact, opticalContact)
		if e.Age.Known && e.Age.Value < 18 {
			say(offsetChild, childContact)
		}
	}
	return list
}
