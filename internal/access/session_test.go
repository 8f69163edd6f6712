package access

import (
	"context"
	"crypto/sha256"
	"strings"
	"testing"
	"time"
)

type handClock struct{ now time.Time }

func (c *handClock) Now() time.Time          { return c.now }
func (c *handClock) advance(d time.Duration) { c.now = c.now.Add(d) }

func newClock() *handClock { return &handClock{time.Date(2026, 3, 3, 4, 15, 0, 0, time.UTC)} }

func newSessions() (*Sessions, *MemorySessions, *handClock) {
	clock, store := newClock(), NewMemorySessions()
	return &Sessions{Store: store, Clock: clock.Now}, store, clock
}

func mustFind(t *testing.T, s *Sessions, token, want string) {
	t.Helper()
	got, ok, err := s.Find(context.Background(), token)
	if err != nil || ok != (want != "") || got != want {
		t.Errorf("Find = %q %v %v, want %q", got, ok, err, want)
	}
}

func begin(t *testing.T, s *Sessions, person, presented string) string {
	t.Helper()
	token, err := s.Begin(context.Background(), person, presented)
	if err != nil {
		t.Fatal(err)
	}
	return token
}

func TestTokenIsLongRandomAndNotStored(t *testing.T) {
	s, store, _ := newSessions()
	a, b := begin(t, s, "p1", ""), begin(t, s, "p1", "")
	if len(a) != 43 || a == b { // 256 bits in base64 without padding
		t.Errorf("tokens %q and %q", a, b)
	}
	for key := range store.all {
		if strings.Contains(string(key[:]), a) {
			t.Error("the token itself is stored")
		}
	}
	if _, ok := store.all[sha256.Sum256([]byte(a))]; !ok {
		t.Error("the stored key is not the hash of the token")
	}
	mustFind(t, s, a, "p1")
	mustFind(t, s, a+"x", "")
	mustFind(t, s, "", "")
}

func TestIdleAndAbsoluteTimeout(t *testing.T) {
	s, _, clock := newSessions()
	s.Lock = AbsoluteTimeout // its own test is TestQuietSessionIsLocked
	token := begin(t, s, "p1", "")
	clock.advance(IdleTimeout)
	mustFind(t, s, token, "p1")
	clock.advance(IdleTimeout + time.Second)
	mustFind(t, s, token, "")
	clock.advance(-IdleTimeout)
	mustFind(t, s, token, "") // it was dropped, not only hidden

	token = begin(t, s, "p1", "")
	for range int(AbsoluteTimeout / (20 * time.Minute)) { // never idle
		clock.advance(20 * time.Minute)
		mustFind(t, s, token, "p1")
	}
	clock.advance(time.Second)
	mustFind(t, s, token, "")
}

// The attack: a token planted in the victim's browser, known to the attacker,
// before the victim signs in.
func TestFixationPlantedTokenNeverBecomesSignedIn(t *testing.T) {
	s, _, _ := newSessions()
	planted := "planted-by-attacker"
	fresh := begin(t, s, "victim", planted)
	if fresh == planted {
		t.Fatal("sign-in kept the presented token")
	}
	mustFind(t, s, planted, "")

	own := begin(t, s, "attacker", "") // a real session of the attacker, planted
	fresh = begin(t, s, "victim", own)
	mustFind(t, s, own, "")
	mustFind(t, s, fresh, "victim")
}

func TestEndAllSignsOutEverywhere(t *testing.T) {
	s, _, _ := newSessions()
	a, b, c := begin(t, s, "p1", ""), begin(t, s, "p1", ""), begin(t, s, "p2", "")
	if err := s.EndAll(context.Background(), "p1"); err != nil {
		t.Fatal(err)
	}
	mustFind(t, s, a, "")
	mustFind(t, s, b, "")
	mustFind(t, s, c, "p2")
}

// endsMeanwhile ends the session between the look-up and the note of it.
type endsMeanwhile struct{ *MemorySessions }

func (e endsMeanwhile) Touch(ctx context.Context, key [sha256.Size]byte, at time.Time) error {
	if err := e.Drop(ctx, key); err != nil {
		return err
	}
	return e.MemorySessions.Touch(ctx, key, at)
}

func TestEndedSessionIsNotRevivedByARequestInFlight(t *testing.T) {
	clock := newClock()
	store := NewMemorySessions()
	s := &Sessions{Store: endsMeanwhile{store}, Clock: clock.Now}
	token := begin(t, s, "p1", "")
	clock.advance(10 * time.Minute)
	if _, _, err := s.Find(context.Background(), token); err != nil {
		t.Fatal(err)
	}
	mustFind(t, s, token, "")
}

func TestOldSessionsAreSwept(t *testing.T) {
	s, store, clock := newSessions()
	for range 10 {
		begin(t, s, "p1", "")
	}
	clock.advance(max(IdleTimeout, PINIdle) + time.Minute)
	begin(t, s, "p2", "")
	if len(store.all) != 1 {
		t.Errorf("%d sessions kept, want 1", len(store.all))
	}
}
