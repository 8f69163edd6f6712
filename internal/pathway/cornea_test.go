package pathway

import (
	"testing"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
)

// The incision is planned in the ward: kept as typed, in plan and sheet; a text
// that cannot be read is kept, shown and blocks; "" takes it away. The second
// person reads again.
func TestIncisionInTheWard(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
	w.ready(id)
	w.readBack(id, "nora")
	plan := func(texts map[string]string) Journey {
		t.Helper()
		j, err := w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Cornea: texts})
		w.must(err)
		return j
	}
	j := plan(map[string]string{"surgeon_seat": "temporal", "incision_type": "limbal", "incision_hour": "9", "incision_mm": "2,4"})
	if c := j.Plan.Cornea; c == nil || c.Incision == nil || c.Incision.At.Value != 180 || j.Eyes[eye.Right].Texts["incision_mm"] != "2,4" || j.ReadBack != nil {
		t.Fatalf("%+v, %+v", j.Plan.Cornea, j.ReadBack)
	}
	s, err := w.Sheet(w.ctx(), w.who["sam"], id)
	w.must(err)
	if s.Clock == nil || s.Clock.Incision == nil || s.Clock.Seat != eye.TemporalSeat || s.Clock.Incision.Middle.Y < 0.99 {
		t.Errorf("%+v", s.Clock)
	}
	if a := CorneaOf(j.Plan); len(a.Candidates) == 0 || a.Incision == nil {
		t.Errorf("%+v", a)
	}
	j = plan(map[string]string{"incision_hour": "13"})
	if why, bad := j.Eyes[eye.Right].Refused["incision_hour"]; !bad || why.Code != "out-of-range" || j.Eyes[eye.Right].Texts["incision_hour"] != "13" {
		t.Errorf("%+v", j.Eyes[eye.Right])
	}
	w.readBack(id, "nora")
	if _, err := w.sign(id, "sam"); err == nil {
		t.Error("signed with an hour that nobody could read")
	}
	j = plan(map[string]string{"incision_hour": "", "incision_type": "", "incision_mm": "", "surgeon_seat": ""})
	if j.Plan.Cornea != nil || j.Eyes[eye.Right].Texts["incision_hour"] != "" {
		t.Errorf("%+v", j.Plan.Cornea)
	}
	w.readBack(id, "nora")
	_, err = w.sign(id, "sam")
	w.must(err)
	w.sound()
}

// What a file and a plan say of one cornea is the same.
func TestCorneaFileRefusals(t *testing.T) {
	for _, c := range []struct{ json, code string }{
		{`{"side":"right","k_flat_d":44,"k_steep_d":43}`, "steep-below-flat"},
		{`{"side":"right","k_flat_d":43,"k_steep_d":44,"k_steep_axis_deg":190}`, "lost-decimal-mark"},
		{`{"side":"right","k_flat_d":43,"k_steep_d":44,"incision_hour":13}`, "out-of-range"},
		{`{"side":"right","k_flat_d":43,"k_steep_d":44,"tunnel_mm":-1}`, "out-of-range"},
		{`{"k_flat_d":43,"k_steep_d":44}`, "missing"},
		{`{"side":"right","k_flat_d":43,"k_steep_d":44,"k_flat_after_d":7.8}`, "looks-like-radius"},
		{`{"side":"right","k_flat_d":43,"k_steep_d":44,"k_flat_after_d":45,"k_steep_after_d":44}`, "steep-below-flat"},
		{`{"side":"right","k_flat_d":43,"k_steep_d":44,"lens_axis_deg":[1]}`, "wrong-kind"},
		{`{"side":"right","k_flat_d":43,"k_steep_d":44,"lens_axes_deg":1}`, "unknown-key"},
		{`[]`, "not-json-object"},
	} {
		_, _, refused := Cornea([]byte(c.json))
		if len(refused) != 1 || refused[0].Code != c.code {
			t.Errorf("%s: %v", c.json, refused)
		}
	}
	a, _, refused := Cornea([]byte(`{"side":"left","k_flat_d":43,"k_steep_d":44,"k_steep_axis_deg":0,"k_flat_axis_deg":90}`))
	if refused != nil || a.Measured.Steep.Value != 180 || finding.Has(a.Findings, "meridians-not-perpendicular") {
		t.Errorf("axis 0: %+v %v", a.Measured, refused)
	}
}

// A toric model of the Shelf, chosen for an eye: its marks stand on the sheet.
func TestToricInTheWard(t *testing.T) {
	w := newWard(t, casebook.NewMemory(), nepal)
	form := lensForm("Toric Lens", "118.9")
	form.Numbers["cylinder_from_d"], form.Numbers["cylinder_to_d"], form.Numbers["cylinder_step_d"] = "1.0", "6", "0.5"
	lens, err := w.AddLens(w.ctx(), w.who["senior"], form)
	w.must(err)
	id := w.open(w.patient("Mira Example", "H-0001"), eye.Right)
	w.measure(id, changed(ordinary, "k_flat_d", "42.00", "k_steep_d", "44.50"), other)
	j, err := w.Choose(w.ctx(), w.who["sam"], Choice{Case: id, Seen: Newest, Target: "0", Lens: lens, Power: "21"})
	w.must(err)
	if c := j.Plan.Cornea; c == nil || c.Toric == nil || c.Toric.Best.Value < 3 || c.Toric.Axis.Value != 86 {
		t.Fatalf("%+v", c)
	}
	s, err := w.Sheet(w.ctx(), w.who["sam"], id)
	w.must(err)
	if s.Clock == nil || s.Clock.Lens == nil || s.Clock.Lens.Axis != 86 || s.Clock.Said {
		t.Errorf("%+v", s.Clock)
	}
}

func FuzzCornea(f *testing.F) {
	f.Add([]byte(`{"side":"right","axial_length_mm":23.5,"k_flat_d":42.5,"k_steep_d":44.5,"k_steep_axis_deg":90,"sphere_d":0.75,"cylinder_d":-1.5,"axis_deg":60,"lens_d":20.5,"lens_cylinder_d":3,"lens_axis_deg":110,"lens_position_mm":5.25}`))
	f.Add([]byte(`{"side":"left","k_flat_d":42.5,"k_steep_d":44,"k_flat_axis_deg":10,"incision_type":"limbal","incision_hour":3,"incision_mm":2.8,"excluded_hours":"11-1 bleb"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		a, _, refused := Cornea(data)
		for _, r := range refused {
			if r.Code == "" {
				t.Fatalf("%q: %+v", data, r)
			}
		}
		if refused == nil && a.Format == "" {
			t.Fatalf("%q: no answer", data)
		}
	})
}
