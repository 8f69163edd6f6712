package optics

import (
	"math"

	"linn/unit"
)

// Design is how a lens is made, but for its power.
type Design struct {
	Index         unit.Index
	Optic         unit.Millimetre // diameter
	Edge          unit.Millimetre // thickness of the optic's edge
	Factor        unit.Constant   // Coddington's, as in Shape
	QFront, QBack unit.Constant   // asphericity of the two sides
	Cylinder      unit.Dioptre    // highest minus lowest power, on the back
}

// Lens is a lens that was made: its power and what follows from it.
type Lens struct {
	Design
	Power       unit.Dioptre    // equivalent, in aqueous; the mean of both meridians of a toric lens
	Front, Back unit.Millimetre // radii; that of a toric back is of its mean power
	Thickness   unit.Millimetre // at the centre
	H, HPrime   unit.Millimetre // principal points from the front vertex
	EdgePlane   unit.Millimetre // the middle of the edge from the front vertex
}

// Check refuses what no lens is made like; the bounds are our own.
func (d Design) Check() error {
	for _, c := range [...]struct {
		what           string
		got, low, high float64
	}{
		{"index", float64(d.Index), 1.37, 1.7},
		{"optic_mm", float64(d.Optic), 3, 8},
		{"edge_mm", float64(d.Edge), 0.05, 1.5},
		{"shape_factor", float64(d.Factor), -3, 3},
		{"cylinder_d", float64(d.Cylinder), 0, 20},
		{"q_front", float64(d.QFront), -150, 20},
		{"q_back", float64(d.QBack), -150, 20},
	} {
		if !(c.got >= c.low && c.got <= c.high) {
			return &unit.RangeError{What: c.what, Got: c.got, Low: c.low, High: c.high}
		}
	}
	return nil
}

const (
	thinnest = 0.05 // mm: own limit of a centre that can be made
	settled  = 1e-13
)

// Make finds radii and centre thickness together: the thickness is the edge and
// the sags of both sides at the rim of the optic, the radii give the power at
// that thickness. The sags are those of spheres, as for asphericities of a few
// micrometres. A lens that cannot be made is a *unit.RangeError.
func (d Design) Make(power unit.Dioptre) (Lens, error) {
	if err := d.Check(); err != nil {
		return Lens{}, err
	}
	l := Lens{Design: d, Power: power, Thickness: d.Edge}
	for range 200 {
		var err error
		if l.Front, l.Back, err = (Shape{d.Index, l.Thickness, d.Factor}).Radii(power); err != nil {
			return Lens{}, err
		}
		front, err := Sphere(l.Front).Sag(d.Optic / 2)
		if err != nil {
			return Lens{}, err
		}
		back, err := Sphere(l.Back).Sag(d.Optic / 2)
		if err != nil {
			return Lens{}, err
		}
		t := d.Edge + front - back
		l.EdgePlane = front + d.Edge/2
		done := math.Abs(float64(t-l.Thickness)) < settled
		if l.Thickness = t; t < thinnest {
			return Lens{}, &unit.RangeError{What: "thickness_mm", Got: float64(t), Low: thinnest, High: 5, Unit: "mm"}
		}
		if done {
			return l.principal()
		}
	}
	return Lens{}, &unit.RangeError{What: "power_d", Got: float64(power), Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
}

func (l Lens) principal() (Lens, error) {
	if l.Power == 0 { // no principal points: both stand for the middle of the lens
		l.H, l.HPrime = l.Thickness/2, l.Thickness/2
		return l, nil
	}
	k, err := System{Aqueous, []Surface{{l.Front, l.Index, l.Thickness}, {l.Back, Aqueous, 0}}}.Cardinal()
	l.H, l.HPrime = k.H, k.HPrime
	return l, err
}

// Reversed is the same lens put in the wrong way round. Its power is the same,
// its principal points are not.
func (l Lens) Reversed() Lens {
	r := l
	r.Front, r.Back = -l.Back, -l.Front
	r.QFront, r.QBack = l.QBack, l.QFront
	r.Factor = -l.Factor
	r.H, r.HPrime, r.EdgePlane = l.Thickness-l.HPrime, l.Thickness-l.H, l.Thickness-l.EdgePlane
	return r
}

// Placed says where a lens stands in the eye.
type Placed struct {
	EdgePlane unit.Millimetre // the plane of the edge, from the corneal vertex
	Marks     unit.Degree     // meridian of the marks of a toric lens
	Pose      Pose            // its pivot is set to the edge plane
}

// Faces are the two faces of the lens in the eye. The marks of a toric optic
// show its low-power meridian, so that they are laid on the steep meridian of
// the cornea.
func (l Lens) Faces(p Placed) [2]Face {
	at := p.EdgePlane - l.EdgePlane
	p.Pose.Pivot = p.EdgePlane
	low, high := l.backRadii()
	return [2]Face{
		{Vertex: at, X: Profile{l.Front, l.QFront}, Y: Profile{l.Front, l.QFront}, Pose: p.Pose, After: Medium{Index: l.Index}},
		{Vertex: at + l.Thickness, X: Profile{low, l.QBack}, Y: Profile{high, l.QBack}, Turn: p.Marks, Pose: p.Pose, After: Medium{Index: Aqueous}},
	}
}

// backRadii are the radii of the back along the marks (low power) and across
// them; half the cylinder is taken from and added to the back's power, whose
// part in the lens is F₂·(1 − (t/n)·F₁).
func (l Lens) backRadii() (low, high unit.Millimetre) {
	if l.Cylinder == 0 {
		return l.Back, l.Back
	}
	media := Media{l.Index, Aqueous}
	front := float64(SurfacePower(l.Front, Media{Aqueous, l.Index}))
	share := 1 - float64(l.Thickness)/1000/float64(l.Index)*front
	half := l.Cylinder / 2 / unit.Dioptre(share)
	mean := SurfacePower(l.Back, media)
	return SurfaceRadius(mean-half, media), SurfaceRadius(mean+half, media)
}

// LowPowerMeridian is where the power of a lens as it lies in the eye is least:
// what the marks of a toric optic must show.
func (l Lens) LowPowerMeridian(p Placed) unit.Degree {
	f := l.Faces(p)
	power := f[1].power(Media{l.Index, Aqueous}).Parts()
	return unit.Degree(math.Mod(float64(power.Highest)+90, 180))
}
