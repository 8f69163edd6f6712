package lenspower

import (
	"errors"
	"fmt"
	"math"

	"linn/calc/optics"
	"linn/source"
	"linn/unit"
)

// Method is one published formula: its own corneal power, optical length and
// lens position, put into the one vergence engine of calc/optics.
type Method struct {
	ID      string     // "srk-t"; stable, stored with every plan
	Version string     // changes when a printed digit can change
	Ref     source.Ref // the publication and how well it was read
	Key     string     // contract key of the constant the method is made for

	Length, K unit.Bounds // ordinary use, in mm and D; outside it a note is made

	kind    kind
	use     source.Ref // where the ordinary-use range comes from
	cornea  float64    // Kc per dioptre of K at 1.3375
	length0 float64    // optical length L = length0 + length1·AL
	length1 float64
	doubleK bool // K before surgery may take K's place in the position
}

type kind int

const (
	srkT kind = iota
	t2
	holladay1
	hofferQ
	haigis
)

// Methods are the methods in the order they are shown.
var Methods = []*Method{
	{ID: "srk-t", Version: "1", Ref: source.Ref{Key: source.SRKT1990, Where: "equations and erratum", Grade: source.Memory}, Key: "a",
		Length: unit.Bounds{Low: 20, High: 33}, K: unit.Bounds{Low: 38, High: 47}, use: ownRange, kind: srkT,
		cornea: 1000 * srktCornea / keratometric, length0: srktRetina0, length1: 1 + srktRetinaLength, doubleK: true},
	{ID: "t2", Version: "1", Ref: source.Ref{Key: source.Sheard2010, Where: "corneal height H2", Grade: source.Memory}, Key: "a",
		Length: unit.Bounds{Low: 20, High: 33}, K: unit.Bounds{Low: 38, High: 48}, use: ownRange, kind: t2,
		cornea: 1000 * srktCornea / keratometric, length0: srktRetina0, length1: 1 + srktRetinaLength, doubleK: true},
	{ID: "holladay-1", Version: "1", Ref: source.Ref{Key: source.Holladay1988, Where: "part 2", Grade: source.Memory}, Key: "sf_mm",
		Length: unit.Bounds{Low: 20, High: 26}, K: unit.Bounds{Low: 38, High: 48.2}, use: source.Ref{Key: source.Holladay1988, Where: "the limits of R (7 mm) and AG (13.5 mm), rounded; 20 mm is our own", Grade: source.Memory}, kind: holladay1,
		cornea: 1000 * holladayCornea / keratometric, length0: holladayRetina, length1: 1, doubleK: true},
	{ID: "hoffer-q", Version: "1", Ref: source.Ref{Key: source.Hoffer1993, Where: "equations as corrected", Grade: source.Memory}, Key: "pacd_mm",
		Length: unit.Bounds{Low: hofferMinAL, High: 26}, K: unit.Bounds{Low: 38, High: 48}, use: source.Ref{Key: source.Hoffer1993, Where: "lower limit of the ACD equation; the paper prefers other formulas above 26 mm", Grade: source.Secondary}, kind: hofferQ,
		cornea: 1, length1: 1, doubleK: true},
	{ID: "haigis", Version: "1", Ref: source.Ref{Key: source.Haigis2000, Where: "equations", Grade: source.Memory}, Key: "a0",
		Length: unit.Bounds{Low: 20, High: 33}, K: unit.Bounds{Low: 38, High: 48}, use: ownRange, kind: haigis,
		cornea: 1000 * haigisCornea / keratometric, length1: 1},
}

var ownRange = source.Ref{Key: source.OwnChoice, Where: "ordinary use", Grade: source.Own}

// MethodNamed returns the method with the id, nil when there is none.
func MethodNamed(id string) *Method {
	for _, m := range Methods {
		if m.ID == id {
			return m
		}
	}
	return nil
}

// Input is one eye as a method sees it.
type Input struct {
	AxialLength unit.Millimetre               // measured, or corrected to an optical length
	K           unit.Dioptre                  // mean of both meridians in dioptres, at index 1.3375
	KBefore     unit.Reading[unit.Dioptre]    // mean K before corneal surgery: known, it predicts the position (double K)
	ACD         unit.Reading[unit.Millimetre] // epithelium to lens, before surgery
	Vertex      unit.Millimetre               // spectacle plane to cornea
	Constant    Resolved                      // from Resolve of the same method
}

// MissingError says that a method lacks an input; Field is its contract key.
type MissingError struct{ Method, Field string }

func (e *MissingError) Error() string {
	return fmt.Sprintf("lenspower: %s needs %s", e.Method, e.Field)
}

// errOther is our own fault: constants of one method given to another.
var errOther = errors.New("lenspower: the constant was resolved for another method")

// NeedsACD reports whether the method uses the measured chamber depth.
func (m *Method) NeedsACD() bool { return m.kind == haigis }

// DoubleK reports whether the method takes a K from before corneal surgery.
func (m *Method) DoubleK() bool { return m.doubleK }

// Missing returns the contract key of a reading the method needs and the input
// lacks, "" when it has all.
func (m *Method) Missing(in Input) string {
	if m.NeedsACD() && !in.ACD.Known {
		return "acd_mm"
	}
	return ""
}

// Solution is an eye with its lens position settled: powers and refractions of
// it are one division each.
type Solution struct {
	Position unit.Millimetre // d, cornea to thin lens
	eye      optics.Thin
}

// Power returns the unrounded lens power for a target refraction (spherical
// equivalent at the spectacle plane). See [optics.Thin.Power] for its errors.
func (s Solution) Power(target unit.Dioptre) (unit.Dioptre, error) { return s.eye.Power(target) }

// Refraction returns the refraction at the spectacle plane that a lens leaves.
// See [optics.Thin.Refraction] for its errors.
func (s Solution) Refraction(power unit.Dioptre) (unit.Dioptre, error) {
	return s.eye.Refraction(power)
}

// Eye returns the thin eye the formula makes of the readings.
func (s Solution) Eye() optics.Thin { return s.eye }

// Solve settles the lens position of an eye. It allocates nothing unless it
// fails: a *unit.RangeError when a reading is outside the method's domain or
// the position not inside the eye, a *MissingError when a reading is missing.
//
// Domain: axial length 15 to 38 mm, K 25 to 65 D, chamber depth 1.5 to 5.5 mm,
// vertex 8 to 16 mm. srk-t also refuses where r² − Cw²/4 < 0.
func (m *Method) Solve(in Input) (Solution, error) {
	if err := m.check(&in); err != nil {
		return Solution{}, err
	}
	al := float64(in.AxialLength)
	d, ok := m.position(al, float64(m.positionK(&in)), float64(in.ACD.Value), in.Constant)
	if !ok {
		return Solution{}, m.cusp(&in)
	}
	eye := m.thin(al, float64(in.K))
	eye.Position, eye.Vertex = unit.Millimetre(d), in.Vertex
	if !(d > 0 && eye.Position < eye.Length) {
		return Solution{}, &unit.RangeError{What: "lens_position_mm", Got: d, Low: 0, High: float64(eye.Length), Unit: "mm"}
	}
	return Solution{Position: eye.Position, eye: eye}, nil
}

// thin is the method's cornea and optical length.
func (m *Method) thin(al, k float64) optics.Thin {
	return optics.Thin{Cornea: unit.Dioptre(m.cornea * k), Length: unit.Millimetre(m.length0 + m.length1*al)}
}

// position is the regression of the method; ok is false at the cusp of srk-t.
func (m *Method) position(al, k, acd float64, c Resolved) (d float64, ok bool) {
	switch m.kind {
	case srkT:
		h, ok := srktHeight(radius(k), srktWidth(al, k))
		return h + c.offset, ok
	case t2:
		return t2Height(al, k) + c.offset, true
	case holladay1:
		return holladayDepth(al, radius(k)) + c.offset, true
	case hofferQ:
		return hofferDepth(al, k) + c.offset, true
	}
	return haigisDepth(al, acd, float64(c.A1), float64(c.A2)) + c.offset, true
}

// positionK is the K the position is predicted from.
func (m *Method) positionK(in *Input) unit.Dioptre {
	if m.doubleK && in.KBefore.Known {
		return in.KBefore.Value
	}
	return in.K
}

func (m *Method) check(in *Input) error {
	switch {
	case in.Constant.method == nil:
		return &MissingError{m.ID, m.Key}
	case in.Constant.method != m:
		return errOther
	case !within(float64(in.AxialLength), lengthBounds):
		return outside("axial_length_mm", float64(in.AxialLength), lengthBounds, "mm")
	case !within(float64(in.K), kBounds):
		return outside("k_flat_d", float64(in.K), kBounds, "D")
	case !within(float64(m.positionK(in)), kBounds):
		return outside("k_before_d", float64(in.KBefore.Value), kBounds, "D")
	case !within(float64(in.Vertex), vertexBounds):
		return outside("vertex_mm", float64(in.Vertex), vertexBounds, "mm")
	case !m.NeedsACD():
		return nil
	case !in.ACD.Known:
		return &MissingError{m.ID, "acd_mm"}
	case !within(float64(in.ACD.Value), acdBounds):
		return outside("acd_mm", float64(in.ACD.Value), acdBounds, "mm")
	}
	return nil
}

// within is false for NaN.
func within(x float64, b unit.Bounds) bool { return x >= b.Low && x <= b.High }

func outside(field string, got float64, b unit.Bounds, name string) error {
	return &unit.RangeError{What: field, Got: got, Low: b.Low, High: b.High, Unit: name, Source: string(source.Linn)}
}

// cusp is the refusal of srk-t: the length and K at hand make a corneal width
// that no sphere of the measured radius has. It names the longest width.
func (m *Method) cusp(in *Input) error {
	k := float64(m.positionK(in))
	return &unit.RangeError{What: "corneal-width", Got: srktWidth(float64(in.AxialLength), k), Low: math.Inf(-1), High: 2 * radius(k), Unit: "mm", Source: string(source.SRKT1990)}
}

// Position returns where the lens is predicted to stand, cornea to thin lens.
// Errors are those of Solve.
func (m *Method) Position(in Input) (unit.Millimetre, error) {
	s, err := m.Solve(in)
	return s.Position, err
}

// Power returns the unrounded lens power for a target refraction at the
// spectacle plane. Errors are those of Solve and of [optics.Thin.Power].
func (m *Method) Power(in Input, target unit.Dioptre) (unit.Dioptre, error) {
	s, err := m.Solve(in)
	if err != nil {
		return 0, err
	}
	return s.Power(target)
}

// Refraction returns the refraction at the spectacle plane that a lens of the
// given power leaves. Errors are those of Solve and of [optics.Thin.Refraction].
func (m *Method) Refraction(in Input, power unit.Dioptre) (unit.Dioptre, error) {
	s, err := m.Solve(in)
	if err != nil {
		return 0, err
	}
	return s.Refraction(power)
}
