package pathway

import (
	"slices"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/plan"
	"linn/internal/care/sheet"
	"linn/unit"
)

// LensAnswer is what every lens method says about one eye.
type LensAnswer = plan.LensAnswer

// Number is a result that may not exist.
type Number = plan.Number

// The parts of a plan, for those who print it.
type (
	LensPlan   = plan.LensPlan
	MethodPlan = plan.MethodPlan
	PlanStep   = plan.Step
)

// Rescue, LengthBeside and SecondEye are what stands beside a plan: the ways
// out, other lengths, and what the first eye's error says.
type (
	Rescue       = plan.Rescue
	LengthBeside = plan.LengthBeside
	ChildBeside  = plan.ChildBeside
	SecondEye    = plan.SecondEye
)

// AdaptedMethods are the methods that answer eyes without their own lens, with
// oil or gas, and children's.
func AdaptedMethods() []string { return plan.AdaptedMethods() }

// AfterSurgery is what the methods after corneal surgery say together.
type AfterSurgery = plan.AfterSurgery

// ShareAfterSurgery is the kind of the share that published series after
// corneal surgery stand for.
const ShareAfterSurgery = plan.ShareAfterSurgery

// LensRow is the answer for one row of a table of eyes.
type LensRow = plan.Row

// LensOptions are what may be asked for beside the ordinary answer.
type LensOptions = plan.Options

// Lens answers the file of the command `linn lens`: one eye with its "lens".
// Everything that is wrong with the file is told at once.
func Lens(data []byte) (LensAnswer, eye.Eye, finding.Refusals) {
	return LensWith(data, LensOptions{})
}

// LensWith is Lens with more asked for.
func LensWith(data []byte, o LensOptions) (LensAnswer, eye.Eye, finding.Refusals) {
	e, l, _, refused := eyeAndLens(data)
	if len(refused) > 0 {
		return LensAnswer{}, e, refused
	}
	return plan.LensWith(&e, &l, o), e, nil
}

// AnswerRow answers one row of a table of eyes. chosen is the power whose
// refraction is asked for, where one is; what more is asked for stands in into.
func AnswerRow(e *eye.Eye, l *lenspower.Lens, chosen unit.Reading[unit.Dioptre], into *LensRow) {
	into.Answer(e, l, chosen)
}

// PlanOfFile is the plan of a case file with what keeps it from being signed.
// A file is never signed: that is done in the workbench, by people.
type PlanOfFile struct {
	plan.Plan
	Patient  *FilePatient   `json:"patient"`
	Blockers []plan.Blocker `json:"blockers"`

	Sheet sheet.Sheet `json:"-"` // not signed
}

// FilePatient is who a case file says it is about.
type FilePatient struct {
	Name       string    `json:"name"`
	Identifier string    `json:"identifier"`
	Sex        eye.Sex   `json:"sex,omitempty"`
	BirthDate  unit.Date `json:"birth_date,omitzero"`
}

// PlanFile answers the file of the command `linn plan`: one eye with its
// "lens", the power chosen ("lens_d") and the "patient", where they are given.
// program is the version of the program.
func PlanFile(data []byte, program string) (PlanOfFile, finding.Refusals) {
	e, l, others, refused := eyeAndLens(data, "patient", "lens_d", "sulcus_lens", "chamber_lens")
	in := plan.Input{Shelf: []plan.Shelved{{Lens: l}}, Program: program, Rules: plan.Rules}
	if m, ok := others["lens_d"]; ok {
		pick, bad := chosenPower(m, &l)
		in.Chosen, refused = pick, append(refused, bad...)
	}
	for _, place := range []eye.Placement{eye.Sulcus, eye.Chamber} {
		bad := rescueLens(&in, others, place)
		refused = append(refused, bad...)
	}
	who, bad := filePatient(others, &e)
	if refused = append(refused, bad...); len(refused) > 0 {
		return PlanOfFile{}, refused
	}
	in.Eye = e
	out := PlanOfFile{Plan: plan.Make(in), Patient: who}
	state := plan.State{Identified: who != nil && who.Name != "" && who.Identifier != ""}
	out.Blockers = plan.Ready(&out.Plan, state)
	person := sheet.Person{Sex: e.Sex, Age: e.Age}
	if who != nil {
		person.Name, person.Identifier, person.Born = who.Name, who.Identifier, who.BirthDate
	}
	out.Sheet = sheet.New(sheet.Input{Plan: &out.Plan, Person: person, Measured: sheet.Act{Name: e.Operator}, Blockers: out.Blockers})
	return out, nil
}

// rescueLens reads "sulcus_lens" or "chamber_lens": the lens that lies ready for
// when the operation goes otherwise.
func rescueLens(in *plan.Input, others map[string]eye.Member, place eye.Placement) finding.Refusals {
	m, ok := others[string(place)+"_lens"]
	if !ok {
		return nil
	}
	l, refused := lenspower.ParseLens(m)
	l.MadeFor = place
	in.Rescue = append(in.Rescue, plan.Shelved{Lens: l})
	return refused
}

// chosenPower reads "lens_d".
func chosenPower(m eye.Member, l *lenspower.Lens) (*plan.Pick, finding.Refusals) {
	f := eye.Field{Key: m.Key, Unit: "D", Number: true, Bounds: lenspower.LensFieldNamed("to_d").Bounds}
	if m.Kind != eye.Number && m.Kind != eye.Text {
		return nil, wrongKind(m, "number")
	}
	p, err := unit.Parse[unit.Dioptre](m.Text, m.Key, "D", f.Bounds)
	if err != nil {
		r := f.Refusal(err)
		r.Line, r.Column = m.Line, m.Column
		return nil, finding.Refusals{r}
	}
	return &plan.Pick{Model: l.Model, Power: p}, nil
}

func wrongKind(m eye.Member, wanted string) finding.Refusals {
	return finding.Refusals{{Code: "wrong-kind", Field: m.Key, Line: m.Line, Column: m.Column,
		Values: finding.Values{value("wanted", wanted), value("got", eye.Clip(m.Text))}}}
}

// filePatient reads "patient". Sex and age of the eye are taken from it where
// the eye does not record them; an age that the birth date contradicts is
// refused.
func filePatient(others map[string]eye.Member, e *eye.Eye) (*FilePatient, finding.Refusals) {
	m, ok := others["patient"]
	if !ok {
		return nil, nil
	}
	list, refused := m.Members()
	who := &FilePatient{}
	for _, in := range list {
		refused = append(refused, who.set(in)...)
	}
	if e.Sex == "" {
		e.Sex = who.Sex
	}
	switch age, ok := who.BirthDate.AgeOn(e.AsOf); {
	case !ok:
	case !e.Age.Known:
		e.Age = unit.Known(age)
	case e.Age.Value < age-1 || e.Age.Value > age+1.01: // a year's precision on either side
		refused = append(refused, finding.Refusal{Code: "age-disagrees", Field: "age_years", Line: m.Line, Column: m.Column,
			Values: finding.Values{value("got", e.Age.Value.String()), value("born", age.String())}})
	}
	return who, refused
}

// patientKeys are the members of "patient".
var patientKeys = []string{"name", "identifier", "sex", "birth_date"}

func (who *FilePatient) set(m eye.Member) finding.Refusals {
	switch {
	case !slices.Contains(patientKeys, m.Key):
		return finding.Refusals{{Code: "unknown-key", Field: eye.Clip(m.Key), Line: m.Line, Column: m.Column,
			Values: finding.Values{value("nearest", eye.Nearest(m.Key, patientKeys))}}}
	case m.Kind == eye.Null:
		return nil
	case m.Kind != eye.Text:
		return wrongKind(m, "text")
	}
	switch m.Key {
	case "name":
		who.Name = line(m.Text)
	case "identifier":
		who.Identifier = line(m.Text)
	case "sex":
		var e eye.Eye
		if r := eye.FieldNamed("sex").Set(&e, m.Text); r != nil {
			r.Line, r.Column = m.Line, m.Column
			return finding.Refusals{*r}
		}
		who.Sex = e.Sex
	default:
		born, err := unit.ParseDate(m.Text)
		if err != nil {
			return finding.Refusals{{Code: "not-a-date", Field: m.Key, Line: m.Line, Column: m.Column, Values: finding.Values{value("got", eye.Clip(m.Text))}}}
		}
		who.BirthDate = born
	}
	return nil
}

// eyeAndLens reads an eye file with its lens; others are the members named in
// also, as they stand.
func eyeAndLens(data []byte, also ...string) (eye.Eye, lenspower.Lens, map[string]eye.Member, finding.Refusals) {
	e, others, refused := eye.ParseJSON(data, append([]string{"lens"}, also...)...)
	l, constants := lenspower.NewLens(), true // constants: what is lacking there may be told
	if m, ok := others["lens"]; ok {
		var bad finding.Refusals
		l, bad = lenspower.ParseLens(m)
		refused, constants = append(refused, bad...), len(bad) == 0
	}
	if unreadable(refused) {
		return e, l, others, refused
	}
	for _, r := range plan.Refuse(&e, &l) {
		if !told(refused, r.Field) && (constants || r.Field != "constants") {
			refused = append(refused, r)
		}
	}
	return e, l, others, refused
}

// unreadable reports that the file as a whole could not be read, so that what
// is missing from it says nothing.
func unreadable(refused finding.Refusals) bool {
	for _, r := range refused {
		if r.Field == "" {
			return true
		}
	}
	return false
}

// told reports whether a key was already complained of: a K that looks like a
// radius is not also missing.
func told(refused finding.Refusals, key string) bool {
	for _, r := range refused {
		if r.Field == key {
			return true
		}
	}
	return false
}
