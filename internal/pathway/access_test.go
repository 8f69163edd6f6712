package pathway

import (
	"errors"
	"strings"
	"testing"

	"linn/eye"
	"linn/internal/care/casebook"
)

// Broken glass opens one patient for an hour, for looking alone, loudly in the
// log, and somebody else reviews it.
func TestBreakGlass(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	patient := w.patient("Mira Example", "H-0001")
	id := w.open(patient, eye.Right)
	w.measure(id, ordinary, other)
	else1 := w.open(w.patient("Nils Example", "H-0002"), eye.Right)
	admin, audra := w.who["admin"], w.who["audra"]
	var forbidden *ForbiddenError
	look := func(id string) error { return second(w.Check(w.ctx(), admin, id)) }
	if err := look(id); !errors.As(err, &forbidden) {
		t.Fatalf("before: %v", err)
	}
	for reason, want := range map[string]string{"": "reason-needed", "now": "glass-reason-short", "Mira Example bleeds": "reason-names-patient"} {
		if got := codes(w.BreakGlass(w.ctx(), admin, id, reason)); got != want {
			t.Errorf("%q: %s, want %s", reason, got, want)
		}
	}
	if got := codes(w.BreakGlass(w.ctx(), w.who["sam"], id, "bleeding in the corridor")); got != "glass-not-needed" {
		t.Errorf("who may look anyway: %s", got)
	}
	w.must(w.BreakGlass(w.ctx(), admin, id, "bleeding in the corridor"))
	w.must(look(id))
	w.must(second(w.Sheet(w.ctx(), admin, id)))
	w.must(second(w.CaseHistory(w.ctx(), admin, id, Comparison{})))
	w.must(second(w.PatientHistory(w.ctx(), admin, patient, Comparison{})))
	if err := look(else1); !errors.As(err, &forbidden) {
		t.Errorf("another patient: %v", err)
	}
	if _, err := w.Measure(w.ctx(), admin, entry2(id, map[string]string{"pupil_mm": "3"}, nil, false)); !errors.As(err, &forbidden) {
		t.Errorf("a change: %v", err)
	}
	lines, err := w.AccessLog(w.ctx(), audra, LogQuery{Patient: patient, Actor: admin.ID})
	w.must(err)
	seen := ""
	for _, l := range lines {
		seen += l.Detail + " "
	}
	for _, want := range []string{"break-glass", "glass-eye", "glass-sheet", "glass-history"} {
		if !strings.Contains(seen, want) {
			t.Errorf("the log says %q, lacks %s", seen, want)
		}
	}
	list, err := w.Glasses(w.ctx(), audra)
	w.must(err)
	if len(list) != 1 || list[0].Reason != "bleeding in the corridor" || list[0].Reviewed != nil || list[0].Name == "" {
		t.Fatalf("%+v", list)
	}
	if got := codes(w.ReviewGlass(w.ctx(), admin, admin.ID, 0, "I was right")); got != "glass-own" {
		t.Errorf("one's own: %s", got)
	}
	w.must(w.ReviewGlass(w.ctx(), audra, admin.ID, 0, "justified, nobody else was there"))
	if got := codes(w.ReviewGlass(w.ctx(), audra, admin.ID, 0, "again")); got != "glass-reviewed" {
		t.Errorf("twice: %s", got)
	}
	w.now = w.now.Add(glassLasts)
	if err := look(id); !errors.As(err, &forbidden) {
		t.Errorf("after an hour: %v", err)
	}
}

// A link sets one password, once, within its time, and for an open account.
func TestInvitation(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	admin := w.who["admin"]
	id, err := w.AddPerson(w.ctx(), admin, NewPerson{Name: "Ama Reed", Role: "nurse"})
	w.must(err)
	first, err := w.Invite(w.ctx(), admin, id, Newest)
	w.must(err)
	link, err := w.Invite(w.ctx(), admin, id, Newest)
	w.must(err)
	if len(link.Token) != 2*tokenBytes || link.Token == first.Token {
		t.Errorf("tokens %q %q", first.Token, link.Token)
	}
	if _, err := w.Welcome(w.ctx(), first.Token); !errors.Is(err, ErrAbsent) {
		t.Errorf("an earlier link: %v", err)
	}
	to, err := w.Welcome(w.ctx(), link.Token)
	w.must(err)
	if to.Name != "Ama Reed" || !to.Until.Equal(link.Until) {
		t.Errorf("%+v", to)
	}
	if _, _, err := w.Accept(w.ctx(), link.Token, ""); codes(err) != "needed" {
		t.Errorf("no password: %v", err)
	}
	got, _, err := w.Accept(w.ctx(), link.Token, "three words here")
	w.must(err)
	if got != id {
		t.Errorf("%s, want %s", got, id)
	}
	if _, _, err := w.Accept(w.ctx(), link.Token, "other words here"); !errors.Is(err, ErrAbsent) {
		t.Errorf("a used link: %v", err)
	}
	late, err := w.Invite(w.ctx(), admin, id, Newest)
	w.must(err)
	w.now = w.now.Add(InvitationLasts)
	if _, _, err := w.Accept(w.ctx(), late.Token, "other words here"); !errors.Is(err, ErrAbsent) {
		t.Errorf("a late link: %v", err)
	}
	no := false
	again, err := w.Invite(w.ctx(), admin, id, Newest)
	w.must(err)
	w.must(w.ChangePerson(w.ctx(), admin, PersonChange{ID: id, Seen: Newest, Active: &no}))
	if _, err := w.Welcome(w.ctx(), again.Token); !errors.Is(err, ErrAbsent) {
		t.Errorf("a closed account: %v", err)
	}
	if got := codes(second(w.Invite(w.ctx(), admin, id, Newest))); got != "person-closed" {
		t.Errorf("inviting a closed account: %s", got)
	}
	found, err := w.AccessLog(w.ctx(), w.who["audra"], LogQuery{Patient: id})
	w.must(err)
	for _, l := range found {
		if strings.Contains(l.Detail, link.Token) {
			t.Error("the log holds a token")
		}
	}
}

// The key of what could not be sent is a person's own and stays.
func TestOutboxKeyStays(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	key := func(name string) string {
		k, err := w.OutboxKey(w.ctx(), w.who[name].ID)
		w.must(err)
		return k
	}
	before := key("nora")
	w.must(w.SetOwnPassword(w.ctx(), w.who["nora"], "three words here"))
	if len(before) != 64 || key("nora") != before || key("sam") == before {
		t.Error("the key is not the person's own, or did not stay")
	}
	if _, err := w.OutboxKey(w.ctx(), "nobody"); !errors.Is(err, ErrAbsent) {
		t.Errorf("%v", err)
	}
}
