package eye_test

import (
	"encoding/json"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linn/eye"
	"linn/finding"
)

func only(t *testing.T, refused finding.Refusals) finding.Refusal {
	t.Helper()
	if len(refused) != 1 {
		t.Fatalf("refused %v, want one reason", refused)
	}
	return refused[0]
}

// The bounds are the input rules of the file format (DESIGN: "Refused outside").
func TestFieldBounds(t *testing.T) {
	for key, b := range map[string][2]float64{
		"axial_length_mm": {15, 38}, "k_flat_d": {30, 60}, "k_steep_d": {30, 60}, "acd_mm": {1.5, 5.5},
		"lens_thickness_mm": {2.5, 6.5}, "white_to_white_mm": {9, 14}, "corneal_thickness_um": {300, 800},
		"keratometric_index": {1.32, 1.34}, "target_d": {-10, 15}, "vertex_mm": {8, 16},
	} {
		f := eye.FieldNamed(key)
		var e eye.Eye
		plain := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
		for _, v := range b {
			if r := f.Set(&e, plain(v)); r != nil {
				t.Errorf("%s %v: %v", key, v, r)
			}
		}
		for _, v := range []float64{b[0] - 0.001, b[1] + 0.001} {
			if r := f.Set(&e, plain(v)); r == nil {
				t.Errorf("%s %v was taken", key, v)
			}
		}
	}
}

func TestRefusals(t *testing.T) {
	for _, c := range []struct{ name, json, code, field, value, want string }{
		{"empty", "", "empty-file", "", "", ""},
		{"blank", " \n\t", "empty-file", "", "", ""},
		{"radius", `{"k_flat_d": 7.8}`, "looks-like-radius", "k_flat_d", "as_power", "43.27"},
		{"lost mark in K", `{"k_steep_d": 4350}`, "lost-decimal-mark", "k_steep_d", "meant", "43.5"},
		{"lost mark in length", `{"axial_length_mm": 235}`, "lost-decimal-mark", "axial_length_mm", "meant", "23.5"},
		{"wrong side", `{"side": "OD"}`, "unknown-word", "side", "allowed", "right, left"},
		{"text in number", `{"acd_mm": "deep"}`, "not-a-number", "acd_mm", "got", "deep"},
		{"exponent", `{"acd_mm": 3e0}`, "exponent", "acd_mm", "", ""},
		{"repeated", `{"side":"left","side":"right"}`, "repeated-key", "side", "", ""},
		{"unknown", `{"axial_lenght_mm": 23}`, "unknown-key", "axial_lenght_mm", "nearest", "axial_length_mm"},
		{"format", `{"format":"linn.eye/9"}`, "unknown-format", "format", "known", "linn.eye/1"},
		{"array", `[1]`, "not-json-object", "", "", ""},
		{"broken", `{"side": "left"`, "not-json", "", "", ""},
		{"tail", `{"side": "left"} x`, "text-after-object", "", "got", "x"},
		{"object in number", `{"acd_mm": {}}`, "wrong-kind", "acd_mm", "wanted", "number"},
		{"number in word", `{"side": 1}`, "wrong-kind", "side", "wanted", "right, left"},
		{"bool", `{"side": true}`, "wrong-kind", "side", "", ""},
		{"fellow", `{"other_eye": {"k_flat_d": 7.7}}`, "looks-like-radius", "other_eye.k_flat_d", "", ""},
		{"fellow of fellow", `{"other_eye": {"other_eye": {}}}`, "unknown-key", "other_eye.other_eye", "", ""},
		{"fellow is text", `{"other_eye": "left"}`, "wrong-kind", "other_eye", "", ""},
		{"date", `{"measured_on": "25.11.2026"}`, "not-a-date", "measured_on", "", ""},
		{"not utf8", "{\"device\": \"\xff\"}", "not-utf8", "", "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, refused := eye.ParseJSON([]byte(c.json))
			r := only(t, refused)
			if r.Code != c.code || r.Field != c.field || c.value != "" && r.Values.Get(c.value) != c.want {
				t.Errorf("got %+v", r)
			}
			if r.Line == 0 || r.Column == 0 {
				t.Errorf("no position: %+v", r)
			}
		})
	}
}

func TestPositions(t *testing.T) {
	_, _, refused := eye.ParseJSON([]byte("\xef\xbb\xbf{\n  \"side\": \"left\",\r\n  \"other_eye\": {\n    \"k_flat_d\": 7.7 }\n}"))
	if r := only(t, refused); r.Line != 4 || r.Column != 5 {
		t.Errorf("at %d:%d, want 4:5", r.Line, r.Column)
	}
}

func TestAllReasonsAreNamed(t *testing.T) {
	_, _, refused := eye.ParseJSON([]byte(`{"side":"up","k_flat_d":7,"acd_mm":9,"wtw":1}`))
	if len(refused) != 4 {
		t.Errorf("%d reasons: %v", len(refused), refused)
	}
}

func TestTakes(t *testing.T) {
	e, others, refused := eye.ParseJSON([]byte(`{"format":"linn.eye/1","x_note":{"any":[1]},"side":"left","axial_length_mm":"23,45",
		"target_d":"−0.50","acd_mm":null,"k_flat_axis_deg":0,"lens":{"a":1},"other_eye":{"side":"right","axial_length_mm":23.5}}`), "lens")
	if refused != nil {
		t.Fatal(refused)
	}
	switch {
	case e.Side != eye.Left, e.AxialLength.Value != 23.45, e.AxialLength.Text != "23,45", e.Target.Value != -0.5,
		e.ACD.Known, e.KFlatAxis.Value != 180, e.Fellow == nil, e.Fellow.AxialLength.Value != 23.5, others["lens"].Text != `{"a":1}`:
		t.Errorf("%+v %v", e, others)
	}
}

func TestSideWords(t *testing.T) {
	if eye.Right.Words() != "RIGHT EYE" || eye.Left.Words() != "LEFT EYE" || eye.Side("").Words() != "SIDE NOT RECORDED" ||
		eye.Right.Other() != eye.Left || eye.Left.Other() != eye.Right {
		t.Error("sides are wrong")
	}
}

// Every field: what Set takes, Get gives back, and the whole eye survives JSON.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := drawEye(t)
		if rapid.Bool().Draw(t, "fellow") {
			fellow := drawEye(t)
			e.Fellow = &fellow
		}
		data, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		var back eye.Eye
		if err := json.Unmarshal(data, &back); err != nil {
			t.Fatalf("%s: %v", data, err)
		}
		again, err := json.Marshal(back)
		if err != nil || string(again) != string(data) {
			t.Fatalf("%s became %s (%v)", data, again, err)
		}
	})
}

func drawEye(t *rapid.T) eye.Eye {
	var e eye.Eye
	for i := range eye.Fields {
		f := &eye.Fields[i]
		if !rapid.Bool().Draw(t, f.Key) {
			continue
		}
		var text string
		switch {
		case f.Number:
			v := rapid.Float64Range(f.Bounds.Low, f.Bounds.High).Draw(t, "v")
			text = strconv.FormatFloat(math.Min(math.Max(math.Round(v*1e4)/1e4, f.Bounds.Low), f.Bounds.High), 'f', -1, 64)
			if rapid.Bool().Draw(t, "comma") {
				text = strings.Replace(text, ".", ",", 1)
			}
		case f.Key == "excluded_hours":
			text = rapid.SampledFrom([]string{"6", "11-1 bleb, 6", "2.5–3; 9 scar"}).Draw(t, "h")
		case f.Words != nil:
			text = rapid.SampledFrom(f.Words).Draw(t, "w")
		case strings.HasSuffix(f.Key, "_on") || f.Key == "as_of":
			text = rapid.SampledFrom([]string{"2026", "2026-11", "2026-11-25"}).Draw(t, "d")
		default:
			text = strings.TrimSpace(rapid.StringMatching(`[a-zA-Z"<>&\\ é]{1,12}`).Draw(t, "s"))
		}
		if r := f.Set(&e, text); r != nil {
			t.Fatalf("%s %q: %v", f.Key, text, r)
		}
		if got := f.Get(&e); got != text && got != strings.TrimSpace(text) {
			t.Fatalf("%s: set %q, got %q", f.Key, text, got)
		}
	}
	return e
}

func FuzzParseJSON(f *testing.F) {
	f.Add([]byte(`{"side":"left","axial_length_mm":23.45,"other_eye":{"k_flat_d":"43,5"}}`))
	f.Add([]byte("\xef\xbb\xbf{}"))
	f.Add([]byte(`{"k_flat_d":7.8,"k_flat_d":7.8}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		e, _, refused := eye.ParseJSON(data)
		for _, r := range refused {
			if r.Code == "" || r.Line < 1 || r.Column < 1 {
				t.Fatalf("%q: refusal without code or position: %+v", data, r)
			}
		}
		if refused != nil {
			return
		}
		for i := range eye.Fields {
			if fld := &eye.Fields[i]; fld.Number {
				var copied eye.Eye
				if text := fld.Get(&e); text != "" && fld.Set(&copied, text) != nil {
					t.Fatalf("%q: %s took %q", data, fld.Key, text)
				}
			}
		}
		out, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		if _, _, again := eye.ParseJSON(out); again != nil {
			t.Fatalf("%q wrote %s, refused %v", data, out, again)
		}
	})
}
