package optics

import "linn/unit"

// drawnFrom is where a drawn ray begins, in mm before the first vertex.
const drawnFrom = -4

// Drawn is a ray to draw: its height beside the axis and the plane it goes to.
type Drawn struct{ Height, End unit.Millimetre }

// Meridional is one ray from far away as the points z and y in mm where it meets
// the faces, to its end. A ray that does not come through ends at the last face
// it met.
func (t *Train) Meridional(d Drawn) [][2]float64 {
	y := float64(d.Height)
	ray := Ray{At: Vec{Y: y, Z: drawnFrom}, Along: Vec{Z: 1}}
	out := [][2]float64{{drawnFrom, y}}
	way, _ := t.Way(ray)
	for _, at := range way {
		out = append(out, [2]float64{at.Z, at.Y})
	}
	if last, fate := t.Trace(ray); fate == Through {
		at := last.OnPlane(d.End)
		out = append(out, [2]float64{at.Z, at.Y})
	}
	return out
}
