package pathway

import (
	"context"
	"errors"
	"strings"
	"time"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/unit"
)

// WardQuery chooses rows of the Ward; empty fields choose all that are not
// closed.
type WardQuery struct {
	State  casebook.State
	List   unit.Date
	Text   string // every word stands in name, identifier, side or lens
	Closed bool   // closed cases too
	Limit  int    // 0: WardLimit
}

// WardLimit is how many rows the Ward shows at most.
const WardLimit = 300

// erasedRows are read beyond the limit: an erased patient's eye takes no row.
const erasedRows = 100

// WardRow is one eye on the Ward.
type WardRow struct {
	Case, Patient string
	Who           casebook.Identity
	Age           unit.Reading[unit.Year] // on the list's day, or today
	Side          eye.Side
	State         casebook.State
	List          casebook.Listing // zero: on no list
	Model         string           // "" when no lens is chosen
	Power         unit.Reading[unit.Dioptre]
	PlanNumber    int // of the last signed plan
	Sheet         int
	Revision      int
	Changed       time.Time
	Progress      Progress

	// Missing is the one thing to do next, nil when the eye is ready.
	Missing *Missing
}

// Progress says which stages of an eye's way are complete.
type Progress struct{ Measured, Checked, Lens, Sheet bool }

// Missing is one open need, or the finding behind it.
type Missing struct {
	Need    string
	Finding *finding.Finding
}

// NeedSignature is what is missing when every need is met.
const NeedSignature = "signature"

// Ward lists the eyes to do by list day and place, those on no list last.
func (p *Pathway) Ward(ctx context.Context, by casebook.Actor, q WardQuery) (today unit.Date, list []WardRow, err error) {
	err = p.look(ctx, by, VerbWard, func(t *turn) error {
		today = t.today()
		t.touch(casebook.AccessRead, casebook.WardChain, "")
		limit := q.Limit
		if limit <= 0 {
			limit = WardLimit
		}
		ask := casebook.WardQuery{State: q.State, List: q.List, Open: !q.Closed && q.State == ""}
		if q.Text == "" {
			ask.Limit = limit + erasedRows
		}
		rows, err := t.tx.Ward(ask)
		if err != nil {
			return err
		}
		sequence, err := t.register.seen(t.tx)
		if err != nil {
			return err
		}
		for _, w := range rows {
			if len(list) == limit {
				break
			}
			if w.State == casebook.StateClosed && !q.Closed && q.State != casebook.StateClosed {
				continue
			}
			row, shown, err := t.wardRow(w, q.Text, sequence)
			if err != nil {
				return err
			}
			if shown {
				list = append(list, row)
			}
		}
		return nil
	})
	return today, list, err
}

// madeAnew stands for the sequence of a transaction that may have written: its
// rows are neither taken from memory nor remembered.
const madeAnew = -1

// wardRow fills one row; shown is false for an erased patient, whom nobody can
// name, and for a row the text does not fit. sequence is the record as the
// transaction sees it.
func (t *turn) wardRow(w casebook.WardRow, text string, sequence int64) (row WardRow, shown bool, err error) {
	row = WardRow{Case: w.Case, Patient: w.Person.Patient, Side: w.Side, State: w.State, List: w.List, Model: w.Model,
		Sheet: w.Sheet, Revision: w.Number, Changed: w.Changed.In(t.now.Location())}
	if row.Who, err = w.Person.Identity(); errors.Is(err, ErrErased) {
		return row, false, nil
	}
	if err != nil || !row.fits(text) {
		return row, false, err
	}
	if sequence == madeAnew {
		err := t.judgeRow(&row)
		return row, true, err
	}
	if made, ok := t.register.row(w.Case, t.today(), t.Off); ok {
		return made, true, nil
	}
	kin, err := t.tx.Kin(row.Patient)
	if err != nil {
		return row, false, err
	}
	if err := t.judgeRow(&row); err != nil {
		return row, false, err
	}
	t.register.keep(rowMade{row: row, kin: kin, sequence: sequence, day: t.today(), off: t.Off})
	return row, true, nil
}

// judgeRow plans the eye of a row and says what is to be done next.
func (t *turn) judgeRow(row *WardRow) error {
	c, err := t.load(row.Case, Newest)
	if err != nil {
		return err
	}
	s, err := t.gather(c)
	if err != nil {
		return err
	}
	s.glance = true
	m, err := t.made(&s)
	if err != nil {
		return err
	}
	if age, ok := row.Who.AgeOn(s.asOf); ok {
		row.Age = unit.Known(age)
	}
	if c.Chosen != nil {
		row.Model, row.Power = s.modelName(), unit.Known(c.Chosen.Power)
	}
	if c.Signed != nil {
		row.PlanNumber = c.Signed.PlanNumber
	}
	row.Progress, row.Missing, err = t.next(&s, &m)
	return err
}

func (w *WardRow) fits(text string) bool {
	all := strings.ToLower(strings.Join([]string{w.Who.Name, w.Who.Identifier, w.Side.Words(), w.Model}, " "))
	for _, word := range strings.Fields(strings.ToLower(text)) {
		if !strings.Contains(all, word) {
			return false
		}
	}
	return true
}

// next is how far the eye has come and what is to be done next.
func (t *turn) next(s *situation, m *made) (p Progress, missing *Missing, err error) {
	met := map[string]bool{}
	for _, n := range needs(s, m) {
		met[n.Code] = n.Met
		if !n.Met && missing == nil {
			missing = &Missing{Need: n.Code, Finding: t.behind(s, m, n.Code)}
		}
	}
	p = Progress{Measured: met[NeedMeasured] && met[NeedReadable] && met[NeedTwice], Checked: met[NeedMeasured] && met[NeedNoStop] && met[NeedGates],
		Lens: met[NeedLens] && met[NeedLensReason] && met[NeedTarget]}
	switch s.State() {
	case casebook.StateClosed:
		return p, nil, nil
	case casebook.StateSigned:
		why, err := t.reopensOf(s)
		p.Sheet, missing = len(why) == 0, nil
		if len(why) > 0 {
			missing = &Missing{Finding: &why[0]}
		}
		return p, missing, err
	}
	if missing == nil {
		missing = &Missing{Need: NeedSignature}
	}
	return p, missing, nil
}

// behind is the first finding that keeps a need open, nil for other needs.
func (t *turn) behind(s *situation, m *made, need string) *finding.Finding {
	for _, j := range t.judged(s, m) {
		if need == NeedNoStop && j.Severity == finding.Stop || need == NeedGates && j.open() {
			return &j.Finding
		}
	}
	return nil
}

// dateOf is noon of an exact day, in UTC: far from every midnight.
func dateOf(d unit.Date) time.Time {
	return time.Date(d.Year, time.Month(d.Month), d.Day, 12, 0, 0, 0, time.UTC)
}
