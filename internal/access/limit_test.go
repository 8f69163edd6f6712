package access

import (
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"
)

func TestGuessingOneAccountWaitsLongerAndLonger(t *testing.T) {
	clock := newClock()
	l := &Limiter{Clock: clock.Now}
	for i := range freePair {
		if w := l.Begin("meera", "10.0.0.9"); w != 0 {
			t.Fatalf("attempt %d waits %v", i+1, w)
		}
	}
	want := firstWait
	for range 8 {
		if w := l.Begin("Meera ", "10.0.0.9"); w != min(want, longestWait) {
			t.Fatalf("wait %v, want %v", w, min(want, longestWait))
		}
		if w := l.Begin("meera", "10.0.0.9"); w != min(want, longestWait) {
			t.Fatal("asking again while waiting changed the wait")
		}
		clock.advance(min(want, longestWait))
		if w := l.Begin("meera", "10.0.0.9"); w != 0 {
			t.Fatalf("still waits %v after the wait", w)
		}
		want *= 2
	}
}

// In one night of ten hours a stranger gets no more than this many guesses at
// one name from one address; ten characters are far beyond it.
func TestGuessesInOneNight(t *testing.T) {
	clock := newClock()
	l := &Limiter{Clock: clock.Now}
	guesses := 0
	for end := clock.now.Add(10 * time.Hour); clock.now.Before(end); {
		if w := l.Begin("meera", "10.0.0.9"); w > 0 {
			clock.advance(w)
			continue
		}
		guesses++
	}
	if guesses > 60 {
		t.Errorf("%d guesses", guesses)
	}
}

func TestOneAddressTryingEveryName(t *testing.T) {
	l := &Limiter{Clock: newClock().Now}
	taken := 0
	for i := range 500 {
		if l.Begin(fmt.Sprintf("person%d", i), "10.0.0.9") == 0 {
			taken++
		}
	}
	if taken != freeAddress {
		t.Errorf("%d names tried, want %d", taken, freeAddress)
	}
}

func TestManyAddressesTryingOneName(t *testing.T) {
	l := &Limiter{Clock: newClock().Now}
	taken := 0
	for i := range 500 {
		if l.Begin("meera", fmt.Sprintf("10.0.%d.%d", i/250, i%250)) == 0 {
			taken++
		}
	}
	if taken != freeName {
		t.Errorf("%d guesses taken, want %d", taken, freeName)
	}
}

func TestStrangerElsewhereDoesNotLockTheSurgeonOut(t *testing.T) {
	l := &Limiter{Clock: newClock().Now}
	for range 50 {
		l.Begin("meera", "10.0.0.9")
	}
	if w := l.Begin("meera", "10.0.0.4"); w != 0 {
		t.Errorf("the surgeon at her own machine waits %v", w)
	}
}

func TestSuccessForgives(t *testing.T) {
	l := &Limiter{Clock: newClock().Now}
	for range 40 { // a person who signs in often never waits
		if w := l.Begin("meera", "10.0.0.4"); w != 0 {
			t.Fatalf("waits %v", w)
		}
		l.Succeed("meera", "10.0.0.4")
	}
}

// A success of the attacker's own account must not clear the address.
func TestOwnSuccessDoesNotBuyGuesses(t *testing.T) {
	l := &Limiter{Clock: newClock().Now}
	taken := 0
	for i := range 200 {
		if l.Begin("own", "10.0.0.9") == 0 {
			l.Succeed("own", "10.0.0.9")
		}
		if l.Begin(fmt.Sprintf("victim%d", i), "10.0.0.9") == 0 {
			taken++
		}
	}
	if taken > freeAddress {
		t.Errorf("%d guesses", taken)
	}
}

func TestGuessesAtTheSameMomentAreAllCounted(t *testing.T) {
	l := &Limiter{Clock: newClock().Now}
	var taken atomic.Int32
	var wg sync.WaitGroup
	for range 100 {
		wg.Go(func() {
			if l.Begin("meera", "10.0.0.9") == 0 {
				taken.Add(1)
			}
		})
	}
	wg.Wait()
	if taken.Load() != freePair {
		t.Errorf("%d taken at once, want %d", taken.Load(), freePair)
	}
}

func TestMemoryStaysBounded(t *testing.T) {
	clock := newClock()
	l := &Limiter{Clock: clock.Now}
	for range freePair + 1 {
		l.Begin("meera", "10.0.0.9")
	}
	for i := range mostKeys * 2 {
		if i%4 == 0 {
			clock.advance(time.Millisecond)
		}
		l.Begin(fmt.Sprint("n", i), fmt.Sprint("2001:db8:", i, "::/64"))
		if len(l.seen) > mostKeys+3 {
			t.Fatalf("%d keys", len(l.seen))
		}
	}
}

// Whatever the Desk takes for the same name is one name here too: spelling it
// another way buys no guesses.
func TestSpellingsOfOneNameAreOneName(t *testing.T) {
	clock := newClock()
	l := &Limiter{Clock: clock.Now}
	for i := range freePair {
		if wait := l.Begin("Kirsi"+strings.Repeat(" ", i+1)+"Moss", "10.0.0.9"); wait != 0 {
			t.Fatalf("waits %v at attempt %d", wait, i)
		}
	}
	for _, name := range []string{"Kirsi Moss", " kirsi\tmoss ", "KIRSI  MOSS", "kir\u017fi mo\u017fs", "\u212airsi Moss"} {
		if wait := l.Begin(name, "10.0.0.9"); wait == 0 {
			t.Errorf("%q goes on without waiting", name)
		}
	}
	if wait := l.Begin("Kirsimoss", "10.0.0.9"); wait != 0 {
		t.Errorf("another name waits %v", wait)
	}
}
