package casebook

import (
	"cmp"
	"context"
	"iter"
	"maps"
	"slices"
	"sync"
)

// Memory is a Store that forgets everything when the program ends: for demos,
// single answers and tests.
type Memory struct {
	mu       sync.RWMutex
	chains   map[link][]Revision
	all      []Revision // in sequence order
	keys     map[string]Key
	erased   map[string]bool
	accesses []Access
	sheets   int
	cases    map[string]WardRow
	patients map[string]PatientRow
	operated map[string]OperatedRow
	boxes    map[Digest]box
}

// box is an attachment as kept.
type box struct {
	patient string
	sealed  []byte
}

// NewMemory makes an empty record.
func NewMemory() *Memory {
	return &Memory{chains: map[link][]Revision{}, keys: map[string]Key{}, erased: map[string]bool{},
		cases: map[string]WardRow{}, patients: map[string]PatientRow{},
		operated: map[string]OperatedRow{}, boxes: map[Digest]box{}}
}

// Do runs fn as one write.
func (m *Memory) Do(ctx context.Context, fn func(Tx) error) error {
	m.mu.Lock()
	defer m.mu.Unlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	tx := &memoryTx{m: m, write: true}
	kept := false
	defer func() {
		if !kept { // an error or a panic in fn
			tx.rollBack()
		}
	}()
	if err := fn(tx); err != nil {
		return err
	}
	if err := ctx.Err(); err != nil {
		return err
	}
	kept = true
	return nil
}

// View runs fn on the record as it stands.
func (m *Memory) View(ctx context.Context, fn func(Tx) error) error {
	m.mu.RLock()
	defer m.mu.RUnlock()
	if err := ctx.Err(); err != nil {
		return err
	}
	return fn(&memoryTx{m: m})
}

// Close does nothing.
func (m *Memory) Close() error { return nil }

// memoryTx writes at once and remembers how to take it back.
type memoryTx struct {
	m     *Memory
	write bool
	undo  []func()
}

func (t *memoryTx) rollBack() {
	for _, back := range slices.Backward(t.undo) {
		back()
	}
}

func (t *memoryTx) Append(r Revision) error {
	if !t.write {
		return ErrReadOnly
	}
	at := link{r.Kind, r.Chain}
	list := t.m.chains[at]
	var head Revision
	if len(list) > 0 {
		head = list[len(list)-1]
	}
	if err := CheckAppend(t, head, len(list) > 0, r); err != nil {
		return err
	}
	r.Payload, r.At = slices.Clone(r.Payload), r.At.UTC()
	r.Sequence = int64(len(t.m.all)) + 1
	if err := t.project(r); err != nil {
		return err
	}
	t.m.chains[at], t.m.all = append(list, r), append(t.m.all, r)
	t.undo = append(t.undo, func() {
		t.m.chains[at], t.m.all = list, t.m.all[:len(t.m.all)-1]
		if len(list) == 0 {
			delete(t.m.chains, at)
		}
	})
	return nil
}

func (t *memoryTx) project(r Revision) error {
	switch r.Kind {
	case KindCase:
		row, err := ProjectCase(r)
		if err != nil {
			return err
		}
		t.undo = append(t.undo, put(t.m.cases, r.Chain, row))
		done, is, err := ProjectOperated(r)
		if err != nil || !is {
			return err
		}
		t.undo = append(t.undo, put(t.m.operated, r.Chain, done))
	case KindPatient:
		row, err := ProjectPatient(r)
		if err != nil {
			return err
		}
		t.undo = append(t.undo, put(t.m.patients, r.Chain, row))
	}
	return nil
}

// put sets m[key] and returns how to take it back.
func put[K comparable, V any](m map[K]V, key K, value V) (back func()) {
	old, had := m[key]
	m[key] = value
	return func() {
		if had {
			m[key] = old
		} else {
			delete(m, key)
		}
	}
}

func (t *memoryTx) Head(kind Kind, chain string) (Revision, error) {
	list := t.m.chains[link{kind, chain}]
	if len(list) == 0 {
		return Revision{}, ErrAbsent
	}
	return clone(list[len(list)-1]), nil
}

// clone keeps the caller's hands off the stored payload.
func clone(r Revision) Revision {
	r.Payload = slices.Clone(r.Payload)
	return r
}

func (t *memoryTx) Chain(kind Kind, chain string) iter.Seq2[Revision, error] {
	return each(t.m.chains[link{kind, chain}])
}

func each(list []Revision) iter.Seq2[Revision, error] {
	return func(yield func(Revision, error) bool) {
		for _, r := range list {
			if !yield(clone(r), nil) {
				return
			}
		}
	}
}

func (t *memoryTx) Heads(kind Kind) iter.Seq2[Revision, error] {
	var heads []Revision
	for at, list := range t.m.chains {
		if at.kind == kind {
			heads = append(heads, list[len(list)-1])
		}
	}
	slices.SortFunc(heads, func(a, b Revision) int { return cmp.Compare(a.Chain, b.Chain) })
	return each(heads)
}

func (t *memoryTx) Since(sequence int64) iter.Seq2[Revision, error] {
	return each(t.m.all[min(max(sequence, 0), int64(len(t.m.all))):])
}

func (t *memoryTx) Last() (Revision, error) {
	if len(t.m.all) == 0 {
		return Revision{}, ErrAbsent
	}
	return clone(t.m.all[len(t.m.all)-1]), nil
}

func (t *memoryTx) PutKey(patient string, key Key) error {
	if !t.write {
		return ErrReadOnly
	}
	if _, twice := t.m.keys[patient]; twice || t.m.erased[patient] {
		return ErrKeyTwice
	}
	if err := CheckKey(patient, key); err != nil {
		return err
	}
	t.undo = append(t.undo, put(t.m.keys, patient, key))
	return nil
}

func (t *memoryTx) Key(patient string) (Key, error) {
	if t.m.erased[patient] {
		return Key{}, ErrErased
	}
	key, ok := t.m.keys[patient]
	if !ok {
		return Key{}, ErrAbsent
	}
	return key, nil
}

func (t *memoryTx) DestroyKey(patient string, stamp Stamp, second string) error {
	if !t.write {
		return ErrReadOnly
	}
	if err := CheckTwo(stamp, second); err != nil {
		return err
	}
	key, err := t.Key(patient)
	if err != nil {
		return err
	}
	delete(t.m.keys, patient)
	t.m.erased[patient] = true
	t.undo = append(t.undo, func() {
		t.m.keys[patient] = key
		delete(t.m.erased, patient)
	})
	return nil
}

func (t *memoryTx) LogAccess(a Access) error {
	if !t.write {
		return ErrReadOnly
	}
	if err := CheckAccess(a); err != nil {
		return err
	}
	a.At, a.Number = a.At.UTC(), int64(len(t.m.accesses))+1
	t.m.accesses = append(t.m.accesses, a)
	t.undo = append(t.undo, func() { t.m.accesses = t.m.accesses[:len(t.m.accesses)-1] })
	return nil
}

func (t *memoryTx) AccessLog(q AccessQuery) ([]Access, error) {
	var list []Access
	for _, a := range slices.Backward(t.m.accesses) {
		fits := (q.Patient == "" || q.Patient == a.Patient) && (q.Actor == "" || q.Actor == a.Actor) && (q.Before == 0 || a.Number < q.Before)
		if fits && len(list) < cmp.Or(q.Limit, AccessLimit) {
			list = append(list, a)
		}
	}
	return list, nil
}

func (t *memoryTx) NextSheet(caseID string) (int, error) {
	if !t.write {
		return 0, ErrReadOnly
	}
	t.m.sheets++
	t.undo = append(t.undo, func() { t.m.sheets-- })
	return t.m.sheets, nil
}

func (t *memoryTx) SkipSheets(through int) error {
	if !t.write {
		return ErrReadOnly
	}
	if through <= t.m.sheets {
		return ErrSheets
	}
	last := t.m.sheets
	t.m.sheets = through
	t.undo = append(t.undo, func() { t.m.sheets = last })
	return nil
}

func (t *memoryTx) Ward(q WardQuery) ([]WardRow, error) {
	var list []WardRow
	for _, w := range t.m.cases {
		if q.Fits(w) {
			w.Lacks = slices.Clone(w.Lacks)
			w.Person = t.patient(t.m.patients[w.Patient])
			list = append(list, w)
		}
	}
	slices.SortFunc(list, CompareRows)
	if q.Limit > 0 && len(list) > q.Limit {
		list = list[:q.Limit]
	}
	return list, FollowMerges(t, list)
}

func (t *memoryTx) patient(p PatientRow) PatientRow {
	p.Key = t.m.keys[p.Patient]
	return p
}

func (t *memoryTx) Patients() ([]PatientRow, error) {
	var list []PatientRow
	for _, id := range slices.Sorted(maps.Keys(t.m.patients)) {
		list = append(list, t.patient(t.m.patients[id]))
	}
	return list, nil
}

func (t *memoryTx) Kin(patient string) ([]string, error) {
	kin := map[string]bool{patient: true}
	for grown := true; grown; {
		grown = false
		for id, p := range t.m.patients {
			if kin[p.MergedInto] && !kin[id] {
				kin[id], grown = true, true
			}
		}
	}
	return slices.Sorted(maps.Keys(kin)), nil
}

func (t *memoryTx) Rebuild() error {
	if !t.write {
		return ErrReadOnly
	}
	cases, patients, operated := t.m.cases, t.m.patients, t.m.operated
	t.undo = append(t.undo, func() { t.m.cases, t.m.patients, t.m.operated = cases, patients, operated })
	t.m.cases, t.m.patients, t.m.operated = map[string]WardRow{}, map[string]PatientRow{}, map[string]OperatedRow{}
	for _, list := range t.m.chains {
		if err := t.project(list[len(list)-1]); err != nil {
			return err
		}
	}
	return nil
}
