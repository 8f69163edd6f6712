package web

import (
	"context"
	"io"
	"net/http"
	"time"

	"linn/unit"
)

// cannedKeys answers the account pages of the gallery.
type cannedKeys struct {
	lockedFor Actor
	sessions  []SessionLine
	glassList []Glass
	badKey    error
}

func (c *cannedKeys) Locked(*http.Request) (Actor, bool) { return c.lockedFor, c.lockedFor.ID != "" }
func (c *cannedKeys) Lock(*http.Request) error           { return nil }
func (c *cannedKeys) Unlock(http.ResponseWriter, *http.Request, string) error {
	return ErrWrongPassword
}
func (c *cannedKeys) SetPIN(http.ResponseWriter, *http.Request, Actor, string, string) error {
	return c.badKey
}
func (c *cannedKeys) Sessions(*http.Request) ([]SessionLine, error)          { return c.sessions, nil }
func (c *cannedKeys) EndSession(*http.Request, string) error                 { return nil }
func (c *cannedKeys) EndAll(http.ResponseWriter, *http.Request, Actor) error { return nil }
func (c *cannedKeys) OutboxKey(context.Context, Actor) string                { return "" }
func (c *cannedKeys) Accept(http.ResponseWriter, *http.Request, string, string) error {
	return c.badKey
}
func (c *cannedKeys) ChangePassword(http.ResponseWriter, *http.Request, Actor, string, string) error {
	return c.badKey
}
func (c *cannedKeys) Invite(context.Context, Actor, string, int) (Invitation, error) {
	return Invitation{"Noor Brook", "5d41402abc4b2a76b9719d911017c592", galleryTime.Add(72 * time.Hour)}, nil
}
func (c *cannedKeys) Welcome(context.Context, string) (Invitation, error) {
	return Invitation{Name: "Noor Brook", Until: galleryTime.Add(72 * time.Hour)}, nil
}
func (c *cannedKeys) BreakGlass(context.Context, Actor, string, string) error { return c.badKey }
func (c *cannedKeys) Glasses(context.Context, Actor) ([]Glass, error)         { return c.glassList, nil }
func (c *cannedKeys) ReviewGlass(context.Context, Actor, string, int, string) error {
	return c.badKey
}

func (c *cannedKeys) Day(context.Context, Actor, string) (Day, error)     { return galleryDay(), nil }
func (c *cannedKeys) LockDay(context.Context, Actor, string) (Day, error) { return galleryDay(), nil }
func (c *cannedKeys) PrintDay(context.Context, Actor, string, io.Writer) error {
	return ErrNotFound
}

func galleryDay() Day {
	d := Day{Date: galleryList, AsOf: galleryTime, Hospital: "North Isles Eye Hospital"}
	for i, row := range fullWard().Rows[:5] {
		e := DayEye{Identity: row.Identity, Asked: true}
		if row.Signed {
			e.Confirmed, e.Number, e.Model, e.Power, e.Target = true, "00412", row.Model, row.Power, unit.Known(unit.Dioptre(-0.25))
		}
		if i == 1 {
			e.Allergies = []string{"latex"}
		}
		d.Eyes = append(d.Eyes, e)
	}
	return d
}

func gallerySessions() []SessionLine {
	return []SessionLine{
		{ID: "a1", Device: "Firefox Linux", Address: "192.0.2.14", Began: galleryTime.Add(-time.Hour), Seen: galleryTime, Here: true, PIN: true},
		{ID: "a2", Device: "Chrome Android", Address: "192.0.2.31", Began: galleryTime.Add(-5 * time.Hour), Seen: galleryTime.Add(-2 * time.Hour), Locked: true},
		{ID: "a3", Address: "192.0.2.80", Began: galleryTime.Add(-6 * time.Hour), Seen: galleryTime.Add(-3 * time.Hour)},
	}
}

func galleryGlasses() []Glass {
	return []Glass{
		{Person: "p4", Name: administratorFen.Name, CaseID: "c1", Reason: "bleeding in the corridor, nobody else there", Since: galleryTime, Until: galleryTime.Add(time.Hour)},
		{Person: "p9", Name: "Olu Marsh", N: 1, CaseID: "c1", Reason: "sheet asked for by theatre at night", Since: galleryTime.Add(-9 * time.Hour), Until: galleryTime.Add(-8 * time.Hour), Own: true},
		{Person: "p4", Name: administratorFen.Name, N: 0, CaseID: "c2", Reason: "fire alarm, list carried out on paper", Since: galleryTime.Add(-30 * time.Hour), Until: galleryTime.Add(-29 * time.Hour), Reviewer: "Olu Marsh", Note: "justified"},
	}
}

func keyCases() []galleryCase {
	auditor := Actor{"p9", "Olu Marsh", Auditor}
	keys := func(who Actor, k cannedKeys) *canned {
		return &canned{who: who, eye: averageEye(), desk: fullDesk(), log: galleryLog(), cannedKeys: k}
	}
	loud := keys(auditor, cannedKeys{glassList: galleryGlasses()})
	loud.log = append([]LogLine{{Number: 13, At: galleryTime, Name: administratorFen.Name, What: "read", Verb: "glass-eye", CaseID: "c1"}}, galleryLog()...)
	return []galleryCase{
		{"me", "/me", keys(surgeonLark, cannedKeys{sessions: gallerySessions()})},
		{"me-demo", "/me", &canned{who: technicianBay, people: galleryPeople}},
		{"theatre", "/theatre", keys(nurseReed, cannedKeys{})},
		{"day", "/list/2026-03-03", keys(nurseReed, cannedKeys{})},
		{"locked", "/ward", keys(Actor{}, cannedKeys{lockedFor: nurseReed})},
		{"welcome", "/invitation/x", keys(Actor{}, cannedKeys{})},
		{"glass", "/case/c1/glass", keys(administratorFen, cannedKeys{})},
		{"glasses", "/desk/glass", loud},
		{"glasses-none", "/desk/glass", keys(auditor, cannedKeys{})},
		{"desk-review", "/desk", loud},
		{"log-loud", "/desk/log?identifier=H-0412", loud},
	}
}
