package lenspower

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"linn/eye"
	"linn/unit"
)

// lensMember finds the "lens" object of a file.
func lensMember(t testing.TB, file string) eye.Member {
	t.Helper()
	list, refused := eye.Members([]byte(file))
	for _, m := range list {
		if m.Key == "lens" {
			return m
		}
	}
	t.Fatalf("no lens in %s: %v", file, refused)
	return eye.Member{}
}

func TestParseLens(t *testing.T) {
	l, refused := ParseLens(lensMember(t, `{"side":"right","lens":{"model":" Alba 60 ","constants":{"a":118.4,"sf_mm":"1,84","pacd_mm":null,"a0":"−0.769","a1":0.234,"a2":0.217,"c":0.39,"x_note":[1]},
		"from_d":-5,"to_d":"+30","step_d":0.25,"index":1.49,"thickness_mm":0.8,"shape_factor":0,"optic_mm":6,"x_mine":{}}}`))
	if refused != nil {
		t.Fatal(refused)
	}
	if l.Model != "Alba 60" || l.From != -5 || l.To != 30 || l.Step != 0.25 || l.Constants.A.Value != 118.4 || l.Constants.SF.Value != 1.84 || l.Constants.SF.Text != "1,84" ||
		l.Constants.PACD.Known || l.Constants.A0.Value != -0.769 || l.Constants.A1.Value != 0.234 || l.Constants.A2.Value != 0.217 || l.Constants.C.Value != 0.39 ||
		l.Index.Value != 1.49 || l.Thickness.Value != 0.8 || !l.ShapeFactor.Known || l.ShapeFactor.Value != 0 || l.Optic.Value != 6 {
		t.Errorf("%+v", l)
	}
}

func TestParseLensDefaults(t *testing.T) {
	for _, text := range []string{`{"lens":{}}`, `{"lens":{"constants":{}}}`, `{"lens":null}`, `{"lens":{"model":null,"constants":null,"from_d":null,"to_d":null,"step_d":null}}`} {
		l, refused := ParseLens(lensMember(t, text))
		if refused != nil || !reflect.DeepEqual(l, NewLens()) || l.From != -10 || l.To != 40 || l.Step != 0.5 {
			t.Errorf("%s: %+v, %v", text, l, refused)
		}
	}
}

func TestParseLensRefuses(t *testing.T) {
	for _, c := range []struct{ name, lens, want string }{
		{"not an object", `"Alba"`, "wrong-kind lens 2:2 object"},
		{"unknown key", `{"modell":"Alba"}`, "unknown-key modell 2:10 model"},
		{"unknown constant", `{"constants":{"acd_mm":5}}`, "unknown-key acd_mm 2:23 pacd_mm"},
		{"constant outside its object", `{"a":118.4}`, "unknown-key a 2:10 constants.a"},
		{"shelf inside the constants", `{"constants":{"from_d":1}}`, "unknown-key from_d 2:23 lens.from_d"},
		{"repeated key", `{"from_d":1,"from_d":2}`, "repeated-key from_d 2:21 "},
		{"repeated constant", `{"constants":{"a":118,"a":119}}`, "repeated-key a 2:31 "},
		{"constants as a list", `{"constants":[118.4]}`, "wrong-kind constants 2:10 object"},
		{"A too low", `{"constants":{"a":109.9}}`, "out-of-range a 2:23 "},
		{"A too high", `{"constants":{"a":122.1}}`, "out-of-range a 2:23 "},
		{"A without its mark", `{"constants":{"a":1184}}`, "lost-decimal-mark a 2:23 "},
		{"A in words", `{"constants":{"a":"high"}}`, "not-a-number a 2:23 "},
		{"empty", `{"constants":{"a":""}}`, "empty a 2:23 "},
		{"exponent", `{"constants":{"a":1.184e2}}`, "exponent a 2:23 "},
		{"true", `{"constants":{"a":true}}`, "wrong-kind a 2:23 number"},
		{"model as a number", `{"model":60}`, "wrong-kind model 2:10 text"},
		{"an object for a number", `{"index":{}}`, "wrong-kind index 2:10 number"},
		{"no step", `{"step_d":0}`, "out-of-range step_d 2:10 "},
		{"shelf upside down", `{"from_d":20,"to_d":10}`, "shelf-reversed to_d 2:2 "},
		{"place on a later line", "{\n\n  \"constants\": {\n \"aa\": 1}}", "unknown-key aa 5:2 a"},
		{"two at once", `{"colour":1,"constants":{"a":1}}`, "unknown-key colour 2:10 ; out-of-range a 2:34 "},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, refused := ParseLens(lensMember(t, "{\n \"lens\":"+c.lens+"}"))
			var got []string
			for _, r := range refused {
				got = append(got, fmt.Sprintf("%s %s %d:%d %s", r.Code, r.Field, r.Line, r.Column, r.Values.Get("nearest")+r.Values.Get("wanted")))
			}
			if s := strings.Join(got, "; "); s != c.want {
				t.Errorf("got %q, want %q", s, c.want)
			}
		})
	}
}

func TestLensFields(t *testing.T) {
	want := "model,a,sf_mm,pacd_mm,a0,a1,a2,c,from_d,to_d,step_d,index,thickness_mm,shape_factor,optic_mm,cylinder_from_d,cylinder_to_d,cylinder_step_d,axis_marks,made_for,one_piece_soft_acrylic"
	var keys []string
	for i := range LensFields {
		f := &LensFields[i]
		keys = append(keys, f.Key)
		if LensFieldNamed(f.Key) != f || f.Number && f.Bounds.Low >= f.Bounds.High {
			t.Errorf("%+v", f)
		}
		if !f.Number {
			continue
		}
		for _, edge := range []float64{f.Bounds.Low, f.Bounds.High} {
			l := NewLens()
			if r := f.Set(&l, plain(edge)); r != nil || f.Get(&l) != plain(edge) {
				t.Errorf("%s at its bound: %v, reads %q", f.Key, r, f.Get(&l))
			}
		}
		for _, beyond := range []float64{f.Bounds.Low - 0.01, f.Bounds.High + 0.01} {
			l := NewLens()
			if r := f.Set(&l, plain(beyond)); r == nil || r.Field != f.Key || !reflect.DeepEqual(l, NewLens()) {
				t.Errorf("%s = %g: %v, %+v", f.Key, beyond, r, l)
			}
		}
	}
	if got := strings.Join(keys, ","); got != want {
		t.Errorf("%s", got)
	}
	if a := LensFieldNamed("a"); a.Bounds != (unit.Bounds{Low: 110, High: 122}) || LensFieldNamed("A") != nil {
		t.Errorf("%+v", a)
	}
}

// TestFieldWithoutText writes a value that did not come from text.
func TestFieldWithoutText(t *testing.T) {
	l := NewLens()
	l.Constants.A = unit.Known(unit.Constant(118.4))
	if got := LensFieldNamed("a").Get(&l); got != "118.4" {
		t.Errorf("%q", got)
	}
	if got := LensFieldNamed("sf_mm").Get(&l); got != "" {
		t.Errorf("%q", got)
	}
}

func TestLensJSON(t *testing.T) {
	l := NewLens()
	for key, text := range map[string]string{"model": `Alba "60"`, "a": "118,4", "sf_mm": "1.84", "a0": "−0.769", "index": "1.49"} {
		if r := LensFieldNamed(key).Set(&l, text); r != nil {
			t.Fatal(r)
		}
	}
	text, err := json.Marshal(l)
	want := `{"model":"Alba \"60\"","constants":{"a":"118,4","sf_mm":1.84,"a0":"−0.769"},"from_d":-10,"to_d":40,"step_d":0.5,"index":1.49}`
	if err != nil || string(text) != want {
		t.Errorf("%s, %v", text, err)
	}
	var back Lens
	if err := json.Unmarshal(text, &back); err != nil || !reflect.DeepEqual(back, l) {
		t.Errorf("%+v, %v", back, err)
	}
	if err := json.Unmarshal([]byte(`{"colour":1}`), &back); err == nil {
		t.Error("an unknown key was taken")
	}
}

// FuzzParseLens: what is taken lies within its bounds, and what is written of
// it reads back the same.
func FuzzParseLens(f *testing.F) {
	f.Add(`{"model":"Alba","constants":{"a":118.4,"a0":"−0,769"},"from_d":5,"to_d":30,"step_d":0.5}`)
	f.Add(`{"constants":{"a":null},"x_":[{}],"optic_mm":"6"}`)
	f.Add("{\"model\":\"\\u0000\u2028\",\"from_d\":\"+1.0\"}")
	f.Add(`{"constants":{"a":118,"a":119}}`)
	f.Fuzz(func(t *testing.T, text string) {
		l, refused := ParseLens(eye.Member{Key: "lens", Kind: eye.Object, Text: text})
		for _, r := range refused {
			if r.Code == "" || r.Line < 1 && r.Column < 1 && r.Code != "shelf-reversed" {
				t.Fatalf("a refusal without reason or place: %+v", r)
			}
		}
		if refused != nil {
			return
		}
		if l.To < l.From || !(l.Step > 0) {
			t.Fatalf("shelf %+v", l)
		}
		for i := range LensFields {
			form := &LensFields[i]
			got := form.Get(&l)
			if !form.Number || got == "" {
				continue
			}
			v, err := unit.ParseNumber(got)
			if err != nil || v < form.Bounds.Low || v > form.Bounds.High {
				t.Fatalf("%s is %q: %v", form.Key, got, err)
			}
		}
		again, err := json.Marshal(l)
		if err != nil {
			t.Fatal(err)
		}
		var back Lens
		if err := json.Unmarshal(again, &back); err != nil || !reflect.DeepEqual(l, back) {
			t.Fatalf("%s reads back as %+v, not %+v: %v", again, back, l, err)
		}
	})
}
