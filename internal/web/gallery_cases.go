package web

import (
	"time"

	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Everyone and everything in the gallery is invented. Its refractions were
// worked out by hand from the published equations to look true; no test of a
// calculation rests on them.

var (
	galleryTime      = time.Date(2026, 3, 2, 10, 42, 0, 0, time.FixedZone("NPT", 5*3600+45*60))
	galleryList      = unit.Date{Year: 2026, Month: 3, Day: 3}
	surgeonLark      = Actor{"p1", "Dr Ines Lark", Surgeon}
	technicianBay    = Actor{"p2", "Tomas Bay", Technician}
	nurseReed        = Actor{"p3", "Sister Amara Reed", Nurse}
	administratorFen = Actor{"p4", "Jo Fen", Administrator}
	galleryPeople    = []Actor{surgeonLark, technicianBay, nurseReed, administratorFen}
)

func galleryIdentity() Identity {
	return Identity{CaseID: "c1", Side: eye.Right, Name: "Maren Holm", Identifier: "H-0412", Sex: eye.Female,
		Age: unit.Known(unit.Year(67)), Born: unit.Date{Year: 1958, Month: 3, Day: 17}, List: galleryList, Place: 2, Plan: 2, Revision: 7}
}

func fullWard() Ward {
	row := func(place int, name, id string, side eye.Side, sex eye.Sex, age unit.Year, p Progress, m *Missing) WardRow {
		return WardRow{Identity: Identity{CaseID: "c1", Side: side, Name: name, Identifier: id, Sex: sex, Age: unit.Known(age),
			List: galleryList, Place: place, Plan: 1}, Progress: p, Missing: m}
	}
	with := func(r WardRow, model string, power unit.Dioptre) WardRow {
		r.Model, r.Power = model, unit.Known(power)
		return r
	}
	all := Progress{Measured: true, Checked: true, Lens: true, Sheet: true}
	signed := with(row(1, "Anders Quill", "H-0398", eye.Left, eye.Male, 71, all, nil), "Tarn 60", 20.5)
	signed.Signed, signed.Plan = true, 1
	unlisted := row(0, "Bram Osei", "H-0433", eye.Right, eye.Male, 80, Progress{}, &Missing{Need: "measured"})
	unlisted.List = unit.Date{}
	unlisted2 := row(0, longestName, longestIdentifier, eye.Left, eye.Female, 92, Progress{Measured: true}, &Missing{Finding: cylinderFinding()})
	unlisted2.List = unit.Date{}
	return Ward{Today: unit.Date{Year: 2026, Month: 3, Day: 2}, Rows: []WardRow{
		signed,
		with(row(2, "Maren Holm", "H-0412", eye.Right, eye.Female, 67, Progress{Measured: true, Checked: true, Lens: true, Sheet: false}, &Missing{Need: "second-person"}), "Tarn 60", 22),
		row(3, "Marin Holme", "H-0421", eye.Right, eye.Female, 76, Progress{Measured: true}, &Missing{Finding: radiusFinding()}),
		row(4, "Piet Sand", "H-0377", eye.Left, eye.Male, 59, Progress{Measured: true}, &Missing{Finding: lengthsFinding()}),
		row(5, "Rosa Tindall", "H-0440", eye.Right, eye.Female, 83, Progress{Measured: true, Checked: true, Lens: false, Sheet: false}, &Missing{Need: "lens"}),
		unlisted, unlisted2,
	}}
}

func lengthsFinding() finding.Finding {
	return finding.Finding{Code: "length-between-eyes-large", Severity: finding.Caution, Gate: true, Field: "axial_length_mm", Values: finding.Values{
		{Name: "got", Text: unit.Millimetre(23.41).String()}, {Name: "fellow", Text: unit.Millimetre(24.25).String()},
		{Name: "difference", Text: unit.Millimetre(0.84).String()}, {Name: "limit", Text: unit.Millimetre(0.7).String()}}}
}

func cylinderFinding() finding.Finding {
	return finding.Finding{Code: "cylinder-high", Severity: finding.Caution, Field: "k_steep_d", Values: finding.Values{
		{Name: "got", Text: unit.Dioptre(3.12).Unsigned()}, {Name: "limit", Text: unit.Dioptre(2.5).Unsigned()}}}
}

func radiusFinding() finding.Finding {
	return finding.Finding{Code: "k-looks-like-radius", Severity: finding.Stop, Field: "k_flat_d", Values: finding.Values{
		{Name: "got", Text: "7.80"}, {Name: "as_power", Text: unit.Dioptre(43.27).Unsigned()}}}
}

func twiceFinding() finding.Finding {
	return finding.Finding{Code: "side-twice", Severity: finding.Stop, Field: "side", Values: finding.Values{{Name: "got", Text: eye.Right.Words()}}}
}

func strictFinding() finding.Finding {
	return finding.Finding{Code: "length-between-eyes", Severity: finding.Note, Strict: true, Field: "axial_length_mm", Values: finding.Values{
		{Name: "got", Text: unit.Millimetre(23.41).String()}, {Name: "fellow", Text: unit.Millimetre(23.74).String()},
		{Name: "difference", Text: unit.Millimetre(0.33).String()}}}
}

var (
	collegeRef = source.Ref{Key: source.RCOphth2010, Where: "limits of repeated measurement", Grade: source.Memory}
	ownRef     = source.Ref{Key: source.OwnChoice, Grade: source.Own}
)

// readTexts makes Readings of typed texts, as the store would.
func readTexts(side eye.Side, texts map[string]string) Readings {
	r := Readings{Texts: map[string]string{}, Refused: map[string]finding.Refusal{}}
	r.Eye.Side = side
	for key, text := range texts {
		if text == "" {
			continue
		}
		r.Texts[key] = text
		if bad := eye.FieldNamed(key).Set(&r.Eye, text); bad != nil {
			r.Refused[key] = *bad
		}
	}
	return r
}

// typed is one eye's texts in the order of the form.
func typed(values ...string) map[string]string {
	m := map[string]string{}
	for i, v := range values {
		m[entryKeys[i]] = v
	}
	return m
}

func averageRight() Readings {
	r := readTexts(eye.Right, typed("23.41", "optical", "", "43.25", "12", "44.00", "102", "1.3375", "3.12", "4.45", "11.80", "541",
		"phakic", "natural", "none", "2026-02-24", "Biometer 1", "T. Bay"))
	r.Eye.AxialLength.SD, r.Eye.AxialLength.N = 0.02, 5
	return r
}

func averageLeft() Readings {
	return readTexts(eye.Left, typed("23.74", "optical", "", "43.50", "170", "44.25", "80", "1.3375", "3.08", "4.51", "11.90", "538",
		"phakic", "natural", "none", "2026-02-24", "Biometer 1", "T. Bay"))
}

// answers makes the methods' rows from lens position, power for the target,
// power for 0 D and the refractions of five powers.
func answers(powers []ShelfPower, rows ...methodRowData) (list []MethodAnswer) {
	for _, r := range rows {
		m := MethodAnswer{ID: r.id, Version: "1", LensPosition: unit.Known(unit.Millimetre(r.position)),
			Power: unit.Known(unit.Dioptre(r.power)), Emmetropia: unit.Known(unit.Dioptre(r.plano)), Constant: "A constant 119.00", Origin: r.origin}
		for i, v := range r.refraction {
			m.Choices = append(m.Choices, PowerChoice{powers[i].Power, unit.Dioptre(v)})
		}
		list = append(list, m)
	}
	return list
}

type methodRowData struct {
	id                     string
	position, power, plano float64
	refraction             [5]float64
	origin                 string
}

func shelfPowers(first unit.Dioptre, out int) (list []ShelfPower) {
	for i := range 5 {
		list = append(list, ShelfPower{first + unit.Dioptre(i)/2, true, min(1, max(i-out, out-i))})
	}
	return list
}

// band is one spread either side of the guiding method's refraction.
func band(m MethodAnswer, sd unit.Dioptre) (list []BandPoint) {
	for _, c := range m.Choices {
		list = append(list, BandPoint{c.Power, c.Refraction - sd, c.Refraction + sd})
	}
	return list
}

func averageLens() LensPart {
	powers := shelfPowers(21, 4)
	l := LensPart{Editable: true, Models: []ModelName{{"tarn-60", "Tarn 60"}, {"mere-3", "Mere Three-Piece"}}, Model: "tarn-60",
		Target: unit.Known(unit.Dioptre(-0.25)), Powers: powers, Basis: []string{"srk-t", "t2", "holladay-1", "hoffer-q"}, Power: unit.Known(unit.Dioptre(22)),
		Within50: unit.Known(unit.Percent(66)), Within100: unit.Known(unit.Percent(94)),
		Shares:     []Share{{"lens_position_mm", 58}, {"refraction_d", 19}, {"mean_k_d", 12}, {"power_d", 9}, {"axial_length_mm", 2}},
		TargetText: "-0.25", Chosen: &ChosenLens{Model: "tarn-60", Name: "Tarn 60", Power: 22},
		Recommended: &Recommended{Power: 22, Predicted: -0.38, Nearest: 22, Reason: "nearest", Methods: 4},
		Advice:      []Advice{{Ref: source.Ref{Key: source.RCOphth2010, Where: "guidance", Grade: source.Memory}, Prefers: []string{"srk-t", "holladay-1"}, Mean: true}}}
	l.Predicted = unit.Reading[unit.Dioptre]{Value: -0.38, Known: true, SD: 0.51}
	l.Methods = answers(powers,
		methodRowData{"srk-t", 5.46, 21.81, 21.44, [5]float64{0.30, -0.04, -0.38, -0.73, -1.08}, "own-fitted"},
		methodRowData{"t2", 5.47, 21.84, 21.47, [5]float64{0.32, -0.02, -0.36, -0.71, -1.06}, "label"},
		methodRowData{"holladay-1", 5.51, 21.79, 21.42, [5]float64{0.28, -0.05, -0.40, -0.74, -1.09}, "label"},
		methodRowData{"hoffer-q", 5.49, 21.77, 21.40, [5]float64{0.27, -0.07, -0.41, -0.75, -1.10}, "label"},
		methodRowData{"haigis", 4.74, 21.37, 21.03, [5]float64{0.02, -0.34, -0.71, -1.08, -1.45}, "converted"})
	l.Methods[4].Apart, l.Methods[0].Preferred, l.Methods[2].Preferred = true, true, true
	l.Band = band(l.Methods[0], 0.51)
	ref := source.Ref{Key: source.SRKT1990, Where: "step 1", Grade: source.Memory}
	for i := range l.Methods {
		l.Methods[i].Steps = []source.Step{
			{Name: "gallery.radius", Symbol: "r", Value: 7.7364, Unit: "mm", Ref: ref},
			{Name: "gallery.length", Symbol: "LOPT", Value: 23.592, Unit: "mm", Ref: ref},
			{Name: "gallery.position", Symbol: "ACDest", Value: 5.4604, Unit: "mm", Ref: ref},
			{Name: "gallery.power", Symbol: "P", Value: 21.8123, Unit: "D", Ref: ref},
		}
	}
	return l
}

func needs(open ...string) (list []Need) {
	for _, code := range []string{"measured", "no-stop", "gates", "two-readings", "lens", "second-person"} {
		n := Need{Code: code, Met: true}
		for _, o := range open {
			n.Met = n.Met && o != code
		}
		list = append(list, n)
	}
	return list
}

func act(a Actor, minutes time.Duration) *Act {
	return &Act{Name: a.Name, At: galleryTime.Add(minutes * time.Minute)}
}
