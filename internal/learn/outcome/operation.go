package outcome

import (
	"linn/eye"
	"linn/internal/care/operation"
	"linn/unit"
)

// Operation is one operated eye with what was seen of it later. A field left
// at its zero value was not recorded, which is never the same as normal.
type Operation struct {
	Line        int // in the file it came from; 0 when it came from elsewhere
	ID, Patient string
	Surgeon     string
	Device      string // that measured the eye
	Technique   operation.Technique
	On          unit.Date // of the operation
	RefractedOn unit.Date
	Eye         eye.Eye // as measured before the operation

	Order   Order
	Place   Place      // of the lens as implanted; the plan's is Eye.Placement
	Sutured eye.Answer // sutures that still lie when the eye is refracted
	Rupture eye.Answer // of the posterior capsule

	LensModel  string
	Lens       unit.Reading[unit.Dioptre] // implanted
	Target     unit.Reading[unit.Dioptre]
	Sphere     unit.Reading[unit.Dioptre] // at the spectacle plane
	Cylinder   unit.Reading[unit.Dioptre]
	Axis       unit.Reading[unit.Degree]
	Distance   unit.Reading[unit.Metre] // of the chart
	Corrected  unit.Reading[unit.LogMAR]
	Unaided    unit.Reading[unit.LogMAR]
	Expected   unit.Reading[unit.Ratio] // chance of a rupture, by the model frozen at planning
	LostReason string
}

// Order tells the first operated eye of a patient from the second.
type Order string

// The orders.
const (
	First  Order = "first"
	Second Order = "second"
)

// Place is where the lens lies as implanted.
type Place string

// The places.
const (
	Bag     Place = "bag"
	Sulcus  Place = "sulcus"
	Chamber Place = "chamber"
	NoLens  Place = "none"
)

// Refracted says whether the eye has a refraction: a sphere and a cylinder.
func (o Operation) Refracted() bool { return o.Sphere.Known && o.Cylinder.Known }

// Equivalent is the spherical equivalent achieved, S + C/2, in D at the
// spectacle plane as measured at the chart's distance. Only for a refracted
// eye.
func (o Operation) Equivalent() unit.Dioptre { return o.Sphere.Value + o.Cylinder.Value/2 }

// Days is the number of days from the operation to the refraction; known is
// false when either day is not known exactly.
func (o Operation) Days() (days int, known bool) { return o.On.DaysUntil(o.RefractedOn) }
