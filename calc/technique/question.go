package technique

import (
	"slices"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// Question is one thing that can be answered about an eye, its person or the
// place. A question is answered by yes or no, by a number, or by a word.
type Question struct {
	Key    string
	Group  string // key of the group it is asked in
	Words  []string
	Unit   string
	Bounds unit.Bounds
	Number bool
}

var yesNo = []string{"yes", "no"}

func ask(group string, keys ...string) (list []Question) {
	for _, key := range keys {
		list = append(list, Question{Key: key, Group: group, Words: yesNo})
	}
	return list
}

func number(group, key, name string, low, high float64) []Question {
	return []Question{{Key: key, Group: group, Unit: name, Bounds: unit.Bounds{Low: low, High: high}, Number: true}}
}

func choose(group, key string, words ...string) []Question {
	return []Question{{Key: key, Group: group, Words: words}}
}

// Questions are all inputs of all rules, in the order in which they are asked.
// age_years, axial_length_mm, acd_mm and corneal_thickness_um are keys of the
// eye format and come from there.
var Questions = slices.Concat(
	number("measured", "age_years", "years", 0, 130), number("measured", "axial_length_mm", "mm", 15, 38),
	number("measured", "acd_mm", "mm", 1.5, 5.5), number("measured", "corneal_thickness_um", "µm", 300, 800),

	choose("lens", "cataract", "ordinary", "brunescent", "white", "hypermature", "posterior-polar"),
	number("lens", "nucleus_locs", "", 0.1, 6.9), number("lens", "nucleus_emery", "", 1, 5),
	ask("lens", "exfoliation", "phacodonesis"), number("lens", "zonular_loss_deg", "°", 0, 360),
	ask("lens", "lens_moves_with_gravity", "vitreous_in_chamber"), choose("lens", "lens_glaucoma", "none", "phacolytic", "phacomorphic", "particle"),

	ask("cornea", "cornea_clear", "corneal_opacity", "corneal_oedema", "guttae", "arcus", "peripheral_thinning", "graft"),
	number("cornea", "endothelium_cells_mm2", "cells/mm²", 100, 6000),
	ask("cornea", "angle_closure_past", "iridotomy", "eye_surgery_past", "eye_trauma_past", "fellow_decompensated"),
	choose("cornea", "astigmatism", "low", "with-the-rule", "against-the-rule", "oblique"),

	number("front", "pupil_dilated_mm", "mm", 0.5, 12), number("front", "iop_mmhg", "mmHg", 0, 90),
	ask("front", "lid_or_sac_infection"), choose("front", "uveitis", "none", "active", "quiet"), number("front", "uveitis_quiet_months", "months", 0, 1200),
	ask("front", "bleb", "glaucoma_surgery_planned", "thin_sclera", "tunnel_possible", "iris_work_expected"),

	ask("back", "light_perception", "projection_accurate", "afferent_defect", "fundus_view", "bscan_done"),
	choose("back", "retinopathy", "none", "mild", "moderate", "severe", "proliferative"), ask("back", "macular_oedema", "iris_new_vessels"),
	choose("back", "staphyloma", "yes", "no"), ask("back", "vitrectomy_past", "only_eye", "fellow_complicated"),

	ask("person", "lies_flat", "cooperates", "follows_instructions", "tremor", "nystagmus", "photophobia"),
	number("person", "systolic_mmhg", "mmHg", 50, 300), number("person", "diastolic_mmhg", "mmHg", 20, 200),
	ask("person", "unstable_heart_or_lungs", "diabetes", "glucose_above_local_limit", "bleeding_tendency"),
	choose("person", "alpha_blocker", "none", "tamsulosin", "doxazosin", "other"),
	choose("person", "anticoagulant", "none", "aspirin", "antiplatelet", "dual-antiplatelet", "warfarin", "direct"), number("person", "inr", "", 0.5, 15),
	ask("person", "inr_within_local_range"),

	ask("place", "phaco_available", "power_reliable", "spare_handpiece", "consumables_short", "operator_phaco_independent", "operator_experienced", "ring_available"),
	choose("place", "planned_technique", "phaco", "msics", "ecce"),

	choose("risk", "sex", "female", "male", "other"), ask("risk", "glaucoma", "high_ametropia", "capsule_plaque", "severe_anxiety", "surgeon_doubts"),
	choose("risk", "operator_grade", "consultant", "associate-specialist", "fellow", "registrar", "senior-house-officer"),
)

// QuestionNamed returns the question with the key, nil when there is none.
func QuestionNamed(key string) *Question {
	if i, known := places[key]; known {
		return &Questions[i]
	}
	return nil
}

// places are the places of the questions, by key.
var places = func() map[string]int {
	m := map[string]int{}
	for i, q := range Questions {
		m[q.Key] = i
	}
	return m
}()

// Answer is one recorded answer.
type Answer struct {
	Word   string
	Number float64
	Text   string // as typed
}

// Answers are what was recorded, by key.
type Answers map[string]Answer

// Typed is an answer as typed.
type Typed struct{ Key, Text string }

// Set reads text into the answers, or says why it cannot. Empty text takes the
// answer away: not answered.
func (a Answers) Set(t Typed) *finding.Refusal {
	key, text := t.Key, t.Text
	q := QuestionNamed(key)
	if q == nil {
		return &finding.Refusal{Code: "unknown-key", Field: key, Values: finding.Values{{Name: "nearest", Text: eye.Nearest(key, Keys())}}}
	}
	if text = strings.TrimSpace(text); text == "" {
		delete(a, key)
		return nil
	}
	if q.Number {
		v, err := unit.Parse[unit.Ratio](text, key, q.Unit, q.Bounds)
		if err != nil {
			form := eye.Field{Key: key, Unit: q.Unit, Bounds: q.Bounds, Number: true}
			refused := form.Refusal(err)
			return &refused
		}
		a[key] = Answer{Number: float64(v), Text: text}
		return nil
	}
	if !slices.Contains(q.Words, text) {
		return &finding.Refusal{Code: "unknown-word", Field: key, Values: finding.Values{{Name: "got", Text: eye.Clip(text)},
			{Name: "allowed", Text: strings.Join(q.Words, ", ")}, {Name: "nearest", Text: eye.Nearest(text, q.Words)}}}
	}
	a[key] = Answer{Word: text, Text: text}
	return nil
}

// Keys lists the keys of all questions.
func Keys() (list []string) {
	for _, q := range Questions {
		list = append(list, q.Key)
	}
	return list
}
