package pathway

import (
	"linn/calc/optics"
	"linn/unit"
)

// MadeLens is a lens as it would be made in one material.
type MadeLens struct {
	Material   string // key, "" for an index of one's own
	Index      unit.Index
	Power      unit.Dioptre
	Optic      unit.Millimetre
	Front      unit.Millimetre // radii
	Back       unit.Millimetre
	Thickness  unit.Millimetre
	H, HPrime  unit.Millimetre // principal planes from the plane of the edge
	HReversed  unit.Millimetre // second principal plane when the lens lies the wrong way round
	FrontSag   unit.Millimetre // from the front vertex to the plane of the edge
	Edge       unit.Millimetre
	Volume     unit.CubicMillimetre
	Incision   unit.Millimetre // smallest it is likely to pass; own model
	Foldable   bool
	Aberration unit.Micrometre // c40 at 6 mm with the cornea of Liou and Brennan
}

// LensDesign is what a lens is to be.
type LensDesign struct {
	Power       unit.Dioptre
	Optic, Edge unit.Millimetre
	Factor      unit.Constant
}

// LensMaker makes the lens in every material of the trade. A lens that cannot
// be made in one is left out of the list; one that cannot be made in any is a
// *unit.RangeError.
func LensMaker(d LensDesign) (list []MadeLens, err error) {
	for _, m := range optics.Materials() {
		l, e := makeLens(d, m.Index)
		if e != nil {
			err = e
			continue
		}
		l.Material, l.Foldable = m.Key, m.Foldable
		if !m.Foldable {
			x, _ := design(d, m.Index).Make(d.Power)
			l.Incision = x.Incision(optics.Rigid)
		}
		list = append(list, l)
	}
	if len(list) > 0 {
		return list, nil
	}
	return nil, err
}

func design(d LensDesign, n unit.Index) optics.Design {
	return optics.Design{Index: n, Optic: d.Optic, Edge: d.Edge, Factor: d.Factor}
}

func makeLens(d LensDesign, n unit.Index) (MadeLens, error) {
	l, err := design(d, n).Make(d.Power)
	if err != nil {
		return MadeLens{}, err
	}
	r := l.Reversed()
	return MadeLens{Index: n, Power: d.Power, Optic: d.Optic, Edge: d.Edge, Front: l.Front, Back: l.Back, Thickness: l.Thickness, FrontSag: l.EdgePlane,
		H: l.H - l.EdgePlane, HPrime: l.HPrime - l.EdgePlane, HReversed: r.HPrime - r.EdgePlane,
		Volume: l.Volume(), Incision: l.Incision(optics.Injected), Aberration: aberration(l)}, nil
}

// aberration is the spherical aberration at 6 mm of the cornea of Liou and
// Brennan with the lens 4.6 mm behind its vertex; 0 where rays do not pass.
func aberration(l optics.Lens) unit.Micrometre {
	const at = 4.6 // mm
	faces := optics.SchematicEyeNamed("liou-brennan").Faces[:2:2]
	lens := l.Faces(optics.Placed{EdgePlane: at + l.EdgePlane})
	t, err := optics.NewTrain(1, append(faces, lens[0], lens[1]))
	if err != nil {
		return 0
	}
	b, err := t.TraceBundle(optics.Bundle{Pupil: 6, Rays: 250})
	if err != nil {
		return 0
	}
	w, err := b.BestWavefront()
	if err != nil {
		return 0
	}
	return w.Of(optics.Mode{N: 4})
}

// HydrogelSwells is what water does to a hydrogel lens: how much larger the
// wet lens is than the dry one, and its index.
func HydrogelSwells() (unit.Ratio, unit.Index) {
	s, err := optics.UsualHydrogel.Swollen()
	if err != nil {
		panic("pathway: the hydrogel of the trade: " + err.Error()) // a constant of our own
	}
	return s.Linear, s.Index
}

// RayEyes are the keys of the eyes that rays can be sent through.
func RayEyes() (keys []string) {
	for _, e := range optics.SchematicEyes() {
		keys = append(keys, e.Key)
	}
	return keys
}

// RayBench is a schematic eye with rays.
type RayBench struct {
	Key                         string
	Retina                      unit.Millimetre
	Surfaces                    []RaySurface
	Rays                        [][][2]float64 // z and y in mm
	Power                       unit.Dioptre
	Focus                       unit.Millimetre // paraxial
	Marginal, Wave, Spot, Least unit.Millimetre // foci by each criterion
	SpotRMS                     unit.Micrometre // at its least
	Aberration                  unit.Micrometre // c40
}

// RaySurface is one surface of the eye.
type RaySurface struct {
	At, Radius unit.Millimetre
	Q          unit.Constant
}

// Rays sends a bundle from far away through a schematic eye. An eye that is
// not there or a pupil that does not pass is a *unit.RangeError.
func Rays(key string, pupil unit.Millimetre) (RayBench, error) {
	e := optics.SchematicEyeNamed(key)
	if e == nil {
		return RayBench{}, &unit.RangeError{What: "eye"}
	}
	t, err := e.Train()
	if err != nil {
		return RayBench{}, err
	}
	out := RayBench{Key: key, Retina: e.Retina}
	for _, f := range e.Faces {
		out.Surfaces = append(out.Surfaces, RaySurface{f.Vertex, f.X.Radius, f.X.Q})
	}
	const rays = 9
	for i := range rays {
		out.Rays = append(out.Rays, t.Meridional(optics.Drawn{Height: unit.Millimetre(float64(pupil) / 2 * (2*float64(i)/(rays-1) - 1)), End: e.Retina}))
	}
	return out, out.foci(t, pupil)
}

func (out *RayBench) foci(t *optics.Train, pupil unit.Millimetre) error {
	k, err := t.Cardinal()
	if err != nil {
		return err
	}
	b, err := t.TraceBundle(optics.Bundle{Pupil: pupil, Rays: 300})
	if err != nil {
		return err
	}
	w, err := b.BestWavefront()
	if err != nil {
		return err
	}
	f, err := t.FanOf(pupil)
	if err != nil {
		return err
	}
	out.Power, out.Focus = k.Power, k.Back
	out.Marginal, out.Least, out.Wave, out.Spot = f.Marginal, f.Least, w.Centre, b.SmallestSpot()
	out.SpotRMS = unit.Micrometre(1000 * b.SpotAt(out.Spot).RMS)
	out.Aberration = w.Of(optics.Mode{N: 4})
	return nil
}
