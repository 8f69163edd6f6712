package optics

import "linn/unit"

// drawnFrom is where a drawn ray begins, in mm before the first vertex.
const drawnFrom = -4

// Meridional is one ray from far away, at height y beside the axis, as the
// points z and y in mm where it meets the faces, to the plane at end. A ray
// that does not come through ends at the last face it met.
func (t *Train) Meridional(y, end unit.Millimetre) [][2]float64 {
	ray := Ray{At: Vec{Y: float64(y), Z: drawnFrom}, Along: Vec{Z: 1}}
	out := [][2]float64{{drawnFrom, float64(y)}}
	way, _ := t.Way(ray)
	for _, at := range way {
		out = append(out, [2]float64{at.Z, at.Y})
	}
	if last, fate := t.Trace(ray); fate == Through {
		at := last.OnPlane(end)
		out = append(out, [2]float64{at.Z, at.Y})
	}
	return out
}
