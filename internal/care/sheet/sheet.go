// Package sheet is the theatre sheet of one eye as values: what the theatre
// sees and in which order. How it looks is for the pages and the print.
//
// The order is that of use: who and which eye, what is done, which lens, what
// it is meant to leave; what changes what people do; what the plan rests on
// and who stands for it; the team's checks; what to write down. Nothing is
// typed again: every line comes from the plan and the record.
package sheet

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"slices"

	"linn/calc/biometry"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/plan"
	"linn/unit"
)

// Person is who the sheet is about.
type Person struct {
	Name       string
	Identifier string
	Sex        eye.Sex
	Born       unit.Date
	Age        unit.Reading[unit.Year]
	Allergies  Stated
}

// Stated is an answer to a question that may not have been asked.
type Stated struct {
	Asked bool
	Items []string // none and asked: none known
}

// Act is who did something and, where known, when and why.
type Act struct {
	Name   string
	When   string // as printed, in the ward's zone
	Reason string
}

// Pass is a gated caution that a senior let pass.
type Pass struct {
	Finding finding.Finding
	Act
}

// Input is what a sheet is made from.
type Input struct {
	Plan       *plan.Plan
	PlanDigest string // the digest of the signed plan's text; see [Digest]
	Person     Person

	List      unit.Date // the theatre list it is valid for
	Place     string    // theatre or room
	Order     int       // on the list, from 1
	Procedure string    // key of the procedure; "" takes phaco and lens

	PlanNumber int
	Number     int // of the sheet; 0 before signing

	Measured Act
	Second   *Act // who read name, side, length, K and lens from the source
	Signed   *Act // nil: NOT SIGNED
	Senior   *Act // countersigned
	Lone     string
	Passes   []Pass

	Blockers []plan.Blocker // what still keeps it from being signed

	Phases []Phase // settings the surgeon typed
	Care   *Care   // nil when nothing is recorded beside the readings
}

// Sheet is the theatre sheet.
type Sheet struct {
	Side      eye.Side
	SideWords string // RIGHT EYE, LEFT EYE
	Person    Person

	Signed bool
	Number string // "" before signing
	Mark   string // what the DataMatrix says, "" before signing
	List   unit.Date
	Place  string
	Order  int

	Procedure string
	Placement eye.Placement // "" was not recorded: the bag is planned for
	Lens      Lens
	Alerts    []finding.Finding // stops and cautions, the worst first
	Notes     int               // findings that are on the plan and not on the sheet
	Readings  []Reading
	Fellow    []Reading     // of the other eye, for comparison
	Clock     *Clock        // the cornea from the surgeon's seat; nil when no incision or toric lens is planned
	Rescue    []plan.Rescue // the ways out, for the chosen lens

	Measured   Act
	Second     *Act
	SignedBy   *Act
	Senior     *Act
	Lone       string
	Passes     []Pass
	PlanNumber int
	Program    string

	Checks    []Check
	WriteDown []string // keys
	Blockers  []plan.Blocker
	Phases    []Phase
}

// Lens is what is to be implanted and what it is expected to leave.
type Lens struct {
	Chosen    bool
	Model     string
	Power     plan.Number // D
	Target    plan.Number // D, spherical equivalent at the spectacle plane
	Assumed   bool        // the target was not recorded
	Predicted plan.Number // D
	SD        plan.Number
	TwoOf     plan.Number // half-width: two of three such eyes
	Methods   []string    // behind the prediction
}

// Reading is one reading with what it rests on.
type Reading struct {
	Field  string // contract key
	Text   string // with its unit; "" was not recorded
	Detail string // how it was measured, a contract word; "" none
}

// DefaultProcedure is the key of the ordinary operation.
const DefaultProcedure = "phaco-lens"

// New makes the sheet.
func New(in Input) Sheet {
	p := in.Plan
	e := &p.Input.Eye
	s := Sheet{Side: p.Side, SideWords: p.Side.Words(), Person: in.Person, Signed: in.Signed != nil, List: in.List, Place: in.Place, Order: in.Order,
		Procedure: in.Procedure, Placement: e.Placement, Lens: lensOf(p), Measured: in.Measured, Second: in.Second, SignedBy: in.Signed,
		Senior: in.Senior, Lone: in.Lone, Passes: in.Passes, PlanNumber: in.PlanNumber, Program: p.Input.Program,
		Checks: Checks, WriteDown: WriteDown, Blockers: in.Blockers, Phases: in.Phases}
	if s.Procedure == "" {
		s.Procedure = DefaultProcedure
	}
	for _, f := range p.All() {
		apart := f.Method != "" && !slices.Contains(s.Lens.Methods, f.Method) && !f.Blocks()
		if f.Severity == finding.Note || apart { // apart: said by a method that has no part in the prediction
			s.Notes++
			continue
		}
		s.Alerts = append(s.Alerts, f)
	}
	if in.Care != nil {
		s.Alerts = append(s.Alerts, in.Care.lines(s.Alerts)...)
	}
	s.Readings, s.Clock = readings(e, p.MeanK), ClockOf(p.Side, p.Cornea)
	s.Clock.Close(e.ExcludedHours)
	s.Rescue = rescueOf(p)
	if e.Fellow != nil {
		mean := plan.Number{}
		if k, err := biometry.MeanK(e.Fellow); err == nil {
			mean = plan.Number{Value: float64(k), Known: true}
		}
		s.Fellow = readings(e.Fellow, mean)
	}
	if s.Signed && in.Number > 0 {
		s.Number = fmt.Sprintf("%05d", in.Number)
		s.Mark = Mark(s.Number, s.Side, in.PlanDigest)
	}
	return s
}

func lensOf(p *plan.Plan) Lens {
	l := Lens{Target: p.Target, Assumed: !p.Input.Eye.Target.Known}
	d := p.Decision
	if d == nil {
		return l
	}
	l.Chosen, l.Model, l.Power, l.Predicted, l.SD, l.TwoOf = true, d.Model, d.Power, d.Predicted, d.SD, d.TwoOf
	for i := range p.Lenses {
		if p.Lenses[i].Model == d.Model {
			l.Methods = p.Lenses[i].Agreement.Methods
		}
	}
	return l
}

// rescueOf is the ladder of the chosen lens.
func rescueOf(p *plan.Plan) []plan.Rescue {
	for i := range p.Lenses {
		if p.Decision != nil && p.Lenses[i].Model == p.Decision.Model {
			return p.Lenses[i].Rescue
		}
	}
	return nil
}

// readings are those the second person reads from the source, then those the
// surgeon looks for.
func readings(e *eye.Eye, meanK plan.Number) []Reading {
	list := []Reading{
		{"axial_length_mm", text(e.AxialLength), string(e.AxialLengthMethod)},
		{"k_flat_d", power(e.KFlat), axis(e.KFlatAxis)},
		{"k_steep_d", power(e.KSteep), axis(e.KSteepAxis)},
		{"acd_mm", text(e.ACD), ""},
		{"lens_thickness_mm", text(e.LensThickness), ""},
		{"white_to_white_mm", text(e.WhiteToWhite), ""},
	}
	if meanK.Known {
		list = append(list, Reading{"mean_k_d", unit.Dioptre(meanK.Value).Unsigned(), ""})
	}
	return list
}

func text(r unit.Reading[unit.Millimetre]) string {
	if !r.Known {
		return ""
	}
	return r.Value.String()
}

func power(r unit.Reading[unit.Dioptre]) string {
	if !r.Known {
		return ""
	}
	return r.Value.Unsigned()
}

func axis(r unit.Reading[unit.Axis]) string {
	if !r.Known {
		return ""
	}
	return r.Value.String()
}

// Digest is the beginning of the SHA-256 of a signed plan's JSON, for the
// mark on its sheet.
func Digest(signed json.RawMessage) string {
	sum := sha256.Sum256(signed)
	return hex.EncodeToString(sum[:4])
}

// Mark is what the DataMatrix on a signed sheet says: the sheet's number, the
// side and the digest of the plan. It names no patient.
func Mark(number string, side eye.Side, digest string) string {
	return "linn.sheet/1 " + number + " " + string(side) + " " + digest
}
