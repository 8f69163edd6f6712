package store

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"sync"
	"testing"
	"time"

	_ "modernc.org/sqlite" // the runner-up driver, "sqlite"

	"linn/eye"
	"linn/internal/care/casebook"
	"linn/unit"
)

// engine is one store under the suite. reopen closes the record and opens it
// again; it is nil for a store that forgets.
type engine struct {
	store  casebook.Store
	reopen func() casebook.Store
}

func openSQLite(t testing.TB, driver string, passphrase []byte) *engine {
	dir := t.TempDir()
	e := &engine{}
	open := func() casebook.Store {
		s, err := Open(t.Context(), dir, Options{driver: driver, Passphrase: passphrase, cost: 8})
		if err != nil {
			t.Fatal(err)
		}
		e.store = s
		return s
	}
	open()
	e.reopen = func() casebook.Store {
		if err := e.store.Close(); err != nil {
			t.Fatal(err)
		}
		return open()
	}
	t.Cleanup(func() {
		if err := e.store.Close(); err != nil {
			t.Error(err)
		}
	})
	return e
}

var engines = map[string]func(testing.TB) *engine{
	"sqlite":           func(t testing.TB) *engine { return openSQLite(t, ncruces, nil) },
	"sqlite encrypted": func(t testing.TB) *engine { return openSQLite(t, ncruces, []byte("correct horse")) },
	"sqlite runner-up": func(t testing.TB) *engine { return openSQLite(t, "sqlite", nil) },
	"memory":           func(testing.TB) *engine { return &engine{store: casebook.NewMemory()} },
}

var suite = map[string]func(*testing.T, *engine){
	"append and read":            suiteAppend,
	"conflict":                   suiteConflict,
	"refused revisions":          suiteRefused,
	"newer formats":              suiteNewer,
	"rolled back whole":          suiteRollback,
	"views are read-only":        suiteReadOnly,
	"keys":                       suiteKeys,
	"erasure":                    suiteErasure,
	"merge":                      suiteMerge,
	"access log":                 suiteAccess,
	"sheet numbers":              suiteSheets,
	"sheet numbers left out":     suiteSkip,
	"ward":                       suiteWard,
	"ward heads":                 suiteHeads,
	"many revisions":             suiteMany,
	"writers at once":            suiteWriters,
	"views see one state":        suiteSnapshot,
	"what is closed is kept":     suiteReopen,
	"rebuild":                    suiteRebuild,
	"order is not the clock's":   suiteClock,
	"text comes back as written": suiteText,
	"operated eyes":              suiteOperated,
	"attachments":                suiteAttachments,
}

// TestStores holds every store to the same behaviour.
func TestStores(t *testing.T) {
	for name, open := range engines {
		t.Run(name, func(t *testing.T) {
			for what, test := range suite {
				t.Run(what, func(t *testing.T) { test(t, open(t)) })
			}
		})
	}
}

// The fixtures: seeded chance, a clock that stands, invented people.

var theatre = time.FixedZone("+05:45", 5*3600+45*60)

func at(minute int) casebook.Stamp {
	t := time.Date(2026, 3, 4, 9, 0, 0, 0, theatre).Add(time.Duration(minute) * time.Minute)
	return casebook.Stamp{At: t.UTC(), Zone: "+05:45", Actor: "ann"}
}

func random(seed uint64) *rand.ChaCha8 {
	var s [32]byte
	s[0], s[1], s[2] = byte(seed), byte(seed>>8), byte(seed>>16)
	return rand.NewChaCha8(s)
}

func do(t testing.TB, s casebook.Store, fn func(casebook.Tx) error) {
	t.Helper()
	if err := s.Do(t.Context(), fn); err != nil {
		t.Fatal(err)
	}
}

func view(t testing.TB, s casebook.Store, fn func(casebook.Tx) error) {
	t.Helper()
	if err := s.View(t.Context(), fn); err != nil {
		t.Fatal(err)
	}
}

// admit opens a patient with one case of the right eye.
func admit(tx casebook.Tx, seed uint64) (patient, eyeCase string, err error) {
	chance, stamp := random(seed), at(int(seed))
	if patient, err = casebook.NewID(chance, stamp.At); err != nil {
		return "", "", err
	}
	if eyeCase, err = casebook.NewID(chance, stamp.At); err != nil {
		return "", "", err
	}
	key, err := casebook.NewKey(chance)
	if err != nil {
		return "", "", err
	}
	who := casebook.Identity{Name: fmt.Sprintf("Patient %d Example", seed), Identifier: fmt.Sprintf("H-%04d", seed),
		BirthDate: unit.Date{Year: 1950}, Allergies: casebook.Stated{Asked: true, Items: []string{"iodine"}}}
	sealed, err := casebook.Seal(who, patient, key, chance)
	if err != nil {
		return "", "", err
	}
	if _, err = casebook.NewPatient(tx, stamp, patient, key, sealed); err != nil {
		return "", "", err
	}
	_, err = casebook.Revise(tx, stamp, eyeCase, 0, casebook.Case{Patient: patient, Side: eye.Right, Verb: casebook.VerbOpen})
	return patient, eyeCase, err
}

func admitted(t testing.TB, s casebook.Store, seed uint64) (patient, eyeCase string) {
	t.Helper()
	do(t, s, func(tx casebook.Tx) (err error) {
		patient, eyeCase, err = admit(tx, seed)
		return err
	})
	return patient, eyeCase
}

// revise changes the newest state of a case and appends it.
func revise(tx casebook.Tx, id string, minute int, change func(*casebook.Case)) (casebook.Revision, error) {
	c, head, err := casebook.Load[casebook.Case](tx, id)
	if err != nil {
		return head, err
	}
	change(&c)
	return casebook.Revise(tx, at(minute), id, head.Number, c)
}

func set(c *casebook.Case, key, text string) {
	if refused := eye.FieldNamed(key).Set(&c.Eye, text); refused != nil {
		panic(refused)
	}
}

func verify(t testing.TB, s casebook.Store) casebook.Report {
	t.Helper()
	var report casebook.Report
	view(t, s, func(tx casebook.Tx) (err error) {
		report, err = casebook.Verify(tx, nil)
		return err
	})
	return report
}

func sound(t testing.TB, s casebook.Store) {
	t.Helper()
	if r := verify(t, s); !r.Sound() {
		t.Errorf("the record does not verify: %+v", r)
	}
}

func collect(t testing.TB, seq func(yield func(casebook.Revision, error) bool)) (list []casebook.Revision) {
	t.Helper()
	for r, err := range seq {
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, r)
	}
	return list
}

func suiteAppend(t *testing.T, e *engine) {
	patient, id := admitted(t, e.store, 1)
	var written casebook.Revision
	do(t, e.store, func(tx casebook.Tx) (err error) {
		written, err = revise(tx, id, 1, func(c *casebook.Case) { set(c, "axial_length_mm", "23,45") })
		return err
	})
	view(t, e.store, func(tx casebook.Tx) error {
		head, err := tx.Head(casebook.KindCase, id)
		if err != nil {
			return err
		}
		written.Sequence = head.Sequence
		if !reflect.DeepEqual(head, written) || head.Sequence != 3 {
			t.Errorf("head %+v, appended %+v", head, written)
		}
		chain := collect(t, tx.Chain(casebook.KindCase, id))
		if len(chain) != 2 || !reflect.DeepEqual(chain[1], head) || chain[0].Hash != head.Prev || chain[0].Number != 1 {
			t.Errorf("chain %+v", chain)
		}
		if last, err := tx.Last(); err != nil || !reflect.DeepEqual(last, head) {
			t.Errorf("last %+v, %v", last, err)
		}
		if since := collect(t, tx.Since(1)); len(since) != 2 || since[0].Chain != id || since[0].Sequence != 2 {
			t.Errorf("since %+v", since)
		}
		heads := collect(t, tx.Heads(casebook.KindPatient))
		if len(heads) != 1 || heads[0].Chain != patient {
			t.Errorf("heads %+v", heads)
		}
		for _, r := range chain {
			if r.Sum() != r.Hash {
				t.Errorf("revision %d comes back with another hash", r.Number)
			}
		}
		_, err = tx.Head(casebook.KindCase, "nobody")
		if !errors.Is(err, casebook.ErrAbsent) {
			t.Errorf("head of no chain: %v", err)
		}
		return nil
	})
	sound(t, e.store)
}

func suiteConflict(t *testing.T, e *engine) {
	_, id := admitted(t, e.store, 1)
	write := func(text string, seen int) error {
		return e.store.Do(t.Context(), func(tx casebook.Tx) error {
			c, _, err := casebook.Load[casebook.Case](tx, id)
			if err != nil {
				return err
			}
			set(&c, "axial_length_mm", text)
			_, err = casebook.Revise(tx, at(1), id, seen, c)
			return err
		})
	}
	if err := write("23.45", 1); err != nil {
		t.Fatal(err)
	}
	for _, seen := range []int{0, 1, 3} {
		err := write("23.54", seen)
		var conflict *casebook.ConflictError
		if !errors.As(err, &conflict) {
			t.Fatalf("written after %d: %v", seen, err)
		}
		if conflict.Theirs.Number != 2 || !bytes.Contains(conflict.Theirs.Payload, []byte("23.45")) || !bytes.Contains(conflict.Mine.Payload, []byte("23.54")) {
			t.Errorf("the loser sees %s and %s", conflict.Theirs.Payload, conflict.Mine.Payload)
		}
	}
	view(t, e.store, func(tx casebook.Tx) error {
		if chain := collect(t, tx.Chain(casebook.KindCase, id)); len(chain) != 2 {
			t.Errorf("%d revisions, want 2", len(chain))
		}
		return nil
	})
	sound(t, e.store)
}

func suiteRefused(t *testing.T, e *engine) {
	patient, id := admitted(t, e.store, 1)
	good := func(tx casebook.Tx) casebook.Revision {
		head, err := tx.Head(casebook.KindCase, id)
		if err != nil {
			t.Fatal(err)
		}
		r := head
		r.Number, r.Prev = 2, head.Hash
		return r
	}
	payload := func(text string) func(*casebook.Revision) {
		return func(r *casebook.Revision) { r.Payload = []byte(text) }
	}
	for name, spoil := range map[string]func(*casebook.Revision){
		"no actor":           func(r *casebook.Revision) { r.Actor = "" },
		"no instant":         func(r *casebook.Revision) { r.At = time.Time{} },
		"no zone":            func(r *casebook.Revision) { r.Zone = "" },
		"unknown kind":       func(r *casebook.Revision) { r.Kind = "visit" },
		"previous":           func(r *casebook.Revision) { r.Prev[0]++ },
		"not JSON":           payload("axial length 23.45"),
		"empty":              payload(""),
		"not UTF-8":          payload("{\"verb\":\"\xff\"}"),
		"text behind":        payload(`{"patient":"` + patient + `","side":"right","verb":"open","eye":{}} {}`),
		"another side":       payload(`{"patient":"` + patient + `","side":"left","verb":"open","eye":{}}`),
		"no side":            payload(`{"patient":"` + patient + `","side":"","verb":"open","eye":{}}`),
		"eye of other side":  payload(`{"patient":"` + patient + `","side":"right","verb":"open","eye":{"side":"left"}}`),
		"another patient":    payload(`{"patient":"somebody","side":"right","verb":"open","eye":{}}`),
		"reading outside":    payload(`{"patient":"` + patient + `","side":"right","verb":"open","eye":{"axial_length_mm":235}}`),
		"new case of nobody": func(r *casebook.Revision) { r.Chain, r.Number, r.Prev = "new", 1, casebook.Genesis("case", "new") },
		"too large":          payload(`{"reason":"` + string(bytes.Repeat([]byte{'a'}, 5<<20)) + `"}`),
	} {
		err := e.store.Do(t.Context(), func(tx casebook.Tx) error {
			r := good(tx)
			spoil(&r)
			if name == "new case of nobody" {
				r.Payload = []byte(`{"patient":"nobody","side":"right","verb":"open","eye":{}}`)
			}
			r.Hash = r.Sum()
			return tx.Append(r)
		})
		if err == nil {
			t.Errorf("%s was taken", name)
		}
	}
	err := e.store.Do(t.Context(), func(tx casebook.Tx) error {
		r := good(tx)
		r.Hash = r.Sum()
		r.Hash[5]++
		return tx.Append(r)
	})
	if err == nil {
		t.Error("a wrong hash was taken")
	}
	do(t, e.store, func(tx casebook.Tx) error { // and the unspoilt one is taken
		r := good(tx)
		r.Hash = r.Sum()
		return tx.Append(r)
	})
	sound(t, e.store)
}

func suiteNewer(t *testing.T, e *engine) {
	patient, id := admitted(t, e.store, 1)
	for name, r := range map[string]casebook.Revision{
		"format":  {Format: "linn.case/2", Payload: []byte(`{"all":"different"}`)},
		"section": {Format: "linn.case/1", Payload: []byte(`{"patient":"` + patient + `","side":"right","verb":"open","eye":{},"organ":1}`)},
	} {
		err := e.store.Do(t.Context(), func(tx casebook.Tx) error {
			head, err := tx.Head(casebook.KindCase, id)
			if err != nil {
				return err
			}
			r.Kind, r.Chain, r.Number, r.Prev = head.Kind, id, 2, head.Hash
			r.At, r.Zone, r.Actor = head.At, head.Zone, head.Actor
			r.Hash = r.Sum()
			return tx.Append(r)
		})
		var newer *casebook.FormatError
		if !errors.As(err, &newer) {
			t.Errorf("an unknown %s: %v", name, err)
		}
	}
	sound(t, e.store)
}

func suiteRollback(t *testing.T, e *engine) {
	patient, id := admitted(t, e.store, 1)
	before := verify(t, e.store)
	stop := errors.New("stop")
	everything := func(tx casebook.Tx) error {
		if _, err := revise(tx, id, 1, func(c *casebook.Case) { c.Reopened = "x" }); err != nil {
			return err
		}
		if _, _, err := admit(tx, 2); err != nil {
			return err
		}
		if err := casebook.ErasePatient(tx, at(2), "bo", patient, "order"); err != nil {
			return err
		}
		if _, err := tx.NextSheet(id); err != nil {
			return err
		}
		if err := tx.LogAccess(casebook.Access{At: at(1).At, Zone: "x", Actor: "ann", What: casebook.AccessRead, Patient: patient}); err != nil {
			return err
		}
		return tx.Rebuild()
	}
	err := e.store.Do(t.Context(), func(tx casebook.Tx) error {
		if err := everything(tx); err != nil {
			t.Error(err)
		}
		return stop
	})
	if !errors.Is(err, stop) {
		t.Errorf("Do gives %v", err)
	}
	func() {
		defer func() {
			if recover() == nil {
				t.Error("the panic did not come through")
			}
		}()
		_ = e.store.Do(t.Context(), func(tx casebook.Tx) error {
			if err := everything(tx); err != nil {
				t.Error(err)
			}
			panic("broken invariant")
		})
	}()
	ctx, cancel := context.WithCancel(t.Context())
	err = e.store.Do(ctx, func(tx casebook.Tx) error {
		err := everything(tx)
		cancel()
		return err
	})
	if err == nil {
		t.Error("a cancelled write was kept")
	}
	if after := verify(t, e.store); !reflect.DeepEqual(before, after) {
		t.Errorf("before %+v, after %+v", before, after)
	}
	do(t, e.store, func(tx casebook.Tx) error {
		if n, err := tx.NextSheet(id); err != nil || n != 1 {
			t.Errorf("first sheet %d, %v", n, err)
		}
		if list, err := tx.AccessLog(casebook.AccessQuery{}); err != nil || len(list) != 0 {
			t.Errorf("access log %v, %v", list, err)
		}
		_, err := casebook.Identify(tx, patient)
		return err
	})
}

func suiteReadOnly(t *testing.T, e *engine) {
	patient, id := admitted(t, e.store, 1)
	view(t, e.store, func(tx casebook.Tx) error {
		_, revised := revise(tx, id, 1, func(c *casebook.Case) {})
		_, sheet := tx.NextSheet(id)
		for name, err := range map[string]error{
			"append":  revised,
			"sheet":   sheet,
			"key":     tx.PutKey("x", casebook.Key{1}),
			"destroy": tx.DestroyKey(patient, at(1), "bo"),
			"log":     tx.LogAccess(casebook.Access{}),
			"rebuild": tx.Rebuild(),
		} {
			if !errors.Is(err, casebook.ErrReadOnly) {
				t.Errorf("%s in a view: %v", name, err)
			}
		}
		return nil
	})
}

func suiteKeys(t *testing.T, e *engine) {
	key := casebook.Key{1, 2, 3}
	do(t, e.store, func(tx casebook.Tx) error { return tx.PutKey("p", key) })
	view(t, e.store, func(tx casebook.Tx) error {
		got, err := tx.Key("p")
		if got != key {
			t.Errorf("another key came back")
		}
		if _, err := tx.Key("q"); !errors.Is(err, casebook.ErrAbsent) {
			t.Errorf("key of nobody: %v", err)
		}
		return err
	})
	refused := func(want error, fn func(casebook.Tx) error) {
		t.Helper()
		if err := e.store.Do(t.Context(), fn); err == nil || want != nil && !errors.Is(err, want) {
			t.Errorf("got %v, want %v", err, want)
		}
	}
	refused(casebook.ErrKeyTwice, func(tx casebook.Tx) error { return tx.PutKey("p", casebook.Key{9}) })
	refused(nil, func(tx casebook.Tx) error { return tx.PutKey("q", casebook.Key{}) })
	refused(casebook.ErrTwoPeople, func(tx casebook.Tx) error { return tx.DestroyKey("p", at(1), "ann") })
	refused(casebook.ErrTwoPeople, func(tx casebook.Tx) error { return tx.DestroyKey("p", at(1), "") })
	refused(casebook.ErrAbsent, func(tx casebook.Tx) error { return tx.DestroyKey("q", at(1), "bo") })
	do(t, e.store, func(tx casebook.Tx) error { return tx.DestroyKey("p", at(1), "bo") })
	refused(casebook.ErrErased, func(tx casebook.Tx) error { return tx.DestroyKey("p", at(1), "bo") })
	refused(casebook.ErrKeyTwice, func(tx casebook.Tx) error { return tx.PutKey("p", key) })
	refused(casebook.ErrErased, func(tx casebook.Tx) error { _, err := tx.Key("p"); return err })
}

func suiteErasure(t *testing.T, e *engine) {
	patient, _ := admitted(t, e.store, 1)
	admitted(t, e.store, 2)
	do(t, e.store, func(tx casebook.Tx) error {
		if _, err := casebook.Identify(tx, patient); err != nil {
			t.Error(err)
		}
		return casebook.ErasePatient(tx, at(1), "bo", patient, "court order")
	})
	view(t, e.store, func(tx casebook.Tx) error {
		if _, err := casebook.Identify(tx, patient); !errors.Is(err, casebook.ErrErased) {
			t.Errorf("identity of the erased: %v", err)
		}
		chain := collect(t, tx.Chain(casebook.KindPatient, patient))
		if len(chain) != 2 || chain[1].Actor != "ann" || !bytes.Contains(chain[1].Payload, []byte(`"second":"bo"`)) {
			t.Errorf("the erasure does not name two people: %s", chain[1].Payload)
		}
		rows, err := tx.Ward(casebook.WardQuery{Patient: patient})
		if len(rows) != 1 || !rows[0].Person.Erased {
			t.Errorf("ward %+v", rows)
		}
		return err
	})
	sound(t, e.store)
}

func suiteMerge(t *testing.T, e *engine) {
	one, oneCase := admitted(t, e.store, 1)
	two, _ := admitted(t, e.store, 2)
	three, _ := admitted(t, e.store, 3)
	do(t, e.store, func(tx casebook.Tx) error {
		if err := casebook.MergePatient(tx, at(1), "ann", one, two, "same person"); !errors.Is(err, casebook.ErrTwoPeople) {
			t.Errorf("merged alone: %v", err)
		}
		if err := casebook.MergePatient(tx, at(1), "bo", one, two, "same person"); err != nil {
			return err
		}
		if err := casebook.MergePatient(tx, at(2), "bo", two, three, "same person"); err != nil {
			return err
		}
		if err := casebook.MergePatient(tx, at(3), "bo", three, one, "same person"); err == nil {
			t.Error("a merge in a circle was taken")
		}
		return nil
	})
	view(t, e.store, func(tx casebook.Tx) error {
		if id, err := casebook.Resolve(tx, one); err != nil || id != three {
			t.Errorf("resolves to %s, %v", id, err)
		}
		rows, err := tx.Ward(casebook.WardQuery{Patient: one})
		if err != nil {
			return err
		}
		if len(rows) != 1 || rows[0].Case != oneCase || rows[0].Person.Patient != three {
			t.Fatalf("ward %+v", rows)
		}
		who, err := rows[0].Person.Identity()
		if who.Identifier != "H-0003" {
			t.Errorf("the case is shown under %s", who.Identifier)
		}
		return err
	})
	sound(t, e.store)
}

func suiteAccess(t *testing.T, e *engine) {
	line := func(patient, actor string, minute int) casebook.Access {
		return casebook.Access{At: at(minute).At, Zone: "+05:45", Actor: actor, What: casebook.AccessRead, Patient: patient, Detail: "eye"}
	}
	do(t, e.store, func(tx casebook.Tx) error {
		for i := range 10 {
			if err := tx.LogAccess(line([]string{"p", "q"}[i%2], []string{"ann", "bo", "cy"}[i%3], -i)); err != nil { // the clock runs backwards
				return err
			}
		}
		return nil
	})
	view(t, e.store, func(tx casebook.Tx) error {
		for name, c := range map[string]struct {
			q    casebook.AccessQuery
			want []int64
		}{
			"all":        {casebook.AccessQuery{}, []int64{10, 9, 8, 7, 6, 5, 4, 3, 2, 1}},
			"of patient": {casebook.AccessQuery{Patient: "p"}, []int64{9, 7, 5, 3, 1}},
			"by actor":   {casebook.AccessQuery{Actor: "bo"}, []int64{8, 5, 2}},
			"both":       {casebook.AccessQuery{Patient: "q", Actor: "bo"}, []int64{8, 2}},
			"next page":  {casebook.AccessQuery{Before: 7, Limit: 2}, []int64{6, 5}},
			"nobody":     {casebook.AccessQuery{Patient: "z"}, nil},
		} {
			list, err := tx.AccessLog(c.q)
			if err != nil {
				return err
			}
			var got []int64
			for _, a := range list {
				got = append(got, a.Number)
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("%s: %v, want %v", name, got, c.want)
			}
		}
		list, err := tx.AccessLog(casebook.AccessQuery{Limit: 1})
		want := line("q", "ann", -9)
		want.Number = 10
		if len(list) != 1 || !reflect.DeepEqual(list[0], want) {
			t.Errorf("%+v, want %+v", list, want)
		}
		return err
	})
	for name, spoil := range map[string]func(*casebook.Access){
		"no actor":     func(a *casebook.Access) { a.Actor = "" },
		"no patient":   func(a *casebook.Access) { a.Patient = "" },
		"no instant":   func(a *casebook.Access) { a.At = time.Time{} },
		"unknown what": func(a *casebook.Access) { a.What = "look" },
	} {
		a := line("p", "ann", 1)
		spoil(&a)
		if e.store.Do(t.Context(), func(tx casebook.Tx) error { return tx.LogAccess(a) }) == nil {
			t.Errorf("%s was taken", name)
		}
	}
}

func suiteSheets(t *testing.T, e *engine) {
	next := func(fail error) (n int) {
		err := e.store.Do(t.Context(), func(tx casebook.Tx) (err error) {
			if n, err = tx.NextSheet("c"); err != nil {
				t.Fatal(err)
			}
			return fail
		})
		if !errors.Is(err, fail) {
			t.Fatal(err)
		}
		return n
	}
	got := []int{next(nil), next(nil), next(errors.New("printer on fire")), next(nil)}
	if !slices.Equal(got, []int{1, 2, 3, 3}) {
		t.Errorf("sheets %v", got)
	}
	var mu sync.Mutex
	var group sync.WaitGroup
	given := map[int]bool{}
	for range 4 {
		group.Go(func() {
			for range 5 {
				n := next(nil)
				mu.Lock()
				if given[n] || n <= 3 {
					t.Errorf("sheet %d was given twice", n)
				}
				given[n] = true
				mu.Unlock()
			}
		})
	}
	group.Wait()
}

// suiteSkip: numbers that were left out are not handed out, and none that was
// handed out is left out.
func suiteSkip(t *testing.T, e *engine) {
	do(t, e.store, func(tx casebook.Tx) error {
		if err := tx.SkipSheets(40); err != nil {
			return err
		}
		if n, err := tx.NextSheet("C"); n != 41 || err != nil {
			t.Errorf("%d, %v", n, err)
		}
		for _, n := range []int{0, 40, 41} {
			if err := tx.SkipSheets(n); !errors.Is(err, casebook.ErrSheets) {
				t.Errorf("skipped to %d: %v", n, err)
			}
		}
		return nil
	})
	_ = e.store.Do(t.Context(), func(tx casebook.Tx) error { return errors.Join(tx.SkipSheets(90), errors.New("rolled back")) })
	do(t, e.store, func(tx casebook.Tx) error {
		if n, err := tx.NextSheet("C"); n != 42 || err != nil {
			t.Errorf("after a roll back %d, %v", n, err)
		}
		return nil
	})
	view(t, e.store, func(tx casebook.Tx) error {
		if err := tx.SkipSheets(99); !errors.Is(err, casebook.ErrReadOnly) {
			t.Error(err)
		}
		return nil
	})
}

func suiteWard(t *testing.T, e *engine) {
	var ids []string
	for i := range 4 {
		_, id := admitted(t, e.store, uint64(i))
		ids = append(ids, id)
	}
	day := func(d int) unit.Date { return unit.Date{Year: 2026, Month: 3, Day: d} }
	do(t, e.store, func(tx casebook.Tx) error {
		for i, change := range []func(*casebook.Case){
			func(c *casebook.Case) { c.Closed = "moved away" },
			func(c *casebook.Case) { c.List = &casebook.Listing{Date: day(9), Place: "Hall", Order: 2} },
			func(c *casebook.Case) {
				c.List = &casebook.Listing{Date: day(9), Place: "Hall", Order: 1}
				c.Chosen = &casebook.Chosen{Lens: "l", Model: "Tarn 2", Power: 21.5}
				c.Signed = &casebook.Signed{Plan: []byte(`{}`), By: "bo", At: at(3).At, Sheet: 7}
			},
			func(c *casebook.Case) { c.List = &casebook.Listing{Date: day(2)} },
		} {
			if _, err := revise(tx, ids[i], 5, change); err != nil {
				return err
			}
		}
		return nil
	})
	view(t, e.store, func(tx casebook.Tx) error {
		for name, c := range map[string]struct {
			q    casebook.WardQuery
			want []int
		}{
			"all":    {casebook.WardQuery{}, []int{3, 2, 1, 0}},
			"day":    {casebook.WardQuery{List: day(9)}, []int{2, 1}},
			"open":   {casebook.WardQuery{State: casebook.StateOpen}, []int{3, 1}},
			"signed": {casebook.WardQuery{State: casebook.StateSigned, List: day(9)}, []int{2}},
			"first":  {casebook.WardQuery{Limit: 1}, []int{3}},
			"nobody": {casebook.WardQuery{Patient: "z"}, nil},
		} {
			rows, err := tx.Ward(c.q)
			if err != nil {
				return err
			}
			var got []int
			for _, w := range rows {
				got = append(got, slices.Index(ids, w.Case))
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("%s: %v, want %v", name, got, c.want)
			}
		}
		rows, err := tx.Ward(casebook.WardQuery{State: casebook.StateSigned})
		if len(rows) != 1 {
			t.Fatal(rows)
		}
		w := rows[0]
		if w.Model != "Tarn 2" || w.Power != 21.5 || w.Sheet != 7 || w.Side != eye.Right || w.List.Place != "Hall" || w.List.Order != 1 || w.Number != 2 || !w.Changed.Equal(at(5).At) {
			t.Errorf("row %+v", w)
		}
		if who, err := w.Person.Identity(); err != nil || who.Name != "Patient 2 Example" || who.Allergies.Items[0] != "iodine" {
			t.Errorf("who %+v, %v", who, err)
		}
		return err
	})
	sound(t, e.store)
}

func suiteHeads(t *testing.T, e *engine) {
	_, id := admitted(t, e.store, 1)
	list := func() {
		do(t, e.store, func(tx casebook.Tx) error { return casebook.AppendWardHead(tx, at(1), "backup") })
	}
	entries := func() (list []casebook.Version[casebook.Ward]) {
		view(t, e.store, func(tx casebook.Tx) (err error) {
			list, err = casebook.History[casebook.Ward](tx, casebook.WardChain)
			return err
		})
		return list
	}
	list()
	list() // nothing has changed: no new entry
	if got := entries(); len(got) != 1 || got[0].State.Chains != 2 || len(got[0].State.Heads) != 2 {
		t.Fatalf("entries %+v", got)
	}
	admitted(t, e.store, 2)
	do(t, e.store, func(tx casebook.Tx) error {
		_, err := revise(tx, id, 1, func(*casebook.Case) {})
		return err
	})
	list()
	got := entries()
	if len(got) != 2 || got[1].State.Chains != 4 || len(got[1].State.Heads) != 3 {
		t.Fatalf("entries %+v", got)
	}
	sound(t, e.store)
}

func suiteMany(t *testing.T, e *engine) {
	_, id := admitted(t, e.store, 1)
	const n = 2*pageRows + 3 // more than two pages
	do(t, e.store, func(tx casebook.Tx) error {
		for i := range n - 1 {
			if _, err := revise(tx, id, i, func(c *casebook.Case) { c.Target = fmt.Sprint(i) }); err != nil {
				return err
			}
		}
		for i := range n {
			if _, err := casebook.Revise(tx, at(i), fmt.Sprintf("person-%d", i), 0, casebook.Person{Name: "x"}); err != nil {
				return err
			}
		}
		return nil
	})
	view(t, e.store, func(tx casebook.Tx) error {
		chain := collect(t, tx.Chain(casebook.KindCase, id))
		for i, r := range chain {
			if r.Number != i+1 {
				t.Fatalf("place %d holds revision %d", i, r.Number)
			}
		}
		heads := collect(t, tx.Heads(casebook.KindPerson))
		byChain := func(a, b casebook.Revision) int { return bytes.Compare([]byte(a.Chain), []byte(b.Chain)) }
		if len(chain) != n || len(heads) != n || !slices.IsSortedFunc(heads, byChain) {
			t.Errorf("%d revisions, %d heads, want %d sorted by chain", len(chain), len(heads), n)
		}
		if since := collect(t, tx.Since(0)); len(since) != 2*n+1 {
			t.Errorf("%d revisions in all", len(since))
		}
		for range tx.Since(0) {
			break // a walk may be left, and the transaction goes on
		}
		_, err := tx.Last()
		return err
	})
	sound(t, e.store)
}

func suiteWriters(t *testing.T, e *engine) {
	_, id := admitted(t, e.store, 1)
	var group sync.WaitGroup
	const writers, each = 4, 10
	for w := range writers {
		group.Go(func() {
			for i := range each {
				err := e.store.Do(t.Context(), func(tx casebook.Tx) error {
					_, err := revise(tx, id, i, func(c *casebook.Case) { c.Target = fmt.Sprint(w, i) })
					return err
				})
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	group.Wait()
	view(t, e.store, func(tx casebook.Tx) error {
		if n := len(collect(t, tx.Chain(casebook.KindCase, id))); n != writers*each+1 {
			t.Errorf("%d revisions", n)
		}
		return nil
	})
	sound(t, e.store)
}

func suiteSnapshot(t *testing.T, e *engine) {
	_, id := admitted(t, e.store, 1)
	written := make(chan error, 1)
	view(t, e.store, func(tx casebook.Tx) error {
		before, err := tx.Head(casebook.KindCase, id)
		if err != nil {
			return err
		}
		go func() {
			written <- e.store.Do(context.Background(), func(tx casebook.Tx) error {
				_, err := revise(tx, id, 1, func(c *casebook.Case) { c.Target = "new" })
				return err
			})
		}()
		select { // the memory store's writer waits for the view; the others' writers do not
		case err := <-written:
			written <- err
		case <-time.After(200 * time.Millisecond):
		}
		after, err := tx.Head(casebook.KindCase, id)
		if after.Number != before.Number {
			t.Error("the state changed under the view")
		}
		return err
	})
	if err := <-written; err != nil {
		t.Fatal(err)
	}
	sound(t, e.store)
}

func suiteReopen(t *testing.T, e *engine) {
	if e.reopen == nil {
		t.Log("the memory store forgets, by design")
		return
	}
	patient, id := admitted(t, e.store, 1)
	do(t, e.store, func(tx casebook.Tx) error {
		_, err := tx.NextSheet(id)
		return err
	})
	before := verify(t, e.store)
	s := e.reopen()
	if after := verify(t, s); !reflect.DeepEqual(before, after) {
		t.Errorf("before %+v, after %+v", before, after)
	}
	do(t, s, func(tx casebook.Tx) error {
		if n, err := tx.NextSheet(id); err != nil || n != 2 {
			t.Errorf("sheet %d, %v", n, err)
		}
		_, err := casebook.Identify(tx, patient)
		return err
	})
}

func suiteRebuild(t *testing.T, e *engine) {
	patient, id := admitted(t, e.store, 1)
	admitted(t, e.store, 2)
	rows := func() (rows []casebook.WardRow, patients []casebook.PatientRow) {
		view(t, e.store, func(tx casebook.Tx) (err error) {
			if rows, err = tx.Ward(casebook.WardQuery{}); err != nil {
				return err
			}
			patients, err = tx.Patients()
			return err
		})
		return rows, patients
	}
	do(t, e.store, func(tx casebook.Tx) error {
		_, err := revise(tx, id, 1, func(c *casebook.Case) {
			set(c, "k_flat_d", "43.5")
			c.List = &casebook.Listing{Date: unit.Date{Year: 2026}}
		})
		return err
	})
	ward, patients := rows()
	do(t, e.store, func(tx casebook.Tx) error { return tx.Rebuild() })
	wardAgain, patientsAgain := rows()
	if !reflect.DeepEqual(ward, wardAgain) || !reflect.DeepEqual(patients, patientsAgain) || len(patients) != 2 || patients[0].Patient == "" {
		t.Errorf("%+v\nrebuilt\n%+v", ward, wardAgain)
	}
	if !slices.ContainsFunc(patients, func(p casebook.PatientRow) bool { return p.Patient == patient }) {
		t.Error("a patient is missing")
	}
	sound(t, e.store)
}

func suiteClock(t *testing.T, e *engine) {
	_, id := admitted(t, e.store, 1)
	do(t, e.store, func(tx casebook.Tx) error {
		for i := range 3 { // the clock was set back twice
			if _, err := revise(tx, id, -1000*i, func(c *casebook.Case) { c.Target = fmt.Sprint(i) }); err != nil {
				return err
			}
		}
		return nil
	})
	view(t, e.store, func(tx casebook.Tx) error {
		c, _, err := casebook.Load[casebook.Case](tx, id)
		if c.Target != "2" {
			t.Errorf("the newest state is %q", c.Target)
		}
		last, behind, errLast := casebook.ClockBehind(tx, at(-5000).At)
		if errLast != nil || !behind || !last.Equal(at(-2000).At) {
			t.Errorf("last %v, behind %v, %v", last, behind, errLast)
		}
		if _, behind, _ := casebook.ClockBehind(tx, at(0).At); behind {
			t.Error("a right clock is called wrong")
		}
		return err
	})
	sound(t, e.store)
}

func suiteText(t *testing.T, e *engine) {
	_, id := admitted(t, e.store, 1)
	odd := []string{"नेत्र", "<b>&\"'\\", "?$1 ? --; DROP TABLE revision", "a\u2028b\tc\nd", "👁", "\u0000 is escaped"}
	for i, text := range odd {
		do(t, e.store, func(tx casebook.Tx) error {
			_, err := revise(tx, id, i, func(c *casebook.Case) {
				c.Reason = text
				c.Unread = map[string]string{"axial_length_mm": text}
			})
			return err
		})
		view(t, e.store, func(tx casebook.Tx) error {
			c, _, err := casebook.Load[casebook.Case](tx, id)
			if c.Reason != text || c.Unread["axial_length_mm"] != text {
				t.Errorf("%q came back as %q", text, c.Reason)
			}
			return err
		})
	}
	sound(t, e.store)
}
