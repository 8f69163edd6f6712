package lenspower

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// TargetKind is what a table for children speaks of.
type TargetKind string

// The kinds of target.
const (
	AimRefraction TargetKind = "refraction" // refraction to aim at, in D
	ReducePercent TargetKind = "percent"    // of the emmetropic power, to take away
	ReducePower   TargetKind = "less"       // D of the emmetropic power, to take away
	FixedPower    TargetKind = "power"      // lens power itself, in D
)

// ChildTarget is what one published table says for one child. No table is the
// correct one: they are shown side by side.
type ChildTarget struct {
	Table     string // "rule-of-seven"
	Kind      TargetKind
	Low, High float64 // equal for a single value; unit by Kind
	Ref       source.Ref
}

// Child is who the tables are asked about.
type Child struct {
	AgeMonths   unit.Constant // completed months with decimals
	AxialLength unit.Reading[unit.Millimetre]
}

// ageRow holds from its age up to the next row's.
type ageRow struct {
	from      float64 // months
	low, high float64 // NaN: the table is silent from here on
}

type ageTable struct {
	name string
	kind TargetKind
	ref  source.Ref
	rows []ageRow
}

var silent = math.NaN()

const day = 12 / 365.25 // months

var childTables = []ageTable{
	{"infant-trial", AimRefraction, source.Ref{Key: source.InfantTrial, Where: "targets, Holladay 1", Grade: source.Read},
		[]ageRow{{28 * day, 8, 8}, {49 * day, 6, 6}, {7, silent, 0}}},
	{"rule-of-seven", AimRefraction, source.Ref{Key: source.Enyedi1998, Where: "7 less the age in years", Grade: source.Memory},
		[]ageRow{{12, 6, 6}, {24, 5, 5}, {36, 4, 4}, {48, 3, 3}, {60, 2, 2}, {72, 1, 1}, {84, 0, 0}, {96, -2, -1}, {108, silent, 0}}},
	{"dahan", ReducePercent, source.Ref{Key: source.Dahan1997, Where: "20 % under 2 years, 10 % from 2 to 8", Grade: source.Memory},
		[]ageRow{{0, 20, 20}, {24, 10, 10}, {96, silent, 0}}},
	{"prost", ReducePercent, source.Ref{Key: source.Prost2004, Where: "by age", Grade: source.Memory},
		[]ageRow{{12, 20, 20}, {24, 15, 15}, {48, 10, 10}, {96, silent, 0}}},
	{"lekskul", ReducePercent, source.Ref{Key: source.Lekskul2018, Where: "by age to 60 months", Grade: source.Read},
		[]ageRow{{6, 30, 30}, {13, 25, 25}, {25, 20, 20}, {37, 15, 15}, {49, 10, 10}, {61, silent, 0}}},
	{"lekskul-less", ReducePower, source.Ref{Key: source.Lekskul2018, Where: "5 to 10 years", Grade: source.Read},
		[]ageRow{{61, 2, 2}, {96, 1, 1}, {120, silent, 0}}},
	{"plager", AimRefraction, source.Ref{Key: source.Plager2002, Where: "targets by age in years", Grade: source.Memory},
		[]ageRow{{36, 5, 5}, {48, 4, 4}, {60, 3, 3}, {72, 2.25, 2.25}, {84, 1.5, 1.5}, {96, 1, 1}, {108, silent, 0}, {120, 0.5, 0.5}, {132, silent, 0}, {156, 0, 0}, {168, silent, 0}}},
	{"trivedi-wilson", AimRefraction, source.Ref{Key: source.TrivediWilson, Where: "targets by age", Grade: source.Memory},
		[]ageRow{{0, 12, 12}, {1, silent, 0}, {2, 9, 9}, {4, 8, 8}, {6, 7, 7}, {12, 6, 6}, {24, 5, 5}, {48, 4, 4}, {60, 3, 3}, {72, 2, 2}, {84, 1.5, 1.5}, {96, 1, 1}, {120, 0.5, 0.5}, {168, 0, 0}, {216, silent, 0}}},
}

// infantPowers are Dahan's powers by whole millimetres of axial length, for
// infants; 17 mm first.
var infantPowers = [...]float64{28, 27, 26, 24, 22}

const infantShortest = 17

var (
	childInfantTrial = finding.Declare(finding.Rule{Code: "child-infant-trial", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.InfantTrial, Where: "lens against contact lens, operated from 1 to under 7 months", Grade: source.Memory},
		Limit: "under seven months"})
	childImmersion = finding.Declare(finding.Rule{Code: "child-immersion", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Trivedi2011, Where: "contact reads 0.27 mm shorter in children", Grade: source.Read},
		Limit: "every child: biometry under anaesthesia by immersion"})
	childTargets = finding.Declare(finding.Rule{Code: "child-targets-differ", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "no published target is the correct one", Grade: source.Own},
		Limit: "every child: targets side by side, none chosen"})
	childShort = finding.Declare(finding.Rule{Code: "child-short-eye", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.InfantTrial, Where: "eyes under 18 mm: larger errors, in the myopic direction", Grade: source.Read},
		Limit: "a child’s axial length below 18.00 mm"})
	childObserved = finding.Declare(finding.Rule{Code: "child-myopic-shift", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Plager2002, Where: "observed shift by age at surgery", Grade: source.Read},
		Limit: "operated at 2 to 15 years"})
)

const (
	infantMonths = 7.0
	shortChild   = 18.0 // mm
)

var _ = declare(source.InfantTrial, source.Read,
	coefficient{"child.infant-months", infantMonths, "months", "under seven months at surgery"},
	coefficient{"child.short-eye", shortChild, "mm", "larger errors below"},
)

// childAge are the ages the tables are asked about: to 18 years.
var childAge = unit.Bounds{Low: 0, High: 216}

// ChildTargets returns what each published table says, in the order of the
// tables; a table that is silent about the age is left out. An age outside 0 to
// 216 months is a *unit.RangeError.
func ChildTargets(c Child) ([]ChildTarget, error) {
	age := float64(c.AgeMonths)
	if !within(age, childAge) {
		return nil, outside("age_months", age, childAge, "months")
	}
	var list []ChildTarget
	for _, t := range childTables {
		if r, ok := t.at(age); ok {
			list = append(list, ChildTarget{t.name, t.kind, r.low, r.high, t.ref})
		}
	}
	if p, ok := c.infantPower(); ok {
		list = append(list, ChildTarget{"dahan-length", FixedPower, p, p, source.Ref{Key: source.Dahan1997, Where: "infants by axial length alone", Grade: source.Memory}})
	}
	return list, nil
}

func (t ageTable) at(age float64) (row ageRow, ok bool) {
	for _, r := range t.rows {
		if age >= r.from {
			row, ok = r, !math.IsNaN(r.low)
		}
	}
	return row, ok
}

// infantPower reads the table at the nearest whole millimetre, under 2 years.
func (c Child) infantPower() (float64, bool) {
	if !c.AxialLength.Known || c.AgeMonths >= 24 {
		return 0, false
	}
	i := int(math.Floor(float64(c.AxialLength.Value)+0.5)) - infantShortest
	if i < 0 || i >= len(infantPowers) {
		return 0, false
	}
	return infantPowers[i], true
}

// Refraction is the table's target as a refraction of an eye: what is left with
// the power the table asks for. Errors are those of the eye.
func (t ChildTarget) Refraction(eye BagEye) (Range, error) {
	if t.Kind == AimRefraction {
		return Range{unit.Dioptre(t.Low), unit.Dioptre(t.High)}, nil
	}
	emmetropia, err := eye.Power(0)
	if err != nil {
		return Range{}, err
	}
	at := func(v float64) (unit.Dioptre, error) {
		switch t.Kind {
		case ReducePercent:
			return eye.Refraction(emmetropia * unit.Dioptre(1-v/100))
		case ReducePower:
			return eye.Refraction(emmetropia - unit.Dioptre(v))
		}
		return eye.Refraction(unit.Dioptre(v))
	}
	low, err := at(t.Low)
	if err != nil {
		return Range{}, err
	}
	high, err := at(t.High)
	if err != nil {
		return Range{}, err
	}
	return Range{min(low, high), max(low, high)}, nil
}

// shift is the observed change of refraction after surgery at an age.
type shift struct {
	from, to float64 // months
	mean     unit.Dioptre
}

var observedShifts = []shift{{24, 48, -4.60}, {72, 96, -2.68}, {96, 120, -1.25}, {120, 192, -0.61}}

// ChildFindings says what holds for every child and for this one.
func ChildFindings(c Child) []finding.Finding {
	list := []finding.Finding{childTargets.On("target_d"), childImmersion.On("axial_length_method")}
	if c.AgeMonths < infantMonths {
		list = append(list, childInfantTrial.On("age_years", finding.Value{Name: "got", Text: unit.Fixed(float64(c.AgeMonths), 1) + unit.Thin + "months"}))
	}
	if c.AxialLength.Known && c.AxialLength.Value < shortChild {
		list = append(list, childShort.On("axial_length_mm", finding.Value{Name: "got", Text: c.AxialLength.Value.String()}, finding.Value{Name: "limit", Text: unit.Millimetre(shortChild).String()}))
	}
	for _, s := range observedShifts {
		if age := float64(c.AgeMonths); age >= s.from && age < s.to {
			list = append(list, childObserved.On("age_years", finding.Value{Name: "shift", Text: s.mean.String()}))
		}
	}
	return list
}

// Growth is the logarithmic model of refractive growth: the refraction moves by
// Slope for every decade of age + 0.6 years.
type Growth struct {
	Slope unit.Dioptre // D per log10; negative is towards myopia
	SD    unit.Dioptre // between children
	Ref   source.Ref
}

const (
	growthOffset                   = 0.6 // years
	growthAphakic, growthAphakicSD = -18.0, 11.0
	growthLens, growthLensSD       = -19.0, 9.0
)

var _ = declare(source.McClatchey, source.Memory,
	coefficient{"growth.offset", growthOffset, "years", "third version of the model"},
) && declare(source.InfantTrial, source.Read,
	coefficient{"growth.aphakic", growthAphakic, "D", "contact lens, to age 5; sign added"},
	coefficient{"growth.aphakic-sd", growthAphakicSD, "D", "contact lens, to age 5"},
	coefficient{"growth.lens", growthLens, "D", "lens, to age 5; sign added"},
	coefficient{"growth.lens-sd", growthLensSD, "D", "lens, to age 5"},
)

// The mean slopes of the infant trial, to the age of five.
var (
	GrowthAphakic = Growth{growthAphakic, growthAphakicSD, source.Ref{Key: source.InfantTrial, Where: "aphakic with contact lens, to age 5", Grade: source.Read}}
	GrowthLens    = Growth{growthLens, growthLensSD, source.Ref{Key: source.InfantTrial, Where: "with a lens, to age 5", Grade: source.Read}}
)

// Span is a stretch of life.
type Span struct{ From, To unit.Year }

func (s Span) decades() (float64, error) {
	b := unit.Bounds{Low: 0, High: 20}
	for _, y := range [...]unit.Year{s.From, s.To} {
		if !within(float64(y), b) {
			return 0, outside("age_years", float64(y), b, "years")
		}
	}
	if !(s.To >= s.From) {
		return 0, outside("age_years", float64(s.To), unit.Bounds{Low: float64(s.From), High: 20}, "years")
	}
	return math.Log10((float64(s.To) + growthOffset) / (float64(s.From) + growthOffset)), nil
}

// Expected returns the change of refraction over a span of life, with one SD to
// each side. Ages outside 0 to 20 years are a *unit.RangeError.
func (g Growth) Expected(s Span) (mean unit.Dioptre, oneSD Range, err error) {
	d, err := s.decades()
	if err != nil {
		return 0, Range{}, err
	}
	mean = g.Slope * unit.Dioptre(d)
	sd := g.SD * unit.Dioptre(d)
	return mean, Range{mean - sd, mean + sd}, nil
}

// RateOfGrowth returns the slope a child showed: change/log10((age2 +
// 0.6)/(age1 + 0.6)). It refuses a span without length.
func RateOfGrowth(change unit.Dioptre, s Span) (unit.Dioptre, error) {
	d, err := s.decades()
	if err != nil {
		return 0, err
	}
	if d == 0 || !unit.Finite(change) {
		return 0, outside("age_years", float64(s.To), unit.Bounds{Low: float64(s.From), High: 20}, "years")
	}
	return change / unit.Dioptre(d), nil
}
