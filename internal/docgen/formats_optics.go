package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"regexp"

	"linn/internal/pathway"
)

// instrumentSchema is the JSON Schema of linn.eye-model/1.
func instrumentSchema() string {
	const nullable, array = `{"type": ["number", "null"]}`, `{"type": "array"}`
	numbers := func(keys ...string) string {
		var list []member
		for _, k := range keys {
			list = append(list, member{k, nullable})
		}
		return nested(object(list, nil, true))
	}
	members := []member{
		{"format", `{"const": "linn.eye-model/1"}`}, {"side", `{"enum": ["right", "left"]}`}, {"target_d", nullable}, {"pupil_mm", nullable},
		{"lens", nested(object([]member{{"model", `{"type": "string"}`}, {"power_d", nullable}, {"index", nullable}, {"optic_mm", nullable}, {"overall_mm", nullable}, {"thickness_mm", nullable}, {"edge_mm", nullable}, {"front_radius_mm", nullable}, {"back_radius_mm", nullable}}, nil, true))},
		{"places", numbers("cornea_back_mm", "iris_mm", "lens_front_mm", "lens_edge_mm", "lens_back_mm", "retina_mm", "cornea_front_radius_mm", "cornea_back_radius_mm", "white_to_white_mm")},
		{"rays", `{"type": "array", "items": {"type": "array", "items": {"type": "array", "items": {"type": "number"}, "minItems": 2, "maxItems": 2}}}`},
		{"predicted_d", nullable}, {"cylinder_d", nullable}, {"axis_deg", nullable}, {"residual_sphere_d", nullable}, {"model_refraction_d", nullable},
		{"steps", array}, {"through_focus", array}, {"lens_moved", array}, {"sureness", `{"type": ["object", "null"]}`},
		{"findings", `{"type": "array", "items": {"type": "object", "required": ["code", "severity"]}}`},
	}
	var required []string
	for _, m := range members {
		required = append(required, m.key)
	}
	return object(members, required, true)
}

// manyRays are the rays of an example, left out of the document.
var manyRays = regexp.MustCompile(`(?s)"rays": \[.*?\n  \],`)

// instrumentFormats describes the answer of `linn eye`.
func instrumentFormats(p *page) error {
	p.say("## linn.eye-model/1: one eye as an optical instrument")
	p.say("`linn eye` takes the file of `linn plan`; the power is `lens_d`, else the recommended one. `places` are on the axis from the corneal vertex; `lens_edge_mm` is the plane of the optic's edge. `rays` are z and y of each ray where it meets a surface, light from far away. `predicted_d` is the median of the lens methods; `model_refraction_d` is what the drawn eye itself would have, which only shows how far the drawing is from the prediction. `steps` hold for each power near the chosen one the refraction and the acuity without spectacles in logMAR, far away, at 67 and 40 cm (null beyond 4 D of blur); `through_focus` the same by the vergence of the object, with the Strehl ratio at 555 nm; `lens_moved` the change of the refraction when the lens is tilted or shifted. `sureness` is made from 20,000 drawn eyes, the same every time: chances in percent within 0.25, 0.50, 0.75 and 1.00 D of the target, of a surprise (more than 2 D), and what each change would buy; null where the spread is not known, as after corneal surgery.")
	p.say("```json\n%s\n```", instrumentSchema())
	in, refused := pathway.InstrumentFile([]byte(exampleEye), "")
	if err := refused.Err(); err != nil {
		return fmt.Errorf("the example is refused: %w", err)
	}
	in.Steps, in.Through, in.Moved, in.Findings = in.Steps[:1], in.Through[:1], in.Moved[:1], in.Findings[:1]
	in.Sure.Steps, in.Sure.Methods, in.Sure.Buys = in.Sure.Steps[:1], in.Sure.Methods[:1], in.Sure.Buys[:1]
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(in); err != nil {
		return err
	}
	text := long.ReplaceAllStringFunc(string(bytes.TrimSpace(b.Bytes())), short)
	p.say("The program's answer to the example of linn.eye/1 (here to four decimals, lists cut to their first entry, rays left out):")
	p.say("```json\n%s\n```", manyRays.ReplaceAllString(text, `"rays": [],`))
	return nil
}
