package access

import (
	"maps"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode"
)

// How many failed sign-ins are free before a wait begins, and the waits: our
// own choice. The pair of name and address is tight, the name alone loose, so
// that a stranger elsewhere on the network cannot lock a surgeon out by
// guessing badly; the address stops one machine from trying every name.
const (
	freePair    = 5
	freeName    = 25
	freeAddress = 30
	firstWait   = 15 * time.Second
	longestWait = 15 * time.Minute
	forgetAfter = time.Hour
	mostKeys    = 20000
)

// Limiter slows guessing down. The zero Limiter with a Clock is ready.
type Limiter struct {
	Clock Clock

	mu    sync.Mutex
	seen  map[string]attempts
	swept time.Time
}

type attempts struct {
	n    int
	last time.Time
}

// Begin counts one attempt at once, before the password is looked at, so that
// many guesses at the same moment count as many. It returns how long the
// person has to wait instead, 0 when the attempt may go on.
func (l *Limiter) Begin(name, address string) (wait time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	now := l.Clock()
	l.forget(now)
	for _, k := range keys(name, address) {
		a := l.seen[k.key]
		wait = max(wait, a.last.Add(delay(a.n-k.free)).Sub(now))
	}
	if wait > 0 {
		return wait
	}
	for _, k := range keys(name, address) {
		l.seen[k.key] = attempts{l.seen[k.key].n + 1, now}
	}
	return 0
}

// Succeed clears what was counted against the name from this address and
// takes the one attempt back from the name and the address.
func (l *Limiter) Succeed(name, address string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	k := keys(name, address)
	delete(l.seen, k[0].key)
	for _, k := range k[1:] {
		if a, ok := l.seen[k.key]; ok {
			a.n = max(a.n-1, 0)
			l.seen[k.key] = a
		}
	}
}

type limitKey struct {
	key  string
	free int
}

func keys(name, address string) [3]limitKey {
	name = spelling(name)
	if len(name) > 128 {
		name = name[:128]
	}
	return [3]limitKey{{"p" + name + "\x00" + address, freePair}, {"n" + name, freeName}, {"a" + address, freeAddress}}
}

// spelling makes one name of all that the Desk takes for the same: space does
// not matter there, nor do small and capital letters.
func spelling(name string) string {
	return strings.Map(func(r rune) rune {
		least := r
		for next := unicode.SimpleFold(r); next != r; next = unicode.SimpleFold(next) {
			least = min(least, next)
		}
		return least
	}, strings.Join(strings.Fields(name), " "))
}

// delay doubles from firstWait with every attempt beyond the free ones.
func delay(over int) time.Duration {
	if over < 0 {
		return 0
	}
	d := firstWait
	for range min(over, 10) {
		d *= 2
	}
	return min(d, longestWait)
}

// forget drops what is old, and the older half when strangers filled the
// table: memory stays bounded and the newest waits stand.
func (l *Limiter) forget(now time.Time) {
	if l.seen == nil {
		l.seen = map[string]attempts{}
	}
	if now.Sub(l.swept) < time.Minute && len(l.seen) <= mostKeys {
		return
	}
	l.swept = now
	maps.DeleteFunc(l.seen, func(_ string, a attempts) bool { return now.Sub(a.last) > forgetAfter })
	if len(l.seen) <= mostKeys {
		return
	}
	times := make([]time.Time, 0, len(l.seen))
	for _, a := range l.seen {
		times = append(times, a.last)
	}
	slices.SortFunc(times, time.Time.Compare)
	middle := times[len(times)/2]
	maps.DeleteFunc(l.seen, func(_ string, a attempts) bool { return a.last.Before(middle) })
}
