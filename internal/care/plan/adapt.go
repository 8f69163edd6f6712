package plan

import (
	"errors"
	"slices"

	"linn/calc/biometry"
	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// adaptation is how an eye without its own lens, with oil or gas, or a child's
// is answered: by the ordinary methods with its length corrected and the power
// that oil asks for, and by the refraction it has now. It is nil for every other
// eye, and after corneal surgery: nothing is published for both together.
type adaptation struct {
	length unit.Millimetre // for the methods by length
	steps  []source.Step   // from the measured length to it
	added  unit.Dioptre    // what oil that stays adds to the lens

	general, byLength, bySecond []string // contract keys that are lacking

	second   string // method by the refraction as it is now, "" for none
	findings []finding.Finding
}

// The methods by the refraction an eye has now.
const (
	Secondary     = "refractive-vergence"
	Exchange      = "exchange"
	Piggyback     = "piggyback"
	secondVersion = "1"
)

// adaptedSuffix marks an ordinary method that answers an adapted eye.
const adaptedSuffix = "-adapted"

// AdaptedMethods are the methods that answer such eyes, in the order of the
// answer.
func AdaptedMethods() (list []string) {
	for _, m := range lenspower.Methods {
		list = append(list, m.ID+adaptedSuffix)
	}
	return append(list, Secondary, Exchange, Piggyback)
}

// adapt says how an unusual eye is answered and what it lacks for it.
func adapt(e *eye.Eye) *adaptation {
	if !isUnusual(e) || operated(e) {
		return nil
	}
	a := &adaptation{length: e.AxialLength.Value}
	u := &e.Unusual
	lack := func(is bool, key string) {
		if is {
			a.general = append(a.general, key)
		}
	}
	if child(e) { // no target is right by itself, and the tables go by months
		lack(!u.AgeMonths.Known, "age_months")
		lack(!e.Target.Known, "target_d")
	}
	lack(filled(e) && e.LensStatus == "", "lens_status")
	lack(e.Vitreous == eye.Oil && u.OilStays == "", "oil_stays")
	lack(e.LensStatus == eye.Pseudophakic && u.SecondLens == "", "second_lens")
	a.settle(e)
	a.oil(e)
	a.refraction(e)
	return a
}

// settle brings the length of an eye without its lens or with a filling to what
// it is: by ultrasound with one correction, by light as the instrument was set.
func (a *adaptation) settle(e *eye.Eye) {
	if !withoutLens(e) && !filled(e) {
		return
	}
	u, in := &e.Unusual, lengthInput(e)
	a.findings = in.OilFindings()
	switch {
	case e.AxialLengthMethod == "":
		a.byLength = append(a.byLength, "axial_length_method")
		return
	case e.AxialLengthMethod == eye.Optical && e.Vitreous == eye.Gas:
		a.byLength = append(a.byLength, "axial_length_method")
		return
	case e.AxialLengthMethod == eye.Optical:
		wanted := modeOf(e)
		if u.LengthMode == "" {
			a.byLength = append(a.byLength, "axial_length_mode")
			return
		}
		if u.LengthMode != wanted {
			a.findings = append(a.findings, modeDiffers.On("axial_length_mode", value("got", string(u.LengthMode)), value("wanted", string(wanted))))
		}
	}
	answer, err := biometry.CorrectLength(in)
	if key := missingKey(err); key != "" {
		a.byLength = append(a.byLength, key)
		return
	}
	if err != nil {
		a.findings = append(a.findings, noAnswer("", err))
		a.byLength = append(a.byLength, "axial_length_mm")
		return
	}
	a.findings = append(a.findings, slices.DeleteFunc(answer.Findings, func(f finding.Finding) bool { return finding.Has(a.findings, f.Code) })...)
	if answer.Corrected.Known {
		a.length, a.steps = answer.Corrected.Value, answer.Steps
	}
}

// modeOf is what an optical biometer has to be set to.
func modeOf(e *eye.Eye) eye.Mode {
	if e.Vitreous == eye.Oil {
		return eye.OilMode
	}
	return eye.Mode(e.LensStatus)
}

func lengthInput(e *eye.Eye) biometry.LengthInput {
	u := &e.Unusual
	in := biometry.LengthInput{Measured: e.AxialLength.Value, Method: e.AxialLengthMethod, Velocity: e.Velocity, LensStatus: e.LensStatus, Vitreous: e.Vitreous,
		Material: biometry.Material(u.ImplantMaterial), ImplantCentre: u.ImplantThickness, ACD: e.ACD, LensThickness: e.LensThickness,
		OilRule: biometry.OilRule(u.OilRule), OilStays: biometry.Told(u.OilStays)}
	if u.OilViscosity.Known {
		in.Oil = biometry.Oil(plain(float64(u.OilViscosity.Value)))
	}
	return in
}

// missingKey is the key of a *biometry.MissingError, else "".
func missingKey(err error) string {
	if m := (*biometry.MissingError)(nil); errors.As(err, &m) {
		return m.Field
	}
	return ""
}

// oil adds the power a lens needs in front of oil that stays.
func (a *adaptation) oil(e *eye.Eye) {
	if e.Vitreous != eye.Oil || e.Unusual.OilStays != eye.Yes {
		return
	}
	if !e.ACD.Known {
		a.byLength = append(a.byLength, "acd_mm")
		return
	}
	p, err := biometry.OilPower(biometry.OilEye{AxialLength: a.length, ACD: e.ACD.Value})
	if err != nil {
		a.byLength = append(a.byLength, "acd_mm")
		return
	}
	a.added = p
	a.findings = append(a.findings, oilAdds.On("vitreous", value("got", p.String())))
}

// refraction settles which method by the refraction as it is now holds: none in
// an eye with its own lens, with gas, or with oil that will be taken out.
func (a *adaptation) refraction(e *eye.Eye) {
	u := &e.Unusual
	if !withoutLens(e) || e.Vitreous == eye.Gas || e.Vitreous == eye.Oil && u.OilStays != eye.Yes {
		return
	}
	a.second = Secondary
	if e.LensStatus == eye.Pseudophakic {
		a.second = map[eye.SecondLens]string{eye.Exchange: Exchange, eye.Piggyback: Piggyback}[u.SecondLens]
	}
	if !u.RefractionNow.Known {
		a.bySecond = append(a.bySecond, "refraction_now_d")
	}
	if a.second == Exchange && !u.Implant.Known {
		a.bySecond = append(a.bySecond, "implant_d")
	}
}

// lengthHolds and secondHolds report which ways are open.
func (a *adaptation) lengthHolds() bool {
	return len(a.general)+len(a.byLength) == 0 && a.second != Piggyback && !finding.Has(a.findings, modeDiffers.Code)
}
func (a *adaptation) secondHolds() bool { return len(a.general)+len(a.bySecond) == 0 && a.second != "" }

// answers reports that some method holds for the eye.
func (a *adaptation) answers() bool { return a != nil && (a.lengthHolds() || a.secondHolds()) }

// lacks are the keys that would open a way, each once.
func (a *adaptation) lacks() (keys []string) {
	all := slices.Concat(a.general, a.bySecond)
	if a.second != Piggyback {
		all = append(all, a.byLength...)
	}
	for _, key := range all {
		if !slices.Contains(keys, key) {
			keys = append(keys, key)
		}
	}
	return keys
}

// adapted asks the methods that hold for an adapted eye.
func (f *further) adapted(q *question, of constantsOf) {
	a := q.adapted
	if !a.answers() {
		return
	}
	if a.lengthHolds() {
		for _, m := range lenspower.Methods {
			if !m.NeedsACD() || !withoutLens(q.eye) { // the depth in front of a natural lens
				f.adaptedOne(q, m, of)
			}
		}
	} else if a.second != Piggyback {
		for _, key := range a.byLength {
			f.lacks("srk-t"+adaptedSuffix, key)
		}
	}
	switch {
	case a.secondHolds():
		f.secondOne(q, of)
	case a.second != "":
		for _, key := range a.bySecond {
			f.lacks(a.second, key)
		}
	}
}

// adaptedOne asks one ordinary method with the length and the power of the
// adapted eye.
func (f *further) adaptedOne(q *question, m *lenspower.Method, of constantsOf) {
	lens, from := of(m.ID)
	id := m.ID + adaptedSuffix
	if q.eye.Placement == eye.Chamber && !(lens.MadeFor == eye.Chamber && m.Key == "a") {
		return // the constant of a lens for the bag says nothing about the chamber
	}
	constant, found, lacks := m.Resolve(lens.Constants)
	in := q.in
	in.AxialLength, in.Constant = q.adapted.length, constant
	if lacks == "" {
		lacks = m.Missing(in)
	}
	if lacks != "" {
		f.lacks(id, lacks)
		return
	}
	x := aside{id: id, version: m.Version, used: used(constant.Key, constant.Value, constant.Converted, from)}
	if m.ID == "haigis" {
		x.used.A1, x.used.A2 = number(constant.A1), number(constant.A2)
	}
	s, err := m.Solve(in)
	own := lenspower.Adapted{Solution: s, Added: q.adapted.added}
	if q.eye.Placement == eye.Sulcus {
		own = own.InSulcus()
	}
	x.settle(own, number(own.Position), slices.Concat(found, m.Findings(in)), err)
	for i := range x.own.findings {
		x.own.findings[i].Method = id
	}
	x.counts = x.own.ok && !x.used.Converted
	x.working = func(target, power unit.Dioptre) ([]source.Step, []source.Step) {
		return q.working(m.Working(in, target), own, target), q.workingRefraction(m.WorkingRefraction(in, power-q.adapted.added), own, power)
	}
	f.list = append(f.list, x)
}

// adaptedRef is what the last steps of an adapted method rest on.
var adaptedRef = source.Ref{Key: source.OwnChoice, Where: "ordinary method, adapted", Grade: source.Own}

// working puts the steps of the length before a method's, and what the eye's
// state changes behind them.
func (q *question) working(list []source.Step, own lenspower.Adapted, target unit.Dioptre) []source.Step {
	p, err := own.Power(target)
	if list = slices.Concat(q.adapted.steps, list); err != nil {
		return list
	}
	return append(q.changed(list), source.Step{Name: "second.power", Symbol: "P", Value: float64(p), Unit: "D", Ref: adaptedRef})
}

func (q *question) workingRefraction(list []source.Step, own lenspower.Adapted, power unit.Dioptre) []source.Step {
	r, err := own.Refraction(power)
	if list = slices.Concat(q.adapted.steps, list); err != nil {
		return list
	}
	return append(q.changed(list), source.Step{Name: "second.refraction", Symbol: "Ref", Value: float64(r), Unit: "D", Ref: adaptedRef})
}

// changed adds the step to the sulcus and the power that oil takes off.
func (q *question) changed(list []source.Step) []source.Step {
	if q.eye.Placement == eye.Sulcus {
		list = append(list, source.Step{Name: "second.forward", Symbol: "-dd", Value: float64(lenspower.SulcusForward), Unit: "mm",
			Ref: source.Ref{Key: source.SulcusNote, Where: "ELP 5.20 to 4.70", Grade: source.Secondary}})
	}
	if q.adapted.added != 0 {
		list = append(list, source.Step{Name: "second.added", Symbol: "Poil", Value: float64(q.adapted.added), Unit: "D",
			Ref: source.Ref{Key: source.OilPractice, Where: "1000 (1.4034 - 1.336)/(AL - ACD)", Grade: source.Memory}})
	}
	return list
}

// secondOne asks the refractive vergence. Where the lens will stand is SRK/T's
// position for the lens, 0.50 mm forward in the sulcus and in front of another
// lens, and the middle of the usual range in the chamber.
func (f *further) secondOne(q *question, of constantsOf) {
	u, id := &q.eye.Unusual, q.adapted.second
	lens, from := of("srk-t")
	place, constant, err := q.secondPlace(&lens, id)
	if f.lacking(id, err) {
		return
	}
	x := aside{id: id, version: secondVersion}
	if constant.Key != "" {
		x.used = used(constant.Key, constant.Value, constant.Converted, from)
	}
	out := unit.Dioptre(0)
	if id == Exchange {
		out = u.Implant.Value
	}
	in := lenspower.SecondLens{K: q.in.K, Position: place, Vertex: q.in.Vertex, Before: u.RefractionNow.Value}
	s, err := lenspower.SolveSecond(in, out)
	x.settle(s, number(place), q.secondFindings(in), err)
	x.counts = x.own.ok && !x.used.Converted
	x.working = func(target, power unit.Dioptre) ([]source.Step, []source.Step) {
		return s.Working(target), s.WorkingRefraction(power)
	}
	f.list = append(f.list, x)
}

// secondPlace is where the second lens will stand.
func (q *question) secondPlace(lens *lenspower.Lens, id string) (unit.Millimetre, lenspower.Resolved, error) {
	if q.eye.Placement == eye.Chamber {
		return lenspower.ChamberMiddle, lenspower.Resolved{}, nil
	}
	m := lenspower.MethodNamed("srk-t")
	constant, _, lacks := m.Resolve(lens.Constants)
	if lacks != "" {
		return 0, constant, &lenspower.MissingError{Method: id, Field: lacks}
	}
	in := q.in
	in.AxialLength, in.Constant = q.adapted.length, constant
	at, err := m.Position(in)
	if id == Piggyback || q.eye.Placement == eye.Sulcus {
		at -= lenspower.SulcusForward
	}
	return at, constant, err
}

// secondFindings put the rules of thumb beside: of a lens in front of another,
// and both ends of the place of a lens in the chamber.
func (q *question) secondFindings(in lenspower.SecondLens) (list []finding.Finding) {
	in.Target = q.target
	if q.adapted.second == Piggyback {
		r := lenspower.PiggybackRule(in.Before - in.Target)
		f := piggybackRule.On("", value("low", r.Low.String()), value("high", r.High.String()))
		f.Method = Piggyback
		list = append(list, f)
	}
	if q.eye.Placement == eye.Chamber {
		if r, err := lenspower.ChamberByVergence(in); err == nil {
			f := chamberRange.On("placement", value("low", r.Low.String()), value("high", r.High.String()))
			f.Method = q.adapted.second
			list = append(list, f)
		}
	}
	return list
}
