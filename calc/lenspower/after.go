package lenspower

import (
	"fmt"
	"slices"

	"linn/calc/optics"
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// OperatedMethod is one published way to a lens power after corneal surgery. It
// corrects the corneal power, or the lens power, and then uses an ordinary
// method's optics.
type OperatedMethod struct {
	ID      string // "haigis-l"; stable, stored with every plan
	Version string // changes when a printed digit can change
	Ref     source.Ref

	Surgeries []eye.CornealSurgery // kinds it is offered for
	Needs     []string             // contract keys it needs besides axial length, K and the lens constant
	VariantOf string               // id of the method it is another form of; it is shown and not counted

	base    func(eye.CornealSurgery) string // ordinary method whose constant and position it takes; nil for Shammas
	correct func(*OperatedInput, *notes) (correction, error)
}

// OperatedInput is one operated eye. Refractions are spherical equivalents at
// the spectacle plane Vertex in front of the cornea; they are carried to the
// cornea where a method asks for it.
type OperatedInput struct {
	Surgery     eye.CornealSurgery
	AxialLength unit.Millimetre
	K           unit.Dioptre               // mean now, in dioptres at index 1.3375
	KFlat       unit.Reading[unit.Dioptre] // flattest K now
	TrueK       unit.Reading[unit.Dioptre] // measured total corneal power now, on the scale of 1.3375: only the -dk methods take it
	ACD         unit.Reading[unit.Millimetre]
	Vertex      unit.Millimetre

	KBefore          unit.Reading[unit.Dioptre] // mean before surgery
	RefractionBefore unit.Reading[unit.Dioptre] // before surgery
	RefractionAfter  unit.Reading[unit.Dioptre] // after surgery, stable, before the cataract

	Constants Constants
}

// correction is what an operated method makes of the readings.
type correction struct {
	k       unit.Dioptre               // for the optics, at 1.3375
	before  unit.Reading[unit.Dioptre] // predicts the position where the base takes it
	added   unit.Dioptre               // to the power of the lens
	trueK   bool                       // k is the method's estimate of the true corneal power
	history bool                       // readings from before the surgery were used
	biased  bool                       // k is known not to be the true power: shown, not counted
	found   []finding.Finding
}

// OperatedSolution is an operated eye with its lens position settled.
type OperatedSolution struct {
	Method   *OperatedMethod
	Base     string                     // ordinary method of the optics, "" for Shammas
	Position unit.Millimetre            // d, cornea to thin lens
	KTrue    unit.Reading[unit.Dioptre] // the corneal power taken as true, at 1.3375; not known when the method adds to the lens power instead
	Added    unit.Dioptre               // what the method adds to the power of the ordinary method
	History  bool                       // readings from before the surgery were used
	Counts   bool                       // enters median and spread
	Findings []finding.Finding

	eye    optics.Thin
	vertex unit.Millimetre
	scale  float64 // the refraction at the cornea is divided by it; 1 but for Shammas
}

// NotOfferedError says that a method is not made for the kind of surgery.
type NotOfferedError struct {
	Method  string
	Surgery eye.CornealSurgery
}

func (e *NotOfferedError) Error() string {
	return fmt.Sprintf("lenspower: %s is not made for corneal surgery %q", e.Method, e.Surgery)
}

// OperatedMethods are all methods after corneal surgery in the order they are
// shown.
var OperatedMethods = slices.Concat(haigisL, shammas, wangKochMaloney, separateSurfaces, rosa, masket, feizMannis, latkany, adjustedK, jaradeTabbara, clinicalHistory, doubleKForms)

// AfterSurgery returns the methods made for a kind of corneal surgery, nil for
// none: ordinary methods answer an eye that was not operated on.
func AfterSurgery(surgery eye.CornealSurgery) (list []*OperatedMethod) {
	for _, m := range OperatedMethods {
		if slices.Contains(m.Surgeries, surgery) {
			list = append(list, m)
		}
	}
	return list
}

// OperatedMethodNamed returns the method with the id, nil when there is none.
func OperatedMethodNamed(id string) *OperatedMethod {
	i := slices.IndexFunc(OperatedMethods, func(m *OperatedMethod) bool { return m.ID == id })
	if i < 0 {
		return nil
	}
	return OperatedMethods[i]
}

// Base returns the id of the ordinary method whose optics and constant the
// method takes for a kind of surgery. Shammas has optics of his own and takes
// the A constant: "".
func (m *OperatedMethod) Base(surgery eye.CornealSurgery) string {
	if m.base == nil {
		return ""
	}
	return m.base(surgery)
}

// Missing returns the contract key of a reading or lens constant the method
// needs and the input lacks, "" when it has all.
func (m *OperatedMethod) Missing(in OperatedInput) string {
	for _, key := range m.Needs {
		if !in.has(key) {
			return key
		}
	}
	if m.base == nil {
		if !in.Constants.A.Known {
			return "a"
		}
		return ""
	}
	base := MethodNamed(m.base(in.Surgery))
	if base.NeedsACD() && !in.ACD.Known {
		return "acd_mm"
	}
	_, _, missing := base.Resolve(in.Constants)
	return missing
}

func (in *OperatedInput) has(key string) bool {
	switch key {
	case "k_before_d":
		return in.KBefore.Known
	case "refraction_before_d":
		return in.RefractionBefore.Known
	case "refraction_after_d":
		return in.RefractionAfter.Known
	case "acd_mm":
		return in.ACD.Known
	case "k_flat_d":
		return in.KFlat.Known
	}
	return false
}

// Solve settles the eye. Errors: *NotOfferedError for another kind of surgery,
// *MissingError with the contract key of what is lacking, *unit.RangeError for
// readings or a history outside the method's domain.
func (m *OperatedMethod) Solve(in OperatedInput) (OperatedSolution, error) {
	s, _, _, err := m.solve(&in, nil)
	return s, err
}

func (m *OperatedMethod) solve(in *OperatedInput, n *notes) (OperatedSolution, Input, *Method, error) {
	fail := func(err error) (OperatedSolution, Input, *Method, error) {
		return OperatedSolution{}, Input{}, nil, err
	}
	if !slices.Contains(m.Surgeries, in.Surgery) {
		return fail(&NotOfferedError{m.ID, in.Surgery})
	}
	if key := m.Missing(*in); key != "" {
		return fail(&MissingError{m.ID, key})
	}
	if err := in.check(); err != nil {
		return fail(err)
	}
	c, err := m.correct(in, n)
	if err != nil {
		return fail(err)
	}
	s := OperatedSolution{Method: m, Added: c.added, History: c.history, Counts: m.VariantOf == "" && !c.biased, Findings: c.found, vertex: in.Vertex, scale: 1}
	if c.trueK {
		s.KTrue = unit.Known(c.k)
	}
	if m.base == nil {
		err := s.shammas(in, c, n)
		return s, Input{}, nil, err
	}
	base := MethodNamed(m.base(in.Surgery))
	s.Base = base.ID
	constant, findings, _ := base.Resolve(in.Constants)
	through := Input{AxialLength: in.AxialLength, K: c.k, KBefore: c.before, ACD: in.ACD, Vertex: in.Vertex, Constant: constant}
	solved, err := base.Solve(through)
	if err != nil {
		return fail(err)
	}
	s.Position, s.eye, s.Counts = solved.Position, solved.eye, s.Counts && !constant.Converted
	for _, f := range append(findings, base.Findings(through)...) {
		if f.Code == outsideUse.Code && f.Field == "k_flat_d" && c.k != in.K {
			continue // it would call a corrected K the one that was read
		}
		f.Method = m.ID
		s.Findings = append(s.Findings, f)
	}
	return s, through, base, nil
}

// check refuses readings outside the input rules.
func (in *OperatedInput) check() error {
	for _, r := range [...]struct {
		key    string
		v      float64
		known  bool
		bounds unit.Bounds
		unit   string
	}{
		{"axial_length_mm", float64(in.AxialLength), true, lengthBounds, "mm"},
		{"k_flat_d", float64(in.K), true, kBounds, "D"},
		{"k_flat_d", float64(in.KFlat.Value), in.KFlat.Known, kBounds, "D"},
		{"k_true_d", float64(in.TrueK.Value), in.TrueK.Known, kBounds, "D"},
		{"k_before_d", float64(in.KBefore.Value), in.KBefore.Known, kBounds, "D"},
		{"vertex_mm", float64(in.Vertex), true, vertexBounds, "mm"},
		{"refraction_before_d", float64(in.RefractionBefore.Value), in.RefractionBefore.Known, historyBounds, "D"},
		{"refraction_after_d", float64(in.RefractionAfter.Value), in.RefractionAfter.Known, historyBounds, "D"},
	} {
		if r.known && !within(r.v, r.bounds) {
			return outside(r.key, r.v, r.bounds, r.unit)
		}
	}
	return nil
}

// historyBounds are the input rules of the file format for refractions.
var historyBounds = unit.Bounds{Low: -40, High: 40}

// Power returns the unrounded lens power for a target refraction at the
// spectacle plane. See [optics.Thin.Power] for its errors.
func (s OperatedSolution) Power(target unit.Dioptre) (unit.Dioptre, error) {
	if s.scale != 1 {
		rc, err := optics.ToCornea(target, s.vertex)
		if err != nil {
			return 0, err
		}
		target = rc / unit.Dioptre(s.scale)
	}
	p, err := s.eye.Power(target)
	if err != nil {
		return 0, err
	}
	return p + s.Added, nil
}

// Refraction returns the refraction at the spectacle plane that a lens leaves.
// See [optics.Thin.Refraction] for its errors.
func (s OperatedSolution) Refraction(power unit.Dioptre) (unit.Dioptre, error) {
	r, err := s.eye.Refraction(power - s.Added)
	if err != nil || s.scale == 1 {
		return r, err
	}
	return optics.ToSpectacle(r*unit.Dioptre(s.scale), s.vertex)
}

// always names one ordinary method as the base for every kind of surgery.
func always(id string) func(eye.CornealSurgery) string {
	return func(eye.CornealSurgery) string { return id }
}

// The kinds of surgery the methods are offered for.
var (
	myopicOnly   = []eye.CornealSurgery{eye.MyopicLaser}
	hyperopic    = []eye.CornealSurgery{eye.HyperopicLaser}
	eitherLaser  = []eye.CornealSurgery{eye.MyopicLaser, eye.HyperopicLaser}
	laserUnknown = []eye.CornealSurgery{eye.MyopicLaser, eye.HyperopicLaser, eye.UnknownSurgery}
	anySurgery   = []eye.CornealSurgery{eye.MyopicLaser, eye.HyperopicLaser, eye.RadialCuts, eye.Graft, eye.UnknownSurgery}
)
