package access

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"slices"
	"sync"
	"time"
)

// Clock tells the time; tests hand in their own.
type Clock func() time.Time

// Session is one signed-in browser. Key is the SHA-256 of its token: whoever
// reads the sessions cannot use them.
type Session struct {
	Key      [sha256.Size]byte
	Person   string
	Began    time.Time
	LastSeen time.Time

	Device  string // what the browser says it is, shortened
	Address string // where it signed in from
	Locked  bool   // covered by its person; only Unlock opens it again

	// PIN is the encoded hash of the short number that unlocks this one
	// session, "" for none; Tries counts wrong ones.
	PIN   string
	Tries int
}

// SessionStore keeps sessions. Get answers false when there is none; Touch
// changes only a session that still exists, so that one ended meanwhile stays
// ended.
type SessionStore interface {
	Put(ctx context.Context, s Session) error
	Touch(ctx context.Context, key [sha256.Size]byte, lastSeen time.Time) error
	Get(ctx context.Context, key [sha256.Size]byte) (Session, bool, error)
	Drop(ctx context.Context, key [sha256.Size]byte) error
	DropPerson(ctx context.Context, person string) error

	// Of lists a person's sessions. Change edits a session that still exists,
	// as one step.
	Of(ctx context.Context, person string) ([]Session, error)
	Change(ctx context.Context, key [sha256.Size]byte, edit func(*Session)) error
	DropBefore(ctx context.Context, lastSeen time.Time) error
}

// The default life of a session, our own choice: a theatre list is longer
// than half an hour but somebody touches the machine between two patients; no
// shift is longer than twelve hours.
const (
	IdleTimeout     = 30 * time.Minute
	AbsoluteTimeout = 12 * time.Hour
)

// A session that nobody touched for LockAfter is locked; one that can be
// unlocked with a short number stays so, locked, for PINIdle: our own choice,
// from one theatre list with its breaks.
const (
	LockAfter = 10 * time.Minute
	PINIdle   = 4 * time.Hour
)

// Sessions begins, finds and ends sessions.
type Sessions struct {
	Store    SessionStore
	Clock    Clock
	Idle     time.Duration // 0: IdleTimeout
	Absolute time.Duration // 0: AbsoluteTimeout
	Lock     time.Duration // 0: LockAfter
}

// Begin signs person in under a fresh token and ends the session the browser
// presented before, if any: a token planted in a browser never becomes a
// signed-in one.
func (s *Sessions) Begin(ctx context.Context, person, presented string) (token string, err error) {
	return s.BeginAt(ctx, Session{Person: person}, presented)
}

// BeginAt is Begin for a session that knows its device and address.
func (s *Sessions) BeginAt(ctx context.Context, begun Session, presented string) (token string, err error) {
	if presented != "" {
		if err := s.End(ctx, presented); err != nil {
			return "", err
		}
	}
	var raw [32]byte
	if _, err := rand.Read(raw[:]); err != nil {
		return "", fmt.Errorf("access: session token: %w", err)
	}
	token = base64.RawURLEncoding.EncodeToString(raw[:])
	now := s.Clock()
	if err := s.Store.DropBefore(ctx, now.Add(-max(s.idle(), PINIdle))); err != nil {
		return "", fmt.Errorf("access: old sessions: %w", err)
	}
	begun.Key, begun.Began, begun.LastSeen = keyOf(token), now, now
	if err := s.Store.Put(ctx, begun); err != nil {
		return "", fmt.Errorf("access: new session: %w", err)
	}
	return token, nil
}

// Find returns the person behind token and notes that they were here. ok is
// false for an unknown, locked, idle or worn-out session.
func (s *Sessions) Find(ctx context.Context, token string) (person string, ok bool, err error) {
	found, ok, err := s.Look(ctx, token)
	if err != nil || !ok || found.Locked {
		return "", false, err
	}
	return found.Person, true, nil
}

// Look is Find for a session that may be locked: a locked one is found and is
// not touched.
func (s *Sessions) Look(ctx context.Context, token string) (found Session, ok bool, err error) {
	if token == "" {
		return found, false, nil
	}
	key := keyOf(token)
	found, ok, err = s.Store.Get(ctx, key)
	if err != nil || !ok {
		return found, false, err
	}
	now := s.Clock()
	quiet := now.Sub(found.LastSeen)
	idle := s.idle()
	if found.PIN != "" {
		idle = max(idle, PINIdle)
	}
	if quiet > idle || now.Sub(found.Began) > s.absolute() {
		return found, false, s.Store.Drop(ctx, key)
	}
	if !found.Locked && quiet > or(s.Lock, LockAfter) {
		found.Locked = true
		return found, true, s.Store.Change(ctx, key, func(at *Session) { at.Locked = true })
	}
	if !found.Locked && quiet >= s.idle()/60 { // not a write for every picture on a page
		err = s.Store.Touch(ctx, key, now)
	}
	return found, err == nil, err
}

// End signs the browser that holds token out.
func (s *Sessions) End(ctx context.Context, token string) error {
	if err := s.Store.Drop(ctx, keyOf(token)); err != nil {
		return fmt.Errorf("access: end session: %w", err)
	}
	return nil
}

// EndAll signs a person out everywhere: after a changed password, a changed
// role or a closed account.
func (s *Sessions) EndAll(ctx context.Context, person string) error {
	if err := s.Store.DropPerson(ctx, person); err != nil {
		return fmt.Errorf("access: end sessions: %w", err)
	}
	return nil
}

func (s *Sessions) idle() time.Duration     { return or(s.Idle, IdleTimeout) }
func (s *Sessions) absolute() time.Duration { return or(s.Absolute, AbsoluteTimeout) }

func or(d, def time.Duration) time.Duration {
	if d > 0 {
		return d
	}
	return def
}

func keyOf(token string) [sha256.Size]byte { return sha256.Sum256([]byte(token)) }

// MemorySessions keeps sessions until the program ends; a restart signs
// everybody out.
type MemorySessions struct {
	mu  sync.Mutex
	all map[[sha256.Size]byte]Session
}

// NewMemorySessions returns an empty store.
func NewMemorySessions() *MemorySessions {
	return &MemorySessions{all: map[[sha256.Size]byte]Session{}}
}

// Touch notes when a session was last seen.
func (m *MemorySessions) Touch(_ context.Context, key [sha256.Size]byte, lastSeen time.Time) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if s, ok := m.all[key]; ok {
		s.LastSeen = lastSeen
		m.all[key] = s
	}
	return nil
}

// Put keeps s, replacing the session of the same key.
func (m *MemorySessions) Put(_ context.Context, s Session) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.all[s.Key] = s
	return nil
}

// Get finds a session.
func (m *MemorySessions) Get(_ context.Context, key [sha256.Size]byte) (Session, bool, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	s, ok := m.all[key]
	return s, ok, nil
}

// Drop ends one session.
func (m *MemorySessions) Drop(_ context.Context, key [sha256.Size]byte) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	delete(m.all, key)
	return nil
}

// Of lists a person's sessions, the newest first.
func (m *MemorySessions) Of(_ context.Context, person string) (list []Session, _ error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	for _, s := range m.all {
		if s.Person == person {
			list = append(list, s)
		}
	}
	slices.SortFunc(list, func(a, b Session) int { return b.Began.Compare(a.Began) })
	return list, nil
}

// Change edits a session.
func (m *MemorySessions) Change(_ context.Context, key [sha256.Size]byte, edit func(*Session)) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if s, ok := m.all[key]; ok {
		edit(&s)
		m.all[key] = s
	}
	return nil
}

// DropPerson ends every session of a person.
func (m *MemorySessions) DropPerson(_ context.Context, person string) error {
	return m.drop(func(s Session) bool { return s.Person == person })
}

// DropBefore ends the sessions last seen before the instant.
func (m *MemorySessions) DropBefore(_ context.Context, lastSeen time.Time) error {
	return m.drop(func(s Session) bool { return s.LastSeen.Before(lastSeen) })
}

func (m *MemorySessions) drop(which func(Session) bool) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	for key, s := range m.all {
		if which(s) {
			delete(m.all, key)
		}
	}
	return nil
}
