package optics

import (
	"math"

	"linn/unit"
)

// Train is a row of faces ready for exact rays. It is not changed by tracing
// and may be used by several goroutines.
type Train struct {
	before float64
	faces  []Face
	parts  []part
}

// part is a face with everything computed that does not depend on the ray.
type part struct {
	frame
	conic  conic
	toric  biconic
	round  bool
	after  Medium
	graded bool
	ratio  float64 // index before over after, where neither is graded
}

// Ray is a ray of light: where it is, its direction (of length 1) and the
// optical path behind it in mm.
type Ray struct {
	At, Along Vec
	Path      float64
}

// Fate is what became of a ray.
type Fate int

// The fates.
const (
	Through   Fate = iota
	Missed         // it met no surface where one should be
	Reflected      // it was reflected within the denser medium
)

// NewTrain checks the faces and makes them ready. before is the index in front
// of the first. A radius of 0, an index no eye has and a vertex that is not a
// number are *unit.RangeError.
func NewTrain(before unit.Index, faces []Face) (*Train, error) {
	if len(faces) == 0 {
		return nil, &unit.RangeError{What: "surfaces", Got: 0, Low: 1, High: math.Inf(1)}
	}
	if err := checkIndex(before); err != nil {
		return nil, err
	}
	t := &Train{before: float64(before), faces: append([]Face(nil), faces...), parts: make([]part, len(faces))}
	n, graded := t.before, false
	for i, f := range t.faces {
		if err := f.check(); err != nil {
			return nil, err
		}
		p := part{frame: newFrame(f), after: f.After, graded: f.After.graded(), round: f.X == f.Y}
		p.conic = conic{f.X.curvature(), 1 + float64(f.X.Q)}
		p.toric = biconic{p.conic, conic{f.Y.curvature(), 1 + float64(f.Y.Q)}}
		if !graded && !p.graded {
			p.ratio = n / float64(f.After.Index)
		}
		t.parts[i], n, graded = p, float64(f.After.Index), p.graded
	}
	return t, nil
}

func (f Face) check() error {
	for _, p := range [2]Profile{f.X, f.Y} {
		if r := float64(p.Radius); r == 0 || math.IsNaN(r) {
			return &unit.RangeError{What: "radius_mm", Got: r, Low: math.Inf(-1), High: math.Inf(1), Unit: "mm"}
		}
		if !unit.Finite(p.Q) {
			return &unit.RangeError{What: "q", Got: float64(p.Q), Low: math.Inf(-1), High: math.Inf(1)}
		}
	}
	place := float64(f.Vertex) + float64(f.Turn) + float64(f.Pose.Pivot) + float64(f.Pose.Shift[0]) + float64(f.Pose.Shift[1]) + float64(f.Pose.Tilt[0]) + float64(f.Pose.Tilt[1])
	if math.IsNaN(place) || math.IsInf(place, 0) {
		return &unit.RangeError{What: "place", Got: place, Low: math.Inf(-1), High: math.Inf(1), Unit: "mm"}
	}
	return checkIndex(f.After.Index)
}

func (p *part) meet(at, d Vec) (float64, bool) {
	if p.round {
		return p.conic.meet(at, d)
	}
	return p.toric.meet(at, d)
}

func (p *part) normal(at Vec) Vec {
	if p.round {
		return p.conic.normal(at)
	}
	return p.toric.normal(at)
}

// Trace carries a ray through every face; it leaves on the last one, with the
// direction behind it. No memory is allocated.
func (t *Train) Trace(r Ray) (Ray, Fate) {
	n := t.before
	for i := range t.parts {
		p := &t.parts[i]
		if i > 0 && t.parts[i-1].graded {
			var ok bool
			if r, ok = t.bend(i, r); !ok {
				return r, Missed
			}
			n = t.indexBefore(i, r.At)
		}
		at, d := p.in(r.At), p.inDirection(r.Along)
		s, ok := p.meet(at, d)
		if !ok {
			return r, Missed
		}
		at = at.along(d, s)
		after := float64(p.after.Index)
		ratio := p.ratio
		if ratio == 0 {
			after = p.after.at(at)
			ratio = n / after
		}
		d, ok = refract(d, p.normal(at), ratio)
		if !ok {
			return r, Reflected
		}
		r = Ray{p.out(at), p.outDirection(d), r.Path + n*s}
		n = after
	}
	return r, Through
}

// refract bends a direction by Snell's law in vector form; ratio is the index
// before over the index after.
func refract(d, normal Vec, ratio float64) (Vec, bool) {
	c := d.dot(normal)
	if c < 0 {
		normal, c = normal.times(-1), -c
	}
	root := 1 - ratio*ratio*(1-c*c)
	if root < 0 {
		return d, false
	}
	return d.times(ratio).along(normal, math.Sqrt(root)-ratio*c), true
}

// indexBefore is the index in front of face i at a point.
func (t *Train) indexBefore(i int, at Vec) float64 {
	if i == 0 {
		return t.before
	}
	p := &t.parts[i-1]
	if !p.graded {
		return float64(p.after.Index)
	}
	return p.after.at(p.in(at))
}

// indexAfter is the index behind the last face; a graded last medium counts as
// it is on the axis.
func (t *Train) indexAfter() float64 { return float64(t.faces[len(t.faces)-1].After.Index) }

// Faces returns a copy of the faces.
func (t *Train) Faces() []Face { return append([]Face(nil), t.faces...) }

// Reversed is the same row met from behind: every face mirrored in the plane
// z = 0, in reverse order. Gradients cannot be reversed: a *unit.RangeError.
func (t *Train) Reversed() (*Train, error) {
	n := len(t.faces)
	faces := make([]Face, n)
	for i, f := range t.faces {
		if f.After.graded() {
			return nil, &unit.RangeError{What: "gradient", Got: 1, Low: 0, High: 0}
		}
		f.Vertex, f.Pose.Pivot = -f.Vertex, -f.Pose.Pivot
		f.X.Radius, f.Y.Radius = -f.X.Radius, -f.Y.Radius
		f.Pose.Tilt[0], f.Pose.Tilt[1] = -f.Pose.Tilt[0], -f.Pose.Tilt[1]
		f.After = Medium{Index: unit.Index(t.before)}
		if i > 0 {
			f.After = t.faces[i-1].After
		}
		faces[n-1-i] = f
	}
	return NewTrain(t.faces[n-1].After.Index, faces)
}

// Way is where a ray meets each face, as far as it comes; to draw it.
func (t *Train) Way(r Ray) ([]Vec, Fate) {
	var way []Vec
	for k := range t.parts {
		part := Train{t.before, t.faces[:k+1], t.parts[:k+1]}
		out, fate := part.Trace(r)
		if fate != Through {
			return way, fate
		}
		way = append(way, out.At)
	}
	return way, Through
}

// OnPlane is where a ray crosses the plane at z.
func (r Ray) OnPlane(z unit.Millimetre) Vec {
	x, y := r.where(float64(z))
	return Vec{x, y, float64(z)}
}
