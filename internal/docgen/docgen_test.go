package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"linn/calc/lenspower"
	"linn/eye"
)

func root(t *testing.T) string {
	t.Helper()
	dir, err := moduleRoot()
	if err != nil {
		t.Fatal(err)
	}
	return dir
}

// TestDocumentsAreFresh fails when a generated document is not what the
// program would write today.
func TestDocumentsAreFresh(t *testing.T) {
	made, err := documents(root(t))
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range made {
		on, err := os.ReadFile(filepath.Join(root(t), d.path))
		if err != nil || string(on) != d.body {
			t.Errorf("%s is stale: run go run ./internal/docgen (%v)", d.path, err)
		}
	}
}

func TestEveryRuleHasWords(t *testing.T) {
	for _, code := range wordless() {
		t.Errorf("no words for finding %s", code)
	}
}

// TestExampleIsRead reads the example with the program's own parser.
func TestExampleIsRead(t *testing.T) {
	e, others, refused := eye.ParseJSON([]byte(exampleEye), "lens")
	if len(refused) > 0 || e.Side != eye.Right || e.Target.Value != -0.25 || others["lens"].Kind != eye.Object {
		t.Errorf("%+v %v", e, refused)
	}
	if l, refused := lenspower.ParseLens(others["lens"]); len(refused) > 0 || l.Constants.A.Value != 118.4 {
		t.Errorf("%+v %v", l, refused)
	}
}

// TestSchemas holds the examples to the schemas, and shows that the schemas
// refuse what they should.
func TestSchemas(t *testing.T) {
	answer, err := exampleAnswer()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, schema, value, fault string }{
		{"eye", eyeSchema(), exampleEye, ""},
		{"answer", answerSchema(), answer, ""},
		{"unknown key", eyeSchema(), `{"side":"right","axial_lenght_mm":23}`, "axial_lenght_mm"},
		{"ignored key", eyeSchema(), `{"x_ours":[1]}`, ""},
		{"not recorded", eyeSchema(), `{"acd_mm":null,"sex":null}`, ""},
		{"other side", eyeSchema(), `{"side":"OD"}`, "side"},
		{"too long", eyeSchema(), `{"axial_length_mm":235}`, "axial_length_mm"},
		{"in the other eye", eyeSchema(), `{"other_eye":{"k_flat_d":7.8}}`, "other_eye.k_flat_d"},
		{"constant", eyeSchema(), `{"lens":{"constants":{"a":11.84}}}`, "lens.constants.a"},
		{"answer without side", answerSchema(), `{"format":"linn.lens/1","methods":[],"findings":[]}`, "side"},
		{"answer of another format", answerSchema(), `{"format":"linn.lens/2","side":"left","methods":[],"findings":[]}`, "format"},
		{"severity", answerSchema(), `{"format":"linn.lens/1","side":"left","methods":[],"findings":[{"code":"a","severity":"bad"}]}`, "findings[0].severity"},
	} {
		t.Run(c.name, func(t *testing.T) {
			faults := validate(decode(t, c.schema).(map[string]any), decode(t, c.value), "")
			if c.fault == "" && faults != nil || c.fault != "" && (len(faults) != 1 || !strings.HasPrefix(faults[0], c.fault+":")) {
				t.Errorf("faults %q, want %q", faults, c.fault)
			}
		})
	}
}

func decode(t *testing.T, text string) (v any) {
	t.Helper()
	if err := json.Unmarshal([]byte(text), &v); err != nil {
		t.Fatalf("%v in %s", err, text)
	}
	return v
}

// validate holds v to the part of JSON Schema that our schemas use; an unknown
// keyword fails, so that none is believed to work that does not.
func validate(schema map[string]any, v any, at string) (faults []string) {
	bad := func(why string) { faults = append(faults, fmt.Sprintf("%s: %s", at, why)) }
	for _, keyword := range slices.Sorted(maps.Keys(schema)) {
		arg := schema[keyword]
		switch keyword {
		case "type":
			if !hasType(arg, v) {
				bad(fmt.Sprintf("%v is no %v", v, arg))
			}
		case "const":
			if v != arg {
				bad(fmt.Sprintf("%v is not %v", v, arg))
			}
		case "enum":
			if !slices.Contains(arg.([]any), v) {
				bad(fmt.Sprintf("%v is none of %v", v, arg))
			}
		case "minimum", "maximum":
			if n, ok := v.(float64); ok && (keyword == "minimum" && n < arg.(float64) || keyword == "maximum" && n > arg.(float64)) {
				bad(fmt.Sprintf("%v against %s %v", v, keyword, arg))
			}
		case "items":
			for i, item := range v.([]any) {
				faults = append(faults, validate(arg.(map[string]any), item, fmt.Sprintf("%s[%d]", at, i))...)
			}
		case "required":
			for _, key := range arg.([]any) {
				if _, ok := v.(map[string]any)[key.(string)]; !ok {
					faults = append(faults, join(at, key.(string))+": missing")
				}
			}
		case "properties":
			faults = append(faults, members(schema, v, at)...)
		case "description", "patternProperties", "additionalProperties": // read in members
		default:
			bad("unknown keyword " + keyword)
		}
	}
	return faults
}

func members(schema map[string]any, v any, at string) (faults []string) {
	known := schema["properties"].(map[string]any)
	object, _ := v.(map[string]any)
	for _, key := range slices.Sorted(maps.Keys(object)) {
		part, ok := known[key].(map[string]any)
		switch {
		case ok:
			faults = append(faults, validate(part, object[key], join(at, key))...)
		case schema["patternProperties"] != nil && strings.HasPrefix(key, "x_"):
		case schema["additionalProperties"] == false:
			faults = append(faults, join(at, key)+": unknown key")
		}
	}
	return faults
}

func join(at, key string) string { return strings.TrimPrefix(at+"."+key, ".") }

func hasType(want, v any) bool {
	if all, ok := want.([]any); ok {
		return slices.ContainsFunc(all, func(w any) bool { return hasType(w, v) })
	}
	switch v.(type) {
	case nil:
		return want == "null"
	case float64:
		return want == "number"
	case string:
		return want == "string"
	case bool:
		return want == "boolean"
	case map[string]any:
		return want == "object"
	case []any:
		return want == "array"
	}
	return false
}
