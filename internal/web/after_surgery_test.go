package web

import (
	"slices"
	"testing"

	"linn/internal/locale"
	"linn/unit"
)

// What stood before corneal surgery is asked only where one eye had it, and is
// never told as missing beside an ordinary eye.
func TestHistoryIsAskedAfterSurgery(t *testing.T) {
	s := &server{words: words{locale.English}}
	for surgery, want := range map[string]bool{"": false, "none": false, "myopic-laser": true, "unknown": true} {
		c := averageEye()
		c.Right = readTexts("right", map[string]string{"axial_length_mm": "23.5", "corneal_surgery": surgery})
		groups := s.measuredView(&c).Columns[0].Groups
		if got := slices.ContainsFunc(groups, func(g FieldGroup) bool { return g.ID == historyGroup }); got != want {
			t.Errorf("%q: asked %v", surgery, got)
		}
	}
}

// A ladder of many methods shows those that count and leaves the others, and
// those without a number, to the table.
func TestLadderOfManyMethods(t *testing.T) {
	one := []PowerChoice{{20, unit.Dioptre(-0.1)}}
	l := LensPart{Methods: []MethodAnswer{{ID: "srk-t"}, {ID: "haigis-l", Choices: one}, {ID: "srk-t-dk", Choices: one, Apart: true}}}
	if got := drawn(&l); len(got) != 2 {
		t.Errorf("%d drawn of few", len(got))
	}
	for range mostMarks {
		l.Methods = append(l.Methods, MethodAnswer{ID: "masket", Choices: one})
	}
	for _, m := range drawn(&l) {
		if m.Apart || len(m.Choices) == 0 {
			t.Errorf("%s is drawn", m.ID)
		}
	}
}

// Beside methods that answer an adapted eye the ordinary ones, which have no
// number, are named in one line and take no row.
func TestSilentMethodsTakeNoRow(t *testing.T) {
	s := &server{words: words{locale.English}}
	c := withoutLensEye()
	c.Lens.Methods = append([]MethodAnswer{{ID: "srk-t"}, {ID: "holladay-1"}}, c.Lens.Methods...)
	v := s.lensView(&c)
	if len(v.Rows) != 2 || len(v.Absent) == 0 {
		t.Errorf("%d rows, %q", len(v.Rows), v.Absent)
	}
}
