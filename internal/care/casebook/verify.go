package casebook

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"slices"

	"linn/eye"
)

// Report is what Verify found.
type Report struct {
	Chains, Revisions int

	// Broken holds the first broken link of every broken chain, in the order
	// of the record.
	Broken []Break

	// Stale names the rows of projections that are not what the chains give;
	// Rebuild mends them.
	Stale []Break

	// Newer names the first revision of every chain that a newer program
	// wrote; this program reads it in part and does not write to it.
	Newer []Break
}

// Sound reports whether every link holds and every projection agrees.
func (r Report) Sound() bool { return len(r.Broken) == 0 && len(r.Stale) == 0 }

// Break is a place where something does not hold.
type Break struct {
	Kind   Kind
	Chain  string
	Number int
	What   Fault
}

func (b Break) String() string {
	return fmt.Sprintf("%s %s revision %d: %s", b.Kind, b.Chain, b.Number, b.What)
}

// Fault is what does not hold.
type Fault string

// The faults.
const (
	FaultNumber   Fault = "number"   // a revision is missing before this one
	FaultPrevious Fault = "previous" // it does not follow the one before
	FaultHash     Fault = "hash"     // it was changed after it was written
	FaultGarbled  Fault = "garbled"  // its payload is not what its format promises
	FaultRemoved  Fault = "removed"  // the ward chain lists it and it is gone or another
	FaultUnlisted Fault = "unlisted" // the ward chain lists more or fewer chains than there were
	FaultEye      Fault = "eye"      // the case changed its patient or side
	FaultKey      Fault = "key"      // the patient's key is missing or was not destroyed
	FaultSeal     Fault = "seal"     // the sealed identity does not open
	FaultStale    Fault = "stale"    // the projection is not what the chain gives
	FaultNewer    Fault = "newer"    // format or section of a newer program

	FaultAttachment Fault = "attachment" // a file of the case is missing or was changed
)

// Verify walks every chain, names the first broken link of each, and compares
// the projections with what the chains give. progress, when not nil, is called
// now and then with the report so far. The error is the store's: a record that
// is broken gives a Report and no error.
func Verify(tx Tx, progress func(Report)) (Report, error) {
	v := verifier{tx: tx, chains: map[link]*walked{}, progress: progress}
	for r, err := range tx.Since(0) {
		if err != nil {
			return v.report, err
		}
		v.step(r)
		v.tell(v.report.Revisions)
	}
	v.report.Chains = len(v.chains)
	return v.report, v.projections()
}

// VerifyNewest walks the newest n revisions of the record: what a start can
// wait for. Each is held against the one before it in its chain; projections
// and keys are left to Verify.
func VerifyNewest(tx Tx, n int) (Report, error) {
	v := verifier{tx: tx, chains: map[link]*walked{}, newest: true}
	last, err := tx.Last()
	if errors.Is(err, ErrAbsent) {
		return v.report, nil
	}
	if err != nil {
		return v.report, err
	}
	for r, err := range tx.Since(last.Sequence - int64(n)) {
		if err != nil {
			return v.report, err
		}
		if err := v.before(r); err != nil {
			return v.report, err
		}
		v.step(r)
	}
	v.report.Chains = len(v.chains)
	return v.report, nil
}

// before reads the revision before r, when the walk begins behind it.
func (v *verifier) before(r Revision) error {
	at := link{r.Kind, r.Chain}
	if v.chains[at] != nil || r.Number == 1 {
		return nil
	}
	c := &walked{hash: Genesis(r.Kind, r.Chain)}
	for b, err := range v.tx.Chain(r.Kind, r.Chain) {
		if err != nil {
			return err
		}
		if b.Number >= r.Number {
			break
		}
		c.number, c.hash = b.Number, b.Hash
		if b.Number == 1 && b.Kind == KindCase {
			c.keepsEye(b)
		}
	}
	v.chains[at] = c
	return nil
}

// walked is how far a chain was followed.
type walked struct {
	number int
	hash   Digest
	broken bool
	newer  bool
	eye    caseEye // of a case's first revision
}

// caseEye is what stays the same through a case's chain.
type caseEye struct {
	Patient string   `json:"patient"`
	Side    eye.Side `json:"side"`
}

type verifier struct {
	tx     Tx
	chains map[link]*walked
	wards  int // chains that are ward chains: 0 or 1
	report Report
	newest bool // the walk begins in the middle of the record

	progress func(Report) // nil: nobody asks
}

// tellEach is how many revisions or rows lie between two tellings.
const tellEach = 200

// tell says how far the walk is, now and then.
func (v *verifier) tell(n int) {
	if v.progress != nil && n%tellEach == 0 {
		v.progress(v.report)
	}
}

func (v *verifier) step(r Revision) {
	v.report.Revisions++
	at := link{r.Kind, r.Chain}
	c := v.chains[at]
	if c == nil {
		c = &walked{hash: Genesis(r.Kind, r.Chain)}
		v.chains[at] = c
		if r.Kind == KindWard {
			v.wards++
		}
	}
	if fault := v.fault(c, r); fault != "" && !c.broken {
		c.broken = true
		v.report.Broken = append(v.report.Broken, Break{r.Kind, r.Chain, r.Number, fault})
	}
	c.number, c.hash = r.Number, r.Hash
}

// fault names what is wrong with r after c, "" when nothing is.
func (v *verifier) fault(c *walked, r Revision) Fault {
	switch {
	case r.Number != c.number+1:
		return FaultNumber
	case r.Prev != c.hash:
		return FaultPrevious
	case r.Hash != r.Sum():
		return FaultHash
	}
	if err := understood(r); newer(err) {
		if !c.newer {
			c.newer = true
			v.report.Newer = append(v.report.Newer, Break{r.Kind, r.Chain, r.Number, FaultNewer})
		}
		return ""
	} else if err != nil {
		return FaultGarbled
	}
	switch r.Kind {
	case KindCase:
		return c.keepsEye(r)
	case KindWard:
		if !v.newest {
			v.listed(r)
		}
	}
	return ""
}

func (c *walked) keepsEye(r Revision) Fault {
	var is caseEye // the whole of it was decoded before
	if err := json.Unmarshal(r.Payload, &is); err != nil {
		return FaultGarbled
	}
	if r.Number == 1 {
		c.eye = is
	}
	if is != c.eye {
		return FaultEye
	}
	return ""
}

// listed compares an entry of the ward chain with the chains as they stood
// when it was written.
func (v *verifier) listed(r Revision) {
	var w Ward
	if err := Decode(r, &w); err != nil {
		return // understood has said so
	}
	for _, h := range w.Heads {
		c := v.chains[link{h.Kind, h.Chain}]
		if c != nil && c.number == h.Number && c.hash == h.Hash {
			continue
		}
		if c == nil || !c.broken {
			v.report.Broken = append(v.report.Broken, Break{h.Kind, h.Chain, h.Number, FaultRemoved})
		}
		if c != nil {
			c.broken = true
		}
	}
	if w.Chains != len(v.chains)-v.wards {
		v.report.Broken = append(v.report.Broken, Break{r.Kind, r.Chain, r.Number, FaultUnlisted})
	}
}

// projections compares the stored rows and keys with what the heads give.
func (v *verifier) projections() error {
	patients, err := v.tx.Patients()
	if err != nil {
		return err
	}
	rows := map[string]PatientRow{}
	for _, p := range patients {
		rows[p.Patient] = p
	}
	cases, err := v.tx.Ward(WardQuery{})
	if err != nil && !errors.Is(err, ErrAbsent) {
		return err
	}
	ward := map[string]WardRow{}
	for _, w := range cases {
		w.Person = PatientRow{}
		ward[w.Case] = w
	}
	operated, err := v.operated()
	if err != nil {
		return err
	}
	for _, kind := range []Kind{KindPatient, KindCase} {
		if err := v.heads(kind, rows, ward, operated); err != nil {
			return err
		}
	}
	v.strays(rows, ward)
	slices.SortFunc(v.report.Stale, compareBreaks)
	return nil
}

// heads compares what the newest revisions of a kind give with the rows.
func (v *verifier) heads(kind Kind, rows map[string]PatientRow, ward map[string]WardRow, operated map[string]OperatedRow) error {
	n := 0
	for head, err := range v.tx.Heads(kind) {
		if err != nil {
			return err
		}
		n++
		v.tell(n)
		switch c := v.chains[link{kind, head.Chain}]; {
		case c == nil || c.broken || c.newer:
		case kind == KindPatient:
			v.patient(head, rows)
		default:
			v.stale(head, !sameRow(head, ward))
			if err := v.after(head, operated); err != nil {
				return err
			}
		}
	}
	return nil
}

func sameRow(head Revision, ward map[string]WardRow) bool {
	want, err := ProjectCase(head)
	got, ok := ward[head.Chain]
	return err == nil && ok && reflect.DeepEqual(want, got)
}

func (v *verifier) stale(head Revision, is bool) {
	if is {
		v.report.Stale = append(v.report.Stale, Break{head.Kind, head.Chain, head.Number, FaultStale})
	}
}

// patient checks the row, and that the key opens what it should.
func (v *verifier) patient(head Revision, rows map[string]PatientRow) {
	got := rows[head.Chain]
	key := got.Key
	got.Key = Key{}
	want, err := ProjectPatient(head)
	v.stale(head, err != nil || got != want)
	broken := func(f Fault) {
		v.report.Broken = append(v.report.Broken, Break{head.Kind, head.Chain, head.Number, f})
	}
	switch {
	case want.Erased != (key == Key{}):
		broken(FaultKey)
	case !want.Erased:
		if _, err := Unseal(want.Sealed, head.Chain, key); err != nil && !newer(err) {
			broken(FaultSeal)
		}
	}
}

// strays finds rows of projections that have no chain.
func (v *verifier) strays(rows map[string]PatientRow, ward map[string]WardRow) {
	for id := range rows {
		if v.chains[link{KindPatient, id}] == nil {
			v.report.Stale = append(v.report.Stale, Break{KindPatient, id, rows[id].Number, FaultStale})
		}
	}
	for id := range ward {
		if v.chains[link{KindCase, id}] == nil {
			v.report.Stale = append(v.report.Stale, Break{KindCase, id, ward[id].Number, FaultStale})
		}
	}
}

func compareBreaks(a, b Break) int {
	return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Chain, b.Chain))
}
