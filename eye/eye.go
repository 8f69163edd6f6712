// Package eye holds one eye as it was measured: its side, its readings and
// its state, and the parsers of the eye keys of the file format linn.eye/1
// (JSON members and CSV columns are the same words).
package eye

import "linn/unit"

// Side is which eye. The zero Side is "not recorded" and is refused wherever
// an eye is needed.
type Side string

// The sides.
const (
	Right Side = "right"
	Left  Side = "left"
)

// Words writes the side for people: "RIGHT EYE", "LEFT EYE" or "SIDE NOT RECORDED".
func (s Side) Words() string {
	switch s {
	case Right:
		return "RIGHT EYE"
	case Left:
		return "LEFT EYE"
	}
	return "SIDE NOT RECORDED"
}

// Other returns the fellow side.
func (s Side) Other() Side {
	switch s {
	case Right:
		return Left
	case Left:
		return Right
	}
	return ""
}

// Sex of the person, for population means only.
type Sex string

// The sexes of the file format.
const (
	Female   Sex = "female"
	Male     Sex = "male"
	OtherSex Sex = "other"
)

// LengthMethod is how the axial length was measured.
type LengthMethod string

// The length methods.
const (
	Optical   LengthMethod = "optical"
	Immersion LengthMethod = "immersion"
	Contact   LengthMethod = "contact"
)

// LensStatus is what stands in the place of the lens today.
type LensStatus string

// The lens states.
const (
	Phakic       LensStatus = "phakic"
	Aphakic      LensStatus = "aphakic"
	Pseudophakic LensStatus = "pseudophakic"
)

// Vitreous is what fills the posterior segment.
type Vitreous string

// The vitreous states.
const (
	NaturalVitreous Vitreous = "natural"
	RemovedVitreous Vitreous = "removed"
	Oil             Vitreous = "oil"
	Gas             Vitreous = "gas"
)

// CornealSurgery is what was done to the cornea before; UnknownSurgery means
// operated on, kind not known.
type CornealSurgery string

// The kinds of corneal surgery.
const (
	NoSurgery      CornealSurgery = "none"
	MyopicLaser    CornealSurgery = "myopic-laser"
	HyperopicLaser CornealSurgery = "hyperopic-laser"
	RadialCuts     CornealSurgery = "radial"
	Graft          CornealSurgery = "graft"
	UnknownSurgery CornealSurgery = "unknown"
)

// Placement is where the lens is planned to sit.
type Placement string

// The placements.
const (
	Bag     Placement = "bag"
	Sulcus  Placement = "sulcus"
	Chamber Placement = "chamber"
)

// Seat is where the surgeon sits.
type Seat string

// The seats.
const (
	SuperiorSeat       Seat = "superior"
	SuperotemporalSeat Seat = "superotemporal"
	TemporalSeat       Seat = "temporal"
)

// IncisionTypes are the words of incision_type.
var IncisionTypes = []string{"clear-corneal-bevelled", "clear-corneal-stepped", "limbal", "scleral-straight", "scleral-frown", "scleral-chevron"}

// PosteriorCorneas are the words of posterior_cornea.
var PosteriorCorneas = []string{"none", "abulafia-koch", "savini-naeser", "goggin", "measured"}

// Eye is one eye. A field left at its zero value was not recorded. Lengths
// are from the corneal epithelium; refractions are spherical equivalents at
// the spectacle plane.
type Eye struct {
	Side Side
	Age  unit.Reading[unit.Year]
	Sex  Sex

	AxialLength       unit.Reading[unit.Millimetre]
	AxialLengthMethod LengthMethod
	Velocity          unit.Reading[unit.MetrePerSecond]

	KFlat, KSteep         unit.Reading[unit.Dioptre] // at KeratometricIndex
	KFlatAxis, KSteepAxis unit.Reading[unit.Axis]
	KeratometricIndex     unit.Reading[unit.Index]

	ACD              unit.Reading[unit.Millimetre] // epithelium to lens
	LensThickness    unit.Reading[unit.Millimetre]
	WhiteToWhite     unit.Reading[unit.Millimetre]
	CornealThickness unit.Reading[unit.Micrometre]
	Pupil            unit.Reading[unit.Millimetre]

	PosteriorRFlat, PosteriorRSteep unit.Reading[unit.Millimetre]
	PosteriorSteepAxis              unit.Reading[unit.Axis]

	LensStatus     LensStatus
	Vitreous       Vitreous
	CornealSurgery CornealSurgery

	KBefore          unit.Reading[unit.Dioptre]
	RefractionBefore unit.Reading[unit.Dioptre]
	RefractionAfter  unit.Reading[unit.Dioptre]

	Placement Placement
	Target    unit.Reading[unit.Dioptre]
	Vertex    unit.Reading[unit.Millimetre]

	// The incision that is planned, and what it is planned with.
	Seat             Seat
	Incision         string                    // its type; calc/astigmatism knows what each does
	IncisionAt       unit.Reading[unit.Degree] // on the limbus as seen from in front: 0 at the observer's right, 90 above
	IncisionHour     unit.Reading[unit.Hour]   // the same as a clock hour, 12 above
	IncisionWidth    unit.Reading[unit.Millimetre]
	TunnelLength     unit.Reading[unit.Millimetre]
	InternalLip      unit.Reading[unit.Millimetre]
	IncisionEffect   unit.Reading[unit.Dioptre] // flattening of its own meridian by the surgeon's own results
	IncisionEffectSD unit.Reading[unit.Dioptre]
	ExcludedHours    string // clock hours that are not to be cut
	PosteriorCornea  string // how the back of the cornea enters
	MarkingSD        unit.Reading[unit.Degree]

	// The surgeon's own choice of a toric lens; calc/astigmatism only advises.
	ToricCylinder unit.Reading[unit.Dioptre] // at the lens plane; 0: none
	ToricAxis     unit.Reading[unit.Axis]    // where its mark is to lie
	ToricReason   string                     // why it is not the advised one

	MeasuredOn unit.Date
	AsOf       unit.Date
	Device     string
	Operator   string

	Unusual Unusual // what an unusual eye is asked beside

	Fellow *Eye // other_eye; its own Fellow is always nil
}
