package web

import (
	"context"
	"net/http"
	"time"
)

// Keys is what the pages ask of the accounts beside the doors: what a person
// does with their own session and password, and the links that invite.
type Keys interface {
	// Locked is whose session is covered on this request.
	Locked(r *http.Request) (Actor, bool)
	// Lock covers the session; Unlock opens it with the short number of this
	// session or the password. What is wrong is ErrWrongPassword, ErrTooMany,
	// or ErrNoPIN when the number was tried too often.
	Lock(r *http.Request) error
	Unlock(w http.ResponseWriter, r *http.Request, secret string) error
	// SetPIN gives this session a short number; "" takes it away.
	SetPIN(w http.ResponseWriter, r *http.Request, by Actor, password, pin string) error
	// Sessions lists the signed-in browsers of a person.
	Sessions(r *http.Request) ([]SessionLine, error)
	EndSession(r *http.Request, id string) error
	EndAll(w http.ResponseWriter, r *http.Request, by Actor) error
	ChangePassword(w http.ResponseWriter, r *http.Request, by Actor, old, new string) error

	// Invite makes a one-time link to set a password; Welcome says whom a
	// link invites, ErrNotFound when it holds no more; Accept uses it up and
	// signs the person in.
	Invite(ctx context.Context, by Actor, id string, revision int) (Invitation, error)
	Welcome(ctx context.Context, token string) (Invitation, error)
	Accept(w http.ResponseWriter, r *http.Request, token, password string) error

	// OutboxKey is the key under which a browser keeps what could not be sent,
	// "" where there is none.
	OutboxKey(ctx context.Context, by Actor) string
}

// Emergencies is what the pages ask about looks that a role does not allow.
type Emergencies interface {
	BreakGlass(ctx context.Context, by Actor, caseID, reason string) error
	Glasses(ctx context.Context, by Actor) ([]Glass, error)
	ReviewGlass(ctx context.Context, by Actor, person string, n int, note string) error
}

// The deeds of reviews and people.
const (
	ToReview Deed = "review-glass"
	ToInvite Deed = "people"
)

// Invitation is a one-time link to set a password.
type Invitation struct {
	Name, Token string
	Until       time.Time
}

// SessionLine is one signed-in browser.
type SessionLine struct {
	ID, Device, Address string
	Began, Seen         time.Time
	Here, PIN, Locked   bool
}

// Glass is one look through broken glass.
type Glass struct {
	Person, Name, CaseID, Reason string
	N                            int
	Since, Until                 time.Time
	Reviewer, Note               string // "" when nobody reviewed it yet
	Own                          bool
}
