package plan

import (
	"cmp"
	"slices"

	"linn/calc/astigmatism"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// SeriesFormat is the name and version of the answer about a series of eyes.
const SeriesFormat = "linn.cornea-series/1"

// SeriesAnswer is what surgery induced over many eyes.
type SeriesAnswer struct {
	Format   string            `json:"format"`
	N        int               `json:"n"`
	Mirrored bool              `json:"left_eyes_mirrored"`
	Groups   []SeriesGroup     `json:"groups"` // all eyes first, then by type and place
	Findings []finding.Finding `json:"findings"`
}

// SeriesGroup is one group of eyes. Angles of ellipses are in the double-angle
// plane; meridians are half of them.
type SeriesGroup struct {
	Type       astigmatism.IncisionType `json:"incision_type,omitempty"`
	Place      astigmatism.Place        `json:"place,omitempty"`
	N          int                      `json:"n"`
	Centroid   *Astigmatism             `json:"centroid"`
	X          Number                   `json:"x_d"`
	Y          Number                   `json:"y_d"`
	SDX        Number                   `json:"sd_x_d"`
	SDY        Number                   `json:"sd_y_d"`
	SDTotal    Number                   `json:"sd_total_d"`
	Mean       Number                   `json:"mean_magnitude_d"`
	SDMean     Number                   `json:"sd_magnitude_d"`
	Coherence  Number                   `json:"coherence"`
	Deviation  *EllipseNumbers          `json:"deviation"`  // one SD
	Prediction *EllipseNumbers          `json:"prediction"` // 95 % for one more eye
	Confidence *EllipseNumbers          `json:"confidence"` // 95 % of the centroid
	T2         Number                   `json:"t2"`         // Hotelling: is the centroid zero?
	F          Number                   `json:"f"`
	DF2        int                      `json:"df2"`
	P          Number                   `json:"p"`

	Points []SeriesPoint `json:"-"` // in the double-angle plane
}

// SeriesPoint is one eye of a group.
type SeriesPoint struct{ X, Y Number }

// EllipseNumbers is an ellipse about the centroid.
type EllipseNumbers struct {
	Major Number `json:"major_d"`
	Minor Number `json:"minor_d"`
	Angle Number `json:"angle_deg"`
}

func ellipseNumbers(e astigmatism.Ellipse) *EllipseNumbers {
	return &EllipseNumbers{number(e.Major), number(e.Minor), number(e.Angle)}
}

// SeriesOf describes the eyes, whatever their order.
func SeriesOf(eyes []InducedEye) SeriesAnswer {
	eyes = slices.SortedStableFunc(slices.Values(eyes), func(a, b InducedEye) int {
		return cmp.Or(cmp.Compare(a.ID, b.ID), cmp.Compare(a.vector.X, b.vector.X), cmp.Compare(a.vector.Y, b.vector.Y))
	})
	has := func(s eye.Side) bool {
		return slices.ContainsFunc(eyes, func(x InducedEye) bool { return x.Side == s })
	}
	out := SeriesAnswer{Format: SeriesFormat, N: len(eyes), Mirrored: has(eye.Left) && has(eye.Right), Groups: []SeriesGroup{}}
	type key struct {
		t astigmatism.IncisionType
		p astigmatism.Place
	}
	groups := map[key][]astigmatism.Vector{}
	for _, x := range eyes {
		v := x.vector
		if out.Mirrored && x.Side == eye.Left {
			v = v.Mirror()
		}
		groups[key{}] = append(groups[key{}], v)
		if x.Type != "" && x.Place != "" {
			groups[key{x.Type, x.Place}] = append(groups[key{x.Type, x.Place}], v)
		}
	}
	for k, list := range groups {
		out.Groups = append(out.Groups, groupOf(string(k.t), string(k.p), list))
	}
	slices.SortFunc(out.Groups, func(a, b SeriesGroup) int { return cmp.Or(cmp.Compare(a.Type, b.Type), cmp.Compare(a.Place, b.Place)) })
	if out.N > 0 {
		out.Findings = astigmatism.Of(groups[key{}]).Findings(out.Mirrored)
	}
	if out.Findings == nil {
		out.Findings = []finding.Finding{}
	}
	return out
}

func groupOf(t, p string, list []astigmatism.Vector) SeriesGroup {
	s := astigmatism.Of(list)
	g := SeriesGroup{Type: astigmatism.IncisionType(t), Place: astigmatism.Place(p), N: s.N, Centroid: astigmatismOf(s.Centroid), X: number(s.Centroid.X), Y: number(s.Centroid.Y),
		Mean: number(s.MeanMagnitude), Coherence: number(s.Coherence)}
	for _, v := range list {
		g.Points = append(g.Points, SeriesPoint{number(v.X), number(v.Y)})
	}
	if s.N < 3 {
		return g
	}
	g.SDX, g.SDY, g.SDTotal, g.SDMean = number(s.SDX), number(s.SDY), number(s.SDTotal), number(s.SDMagnitude)
	g.Deviation, g.Prediction, g.Confidence = ellipseNumbers(s.Deviation), ellipseNumbers(s.Prediction), ellipseNumbers(s.Confidence)
	if g.DF2 = s.Test.DF2; s.Test.Possible {
		g.T2, g.F, g.P = number(s.Test.T2), number(s.Test.F), number(s.Test.P)
	}
	return g
}

// SeriesOfVectors describes induced astigmatism that is already a magnitude at
// its steep meridian, eyes as they are given.
func SeriesOfVectors(list []Meridional) SeriesGroup {
	var v []astigmatism.Vector
	for _, m := range list {
		v = append(v, astigmatism.Cylinder{Magnitude: m.Magnitude, Steep: m.Steep}.Vector())
	}
	return groupOf("", "", v)
}

// Meridional is an astigmatism as typed.
type Meridional struct {
	Magnitude unit.Dioptre
	Steep     unit.Axis
}
