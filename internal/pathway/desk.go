package pathway

import (
	"context"
	"slices"
	"strings"

	"linn/finding"
	"linn/internal/care/casebook"
)

// DeskPerson is one person of the ward. Passwords never leave the record.
type DeskPerson struct {
	casebook.Actor
	Active   bool
	Password bool // has one
	Number   int  // of the newest revision
}

// NewPerson is the form of a person, texts as typed. The name is also the
// sign-in name; small and capital letters do not matter there.
type NewPerson struct {
	Name       string
	Role       string
	Supervisor bool
	Password   string // "" gives no way to sign in
}

// PersonChange edits a person: what is "" stays.
type PersonChange struct {
	ID         string
	Seen       int
	Role       string
	Supervisor *bool
	Active     *bool
	Password   string
	Reason     string
}

// FirstPerson opens the Desk of an empty ward with its administrator, who has
// a password. It is refused as soon as anybody is on the Desk.
func (p *Pathway) FirstPerson(ctx context.Context, form NewPerson) (id string, err error) {
	form.Role = string(administrator)
	if form.Password == "" {
		return "", refuse("needed", "password")
	}
	err = p.Store.Do(ctx, func(tx casebook.Tx) error {
		people, err := casebook.All[casebook.Person](tx)
		if err != nil {
			return err
		}
		if len(people) > 0 {
			return refuse("not-first", "")
		}
		if id, err = casebook.NewID(p.Random, p.Clock()); err != nil {
			return err
		}
		by := casebook.Actor{ID: id}
		t := &turn{Pathway: p, tx: tx, verb: VerbPeople, by: by, now: p.Clock(), stamp: casebook.StampOf(p.Clock, by)}
		if err := t.addPerson(id, form); err != nil {
			return err
		}
		return t.writeLog(tx)
	})
	return id, err
}

// DeskEmpty reports that nobody is on the Desk yet.
func (p *Pathway) DeskEmpty(ctx context.Context) (empty bool, err error) {
	err = p.Store.View(ctx, func(tx casebook.Tx) error {
		empty = true
		for _, err := range tx.Heads(casebook.KindPerson) {
			empty = false
			return err
		}
		return nil
	})
	return empty, err
}

// AddPerson adds a person to the Desk.
func (p *Pathway) AddPerson(ctx context.Context, by casebook.Actor, form NewPerson) (id string, err error) {
	err = p.do(ctx, by, VerbPeople, func(t *turn) error {
		if id, err = casebook.NewID(t.Random, t.now); err != nil {
			return err
		}
		return t.addPerson(id, form)
	})
	return id, err
}

func (t *turn) addPerson(id string, form NewPerson) error {
	person := casebook.Person{Verb: casebook.VerbAdmit, Name: line(form.Name), Role: casebook.Role(form.Role),
		Supervisor: form.Supervisor, Active: true}
	if err := t.checkPerson(id, person); err != nil {
		return err
	}
	if err := t.setPassword(&person, form.Password); err != nil {
		return err
	}
	return t.revise(id, Newest, casebook.Revision{}, person)
}

// checkPerson refuses a person without name or role, a supervisor who is no
// surgeon, and a sign-in name that somebody else has.
func (t *turn) checkPerson(id string, person casebook.Person) error {
	var bad finding.Refusals
	if person.Name == "" || len(person.Name) > maxText {
		bad = append(bad, finding.Refusal{Code: "needed", Field: "name"})
	}
	if !slices.Contains(casebook.Roles, person.Role) {
		bad = append(bad, finding.Refusal{Code: "unknown-word", Field: "role",
			Values: finding.Values{value("got", clip(string(person.Role))), value("allowed", roleWords())}})
	}
	if person.Supervisor && person.Role != surgeon {
		bad = append(bad, finding.Refusal{Code: "supervisor-not-surgeon", Field: "supervisor"})
	}
	people, err := casebook.All[casebook.Person](t.tx)
	if err != nil {
		return err
	}
	for _, other := range people {
		if other.Revision.Chain != id && strings.EqualFold(other.State.Name, person.Name) {
			bad = append(bad, finding.Refusal{Code: "name-taken", Field: "name", Values: finding.Values{value("got", person.Name)}})
		}
	}
	return bad.Err()
}

func roleWords() string {
	var words []string
	for _, r := range casebook.Roles {
		words = append(words, string(r))
	}
	return strings.Join(words, ", ")
}

func (t *turn) setPassword(person *casebook.Person, password string) (err error) {
	if password != "" {
		person.Invite = nil // a link that still lies about sets no other
		person.Password, err = t.Hash(password, person.Name)
	}
	return err
}

// ChangePerson changes role, supervision, password or closes an account. The
// last administrator stays one. Whoever wires the sessions signs the person
// out afterwards.
func (p *Pathway) ChangePerson(ctx context.Context, by casebook.Actor, change PersonChange) error {
	return p.do(ctx, by, VerbPeople, func(t *turn) error {
		person, head, err := casebook.Load[casebook.Person](t.tx, change.ID)
		if err != nil {
			return err
		}
		change.apply(&person)
		if err := t.checkPerson(change.ID, person); err != nil {
			return err
		}
		if err := t.keepsAdministrator(change.ID, person); err != nil {
			return err
		}
		if err := t.setPassword(&person, change.Password); err != nil {
			return err
		}
		return t.revise(change.ID, change.Seen, head, person)
	})
}

func (change PersonChange) apply(person *casebook.Person) {
	person.Verb, person.Reason = casebook.VerbAdmit, line(change.Reason)
	if change.Role != "" {
		person.Role = casebook.Role(change.Role)
	}
	if change.Supervisor != nil {
		person.Supervisor = *change.Supervisor
	}
	if change.Active != nil && person.Active != *change.Active {
		person.Active = *change.Active
		if !person.Active {
			person.Verb, person.Invite = casebook.VerbClose, nil
		}
	}
	if person.Role != surgeon && change.Supervisor == nil {
		person.Supervisor = false
	}
}

// SetOwnPassword changes one's own password; whoever calls has proved the old
// one.
func (p *Pathway) SetOwnPassword(ctx context.Context, by casebook.Actor, password string) error {
	return p.do(ctx, by, VerbDesk, func(t *turn) error {
		person, head, err := casebook.Load[casebook.Person](t.tx, t.by.ID)
		if err != nil {
			return err
		}
		if password == "" {
			return refuse("needed", "password")
		}
		if err := t.setPassword(&person, password); err != nil {
			return err
		}
		person.Verb, person.Reason = casebook.VerbAdmit, ""
		return t.revise(t.by.ID, Newest, head, person)
	})
}

// keepsAdministrator refuses a change after which nobody could change the Desk.
func (t *turn) keepsAdministrator(id string, is casebook.Person) error {
	if is.Active && is.Role == administrator {
		return nil
	}
	people, err := casebook.All[casebook.Person](t.tx)
	if err != nil {
		return err
	}
	for _, other := range people {
		if other.Revision.Chain != id && other.State.Active && other.State.Role == administrator {
			return nil
		}
	}
	return refuse("last-administrator", "role")
}

// revise appends the state of one of the ward's own things. A writer who saw
// an older revision is told that it moved on.
func (t *turn) revise(chain string, seen int, head casebook.Revision, state casebook.Payload) error {
	if seen != Newest && seen != head.Number {
		return refuse("moved-on", "", value("by", nameOf(t.tx, head.Actor)))
	}
	t.touch(casebook.AccessChange, chain, "") // as the Ward does: what was touched stands where else a patient does
	_, err := casebook.Revise(t.tx, t.stamp, chain, head.Number, state)
	return err
}

// Desk lists the people by name.
func (p *Pathway) Desk(ctx context.Context, by casebook.Actor) (list []DeskPerson, err error) {
	err = p.look(ctx, by, VerbDesk, func(t *turn) error {
		list, err = people(t.tx)
		return err
	})
	return list, err
}

func people(tx casebook.Tx) (list []DeskPerson, err error) {
	all, err := casebook.All[casebook.Person](tx)
	for _, v := range all {
		list = append(list, DeskPerson{v.State.Actor(v.Revision.Chain), v.State.Active, v.State.Password != "", v.Revision.Number})
	}
	slices.SortFunc(list, func(a, b DeskPerson) int { return strings.Compare(strings.ToLower(a.Name), strings.ToLower(b.Name)) })
	return list, err
}

// Account is what signing in needs to know of an active person.
type Account struct {
	casebook.Actor
	Hash string
}

// AccountByName finds the active person with a sign-in name.
func (p *Pathway) AccountByName(ctx context.Context, name string) (found Account, ok bool, err error) {
	name = line(name)
	err = p.Store.View(ctx, func(tx casebook.Tx) error {
		all, err := casebook.All[casebook.Person](tx)
		for _, v := range all {
			if v.State.Active && strings.EqualFold(v.State.Name, name) {
				found, ok = Account{v.State.Actor(v.Revision.Chain), v.State.Password}, true
			}
		}
		return err
	})
	return found, ok, err
}

// AccountByID finds an active person.
func (p *Pathway) AccountByID(ctx context.Context, id string) (found Account, ok bool, err error) {
	err = p.Store.View(ctx, func(tx casebook.Tx) error {
		person, _, err := casebook.Load[casebook.Person](tx, id)
		if err == nil && person.Active {
			found, ok = Account{person.Actor(id), person.Password}, true
		}
		return absentIsNone(err)
	})
	return found, ok, err
}
