package pathway

import (
	"strings"
	"testing"

	"linn/eye"
	"linn/internal/care/casebook"
)

// Settings by phase: kept and printed as typed, refused with reasons, compared
// only for a machine that was measured on site.
func TestPhases(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
		w.measure(id, ordinary, other)
		groove := map[string]map[string]string{"groove": {"bottle_cm": "80", "vacuum_limit_mmhg": "60", "flow_ml_min": "22,5", "power_pct": "40"}}
		set := func(p Phases) (Journey, string) {
			p.Case, p.Seen = id, Newest
			j, err := w.SetPhases(w.ctx(), w.who["sam"], p)
			return j, codes(err)
		}
		j, code := set(Phases{Settings: groove})
		if code != "" || j.Chamber.Settings["groove"]["flow_ml_min"] != "22,5" || len(j.Chamber.Advice) != 0 || !j.Chamber.Volume.Known && len(j.Chamber.Missing) == 0 {
			t.Fatalf("%s %+v", code, j.Chamber)
		}
		for want, bad := range map[string]map[string]string{"lost-decimal-mark": {"vacuum_limit_mmhg": "6000"}, "not-a-number": {"power_pct": "much"}, "both-given": {"bottle_cm": "80", "forced_mmhg": "50"}} {
			if _, code := set(Phases{Settings: map[string]map[string]string{"cortex": bad}}); code != want {
				t.Errorf("%v: %q, want %q", bad, code, want)
			}
		}
		s, err := w.Sheet(w.ctx(), w.who["sam"], id)
		w.must(err)
		if len(s.Phases) != 1 || s.Phases[0].Phase != "groove" || len(s.Phases[0].Settings) != 4 || s.Phases[0].Settings[1].Text != "22.5\u202fmL/min" {
			t.Errorf("%+v", s.Phases)
		}
		machine, err := w.AddMachine(w.ctx(), w.who["sam"], "", Newest, measuredMachine("Theatre 2"))
		w.must(err)
		j, code = set(Phases{Settings: groove, Machine: machine})
		if code != "" || len(j.Chamber.Advice) != 1 || j.Chamber.Advice[0].Phase != "groove" {
			t.Fatalf("%s %+v", code, j.Chamber)
		}
		a := j.Chamber.Advice[0]
		if m := a.Answer.Settings.Model(); len(a.Map.Formed) != envelopePoints || float64(m.VacuumLimit) != 60 {
			t.Errorf("%+v", a)
		}
		again, err := w.Sheet(w.ctx(), w.who["sam"], id)
		w.must(err)
		for _, set := range again.Phases[0].Settings {
			if !strings.Contains("80 22.5 60 40", strings.Split(set.Text, "\u202f")[0]) {
				t.Errorf("the sheet prints %q, which nobody typed", set.Text)
			}
		}
	})
}

// A machine that lacks a part gives no comparison.
func TestNoAdviceWithoutCalibration(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
	w.measure(id, ordinary, other)
	f := measuredMachine("Half")
	delete(f.Parts, "free_flow")
	machine, err := w.AddMachine(w.ctx(), w.who["sam"], "", Newest, f)
	w.must(err)
	j, err := w.SetPhases(w.ctx(), w.who["sam"], Phases{Case: id, Seen: Newest, Machine: machine, Settings: map[string]map[string]string{"groove": {"bottle_cm": "80", "vacuum_limit_mmhg": "60", "flow_ml_min": "22"}}})
	w.must(err)
	if len(j.Chamber.Advice) != 0 {
		t.Errorf("%+v", j.Chamber.Advice)
	}
}
