package access

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"strconv"
	"time"

	"linn/finding"
)

// Account is what access knows of a person.
type Account struct {
	ID   string
	Name string // sign-in name
	Hash string // encoded argon2id; empty: nobody can sign in with a password
}

// Accounts finds the people who may come in. A deactivated person is not found.
type Accounts interface {
	AccountByName(ctx context.Context, name string) (Account, bool, error)
	AccountByID(ctx context.Context, id string) (Account, bool, error)
}

// Door lets people in and out.
type Door struct {
	Accounts Accounts
	Sessions *Sessions
	Limiter  *Limiter
	TLS      bool // the server speaks TLS: the cookie is Secure and bound to the host

	// Demo lets the person be chosen without a password, only from this very
	// machine. DemoPerson is who an unsigned browser is.
	Demo       bool
	DemoPerson string
}

// SignIn checks name and password and, when they belong together, sets a
// fresh session cookie. Otherwise it returns a finding.Refusal: the same one
// for an unknown name and a wrong password, another with the seconds to wait.
func (d *Door) SignIn(w http.ResponseWriter, r *http.Request, name, password string) error {
	person, err := d.prove(w, r, name, password)
	if err != nil {
		return err
	}
	return d.begin(w, r, person)
}

// Vouch proves a second person at the same machine, for what needs two: it
// checks name and password under the same limits and opens no session. In the
// demo the name alone is enough.
func (d *Door) Vouch(w http.ResponseWriter, r *http.Request, name, password string) (person string, err error) {
	if !d.demoHere(r) {
		return d.prove(w, r, name, password)
	}
	account, ok, err := d.Accounts.AccountByName(r.Context(), name)
	if err != nil {
		return "", fmt.Errorf("access: account: %w", err)
	}
	if !ok {
		return "", finding.Refusal{Code: "sign-in-wrong"}
	}
	return account.ID, nil
}

// prove finds the person that name and password belong to.
func (d *Door) prove(w http.ResponseWriter, r *http.Request, name, password string) (person string, err error) {
	address := addressOf(r)
	if wait := d.Limiter.Begin(name, address); wait > 0 {
		seconds := strconv.Itoa(int((wait + time.Second - 1) / time.Second))
		w.Header().Set("Retry-After", seconds)
		return "", finding.Refusal{Code: "sign-in-wait", Values: finding.Values{{Name: "wait", Text: seconds}}}
	}
	account, ok, err := d.Accounts.AccountByName(r.Context(), name)
	if err != nil {
		return "", fmt.Errorf("access: account: %w", err)
	}
	if !ok || account.Hash == "" {
		MatchesNobody(password)
		return "", finding.Refusal{Code: "sign-in-wrong"}
	}
	if !Matches(account.Hash, password) {
		return "", finding.Refusal{Code: "sign-in-wrong"}
	}
	d.Limiter.Succeed(name, address)
	return account.ID, nil
}

// Switch changes the person of the demo. It is refused outside the demo and
// to any request that does not come from this machine.
func (d *Door) Switch(w http.ResponseWriter, r *http.Request, person string) error {
	if !d.demoHere(r) {
		return finding.Refusal{Code: "switch-only-in-demo"}
	}
	account, ok, err := d.Accounts.AccountByID(r.Context(), person)
	if err != nil {
		return fmt.Errorf("access: account: %w", err)
	}
	if !ok {
		return finding.Refusal{Code: "unknown-person"}
	}
	return d.begin(w, r, account.ID)
}

// SignOut ends the session of this browser and takes its cookie away.
func (d *Door) SignOut(w http.ResponseWriter, r *http.Request) error {
	token := d.token(r)
	http.SetCookie(w, d.cookie("", -1))
	if token == "" {
		return nil
	}
	return d.Sessions.End(r.Context(), token)
}

func (d *Door) begin(w http.ResponseWriter, r *http.Request, person string) error {
	token, err := d.Sessions.BeginAt(r.Context(), Session{Person: person, Device: deviceOf(r), Address: addressOf(r)}, d.token(r))
	if err != nil {
		return err
	}
	http.SetCookie(w, d.cookie(token, 0))
	return nil
}

// who finds the person behind a request, "" when nobody is signed in. A
// person deactivated since is nobody. locked says that the session is covered.
func (d *Door) who(r *http.Request) (person string, locked bool, err error) {
	found, ok, err := d.Sessions.Look(r.Context(), d.token(r))
	if err != nil {
		return "", false, err
	}
	person, locked = found.Person, found.Locked
	if !ok && d.demoHere(r) {
		person, locked, ok = d.DemoPerson, false, d.DemoPerson != ""
	}
	if !ok {
		return "", false, nil
	}
	if d.demoHere(r) { // nobody has a password there to unlock with
		locked = false
	}
	if _, ok, err = d.Accounts.AccountByID(r.Context(), person); err != nil || !ok {
		return "", false, err
	}
	return person, locked, nil
}

// forwarding are the headers by which a server in between says so.
var forwarding = []string{"Forwarded", "X-Forwarded-For", "X-Forwarded-Host", "X-Forwarded-Proto", "X-Real-Ip", "Via"}

// demoHere reports whether r may act without an account: only in the demo,
// only over a connection from this machine that nobody forwarded.
func (d *Door) demoHere(r *http.Request) bool {
	if !d.Demo {
		return false
	}
	for _, name := range forwarding {
		if r.Header.Get(name) != "" {
			return false
		}
	}
	a, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && a.Addr().Unmap().IsLoopback()
}

// CookieName is the session cookie's name. With TLS the prefix makes the
// browser refuse one set by another host, for a path or without TLS.
func (d *Door) CookieName() string {
	if d.TLS {
		return "__Host-linn"
	}
	return "linn"
}

func (d *Door) cookie(token string, maxAge int) *http.Cookie {
	return &http.Cookie{Name: d.CookieName(), Value: token, Path: "/", MaxAge: maxAge,
		HttpOnly: true, Secure: d.TLS, SameSite: http.SameSiteStrictMode}
}

// token is the presented session token. Two cookies of the name are a sign of
// one planted by another port or path of this host: neither is taken.
func (d *Door) token(r *http.Request) string {
	c := r.CookiesNamed(d.CookieName())
	if len(c) != 1 {
		return ""
	}
	return c[0].Value
}

// addressOf is the peer for the limits: its address, and for IPv6 the network
// /64 that one household or ward is given. Forwarding headers are not read:
// whoever guesses could write them.
func addressOf(r *http.Request) string {
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		return r.RemoteAddr
	}
	a, err := netip.ParseAddr(host)
	if err != nil {
		return host
	}
	a = a.Unmap().WithZone("")
	if a.Is6() && !a.IsLoopback() {
		if p, err := a.Prefix(64); err == nil {
			return p.String()
		}
	}
	return a.String()
}
