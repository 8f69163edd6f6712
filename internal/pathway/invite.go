package pathway

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"time"

	"linn/internal/care/casebook"
)

// InvitationLasts is how long a link to set a password holds, our own choice:
// long enough to reach somebody on leave over a weekend.
const InvitationLasts = 72 * time.Hour

// tokenBytes of chance make a link that nobody guesses.
const tokenBytes = 16

// Invited is a link to set a password. Its token is shown once and not kept.
type Invited struct {
	Name  string
	Token string
	Until time.Time // in the ward's zone
}

// Invite makes a one-time link by which a person sets their password: the
// first, or another when the old one is lost. An earlier link stops working;
// an old password works until the new one is set.
func (p *Pathway) Invite(ctx context.Context, by casebook.Actor, id string, seen int) (link Invited, err error) {
	err = p.do(ctx, by, VerbPeople, func(t *turn) error {
		person, head, err := casebook.Load[casebook.Person](t.tx, id)
		if err != nil {
			return err
		}
		if !person.Active {
			return refuse("person-closed", "")
		}
		var raw [tokenBytes]byte
		if _, err := io.ReadFull(t.Random, raw[:]); err != nil {
			return fmt.Errorf("pathway: random bytes for a link: %w", err)
		}
		link = Invited{Name: person.Name, Token: hex.EncodeToString(raw[:]), Until: t.now.Add(InvitationLasts)}
		person.Verb, person.Reason = casebook.VerbAdmit, ""
		person.Invite = &casebook.Invitation{Sum: tokenSum(link.Token), Until: link.Until.UTC()}
		return t.revise(id, seen, head, person)
	})
	return link, err
}

func tokenSum(token string) string {
	sum := sha256.Sum256([]byte("linn.invitation/1 " + token))
	return hex.EncodeToString(sum[:])
}

// Welcome says whom a link invites; ErrAbsent for one that is not known, was
// used, or is too old.
func (p *Pathway) Welcome(ctx context.Context, token string) (link Invited, err error) {
	err = p.Store.View(ctx, func(tx casebook.Tx) error {
		person, _, err := invited(tx, token, p.Clock())
		link = Invited{Name: person.Name}
		if err == nil {
			link.Until = person.Invite.Until.In(p.Clock().Location())
		}
		return err
	})
	return link, err
}

// invited finds the active person of a link. Sums are compared, not tokens:
// the time it takes tells nothing about a token.
func invited(tx casebook.Tx, token string, now time.Time) (person casebook.Person, id string, err error) {
	sum := tokenSum(token)
	people, err := casebook.All[casebook.Person](tx)
	if err != nil {
		return person, "", err
	}
	for _, v := range people {
		if i := v.State.Invite; i != nil && i.Sum == sum && v.State.Active && now.Before(i.Until) {
			return v.State, v.Revision.Chain, nil
		}
	}
	return person, "", ErrAbsent
}

// Accept sets the password of the person a link invites and uses the link up.
func (p *Pathway) Accept(ctx context.Context, token, password string) (id, name string, err error) {
	err = p.Store.Do(ctx, func(tx casebook.Tx) error {
		person, found, err := invited(tx, token, p.Clock())
		if err != nil {
			return err
		}
		id, name = found, person.Name
		t := &turn{Pathway: p, tx: tx, verb: VerbDesk, by: casebook.Actor{ID: id}, now: p.Clock()}
		t.stamp = casebook.StampOf(func() time.Time { return t.now }, t.by)
		if password == "" {
			return refuse("needed", "password")
		}
		if err := t.setPassword(&person, password); err != nil {
			return err
		}
		_, head, err := casebook.Load[casebook.Person](tx, id)
		if err != nil {
			return err
		}
		person.Verb, person.Reason, person.Invite = casebook.VerbAdmit, "", nil
		if err := t.revise(id, Newest, head, person); err != nil {
			return err
		}
		return t.writeLog(tx)
	})
	return id, name, err
}

// OutboxKey is the key under which a browser keeps what a person typed and
// could not send: the same on every device and after every change of password,
// and another for each person. It is made from the hash of the person's first
// revision, which never leaves the record.
func (p *Pathway) OutboxKey(ctx context.Context, id string) (key string, err error) {
	err = p.Store.View(ctx, func(tx casebook.Tx) error {
		for r, err := range tx.Chain(casebook.KindPerson, id) {
			if err != nil {
				return err
			}
			sum := sha256.Sum256(append([]byte("linn.outbox/1 "), r.Hash[:]...))
			key = hex.EncodeToString(sum[:])
			return nil
		}
		return ErrAbsent
	})
	return key, err
}
