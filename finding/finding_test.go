package finding_test

import (
	"encoding/json"
	"testing"

	"linn/finding"
	"linn/source"
)

func TestJSON(t *testing.T) {
	f := finding.Finding{Code: "axial-length-between-eyes", Severity: finding.Caution, Gate: true, Field: "axial_length_mm",
		Values: finding.Values{{Name: "difference", Text: "0.84 mm"}, {Name: "a", Text: `"q"`}}, Source: source.Rajan2008}
	data, err := json.Marshal(f)
	if err != nil {
		t.Fatal(err)
	}
	want := `{"code":"axial-length-between-eyes","severity":"caution","gate":true,"field":"axial_length_mm","values":{"difference":"0.84 mm","a":"\"q\""},"source":"rajan2008"}`
	if string(data) != want {
		t.Errorf("got  %s\nwant %s", data, want)
	}
	var back finding.Finding
	if err := json.Unmarshal(data, &back); err != nil || back.Value("difference") != "0.84 mm" || back.Severity != finding.Caution {
		t.Errorf("%+v %v", back, err)
	}
}

func TestDeclareRefuses(t *testing.T) {
	for name, r := range map[string]finding.Rule{
		"gate on a note": {Code: "test-a", Severity: finding.Note, Gate: true, Ref: source.Ref{Key: source.OwnChoice, Grade: source.Own}},
		"no source":      {Code: "test-b", Severity: finding.Note},
		"no code":        {Severity: finding.Note, Ref: source.Ref{Key: source.OwnChoice, Grade: source.Own}},
	} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("%s was taken", name)
				}
			}()
			finding.Declare(r)
		}()
	}
}

func TestWorst(t *testing.T) {
	if finding.Worst(nil) != 0 || finding.Worst([]finding.Finding{{Severity: finding.Stop}, {Severity: finding.Note}}) != finding.Stop {
		t.Error("Worst is wrong")
	}
}
