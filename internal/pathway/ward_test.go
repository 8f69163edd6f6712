package pathway

import (
	"context"
	"errors"
	"io"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/store"
	"linn/unit"
)

// The zones of two invented wards, with the offsets that trip civil dates.
var (
	nepal        = time.FixedZone("+05:45", 5*3600+45*60)
	newfoundland = time.FixedZone("-03:30", -(3*3600 + 30*60))
)

// engines are the stores every path is walked on.
var engines = map[string]func(testing.TB) casebook.Store{
	"memory": func(testing.TB) casebook.Store { return casebook.NewMemory() },
	"sqlite": func(t testing.TB) casebook.Store {
		s, err := store.Open(t.Context(), t.TempDir(), store.Options{})
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() {
			if err := s.Close(); err != nil {
				t.Error(err)
			}
		})
		return s
	},
}

func onEach(t *testing.T, test func(t *testing.T, w *testWard)) {
	for name, open := range engines {
		t.Run(name, func(t *testing.T) { test(t, newWard(t, open(t), nepal)) })
	}
}

// testWard is a small ward with one person of each kind and one lens.
type testWard struct {
	*Pathway
	t    testing.TB
	now  time.Time
	who  map[string]casebook.Actor
	lens string
}

// seeded is chance that repeats.
type seeded struct{ *rand.ChaCha8 }

func (s seeded) Read(p []byte) (int, error) { return s.ChaCha8.Read(p) }

func chance() io.Reader { return seeded{rand.NewChaCha8([32]byte{7})} }

// staff are the people of the test ward: name → role, supervisor with "+".
var staff = [][2]string{{"tina", "technician"}, {"tom", "technician"}, {"trudy", "trainee"}, {"senior", "surgeon+"},
	{"sam", "surgeon"}, {"nora", "nurse"}, {"carl", "counsellor"}, {"audra", "auditor"}, {"second", "administrator"}}

func newWard(t testing.TB, s casebook.Store, zone *time.Location) *testWard {
	t.Helper()
	w := &testWard{t: t, now: time.Date(2026, 3, 3, 9, 0, 0, 0, zone), who: map[string]casebook.Actor{}}
	w.Pathway = &Pathway{Store: s, Clock: func() time.Time { return w.now }, Random: chance(), Program: "0.1.0-test",
		Hash: func(password, _ string) (string, error) {
			if len(password) < 10 {
				return "", finding.Refusal{Code: "password-short"}
			}
			return "hash of " + password, nil
		}}
	id, err := w.FirstPerson(t.Context(), NewPerson{Name: "admin", Password: "long enough"})
	w.must(err)
	w.who["admin"] = casebook.Actor{ID: id}
	for _, p := range staff {
		role, super := strings.CutSuffix(p[1], "+")
		id, err := w.AddPerson(t.Context(), w.who["admin"], NewPerson{Name: p[0], Role: role, Supervisor: super})
		w.must(err)
		w.who[p[0]] = casebook.Actor{ID: id}
	}
	w.lens = w.addLens("Test Lens", "118.9")
	return w
}

func (w *testWard) ctx() context.Context { return w.t.Context() }

func (w *testWard) must(err error) {
	w.t.Helper()
	if err != nil {
		w.t.Fatal(err)
	}
}

func (w *testWard) addLens(model, a string) string {
	w.t.Helper()
	id, err := w.AddLens(w.ctx(), w.who["senior"], lensForm(model, a))
	w.must(err)
	return id
}

func lensForm(model, a string) LensForm {
	return LensForm{Model: model, Numbers: map[string]string{"from_d": "6", "to_d": "30", "step_d": "0.5"},
		Constants: []ConstantForm{{Name: "a", Value: a, Origin: "label"}}}
}

// ordinary is an eye that raises no gate, other its fellow.
var (
	ordinary = map[string]string{"axial_length_mm": "23.41", "axial_length_method": "optical", "k_flat_d": "43.25", "k_steep_d": "44.00",
		"k_flat_axis_deg": "176", "k_steep_axis_deg": "86", "keratometric_index": "1.3375", "acd_mm": "3.12", "lens_status": "phakic",
		"vitreous": "natural", "corneal_surgery": "none", "measured_on": "2026-02-20", "vertex_mm": "12"}
	other = changed(ordinary, "axial_length_mm", "23.47", "k_flat_d", "43.37", "k_steep_d", "44.12")
)

// changed is m with some entries set.
func changed(m map[string]string, pairs ...string) map[string]string {
	out := map[string]string{}
	for k, v := range m {
		out[k] = v
	}
	for i := 0; i < len(pairs); i += 2 {
		out[pairs[i]] = pairs[i+1]
	}
	return out
}

func (w *testWard) patient(name, identifier string) string {
	w.t.Helper()
	id, err := w.AddPatient(w.ctx(), w.who["nora"], NewPatient{Name: name, Identifier: identifier, Sex: "female", Born: "1959-02-09", Allergies: []string{}})
	w.must(err)
	return id
}

func (w *testWard) open(patient string, side eye.Side) string {
	w.t.Helper()
	id, err := w.OpenCase(w.ctx(), w.who["nora"], patient, side)
	w.must(err)
	return id
}

// entry measures the right eye and the left beside it.
func entry2(id string, right, left map[string]string, imported bool) Measurement {
	return Measurement{Case: id, Seen: Newest, FellowSeen: Newest, Imported: imported, Eyes: map[eye.Side]map[string]string{eye.Right: right, eye.Left: left}}
}

func (w *testWard) measure(id string, right, left map[string]string) Journey {
	w.t.Helper()
	j, err := w.Measure(w.ctx(), w.who["tina"], entry2(id, right, left, true))
	w.must(err)
	return j
}

// recommended is the power the plan recommends of the test lens.
func (w *testWard) recommended(id string) string {
	w.t.Helper()
	j, err := w.Check(w.ctx(), w.who["sam"], id)
	w.must(err)
	for _, l := range j.Plan.Lenses {
		if l.Model == "Test Lens" && l.Recommended != nil {
			return plain(l.Recommended.Power.Value)
		}
	}
	w.t.Fatal("nothing recommended")
	return ""
}

// ready brings a case so far that only the signature is missing.
func (w *testWard) ready(id string) {
	w.t.Helper()
	w.measure(id, ordinary, other)
	_, err := w.List(w.ctx(), w.who["carl"], Listing{Case: id, Seen: Newest, Date: "2026-03-05", Place: "Theatre 1", Order: 2})
	w.must(err)
	_, err = w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Target: "-0.25"})
	w.must(err)
	_, err = w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Lens: w.lens, Power: w.recommended(id)})
	w.must(err)
	w.readBack(id, "nora")
}

func (w *testWard) readBack(id, who string) {
	w.t.Helper()
	_, err := w.ReadBack(w.ctx(), w.who[who], Reading{Case: id, Seen: Newest, Read: ReadItems})
	w.must(err)
}

func (w *testWard) sign(id, who string) (Journey, error) {
	return w.Sign(w.ctx(), w.who[who], Signing{Case: id, Seen: Newest})
}

func (w *testWard) signed(id string) Journey {
	w.t.Helper()
	w.ready(id)
	j, err := w.sign(id, "sam")
	w.must(err)
	return j
}

func (w *testWard) check(id string) Journey {
	w.t.Helper()
	j, err := w.Check(w.ctx(), w.who["sam"], id)
	w.must(err)
	return j
}

// sound fails when the record does not verify.
func (w *testWard) sound() Verification {
	w.t.Helper()
	v, err := w.Verify(w.ctx(), w.who["audra"], nil)
	w.must(err)
	if !v.Sound() {
		w.t.Errorf("the record does not verify: %+v %+v", v.Report, v.Differs)
	}
	return v
}

// codes are the reasons of a refusal, in order; another error is itself.
func codes(err error) string {
	if err == nil {
		return ""
	}
	if r, is := answer(err); is {
		var list []string
		for _, one := range r {
			list = append(list, one.Code)
		}
		return strings.Join(list, " ")
	}
	var one finding.Refusal
	if errors.As(err, &one) {
		return one.Code
	}
	var forbidden *ForbiddenError
	if errors.As(err, &forbidden) {
		return "forbidden"
	}
	var moved *Conflict
	if errors.As(err, &moved) {
		return "conflict"
	}
	return err.Error()
}

func (w *testWard) refused(err error, want string) {
	w.t.Helper()
	if got := codes(err); got != want {
		w.t.Errorf("refused with %q, want %q", got, want)
	}
}

func unmet(j Journey) string {
	var list []string
	for _, n := range j.Needs {
		if !n.Met {
			list = append(list, n.Code)
		}
	}
	return strings.Join(list, " ")
}

func TestTheWholePath(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
		if got := unmet(w.check(id)); got != "measured two-readings target lens list second-person" {
			t.Errorf("a new case needs %q", got)
		}
		w.ready(id)
		if got := unmet(w.check(id)); got != "" {
			t.Errorf("a ready case needs %q", got)
		}
		unsigned, err := w.Sheet(w.ctx(), w.who["nora"], id)
		w.must(err)
		if unsigned.Valid || unsigned.Signed || unsigned.Number != "" || unsigned.Mark != "" {
			t.Errorf("an unsigned sheet carries %q %q", unsigned.Number, unsigned.Mark)
		}
		j, err := w.sign(id, "sam")
		w.must(err)
		if j.State != casebook.StateSigned || j.PlanNumber != 1 || j.Sheet != 1 || j.Signed.Name != "sam" || j.ReadBack.Name != "nora" || j.ListDate.String() != "2026-03-05" {
			t.Errorf("signed: %+v", j)
		}
		s, err := w.Sheet(w.ctx(), w.who["nora"], id)
		w.must(err)
		if !s.Valid || s.Number != "00001" || s.List.String() != "2026-03-05" || s.Person.Name != "Mira Example" || s.SideWords != "RIGHT EYE" ||
			s.SignedBy.Name != "sam" || s.Second.Name != "nora" || s.Measured.Name != "tina" || !s.Lens.Predicted.Known || s.PlanNumber != 1 {
			t.Errorf("sheet: %+v", s)
		}
		if v := w.sound(); v.Plans != 1 {
			t.Errorf("%d signed plans computed again", v.Plans)
		}
		_, rows, err := w.Ward(w.ctx(), w.who["carl"], WardQuery{})
		w.must(err)
		if len(rows) != 1 || rows[0].Missing != nil || !rows[0].Progress.Sheet || rows[0].Who.Name != "Mira Example" || rows[0].Sheet != 1 || rows[0].Age.Value != 67 {
			t.Errorf("ward: %+v", rows)
		}
	})
}

// What the signature keeps is all that is needed to compute the plan again.
func TestSignatureKeepsInputsResultsAndVersions(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
	w.signed(id)
	w.must(w.Store.View(w.ctx(), func(tx casebook.Tx) error {
		c, r, err := casebook.Load[casebook.Case](tx, id)
		if err != nil {
			return err
		}
		if c.Signed.Program != "0.1.0-test" || c.Signed.Versions["srk-t"] == "" || c.Signed.Versions["haigis"] == "" {
			t.Errorf("versions %v", c.Signed.Versions)
		}
		for _, s := range []string{"Mira", "H-0001"} {
			if strings.Contains(string(r.Payload), s) {
				t.Errorf("the case says who the patient is: %s", s)
			}
		}
		p, err := signedPlan(c.Signed)
		if err != nil {
			return err
		}
		if p.Input.Eye.AxialLength.Text != "23.41" || p.Input.Eye.Fellow.AxialLength.Value != 23.47 || len(p.Lenses) != 1 || p.Decision == nil ||
			!p.Decision.Predicted.Known || p.Input.Eye.Age.Value != 67 || p.Input.Eye.AsOf.String() != "2026-03-05" {
			t.Errorf("plan %+v", p.Input)
		}
		return nil
	}))
}

// A plan whose stored results are not what its inputs give is found.
func TestVerifyFindsAChangedResult(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
	w.signed(id)
	w.must(w.Store.Do(w.ctx(), func(tx casebook.Tx) error { // a faultless chain that says something untrue
		c, head, err := casebook.Load[casebook.Case](tx, id)
		if err != nil {
			return err
		}
		was := `"mean_k_d":43.625`
		if strings.Count(string(c.Signed.Plan), was) != 1 {
			t.Fatalf("the plan has no %s", was)
		}
		c.Signed.Plan = []byte(strings.Replace(string(c.Signed.Plan), was, `"mean_k_d":43.725`, 1))
		_, err = casebook.Revise(tx, casebook.StampOf(w.Clock, w.who["sam"]), id, head.Number, c)
		return err
	}))
	v, err := w.Verify(w.ctx(), w.who["audra"], nil)
	w.must(err)
	if v.Sound() || !v.Report.Sound() || len(v.Differs) != 1 || v.Differs[0].Field != "mean_k_d" || v.Differs[0].Signed != "43.73" && v.Differs[0].Signed != "43.72" || v.Differs[0].Now != "43.62" && v.Differs[0].Now != "43.63" {
		t.Errorf("%+v", v.Differs)
	}
}

func TestWardFilterAndOrder(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		a := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
		b := w.open(w.patient("Doriane Brackwater", "H-0002"), eye.Left)
		c := w.open(w.patient("Dorianne Brackwater", "H-0003"), eye.Right)
		for id, date := range map[string]string{a: "2026-03-06", b: "2026-03-05"} {
			_, err := w.List(w.ctx(), w.who["carl"], Listing{Case: id, Seen: Newest, Date: date})
			w.must(err)
		}
		w.must(w.Close(w.ctx(), w.who["sam"], c, Newest, ClosedDropped, ""))
		for _, q := range []struct {
			name string
			WardQuery
			want []string
		}{
			{"open ones by list", WardQuery{}, []string{b, a}},
			{"closed too", WardQuery{Closed: true}, []string{b, a, c}},
			{"one day", WardQuery{List: unit.Date{Year: 2026, Month: 3, Day: 6}}, []string{a}},
			{"words", WardQuery{Text: "brack left", Closed: true}, []string{b}},
			{"identifier", WardQuery{Text: "h-0001"}, []string{a}},
			{"nothing fits", WardQuery{Text: "nobody"}, nil},
			{"state", WardQuery{State: casebook.StateClosed}, []string{c}},
			{"limit", WardQuery{Limit: 1}, []string{b}},
		} {
			_, rows, err := w.Ward(w.ctx(), w.who["audra"], q.WardQuery)
			w.must(err)
			var got []string
			for _, r := range rows {
				got = append(got, r.Case)
			}
			if !slices.Equal(got, q.want) {
				t.Errorf("%s: %d rows", q.name, len(got))
			}
		}
		_, rows, err := w.Ward(w.ctx(), w.who["carl"], WardQuery{})
		w.must(err)
		if m := rows[0].Missing; m == nil || m.Need != NeedMeasured {
			t.Errorf("missing %+v", m)
		}
	})
}

// The Ward's next step is the finding itself when a stop or a gate is open.
func TestWardNamesTheFinding(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	for n, c := range []struct{ field, value, code string }{
		{"axial_length_mm", "20.90", "length-very-short"}, {"corneal_surgery", "radial", "unusual-eye"}} {
		id := w.open(w.patient("Mira", "H-"+plain(float64(n+100))), eye.Right)
		w.measure(id, changed(ordinary, c.field, c.value), changed(other, "axial_length_mm", "20.95"))
		_, rows, err := w.Ward(w.ctx(), w.who["carl"], WardQuery{Text: "H-" + plain(float64(n+100))})
		w.must(err)
		if m := rows[0].Missing; m == nil || m.Finding == nil || m.Finding.Code != c.code {
			t.Errorf("%s: missing %+v", c.field, m)
		}
	}
}

func mustDate(s string) unit.Date {
	d, err := unit.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}
