package pathway

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/plan"
	"linn/source"
	"linn/unit"
)

// Journey is one eye's way as it stands.
type Journey struct {
	Case           string
	Revision       int
	FellowCase     string // "" when the fellow eye has none
	FellowRevision int
	SavedAt        time.Time // in the ward's zone
	SavedBy        string

	Patient string
	Who     casebook.Identity // zero when erased
	Erased  bool
	Age     unit.Reading[unit.Year] // on AsOf
	AsOf    unit.Date               // the list's day, or today

	Side  eye.Side
	State casebook.State
	List  casebook.Listing
	Eyes  map[eye.Side]Readings

	Queue    []Again
	Findings []Judged
	Plan     *plan.Plan       // as signed when the signature is in force, else as it would be now
	Refused  finding.Refusals // why there is no plan
	Chosen   *casebook.Chosen
	Care     Care // what is recorded beside the readings, and what follows

	Needs      []Need
	ReadBack   *Act
	Signed     *Act // the last signature, in force or not
	Supervisor string
	Lone       string    // why the signer had no second person
	LoneFrom   time.Time // from when a lone worker may sign
	PlanNumber int       // of the last signed plan, 0 before
	Sheet      int       // number of its sheet
	ListDate   unit.Date // the sheet is valid for
	Reopened   string    // why the signed plan was reopened
	Reopens    []finding.Finding
	Closed     string

	Chamber ChamberStage

	After     After // the operation as done, and the visits
	MovedFrom []casebook.Moved
	Masked    []casebook.Mask
	May       map[Verb]bool // what this person may do with the case as it stands
}

// Readings are one eye as read and as typed.
type Readings struct {
	Eye     eye.Eye
	Texts   map[string]string          // as typed, by contract key
	Refused map[string]finding.Refusal // what could not be read
	Details map[string]casebook.Detail
	Second  map[string]casebook.SecondEntry
}

// Again is a reading to be entered once more.
type Again struct {
	Field   string
	Why     string // AgainSecond, AgainDisagrees, or the code of a finding
	Text    string // the second entry, when it disagrees
	Refusal *finding.Refusal
}

// Why a reading is to be entered again, beside the codes of findings.
const (
	AgainSecond    = "second-entry"
	AgainDisagrees = "disagrees"
)

// Judged is a finding with what was done about it.
type Judged struct {
	finding.Finding
	Ref      source.Ref
	Limit    string // the rule's threshold in words and units
	Passed   *Act   // a supervisor let it pass
	Repeated bool   // the reading was measured again and agreed
	MayPass  bool
}

// Act is who did something, when and why.
type Act struct {
	ID, Name string
	At       time.Time // in the ward's zone
	Reason   string
}

// Check shows one eye's way as it stands: readings, what is doubtful about
// them, the plan, and what signing still needs.
func (p *Pathway) Check(ctx context.Context, by casebook.Actor, id string) (j Journey, err error) {
	err = p.look(ctx, by, VerbEye, func(t *turn) error {
		j, err = t.journey(id)
		if err == nil {
			t.touch(casebook.AccessRead, j.Patient, id)
		}
		return err
	})
	return j, err
}

// journey reads and judges one case.
func (t *turn) journey(id string) (Journey, error) {
	c, err := t.load(id, Newest)
	if err != nil {
		return Journey{}, err
	}
	s, err := t.gather(c)
	if err != nil {
		return Journey{}, err
	}
	m, err := t.made(&s)
	if err != nil {
		return Journey{}, err
	}
	j := t.told(&s)
	j.Plan, j.Refused = m.plan, m.refused
	if j.After, err = t.after(&s); err != nil {
		return j, err
	}
	if j.Care, err = t.cared(&s); err != nil {
		return j, err
	}
	j.Findings = t.judged(&s, &m)
	j.Queue = queue(&s, j.Findings)
	j.Needs = needs(&s, &m)
	if j.LoneFrom, err = t.loneFrom(&s); err != nil {
		return j, err
	}
	if s.State() == casebook.StateSigned {
		j.Reopens, err = t.reopensOf(&s)
	}
	if err != nil {
		return j, err
	}
	if j.Chamber, err = t.chamberStage(&s); err != nil {
		return j, err
	}
	j.May, err = t.may(&s)
	return j, err
}

// made is the plan in force: the signed one as it was signed, else a new one.
func (t *turn) made(s *situation) (made, error) {
	if st := s.State(); st != casebook.StateSigned && st != casebook.StateClosed || s.Signed == nil {
		return t.make(s)
	}
	p, err := signedPlan(s.Signed)
	return made{plan: p}, err
}

// signedPlan reads the plan of a signature.
func signedPlan(s *casebook.Signed) (*plan.Plan, error) {
	var p plan.Plan
	if err := json.Unmarshal(s.Plan, &p); err != nil {
		return nil, fmt.Errorf("pathway: signed plan: %w", err)
	}
	return &p, nil
}

// told is what the case says without any judgement.
func (t *turn) told(s *situation) Journey {
	j := Journey{Case: s.id, Revision: s.head.Number, FellowCase: s.fellow.Case, FellowRevision: s.fellow.Number,
		SavedAt: s.head.At.In(t.now.Location()), SavedBy: nameOf(t.tx, s.head.Actor),
		Patient: s.patient, Who: s.who, Erased: s.erased, AsOf: s.asOf, Side: s.Side, State: s.State(),
		Chosen: s.Chosen, Lone: s.LoneReason, Reopened: s.Reopened, Closed: s.Closed, MovedFrom: s.MovedFrom, Masked: s.Masked}
	if age, ok := s.who.AgeOn(s.asOf); ok {
		j.Age = unit.Known(age)
	}
	if s.List != nil {
		j.List = *s.List
	}
	e := s.eyeForPlan()
	j.Eyes = map[eye.Side]Readings{s.Side: readings(e, beneath(s.Unread, ""))}
	own := j.Eyes[s.Side]
	own.Details, own.Second, own.Eye.Fellow = s.Details, s.Second, nil
	j.Eyes[s.Side] = own
	f := s.beside
	s.person(&f, s.Side.Other())
	j.Eyes[s.Side.Other()] = readings(f, s.unread)
	if r := s.ReadBack; r != nil {
		j.ReadBack = t.act(r.By, r.At, "")
	}
	if g := s.Signed; g != nil {
		j.Signed, j.PlanNumber, j.Sheet, j.ListDate = t.act(g.By, g.At, ""), g.PlanNumber, g.Sheet, g.ListDate
		if g.Supervisor != "" {
			j.Supervisor = nameOf(t.tx, g.Supervisor)
		}
	}
	return j
}

func (t *turn) act(by string, at time.Time, reason string) *Act {
	return &Act{by, nameOf(t.tx, by), at.In(t.now.Location()), reason}
}

func readings(e eye.Eye, unread map[string]string) Readings {
	r := Readings{Eye: e, Texts: map[string]string{}, Refused: map[string]finding.Refusal{}}
	for i := range eye.Fields {
		if text := eye.Fields[i].Get(&e); text != "" {
			r.Texts[eye.Fields[i].Key] = text
		}
	}
	for key, text := range unread {
		r.Texts[key] = text
		if f := eye.FieldNamed(key); f != nil {
			if refused := f.Set(new(eye.Eye), text); refused != nil {
				r.Refused[key] = *refused
			}
		}
	}
	return r
}

// judged pairs the findings with what people did about them.
func (t *turn) judged(s *situation, m *made) []Judged {
	var list []Judged
	for _, f := range t.standing(s, m) {
		j := Judged{Finding: f}
		if r, ok := finding.RuleOf(f.Code); ok {
			j.Ref, j.Limit = r.Ref, r.Limit
		}
		if f.Gate {
			if p := passOf(s.Passes, f); p != nil {
				j.Passed = t.act(p.By, p.At, p.Reason)
			}
			j.Repeated = repeated(&s.Case, f)
			j.MayPass = t.by.Senior() && j.Passed == nil && (s.State() == casebook.StateOpen || s.State() == casebook.StateReopened)
		}
		list = append(list, j)
	}
	return list
}

// passOf finds the pass of a finding as it now stands: one with other numbers
// is another finding.
func passOf(passes []casebook.Pass, f finding.Finding) *casebook.Pass {
	for i := range passes {
		p := &passes[i]
		if p.Code == f.Code && p.Field == f.Field && sameValues(p.Values, f.Values) {
			return p
		}
	}
	return nil
}

func sameValues(passed map[string]string, now finding.Values) bool {
	if len(passed) != len(now) {
		return false
	}
	for _, v := range now {
		if text, ok := passed[v.Name]; !ok || text != v.Text {
			return false
		}
	}
	return true
}

func (j *Judged) open() bool { return j.Gate && j.Passed == nil && !j.Repeated }

// queue lists what is to be entered again: the second entries that lack or
// disagree, and the readings that an open gate doubts.
func queue(s *situation, judged []Judged) (list []Again) {
	for _, key := range casebook.FieldsEnteredTwice() {
		first := eye.FieldNamed(key).Get(&s.Eye)
		if first == "" || s.EnteredTwice(key) {
			continue
		}
		a := Again{Field: key, Why: AgainSecond}
		if second, typed := s.Second[key]; typed {
			a.Why, a.Text = AgainDisagrees, second.Text
			a.Refusal = eye.FieldNamed(key).Set(new(eye.Eye), second.Text)
		}
		list = append(list, a)
	}
	for i := range judged {
		if j := &judged[i]; j.open() {
			for _, key := range group(j.Field) {
				if eye.FieldNamed(key).Get(&s.Eye) != "" {
					list = append(list, Again{Field: key, Why: j.Code})
				}
			}
		}
	}
	return list
}

// corneal are the readings that make up K: a doubt about one is a doubt about
// both.
var corneal = []string{"k_flat_d", "k_steep_d"}

// group lists the readings that are measured together with a field, none when
// it is not one that can be measured again.
func group(field string) []string {
	switch {
	case slices.Contains(corneal, field):
		return corneal
	case slices.Contains(Measured(), field):
		return []string{field}
	}
	return nil
}

// How far a repeated reading may lie from the first and still confirm it: our
// own choice, a little over what the instruments repeat to.
var agree = map[string]float64{
	"axial_length_mm": repeatLimit("axial-length", 0.2, "mm"),
	"k_flat_d":        repeatLimit("k", 0.5, "D"),
	"k_steep_d":       repeatLimit("k", 0.5, "D"),
}

func repeatLimit(name string, v float64, u string) float64 {
	return source.Declare(source.Constant{Name: "pathway.repeat-" + name, Value: v, Unit: u,
		Ref: source.Ref{Key: source.OwnChoice, Where: "a repeat that confirms", Grade: source.Own}})
}

// repeated reports whether the reading a finding doubts was measured again
// and agreed with the one before: the value that stands is then confirmed.
func repeated(c *casebook.Case, f finding.Finding) bool {
	fields := group(f.Field)
	for _, key := range fields {
		now, err := unit.ParseNumber(eye.FieldNamed(key).Get(&c.Eye))
		if err != nil || !confirmed(c, key, now) {
			return false
		}
	}
	return len(fields) > 0
}

func confirmed(c *casebook.Case, key string, now float64) bool {
	for _, r := range c.Repeats {
		a, errA := unit.ParseNumber(r.Old)
		b, errB := unit.ParseNumber(r.New)
		if r.Field == key && errA == nil && errB == nil && within(a, b, agree[key]) && within(b, now, 0) {
			return true
		}
	}
	return false
}

func within(a, b, limit float64) bool { return a-b <= limit+1e-9 && b-a <= limit+1e-9 }

func sameNumber(a, b string) bool {
	x, errX := unit.ParseNumber(a)
	y, errY := unit.ParseNumber(b)
	return errX == nil && errY == nil && x == y
}

// askedAgain names the readings that an open gate wants measured again.
func (t *turn) askedAgain(c *caseAt) (map[string]bool, error) {
	s, err := t.gather(*c)
	if err != nil {
		return nil, err
	}
	m, err := t.make(&s)
	if err != nil {
		return nil, err
	}
	asked := map[string]bool{}
	for _, a := range queue(&s, t.judged(&s, &m)) {
		if a.Why != AgainSecond && a.Why != AgainDisagrees {
			asked[a.Field] = true
		}
	}
	return asked, nil
}

// GatePass lets one gated caution through.
type GatePass struct {
	Case        string
	Seen        int
	Code, Field string
	Reason      string
}

// Pass lets a gated caution through, by a supervisor with a reason. It holds
// while the finding says the same numbers. A stop has no override.
func (p *Pathway) Pass(ctx context.Context, by casebook.Actor, g GatePass) (j Journey, err error) {
	err = p.do(ctx, by, VerbPass, func(t *turn) error {
		if !t.by.Senior() {
			return refuse("needs-supervisor", "")
		}
		err := t.change(g.Case, g.Seen, casebook.VerbPass, line(g.Reason), func(c *caseAt) error {
			if err := t.writable(c); err != nil {
				return err
			}
			reason, err := t.reason(c.Patient, g.Reason)
			if err != nil {
				return err
			}
			f, err := t.gateOf(c, g)
			if err != nil {
				return err
			}
			values := map[string]string{}
			for _, v := range f.Values {
				values[v.Name] = v.Text
			}
			c.Passes = append(c.Passes, casebook.Pass{Code: f.Code, Field: f.Field, By: t.by.ID, At: t.stamp.At, Reason: reason, Values: values})
			return nil
		})
		if err != nil {
			return err
		}
		j, err = t.journey(g.Case)
		return err
	})
	return j, err
}

// gateOf finds the open gate that is to be passed.
func (t *turn) gateOf(c *caseAt, g GatePass) (finding.Finding, error) {
	s, err := t.gather(*c)
	if err != nil {
		return finding.Finding{}, err
	}
	m, err := t.make(&s)
	if err != nil {
		return finding.Finding{}, err
	}
	for _, j := range t.judged(&s, &m) {
		switch {
		case j.Code != g.Code || j.Field != g.Field:
		case j.Severity == finding.Stop:
			return j.Finding, refuse("stop-never-passed", j.Field)
		case j.Gate && j.Passed == nil:
			return j.Finding, nil
		}
	}
	return finding.Finding{}, refuse("no-such-gate", strings.TrimSpace(g.Field))
}

// may says what this person may do with the case as it stands.
func (t *turn) may(s *situation) (map[Verb]bool, error) {
	may := map[Verb]bool{}
	for _, v := range Verbs {
		may[v] = May(t.by.Role, v)
	}
	still := (s.State() == casebook.StateOpen || s.State() == casebook.StateReopened) && !s.erased
	for _, v := range []Verb{VerbMeasure, VerbPass, VerbChoose, VerbReadBack, VerbSign} {
		may[v] = may[v] && still
	}
	for _, v := range []Verb{VerbFindings, VerbDecide} {
		may[v] = may[v] && still
	}
	for _, v := range []Verb{VerbDrugs, VerbConsent} { // also on the day, after signing
		may[v] = may[v] && s.State() != casebook.StateClosed && !s.erased
	}
	may[VerbPass] = may[VerbPass] && t.by.Senior()
	may[VerbReopen] = may[VerbReopen] && s.State() == casebook.StateSigned
	may[VerbClose] = may[VerbClose] && s.State() != casebook.StateClosed
	may[VerbList] = may[VerbList] && s.State() != casebook.StateClosed && !s.erased
	may[VerbOperate] = may[VerbOperate] && !s.erased && (s.State() != casebook.StateClosed || s.Operated())
	for _, v := range []Verb{VerbFollowUp, VerbTrace} {
		may[v] = may[v] && s.Operated() && !s.erased
	}
	may[VerbAttach] = may[VerbAttach] && !s.erased
	own, err := t.chose(s.id, t.by.ID)
	may[VerbReadBack] = may[VerbReadBack] && !own
	return may, err
}
