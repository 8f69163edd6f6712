package ultrasound

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Grade is nuclear opalescence by the Lens Opacities Classification System III,
// 0.1 to 6.9.
type Grade float64

// The one study behind energy by grade.
var (
	hatch     = source.Ref{Key: source.Hatch2015, Where: "abstract, manual arm, mean effective phaco time", Grade: source.Read}
	timeAt3   = declare("effective-time-grade-3", 1.38, "s", hatch)
	timeAt5   = declare("effective-time-grade-5", 6.85, "s", hatch)
	nucleus   = declare("nucleus-volume", 75, "mm³", source.Ref{Key: source.CommonPractice, Where: "usual nucleus", Grade: source.Memory})
	perGrade  = math.Log(timeAt5/timeAt3) / 2
	growth    = source.Ref{Key: source.OwnModel, Where: "exponential through the two means of hatch2015", Grade: source.Own}
	studied   = [2]Grade{3, 5}
	locsRange = unit.Bounds{Low: 0.1, High: 6.9}
)

var (
	gradeExtrapolated = finding.Declare(finding.Rule{Code: "grade-extrapolated", Severity: finding.Note, Ref: growth,
		Limit: "nuclear grade outside 3 to 5, the ends of the one study"})
	gradeOneStudy = finding.Declare(finding.Rule{Code: "grade-one-study", Severity: finding.Note, Ref: hatch,
		Limit: "always: energy by grade rests on one study of one technique"})
)

// GradeTime is the effective phaco time to expect for a nuclear grade.
type GradeTime struct {
	Effective    unit.Second
	Rate         float64 // mm³/s at full power: the usual nucleus over that time
	Extrapolated bool    // outside 3 to 5
}

// Expect is exponential in the grade through 1.38 s at 3 and 6.85 s at 5: a
// factor of 2.23 per grade. Grades from 0.1 to 6.9. It is not validated for
// absolute removal times.
func (g Grade) Expect() (GradeTime, error) {
	if err := inside("nuclear_grade", float64(g), locsRange, ""); err != nil {
		return GradeTime{}, err
	}
	t := timeAt3 * math.Exp(perGrade*float64(g-3))
	return GradeTime{Effective: unit.Second(t), Rate: nucleus / t, Extrapolated: g < studied[0] || g > studied[1]}, nil
}

// Findings says on how little the expectation rests.
func (g Grade) Findings() []finding.Finding {
	list := []finding.Finding{gradeOneStudy.On("nuclear_grade")}
	if g < studied[0] || g > studied[1] {
		list = append(list, gradeExtrapolated.On("nuclear_grade", finding.Value{Name: "got", Text: unit.Fixed(float64(g), 1)}))
	}
	return list
}
