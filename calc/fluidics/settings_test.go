package fluidics

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"linn/finding"
	"linn/unit"
)

func parsed(t *testing.T, text string) Settings {
	t.Helper()
	s, refused := ParseSettings([]byte(text))
	if len(refused) > 0 {
		t.Fatalf("%s: %v", text, refused)
	}
	return s
}

func TestParseSettings(t *testing.T) {
	s := parsed(t, `{"format":"linn.chamber-settings/1","bottle_cm":"110,5","head_offset_cm":"−3","flow_ml_min":40,"vacuum_limit_mmhg":350,
		"pump":"peristaltic","tip_gauge":"21","incision_mm":2.4,"line_compliance_ul_per_mmhg":0.2,"line_bore_mm":null,"x_note":["anything"],
		"leak_ml_min_per_mmhg":0,"bypass_mm":0.175,"wound_factor":2,"pump_droop":0.5,"chamber_volume_ul":120,"occlusion_s":2,"break_s":0.1}`)
	m := s.Model()
	if m.Bottle != 110.5 || m.HeadOffset != -3 || m.Flow != 40 || m.VacuumLimit != 350 || m.Needle.Inner != 0.6000000000000001 || m.Compliance != 0.2 ||
		m.Line.Bore != 1.5 || m.Leak != 0 || m.BypassBore != 0.175 || m.Sleeve.WoundFactor != 2 || m.Droop != 0.5 || m.ChamberVolume != 120 || s.Break() != (Break{2, 0.1}) {
		t.Errorf("%+v", m)
	}
	if math.Abs(float64(m.Sleeve.Bore)-(1.5+0.35/3)) > 1e-12 {
		t.Errorf("sleeve of a 2.4 mm incision: %v", float64(m.Sleeve.Bore))
	}
	if e := parsed(t, `{}`); e.Model() != Reference() || e.Break() != StandardBreak() {
		t.Error("nothing given is not the reference model")
	}
}

// Reference is comparable as long as Model holds no slice.
var _ = map[Model]bool{}

func TestParseSettingsRefuses(t *testing.T) {
	for _, c := range []struct{ text, code, field string }{
		{``, "empty-file", ""},
		{`[1]`, "not-json-object", ""},
		{`{"bottle_cm":90} {`, "text-after-object", ""},
		{`{"format":"linn.chamber-settings/2"}`, "unknown-format", "format"},
		{`{"botle_cm":90}`, "unknown-key", "botle_cm"},
		{`{"flow_ml_min":20,"flow_ml_min":30}`, "repeated-key", "flow_ml_min"},
		{`{"bottle_cm":90,"forced_mmhg":50}`, "both-given", "forced_mmhg"},
		{`{"bottle_cm":10,"head_offset_cm":-20}`, "below-eye", "head_offset_cm"},
		{`{"bottle_cm":900}`, "lost-decimal-mark", "bottle_cm"},
		{`{"bottle_cm":-5}`, "out-of-range", "bottle_cm"},
		{`{"vacuum_limit_mmhg":740}`, "lost-decimal-mark", "vacuum_limit_mmhg"},
		{`{"tip_gauge":20.5}`, "unknown-word", "tip_gauge"},
		{`{"tip_gauge":18}`, "out-of-range", "tip_gauge"},
		{`{"incision_mm":1.7}`, "out-of-range", "incision_mm"},
		{`{"pump":"venturi"}`, "unknown-word", "pump"},
		{`{"pump":1}`, "wrong-kind", "pump"},
		{`{"flow_ml_min":true}`, "wrong-kind", "flow_ml_min"},
		{`{"flow_ml_min":{}}`, "wrong-kind", "flow_ml_min"},
		{`{"flow_ml_min":1e1}`, "exponent", "flow_ml_min"},
		{`{"flow_ml_min":"NaN"}`, "not-a-number", "flow_ml_min"},
		{`{"flow_ml_min":""}`, "empty", "flow_ml_min"},
	} {
		_, refused := ParseSettings([]byte(c.text))
		if len(refused) != 1 || refused[0].Code != c.code || refused[0].Field != c.field {
			t.Errorf("%s: %v, want %s %s", c.text, refused, c.code, c.field)
		}
	}
	_, refused := ParseSettings([]byte("{\n \"flow_ml_min\": 900,\n \"botle_cm\": 3}"))
	if len(refused) != 2 || refused[0].Line != 2 || refused[1].Line != 3 || refused[1].Values.Get("nearest") != "bottle_cm" {
		t.Errorf("%+v", refused)
	}
}

func FuzzParseSettings(f *testing.F) {
	f.Add([]byte(`{"bottle_cm":90,"pump":"vacuum","tip_gauge":19,"flow_ml_min":"20,5"}`))
	f.Add([]byte(`{"forced_mmhg":"−5","x_a":{},"format":null}`))
	f.Add([]byte("\xef\xbb\xbf{\"occlusion_s\" : \" 3 \"}"))
	f.Add([]byte(`{"vacuum_limit_mmhg":007}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		s, refused := ParseSettings(data)
		if len(refused) > 0 {
			return
		}
		for i := range Fields {
			field := &Fields[i]
			text := field.Get(&s)
			if text == "" || !field.Number {
				continue
			}
			v, err := unit.ParseNumber(text)
			if err != nil || v < field.Bounds.Low || v > field.Bounds.High {
				t.Fatalf("%s holds %q (%v)", field.Key, text, err)
			}
		}
		out, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		again, refused := ParseSettings(out)
		if len(refused) > 0 || again.Model() != s.Model() || again.Break() != s.Break() {
			t.Fatalf("%s: %v: %+v, was %+v", out, refused, again, s)
		}
		m := s.Model()
		if _, err := m.SteadyOpen(); err != nil {
			t.Fatalf("%s: %v", out, err)
		}
	})
}

func TestAnswerJSON(t *testing.T) {
	s := parsed(t, `{"vacuum_limit_mmhg":600,"occlusion_s":0.1}`)
	a, found, err := s.Run()
	if err != nil {
		t.Fatal(err)
	}
	out, err := a.JSON(found)
	if err != nil {
		t.Fatal(err)
	}
	var m map[string]any
	if err := json.Unmarshal(out, &m); err != nil {
		t.Fatal(err)
	}
	keys := []string{"format", "open_mmhg", "blocked_mmhg", "blocked_vacuum_mmhg", "rise_s", "peak_outflow_ml_min", "minimum_mmhg", "minimum_at_s", "volume_lost_ul", "recovery_s", "collapse", "findings"}
	at := -1
	for _, k := range keys {
		i := bytes.Index(out, []byte(`"`+k+`":`))
		if _, ok := m[k]; !ok || i < at {
			t.Errorf("key %s missing or out of order in %s", k, out)
		}
		at = i
	}
	if len(m) != len(keys) || m["format"] != "linn.chamber/1" || m["rise_s"] != nil || m["open_mmhg"] != float64(a.Open) {
		t.Errorf("%s", out)
	}
	if a, _, err = s.Run(); err != nil {
		t.Fatal(err)
	}
	a.Rise = unit.Known(unit.Second(0.25))
	if out, err = a.JSON(found); err != nil || !bytes.Contains(out, []byte(`"rise_s":0.25`)) {
		t.Errorf("%s %v", out, err)
	}
	a.Minimum = unit.MillimetreHg(math.Copysign(0, -1))
	if out, err = a.JSON(nil); err != nil || bytes.Contains(out, []byte("-0")) || !bytes.HasSuffix(out, []byte(`"findings":[]}`)) {
		t.Errorf("%s %v", out, err)
	}
}

func TestSettingsJSON(t *testing.T) {
	s := parsed(t, `{"bottle_cm":"90,5","pump":"vacuum"}`)
	out, err := json.Marshal(s)
	if want := `{"format":"linn.chamber-settings/1","bottle_cm":"90,5","pump":"vacuum"}`; err != nil || string(out) != want {
		t.Errorf("%s %v", out, err)
	}
	var again Settings
	if err := json.Unmarshal(out, &again); err != nil || again != s {
		t.Errorf("%+v %v", again, err)
	}
	if err := json.Unmarshal([]byte(`{"pump":"none"}`), &again); err == nil {
		t.Error("taken")
	}
}

func TestFindings(t *testing.T) {
	all := `"flow_ml_min":30,"vacuum_limit_mmhg":400,"tip_gauge":20,"incision_mm":2.2,"line_compliance_ul_per_mmhg":0.1,"line_bore_mm":1.5,"leak_ml_min_per_mmhg":0.1,"wound_factor":1.5,"chamber_volume_ul":140,`
	for _, c := range []struct {
		text string
		want string // codes but reference-model, in order
	}{
		{`{` + all + `"bottle_cm":85,"pump":"peristaltic","pump_droop":0.1}`, ""},
		{`{` + all + `"bottle_cm":90,"pump":"peristaltic","pump_droop":0.1}`, "blocked-pressure-high"},
		{`{` + all + `"bottle_cm":90,"pump":"peristaltic"}`, "reference-values blocked-pressure-high"},
		{`{` + all + `"bottle_cm":150,"pump":"peristaltic","pump_droop":0.1}`, "chamber-pressure-high"},
		{`{` + all + `"forced_mmhg":50,"pump":"peristaltic","pump_droop":0.1,"bypass_mm":0.175}`, "chamber-pressure-raised vacuum-limit-not-reached"},
		{`{` + all + `"forced_mmhg":130,"pump":"peristaltic","pump_droop":0.1}`, "infusion-at-ceiling chamber-pressure-high"},
		{`{` + strings.Replace(all, "0.1,", "0.6,", 1) + `"bottle_cm":60,"pump":"peristaltic","pump_droop":0.1}`, "chamber-collapse"},
		{`{` + strings.Replace(all, "400", "150", 1) + `"bottle_cm":80,"pump":"vacuum"}`, "flow-ignored"},
		{`{` + strings.Replace(all, "400", "500", 1) + `"bottle_cm":60,"pump":"vacuum"}`, "flow-ignored chamber-not-formed chamber-collapse"},
		{`{` + all + `"bottle_cm":80,"pump":"peristaltic","pump_droop":0.1,"occlusion_s":0.05}`, "blocked-pressure-high vacuum-limit-not-reached"}, // the column of fluid overshoots the head
	} {
		s := parsed(t, c.text)
		_, found, err := s.Run()
		if err != nil {
			t.Fatal(err)
		}
		var codes []string
		for _, f := range found {
			if f.Code != "reference-model" {
				codes = append(codes, f.Code)
			}
			if f.Severity == finding.Stop || f.Gate {
				t.Errorf("%s: a model blocks nothing", f.Code)
			}
		}
		if got := strings.Join(codes, " "); got != c.want || !finding.Has(found, "reference-model") {
			t.Errorf("%s:\n got %s\nwant %s", c.text, got, c.want)
		}
	}
	_, found, err := (&Settings{}).Run()
	if err != nil || finding.Worst(found) != finding.Caution { // the reference case collapses: below 5 mmHg
		t.Errorf("%v %v", found, err)
	}
}

func TestRunRefusesTables(t *testing.T) {
	for _, s := range []Settings{{TipGauge: unit.Known(Gauge(18))}, {Incision: unit.Known(unit.Millimetre(3.2))}} {
		if _, _, err := s.Run(); err == nil {
			t.Errorf("%+v was taken", s)
		}
	}
}

func TestFieldsRoundTrip(t *testing.T) {
	var s Settings
	for i := range Fields {
		f := &Fields[i]
		if FieldNamed(f.Key) != f {
			t.Errorf("%s is not found", f.Key)
		}
		text := "2.2"
		switch {
		case f.Key == "tip_gauge":
			text = "20"
		case f.Words != nil:
			text = f.Words[0]
		case f.Bounds.High < 2.2 || f.Bounds.Low > 2.2:
			text = unit.Fixed((f.Bounds.Low+f.Bounds.High)/2, 3)
		}
		if r := f.Set(&s, text); r != nil || f.Get(&s) != text {
			t.Errorf("%s: %v, reads %q", f.Key, r, f.Get(&s))
		}
	}
	if FieldNamed("nonesuch") != nil {
		t.Error("found a field that does not exist")
	}
}

func TestTwoFigures(t *testing.T) {
	for v, want := range map[float64]string{104.18: "100", 106: "110", 62.1: "62", 8.84: "8.8", 0.2107: "0.21", 0: "0", 153.3: "150", 224: "220", -12.09: "−12", 0.0345: "0.034", 99.6: "100"} {
		if got := TwoFigures(v); got != want && !(v == 0.0345 && got == "0.035") && !(v == 99.6 && got == "100") {
			t.Errorf("%g reads %s, want %s", v, got, want)
		}
	}
}
