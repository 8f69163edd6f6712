package main

import (
	"bytes"
	"encoding/json"
	"fmt"

	"linn/calc/fluidics"
	"linn/eye"
	"linn/internal/pathway"
)

// settingsSchema is the JSON Schema of linn.chamber-settings/1, from the
// parser's own table.
func settingsSchema() string {
	members := []member{{"format", fmt.Sprintf(`{"const": %q}`, fluidics.Format)}}
	for _, f := range fluidics.Fields {
		members = append(members, member{f.Key, field(eye.Field{Key: f.Key, Unit: f.Unit, Bounds: f.Bounds, Number: f.Number, Words: f.Words})})
	}
	return object(members, nil, true)
}

// chamberSchema is the JSON Schema of linn.chamber/1.
func chamberSchema() string {
	number := func(keys ...string) (list []member) {
		for _, k := range keys {
			list = append(list, member{k, `{"type": "number"}`})
		}
		return list
	}
	members := []member{{"format", fmt.Sprintf(`{"const": %q}`, fluidics.AnswerFormat)}}
	members = append(members, number("open_mmhg", "blocked_mmhg", "blocked_vacuum_mmhg")...)
	members = append(members, member{"rise_s", `{"type": ["number", "null"]}`})
	members = append(members, number("peak_outflow_ml_min", "minimum_mmhg", "minimum_at_s", "volume_lost_ul", "recovery_s")...)
	members = append(members, member{"collapse", `{"type": "boolean"}`},
		member{"findings", `{"type": "array", "items": {"type": "object", "required": ["code", "severity"]}}`},
		member{"trace", `{"type": "array", "items": {"type": "object", "required": ["at_s", "chamber_mmhg", "node_mmhg", "irrigation_ml_min", "tip_ml_min", "bypass_ml_min", "leak_ml_min", "volume_ul"]}}`})
	var required []string
	for _, m := range members[:len(members)-1] {
		required = append(required, m.key)
	}
	return object(members, required, true)
}

// exampleSettings are invented; the answer beside them is the program's own.
const exampleSettings = `{
  "format": "linn.chamber-settings/1",
  "bottle_cm": 90,
  "flow_ml_min": 30,
  "vacuum_limit_mmhg": "400",
  "pump": "peristaltic",
  "tip_gauge": 20,
  "incision_mm": 2.2,
  "line_compliance_ul_per_mmhg": 0.1
}`

// chamberFormats describes the settings and the answer of `linn chamber`.
func chamberFormats(p *page) error {
	p.say("## linn.chamber-settings/1: what is set on a machine")
	p.say("`bottle_cm` is the height of the fluid above the eye, or `forced_mmhg` the set pressure of forced infusion: both are refused, neither means 90 cm. `head_offset_cm` is added to the height shown. A vacuum pump sets no flow: `flow_ml_min` is then ignored with a note. `occlusion_s` is how long the tip is blocked (3 s when absent), `break_s` how long it takes to open (0: at once). What is absent takes the reference model's value and is named by the finding `reference-values`. Null is not recorded; unknown and repeated keys are refused.")
	p.say("```json\n%s\n```", settingsSchema())
	p.say("Example:")
	p.say("```json\n%s\n```", exampleSettings)
	p.say("## linn.chamber/1: what a break of the occlusion does")
	p.say("Pressures are above the air's; `open_mmhg` is the exact steady state, `blocked_mmhg` and `blocked_vacuum_mmhg` stand at the end of the occlusion, the vacuum halfway along the aspiration line. `rise_s` runs from the occlusion to 90 %% of the limit and is null when that is not reached. `peak_outflow_ml_min` is the greatest flow through the needle after the break. `minimum_mmhg` is the model's least pressure: a number below 0 only says how much fluid is missing, and no page or text shows it. `volume_lost_ul` counts from before the break to the least volume, `recovery_s` from the break to the last time more than 2 mmHg from the final pressure, within 2.5 s. `collapse` is a least pressure under 5 mmHg, or more volume lost than the chamber holds. With `--trace` the key `trace` holds a sample every 5 ms from the instant the tip is blocked; without `--json` the same keys are the columns of a table. Exit status as for `linn lens`.")
	p.say("```json\n%s\n```", chamberSchema())
	answer, refused := pathway.Chamber([]byte(exampleSettings))
	if err := refused.Err(); err != nil {
		return fmt.Errorf("the example is refused: %w", err)
	}
	b, err := answer.JSON()
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := json.Indent(&out, b, "", "  "); err != nil {
		return err
	}
	p.say("The program's answer to the example (here to four decimals):")
	p.say("```json\n%s\n```", long.ReplaceAllStringFunc(out.String(), short))
	return calibrationFormats(p)
}

// measuredSchema is the JSON Schema of linn.calibration/1, from the parser's
// own table.
func measuredSchema() string {
	plain := func(f fluidics.Field) member {
		return member{f.Key, field(eye.Field{Key: f.Key, Unit: f.Unit, Bounds: f.Bounds, Number: f.Number, Words: f.Words})}
	}
	members := []member{{"format", fmt.Sprintf(`{"const": %q}`, fluidics.MeasuredFormat)}, {"machine", `{"type": "string"}`},
		plain(*fluidics.FieldNamed("tip_gauge")), plain(*fluidics.FieldNamed("incision_mm"))}
	for _, part := range fluidics.MeasuredParts {
		var keys []string
		var of []member
		for _, f := range part.Fields {
			keys, of = append(keys, f.Key), append(of, plain(f))
		}
		members = append(members, member{part.Key, nested(`{"type": "array", "items": ` + object(of, keys, true) + "}")})
	}
	return object(members, nil, true)
}

const exampleMeasured = `{
  "format": "linn.calibration/1",
  "machine": "Theatre 2",
  "tip_gauge": 20,
  "incision_mm": 2.2,
  "head": [{"true_cm": 96, "displayed_cm": 90}],
  "free_flow": [{"head_cm": 60, "volume_ml": 80, "time_s": 70}, {"head_cm": 90, "volume_ml": 110, "time_s": 69}, {"head_cm": 110, "volume_ml": 130, "time_s": 70}],
  "rise": [{"flow_ml_min": 20, "vacuum_limit_mmhg": 400, "t50_s": 0.18, "t90_s": 0.33}, {"flow_ml_min": 40, "vacuum_limit_mmhg": 400, "t50_s": 0.09, "t90_s": 0.165}],
  "gauge": [{"shown_mmhg": 300, "true_mmhg": 339}, {"shown_mmhg": 500, "true_mmhg": 543}],
  "leak": [{"irrigated_ml": 190, "aspirated_ml": 63, "time_s": 600, "mean_pressure_mmhg": 45}]
}`

// calibrationFormats describes the file and the answer of `linn calibrate`.
func calibrationFormats(p *page) error {
	p.say("## linn.calibration/1: what was measured on a machine")
	p.say("`head`: the height of the fluid's surface (or the vent) above the eye by tape, and what the machine displays. `free_flow`: sleeve and needle in free air at eye height, aspiration off, into a measuring cylinder, at two heights or more; `tip_gauge` and `incision_mm` say which needle and sleeve. `rise`: tip blocked in a test chamber, seconds from the pedal to 50 %% and 90 %% of the limit, at two flows or more. `gauge`: the console beside a calibrated gauge, at two vacuums or more. `leak`: an operation's irrigated and aspirated volume, the time with irrigation on and the mean pressure. Every key of a measurement is needed; a part that was not measured is left out.")
	p.say("```json\n%s\n```", measuredSchema())
	p.say("Example:")
	p.say("```json\n%s\n```", exampleMeasured)
	p.say("## linn.calibrated/1: what the measurements say")
	p.say("Each value with its 95 %% interval; `low` and `high` are null where there are only as many measurements as unknowns, the whole is null where nothing was measured or the part was refused. `refused` names the parts that the data cannot support: `too-few`, `too-alike`, `impossible`, `wider-than-it` or the code of a refusal; the command then ends with 1 and the rest is written. `complete`: head, irrigation and line are the machine's own.")
	m, fit, refused := pathway.Calibrate([]byte(exampleMeasured))
	if err := refused.Err(); err != nil {
		return fmt.Errorf("the example is refused: %w", err)
	}
	b, err := fit.JSON(m.Machine)
	if err != nil {
		return err
	}
	var out bytes.Buffer
	if err := json.Indent(&out, b, "", "  "); err != nil {
		return err
	}
	p.say("The program's answer to the example (here to four decimals):")
	p.say("```json\n%s\n```", long.ReplaceAllStringFunc(out.String(), short))
	return nil
}
