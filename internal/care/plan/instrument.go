package plan

import (
	"errors"
	"math"

	"linn/calc/optics"
	"linn/calc/refraction"
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// InstrumentFormat is the name and version of the eye as an optical instrument.
const InstrumentFormat = "linn.eye-model/1"

// Instrument is one eye with its lens, as optics: what is drawn of it, what it
// is likely to see and how sure that is.
type Instrument struct {
	Format string   `json:"format"`
	Side   eye.Side `json:"side"`
	Target Number   `json:"target_d"`
	Pupil  Number   `json:"pupil_mm"`

	Lens   InstrumentLens   `json:"lens"`
	Places InstrumentPlaces `json:"places"`
	Rays   [][][2]float64   `json:"rays"` // z and y of each, in mm

	Predicted Number     `json:"predicted_d"`       // median of the methods that count
	Cylinder  Number     `json:"cylinder_d"`        // that of the cornea, left as it is
	Axis      Number     `json:"axis_deg"`          // of the minus cylinder
	Sphere    Number     `json:"residual_sphere_d"` // at the cornea, beside cylinder and axis
	Model     Number     `json:"model_refraction_d"`
	Steps     []LensStep `json:"steps"`
	Through   []FocusAt  `json:"through_focus"`
	Moved     []LensMove `json:"lens_moved"`
	Posed     *LensMove  `json:"-"` // of the lens as it is tried
	Sure      *Sureness  `json:"sureness"`

	Findings []finding.Finding `json:"findings"`
}

// InstrumentLens is the lens that is drawn.
type InstrumentLens struct {
	Model     string `json:"model"`
	Power     Number `json:"power_d"`
	Index     Number `json:"index"`
	Optic     Number `json:"optic_mm"`
	Overall   Number `json:"overall_mm"`
	Thickness Number `json:"thickness_mm"`
	Edge      Number `json:"edge_mm"`
	Front     Number `json:"front_radius_mm"`
	Back      Number `json:"back_radius_mm"`
}

// InstrumentPlaces are positions on the axis from the corneal vertex, and the
// radii of the cornea, in mm.
type InstrumentPlaces struct {
	CorneaBack  Number `json:"cornea_back_mm"`
	Iris        Number `json:"iris_mm"`
	LensFront   Number `json:"lens_front_mm"`
	LensEdge    Number `json:"lens_edge_mm"`
	LensBack    Number `json:"lens_back_mm"`
	Retina      Number `json:"retina_mm"`
	FrontRadius Number `json:"cornea_front_radius_mm"`
	BackRadius  Number `json:"cornea_back_radius_mm"`
	Height      Number `json:"white_to_white_mm"`
}

// LensStep is what one power on the shelf would leave to see, in logMAR.
type LensStep struct {
	Power        Number `json:"power_d"`
	Refraction   Number `json:"refraction_d"`
	Far          Number `json:"far_logmar"`
	Intermediate Number `json:"intermediate_logmar"`
	Near         Number `json:"near_logmar"`
}

// FocusAt is how an object at some distance is seen.
type FocusAt struct {
	Vergence Number `json:"vergence_d"`
	LogMAR   Number `json:"logmar"`
	Strehl   Number `json:"strehl"`
}

// LensMove is what a tilt or a shift of the lens would do to the refraction.
type LensMove struct {
	Tilt       Number `json:"tilt_deg"`
	Shift      Number `json:"shift_mm"`
	Equivalent Number `json:"equivalent_change_d"`
	Cylinder   Number `json:"cylinder_d"`
}

// The form of a lens and the eye's parts where nothing is recorded.
var (
	assumedIndex  = assumed("index", 1.46, "")
	assumedEdge   = assumed("edge", 0.25, "mm")
	assumedPupil  = assumed("pupil", 3, "mm")
	assumedWhite  = assumed("white-to-white", 11.8, "mm")
	assumedPlace  = assumed("lens-place", 4.6, "mm")
	placeShare    = assumed("lens-place-share", 0.39, "")
	placeBesides  = assumed("lens-place-thickness", 4.5, "mm")
	backRatio     = assumed("back-ratio", 0.83, "")
	assumedCornea = assumed("cornea-thickness", 0.55, "mm")
)

func assumed(name string, v float64, u string) float64 {
	return source.Declare(source.Constant{Name: "plan.model-" + name, Value: v, Unit: u,
		Ref: source.Ref{Key: source.OwnChoice, Where: "of the drawn eye, where it is not recorded", Grade: source.Own}})
}

// The distances that acuity is predicted for, as vergences.
const (
	farAway   = 0.0
	armLength = -1.5 // 67 cm
	reading   = -2.5 // 40 cm
)

// ErrNoPower says that there is no lens to draw: none was chosen and nothing
// is recommended.
var ErrNoPower = errors.New("plan: no power to draw")

// Instrument is the eye of the plan with the chosen lens, or the one that is
// recommended, as optics. Errors are ErrNoPower and *unit.RangeError where no
// such lens can be made or does not fit.
func (p *Plan) Instrument() (Instrument, error) { return p.InstrumentWith(WhatIf{}) }

// WhatIf is another pupil or a lens that lies otherwise: what is tried and not
// recorded. Absent is as it is.
type WhatIf struct {
	Pupil unit.Reading[unit.Millimetre] // 1.5 to 7
	Tilt  unit.Degree                   // in the plane that is drawn, −20 to 20
	Shift unit.Millimetre               // upwards, −2 to 2

	WithoutChances bool // leaves out how sure it is: no what-if changes that
}

func (w *WhatIf) check() error {
	for _, c := range [...]struct {
		what           string
		got, low, high float64
		unit           string
	}{{"pupil_mm", float64(w.Pupil.Or(3)), 1.5, 7, "mm"}, {"lens_tilt_deg", float64(w.Tilt), -20, 20, "°"}, {"lens_shift_mm", float64(w.Shift), -2, 2, "mm"}} {
		if !(c.got >= c.low && c.got <= c.high) {
			return &unit.RangeError{What: c.what, Got: c.got, Low: c.low, High: c.high, Unit: c.unit}
		}
	}
	return nil
}

// InstrumentWith is Instrument with what is tried. A pose of the lens changes
// rays, refraction and acuity; what it adds to the refraction is that of the
// drawn eye, carried to the prediction.
func (p *Plan) InstrumentWith(w WhatIf) (Instrument, error) {
	if err := w.check(); err != nil {
		return Instrument{}, err
	}
	b, err := p.builder()
	if err != nil {
		return Instrument{}, err
	}
	if w.Pupil.Known {
		b.pupil = w.Pupil.Value
	}
	if err := b.pose(w); err != nil {
		return Instrument{}, err
	}
	out := Instrument{Format: InstrumentFormat, Side: p.Side, Target: p.Target, Pupil: number(b.pupil)}
	if w.Tilt != 0 || w.Shift != 0 {
		parts := b.gained.Parts()
		out.Posed = &LensMove{number(w.Tilt), number(w.Shift), number(parts.Mean), number(parts.Cylinder)}
	}
	if err := b.draw(&out); err != nil {
		return Instrument{}, err
	}
	b.see(&out)
	b.move(&out)
	if !w.WithoutChances {
		out.Sure = b.sureness()
	}
	out.Findings = b.findings
	return out, nil
}

// builder gathers an eye from what was recorded and says what it assumed.
type builder struct {
	p        *Plan
	lens     *LensPlan
	shelf    *Shelved
	power    *PowerPlan
	pupil    unit.Millimetre
	eye      optics.Pseudophakic
	flat     unit.Axis // meridian of the least corneal power
	cylinder unit.Dioptre
	gained   optics.Astigmatic // by the pose that is tried
	findings []finding.Finding
}

// pose lays the lens as it is tried.
func (b *builder) pose(w WhatIf) error {
	if w.Tilt == 0 && w.Shift == 0 {
		return nil
	}
	bundle := optics.Bundle{Pupil: b.pupil, Rays: 200}
	straight, err := b.eye.Residual(bundle)
	if err != nil {
		return err
	}
	b.eye.At.Pose = optics.Pose{Tilt: [2]unit.Degree{w.Tilt, 0}, Shift: [2]unit.Millimetre{0, w.Shift}}
	posed, err := b.eye.Residual(bundle)
	if err != nil {
		return err
	}
	b.gained = posed.Matrix().Minus(straight.Matrix())
	return nil
}

func (p *Plan) builder() (*builder, error) {
	e := &p.Input.Eye
	b := &builder{p: p}
	for i := range p.Lenses {
		l := &p.Lenses[i]
		want := Number{}
		switch {
		case p.Input.Chosen != nil && p.Input.Chosen.Model == l.Model:
			want = number(p.Input.Chosen.Power)
		case p.Input.Chosen == nil && l.Recommended != nil:
			want = l.Recommended.Power
		}
		for j := range l.Powers {
			if want.Known && l.Powers[j].Power.Known && math.Abs(l.Powers[j].Power.Value-want.Value) < 1e-9 && b.power == nil {
				b.lens, b.shelf, b.power = l, &p.Input.Shelf[i], &l.Powers[j]
			}
		}
	}
	if b.power == nil || !p.MeanK.Known || !e.AxialLength.Known {
		return nil, ErrNoPower
	}
	b.pupil = b.or(e.Pupil, unit.Millimetre(assumedPupil), "pupil_mm")
	b.eye.Length = e.AxialLength.Value
	b.cornea(e)
	return b, b.made(e)
}

// or takes a reading, or what is assumed in its place, and says so.
func (b *builder) or(r unit.Reading[unit.Millimetre], instead unit.Millimetre, field string) unit.Millimetre {
	if r.Known {
		return r.Value
	}
	b.assume(field, instead.String())
	return instead
}

func (b *builder) assume(field, what string) {
	b.findings = append(b.findings, modelAssumed.On(field, finding.Value{Name: "assumed", Text: what}))
}

// cornea makes the front from K at its index of 1.3375 and the back from its
// radii, or from the usual ratio.
func (b *builder) cornea(e *eye.Eye) {
	scale := 1.0
	if n := e.KeratometricIndex; n.Known {
		scale = 0.3375 / (float64(n.Value) - 1) // K at 1.3375, as the plan's mean
	}
	flat, steep := unit.Millimetre(337.5/(float64(e.KFlat.Value)*scale)), unit.Millimetre(337.5/(float64(e.KSteep.Value)*scale))
	b.cylinder = (e.KSteep.Value - e.KFlat.Value) * unit.Dioptre(scale)
	at := unit.Degree(90)
	switch {
	case e.KSteepAxis.Known:
		at = unit.Degree(e.KSteepAxis.Value)
	case e.KFlatAxis.Known:
		at = unit.Degree(e.KFlatAxis.Value) + 90
	case b.cylinder > 0:
		b.assume("k_steep_axis_deg", unit.NewAxis(at).String())
	}
	b.flat = unit.NewAxis(at + 90)
	thick := unit.Millimetre(assumedCornea)
	if e.CornealThickness.Known {
		thick = e.CornealThickness.Value.Millimetre()
	}
	c := optics.ToricCornea{Flat: flat, Steep: steep, SteepAt: at, Thickness: thick, BackFlat: flat * unit.Millimetre(backRatio), BackSteep: steep * unit.Millimetre(backRatio), BackSteepAt: at}
	if e.PosteriorRFlat.Known && e.PosteriorRSteep.Known {
		c.BackFlat, c.BackSteep = e.PosteriorRFlat.Value, e.PosteriorRSteep.Value
		if e.PosteriorSteepAxis.Known {
			c.BackSteepAt = unit.Degree(e.PosteriorSteepAxis.Value)
		}
	} else {
		b.assume("posterior_r_flat_mm", c.BackFlat.String())
	}
	b.eye.Cornea = c.Faces()
	b.planned()
}

// made makes the lens and places it.
func (b *builder) made(e *eye.Eye) error {
	l := &b.shelf.Lens
	d := optics.Design{Index: l.Index.Or(unit.Index(assumedIndex)), Optic: l.Optic.Or(optics.UsualOptic), Edge: unit.Millimetre(assumedEdge), Factor: l.ShapeFactor.Or(0)}
	if !l.Index.Known {
		b.assume("index", unit.Fixed(assumedIndex, 2))
	}
	lens, err := d.Make(unit.Dioptre(b.power.Power.Value))
	if r := (*unit.RangeError)(nil); errors.As(err, &r) && r.What == "thickness_mm" {
		d.Edge = thickEdge // a minus lens is thick at its edge
		lens, err = d.Make(unit.Dioptre(b.power.Power.Value))
	}
	if err != nil {
		return err
	}
	b.eye.Lens = lens
	at := unit.Millimetre(assumedPlace)
	if e.ACD.Known {
		at = e.ACD.Value + unit.Millimetre(placeShare)*e.LensThickness.Or(unit.Millimetre(placeBesides))
	} else {
		b.assume("lens_position_mm", at.String())
	}
	b.eye.At = optics.Placed{EdgePlane: at}
	return nil
}

const thickEdge unit.Millimetre = 1

// drawnRays are the rays of a drawing, across the pupil.
const drawnRays = 7

// draw fills in what is drawn.
func (b *builder) draw(out *Instrument) error {
	t, err := b.eye.Train()
	if err != nil {
		return err
	}
	l, f := b.eye.Lens, t.Faces()
	out.Lens = InstrumentLens{Model: b.lens.Model, Power: number(l.Power), Index: number(l.Index), Optic: number(l.Optic), Overall: number(optics.UsualOverall),
		Thickness: number(l.Thickness), Edge: number(l.Edge), Front: number(l.Front), Back: number(l.Back)}
	e := &b.p.Input.Eye
	radius := unit.Millimetre(337.5 / b.p.MeanK.Value)
	back := 2 / (1/f[1].X.Radius + 1/f[1].Y.Radius)
	iris := f[2].Vertex - 0.4 // the iris lies just before the lens; drawing only
	out.Places = InstrumentPlaces{CorneaBack: number(f[1].Vertex), Iris: number(iris), LensFront: number(f[2].Vertex), LensEdge: number(b.eye.At.EdgePlane),
		LensBack: number(f[3].Vertex), Retina: number(b.eye.Length), FrontRadius: number(radius), BackRadius: number(back), Height: number(e.WhiteToWhite.Or(unit.Millimetre(assumedWhite)))}
	for i := range drawnRays {
		y := float64(b.pupil) / 2 * (2*float64(i)/(drawnRays-1) - 1)
		out.Rays = append(out.Rays, t.Meridional(optics.Drawn{Height: unit.Millimetre(y), End: b.eye.Length}))
	}
	r, err := b.eye.Refraction(e.Vertex.Or(defaultVertex))
	if err == nil {
		out.Model = number(r.Mean)
	}
	return nil
}

// residual is the refraction at the cornea that a spherical equivalent at the
// spectacles and the cornea's own cylinder leave.
func (b *builder) residual(r Number) (refraction.AtCornea, bool) {
	if !r.Known {
		return refraction.AtCornea{}, false
	}
	rc, err := optics.ToCornea(unit.Dioptre(r.Value), b.p.Input.Eye.Vertex.Or(defaultVertex))
	left := refraction.AtCornea{Sphere: rc + b.cylinder/2, Cylinder: -b.cylinder, Axis: b.flat}
	if b.gained == (optics.Astigmatic{}) {
		return left, err == nil
	}
	parts := optics.Parts{Mean: left.Equivalent(), Cylinder: b.cylinder, Highest: unit.Degree(b.flat)}.Matrix().Plus(b.gained).Parts()
	return refraction.AtCornea{Sphere: parts.Mean + parts.Cylinder/2, Cylinder: -parts.Cylinder, Axis: unit.NewAxis(parts.Highest)}, err == nil
}

func (b *builder) vision(r Number, object unit.Dioptre) Number {
	left, ok := b.residual(r)
	if !ok {
		return Number{}
	}
	v, err := refraction.Unaided{Residual: left, Object: object, Pupil: b.pupil}.Predict()
	if err != nil || v.Outside {
		return Number{}
	}
	return number(v.LogMAR)
}

// see fills in what the eye is likely to see: acuity by step of power and by
// distance.
func (b *builder) see(out *Instrument) {
	b.findings = append(b.findings, acuityModel.On(""))
	out.Predicted, out.Cylinder, out.Axis = b.power.Predicted, number(b.cylinder), number(b.flat)
	if left, ok := b.residual(b.power.Predicted); ok {
		out.Sphere = number(left.Sphere)
		if b.gained != (optics.Astigmatic{}) {
			out.Cylinder, out.Axis = number(-left.Cylinder), number(left.Axis)
		}
	}
	for i := range b.lens.Powers {
		s := &b.lens.Powers[i]
		out.Steps = append(out.Steps, LensStep{s.Power, s.Predicted, b.vision(s.Predicted, farAway), b.vision(s.Predicted, armLength), b.vision(s.Predicted, reading)})
	}
	var vergences []unit.Dioptre
	for v := 1.0; v >= -4; v -= 0.25 {
		vergences = append(vergences, unit.Dioptre(v))
	}
	strehl := b.through(vergences)
	for i, v := range vergences {
		f := FocusAt{Vergence: number(v), LogMAR: b.vision(b.power.Predicted, v)}
		if strehl != nil {
			f.Strehl = number(unit.Constant(strehl[i]))
		}
		out.Through = append(out.Through, f)
	}
}

// through is the quality of the image of the drawn eye, moved in object space
// to the refraction that is predicted: the drawn eye's own differs from it.
func (b *builder) through(vergences []unit.Dioptre) []float64 {
	left, ok := b.residual(b.power.Predicted)
	if !ok {
		return nil
	}
	bundle := optics.Bundle{Pupil: b.pupil, Rays: 200}
	own, err := b.eye.Residual(bundle)
	if err != nil {
		return nil
	}
	moved := make([]unit.Dioptre, len(vergences))
	for i, v := range vergences {
		moved[i] = v + own.Mean - left.Equivalent()
	}
	f, err := b.eye.ThroughFocus(bundle, optics.Imaging{Pixel: 0.3, Grid: 128, Light: 0.555}, moved)
	if err != nil {
		return nil
	}
	return f.Strehl
}

// move fills in what tilts and shifts of the lens would do.
func (b *builder) move(out *Instrument) {
	bundle := optics.Bundle{Pupil: b.pupil, Rays: 200}
	upright := b.eye
	upright.At.Pose = optics.Pose{}
	straight, err := upright.Residual(bundle)
	if err != nil {
		return
	}
	for _, m := range [...]struct {
		tilt  unit.Degree
		shift unit.Millimetre
	}{{5, 0}, {10, 0}, {0, 0.25}, {0, 0.5}, {5, 0.5}} {
		e := b.eye
		e.At.Pose = optics.Pose{Tilt: [2]unit.Degree{m.tilt, 0}, Shift: [2]unit.Millimetre{0, m.shift}}
		r, err := e.Residual(bundle)
		if err != nil {
			continue
		}
		gained := r.Matrix().Minus(straight.Matrix()).Parts()
		out.Moved = append(out.Moved, LensMove{number(m.tilt), number(m.shift), number(gained.Mean), number(gained.Cylinder)})
	}
}
