package web

import (
	"context"

	"linn/internal/pathway"
)

func (a *ward) Desk(ctx context.Context, by Actor) (Desk, error) {
	people, err := a.Pathway.Desk(ctx, actorOf(by))
	d := Desk{Editable: pathway.May(pathway.Role(by.Role), pathway.VerbPeople)}
	for _, p := range people {
		d.People = append(d.People, Person{Actor: webActor(p.Actor), Revision: p.Number, Supervisor: p.Supervisor, Closed: !p.Active, Password: p.Password})
	}
	return d, said(err)
}

func (a *ward) AddPerson(ctx context.Context, by Actor, p NewPerson) (string, error) {
	id, err := a.Pathway.AddPerson(ctx, actorOf(by), pathway.NewPerson{Name: p.Name, Role: p.Role, Supervisor: p.Supervisor, Password: p.Password})
	return id, said(err)
}

// ChangePerson changes an account and signs the person out everywhere: what
// they may do is another thing now.
func (d *doors) ChangePerson(ctx context.Context, by Actor, p PersonChange) error {
	active, supervisor := !p.Closed, p.Supervisor && Role(p.Role) == Surgeon
	err := d.ward.Pathway.ChangePerson(ctx, actorOf(by), pathway.PersonChange{ID: p.ID, Seen: p.Revision, Role: p.Role,
		Supervisor: &supervisor, Active: &active, Password: p.Password})
	if err != nil {
		return said(err)
	}
	return d.door.Sessions.EndAll(ctx, p.ID)
}
