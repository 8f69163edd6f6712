package access

import (
	"context"
	"encoding/hex"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"linn/finding"
)

// A short number unlocks one session in one browser, never another: whoever
// has the number needs the session's cookie too. After wrongPINs wrong ones
// only the password opens the session.
const (
	leastPIN  = 4
	mostPIN   = 8
	wrongPINs = 3
)

// CheckPIN says why a short number cannot be taken, nil when it can.
func CheckPIN(pin string) *finding.Refusal {
	refuse := func(code string) *finding.Refusal { return &finding.Refusal{Code: code, Field: "pin"} }
	if len(pin) < leastPIN || len(pin) > mostPIN || strings.Trim(pin, "0123456789") != "" {
		return refuse("pin-shape")
	}
	same, up, down := true, true, true
	for i := 1; i < len(pin); i++ {
		same = same && pin[i] == pin[0]
		up = up && pin[i] == pin[i-1]+1
		down = down && pin[i]+1 == pin[i-1]
	}
	if same || up || down {
		return refuse("pin-easy")
	}
	return nil
}

// Lock covers the session of this browser.
func (d *Door) Lock(r *http.Request) error {
	return d.change(r.Context(), d.token(r), func(s *Session) { s.Locked = true })
}

// Unlock opens a locked session again, with the short number of this session
// or with the person's password.
func (d *Door) Unlock(w http.ResponseWriter, r *http.Request, secret string) error {
	token := d.token(r)
	found, ok, err := d.Sessions.Look(r.Context(), token)
	if err != nil {
		return err
	}
	if !ok {
		return finding.Refusal{Code: "sign-in-wrong"}
	}
	if found.PIN != "" && CheckPIN(secret) == nil {
		return d.unlockShort(r.Context(), token, secret)
	}
	account, ok, err := d.Accounts.AccountByID(r.Context(), found.Person)
	if err != nil || !ok {
		return firstOf(err, finding.Refusal{Code: "sign-in-wrong"})
	}
	if _, err := d.prove(w, r, account.Name, secret); err != nil {
		return err
	}
	return d.change(r.Context(), token, d.open)
}

func firstOf(err, other error) error {
	if err != nil {
		return fmt.Errorf("access: account: %w", err)
	}
	return other
}

// unlockShort compares a short number. The try is counted before it is looked
// at, so that many at one moment count as many.
func (d *Door) unlockShort(ctx context.Context, token, pin string) error {
	var hash string
	err := d.change(ctx, token, func(s *Session) {
		if s.Tries++; s.Tries > wrongPINs {
			s.PIN = ""
		}
		hash = s.PIN
	})
	if err != nil {
		return err
	}
	if hash == "" {
		return finding.Refusal{Code: "pin-gone"}
	}
	if !Matches(hash, pin) {
		return finding.Refusal{Code: "sign-in-wrong"}
	}
	return d.change(ctx, token, d.open)
}

// open takes the cover off.
func (d *Door) open(s *Session) { s.Locked, s.Tries, s.LastSeen = false, 0, d.Sessions.Clock() }

// SetPIN gives this browser's session a short number; the password proves that
// it is the person who asks. An empty number takes it away.
func (d *Door) SetPIN(w http.ResponseWriter, r *http.Request, name, password, pin string) error {
	if pin != "" {
		if why := CheckPIN(pin); why != nil {
			return *why
		}
	}
	if _, err := d.prove(w, r, name, password); err != nil {
		return err
	}
	hash := ""
	if pin != "" {
		var err error
		if hash, err = Hash(pin); err != nil {
			return err
		}
	}
	return d.change(r.Context(), d.token(r), func(s *Session) { s.PIN, s.Tries = hash, 0 })
}

// Prove checks a person's own password again, under the limits on guessing.
func (d *Door) Prove(w http.ResponseWriter, r *http.Request, name, password string) error {
	_, err := d.prove(w, r, name, password)
	return err
}

// Renew ends every session of a person and gives this browser a fresh one:
// after the person changed their password.
func (d *Door) Renew(w http.ResponseWriter, r *http.Request, person string) error {
	if err := d.Sessions.EndAll(r.Context(), person); err != nil {
		return err
	}
	return d.begin(w, r, person)
}

func (d *Door) change(ctx context.Context, token string, edit func(*Session)) error {
	if err := d.Sessions.Store.Change(ctx, keyOf(token), edit); err != nil {
		return fmt.Errorf("access: change session: %w", err)
	}
	return nil
}

// ID names a session to its own person without giving it away.
func (s Session) ID() string { return hex.EncodeToString(s.Key[:8]) }

// Own lists the sessions of the person behind the request; here is the ID of
// this browser's.
func (d *Door) Own(r *http.Request) (list []Session, here string, err error) {
	found, ok, err := d.Sessions.Look(r.Context(), d.token(r))
	if err != nil || !ok {
		return nil, "", err
	}
	list, err = d.Sessions.Store.Of(r.Context(), found.Person)
	return list, found.ID(), err
}

// EndOwn ends one of the sessions of the person behind the request.
func (d *Door) EndOwn(r *http.Request, id string) error {
	list, _, err := d.Own(r)
	if err != nil {
		return err
	}
	for _, s := range list {
		if s.ID() == id {
			if err := d.Sessions.Store.Drop(r.Context(), s.Key); err != nil {
				return fmt.Errorf("access: end session: %w", err)
			}
		}
	}
	return nil
}

// systems and browsers are named as their own headers name them, the more
// telling first.
var (
	systems  = []string{"Android", "iPhone", "iPad", "Windows", "Mac OS", "CrOS", "Linux"}
	browsers = []string{"Firefox", "Edg", "OPR", "Chrome", "Safari"}
)

// deviceOf is what a browser says of itself, in two words that a person knows.
// Nothing a stranger wrote into the header is passed on.
func deviceOf(r *http.Request) string {
	said := r.UserAgent()
	first := func(of []string) string {
		if i := slices.IndexFunc(of, func(name string) bool { return strings.Contains(said, name) }); i >= 0 {
			return of[i]
		}
		return ""
	}
	return strings.TrimSpace(first(browsers) + " " + first(systems))
}
