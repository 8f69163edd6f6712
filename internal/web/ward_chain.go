package web

import (
	"context"
	"strings"

	"linn/internal/pathway"
)

func (a *ward) History(ctx context.Context, by Actor, q HistoryQuery) (History, error) {
	between := pathway.Comparison{Older: q.Older, Newer: q.Newer}
	var h pathway.History
	var err error
	if q.CaseID != "" {
		h, err = a.CaseHistory(ctx, actorOf(by), q.CaseID, between)
	} else {
		h, err = a.PatientHistory(ctx, actorOf(by), q.Patient, between)
	}
	if err != nil {
		return History{}, said(err)
	}
	out := History{Identity: Identity{CaseID: h.Case, Side: h.Side, Name: h.Who.Name, Identifier: h.Who.Identifier, Sex: h.Who.Sex, Born: h.Who.BirthDate},
		Patient: h.Patient, Erased: h.Erased, Older: h.Older, Newer: h.Newer}
	for _, p := range h.Past {
		out.Past = append(out.Past, PastLine(p))
	}
	for _, c := range h.Changes {
		out.Changes = append(out.Changes, Changed{c.Field, c.Old, c.New})
	}
	return out, nil
}

func (a *ward) Correct(ctx context.Context, by Actor, m Measurement, reason string) (EyeCase, error) {
	j, err := a.Pathway.Correct(ctx, actorOf(by), measurementOf(m), reason)
	return a.stored(ctx, by, m.CaseID, &j, err, nil)
}

func (a *ward) Card(ctx context.Context, by Actor, to Deed, identifier string) (Card, error) {
	c, err := a.FindCard(ctx, actorOf(by), pathway.Verb(to), identifier)
	if err != nil {
		return Card{}, said(err)
	}
	card := Card{Patient: c.Patient, Name: c.Name, Identifier: c.Identifier, Sex: c.Sex, Age: c.Age, Also: c.Also}
	for _, x := range c.Cases {
		card.Cases = append(card.Cases, CardCase{x.Case, x.Side, string(x.State), x.Revision, x.List})
	}
	return card, nil
}

// sameTyped refuses a confirmation that does not repeat the identifier.
func sameTyped(typed, identifier string) error {
	if !strings.EqualFold(strings.TrimSpace(typed), strings.TrimSpace(identifier)) {
		return Refused("typed-differs", "typed", valueOf("got", identifier))
	}
	return nil
}

func (a *ward) Move(ctx context.Context, by Actor, m Moving) error {
	card, err := a.Card(ctx, by, ToMove, m.Identifier)
	if err != nil {
		return err
	}
	if err := sameTyped(m.Typed, card.Identifier); err != nil {
		return err
	}
	return said(a.MoveReadings(ctx, actorOf(by), pathway.Moving{From: m.CaseID, To: m.To, FromSeen: m.Revision, ToSeen: m.ToSeen, Fields: m.Fields, Reason: m.Reason}))
}

func (a *ward) Merge(ctx context.Context, by, second Actor, m Merging) error {
	from, err := a.Card(ctx, by, ToMerge, m.Identifier)
	if err != nil {
		return err
	}
	into, err := a.Card(ctx, by, ToMerge, m.Into)
	if err != nil {
		return err
	}
	if err := sameTyped(m.Typed, from.Identifier); err != nil {
		return err
	}
	return said(a.MergePatients(ctx, actorOf(by), actorOf(second), from.Patient, into.Patient, m.Reason))
}

func (a *ward) Erase(ctx context.Context, by, second Actor, e Erasing) (string, error) {
	card, err := a.Card(ctx, by, ToErase, e.Identifier)
	if err != nil {
		return "", err
	}
	if err := sameTyped(e.Typed, card.Identifier); err != nil {
		return "", err
	}
	return card.Patient, said(a.Pathway.Erase(ctx, actorOf(by), actorOf(second), card.Patient, e.Reason))
}

func (a *ward) Verify(ctx context.Context, by Actor) (Verified, error) {
	v, err := a.Pathway.Verify(ctx, actorOf(by), nil)
	if err != nil {
		return Verified{}, said(err)
	}
	out := Verified{Chains: v.Chains, Revisions: v.Revisions, Plans: v.Plans, Sound: v.Sound()}
	for _, b := range v.Broken {
		out.Broken = append(out.Broken, BrokenLink{string(b.Kind), b.Chain, string(b.What), b.Number})
	}
	for _, b := range v.Stale {
		out.Stale = append(out.Stale, BrokenLink{string(b.Kind), b.Chain, string(b.What), b.Number})
	}
	for _, b := range v.Newer {
		out.Newer = append(out.Newer, BrokenLink{string(b.Kind), b.Chain, string(b.What), b.Number})
	}
	for _, d := range v.Differs {
		out.Differs = append(out.Differs, PlanDiffers{d.Case, d.Number, d.Field, d.Signed, d.Now})
	}
	return out, nil
}
