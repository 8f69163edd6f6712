package pathway

import (
	"math"
	"math/rand/v2"
	"testing"

	"linn/calc/risk"
	"linn/eye"
	"linn/internal/care/plan"
)

// The shift brings the model's mean to the unit's rate; too few operations,
// none or all torn say nothing; the ratio waits for ten expected.
func TestOwnRiskJudges(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 7))
	for _, c := range []struct {
		of, events   int
		shift, ratio bool
	}{{0, 0, false, false}, {199, 5, false, false}, {200, 5, true, false}, {1200, 9, true, true}, {1200, 0, false, true}} {
		var predicted []float64
		for range c.of {
			predicted = append(predicted, 0.005+0.03*r.Float64())
		}
		o := OwnRisk{Count: risk.Count{Events: c.events, Of: c.of}}
		o.judge(predicted)
		if o.Shift.Known != c.shift || o.FewToSay == c.ratio {
			t.Errorf("%d of %d: %+v", c.events, c.of, o)
		}
		if !o.Shift.Known {
			continue
		}
		mean := 0.0
		for _, p := range predicted {
			mean += risk.Own{Shift: o.Shift.Value}.Shifted(p) / float64(c.of)
		}
		if want := float64(c.events) / float64(c.of); math.Abs(mean-want) > 1e-9 {
			t.Errorf("%d of %d: the shifted mean is %v, not %v", c.events, c.of, mean, want)
		}
	}
}

// What a unit accepted is read back as it was written, an unreadable entry is
// none, and a plan for that technique alone is moved by it: by the manual
// technique a number then stands where none is published.
func TestOwnRiskOfPlans(t *testing.T) {
	l := LocalProtocol{}
	l.Settings = map[string]string{"risk.msics": "-0.4|6|800|Dr Sand|2026-03-01", "risk.phaco": "x|1|2|Dr Sand|2026-03-01", "dose.lidocaine.mg": "200|a|2026-01-01"}
	own := l.OwnRisks()
	if a := own["msics"]; len(own) != 1 || a.Shift != -0.4 || a.Events != 6 || a.Of != 800 || a.By != "Dr Sand" {
		t.Errorf("%+v", own)
	}
	risks := func(technique string, shifts map[string]float64) plan.Risk {
		return (&plan.Clinical{Technique: technique, Answers: map[string]string{"age_years": "70", "sex": "female"}, OwnRisk: shifts}).Decide(nil).Risks[0]
	}
	if r := risks("msics", nil); !r.NoModel {
		t.Errorf("a published number for a manual operation: %+v", r)
	}
	shifts := map[string]float64{"msics": -0.4}
	base := risks("phaco", shifts)
	if moved := risks("msics", shifts); moved.NoModel || !moved.Unit || moved.P.Value >= base.P.Value || base.Unit || base.P != risks("phaco", nil).P {
		t.Errorf("%+v beside %+v", moved, base)
	}
}

// The eye whose risk is asked carries the person's age and sex, signed or not:
// without them the model expects too little and the shift comes out too high.
func TestOwnRiskKnowsThePerson(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
		w.ready(id)
		ages := map[string]bool{}
		for _, when := range []string{"before", "signed"} {
			if when == "signed" {
				w.signed(id)
			}
			w.must(w.look(w.ctx(), w.who["sam"], VerbTally, func(t *turn) error {
				c, err := t.load(id, Newest)
				if err != nil {
					return err
				}
				e, err := t.eyeAsPlanned(c)
				ages[when] = e.Age.Known && e.Sex != ""
				return err
			}))
			if !ages[when] {
				t.Errorf("%s: the eye has no age or sex", when)
			}
		}
	})
}

// A ward with one operation has nothing to accept, and says so.
func TestOwnRiskTooFew(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		list, l, err := w.OwnRisks(w.ctx(), w.who["sam"])
		w.must(err)
		if len(list) != len(RiskTechniques) || !list[0].FewToSay || list[0].Shift.Known || list[0].Accepted != nil {
			t.Errorf("%+v", list)
		}
		form := RiskForm{Seen: l.Number, Technique: "phaco", By: "Dr Sand", On: "2026-03-01", Reason: "audit"}
		if err := w.AcceptRisk(w.ctx(), w.who["sam"], form); codes(err) != "risk-too-few" {
			t.Error(err)
		}
		if err := w.AcceptRisk(w.ctx(), w.who["nora"], form); err == nil {
			t.Error("a nurse accepted a risk")
		}
	})
}
