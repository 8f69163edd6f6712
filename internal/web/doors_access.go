package web

import (
	"context"
	"errors"
	"net/http"

	"linn/finding"
	"linn/internal/access"
	"linn/internal/pathway"
)

// Accounts finds the people of a ward for the door.
type Accounts struct{ Pathway *pathway.Pathway }

// AccountByName finds an active person by the name they sign in with.
func (a Accounts) AccountByName(ctx context.Context, name string) (access.Account, bool, error) {
	found, ok, err := a.Pathway.AccountByName(ctx, name)
	return access.Account{ID: found.ID, Name: found.Name, Hash: found.Hash}, ok, err
}

// AccountByID finds an active person.
func (a Accounts) AccountByID(ctx context.Context, id string) (access.Account, bool, error) {
	found, ok, err := a.Pathway.AccountByID(ctx, id)
	return access.Account{ID: found.ID, Name: found.Name, Hash: found.Hash}, ok, err
}

// doors is the Access of a ward: its accounts behind the door of
// internal/access, whose guard has found the session before a page runs.
type doors struct {
	*ward
	door *access.Door
}

func (d *doors) Who(r *http.Request) (Actor, bool) {
	id, ok := access.Person(r.Context())
	if !ok {
		return Actor{}, false
	}
	found, ok, err := d.AccountByID(r.Context(), id)
	if err != nil {
		d.log.Error("account failed", "error", err)
	}
	return webActor(found.Actor), ok && err == nil
}

// proved turns the door's refusals into the two a page can say.
func proved(err error) error {
	var why finding.Refusal
	switch {
	case !errors.As(err, &why):
		return err
	case why.Code == "sign-in-wait":
		return ErrTooMany
	case why.Code == "sign-in-wrong":
		return ErrWrongPassword
	}
	return finding.Refusals{why}
}

func (d *doors) SignIn(w http.ResponseWriter, r *http.Request, name, password string) error {
	return d.told(r, d.door.SignIn(w, r, name, password))
}

// told writes a refused proof down, without the name: somebody may be guessing.
func (d *doors) told(r *http.Request, err error) error {
	if err = proved(err); errors.Is(err, ErrWrongPassword) || errors.Is(err, ErrTooMany) {
		d.log.Warn("sign-in refused", "address", r.RemoteAddr, "waiting", errors.Is(err, ErrTooMany))
	}
	return err
}

func (d *doors) SignOut(w http.ResponseWriter, r *http.Request) error { return d.door.SignOut(w, r) }

func (d *doors) Empty(ctx context.Context) (bool, error) { return d.DeskEmpty(ctx) }

func (d *doors) First(w http.ResponseWriter, r *http.Request, p NewPerson) error {
	_, err := d.FirstPerson(r.Context(), pathway.NewPerson{Name: p.Name, Password: p.Password})
	if err != nil {
		return said(err)
	}
	return proved(d.door.SignIn(w, r, p.Name, p.Password))
}

// Demo lists the active people of the demo; nil outside it.
func (d *doors) Demo(r *http.Request) []Actor {
	by, ok := d.Who(r)
	if !d.door.Demo || !ok {
		return nil
	}
	people, err := d.ward.Pathway.Desk(r.Context(), actorOf(by))
	if err != nil {
		d.log.Error("demo people failed", "error", err)
		return nil
	}
	var list []Actor
	for _, p := range people {
		if p.Active {
			list = append(list, webActor(p.Actor))
		}
	}
	return list
}

func (d *doors) Be(w http.ResponseWriter, r *http.Request, id string) error {
	return proved(d.door.Switch(w, r, id))
}

func (d *doors) Vouch(w http.ResponseWriter, r *http.Request, name, password string) (Actor, error) {
	id, err := d.door.Vouch(w, r, name, password)
	if err != nil {
		return Actor{}, d.told(r, err)
	}
	found, ok, err := d.AccountByID(r.Context(), id)
	if err != nil || !ok {
		return Actor{}, errors.Join(err, ErrWrongPassword)
	}
	return webActor(found.Actor), nil
}
