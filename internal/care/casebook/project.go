package casebook

import (
	"cmp"
	"errors"
	"slices"
	"time"

	"linn/eye"
	"linn/unit"
)

// State is where a case stands on the Ward.
type State string

// The states of a case.
const (
	StateOpen     State = "open"
	StateSigned   State = "signed"
	StateReopened State = "reopened" // signed once, and no longer valid
	StateClosed   State = "closed"
)

// State tells where the case stands.
func (c Case) State() State {
	switch {
	case c.Closed != "":
		return StateClosed
	case c.Reopened != "":
		return StateReopened
	case c.Signed != nil:
		return StateSigned
	}
	return StateOpen
}

// WardRow is one eye case on the Ward: a projection of its newest revision,
// with the sealed identity of its patient.
type WardRow struct {
	Case    string
	Patient string // as the case was opened
	Side    eye.Side
	State   State
	List    Listing // zero when on no list
	Model   string  // of the chosen lens; "" when none is chosen
	Power   unit.Dioptre
	Sheet   int      // number of the signed plan's sheet, 0 when not printed
	Lacks   []string // see Case.Lacks
	Number  int      // of the newest revision
	Changed time.Time
	Person  PatientRow // who the patient is now, merges followed
}

// PatientRow is one patient: a projection of the newest revision, with the key.
type PatientRow struct {
	Patient    string
	Sealed     string
	MergedInto string
	Erased     bool
	Number     int // of the newest revision
	Key        Key // zero when erased
}

// Identity opens the sealed identity; ErrErased when the key was destroyed.
func (p PatientRow) Identity() (Identity, error) {
	if p.Erased || p.Key == (Key{}) {
		return Identity{}, ErrErased
	}
	return Unseal(p.Sealed, p.Patient, p.Key)
}

// WardQuery chooses rows of the Ward; empty fields choose all.
type WardQuery struct {
	Patient string // as the case was opened
	State   State
	List    unit.Date
	Open    bool // only those that are not closed
	Limit   int  // 0: all
}

// Fits reports whether the row is chosen by q, the limit apart.
func (q WardQuery) Fits(w WardRow) bool {
	return !(q.Open && w.State == StateClosed) && (q.Patient == "" || q.Patient == w.Patient) && (q.State == "" || q.State == w.State) &&
		(!q.List.Known() || q.List == w.List.Date)
}

// CompareRows is the order of the Ward: list date (cases on no list last),
// place on the list, identifier.
func CompareRows(a, b WardRow) int {
	x, y := a.List.Date, b.List.Date
	if x.Known() != y.Known() {
		return cmp.Compare(y.Year, x.Year) // the one that is not known has year 0
	}
	if x != y {
		return cmp.Or(cmp.Compare(x.Year, y.Year), cmp.Compare(x.Month, y.Month), cmp.Compare(x.Day, y.Day))
	}
	if a.List.Order != b.List.Order {
		return cmp.Compare(a.List.Order, b.List.Order)
	}
	return cmp.Compare(a.Case, b.Case)
}

// ProjectCase derives the Ward's row from a revision of a case. A section of a
// newer program is passed over.
func ProjectCase(r Revision) (WardRow, error) {
	var c Case
	if err := Decode(r, &c); err != nil && !newer(err) {
		return WardRow{}, err
	}
	w := WardRow{Case: r.Chain, Patient: c.Patient, Side: c.Side, State: c.State(), Lacks: c.Lacks(), Number: r.Number, Changed: r.At.UTC()}
	if c.List != nil {
		w.List = *c.List
	}
	if c.Chosen != nil {
		w.Model, w.Power = c.Chosen.Model, c.Chosen.Power
	}
	if c.Signed != nil {
		w.Sheet = c.Signed.Sheet
	}
	return w, nil
}

// ProjectPatient derives the patient's row from a revision; the key is not in
// it. A section of a newer program is passed over.
func ProjectPatient(r Revision) (PatientRow, error) {
	var p Patient
	if err := Decode(r, &p); err != nil && !newer(err) {
		return PatientRow{}, err
	}
	return PatientRow{Patient: r.Chain, Sealed: p.Sealed, MergedInto: p.MergedInto, Erased: p.Erased, Number: r.Number}, nil
}

func newer(err error) bool {
	var f *FormatError
	return errors.As(err, &f)
}

// FollowMerges puts into each row the patient that its patient turned out to
// be. Every store's Ward ends with it.
func FollowMerges(tx Tx, rows []WardRow) error {
	for i := range rows {
		w := &rows[i].Person
		if w.MergedInto == "" {
			continue
		}
		into, err := Resolve(tx, w.Patient)
		if err != nil {
			return err
		}
		r, err := tx.Head(KindPatient, into)
		if err != nil {
			return err
		}
		if *w, err = ProjectPatient(r); err != nil {
			return err
		}
		if w.Key, err = tx.Key(into); err != nil && !errors.Is(err, ErrErased) {
			return err
		}
	}
	return nil
}

// entered are the readings that are entered twice.
var entered = []string{"axial_length_mm", "k_flat_d", "k_steep_d"}

// What a case can lack besides the key of a reading.
const (
	LacksUnread    = "unread" // text that no rule could take
	LacksSecond    = "second-entry"
	LacksTarget    = "target_d"
	LacksLens      = "lens"
	LacksList      = "list"
	LacksReadBack  = "read-back"
	LacksSignature = "signature"
)

// Lacks names, in patient order, what the record of the case still lacks
// before it can be operated. It knows what was entered, not whether it is
// right: findings are the pathway's.
func (c Case) Lacks() []string {
	var list []string
	lacks := func(missing bool, what string) {
		if missing {
			list = append(list, what)
		}
	}
	twice := true
	for _, key := range entered {
		lacks(eye.FieldNamed(key).Get(&c.Eye) == "", key)
		twice = twice && c.EnteredTwice(key)
	}
	lacks(len(c.Unread) > 0, LacksUnread)
	lacks(!twice, LacksSecond)
	lacks(!c.Eye.Target.Known, LacksTarget)
	lacks(c.Chosen == nil, LacksLens)
	lacks(c.List == nil, LacksList)
	lacks(c.ReadBack == nil && c.LoneReason == "", LacksReadBack)
	lacks(c.State() != StateSigned && c.State() != StateClosed, LacksSignature)
	return list
}

// EnteredTwice reports whether the reading was imported, or typed twice with
// the same number.
func (c Case) EnteredTwice(field string) bool {
	f := eye.FieldNamed(field)
	second, ok := c.Second[field]
	if f == nil || !ok {
		return false
	}
	first := f.Get(&c.Eye)
	if first == "" || second.Imported {
		return first != ""
	}
	a, errA := unit.ParseNumber(first)
	b, errB := unit.ParseNumber(second.Text)
	return errA == nil && errB == nil && a == b
}

// FieldsEnteredTwice lists the keys of the readings that are entered twice.
func FieldsEnteredTwice() []string { return slices.Clone(entered) }
