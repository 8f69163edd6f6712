package astigmatism

import (
	"math"

	"linn/calc/optics"
	"linn/calc/refraction"
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Pseudophakic is an eye whose cornea is toric and whose lens may be: one
// length and one lens position for all meridians.
type Pseudophakic struct {
	Mean     unit.Dioptre    // mean corneal power, at the index of the lens formula
	Cornea   Vector          // astigmatism of the cornea, as planned with
	Length   unit.Millimetre // cornea to retina, as the lens formula has it
	Position unit.Millimetre // cornea to thin lens
	Vertex   unit.Millimetre // spectacle plane to cornea
}

// ToricLens is a lens by its spherical equivalent, its cylinder at the lens
// plane and its mark, the low-power meridian.
type ToricLens struct {
	Equivalent unit.Dioptre
	Cylinder   unit.Dioptre // 0 or more
	Mark       unit.Axis
}

func (l ToricLens) power() power {
	return powerOf(l.Equivalent, along(unit.Degree(l.Mark)+90).Scale(float64(l.Cylinder)))
}

const aqueous = float64(optics.Aqueous)

// check refuses what is no eye.
func (e Pseudophakic) check() error {
	switch {
	case !(e.Position > 0 && e.Position < e.Length):
		return &unit.RangeError{What: "lens_position_mm", Got: float64(e.Position), Low: 0, High: float64(e.Length), Unit: "mm"}
	case !(e.Mean > 0) || !unit.Finite(e.Cornea.Magnitude()) || float64(e.Cornea.Magnitude())/2 >= float64(e.Mean):
		return &unit.RangeError{What: "k_steep_d", Got: float64(e.Mean), Low: 0, High: math.Inf(1), Unit: "D"}
	}
	return nil
}

// behind is the vergence that the lens must give for a sharp image, in D.
func (e Pseudophakic) behind() float64 { return 1000 * aqueous / float64(e.Length-e.Position) }

// wanted is the astigmatic vergence at the corneal plane behind the cornea for
// a sharp retina with this lens.
func (e Pseudophakic) wanted(l ToricLens) (power, bool) {
	v := power{mean: e.behind()}.sub(l.power())
	return v.step(-float64(e.Position) / 1000 / aqueous)
}

// AtCornea is the refraction at the corneal plane with a lens that may lie
// anywhere: exact for crossed cylinders, minus form.
//
//	V₁ = 1000n/(L − d)·I − P,  V₀ = V₁(I + (d/n)V₁)⁻¹,  R = V₀ − K
func (e Pseudophakic) AtCornea(l ToricLens) (refraction.AtCornea, error) {
	if err := e.check(); err != nil {
		return refraction.AtCornea{}, err
	}
	v, ok := e.wanted(l)
	if !ok {
		return refraction.AtCornea{}, &unit.RangeError{What: "lens_d", Got: float64(l.Equivalent), Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
	}
	r := v.sub(powerOf(e.Mean, e.Cornea))
	return minusForm(r), nil
}

// minusForm writes a correcting power matrix, steep at its highest power, as
// sphere, minus cylinder and axis.
func minusForm(r power) refraction.AtCornea {
	c := math.Hypot(r.x, r.y)
	axis := math.Atan2(r.y, r.x) * 90 / math.Pi
	return refraction.AtCornea{Sphere: unit.Dioptre(r.mean + c/2), Cylinder: unit.Dioptre(-c), Axis: unit.NewAxis(unit.Degree(axis))}
}

// Refraction is AtCornea carried to the spectacle plane, each meridian by itself.
func (e Pseudophakic) Refraction(l ToricLens) (refraction.AtSpectacle, error) {
	r, err := e.AtCornea(l)
	if err != nil {
		return refraction.AtSpectacle{}, err
	}
	return r.ToSpectacle(e.Vertex)
}

// Ideal is the toric lens that would leave an eye exactly on a spherical target:
// the thin eye's power for each principal meridian of the cornea with one lens
// position (fam2007), the mark on the steep one.
func (e Pseudophakic) Ideal(target unit.Dioptre) (ToricLens, error) {
	if err := e.check(); err != nil {
		return ToricLens{}, err
	}
	c := e.Cornea.Cylinder()
	meridian := func(k unit.Dioptre) optics.Thin {
		return optics.Thin{Cornea: k, Length: e.Length, Position: e.Position, Vertex: e.Vertex}
	}
	steep, err := meridian(e.Mean + c.Magnitude/2).Power(target)
	if err != nil {
		return ToricLens{}, err
	}
	flat, err := meridian(e.Mean - c.Magnitude/2).Power(target)
	if err != nil {
		return ToricLens{}, err
	}
	return ToricLens{(steep + flat) / 2, flat - steep, c.Steep}, nil
}

// Ratio is the cylinder at the lens plane that one dioptre at the cornea asks
// for, 1/(1 − d·K/n)² with d in metres. It depends on position and corneal
// power, not on the length.
func (e Pseudophakic) Ratio() float64 {
	q := 1 - float64(e.Position)*float64(e.Mean)/1000/aqueous
	return 1 / (q * q)
}

// WithCornea finds the cornea behind a refraction and the lens as it lies, by
// taking what the lens leaves from what the retina asks for.
func (e Pseudophakic) WithCornea(l ToricLens, r refraction.AtSpectacle) (Pseudophakic, error) {
	at, err := r.ToCornea()
	if err != nil {
		return e, err
	}
	if !(e.Position > 0 && e.Position < e.Length) {
		return e, e.check()
	}
	v, ok := e.wanted(l)
	if !ok {
		return e, &unit.RangeError{What: "lens_d", Got: float64(l.Equivalent), Low: math.Inf(-1), High: math.Inf(1), Unit: "D"}
	}
	pv := at.Vector()
	k := v.sub(power{float64(pv.M), float64(2 * pv.J0), float64(2 * pv.J45)})
	e.Mean, e.Cornea = unit.Dioptre(k.mean), k.vector()
	return e, e.check()
}

// Laid is a toric lens over a cornea, both at the corneal plane.
type Laid struct {
	Cornea Vector
	Lens   unit.Dioptre // its cylinder there
}

// Turned is the astigmatism that the lens leaves when it lies a rotation away
// from the steep meridian, counter-clockwise positive:
// C² = c² + l² − 2cl·cos 2β. The mean power does not change.
func (l Laid) Turned(by unit.Degree) Vector {
	c := l.Cornea.Cylinder()
	return l.Cornea.Sub(Cylinder{l.Lens, unit.NewAxis(unit.Degree(c.Steep) + by)}.Vector())
}

// LostAt is the rotation at which the lens leaves as much as none,
// cos 2β = l/2c: 30 degrees when it matches the cornea, 0 at twice the cornea.
func (l Laid) LostAt() unit.Degree {
	k := float64(l.Lens) / 2 / float64(l.Cornea.Magnitude())
	if !(k < 1) {
		return 0
	}
	return unit.Degree(math.Acos(k) * 90 / math.Pi)
}

// Marking is how far a lens lies from where it was meant to, on average 0.
type Marking struct{ SD unit.Degree }

// Mean is the expected magnitude of what a lens leaves, over a normal spread
// of its lie.
func (m Marking) Mean(l Laid) unit.Dioptre {
	return unit.Dioptre(m.over(func(by unit.Degree) float64 { return float64(l.Turned(by).Magnitude()) }))
}

// Within is the chance, 0 to 1, that the lens leaves at most limit.
func (m Marking) Within(limit unit.Dioptre, laid Laid) float64 {
	c, l, t := float64(laid.Cornea.Magnitude()), float64(laid.Lens), float64(limit)
	switch {
	case t < math.Abs(c-l):
		return 0
	case t >= c+l, !(m.SD > 0):
		return 1
	}
	beta := math.Acos((c*c+l*l-t*t)/(2*c*l)) * 90 / math.Pi // turned by no more than this it leaves no more than t
	return math.Erf(beta/float64(m.SD)/math.Sqrt2) + beyond(beta, float64(m.SD))
}

// beyond is the chance of a lens that was turned by about half a circle or
// more: there it leaves as little again.
func beyond(beta, sd float64) (p float64) {
	for turn := 180.0; turn-beta < 8*sd; turn += 180 {
		p += math.Erf((turn+beta)/sd/math.Sqrt2) - math.Erf((turn-beta)/sd/math.Sqrt2)
	}
	return p
}

// over is the mean of g over the spread, by Simpson's rule to 8 SD.
func (m Marking) over(g func(unit.Degree) float64) float64 {
	if !(m.SD > 0) {
		return g(0)
	}
	const n = 800
	h, sum := 16.0/n, 0.0
	for i := range n + 1 {
		z, w := -8+h*float64(i), 2.0
		if i == 0 || i == n {
			w = 1
		} else if i%2 == 1 {
			w = 4
		}
		sum += w * g(m.SD*unit.Degree(z)) * math.Exp(-z*z/2)
	}
	return sum * h / 3 / math.Sqrt(2*math.Pi)
}

var (
	toricSmall = finding.Declare(finding.Rule{Code: "toric-not-worth-it-small", Severity: finding.Note, Ref: own,
		Limit: "no cylinder on the shelf is expected to leave 0.25 D less than a lens without one"})
	toricMarking = finding.Declare(finding.Rule{Code: "toric-not-worth-it-marking", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.Kodavoor2020, Where: "misalignment 4.7 ± 3.1° by hand, 4.0 ± 3.0° digital, at 3 months", Grade: source.Read},
		Limit: "with this spread of marking the expected gain is below 0.25 D"})
	toricIrregular = finding.Declare(finding.Rule{Code: "toric-surgery-on-cornea", Severity: finding.Caution, Ref: own,
		Limit: "a cornea that was operated on: keratometry does not say what it does to light"})
	toricBag = finding.Declare(finding.Rule{Code: "toric-needs-bag", Severity: finding.Caution, Ref: own,
		Limit: "a toric lens turns and moves outside an intact bag"})
	toricFlip = finding.Declare(finding.Rule{Code: "toric-overcorrects", Severity: finding.Caution, Ref: source.Ref{Key: source.Felipe2011, Where: "of two cylinders the lower", Grade: source.Read},
		Limit: "the lens is stronger than the cornea: the steep meridian turns by 90°"})
	seatedMark = finding.Declare(finding.Rule{Code: "toric-mark-seated", Severity: finding.Note, Ref: source.Ref{Key: source.Cyclotorsion, Grade: source.Memory},
		Limit: "mark 0 and 180 sitting: lying down the eye turns by 2–4° on average, up to 15°"})
	noMarking = finding.Declare(finding.Rule{Code: "marking-error-assumed", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Kodavoor2020, Where: "about 5° by hand", Grade: source.Read},
		Limit: "own spread of marking not recorded: 5° assumed"})
)

// DefaultMarking is taken where the surgeon's own spread is not recorded.
const DefaultMarking unit.Degree = 5

// worthIt is the expected gain a toric lens must bring, in D: a quarter, the
// step of a trial frame.
const worthIt unit.Dioptre = 0.25

// Step is one cylinder of the shelf.
type Step struct {
	Lens     ToricLens
	Residual refraction.AtSpectacle
	AtCornea unit.Dioptre // cylinder of the lens at the corneal plane
	Left     Cylinder     // at the corneal plane, when it lies as meant
	Expected unit.Dioptre // mean with the spread of marking
	Within   float64      // chance of at most 0.50 D at the corneal plane, of marking alone
	LostAt   unit.Degree  // turned by this it leaves as much as none
}

// Shelf is what toric lenses there are: cylinders at the lens plane.
type Shelf struct{ Cylinders []unit.Dioptre }

// Steps answers for every cylinder of the shelf and for none, with a lens of
// the given spherical equivalent whose mark lies on the steep meridian.
func (e Pseudophakic) Steps(equivalent unit.Dioptre, s Shelf, m Marking) (list []Step, err error) {
	for _, c := range append([]unit.Dioptre{0}, s.Cylinders...) {
		l := ToricLens{equivalent, c, e.Cornea.Cylinder().Steep}
		x := Step{Lens: l, AtCornea: c / unit.Dioptre(e.Ratio())}
		if x.Residual, err = e.Refraction(l); err != nil {
			return nil, err
		}
		laid := Laid{e.Cornea, x.AtCornea}
		x.Left, x.LostAt = laid.Turned(0).Cylinder(), laid.LostAt()
		x.Expected, x.Within = m.Mean(laid), m.Within(halfDioptre, laid)
		list = append(list, x)
	}
	return list, nil
}

// Choose takes, of the steps, the one expected to leave least; where two are
// within 0.05 D the lower cylinder. It says when a toric lens is not worth it.
func Choose(steps []Step, m Marking) (best int, said []finding.Finding) {
	sharp := 0
	for i := range steps {
		if steps[i].Expected < steps[best].Expected-0.05 {
			best = i
		}
		if steps[i].Left.Magnitude < steps[sharp].Left.Magnitude {
			sharp = i
		}
	}
	plain := steps[0]
	switch gain := plain.Expected - steps[best].Expected; {
	case len(steps) < 2 || best > 0 && gain >= worthIt:
	case plain.Left.Magnitude-steps[sharp].Left.Magnitude < worthIt:
		best, said = 0, append(said, toricSmall.On("cylinders_d", value("got", plain.Left.Magnitude.Unsigned())))
	default:
		best, said = 0, append(said, toricMarking.On("marking_sd_deg", value("sd", m.SD.String()), value("gain", gain.Unsigned())))
	}
	if x := steps[best]; best > 0 && float64(x.AtCornea) > float64(plain.Left.Magnitude)+0.005 {
		said = append(said, toricFlip.On("cylinders_d", value("got", x.AtCornea.Unsigned()), value("cornea", plain.Left.Magnitude.Unsigned())))
	}
	if best > 0 {
		said = append(said, seatedMark.On(""))
	}
	return best, said
}

// Circumstances are what decides whether a toric lens makes sense at all.
type Circumstances struct {
	Surgery   eye.CornealSurgery
	Placement eye.Placement
	Marking   unit.Reading[unit.Degree]
}

// Findings says what speaks against a toric lens in this eye.
func (c Circumstances) Findings() (list []finding.Finding) {
	if c.Surgery != "" && c.Surgery != eye.NoSurgery {
		list = append(list, toricIrregular.On("corneal_surgery"))
	}
	if c.Placement == eye.Sulcus || c.Placement == eye.Chamber {
		list = append(list, toricBag.On("placement"))
	}
	if !c.Marking.Known {
		list = append(list, noMarking.On("marking_sd_deg", value("sd", DefaultMarking.String())))
	}
	return list
}

// Spread is the marking to plan with.
func (c Circumstances) Spread() Marking { return Marking{c.Marking.Or(DefaultMarking)} }
