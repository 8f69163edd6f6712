package access

import (
	"context"
	"errors"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"linn/finding"
)

// A session that nobody touched is locked: found, and no longer signed in.
func TestQuietSessionIsLocked(t *testing.T) {
	s, _, clock := newSessions()
	token := begin(t, s, "p1", "")
	clock.advance(LockAfter)
	mustFind(t, s, token, "p1")
	clock.advance(LockAfter + time.Second)
	mustFind(t, s, token, "")
	found, ok, err := s.Look(context.Background(), token)
	if err != nil || !ok || !found.Locked || found.Person != "p1" {
		t.Errorf("%+v %v %v", found, ok, err)
	}
	clock.advance(IdleTimeout) // looking did not keep it alive
	if _, ok, _ := s.Look(context.Background(), token); ok {
		t.Error("a locked session without a short number outlives the idle time")
	}
}

func TestCheckPIN(t *testing.T) {
	for pin, want := range map[string]string{"": "pin-shape", "123": "pin-shape", "123456789": "pin-shape", "12a4": "pin-shape", "１２３４": "pin-shape",
		"1234": "pin-easy", "4321": "pin-easy", "0000": "pin-easy", "7351": "", "90210": "", "1212": ""} {
		got := ""
		if r := CheckPIN(pin); r != nil {
			got = r.Code
		}
		if got != want {
			t.Errorf("%q: %q, want %q", pin, got, want)
		}
	}
}

// oneAccount is one person with a password.
type oneAccount struct{ Account }

func (o oneAccount) AccountByName(_ context.Context, name string) (Account, bool, error) {
	return o.Account, name == o.Name, nil
}
func (o oneAccount) AccountByID(_ context.Context, id string) (Account, bool, error) {
	return o.Account, id == o.ID, nil
}

// pinned is a door with one signed-in browser and its short number.
func pinned(t *testing.T) (d *Door, clock *handClock, with func(secret string) error) {
	t.Helper()
	hash, err := Hash("three words here")
	if err != nil {
		t.Fatal(err)
	}
	clock = newClock()
	d = &Door{Accounts: oneAccount{Account{"p1", "Ama", hash}}, Limiter: &Limiter{Clock: clock.Now}, Sessions: &Sessions{Store: NewMemorySessions(), Clock: clock.Now}}
	r := httptest.NewRequest("POST", "/", nil)
	r.RemoteAddr = "192.0.2.7:4000"
	w := httptest.NewRecorder()
	if err := d.SignIn(w, r, "Ama", "three words here"); err != nil {
		t.Fatal(err)
	}
	r.AddCookie(w.Result().Cookies()[0])
	if err := d.SetPIN(w, r, "Ama", "three words here", "7351"); err != nil {
		t.Fatal(err)
	}
	return d, clock, func(secret string) error { return d.Unlock(httptest.NewRecorder(), r, secret) }
}

func codeOf(err error) string {
	var r finding.Refusal
	if errors.As(err, &r) {
		return r.Code
	}
	if err != nil {
		return err.Error()
	}
	return ""
}

// Three wrong short numbers, and only the password opens the session; the
// right number does not either.
func TestShortNumberHasFewTries(t *testing.T) {
	d, clock, with := pinned(t)
	clock.advance(LockAfter + time.Hour)
	if got := codeOf(with("7351")); got != "" {
		t.Errorf("the right number after an hour: %s", got)
	}
	clock.advance(LockAfter + time.Second)
	for n := range wrongPINs {
		if got := codeOf(with("7352")); got != "sign-in-wrong" {
			t.Errorf("try %d: %s", n, got)
		}
	}
	if got := codeOf(with("7351")); got != "pin-gone" {
		t.Errorf("the fourth try, right: %s", got)
	}
	if got := codeOf(with("three words here")); got != "" {
		t.Errorf("the password: %s", got)
	}
	if d.Sessions.Store.(*MemorySessions) == nil {
		t.Error("no store")
	}
}

// Many guesses at one moment count as many.
func TestShortNumberGuessedAtOnce(t *testing.T) {
	_, clock, with := pinned(t)
	clock.advance(LockAfter + time.Second)
	results := make(chan string, 12)
	for range cap(results) {
		go func() { results <- codeOf(with("7352")) }()
	}
	for range cap(results) {
		if got := <-results; got == "" {
			t.Error("a wrong number opened the session")
		}
	}
	if got := codeOf(with("7351")); got == "" {
		t.Error("after twelve guesses at once the number still opens the session")
	}
}

// The number opens this session alone: another browser of the same person, or
// no session at all, knows no number.
func TestShortNumberIsOfOneSession(t *testing.T) {
	d, _, _ := pinned(t)
	other := httptest.NewRequest("POST", "/", nil)
	other.RemoteAddr = "192.0.2.8:4000"
	if got := codeOf(d.Unlock(httptest.NewRecorder(), other, "7351")); got != "sign-in-wrong" {
		t.Errorf("without a session: %s", got)
	}
	w := httptest.NewRecorder()
	if err := d.SignIn(w, other, "Ama", "three words here"); err != nil {
		t.Fatal(err)
	}
	other.AddCookie(w.Result().Cookies()[0])
	if err := d.Lock(other); err != nil {
		t.Fatal(err)
	}
	if got := codeOf(d.Unlock(httptest.NewRecorder(), other, "7351")); got != "sign-in-wrong" {
		t.Errorf("in another browser: %s", got)
	}
	list, here, err := d.Own(other)
	if err != nil || len(list) != 2 || here == "" || list[0].ID() == list[1].ID() {
		t.Errorf("%v %q %v", list, here, err)
	}
	for _, s := range list {
		if err := d.EndOwn(other, s.ID()); err != nil {
			t.Fatal(err)
		}
	}
	if list, _, _ := d.Own(other); len(list) != 0 {
		t.Errorf("%d sessions are left", len(list))
	}
}

// A locked session is nobody's to the pages, and says whose it is.
func TestLockedSessionIsNotSignedIn(t *testing.T) {
	d, _, _ := pinned(t)
	r := httptest.NewRequest("POST", "/", nil)
	w := httptest.NewRecorder()
	if err := d.SignIn(w, r, "Ama", "three words here"); err != nil {
		t.Fatal(err)
	}
	r.AddCookie(w.Result().Cookies()[0])
	if err := d.Lock(r); err != nil {
		t.Fatal(err)
	}
	g := &Guard{Door: d, Hosts: []string{"example.com"}}
	g.Protect(http.HandlerFunc(func(_ http.ResponseWriter, r *http.Request) {
		if id, ok := Person(r.Context()); ok {
			t.Errorf("%s is signed in", id)
		}
		if id, ok := LockedPerson(r.Context()); !ok || id != "p1" {
			t.Errorf("locked: %q %v", id, ok)
		}
	})).ServeHTTP(httptest.NewRecorder(), r)
}

func TestDeviceOfPassesNothingOn(t *testing.T) {
	for said, want := range map[string]string{
		"Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0":                                   "Firefox Linux",
		"Mozilla/5.0 (Linux; Android 14) AppleWebKit/537.36 (KHTML, like Gecko) Chrome/140.0 Mobile Safari/537.36": "Chrome Android",
		"<script>alert(1)</script>\r\nX: y":                                                                        "", "": ""} {
		r := httptest.NewRequest("GET", "/", nil)
		r.Header.Set("User-Agent", said)
		if got := deviceOf(r); got != want || strings.ContainsAny(got, "<\r\n") {
			t.Errorf("%q: %q", said, got)
		}
	}
}
