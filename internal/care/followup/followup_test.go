package followup

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"linn/calc/refraction"
	"linn/finding"
	"linn/internal/care/operation"
	"linn/unit"
)

var operated = unit.Date{Year: 2026, Month: 2, Day: 24}

func visit(after int, k Kind, pairs ...string) Visit {
	v := Visit{On: operated.AddDays(after), Kind: k}
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

// Every status on the days at, just inside and just outside its window.
func TestStatus(t *testing.T) {
	first, second := visit(1, Day1), visit(7, Week1)
	lost := &Lost{Why: "died", On: operated.AddDays(20)}
	for _, c := range []struct {
		name   string
		eye    Eye
		day    int
		want   Status
		kind   Kind
		missed []Kind
	}{
		{"same day", Eye{}, 0, Waiting, Day1, nil},
		{"day 1", Eye{}, 1, Due, Day1, nil},
		{"day 2", Eye{}, 2, Due, Day1, nil},
		{"day 3", Eye{}, 3, Overdue, Day1, nil},
		{"two months on", Eye{}, 62, Overdue, Day1, nil},
		{"lost", Eye{}, 63, Missing, Day1, nil},
		{"after day 1", Eye{Visits: []Visit{first}}, 4, Waiting, Week1, nil},
		{"week 1 opens", Eye{Visits: []Visit{first}}, 5, Due, Week1, nil},
		{"week 1 closes", Eye{Visits: []Visit{first}}, 10, Due, Week1, nil},
		{"week 1 over", Eye{Visits: []Visit{first}}, 11, Overdue, Week1, nil},
		{"main visit", Eye{Visits: []Visit{first, second}}, 28, Due, Weeks4to6, nil},
		{"main visit over", Eye{Visits: []Visit{first, second}}, 43, Overdue, Weeks4to6, nil},
		{"day 1 never made", Eye{Visits: []Visit{second}}, 28, Due, Weeks4to6, []Kind{Day1}},
		{"all made", Eye{Visits: []Visit{first, second, visit(35, Weeks4to6)}}, 100, Complete, "", nil},
		{"seen for pressure in the window", Eye{Visits: []Visit{first, visit(8, Pressure)}}, 20, Waiting, Weeks4to6, nil},
		{"seen for pressure outside", Eye{Visits: []Visit{first, visit(15, Pressure)}}, 20, Overdue, Week1, nil},
		{"withdrawn", Eye{Visits: []Visit{{On: operated.AddDays(1), Kind: Day1, Withdrawn: "other eye"}}}, 3, Overdue, Day1, nil},
		{"sutured waits longer", Eye{Technique: operation.ECCE, Visits: []Visit{first, second}}, 50, Waiting, Weeks4to6, nil},
		{"sutured", Eye{Technique: operation.ECCE, Visits: []Visit{first, second}}, 84, Due, Weeks4to6, nil},
		{"given up", Eye{Visits: []Visit{first}, Lost: lost}, 21, Missing, Week1, nil},
		{"found again", Eye{Visits: []Visit{first, visit(30, Weeks4to6)}, Lost: lost}, 31, Complete, "", []Kind{Week1}},
	} {
		c.eye.On = operated
		got, next := c.eye.StatusOn(operated.AddDays(c.day))
		if got != c.want || next.Kind != c.kind || !reflect.DeepEqual(next.Missed, c.missed) {
			t.Errorf("%s: %s %s missed %v", c.name, got, next.Kind, next.Missed)
		}
	}
	if got, _ := (Eye{}).StatusOn(operated); got != Unknown {
		t.Errorf("no day of operation: %s", got)
	}
}

func TestVisitRules(t *testing.T) {
	e := Eye{On: operated}
	today := operated.AddDays(100)
	for name, c := range map[string]struct {
		visit Visit
		want  []string
	}{
		"quiet":             {visit(1, Day1, KeyUnaided, "6/18", KeyPain, "mild", KeyPressure, "16"), nil},
		"before":            {visit(-1, Unplanned), []string{"visit-before-operation"}},
		"ahead":             {visit(101, Later), []string{"visit-ahead"}},
		"day 1 in week 3":   {visit(20, Day1), []string{"visit-day-odd"}},
		"hypopyon":          {visit(4, Unplanned, KeyChamber, "hypopyon"), []string{"visit-red-flag"}},
		"hypopyon late":     {visit(43, Later, KeyChamber, "hypopyon"), nil},
		"leaks":             {visit(1, Day1, KeyWound, "leaks"), []string{"visit-wound"}},
		"pressure 30":       {visit(1, Day1, KeyPressure, "30"), []string{"visit-pressure-high"}},
		"pressure 22":       {visit(1, Day1, KeyPressure, "22"), []string{"visit-pressure"}},
		"pressure 21":       {visit(1, Day1, KeyPressure, "21"), nil},
		"pressure 5":        {visit(1, Day1, KeyPressure, "5"), []string{"visit-pressure"}},
		"limbus to limbus":  {visit(1, Day1, "cornea", "oedema-limbus-to-limbus"), []string{"visit-oedema"}},
		"bare number":       {visit(1, Day1, KeyUnaided, "0.5"), []string{"visit-unread"}},
		"chosen":            {visit(1, Day1, KeyUnaided, "0.5", KeyNotation, "decimal"), nil},
		"CF beside decimal": {visit(1, Day1, KeyUnaided, "CF 1 m", KeyNotation, "decimal"), nil},
		"worse corrected":   {visit(35, Weeks4to6, KeyUnaided, "6/12", KeyCorrected, "6/24"), []string{"visit-corrected-worse"}},
		"no axis":           {visit(35, Weeks4to6, KeySphere, "0", KeyCylinder, "-1.25", KeyDistance, "6"), []string{"visit-axis-missing"}},
		"no lane":           {visit(35, Weeks4to6, KeySphere, "-0.50"), []string{"visit-distance-missing"}},
		"poor":              {visit(35, Weeks4to6, KeyCorrected, "3/60"), []string{"visit-poor-unexplained"}},
		"poor, said why":    {visit(35, Weeks4to6, KeyCorrected, "3/60", "poor_because", "selection"), nil},
	} {
		var got []string
		for _, f := range Check(c.visit, e, today) {
			got = append(got, f.Code)
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v, not %v", name, got, c.want)
		}
	}
}

func TestVisitRefraction(t *testing.T) {
	v := visit(35, Weeks4to6, KeySphere, "−0.25", KeyCylinder, "-0.75", KeyAxis, "90", KeyDistance, "4")
	r, lane, known := v.Refraction()
	if !known || r.Equivalent() != -0.625 || !lane.Known || lane.Value != 4 {
		t.Errorf("%+v at %v, %t", r, lane, known)
	}
	v.Set(KeyAxis, "")
	if _, _, known := v.Refraction(); known {
		t.Error("a cylinder without axis is a refraction")
	}
}

func TestBest(t *testing.T) {
	v := visit(35, Weeks4to6, KeyUnaided, "6/24", KeyPinhole, "6/9", KeyCorrected, "6/12")
	if best, ok := v.Best(); !ok || best.Text != "6/9" || best.Band() != refraction.Good {
		t.Errorf("%+v", best)
	}
	if _, ok := (&Visit{}).Best(); ok {
		t.Error("nothing recorded, and a best")
	}
}

// Time alone only moves waiting → due → overdue → lost, and every day has one
// status.
func TestStatusMovesOneWay(t *testing.T) {
	order := map[Status]int{Waiting: 0, Due: 1, Overdue: 2, Missing: 3}
	rapid.Check(t, func(t *rapid.T) {
		e := Eye{On: operated, Technique: rapid.SampledFrom([]operation.Technique{"", operation.Phaco, operation.MSICS, operation.ECCE}).Draw(t, "technique")}
		for _, k := range []Kind{Day1, Week1, Weeks4to6} {
			if rapid.Bool().Draw(t, string(k)) {
				e.Visits = append(e.Visits, visit(rapid.IntRange(0, 100).Draw(t, "day"), k))
			}
		}
		a := rapid.IntRange(0, 400).Draw(t, "a")
		b := a + rapid.IntRange(0, 100).Draw(t, "b")
		s1, n1 := e.StatusOn(operated.AddDays(a))
		s2, n2 := e.StatusOn(operated.AddDays(b))
		if (s1 == Complete) != (s2 == Complete) || s1 != Complete && order[s1] > order[s2] || n1.Kind != n2.Kind {
			t.Errorf("day %d %s %s, day %d %s %s", a, s1, n1.Kind, b, s2, n2.Kind)
		}
	})
}

func TestFollowupFindingsAreDeclared(t *testing.T) {
	for _, r := range finding.Rules() {
		if r.Limit == "" {
			t.Errorf("%s says no limit", r.Code)
		}
	}
}
