package web

import (
	"context"
	"errors"
	"net/http"

	"linn/finding"
	"linn/internal/access"
)

// ErrNoPIN says that a short number was tried too often: only the password
// opens the session.
var ErrNoPIN = errors.New("web: the short number is used up")

func (d *doors) Locked(r *http.Request) (Actor, bool) {
	id, ok := access.LockedPerson(r.Context())
	if !ok {
		return Actor{}, false
	}
	found, ok, err := d.AccountByID(r.Context(), id)
	if err != nil {
		d.log.Error("account failed", "error", err)
	}
	return webActor(found.Actor), ok && err == nil
}

func (d *doors) Lock(r *http.Request) error { return d.door.Lock(r) }

func (d *doors) Unlock(w http.ResponseWriter, r *http.Request, secret string) error {
	err := d.door.Unlock(w, r, secret)
	var why finding.Refusal
	if errors.As(err, &why) && why.Code == "pin-gone" {
		d.log.Warn("short number tried too often", "address", r.RemoteAddr)
		return ErrNoPIN
	}
	return d.told(r, err)
}

func (d *doors) SetPIN(w http.ResponseWriter, r *http.Request, by Actor, password, pin string) error {
	return d.told(r, d.door.SetPIN(w, r, by.Name, password, pin))
}

func (d *doors) Sessions(r *http.Request) (list []SessionLine, err error) {
	all, here, err := d.door.Own(r)
	zone := d.Clock().Location()
	for _, s := range all {
		list = append(list, SessionLine{ID: s.ID(), Device: s.Device, Address: s.Address, Began: s.Began.In(zone), Seen: s.LastSeen.In(zone),
			Here: s.ID() == here, PIN: s.PIN != "", Locked: s.Locked})
	}
	return list, err
}

func (d *doors) EndSession(r *http.Request, id string) error { return d.door.EndOwn(r, id) }

// EndAll signs a person out everywhere, here too.
func (d *doors) EndAll(w http.ResponseWriter, r *http.Request, by Actor) error {
	if err := d.door.Sessions.EndAll(r.Context(), by.ID); err != nil {
		return err
	}
	return d.door.SignOut(w, r)
}

func (d *doors) ChangePassword(w http.ResponseWriter, r *http.Request, by Actor, old, new string) error {
	if err := d.told(r, d.door.Prove(w, r, by.Name, old)); err != nil {
		return err
	}
	if err := said(d.SetOwnPassword(r.Context(), actorOf(by), new)); err != nil {
		return err
	}
	return d.door.Renew(w, r, by.ID)
}

func (d *doors) Invite(ctx context.Context, by Actor, id string, revision int) (Invitation, error) {
	link, err := d.ward.Pathway.Invite(ctx, actorOf(by), id, revision)
	return Invitation(link), said(err)
}

func (d *doors) Welcome(ctx context.Context, token string) (Invitation, error) {
	link, err := d.ward.Pathway.Welcome(ctx, token)
	return Invitation(link), said(err)
}

func (d *doors) Accept(w http.ResponseWriter, r *http.Request, token, password string) error {
	id, name, err := d.ward.Pathway.Accept(r.Context(), token, password)
	if err != nil {
		return said(err)
	}
	if err := d.door.Sessions.EndAll(r.Context(), id); err != nil { // whoever had the old password is out
		return err
	}
	return proved(d.door.SignIn(w, r, name, password))
}

func (d *doors) OutboxKey(ctx context.Context, by Actor) string {
	key, err := d.ward.Pathway.OutboxKey(ctx, by.ID)
	if err != nil {
		d.log.Error("outbox key failed", "error", err)
	}
	return key
}

func (a *ward) BreakGlass(ctx context.Context, by Actor, caseID, reason string) error {
	return said(a.Pathway.BreakGlass(ctx, actorOf(by), caseID, reason))
}

func (a *ward) Glasses(ctx context.Context, by Actor) (list []Glass, err error) {
	all, err := a.Pathway.Glasses(ctx, actorOf(by))
	for _, g := range all {
		line := Glass{Person: g.Person, Name: g.Name, CaseID: g.Case, Reason: g.Reason, N: g.N, Since: g.Since, Until: g.Until, Reviewer: g.Reviewer, Own: g.Own}
		if g.Reviewed != nil {
			line.Note = g.Reviewed.Note
		}
		list = append(list, line)
	}
	return list, said(err)
}

func (a *ward) ReviewGlass(ctx context.Context, by Actor, person string, n int, note string) error {
	return said(a.Pathway.ReviewGlass(ctx, actorOf(by), person, n, note))
}
