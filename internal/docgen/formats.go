package main

import (
	"encoding/json"
	"fmt"
	"strings"

	"linn/calc/lenspower"
	"linn/eye"
)

// member is one property of a schema: its key and its schema as JSON.
type member struct{ key, schema string }

// object writes the schema of a JSON object, its members in order.
func object(members []member, required []string, open bool) string {
	var b strings.Builder
	b.WriteString("{\n  \"type\": \"object\",\n")
	if len(required) > 0 {
		fmt.Fprintf(&b, "  \"required\": %s,\n", list(required))
	}
	b.WriteString("  \"properties\": {\n")
	for i, m := range members {
		comma := ","
		if i == len(members)-1 {
			comma = ""
		}
		fmt.Fprintf(&b, "    %q: %s%s\n", m.key, m.schema, comma)
	}
	b.WriteString("  },\n")
	if open {
		b.WriteString("  \"patternProperties\": {\"^x_\": true},\n")
	}
	b.WriteString("  \"additionalProperties\": false\n}")
	return b.String()
}

func list(words []string) string {
	b, err := json.Marshal(words)
	if err != nil {
		panic("docgen: " + err.Error())
	}
	return strings.ReplaceAll(string(b), ",", ", ")
}

// field writes the schema of one eye key from the parser's own table. A
// number may also be text, with a comma or a true minus; null is "not
// recorded".
func field(f eye.Field) string {
	var parts []string
	switch {
	case f.Number:
		parts = append(parts, `"type": ["number", "string", "null"]`,
			fmt.Sprintf(`"minimum": %s, "maximum": %s`, number(f.Bounds.Low), number(f.Bounds.High)))
	case f.Words != nil:
		parts = append(parts, `"enum": `+strings.TrimSuffix(list(f.Words), "]")+", null]")
	default:
		parts = append(parts, `"type": ["string", "null"]`)
	}
	if f.Unit != "" {
		parts = append(parts, fmt.Sprintf(`"description": %q`, "in "+f.Unit))
	}
	return "{" + strings.Join(parts, ", ") + "}"
}

func eyeMembers() (members []member) {
	for _, f := range eye.Fields {
		members = append(members, member{f.Key, field(f)})
	}
	return members
}

// eyeSchema is the JSON Schema of linn.eye/1.
func eyeSchema() string {
	format := member{"format", fmt.Sprintf(`{"const": %q}`, eye.Format)}
	members := append([]member{format}, eyeMembers()...)
	members = append(members,
		member{"other_eye", nested(object(eyeMembers(), nil, true))},
		member{"lens", nested(lensSchema())})
	return object(members, nil, true)
}

// lensSchema is the member lens of linn.eye/1: the lens model whose powers are
// asked for, from the parser's own table.
func lensSchema() string {
	var own, constants []member
	for _, f := range lenspower.LensFields {
		m := member{f.Key, field(eye.Field{Key: f.Key, Unit: f.Unit, Bounds: f.Bounds, Number: f.Number, Words: f.Words})}
		if f.Constant {
			constants = append(constants, m)
		} else {
			own = append(own, m)
		}
	}
	return object(append(own, member{"constants", nested(object(constants, nil, true))}), nil, true)
}

// answerSchema is the JSON Schema of linn.lens/1. Readers accept keys they do
// not know: adding some is not a new version.
func answerSchema() string {
	const nullable = `{"type": ["number", "null"]}`
	finding := `{"type": "object", "required": ["code", "severity"], "properties": {"code": {"type": "string"}, "severity": {"enum": ["note", "caution", "stop"]}, "gate": {"type": "boolean"}, "strict": {"type": "boolean"}, "field": {"type": "string"}, "method": {"type": "string"}, "values": {"type": "object"}, "source": {"type": "string"}}}`
	findings := `{"type": "array", "items": ` + finding + `}`
	choice := `{"type": "object", "required": ["power_d", "refraction_d"], "properties": {"power_d": {"type": "number"}, "refraction_d": ` + nullable + `}}`
	method := `{"type": "object", "required": ["method", "version", "lens_position_mm", "power_d", "emmetropia_d", "choices", "findings"], "properties": {"method": {"type": "string"}, "version": {"type": ["string", "number"]}, "lens_position_mm": ` + nullable + `, "power_d": ` + nullable + `, "emmetropia_d": ` + nullable + `, "choices": {"type": "array", "items": ` + choice + `}, "findings": ` + findings + `}}`
	after := `{"type": "object", "required": ["methods", "without_history", "median_power_d", "lowest_power_d", "highest_power_d", "spread_d", "expected_sd_d", "within_050_pct"], "properties": {"methods": {"type": "array", "items": {"type": "string"}}, "without_history": {"type": "integer"}, "median_power_d": ` + nullable + `, "lowest_power_d": ` + nullable + `, "highest_power_d": ` + nullable + `, "spread_d": ` + nullable + `, "expected_sd_d": ` + nullable + `, "within_050_pct": ` + nullable + `}}`
	return "{\n  \"type\": \"object\",\n  \"required\": [\"format\", \"side\", \"methods\", \"findings\"],\n  \"properties\": {\n" +
		"    \"format\": {\"const\": \"linn.lens/1\"},\n    \"side\": {\"enum\": [\"right\", \"left\"]},\n    \"methods\": {\"type\": \"array\", \"items\": " +
		method + "},\n    \"findings\": " + findings + ",\n    \"after_surgery\": " + after + "\n  }\n}"
}

// nested moves a schema's lines inward.
func nested(s string) string { return strings.ReplaceAll(s, "\n", "\n    ") }

// exampleEye is an invented eye; the answer beside it is the program's own.
const exampleEye = `{
  "format": "linn.eye/1",
  "side": "right",
  "age_years": 67,
  "axial_length_mm": 23.41,
  "axial_length_method": "optical",
  "k_flat_d": 43.25, "k_flat_axis_deg": 175,
  "k_steep_d": 44.00, "k_steep_axis_deg": 85,
  "keratometric_index": 1.3375,
  "acd_mm": 3.12,
  "lens_thickness_mm": 4.55,
  "lens_status": "phakic",
  "vitreous": "natural",
  "corneal_surgery": "none",
  "target_d": "−0,25",
  "measured_on": "2026-11-03",
  "x_our_number": "0412",
  "lens": {"model": "Invented 1", "constants": {"a": 118.4, "sf_mm": 1.45, "pacd_mm": 5.2, "a0": 1.53, "a1": 0.4, "a2": 0.1}}
}`

// formatsDocument describes the stable file formats.
func formatsDocument() (string, error) {
	var p page
	p.say("# File formats")
	p.WriteString(generated)
	p.say("Scripts may rely on these. Keys are words with the unit at the end; CSV columns are the same words. Adding keys to an answer is allowed within a version; anything else makes a new one, and both are read for one release.")
	p.say("## linn.eye/1: one eye as it was measured")
	p.say("`format` may be left out. Unknown and repeated keys are refused, naming the nearest known key; keys that begin with `x_` are ignored. A number may be text, with a decimal comma or a true minus (U+2212); NaN, exponents and digit grouping are refused. Leave a key out, or write null, when it was not recorded: zero is a value. Refractions are spherical equivalents at the spectacle plane; lengths are from the corneal epithelium; K is at `keratometric_index`. Keys from `age_months` on are asked only of eyes that ordinary formulas do not fit, and of second eyes. `k_substitute` is an explicit choice where a scar allows no K (`axial_scar` yes): without it both K are required. `linn lens` requires `side`, `axial_length_mm`, `k_flat_d`, `k_steep_d` and one constant. Dates are YYYY-MM-DD, YYYY-MM or YYYY.")
	p.say("The schema is written from the parser's own table of fields.")
	p.say("```json\n%s\n```", eyeSchema())
	p.say("Example, an invented eye:")
	p.say("```json\n%s\n```", exampleEye)
	p.say("## linn.lens/1: what each method answers")
	p.say("`power_d` is unrounded for the target, `emmetropia_d` the same for 0 D. `choices` are the powers on the shelf nearest to it, ascending, with the refraction each would give; empty when the power lies outside the shelf or a stop stands. A number that does not exist is null. After corneal surgery the ordinary methods keep their entries without numbers, the methods made for such eyes follow them, and `after_surgery` sums up those that count (by a constant that was given, and not as another form of one that counts already): median, range and spread of their powers, and the spread of the error to expect. An eye without its own lens, with oil or gas, or under 18 is answered in the same way, once it says what the methods need, by the ordinary methods adapted to it (suffix `-adapted`: the length corrected for velocity and state, the power that oil takes off added) and by the refraction it has now (`refractive-vergence`, `exchange`, `piggyback`); until then a stop stands and `unusual-eye-needs` names each key. `thick-lens` is asked only where `c` is given, and never counts; `srk-2` and `binkhorst-2` only with `--historical`. A method that lacks an input is left out and named by the finding `method-absent`. `findings` codes are listed in docs/findings.md. Readers must accept keys they do not know.")
	p.say("```json\n%s\n```", answerSchema())
	answer, err := exampleAnswer()
	if err != nil {
		return "", err
	}
	p.say("The program's answer to the example (here to four decimals; the program writes all digits):")
	p.say("```json\n%s\n```", answer)
	p.say("## Tables: `linn lens --csv`")
	p.say("Columns are the keys above, flat: the fellow eye's with `other_eye_` before them, the lens's and its constants' as they are, and `id` (the row number when absent) and `lens_d` (the power whose refraction is asked for; the nearest half dioptre when absent). The delimiter is a comma or a semicolon, told from the first line; a byte-order mark and CRLF are accepted. The answer has one line for each row and method, in input order:")
	p.say("```\nid,method,lens_position_mm,power_d,lens_d,refraction_d,findings\n```")
	p.say("Numbers have four decimals; a number that does not exist is an empty cell; codes are joined by `;`. A refused row is one line, `id,,,,,,refused:CODE`, and FILE:LINE:COLUMN with the reason on standard error. Exit status: 0; 1 when a row or an input was refused (the others are answered); 2 wrong usage; 3 the machine failed.")
	trustFormats(&p)
	for _, write := range []func(*page) error{corneaFormats, chamberFormats, instrumentFormats, decideFormats, dicomFormats} {
		if err := write(&p); err != nil {
			return "", err
		}
	}
	return p.String(), nil
}
