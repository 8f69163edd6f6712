package technique

import (
	"math/rand/v2"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"linn/eye"
	"linn/finding"
)

// answers reads "key=text;key=text".
func answers(t testing.TB, text string) Answers {
	t.Helper()
	a := Answers{}
	for _, part := range strings.Split(text, ";") {
		if part == "" {
			continue
		}
		key, value, _ := strings.Cut(part, "=")
		if r := a.Set(Typed{key, value}); r != nil {
			t.Fatalf("%s: %v", part, r)
		}
	}
	return a
}

// table is the truth of each rule, written from its words: answers with which
// it fires, does not, or cannot be judged. Limits are tried at and beside
// themselves.
var table = map[string]struct{ fires, not, open []string }{
	"infection-first":   {[]string{"lid_or_sac_infection=yes"}, []string{"lid_or_sac_infection=no"}, []string{""}},
	"benefit-uncertain": {[]string{"light_perception=no", "fundus_view=no;bscan_done=no", "fundus_view=no", "afferent_defect=yes", "projection_accurate=no;bscan_done=no"}, []string{"light_perception=yes;projection_accurate=yes;afferent_defect=no;fundus_view=yes", "light_perception=yes;fundus_view=no;bscan_done=yes"}, []string{"", "light_perception=yes;projection_accurate=yes;afferent_defect=no"}},
	"uveitis-first":     {[]string{"uveitis=active", "uveitis=quiet;uveitis_quiet_months=2.9", "uveitis=quiet"}, []string{"uveitis=none", "uveitis=quiet;uveitis_quiet_months=3"}, []string{""}},
	"pressure-first":    {[]string{"iop_mmhg=30.5"}, []string{"iop_mmhg=30", "iop_mmhg=0"}, []string{""}},
	"pressure-raised":   {[]string{"iop_mmhg=25.5", "iop_mmhg=30"}, []string{"iop_mmhg=25", "iop_mmhg=31"}, []string{""}},
	"retina-first":      {[]string{"macular_oedema=yes", "retinopathy=proliferative", "iris_new_vessels=yes"}, []string{"macular_oedema=no;retinopathy=severe;iris_new_vessels=no"}, []string{"", "macular_oedema=no"}},
	"zonule-lost":       {[]string{"zonular_loss_deg=181", "lens_moves_with_gravity=yes", "vitreous_in_chamber=yes"}, []string{"zonular_loss_deg=180;lens_moves_with_gravity=no;vitreous_in_chamber=no"}, []string{"", "zonular_loss_deg=90"}},
	"zonule-grey":       {[]string{"zonular_loss_deg=120", "zonular_loss_deg=180"}, []string{"zonular_loss_deg=119", "zonular_loss_deg=181"}, []string{""}},
	"zonule-weak":       {[]string{"zonular_loss_deg=1", "zonular_loss_deg=119", "phacodonesis=yes", "exfoliation=yes"}, []string{"zonular_loss_deg=0;phacodonesis=no;exfoliation=no", "zonular_loss_deg=120;phacodonesis=no;exfoliation=no"}, []string{"", "exfoliation=no"}},
	"cornea-failing":    {[]string{"endothelium_cells_mm2=499", "corneal_oedema=yes", "guttae=yes;corneal_thickness_um=641"}, []string{"endothelium_cells_mm2=500;corneal_oedema=no;guttae=no", "endothelium_cells_mm2=500;corneal_oedema=no;guttae=yes;corneal_thickness_um=640"}, []string{"", "endothelium_cells_mm2=900;corneal_oedema=no"}},
	"count-low":         {[]string{"endothelium_cells_mm2=500", "endothelium_cells_mm2=999"}, []string{"endothelium_cells_mm2=499", "endothelium_cells_mm2=1000"}, []string{""}},
	"count-middle":      {[]string{"endothelium_cells_mm2=1000", "endothelium_cells_mm2=1999"}, []string{"endothelium_cells_mm2=999", "endothelium_cells_mm2=2000"}, []string{""}},
	"count-unknown-at-risk": {[]string{"guttae=yes", "angle_closure_past=yes", "iridotomy=yes", "eye_surgery_past=yes", "eye_trauma_past=yes", "fellow_decompensated=yes"},
		[]string{"endothelium_cells_mm2=2500;guttae=yes", "guttae=no;angle_closure_past=no;iridotomy=no;eye_surgery_past=no;eye_trauma_past=no;fellow_decompensated=no"}, []string{"", "guttae=no"}},
	"most-experienced": {[]string{"only_eye=yes", "cataract=posterior-polar", "vitrectomy_past=yes", "graft=yes", "fellow_complicated=yes", "axial_length_mm=20.4", "axial_length_mm=27.1"},
		[]string{"only_eye=no;cataract=white;vitrectomy_past=no;graft=no;fellow_complicated=no;axial_length_mm=20.5", "only_eye=no;cataract=white;vitrectomy_past=no;graft=no;fellow_complicated=no;axial_length_mm=27"}, []string{"", "axial_length_mm=23"}},
	"position":       {[]string{"lies_flat=no", "cooperates=no", "tremor=yes"}, []string{"lies_flat=yes;cooperates=yes;tremor=no"}, []string{"", "lies_flat=yes"}},
	"blood-pressure": {[]string{"systolic_mmhg=180", "diastolic_mmhg=110", "unstable_heart_or_lungs=yes"}, []string{"systolic_mmhg=179;diastolic_mmhg=109;unstable_heart_or_lungs=no"}, []string{"", "systolic_mmhg=150"}},
	"glucose":        {[]string{"glucose_above_local_limit=yes"}, []string{"glucose_above_local_limit=no"}, []string{""}},
	"floppy-iris":    {[]string{"alpha_blocker=tamsulosin", "alpha_blocker=doxazosin", "alpha_blocker=other"}, []string{"alpha_blocker=none"}, []string{""}},

	"lean-hard-nucleus":      {[]string{"cataract=brunescent", "nucleus_locs=5", "nucleus_emery=4"}, []string{"cataract=ordinary;nucleus_locs=4.9;nucleus_emery=3"}, []string{"", "nucleus_locs=3"}},
	"lean-white":             {[]string{"cataract=white"}, []string{"cataract=hypermature"}, []string{""}},
	"lean-hypermature":       {[]string{"cataract=hypermature", "lens_glaucoma=phacolytic", "lens_glaucoma=phacomorphic"}, []string{"cataract=white;lens_glaucoma=none", "cataract=white;lens_glaucoma=particle"}, []string{"", "cataract=white"}},
	"lean-easy-eye":          {[]string{"nucleus_locs=3.9;cornea_clear=yes;pupil_dilated_mm=6"}, []string{"nucleus_locs=4", "cornea_clear=no", "pupil_dilated_mm=5.9"}, []string{"", "nucleus_locs=2;cornea_clear=yes"}},
	"lean-place":             {[]string{"phaco_available=no", "power_reliable=no", "spare_handpiece=no", "consumables_short=yes"}, []string{"phaco_available=yes;power_reliable=yes;spare_handpiece=yes;consumables_short=no"}, []string{"", "phaco_available=yes"}},
	"lean-operator":          {[]string{"operator_phaco_independent=no"}, []string{"operator_phaco_independent=yes"}, []string{""}},
	"lean-hazy-cornea":       {[]string{"corneal_opacity=yes"}, []string{"corneal_opacity=no"}, []string{""}},
	"lean-spare-conjunctiva": {[]string{"bleb=yes", "glaucoma_surgery_planned=yes", "thin_sclera=yes", "bleeding_tendency=yes"}, []string{"bleb=no;glaucoma_surgery_planned=no;thin_sclera=no;bleeding_tendency=no"}, []string{"", "bleb=no"}},
	"lean-astigmatism":       {[]string{"astigmatism=against-the-rule", "astigmatism=with-the-rule", "astigmatism=oblique"}, []string{"astigmatism=low"}, []string{""}},
	"lean-low-count":         {[]string{"endothelium_cells_mm2=999;cataract=ordinary;nucleus_locs=3;nucleus_emery=2"}, []string{"endothelium_cells_mm2=1000", "endothelium_cells_mm2=900;cataract=brunescent"}, []string{"", "endothelium_cells_mm2=900"}},
	"lean-low-count-hard":    {[]string{"endothelium_cells_mm2=999;nucleus_locs=5"}, []string{"endothelium_cells_mm2=1000", "endothelium_cells_mm2=900;cataract=ordinary;nucleus_locs=3;nucleus_emery=2"}, []string{"", "nucleus_locs=6"}},
	"lean-small-pupil":       {[]string{"pupil_dilated_mm=4.9"}, []string{"pupil_dilated_mm=5"}, []string{""}},
	"lean-shallow":           {[]string{"acd_mm=2.49"}, []string{"acd_mm=2.5"}, []string{""}},
	"lean-no-tunnel":         {[]string{"tunnel_possible=no"}, []string{"tunnel_possible=yes"}, []string{""}},
	"lean-graft":             {[]string{"graft=yes"}, []string{"graft=no"}, []string{""}},

	"note-arcus":          {[]string{"arcus=yes"}, []string{"arcus=no"}, []string{""}},
	"note-thin-periphery": {[]string{"peripheral_thinning=yes"}, []string{"peripheral_thinning=no"}, []string{""}},
	"note-diabetes":       {[]string{"diabetes=yes"}, []string{"diabetes=no"}, []string{""}},

	"path-lens-glaucoma": {[]string{"lens_glaucoma=phacolytic", "lens_glaucoma=phacomorphic", "lens_glaucoma=particle"}, []string{"lens_glaucoma=none"}, []string{""}},
	"path-child":         {[]string{"age_years=17.9", "age_years=0"}, []string{"age_years=18"}, []string{""}},

	"needle-length-unknown":     {[]string{""}, []string{"axial_length_mm=23"}, nil},
	"needle-long":               {[]string{"axial_length_mm=26", "staphyloma=yes", "axial_length_mm=23;staphyloma=yes"}, []string{"axial_length_mm=25.99;staphyloma=no"}, []string{"", "axial_length_mm=23"}},
	"needle-doubt":              {[]string{"axial_length_mm=25", "axial_length_mm=25.9"}, []string{"axial_length_mm=24.9", "axial_length_mm=26"}, []string{""}},
	"needle-staphyloma-unknown": {[]string{""}, []string{"staphyloma=no", "staphyloma=yes"}, nil},
	"needle-antiplatelets":      {[]string{"anticoagulant=dual-antiplatelet"}, []string{"anticoagulant=aspirin"}, []string{""}},
	"needle-inr-out":            {[]string{"anticoagulant=warfarin;inr_within_local_range=no"}, []string{"anticoagulant=warfarin;inr_within_local_range=yes", "anticoagulant=none"}, []string{"", "anticoagulant=warfarin"}},
	"needle-inr-unknown":        {[]string{"anticoagulant=warfarin"}, []string{"anticoagulant=warfarin;inr_within_local_range=no", "anticoagulant=direct"}, []string{""}},
	"needle-direct":             {[]string{"anticoagulant=direct"}, []string{"anticoagulant=warfarin"}, []string{""}},
	"topical-unsuited": {[]string{"cooperates=no", "follows_instructions=no", "nystagmus=yes", "tremor=yes", "photophobia=yes", "iris_work_expected=yes", "pupil_dilated_mm=4.9", "operator_experienced=no"},
		[]string{"cooperates=yes;follows_instructions=yes;nystagmus=no;tremor=no;photophobia=no;iris_work_expected=no;pupil_dilated_mm=5;operator_experienced=yes"}, []string{"", "cooperates=yes"}},
	"topical-not-for-manual": {[]string{"planned_technique=msics", "planned_technique=ecce"}, []string{"planned_technique=phaco"}, []string{""}},
	"topical-suits":          {[]string{"cooperates=yes;follows_instructions=yes;nystagmus=no;tremor=no;planned_technique=phaco;pupil_dilated_mm=5"}, []string{"cooperates=no", "planned_technique=msics", "tremor=yes", "pupil_dilated_mm=4.9"}, []string{"", "cooperates=yes"}},
	"sub-tenon-suits": {[]string{"planned_technique=msics", "axial_length_mm=26", "staphyloma=yes", "anticoagulant=warfarin", "follows_instructions=no"},
		[]string{"planned_technique=phaco;follows_instructions=yes;axial_length_mm=23;staphyloma=no;anticoagulant=none"}, []string{""}},
	"general-suits":           {[]string{"age_years=4", "cooperates=no;lies_flat=no", "cooperates=no;tremor=yes"}, []string{"age_years=60;cooperates=yes", "age_years=60;cooperates=no;lies_flat=yes;tremor=no"}, []string{"", "age_years=60"}},
	"antithrombotic-continue": {[]string{"anticoagulant=aspirin", "anticoagulant=direct"}, []string{"anticoagulant=none"}, []string{""}},
}

// TestTruth holds every rule to its table, and the tables to the rules.
func TestTruth(t *testing.T) {
	if len(table) != len(Rules()) {
		t.Errorf("%d tables, %d rules", len(table), len(Rules()))
	}
	for _, r := range Rules() {
		row, there := table[r.ID]
		if !there || len(row.fires) == 0 || len(row.not) == 0 {
			t.Errorf("%s has no table", r.ID)
		}
		for want, list := range map[truth][]string{yes: row.fires, no: row.not, unknown: row.open} {
			for _, text := range list {
				if got := r.when.holds(answers(t, text)); got != want {
					t.Errorf("%s with %q: %d, want %d", r.ID, text, got, want)
				}
			}
		}
	}
}

// TestWholeTruth judges rules over every combination of words of their inputs
// (numbers at five spots): a rule that fires rests on answers, and an answer
// more never turns yes into no.
func TestWholeTruth(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	for _, r := range Rules() {
		keys := r.Reads()
		for range 300 {
			a := drawn(random, keys)
			before := r.when.holds(a)
			if before == yes && len(r.when.carried(a)) == 0 {
				t.Fatalf("%s fires and rests on nothing: %v", r.ID, a)
			}
			for _, key := range keys {
				if _, answered := a[key]; answered || before == unknown || reads(&r.when, key, opUnanswered) {
					continue
				}
				for _, text := range spots(QuestionNamed(key)) {
					b := Answers{}
					for k, v := range a {
						b[k] = v
					}
					b.Set(Typed{key, text})
					if got := r.when.holds(b); got != before {
						t.Fatalf("%s: %v answered %s=%s: %d became %d", r.ID, a, key, text, before, got)
					}
				}
			}
		}
	}
}

func reads(c *condition, key string, by op) bool {
	if c.op == by && c.key == key {
		return true
	}
	for i := range c.kids {
		if reads(&c.kids[i], key, by) {
			return true
		}
	}
	return false
}

func spots(q *Question) []string {
	if !q.Number {
		return q.Words
	}
	var list []string
	for _, share := range []float64{0, 0.25, 0.5, 0.75, 1} {
		list = append(list, strings.TrimRight(strings.TrimRight(strconv.FormatFloat(q.Bounds.Low+share*(q.Bounds.High-q.Bounds.Low), 'f', 3, 64), "0"), "."))
	}
	return list
}

// drawn answers some of the keys at random: few of them or many.
func drawn(r *rand.Rand, keys []string) Answers {
	a, share := Answers{}, r.Float64()
	for _, key := range keys {
		if list := spots(QuestionNamed(key)); r.Float64() < share {
			a.Set(Typed{key, list[r.IntN(len(list))]})
		}
	}
	return a
}

// TestMutationTouchesOnlyItsRules: change one answer, and only rules that name
// it may change.
func TestMutationTouchesOnlyItsRules(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	touched, rules := map[string]bool{}, Rules()
	for range 80 {
		a := drawn(r, Keys())
		was := judged(rules, a)
		for _, q := range Questions {
			for _, text := range append(spots(&q), "") {
				b := Answers{}
				for k, v := range a {
					b[k] = v
				}
				b.Set(Typed{q.Key, text})
				for i, now := range judged(rules, b) {
					if now == was[i] {
						continue
					}
					if touched[q.Key+" "+rules[i].ID] = true; !slices.Contains(rules[i].Reads(), q.Key) {
						t.Fatalf("%s changed with %s", rules[i].ID, q.Key)
					}
				}
			}
		}
	}
	for _, rule := range Rules() {
		for _, key := range rule.Reads() {
			if !touched[key+" "+rule.ID] {
				t.Errorf("%s names %s and never changed with it", rule.ID, key)
			}
		}
	}
}

func judged(rules []Rule, a Answers) (list []truth) {
	for _, r := range rules {
		list = append(list, r.when.holds(a))
	}
	return list
}

// TestNothingKnowsInfectionStatus: what blood carries is no question, cannot
// be set, is no field of any input, and nothing in the answers that is not a
// question changes anything.
func TestNothingKnowsInfectionStatus(t *testing.T) {
	forbidden := regexp.MustCompile(`(?i)hiv|hbs|hcv|hepat|syphil|serolog|serostat|viral|virus|blood_?borne|vdrl|tpha`)
	for _, q := range Questions {
		if forbidden.MatchString(q.Key + " " + strings.Join(q.Words, " ")) {
			t.Errorf("question %s", q.Key)
		}
	}
	for _, r := range Rules() {
		for _, key := range r.Reads() {
			if QuestionNamed(key) == nil || forbidden.MatchString(key) {
				t.Errorf("%s reads %s", r.ID, key)
			}
		}
	}
	a := answers(t, "cataract=white;axial_length_mm=23")
	was := Decide(a)
	for _, key := range []string{"hiv", "hiv_positive", "hbsag", "hepatitis_c", "serostatus", "blood_borne_virus"} {
		if r := a.Set(Typed{key, "yes"}); r == nil || r.Code != "unknown-key" {
			t.Errorf("%s was taken: %v", key, r)
		}
		a[key] = Answer{Word: "yes"} // past the door
		if !reflect.DeepEqual(Decide(a), was) {
			t.Errorf("%s changed the decision", key)
		}
		delete(a, key)
	}
	for _, typ := range []reflect.Type{reflect.TypeFor[Answer](), reflect.TypeFor[Question](), reflect.TypeFor[Rule](), reflect.TypeFor[eye.Eye]()} {
		for i := range typ.NumField() {
			if forbidden.MatchString(typ.Field(i).Name) {
				t.Errorf("%s.%s", typ, typ.Field(i).Name)
			}
		}
	}
	for i := range eye.Fields {
		if forbidden.MatchString(eye.Fields[i].Key) {
			t.Errorf("eye format: %s", eye.Fields[i].Key)
		}
	}
}

// TestNoHiddenScore: nothing of a decision is a number over rules, and the
// order of answers changes nothing.
func TestNoHiddenScore(t *testing.T) {
	typ := reflect.TypeFor[Decision]()
	for i := range typ.NumField() {
		if k := typ.Field(i).Type.Kind(); k != reflect.String && k != reflect.Slice {
			t.Errorf("%s is a %s", typ.Field(i).Name, k)
		}
	}
}

// TestNeedle: the sharp needle is barred while the length is unknown.
func TestNeedle(t *testing.T) {
	for text, barred := range map[string]bool{"": true, "axial_length_mm=23": false, "axial_length_mm=23;staphyloma=no": false, "axial_length_mm=26": true,
		"axial_length_mm=25;staphyloma=no": false, "axial_length_mm=22;staphyloma=yes": true, "axial_length_mm=23;anticoagulant=warfarin": true,
		"axial_length_mm=23;anticoagulant=warfarin;inr_within_local_range=yes": false, "axial_length_mm=23;anticoagulant=dual-antiplatelet": true} {
		d := Decide(answers(t, text))
		if got := d.Anaesthesia[slices.Index(Methods, Peribulbar)]; got.Barred != barred {
			t.Errorf("%q: %+v", text, got)
		}
	}
}

// TestDifferent: a choice against the leans asks for its reason.
func TestDifferent(t *testing.T) {
	for _, c := range []struct {
		text, technique string
		differs         bool
	}{{"", "phaco", false}, {"cataract=brunescent", "phaco", true}, {"cataract=brunescent", "msics", false}, {"cataract=white", "phaco", false},
		{"cataract=brunescent;bleb=yes", "phaco", false}, {"bleb=yes", "msics", true}, {"tunnel_possible=no", "ecce", false}} {
		d := Decide(answers(t, c.text))
		if d.Differs(c.technique) != c.differs {
			t.Errorf("%q, %s", c.text, c.technique)
		}
	}
}

// TestTray: phaco keeps what a conversion needs within reach.
func TestTray(t *testing.T) {
	d := Decide(answers(t, "planned_technique=phaco;exfoliation=yes;pupil_dilated_mm=4;cataract=white"))
	for _, item := range append(slices.Clone(ConversionTray), "tension-ring", "iris-hooks", "capsule-dye") {
		if !slices.Contains(d.Tray, item) {
			t.Errorf("no %s", item)
		}
	}
	if d := Decide(answers(t, "planned_technique=msics")); len(d.Tray) != 0 {
		t.Error(d.Tray)
	}
}

func TestRefusedAnswers(t *testing.T) {
	for _, c := range [][3]string{{"iop_mmhg", "200", "lost-decimal-mark"}, {"iop_mmhg", "-4", "out-of-range"}, {"age_years", "140", "lost-decimal-mark"}, {"cataract", "brown", "unknown-word"},
		{"iop", "20", "unknown-key"}, {"iop_mmhg", "20e1", "exponent"}, {"only_eye", "maybe", "unknown-word"}, {"pupil_dilated_mm", "NaN", "not-a-number"}} {
		if r := (Answers{}).Set(Typed{c[0], c[1]}); r == nil || r.Code != c[2] {
			t.Errorf("%s=%s: %v", c[0], c[1], r)
		}
	}
	a := answers(t, "iop_mmhg=21")
	if a.Set(Typed{"iop_mmhg", "  "}); len(a) != 0 {
		t.Error("empty text is not answered")
	}
}

// TestFindings: gates become findings with their numbers; leans do not.
func TestFindings(t *testing.T) {
	d := Decide(answers(t, "iop_mmhg=32;cataract=brunescent;age_years=12"))
	list := d.Findings()
	if !finding.Has(list, "pressure-first") || !finding.Has(list, "path-child") || finding.Has(list, "lean-hard-nucleus") || len(list) != 2 {
		t.Errorf("%v", list)
	}
	if f := list[0]; !f.Gate || f.Value("iop_mmhg") == "" || f.Field != "iop_mmhg" {
		t.Errorf("%+v", f)
	}
}

// TestEveryQuestionIsRead: what nobody reads is not asked.
func TestEveryQuestionIsRead(t *testing.T) {
	known := []string{"inr", "ring_available"} // recorded for the person who gives the block, and for the surgeon
	for _, q := range Questions {
		if q.Group == "risk" { // what only the published risk models read
			known = append(known, q.Key)
		}
	}
	for _, q := range Questions {
		if !asked(&q) && !slices.Contains(known, q.Key) {
			t.Errorf("%s", q.Key)
		}
	}
}
