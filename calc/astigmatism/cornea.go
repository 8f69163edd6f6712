package astigmatism

import (
	"math"

	"linn/calc/optics"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Keratometry is a cornea as it was measured, at the index 1.3375.
type Keratometry struct {
	Flat, Steep         unit.Dioptre
	SteepAxis, FlatAxis unit.Reading[unit.Axis]
}

var own = source.Ref{Key: source.OwnChoice, Grade: source.Own}

var (
	meridiansApart = finding.Declare(finding.Rule{Code: "meridians-not-perpendicular", Severity: finding.Caution, Ref: own,
		Limit: "flat and steep meridian more than 10° from a right angle"})
	axisMissing = finding.Declare(finding.Rule{Code: "steep-meridian-missing", Severity: finding.Caution, Ref: own,
		Limit: "corneal astigmatism above 0 D without its meridian: nothing of the cornea is computed"})
	flatAxisTaken = finding.Declare(finding.Rule{Code: "steep-meridian-from-flat", Severity: finding.Note, Ref: own,
		Limit: "steep meridian not recorded: 90° from the flat one"})
)

// notPerpendicular is how far two meridians may be from a right angle, in
// degrees, before it is said.
const notPerpendicular = 10

// Vector is the corneal astigmatism as entered, steep minus flat at the steep
// meridian; where that is missing, 90 degrees from the flat one. ok is false
// when there is astigmatism and no meridian. A steep power below the flat one
// is a *unit.RangeError.
func (k Keratometry) Vector() (v Vector, ok bool, err error) {
	c := k.Steep - k.Flat
	switch {
	case !(c >= 0) || !unit.Finite(c):
		return v, false, &unit.RangeError{What: "k_steep_d", Got: float64(k.Steep), Low: float64(k.Flat), High: math.Inf(1), Unit: "D"}
	case k.SteepAxis.Known:
		return Cylinder{c, k.SteepAxis.Value}.Vector(), true, nil
	case k.FlatAxis.Known:
		return Cylinder{c, unit.NewAxis(unit.Degree(k.FlatAxis.Value) + 90)}.Vector(), true, nil
	}
	return v, c == 0, nil
}

// Mean is the mean power.
func (k Keratometry) Mean() unit.Dioptre { return (k.Flat + k.Steep) / 2 }

// Findings says what is odd about the meridians. They are used as entered.
func (k Keratometry) Findings() (list []finding.Finding) {
	switch {
	case !k.SteepAxis.Known && !k.FlatAxis.Known:
		if k.Steep > k.Flat {
			list = append(list, axisMissing.On("k_steep_axis_deg"))
		}
	case !k.SteepAxis.Known:
		list = append(list, flatAxisTaken.On("k_steep_axis_deg", value("got", unit.NewAxis(unit.Degree(k.FlatAxis.Value)+90).String())))
	case k.FlatAxis.Known:
		if off := math.Abs(90 - apart(unit.Degree(k.SteepAxis.Value), unit.Degree(k.FlatAxis.Value))); off > notPerpendicular {
			list = append(list, meridiansApart.On("k_steep_axis_deg", value("got", unit.Degree(90-off).String()), value("steep", k.SteepAxis.Value.String()), value("flat", k.FlatAxis.Value.String())))
		}
	}
	return list
}

// apart is the angle between two meridians, 0 to 90 degrees.
func apart(a, b unit.Degree) float64 { return math.Abs(math.Remainder(float64(a-b), 180)) }

func value(name, text string) finding.Value { return finding.Value{Name: name, Text: text} }

// TwoSurfaces is a cornea whose back surface was measured.
type TwoSurfaces struct {
	Front, Back Radii
	Thickness   unit.Millimetre
}

// Radii are the principal radii of one surface, in mm.
type Radii struct {
	Flat, Steep unit.Millimetre
	SteepAxis   unit.Axis
}

// Total is the power of a cornea of two surfaces.
type Total struct {
	Gauss  unit.Dioptre // mean equivalent power
	Vector Vector       // of the equivalent power
	Vertex unit.Dioptre // mean back vertex power
	Behind Vector       // of the back vertex power
}

// Total is the power of both surfaces by vergence for crossed meridians
// (F₁ + F₂ − (t/n)·F₁F₂ in matrices, made symmetric), at indices 1.376 and
// 1.336. It is not a keratometric power and is never added to one. A
// *unit.RangeError says that a radius or the thickness is no cornea's.
func (c TwoSurfaces) Total() (Total, error) {
	front, err := c.Front.power(optics.Media{Before: 1, After: optics.CornealStroma}, "k_flat_d")
	if err != nil {
		return Total{}, err
	}
	back, err := c.Back.power(optics.Media{Before: optics.CornealStroma, After: optics.Aqueous}, "posterior_r_flat_mm")
	if err != nil {
		return Total{}, err
	}
	if !(c.Thickness >= 0 && c.Thickness < 2) {
		return Total{}, &unit.RangeError{What: "corneal_thickness_um", Got: float64(c.Thickness.Micrometre()), Low: 0, High: 2000, Unit: "µm"}
	}
	t := float64(c.Thickness) / 1000 / float64(optics.CornealStroma)
	behind, _ := front.step(t) // a front that focuses within its own thickness was refused with its radii
	behind = behind.add(back)
	gauss := front.add(back).sub(product(front, back, t))
	return Total{unit.Dioptre(gauss.mean), gauss.vector(), unit.Dioptre(behind.mean), behind.vector()}, nil
}

// product is t·½(F₁F₂ + F₂F₁): mean t(m₁m₂ + c₁·c₂/4), astigmatism t(m₁c₂ + m₂c₁).
func product(a, b power, t float64) power {
	return power{t * (a.mean*b.mean + (a.x*b.x+a.y*b.y)/4), t * (a.mean*b.x + b.mean*a.x), t * (a.mean*b.y + b.mean*a.y)}
}

// power is the surface's power matrix. A back surface has its highest power,
// the least negative, on its flat meridian.
func (r Radii) power(m optics.Media, field string) (power, error) {
	for _, v := range []unit.Millimetre{r.Flat, r.Steep} {
		if !(v >= 3 && v <= 20) {
			return power{}, &unit.RangeError{What: field, Got: float64(v), Low: 3, High: 20, Unit: "mm"}
		}
	}
	flat, steep := optics.SurfacePower(r.Flat, m), optics.SurfacePower(r.Steep, m)
	return powerOf((flat+steep)/2, along(unit.Degree(r.SteepAxis)).Scale(float64(steep-flat))), nil
}

// Keratometric is the factor between a power at 1.3375 and the power of the
// front surface at 1.376.
const keratometric = 337.5

// FrontRadii are the radii behind a keratometry, 337.5/K in mm. ok is false
// when there is astigmatism without its meridian.
func (k Keratometry) FrontRadii() (r Radii, ok bool, err error) {
	v, ok, err := k.Vector()
	if err != nil || !ok {
		return r, ok, err
	}
	return Radii{unit.Millimetre(keratometric / k.Flat), unit.Millimetre(keratometric / k.Steep), v.Cylinder().Steep}, true, nil
}
