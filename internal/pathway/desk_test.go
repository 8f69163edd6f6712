package pathway

import (
	"testing"

	"linn/internal/care/casebook"
)

func TestFirstPersonOpensOnlyAnEmptyDesk(t *testing.T) {
	p := &Pathway{Store: casebook.NewMemory(), Clock: newWard(t, casebook.NewMemory(), nepal).Clock, Random: chance(),
		Hash: func(password, _ string) (string, error) { return "h", nil }}
	if empty, err := p.DeskEmpty(t.Context()); err != nil || !empty {
		t.Fatalf("%v %v", empty, err)
	}
	if _, err := p.FirstPerson(t.Context(), NewPerson{Name: "A"}); codes(err) != "needed" {
		t.Errorf("without a password: %v", err)
	}
	id, err := p.FirstPerson(t.Context(), NewPerson{Name: "A", Role: "surgeon", Password: "long enough"})
	if err != nil {
		t.Fatal(err)
	}
	if a, ok, err := p.AccountByID(t.Context(), id); err != nil || !ok || a.Role != administrator {
		t.Errorf("%+v %v %v", a, ok, err)
	}
	if _, err := p.FirstPerson(t.Context(), NewPerson{Name: "B", Password: "long enough"}); codes(err) != "not-first" {
		t.Errorf("a second first: %v", err)
	}
}

func TestPeople(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		add := func(p NewPerson) string { return codes(second(w.AddPerson(w.ctx(), w.who["admin"], p))) }
		for _, c := range []struct {
			p    NewPerson
			code string
		}{
			{NewPerson{Name: "Ann", Role: "nurse"}, ""},
			{NewPerson{Name: " ann ", Role: "nurse"}, "name-taken"},
			{NewPerson{Name: "", Role: "king"}, "needed unknown-word"},
			{NewPerson{Name: "Bo", Role: "nurse", Supervisor: true}, "supervisor-not-surgeon"},
			{NewPerson{Name: "Bo", Role: "surgeon", Password: "short"}, "password-short"},
			{NewPerson{Name: "Bo", Role: "surgeon", Password: "long enough"}, ""},
		} {
			if got := add(c.p); got != c.code {
				t.Errorf("%+v: %q, want %q", c.p, got, c.code)
			}
		}
		a, ok, err := w.AccountByName(w.ctx(), " BO ")
		if err != nil || !ok || a.Hash != "hash of long enough" || a.Name != "Bo" {
			t.Errorf("%+v %v %v", a, ok, err)
		}
		list, err := w.Desk(w.ctx(), w.who["carl"])
		w.must(err)
		if len(list) != 2+len(staff)+1 || list[0].Name != "admin" || !list[0].Password {
			t.Errorf("%d people, first %+v", len(list), list[0])
		}
	})
}

func TestChangePerson(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	no, yes := false, true
	change := func(c PersonChange) string { return codes(w.ChangePerson(w.ctx(), w.who["admin"], c)) }
	sam, admin, other := w.who["sam"].ID, w.who["admin"].ID, w.who["second"].ID
	for _, c := range []struct {
		name string
		c    PersonChange
		code string
	}{
		{"make a supervisor", PersonChange{ID: sam, Seen: 1, Supervisor: &yes}, ""},
		{"from an old revision", PersonChange{ID: sam, Seen: 1, Role: "nurse"}, "moved-on"},
		{"a nurse is no supervisor", PersonChange{ID: sam, Seen: 2, Role: "nurse"}, ""},
		{"close", PersonChange{ID: sam, Seen: Newest, Active: &no}, ""},
		{"unknown", PersonChange{ID: "nobody", Seen: Newest}, ErrAbsent.Error()},
		{"one of two administrators", PersonChange{ID: other, Seen: Newest, Role: "nurse"}, ""},
		{"the last one closes", PersonChange{ID: admin, Seen: Newest, Active: &no}, "last-administrator"},
		{"the last one changes", PersonChange{ID: admin, Seen: Newest, Role: "auditor"}, "last-administrator"},
		{"password", PersonChange{ID: other, Seen: Newest, Password: "another long one"}, ""},
	} {
		if got := change(c.c); got != c.code {
			t.Errorf("%s: %q, want %q", c.name, got, c.code)
		}
	}
	if _, ok, err := w.AccountByName(w.ctx(), "sam"); err != nil || ok {
		t.Errorf("a closed account signs in: %v %v", ok, err)
	}
	if _, ok, err := w.AccountByID(w.ctx(), sam); err != nil || ok {
		t.Errorf("a closed account is there: %v %v", ok, err)
	}
	if _, ok, err := w.AccountByID(w.ctx(), "nobody"); err != nil || ok {
		t.Errorf("%v %v", ok, err)
	}
	w.must(w.SetOwnPassword(w.ctx(), w.who["nora"], "a new long one"))
	if a, _, err := w.AccountByName(w.ctx(), "nora"); err != nil || a.Hash != "hash of a new long one" || a.Role != nurse {
		t.Errorf("%+v %v", a, err)
	}
}

func TestLensForm(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	full := LensForm{Model: "Full", Pieces: "three-piece", Material: "acrylic",
		Numbers: map[string]string{"from_d": "-5", "to_d": "30", "step_d": "0,5", "index": "1.5", "optic_mm": "6"},
		Constants: []ConstantForm{{Name: "a", Value: "118,4", Origin: "label"}, {Method: "srk-t", Name: "a", Value: "119.0", Origin: "own-fitted", Eyes: 120},
			{Method: "haigis", Name: "a0", Value: "1.3", Origin: "published"}}}
	for _, c := range []struct {
		name   string
		change func(*LensForm)
		code   string
	}{
		{"nothing", func(f *LensForm) { *f = LensForm{} }, "constant-needed needed"},
		{"a known name", func(f *LensForm) { f.Model = "test lens" }, "model-known"},
		{"constant outside", func(f *LensForm) { f.Constants = []ConstantForm{{Name: "a", Value: "1184", Origin: "label"}} }, "lost-decimal-mark"},
		{"unknown constant", func(f *LensForm) { f.Constants = []ConstantForm{{Name: "b", Value: "1", Origin: "label"}} }, "unknown-key"},
		{"no origin", func(f *LensForm) { f.Constants = []ConstantForm{{Name: "a", Value: "118"}} }, "origin-needed"},
		{"fitted to nobody", func(f *LensForm) { f.Constants = []ConstantForm{{Name: "a", Value: "118", Origin: "own-fitted"}} }, "eyes-needed"},
		{"twice", func(f *LensForm) {
			f.Constants = []ConstantForm{{Name: "a", Value: "118", Origin: "label"}, {Name: "a", Value: "119", Origin: "label"}}
		}, "constant-twice"},
		{"unknown method", func(f *LensForm) {
			f.Constants = []ConstantForm{{Method: "guess", Name: "a", Value: "118", Origin: "label"}}
		}, "unknown-method"},
		{"shelf reversed", func(f *LensForm) { f.Numbers = map[string]string{"from_d": "30", "to_d": "6"} }, "shelf-reversed"},
		{"a constant among the numbers", func(f *LensForm) { f.Numbers = map[string]string{"a": "118"} }, "unknown-key"},
		{"pieces", func(f *LensForm) { f.Pieces = "two" }, "unknown-word"},
		{"full", func(*LensForm) {}, ""},
	} {
		f := full
		c.change(&f)
		if got := codes(second(w.AddLens(w.ctx(), w.who["sam"], f))); got != c.code {
			t.Errorf("%s: %q, want %q", c.name, got, c.code)
		}
	}
	list, err := w.Shelf(w.ctx(), w.who["carl"])
	w.must(err)
	if len(list) != 2 || list[0].Model != "Full" || list[0].Lens["from_d"] != -5 || list[0].Lens["index"] != 1.5 || len(list[0].Constants) != 3 || list[0].Constants[0].Value != 118.4 {
		t.Fatalf("%+v", list)
	}
	if s := shelved(list[0].LensModel); s.Lens.Step != 0.5 || s.Lens.Constants.A.Value != 118.4 || len(s.Constants) != 3 || s.Stock != nil {
		t.Errorf("%+v", s)
	}
}

func TestEditLensAndStock(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	w.refused(w.EditLens(w.ctx(), w.who["sam"], w.lens, 1, lensForm("Test Lens", "119"), ""), "reason-needed")
	w.must(w.Stock(w.ctx(), w.who["nora"], w.lens, 1, map[string]string{"21": "3", "20,5": "0"}))
	w.refused(w.EditLens(w.ctx(), w.who["sam"], w.lens, 1, lensForm("Test Lens", "119"), "fitted"), "moved-on")
	w.must(w.EditLens(w.ctx(), w.who["sam"], w.lens, 2, lensForm("Test Lens", "119"), "fitted"))
	w.refused(w.Stock(w.ctx(), w.who["nora"], w.lens, Newest, map[string]string{"21.3": "1", "5": "1", "22": "-1", "23": "many", "x": "1"}),
		"count power-not-made power-not-made count power-not-made") // by the text
	w.must(w.Stock(w.ctx(), w.who["nora"], w.lens, Newest, map[string]string{"21": "2"}))
	list, err := w.Shelf(w.ctx(), w.who["carl"])
	w.must(err)
	m := list[0]
	if m.Constants[0].Value != 119 || len(m.Stock) != 2 || m.Stock[0].Power != 20.5 || m.Stock[1].Count != 2 {
		t.Errorf("%+v", m)
	}
}

func TestProtocol(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	l, err := w.Protocol(w.ctx(), w.who["carl"])
	w.must(err)
	if l.MaxAgeDays() != 180 || l.LoneDelay() != DefaultLoneDelay || l.Number != 0 {
		t.Errorf("defaults %d %v", l.MaxAgeDays(), l.LoneDelay())
	}
	w.refused(w.SetProtocol(w.ctx(), w.who["admin"], ProtocolForm{Zone: "Nowhere/City", ReadingAgeDays: "0", LoneDelayMinutes: "soon"}),
		"zone-unknown whole-number whole-number")
	w.must(w.SetProtocol(w.ctx(), w.who["admin"], ProtocolForm{Hospital: "Island", Zone: "Asia/Kathmandu", Places: []string{" Theatre 1 ", ""}, ReadingAgeDays: "90", Recalled: "srk-t 1"}))
	w.refused(w.SetProtocol(w.ctx(), w.who["admin"], ProtocolForm{}), "moved-on")
	l, err = w.Protocol(w.ctx(), w.who["carl"])
	w.must(err)
	if l.MaxAgeDays() != 90 || !l.Recalled("srk-t", "1") || l.Recalled("srk-t", "11") || len(l.Places) != 1 || l.Number != 1 {
		t.Errorf("%+v", l)
	}
}
