package pathway

import (
	"testing"
)

// measuredMachine is a machine whose data support head, irrigation and line.
func measuredMachine(name string) MachineForm {
	return MachineForm{Name: name, Gauge: "20", Incision: "2.2", Parts: map[string][]map[string]string{
		"head":      {{"true_cm": "96", "displayed_cm": "90"}, {}},
		"free_flow": {{"head_cm": "60", "volume_ml": "80", "time_s": "70"}, {"head_cm": "90", "volume_ml": "110", "time_s": "69"}, {"head_cm": "110", "volume_ml": "130", "time_s": "70"}},
		"rise": {{"flow_ml_min": "20", "vacuum_limit_mmhg": "400", "t50_s": "0,18", "t90_s": "0.33"},
			{"flow_ml_min": "40", "vacuum_limit_mmhg": "400", "t50_s": "0.09", "t90_s": "0.165"}}}}
}

func TestMachines(t *testing.T) {
	onEach(t, func(t *testing.T, w *testWard) {
		add := func(id string, f MachineForm) (string, string) {
			got, err := w.AddMachine(w.ctx(), w.who["sam"], id, Newest, f)
			return got, codes(err)
		}
		few := MachineForm{Name: "Two", Parts: map[string][]map[string]string{"rise": {{"flow_ml_min": "20", "vacuum_limit_mmhg": "400", "t50_s": "0.18", "t90_s": "0.33"}}}}
		for want, f := range map[string]MachineForm{"needed": {}, "nothing-measured": {Name: "Two"}, "fit": few} {
			if _, got := add("", f); got != want {
				t.Errorf("%+v: %q, want %q", f, got, want)
			}
		}
		id, code := add("", measuredMachine("Theatre 2"))
		if code != "" {
			t.Fatal(code)
		}
		if _, code := add("", measuredMachine("theatre 2")); code != "model-known" {
			t.Error("the same name twice:", code)
		}
		again := measuredMachine("Theatre 2")
		again.Parts["head"][0]["true_cm"] = "94"
		if _, code := add(id, again); code != "" {
			t.Error(code)
		}
		list, err := w.Machines(w.ctx(), w.who["carl"])
		w.must(err)
		if len(list) != 1 || list[0].Number != 2 || !list[0].Fit.Complete() || list[0].Fit.Offset.Value != 4 || list[0].Data.Rises[0].T50 != 0.18 {
			t.Errorf("%+v", list)
		}
	})
}
