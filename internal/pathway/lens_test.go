package pathway

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"linn/finding"
	"linn/internal/care/plan"
)

// anEye is an eye file with room for more members at %s.
const anEye = `{"side":"right","axial_length_mm":23.5,"k_flat_d":43.5,"k_steep_d":43.5,"lens":{"model":"Lake 3","constants":{"a":118.4}}%s}`

func fileWith(more string) []byte { return []byte(strings.Replace(anEye, "%s", more, 1)) }

func refusedCodes(list finding.Refusals) (out []string) {
	for _, r := range list {
		out = append(out, r.Code+" "+r.Field)
	}
	return out
}

// Everything wrong with a file is told at once, and nothing twice.
func TestLensRefusals(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"nothing wrong", string(fileWith("")), ""},
		{"empty", "", "empty-file "},
		{"not JSON", "side: right", "not-json-object "},
		{"a K that is a radius is not also missing", `{"side":"right","axial_length_mm":23.5,"k_flat_d":7.7,"k_steep_d":43,"lens":{"constants":{"a":118}}}`, "looks-like-radius k_flat_d"},
		{"a constant that is wrong is not also missing", `{"side":"right","axial_length_mm":23.5,"k_flat_d":43,"k_steep_d":43,"lens":{"constants":{"a":11.8}}}`, "out-of-range a"},
		{"lens of the wrong kind", `{"side":"right","axial_length_mm":23.5,"k_flat_d":43,"k_steep_d":43,"lens":"Lake 3"}`, "wrong-kind lens"},
		{"lens null", `{"side":"right","axial_length_mm":23.5,"k_flat_d":43,"k_steep_d":43,"lens":null}`, "missing constants"},
		{"two at once", `{"axial_length_mm":235,"k_flat_d":43,"k_steep_d":43,"lens":{"constants":{"a":118}}}`, "lost-decimal-mark axial_length_mm, missing side"},
		{"shelf reversed", `{"side":"right","axial_length_mm":23.5,"k_flat_d":43,"k_steep_d":43,"lens":{"constants":{"a":118},"from_d":20,"to_d":10}}`, "shelf-reversed to_d"},
	} {
		a, _, refused := Lens([]byte(c.in))
		if got := strings.Join(refusedCodes(refused), ", "); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
		if answered := len(a.Methods) > 0; answered != (c.want == "") {
			t.Errorf("%s: answered %v", c.name, answered)
		}
	}
}

func TestPlanFile(t *testing.T) {
	p, refused := PlanFile(fileWith(`,"lens_d":"20,5","as_of":"2026-03-03","patient":{"name":" Åse  Holm ","identifier":"H-1","sex":"female","birth_date":"1958-04-07"}`), "test")
	if len(refused) > 0 {
		t.Fatal(refused)
	}
	if p.Patient.Name != "Åse Holm" || p.Input.Eye.Age.Value != 67 || p.Input.Eye.Sex != "female" || p.Decision.Power.Value != 20.5 || p.Input.Program != "test" {
		t.Errorf("%+v %+v %+v", p.Patient, p.Input.Eye.Age, p.Decision.Power)
	}
	if p.Sheet.Signed || p.Sheet.Number != "" || p.Sheet.Person.Identifier != "H-1" {
		t.Errorf("the sheet of a file: %+v", p.Sheet)
	}
	var codes []string
	for _, b := range p.Blockers {
		codes = append(codes, b.Code)
	}
	if !slices.Contains(codes, plan.BlockSecond) || slices.Contains(codes, plan.BlockIdentity) {
		t.Errorf("blockers %q", codes)
	}
	raw, err := json.Marshal(p)
	if err != nil || !strings.HasPrefix(string(raw), `{"format":"linn.plan/1",`) {
		t.Errorf("%v %.80s", err, raw)
	}
}

func TestPlanFileRefusals(t *testing.T) {
	for more, want := range map[string]string{
		`,"lens_d":"none"`:                   "not-a-number lens_d",
		`,"lens_d":true`:                     "wrong-kind lens_d",
		`,"lens_d":210`:                      "lost-decimal-mark lens_d",
		`,"patient":"Åse"`:                   "wrong-kind patient",
		`,"patient":{"nmae":"x"}`:            "unknown-key nmae",
		`,"patient":{"name":7}`:              "wrong-kind name",
		`,"patient":{"sex":"f"}`:             "unknown-word sex",
		`,"patient":{"birth_date":"7.4.58"}`: "not-a-date birth_date",
		`,"patient":{"birth_date":"1958"},"as_of":"2026-03-03","age_years":40`: "age-disagrees age_years",
		`,"lens_p":20`: "unknown-key lens_p",
	} {
		_, refused := PlanFile(fileWith(more), "test")
		if got := strings.Join(refusedCodes(refused), ", "); got != want {
			t.Errorf("%s: %q, want %q", more, got, want)
		}
		for _, r := range refused {
			if r.Line == 0 {
				t.Errorf("%s: no place in the file", more)
			}
		}
	}
	if _, refused := PlanFile(fileWith(`,"patient":{"birth_date":"1958"},"as_of":"2026-03-03","age_years":67`), ""); len(refused) > 0 {
		t.Errorf("an age that fits a birth year is refused: %v", refused)
	}
}

// Whatever the file, there is either an answer or a reason.
func FuzzLens(f *testing.F) {
	f.Add(fileWith(""))
	f.Add(fileWith(`,"other_eye":{"side":"left","k_flat_d":40},"target_d":"−1,5"`))
	f.Add([]byte("\xef\xbb\xbf{\"lens\":{\"constants\":{\"a0\":1}}}"))
	f.Fuzz(func(t *testing.T, in []byte) {
		a, _, refused := LensWith(in, LensOptions{Historical: len(in)%2 == 0})
		if (len(refused) == 0) != (a.Format != "") {
			t.Fatalf("%+v with %v", a, refused)
		}
		if _, err := json.Marshal(a); err != nil {
			t.Fatal(err)
		}
		p, refused := PlanFile(in, "")
		if len(refused) > 0 {
			return
		}
		raw, err := json.Marshal(p.Plan)
		if err != nil {
			t.Fatal(err)
		}
		var back plan.Plan
		if err := json.Unmarshal(raw, &back); err != nil {
			t.Fatalf("%v\n%s", err, raw)
		}
		if diff, err := plan.Recompute(&back); err != nil || len(diff) > 0 {
			t.Fatalf("%v %v", diff, err)
		}
	})
}
