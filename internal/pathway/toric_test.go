package pathway

import (
	"testing"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/sheet"
)

// The surgeon's own cylinder and axis: advice alone is never printed as a
// choice; another lens than the advised asks a reason before signing; a
// cylinder that is not made stops; what is signed is verified; a new reading
// takes the reason back.
func TestToricChoiceInTheWard(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	form := lensForm("Toric Lens", "118.9")
	form.Numbers["cylinder_from_d"], form.Numbers["cylinder_to_d"], form.Numbers["cylinder_step_d"] = "1.0", "6", "0.5"
	lens, err := w.AddLens(w.ctx(), w.who["senior"], form)
	w.must(err)
	id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
	w.ready(id)
	choose := func(c Choice) Journey {
		t.Helper()
		c.Case, c.Seen = id, Newest
		j, err := w.Choose(w.ctx(), w.who["sam"], c)
		w.must(err)
		return j
	}
	clock := func() *Clock {
		t.Helper()
		s, err := w.Sheet(w.ctx(), w.who["sam"], id)
		w.must(err)
		return s.Clock
	}
	j := choose(Choice{Lens: lens, Power: "21", Reason: "of the toric model"})
	if k := clock(); k == nil || k.Toric == sheet.ToricChosen || k.Toric == "" {
		t.Fatalf("without a choice: %+v", k)
	}
	best, axis := j.Plan.Cornea.Toric.Best, j.Plan.Cornea.Toric.Axis
	j = choose(Choice{Cornea: map[string]string{"toric_cylinder_d": "1.25", "toric_axis_deg": "12"}})
	if !finding.Has(j.Plan.Findings, "toric-cylinder-not-made") || j.Plan.Cornea.Toric.Chosen != nil {
		t.Errorf("a cylinder that is not made: %+v", j.Plan.Cornea.Toric.Chosen)
	}
	j = choose(Choice{Cornea: map[string]string{"toric_cylinder_d": "6", "toric_axis_deg": ""}})
	if !finding.Has(j.Plan.Findings, "toric-choice-incomplete") {
		t.Error("a cylinder without an axis")
	}
	j = choose(Choice{Cornea: map[string]string{"toric_cylinder_d": "6", "toric_axis_deg": "12"}})
	c := j.Plan.Cornea.Toric.Chosen
	if c == nil || !c.Differs || best.Value == 6 || c.Mark.Value != 12 {
		t.Fatalf("%+v beside %v on %v", c, best, axis)
	}
	w.readBack(id, "nora")
	_, err = w.sign(id, "sam")
	w.refused(err, "need-toric-reason")
	choose(Choice{Cornea: map[string]string{"toric_reason": "agreed with the patient"}})
	if k := clock(); k.Toric != sheet.ToricChosen || k.Lens.Axis != 12 || k.Cylinder.Value != 6 || k.Chosen.Reason == "" {
		t.Errorf("%+v", k)
	}
	w.readBack(id, "nora")
	_, err = w.sign(id, "sam")
	w.must(err)
	if k := clock(); k.Toric != sheet.ToricChosen || k.Lens.Axis != 12 {
		t.Errorf("signed: %+v", k)
	}
	w.sound()
}
