package pathway

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/unit"
)

func (w *testWard) log(q LogQuery) []LogLine {
	w.t.Helper()
	list, err := w.AccessLog(w.ctx(), w.who["audra"], q)
	w.must(err)
	return list
}

// Every read of a patient and every change is in the log, with nothing in it
// that says who the patient is or what was measured.
func TestAccessLog(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		patient := w.patient("Mira Example", "H-0001")
		id := w.open(patient, eye.Right)
		last := func(what, verb, who, patient, caseID string) {
			t.Helper()
			l := w.log(LogQuery{Limit: 1})
			if len(l) != 1 || l[0].What != what || l[0].Detail != verb || l[0].Name != who || l[0].Patient != patient || l[0].Case != caseID {
				t.Errorf("%s by %s: last line %+v", verb, who, l)
			}
		}
		last("change", "open-case", "nora", patient, id)
		w.ready(id)
		last("change", "read-back", "nora", patient, id)
		w.check(id)
		last("read", "eye", "sam", patient, id)
		w.must(second(w.Sheet(w.ctx(), w.who["tina"], id)))
		last("print", "sheet", "tina", patient, id)
		w.must(second(w.FindPatient(w.ctx(), w.who["carl"], "H-0001")))
		last("read", "ward", "carl", patient, "")
		if _, _, err := w.Ward(w.ctx(), w.who["carl"], WardQuery{}); err != nil {
			t.Fatal(err)
		}
		last("read", "ward", "carl", casebook.WardChain, "")
		before := len(w.log(LogQuery{Limit: 1000}))
		if _, err := w.Check(w.ctx(), w.who["admin"], id); err == nil {
			t.Error("the administrator reads an eye")
		}
		if got := len(w.log(LogQuery{Limit: 1000})); got != before {
			t.Error("a forbidden look wrote a line")
		}
		for _, l := range w.log(LogQuery{Limit: 1000}) {
			if strings.Contains(fmt.Sprintf("%+v", l.Access), "Mira") || strings.Contains(l.Detail, "23.41") {
				t.Errorf("the log says too much: %+v", l)
			}
		}
		if l := w.log(LogQuery{Patient: patient, Actor: w.who["tina"].ID}); len(l) != 2 || l[0].Number <= l[1].Number {
			t.Errorf("by patient and person: %+v", l)
		}
	})
}

// A change to the Shelf, the Desk or the protocol is in the log as one to an
// eye is.
func TestEveryChangeOfTheWardIsLogged(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		logged := func(verb, who string, do func() error) {
			t.Helper()
			before := len(w.log(LogQuery{Limit: 1000}))
			w.must(do())
			l := w.log(LogQuery{Limit: 1000})
			if len(l) != before+1 || l[0].What != "change" || l[0].Detail != verb || l[0].Actor != w.who[who].ID || l[0].Patient == "" {
				t.Errorf("%s by %s: %d lines more, last %+v", verb, who, len(l)-before, l[0])
			}
		}
		ctx, lens := w.ctx(), ""
		logged("people", "admin", func() error {
			return second(w.AddPerson(ctx, w.who["admin"], NewPerson{Name: "New Nurse", Role: "nurse"}))
		})
		logged("people", "admin", func() error {
			return w.ChangePerson(ctx, w.who["admin"], PersonChange{ID: w.who["carl"].ID, Seen: Newest, Role: "nurse"})
		})
		logged("lens", "sam", func() (err error) {
			lens, err = w.AddLens(ctx, w.who["sam"], LensForm{Model: "Tarn 9", Numbers: map[string]string{"from_d": "10", "to_d": "30", "step_d": "0.5"},
				Constants: []ConstantForm{{Name: "a", Value: "119", Origin: "label"}}})
			return err
		})
		logged("stock", "tina", func() error { return w.Stock(ctx, w.who["tina"], lens, Newest, map[string]string{"20.5": "2"}) })
		logged("protocol", "admin", func() error {
			return w.SetProtocol(ctx, w.who["admin"], ProtocolForm{Seen: Newest, ReadingAgeDays: "90"})
		})
	})
}

// noLog is a store that cannot write its log.
type noLog struct{ casebook.Store }

type noLogTx struct{ casebook.Tx }

func (noLogTx) LogAccess(casebook.Access) error { return errors.New("disk full") }

func (s noLog) Do(ctx context.Context, fn func(casebook.Tx) error) error {
	return s.Store.Do(ctx, func(tx casebook.Tx) error { return fn(noLogTx{tx}) })
}

// What cannot be logged is not shown, and not done.
func TestNothingWithoutALogLine(t *testing.T) {
	w, id := newCase(t)
	w.Store = noLog{w.Store}
	if j, err := w.Check(w.ctx(), w.who["sam"], id); err == nil {
		t.Errorf("shown without a line: %+v", j.Who)
	}
	if _, err := w.Measure(w.ctx(), w.who["tina"], entry2(id, ordinary, nil, true)); err == nil {
		t.Error("changed without a line")
	}
	w.Store = w.Store.(noLog).Store
	if j := w.check(id); j.Revision != 1 {
		t.Error("the change was kept")
	}
}

func TestListHeadsAndClock(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		w.open(w.patient("Mira Example", "H-0001"), eye.Right)
		w.must(w.ListHeads(w.ctx(), "close"))
		w.must(w.ListHeads(w.ctx(), "close"))
		w.sound()
		if last, behind, err := w.ClockBehind(w.ctx()); err != nil || behind || last.IsZero() {
			t.Errorf("%v %v %v", last, behind, err)
		}
		w.now = w.now.Add(-time.Hour)
		if _, behind, err := w.ClockBehind(w.ctx()); err != nil || !behind {
			t.Errorf("behind %v %v", behind, err)
		}
		// Order is the record's: a clock that goes back changes nothing of it.
		id := w.open(w.patient("Ann Example", "H-0002"), eye.Left)
		if j := w.check(id); j.Revision != 1 {
			t.Error("a clock set back broke the record")
		}
		w.sound()
	})
	p := &Pathway{Store: casebook.NewMemory(), Clock: time.Now}
	if _, behind, err := p.ClockBehind(t.Context()); err != nil || behind {
		t.Errorf("an empty record: %v %v", behind, err)
	}
}

func TestVerifyUnattended(t *testing.T) {
	w, id := newCase(t)
	w.signed(id)
	v, err := w.VerifyUnattended(w.ctx(), func(int) {})
	if err != nil || !v.Sound() || v.Plans != 1 {
		t.Errorf("%+v %v", v, err)
	}
}

// walker does random things to a small ward and remembers every text that was
// typed into a field.
type walker struct {
	*testWard
	r     *rand.Rand
	cases []string
	typed []string
}

var randomTexts = []string{"23.41", "23,5", "28.9", "20.9", "235", "abc", "7.8", "43.25", "44", "", "1e3", "99999", "−3", "31", "optical", "2026-02-01", "૨૩"}

func (w *walker) text() string {
	s := randomTexts[w.r.IntN(len(randomTexts))]
	if s != "" && w.r.IntN(3) == 0 {
		s = fmt.Sprintf("%s%d", s, w.r.IntN(10)) // so that most texts are told apart
	}
	return s
}

func (w *walker) measurement() Measurement {
	m := Measurement{Case: w.cases[w.r.IntN(len(w.cases))], Seen: Newest, FellowSeen: Newest, Imported: w.r.IntN(4) == 0,
		Eyes: map[eye.Side]map[string]string{}}
	if w.r.IntN(8) == 0 {
		m.Seen = 1 + w.r.IntN(3)
	}
	keys := Measured()
	for _, side := range []eye.Side{eye.Right, eye.Left} {
		if w.r.IntN(3) == 0 {
			continue
		}
		m.Eyes[side] = map[string]string{}
		for range 1 + w.r.IntN(4) {
			key := keys[w.r.IntN(len(keys))]
			if w.r.IntN(2) == 0 {
				key = casebook.FieldsEnteredTwice()[w.r.IntN(3)]
			}
			m.Eyes[side][key] = w.text()
		}
	}
	return m
}

// kept notes the texts of a measurement that was taken; one that was not is
// given back to whoever typed it, with both versions or the reason.
func (w *walker) kept(m Measurement, err error, sides ...eye.Side) {
	w.t.Helper()
	var c *Conflict
	if _, is := answer(err); is || errors.As(err, &c) {
		return
	}
	w.must(err)
	for _, side := range sides {
		for _, text := range m.Eyes[side] {
			if text != "" {
				w.typed = append(w.typed, text)
			}
		}
	}
}

func (w *walker) side(id string) eye.Side { return w.check(id).Side }

func (w *walker) step() {
	w.now = w.now.Add(time.Duration(w.r.IntN(20)) * time.Minute)
	m := w.measurement()
	switch w.r.IntN(12) {
	case 0, 1, 2:
		w.kept(m, second(w.Measure(w.ctx(), w.who["tina"], m)), eye.Right, eye.Left)
	case 3:
		w.kept(m, second(w.SecondEntry(w.ctx(), w.who["tom"], m)), w.side(m.Case))
	case 4:
		w.kept(m, second(w.MeasureAgain(w.ctx(), w.who["tina"], m, "again")), w.side(m.Case))
	case 5:
		w.kept(m, second(w.Repeat(w.ctx(), w.who["tina"], m)), w.side(m.Case))
	case 6:
		w.kept(m, second(w.Correct(w.ctx(), w.who["sam"], m, "slip of the pen")), eye.Right, eye.Left)
	case 7:
		c := Choice{Case: m.Case, Seen: m.Seen, Lens: w.lens, Power: w.text(), Target: w.text()}
		if err := second(w.Choose(w.ctx(), w.who["sam"], c)); err == nil {
			if v, err := unit.ParseNumber(c.Power); err == nil && v >= 6 && v <= 30 { // a power that was taken is kept as the number it is
				c.Power = plain(v)
			}
			for _, text := range []string{c.Power, c.Target} {
				if text != "" {
					w.typed = append(w.typed, text)
				}
			}
		}
	case 8:
		to := w.cases[w.r.IntN(len(w.cases))]
		w.quiet(w.MoveReadings(w.ctx(), w.who["nora"], Moving{From: m.Case, To: to, FromSeen: Newest, ToSeen: Newest,
			Fields: []string{casebook.FieldsEnteredTwice()[w.r.IntN(3)]}, Reason: "wrong folder"}))
	case 9:
		w.quiet(second(w.List(w.ctx(), w.who["carl"], Listing{Case: m.Case, Seen: Newest, Date: "2026-03-05"})))
		w.quiet(second(w.ReadBack(w.ctx(), w.who["nora"], Reading{Case: m.Case, Seen: Newest, Read: ReadItems})))
	case 10:
		w.quiet(second(w.sign(m.Case, "sam")))
	case 11:
		w.whole(m.Case)
	}
}

// whole types a case clean and signs it; one that is signed is reopened.
func (w *walker) whole(id string) {
	w.quiet(second(w.Reopen(w.ctx(), w.who["sam"], id, Newest, "again")))
	clean := map[string]string{}
	for _, key := range Measured() {
		clean[key] = ordinary[key]
	}
	w.quiet(second(w.Measure(w.ctx(), w.who["tina"], entry2(id, clean, clean, true))))
	w.quiet(second(w.List(w.ctx(), w.who["carl"], Listing{Case: id, Seen: Newest, Date: "2026-03-05"})))
	w.quiet(second(w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: "21", Target: "0", Reason: "wish"})))
	w.quiet(second(w.ReadBack(w.ctx(), w.who["nora"], Reading{Case: id, Seen: Newest, Read: ReadItems})))
	w.quiet(second(w.Pass(w.ctx(), w.who["senior"], GatePass{Case: id, Seen: Newest, Code: "eyes-identical", Field: "axial_length_mm", Reason: "measured again"})))
	w.quiet(second(w.sign(id, "sam")))
}

// quiet lets refusals by and stops at anything else.
func (w *walker) quiet(err error) {
	w.t.Helper()
	var c *Conflict
	if _, is := answer(err); !is && !errors.As(err, &c) {
		w.must(err)
	}
}

// all is every payload of the record.
func (w *testWard) all() string {
	w.t.Helper()
	var b strings.Builder
	w.must(w.Store.View(w.ctx(), func(tx casebook.Tx) error {
		for r, err := range tx.Since(0) {
			if err != nil {
				return err
			}
			b.Write(r.Payload)
			b.WriteByte('\n')
		}
		return nil
	}))
	return b.String()
}

// Whatever people do in whatever order, nothing typed is lost and the record
// verifies.
func TestNothingTypedIsEverLost(t *testing.T) {
	runs, signed := 12, 0
	if testing.Short() {
		runs = 5
	}
	for seed := range uint64(runs) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			w := &walker{testWard: newWard(t, casebook.NewMemory(), nepal), r: rand.New(rand.NewPCG(seed, 3))}
			a, b := w.patient("Mira Example", "H-0001"), w.patient("Ann Example", "H-0002")
			w.cases = []string{w.open(a, eye.Right), w.open(b, eye.Left)}
			if seed%2 == 0 {
				w.cases = append(w.cases, w.open(a, eye.Left))
			}
			for range 30 {
				if w.step(); t.Failed() {
					return
				}
			}
			record := w.all()
			for _, text := range w.typed {
				if !strings.Contains(record, text) {
					t.Errorf("%q was typed, taken, and is nowhere", text)
				}
			}
			signed += w.sound().Plans
		})
	}
	if signed < runs {
		t.Errorf("only %d plans were signed on the way", signed)
	}
}

// A refused value takes part in no finding and no plan.
func TestRefusedValueTakesNoPart(t *testing.T) {
	w, id := newCase(t)
	w.measure(id, ordinary, other)
	plain, with := w.check(id), w.enter(id, "lens_thickness_mm", "99")
	if len(plain.Findings) != len(with.Findings) || finding.Worst(all(plain)) != finding.Worst(all(with)) || with.Plan.Input.Eye.LensThickness.Known {
		t.Errorf("findings %d and %d", len(plain.Findings), len(with.Findings))
	}
}

func all(j Journey) (list []finding.Finding) {
	for _, f := range j.Findings {
		list = append(list, f.Finding)
	}
	return list
}
