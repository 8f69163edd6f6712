package pathway

import (
	"errors"
	"strings"
	"testing"

	"linn/eye"
	"linn/internal/care/casebook"
)

// may is who may do what, written down a second time and by hand: a change of
// the rules has to be made in both places. Columns: technician, trainee,
// surgeon, nurse, counsellor, auditor, administrator.
const may = `
ward         t r s n c u a
add-patient  t r s n c . .
open-case    t r s n c . .
eye          t r s n c u .
measure      t r s n . . .
pass         . . s . . . .
choose       . r s . . . .
phases       . r s . . . .
findings     t r s n . . .
decide       . r s . . . .
drugs        . r s n . . .
consent      . r s n c . .
list         . r s n c . .
read-back    t r s n . . .
sign         . r s . . . .
sheet        t r s n . . .
reopen       . r s n . . .
scan         . r s n . . .
operate      . r s n . . .
attach       t r s n . . .
round        t r s n c u .
follow-up    t r s n . . .
trace        t r s n c . .
correct      t r s n . . .
move         t r s n . . .
close        . r s n . . .
merge        . . s n . . a
erase        . . s . . . a
history      t r s n c u .
shelf        t r s n c u a
lens         . . s . . . .
stock        t r s n . . a
machine      t r s n . . .
desk         t r s n c u a
people       . . . . . . a
protocol     . . s . . . a
access-log   . . . . . u a
verify       . . s . . u a
recall       . . s . . u .
tally        . . s . . u a
lock         . r s n . . .
break-glass  t r s n c u a
review-glass . . . . . u a
`

func grid(t *testing.T) map[Verb]map[casebook.Role]bool {
	t.Helper()
	g := map[Verb]map[casebook.Role]bool{}
	for _, row := range strings.Split(strings.TrimSpace(may), "\n") {
		cell := strings.Fields(row)
		if len(cell) != 1+len(casebook.Roles) {
			t.Fatalf("row %q", row)
		}
		g[Verb(cell[0])] = map[casebook.Role]bool{}
		for i, role := range casebook.Roles {
			g[Verb(cell[0])][role] = cell[i+1] != "."
		}
	}
	return g
}

func TestMatrixIsTheGrid(t *testing.T) {
	g := grid(t)
	if len(g) != len(Verbs) || len(permitted) != len(Verbs) {
		t.Fatalf("%d verbs in the grid, %d listed, %d in the matrix", len(g), len(Verbs), len(permitted))
	}
	for _, v := range Verbs {
		for _, r := range casebook.Roles {
			if May(r, v) != g[v][r] {
				t.Errorf("%s %s: may %v", r, v, May(r, v))
			}
		}
		if May("visitor", v) || May("", v) {
			t.Errorf("a stranger may %s", v)
		}
	}
	if May(surgeon, "no-such-verb") {
		t.Error("an unknown verb is permitted")
	}
}

// does calls every exported verb as a person, on one prepared ward. The
// arguments are good enough to pass the check of the role.
func does(w *testWard, id, patient string) map[Verb][]func(casebook.Actor) error {
	ctx := w.ctx()
	m := entry2(id, map[string]string{"pupil_mm": "3"}, nil, false)
	return map[Verb][]func(casebook.Actor) error{
		VerbWard: {
			func(by casebook.Actor) error { _, _, err := w.Ward(ctx, by, WardQuery{}); return err },
			func(by casebook.Actor) error { return second(w.FindPatient(ctx, by, "H-0001")) }},
		VerbAddPatient: {func(by casebook.Actor) error { return second(w.AddPatient(ctx, by, NewPatient{})) }},
		VerbOpenCase: {
			func(by casebook.Actor) error { return second(w.OpenCase(ctx, by, patient, eye.Right)) },
			func(by casebook.Actor) error { return second(w.OpenAgain(ctx, by, id, "lens-exchange")) }},
		VerbEye: {
			func(by casebook.Actor) error { return second(w.Check(ctx, by, id)) },
			func(by casebook.Actor) error { return second(w.Attachment(ctx, by, id, 1)) }},
		VerbOperate: {func(by casebook.Actor) error { return second(w.Operate(ctx, by, Operating{Case: id, Seen: 1})) }},
		VerbAttach: {
			func(by casebook.Actor) error { return second(w.Attach(ctx, by, Attaching{Case: id, Seen: Newest})) },
			func(by casebook.Actor) error { return second(w.Detach(ctx, by, id, Newest, 1, "")) }},
		VerbRound: {
			func(by casebook.Actor) error { return second(w.Round(ctx, by)) },
			func(by casebook.Actor) error { return second(w.Waiting(ctx, by)) }},
		VerbFollowUp: {
			func(by casebook.Actor) error {
				return second(w.FollowUp(ctx, by, Visiting{Case: id, Seen: Newest, Visit: NewVisit}))
			},
			func(by casebook.Actor) error { return second(w.Bed(ctx, by, id, Newest, "1")) }},
		VerbTrace: {func(by casebook.Actor) error { return second(w.GiveUp(ctx, by, id, Newest, "")) }},
		VerbMeasure: {
			func(by casebook.Actor) error { return second(w.Measure(ctx, by, m)) },
			func(by casebook.Actor) error { return second(w.SecondEntry(ctx, by, m)) },
			func(by casebook.Actor) error { return second(w.MeasureAgain(ctx, by, m, "")) },
			func(by casebook.Actor) error { return second(w.Repeat(ctx, by, m)) }},
		VerbPass:   {func(by casebook.Actor) error { return second(w.Pass(ctx, by, GatePass{Case: id, Seen: Newest})) }},
		VerbChoose: {func(by casebook.Actor) error { return second(w.Choose(ctx, by, Choice{Case: id, Seen: Newest})) }},
		VerbPhases: {func(by casebook.Actor) error { return second(w.SetPhases(ctx, by, Phases{Case: id, Seen: Newest})) }},
		VerbFindings: {func(by casebook.Actor) error {
			return second(w.Findings(ctx, by, FindingsForm{Case: id, Seen: Newest}))
		}},
		VerbDecide: {func(by casebook.Actor) error { return second(w.Decide(ctx, by, DecideForm{Case: id, Seen: Newest})) }},
		VerbDrugs: {
			func(by casebook.Actor) error { return second(w.DrawUp(ctx, by, DrugsForm{Case: id, Seen: Newest})) },
			func(by casebook.Actor) error { return second(w.CheckDrugs(ctx, by, id, Newest)) }},
		VerbConsent: {
			func(by casebook.Actor) error { return second(w.Consent(ctx, by, ConsentForm{Case: id, Seen: Newest})) },
			func(by casebook.Actor) error { return second(w.Say(ctx, by, SaidForm{Case: id, Seen: Newest})) }},
		VerbList:     {func(by casebook.Actor) error { return second(w.List(ctx, by, Listing{Case: id, Seen: Newest})) }},
		VerbReadBack: {func(by casebook.Actor) error { return second(w.ReadBack(ctx, by, Reading{Case: id, Seen: Newest})) }},
		VerbSign:     {func(by casebook.Actor) error { return second(w.Sign(ctx, by, Signing{Case: id, Seen: Newest})) }},
		VerbSheet:    {func(by casebook.Actor) error { return second(w.Sheet(ctx, by, id)) }},
		VerbScan: {func(by casebook.Actor) error { return second(w.InHand(ctx, by, "linn:00001")) },
			func(by casebook.Actor) error { return second(w.Scan(ctx, by, Box{Case: id, Seen: Newest})) }},
		VerbReopen: {func(by casebook.Actor) error { return second(w.Reopen(ctx, by, id, Newest, "")) }},
		VerbCorrect: {
			func(by casebook.Actor) error { return second(w.Correct(ctx, by, m, "")) },
			func(by casebook.Actor) error { return w.CorrectPatient(ctx, by, patient, Newest, NewPatient{}, "") }},
		VerbMove: {func(by casebook.Actor) error { return w.MoveReadings(ctx, by, Moving{}) },
			func(by casebook.Actor) error { return second(w.FindCard(ctx, by, VerbMove, "H-0001")) }},
		VerbClose: {func(by casebook.Actor) error { return w.Close(ctx, by, id, Newest, "", "") }},
		VerbMerge: {func(by casebook.Actor) error { return w.MergePatients(ctx, by, by, patient, patient, "") },
			func(by casebook.Actor) error { return second(w.FindCard(ctx, by, VerbMerge, "H-0001")) }},
		VerbErase: {func(by casebook.Actor) error { return w.Erase(ctx, by, by, patient, "") },
			func(by casebook.Actor) error { return second(w.FindCard(ctx, by, VerbErase, "H-0001")) }},
		VerbHistory: {
			func(by casebook.Actor) error { return second(w.CaseHistory(ctx, by, id, Comparison{})) },
			func(by casebook.Actor) error { return second(w.PatientHistory(ctx, by, patient, Comparison{})) }},
		VerbShelf: {func(by casebook.Actor) error { return second(w.Shelf(ctx, by)) }},
		VerbLens: {
			func(by casebook.Actor) error { return second(w.AddLens(ctx, by, LensForm{})) },
			func(by casebook.Actor) error { return w.EditLens(ctx, by, w.lens, Newest, LensForm{}, "") },
			func(by casebook.Actor) error { return w.WithdrawLens(ctx, by, "none", Newest, "") }},
		VerbStock:   {func(by casebook.Actor) error { return w.Stock(ctx, by, w.lens, Newest, map[string]string{"x": "1"}) }},
		VerbMachine: {func(by casebook.Actor) error { return second(w.AddMachine(ctx, by, "", Newest, MachineForm{})) }},
		VerbDesk: {
			func(by casebook.Actor) error { return second(w.Desk(ctx, by)) },
			func(by casebook.Actor) error { return second(w.Protocol(ctx, by)) },
			func(by casebook.Actor) error { return w.SetOwnPassword(ctx, by, "") }},
		VerbPeople: {
			func(by casebook.Actor) error { return second(w.AddPerson(ctx, by, NewPerson{})) },
			func(by casebook.Actor) error { return second(w.Invite(ctx, by, "none", Newest)) },
			func(by casebook.Actor) error { return w.ChangePerson(ctx, by, PersonChange{ID: "none"}) }},
		VerbProtocol: {
			func(by casebook.Actor) error { return w.SetProtocol(ctx, by, ProtocolForm{ReadingAgeDays: "x"}) },
			func(by casebook.Actor) error {
				return w.SetLimits(ctx, by, LimitsForm{Values: map[string]string{"x": "1"}})
			}},
		VerbAccessLog: {func(by casebook.Actor) error { return second(w.AccessLog(ctx, by, LogQuery{})) }},
		VerbVerify:    {func(by casebook.Actor) error { return second(w.Verify(ctx, by, nil)) }},
		VerbLock: {
			func(by casebook.Actor) error { return second(w.DayList(ctx, by, "2026-03-05")) },
			func(by casebook.Actor) error { return second(w.LockList(ctx, by, "2026-03-05")) }},
		VerbBreakGlass: {func(by casebook.Actor) error { return w.BreakGlass(ctx, by, id, "") }},
		VerbReview: {
			func(by casebook.Actor) error { return second(w.Glasses(ctx, by)) },
			func(by casebook.Actor) error { return w.ReviewGlass(ctx, by, "none", 0, "") }},
		VerbTally:  {func(by casebook.Actor) error { return second(w.Tally(ctx, by)) }},
		VerbRecall: {func(by casebook.Actor) error { return second(w.Recall(ctx, by, RecallQuery{Method: "srk-t"})) }},
	}
}

// person by role; the first is who does things in the other tests.
var oneOf = map[casebook.Role]string{technician: "tina", trainee: "trudy", surgeon: "sam", nurse: "nora", counsellor: "carl", auditor: "audra", administrator: "admin"}

// Every verb asks the matrix, for every role, and for people who are not, or
// no longer, on the Desk.
func TestEveryVerbAsksTheMatrix(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	patient := w.patient("Mira Example", "H-0001")
	id := w.open(patient, eye.Right)
	w.measure(id, ordinary, other)
	no := false
	w.must(w.ChangePerson(w.ctx(), w.who["admin"], PersonChange{ID: w.who["tom"].ID, Seen: Newest, Active: &no}))
	all, g := does(w, id, patient), grid(t)
	for _, verb := range Verbs {
		if len(all[verb]) == 0 {
			t.Errorf("nothing tries %s", verb)
		}
		for n, do := range all[verb] {
			var forbidden *ForbiddenError
			for role, name := range oneOf {
				err := do(w.who[name])
				if got := !errors.As(err, &forbidden); got != g[verb][role] {
					t.Errorf("%s (%d) as %s: %v", verb, n, role, err)
				}
			}
			for name, by := range map[string]casebook.Actor{"nobody": {}, "a stranger": {ID: "stranger", Role: surgeon, Supervisor: true},
				"who left": w.who["tom"], "a lens": {ID: w.lens, Role: surgeon}} {
				if err := do(by); !errors.As(err, &forbidden) {
					t.Errorf("%s (%d) as %s: %v", verb, n, name, err)
				}
			}
		}
	}
}

// What an actor claims about role and supervision is not believed.
func TestClaimedRoleIsNotBelieved(t *testing.T) {
	w, id := gated(t)
	liar := casebook.Actor{ID: w.who["nora"].ID, Role: surgeon, Supervisor: true}
	if _, err := w.Pass(w.ctx(), liar, GatePass{Case: id, Seen: Newest, Code: "length-very-short", Field: "axial_length_mm", Reason: "x"}); codes(err) != "forbidden" {
		t.Errorf("%v", err)
	}
	liar.ID = w.who["sam"].ID
	if _, err := w.Pass(w.ctx(), liar, GatePass{Case: id, Seen: Newest, Code: "length-very-short", Field: "axial_length_mm", Reason: "x"}); codes(err) != "needs-supervisor" {
		t.Errorf("%v", err)
	}
}
