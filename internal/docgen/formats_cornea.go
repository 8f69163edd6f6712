package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"

	"linn/internal/pathway"
)

// afterSchema is the keys that a file for `linn cornea` may hold beside those
// of linn.eye/1.
func afterSchema() string {
	var members []member
	for _, f := range pathway.AfterFields {
		members = append(members, member{f.Key, field(f.Field)})
	}
	return object(members, nil, false)
}

// corneaSchema is the JSON Schema of linn.cornea/1.
func corneaSchema() string {
	keys := func(nullable bool, list ...string) (members []member) {
		for _, k := range list {
			kind := `{"type": ["number", "null"]}`
			if !nullable {
				kind = `{"type": "number"}`
			}
			members = append(members, member{k, kind})
		}
		return members
	}
	orNull := func(schema string) string {
		return strings.Replace(schema, `"type": "object"`, `"type": ["object", "null"]`, 1)
	}
	at := orNull(object(append(keys(false, "magnitude_d", "steep_deg"), member{"rule", `{"enum": ["with-the-rule", "against-the-rule", "oblique"]}`}), nil, true))
	text := `{"type": "string"}`
	incision := object(append([]member{{"place", `{"enum": ["superior", "superotemporal", "temporal", "on-axis"]}`}, {"incision_type", text}, {"clock_hour", text}, {"origin", `{"enum": ["own", "judgement", "judgement-nearest"]}`},
		{"excluded", `{"type": "boolean"}`}, {"excluded_for", `{"type": "array", "items": {"type": "string"}}`}, {"side_ports_deg", `{"type": "array", "items": {"type": "number"}}`}, {"after", nested(at)}},
		keys(false, "incision_at_deg", "incision_mm", "incision_effect_d", "incision_effect_sd_d", "expected_d", "within_050_pct")...), nil, true)
	step := object(keys(true, "lens_cylinder_d", "at_cornea_d", "sphere_d", "cylinder_d", "axis_deg", "expected_d", "within_050_pct", "lost_at_deg"), nil, true)
	toric := orNull(object(append(keys(true, "lens_position_mm", "lens_d", "ideal_cylinder_d", "lens_to_cornea", "lens_axis_deg", "marking_sd_deg", "lens_cylinder_d"),
		member{"chosen", nested(orNull(object(append(keys(true, "lens_cylinder_d", "lens_axis_deg", "sphere_d", "cylinder_d", "axis_deg"), member{"differs", `{"type": "boolean"}`}, member{"reason", text}), nil, true)))}, member{"model", text}, member{"method", text}, member{"steps", `{"type": "array", "items": ` + nested(step) + `}`}), nil, true))
	induced := orNull(object(append(keys(true, "x_d", "y_d", "along_incision_d", "torque_d", "magnitude_error_d", "angle_error_deg", "correction_index"), member{"induced", nested(at)}), nil, true))
	r := orNull(object(keys(true, "sphere_d", "cylinder_d", "axis_deg"), nil, true))
	rotation := orNull(object(append(keys(true, "lens_axis_deg", "turn_deg", "by_vectors_deg", "lens_position_mm"), member{"now", nested(r)}, member{"after", nested(r)}), nil, true))
	return object([]member{{"format", `{"const": "linn.cornea/1"}`}, {"side", `{"enum": ["right", "left"]}`}, {"measured", nested(at)}, {"posterior_cornea", text}, {"with_posterior", nested(at)},
		{"surgeon_seat", text}, {"incision", nested(orNull(incision))}, {"after_incision", nested(at)}, {"candidates", `{"type": "array", "items": ` + nested(incision) + `}`},
		{"toric", nested(toric)}, {"induced", nested(induced)}, {"rotation", nested(rotation)}, {"findings", `{"type": "array", "items": {"type": "object", "required": ["code", "severity"]}}`}},
		[]string{"format", "side", "measured", "incision", "toric", "induced", "rotation", "findings"}, true)
}

// exampleCornea is an invented eye before and after surgery.
const exampleCornea = `{
  "format": "linn.eye/1",
  "side": "left",
  "k_flat_d": 42.50,
  "k_steep_d": 44.00, "k_steep_axis_deg": 95,
  "posterior_cornea": "none",
  "surgeon_seat": "superior",
  "incision_type": "scleral-frown",
  "incision_hour": 12,
  "incision_mm": 6.5,
  "internal_lip_mm": 1.5,
  "excluded_hours": "3-4 pannus",
  "k_flat_after_d": 42.75,
  "k_steep_after_d": 43.50, "k_steep_axis_after_deg": 100
}`

// corneaFormats describes what `linn cornea` reads and answers.
func corneaFormats(p *page) error {
	p.say("## linn.cornea/1: cornea, incision, toric lens, and what happened")
	p.say("`linn cornea` reads one linn.eye/1 with its `lens`; `side`, `k_flat_d` and `k_steep_d` are required. `incision_at_deg` is a place on the limbus as seen from in front, 0 at the observer’s right and 90 above, for both eyes; `incision_hour` says the same as a clock hour, 12 above. `excluded_hours` are stretches with a reason, clockwise: `11-1 bleb, 6`. `incision_effect_d` is the surgeon’s own flattening of the incision’s meridian; without it our own judgement is taken and said. Cylinders of a lens are at the lens plane, its mark is its low-power meridian. What was found after surgery stands beside the keys of the eye:")
	p.say("```json\n%s\n```", afterSchema())
	p.say("Astigmatism is a magnitude at its steep meridian. `candidates` are ordered by the mean magnitude to expect with the spread of one eye, those in excluded hours last. `x_d` and `y_d` are the double-angle vector (C·cos 2θ, C·sin 2θ) of after minus before; `along_incision_d` below 0 flattened the incision’s meridian; the errors follow Alpins for an aim of zero, above 0 too much and counter-clockwise. A part that could not be computed is null, and a finding says why.")
	p.say("```json\n%s\n```", corneaSchema())
	p.say("Example, an invented eye:")
	p.say("```json\n%s\n```", exampleCornea)
	answer, _, refused := pathway.Cornea([]byte(exampleCornea))
	if err := refused.Err(); err != nil {
		return fmt.Errorf("the example is refused: %w", err)
	}
	answer.Candidates = answer.Candidates[:1]
	b, err := json.Marshal(answer)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := json.Indent(&out, b, "", "  "); err != nil {
		return err
	}
	p.say("The program’s answer (here the first candidate, to four decimals):")
	p.say("```json\n%s\n```", long.ReplaceAllStringFunc(out.String(), short))
	p.say("`linn cornea --csv` takes the same keys as columns and answers a line a row; `linn cornea --series` says what the rows induced together, as text or with `--json` as linn.cornea-series/1: all eyes first, then by type and place. With both eyes in one table left eyes are mirrored (180 − θ). Ellipses are in the double-angle plane: `deviation` one SD, `prediction` 95 %% for one more eye, `confidence` 95 %% of the centroid; `t2`, `f`, `p` ask whether the centroid is zero (Hotelling).")
	p.say("```\nid,incision_type,incision_at_deg,expected_d,after_d,after_deg,within_050_pct,induced_d,induced_deg,x_d,y_d,along_incision_d,torque_d,lens_cylinder_d,lens_axis_deg,turn_to_deg,findings\n```")
	return nil
}
