package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"

	"linn/calc/dose"
	"linn/calc/technique"
	"linn/eye"
	"linn/finding"
	"linn/internal/pathway"
)

// techniqueSchema is the JSON Schema of linn.technique/1, from the table of
// questions.
func techniqueSchema() string {
	members := []member{{"format", fmt.Sprintf(`{"const": %q}`, pathway.TechniqueFormat)}, {"side", `{"enum": ["right", "left"]}`}}
	for _, q := range technique.Questions {
		members = append(members, member{q.Key, field(eye.Field{Key: q.Key, Unit: q.Unit, Bounds: q.Bounds, Number: q.Number, Words: q.Words})})
	}
	return object(members, []string{"side"}, true)
}

const (
	scalarType = `{"type": ["number", "string", "boolean", "null"]}`
	anObject   = `{"type": "object"}`
)

// doseSchema is the JSON Schema of linn.dose/1, from the tables of the check.
func doseSchema() string {
	var line, limits []member
	for _, key := range dose.Keys() {
		schema := scalarType
		if key == "drug" {
			schema = `{"enum": ` + list(dose.Names()) + `}`
		}
		line = append(line, member{key, schema})
	}
	for _, s := range dose.Settings {
		limits = append(limits, member{s.Key, field(eye.Field{Key: s.Key, Unit: s.Unit, Bounds: s.Bounds, Number: true})})
	}
	bounded := func(key, u string, low, high string) member {
		return member{key, fmt.Sprintf(`{"type": ["number", "string", "null"], "minimum": %s, "maximum": %s, "description": "in %s"}`, low, high, u)}
	}
	return object([]member{{"format", fmt.Sprintf(`{"const": %q}`, pathway.DoseFormat)},
		bounded("weight_kg", "kg", number(dose.WeightBounds.Low), number(dose.WeightBounds.High)), {"weight_lb", `{"type": ["number", "string", "null"]}`},
		bounded("age_years", "years", number(dose.AgeBounds.Low), number(dose.AgeBounds.High)),
		{"allergies", `{"type": ["array", "null"], "items": {"type": "string"}}`},
		{"drugs", nested(`{"type": "array", "items": ` + object(line, []string{"drug", "route"}, true) + `}`)},
		{"limits", nested(object(limits, nil, true))}}, []string{"drugs"}, true)
}

const findingsType = `{"type": "array", "items": {"type": "object", "required": ["code", "severity"]}}`

func decisionSchema() string {
	return object([]member{{"format", fmt.Sprintf(`{"const": %q}`, pathway.DecisionFormat)}, {"side", `{"enum": ["right", "left"]}`},
		{"decision", nested(object([]member{{"version", `{"type": "string"}`}, {"fired", `{"type": "array", "items": {"type": "object", "required": ["id", "kind", "strength", "rests_on", "source", "grade"]}}`},
			{"not_judged", `{"type": "array", "items": {"type": "object", "required": ["id", "lacks"]}}`}, {"unanswered", `{"type": "array", "items": {"type": "string"}}`},
			{"anaesthesia", `{"type": "array", "items": {"type": "object", "required": ["method", "for", "against", "barred"]}}`}, {"conversion_tray", `{"type": "array", "items": {"type": "string"}}`}}, nil, false))},
		{"risks", `{"type": "array", "items": {"type": "object", "required": ["model", "outcome", "probability", "missing", "source", "grade"]}}`}, {"findings", findingsType}},
		[]string{"format", "side", "decision", "risks", "findings"}, false)
}

func checkSchema() string {
	return object([]member{{"format", fmt.Sprintf(`{"const": %q}`, pathway.DoseCheckFormat)},
		{"lines", `{"type": "array", "items": {"type": "object", "required": ["drug", "route", "concentration_mg_ml", "volume_ml", "dose_mg", "target", "times_target", "findings"]}}`},
		{"local_anaesthetic", `{"type": ["object", "null"]}`}, {"findings", findingsType}}, []string{"format", "lines", "local_anaesthetic", "findings"}, false)
}

const exampleTechnique = `{
  "format": "linn.technique/1",
  "side": "right",
  "age_years": 72, "sex": "female",
  "axial_length_mm": 27.4, "staphyloma": "no",
  "cataract": "brunescent", "nucleus_locs": 5.4,
  "iop_mmhg": 17, "pupil_dilated_mm": "6,5",
  "cooperates": true, "follows_instructions": true,
  "planned_technique": "msics"
}`

const exampleDose = `{
  "format": "linn.dose/1",
  "weight_kg": 50,
  "allergies": [],
  "drugs": [
    {"drug": "lidocaine", "route": "peribulbar", "strength_percent": 2, "volume_ml": 5, "prepared_by": "A", "checked_by": "B"},
    {"drug": "cefuroxime", "route": "intracameral", "powder_mg": 750, "diluent_ml": 7.5, "diluent": "made-up-to",
     "take_ml": 1, "dilute_ml": 9, "dilute": "added-to", "volume_ml": 0.1, "prepared_by": "A", "checked_by": "B"}
  ]
}`

// answerOf writes an answer as the program does, rounded.
func answerOf(answer any, refused finding.Refusals) (string, error) {
	if err := refused.Err(); err != nil {
		return "", fmt.Errorf("the example is refused: %w", err)
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	if err := enc.Encode(answer); err != nil {
		return "", err
	}
	return long.ReplaceAllStringFunc(strings.TrimSpace(b.String()), short), nil
}

// decideFormats describes the files of technique and of doses.
func decideFormats(p *page) error {
	p.say("## linn.technique/1: what is found beside the readings")
	p.say("Every key is a question; one that is left out was not answered and is never normal. `yes` and `no` may be true and false. What blood may carry is no key and is refused like any other unknown one.")
	p.say("```json\n%s\n```\n\nExample:\n\n```json\n%s\n```", techniqueSchema(), exampleTechnique)
	p.say("## linn.decision/1: every rule that fired")
	p.say("`fired` lists gates, paths, leans, notes and what speaks for or against a method of anaesthesia, each with the answers it rests on, its source and how well that was read. There is no score. `risks` are published estimates, each of its own outcome; `probability` is null where no published model was made from the planned operation. `low` and `high` span what the unanswered questions could make of it, or, with `interval_95`, the 95 % interval of the source's own count.")
	decision, err := answerOf(techniqueExample())
	if err != nil {
		return err
	}
	p.say("```json\n%s\n```\n\nThe program's answer to the example:\n\n```json\n%s\n```", decisionSchema(), decision)
	p.say("## linn.dose/1: drugs as drawn up")
	p.say("Exactly one of `strength_percent`, `strength_mg_ml`, `strength_one_in` (1 g in N ml), or a powder with its diluent; exactly one of `volume_ml`, `volume_ul`. `diluent` and `dilute` say `added-to` or `made-up-to`. `limits` are the unit's own; what is left out takes the program's default, which is said. An empty list of `allergies` says that none is known.")
	p.say("```json\n%s\n```\n\nExample:\n\n```json\n%s\n```", doseSchema(), exampleDose)
	check, err := answerOf(doseExample())
	if err != nil {
		return err
	}
	p.say("## linn.dose-check/1: the arithmetic")
	p.say("```json\n%s\n```\n\nThe program's answer to the example:\n\n```json\n%s\n```", checkSchema(), check)
	return nil
}

func techniqueExample() (any, finding.Refusals) { return pathway.Technique([]byte(exampleTechnique)) }
func doseExample() (any, finding.Refusals)      { return pathway.Dose([]byte(exampleDose)) }
