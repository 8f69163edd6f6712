package operation

import "slices"

// Kind is how a field is filled.
type Kind string

// The kinds of field.
const (
	Word   Kind = "word"   // one of Words
	Number Kind = "number" // within Low and High, in Unit
	Clock  Kind = "clock"  // hours and minutes of the theatre, "09:41"
	Day    Kind = "day"    // civil date
	Text   Kind = "text"   // one line
)

// Technique is how the lens was taken out.
type Technique string

// The techniques.
const (
	Phaco Technique = "phaco"
	MSICS Technique = "msics" // manual small incision
	ECCE  Technique = "ecce"  // sutured extracapsular
)

// Field is one thing that is written down of an operation.
type Field struct {
	Key       string
	Step      string // of Steps
	Kind      Kind
	Words     []string // of a word, in the order they are offered
	Unit      string   // of a number; "" for a pure one
	Low, High float64  // of a number, inclusive; our own bounds against slips
	Decimals  int
	Only      []Technique // the techniques it belongs to; none: all
}

// Of reports whether the field belongs to the technique. Before a technique is
// recorded every field does.
func (f *Field) Of(t Technique) bool {
	return t == "" || len(f.Only) == 0 || slices.Contains(f.Only, t)
}

// Steps are the steps of an operation, in order.
var Steps = []string{"theatre", "anaesthesia", "incision", "capsule", "hydro", "nucleus", "cortex", "lens", "closure", "lots"}

// HeldSteps are the steps at which somebody holds the instrument.
var HeldSteps = []string{"anaesthesia", "incision", "capsule", "hydro", "nucleus", "cortex", "lens", "closure"}

// The keys that rules speak of.
const (
	KeyTechnique = "technique"
	KeyDay       = "operated_on"
	KeyIn        = "in_room"
	KeyStarted   = "started"
	KeyEnded     = "ended"
	KeyOut       = "out_of_room"
	KeyConverted = "conversion"
	KeyTurns     = "hydrodissection"
	KeyModel     = "lens_model"
	KeyPower     = "lens_d"
	KeyPlace     = "lens_place"
	KeyLabel     = "lens_label"
	KeySutures   = "sutures"
	KeyLeak      = "leak_test"
	KeyDrug      = "antibiotic"
	KeyLoad      = "load_number"
	KeyLensLot   = "lens_serial"
	KeyNone      = "complications" // "none": asked and none
)

var (
	machine = []Technique{Phaco}
	tunnel  = []Technique{MSICS}
	byHand  = []Technique{MSICS, ECCE}
)

// Fields lists what is written down, in the order of the operation. Words and
// bounds are common practice in our own words.
var Fields = []Field{
	{Key: KeyDay, Step: "theatre", Kind: Day},
	{Key: KeyTechnique, Step: "theatre", Kind: Word, Words: []string{"phaco", "msics", "ecce"}},
	{Key: KeyIn, Step: "theatre", Kind: Clock},
	{Key: KeyStarted, Step: "theatre", Kind: Clock},
	{Key: KeyEnded, Step: "theatre", Kind: Clock},
	{Key: KeyOut, Step: "theatre", Kind: Clock},

	{Key: "anaesthesia", Step: "anaesthesia", Kind: Word, Words: []string{"topical", "topical-intracameral", "sub-tenon", "peribulbar", "retrobulbar", "general"}},

	{Key: "incision_kind", Step: "incision", Kind: Word, Words: []string{"clear-corneal", "limbal", "scleral-tunnel"}},
	{Key: "incision_meridian_deg", Step: "incision", Kind: Number, Unit: "°", Low: 0, High: 360},
	{Key: "incision_mm", Step: "incision", Kind: Number, Unit: "mm", Low: 1.5, High: 12, Decimals: 2},
	{Key: "tunnel_from_limbus_mm", Step: "incision", Kind: Number, Unit: "mm", Low: 0, High: 5, Decimals: 1, Only: tunnel},
	{Key: "side_ports", Step: "incision", Kind: Number, Low: 0, High: 4},

	{Key: "dye", Step: "capsule", Kind: Word, Words: []string{"none", "trypan-blue", "other"}},
	{Key: "viscoelastic", Step: "capsule", Kind: Word, Words: []string{"cohesive", "dispersive", "both", "hpmc"}},
	{Key: "pupil_device", Step: "capsule", Kind: Word, Words: []string{"none", "drug", "stretch", "sphincterotomy", "hooks", "ring"}},
	{Key: "capsule_opening", Step: "capsule", Kind: Word, Words: []string{"continuous", "rescued", "run-out", "can-opener", "envelope"}},
	{Key: "capsule_mm", Step: "capsule", Kind: Number, Unit: "mm", Low: 2, High: 9, Decimals: 1},

	{Key: KeyTurns, Step: "hydro", Kind: Word, Words: []string{"turns-freely", "turns-partly", "does-not-turn", "delineation-only", "not-done"}},

	{Key: "nucleus_phaco", Step: "nucleus", Kind: Word, Words: []string{"divide", "stop-chop", "chop", "flip", "aspirated"}, Only: machine},
	{Key: "ultrasound_s", Step: "nucleus", Kind: Number, Unit: "s", Low: 0, High: 900, Decimals: 1, Only: machine},
	{Key: "ultrasound_percent", Step: "nucleus", Kind: Number, Unit: "%", Low: 0, High: 100, Only: machine},
	{Key: "machine_energy", Step: "nucleus", Kind: Number, Low: 0, High: 500, Decimals: 2, Only: machine},
	{Key: "nucleus_into_chamber", Step: "nucleus", Kind: Word, Words: []string{"by-fluid", "by-viscoelastic", "by-hook"}, Only: byHand},
	{Key: "nucleus_out", Step: "nucleus", Kind: Word, Words: []string{"viscoexpressed", "vectis", "bent-needle", "between-two", "broken-first", "pressed-out"}, Only: byHand},
	{Key: "fluid_ml", Step: "nucleus", Kind: Number, Unit: "ml", Low: 0, High: 1500},
	{Key: KeyConverted, Step: "nucleus", Kind: Word, Words: []string{"none", "to-msics", "to-ecce"}},
	{Key: "conversion_why", Step: "nucleus", Kind: Word, Words: []string{"capsule-opening", "zonule", "hard-nucleus", "pupil", "view", "machine", "power-cut", "other"}},

	{Key: "cortex", Step: "cortex", Kind: Word, Words: []string{"complete", "some-left"}},
	{Key: "capsule_polish", Step: "cortex", Kind: Word, Words: []string{"none", "posterior", "anterior", "both"}},

	{Key: KeyLabel, Step: "lens", Kind: Word, Words: []string{"scanned", "read-aloud", "typed"}},
	{Key: KeyModel, Step: "lens", Kind: Text},
	{Key: KeyPower, Step: "lens", Kind: Number, Unit: "D", Low: -20, High: 60, Decimals: 2},
	{Key: KeyLensLot, Step: "lens", Kind: Text},
	{Key: "lens_axis_deg", Step: "lens", Kind: Number, Unit: "°", Low: 0, High: 180},
	{Key: KeyPlace, Step: "lens", Kind: Word, Words: []string{"bag", "captured", "sulcus", "chamber", "iris", "sclera", "none"}},
	{Key: "tension_ring", Step: "lens", Kind: Word, Words: []string{"none", "placed"}},

	{Key: "closure", Step: "closure", Kind: Word, Words: []string{"self-sealing", "hydrated", "sutured", "hydrated-and-sutured"}},
	{Key: KeySutures, Step: "closure", Kind: Number, Low: 0, High: 20},
	{Key: KeyLeak, Step: "closure", Kind: Word, Words: []string{"dry", "closed-after-leak", "leaks", "not-tested"}},
	{Key: KeyDrug, Step: "closure", Kind: Word, Words: []string{"intracameral", "subconjunctival", "both", "not-given"}},
	{Key: "drugs", Step: "closure", Kind: Text},
	{Key: KeyNone, Step: "closure", Kind: Word, Words: []string{"none"}},

	{Key: KeyLoad, Step: "lots", Kind: Text},
	{Key: "fluid_lot", Step: "lots", Kind: Text},
	{Key: "viscoelastic_lot", Step: "lots", Kind: Text},
	{Key: "dye_lot", Step: "lots", Kind: Text},
	{Key: "drug_lot", Step: "lots", Kind: Text},
	{Key: "remarks", Step: "lots", Kind: Text},
}

// FieldNamed finds a field, nil when there is none.
func FieldNamed(key string) *Field {
	for i := range Fields {
		if Fields[i].Key == key {
			return &Fields[i]
		}
	}
	return nil
}

// Complication is one thing that went otherwise than meant. Texts as chosen or
// typed.
type Complication struct {
	Step     string `json:"step"`               // of HeldSteps
	Kind     string `json:"kind"`               // of ComplicationKinds
	Size     string `json:"size,omitempty"`     // of Sizes
	Vitreous string `json:"vitreous,omitempty"` // of VitreousWords
	Handling string `json:"handling,omitempty"` // of HandlingWords
	Note     string `json:"note,omitempty"`
}

// What a complication is said with.
var (
	ComplicationKinds = []string{"capsule-rupture", "zonule", "vitreous", "dropped-nucleus", "capsule-run-out", "iris-prolapse", "iris-damage",
		"descemet", "wound-burn", "shallow-chamber", "suprachoroidal", "bleeding", "lens-damage", "drug", "block", "other"}
	Sizes         = []string{"under-2-mm", "2-to-4-mm", "over-4-mm", "under-3-hours", "3-to-6-hours", "over-6-hours", "not-measured"}
	VitreousWords = []string{"none", "face-intact", "in-chamber", "at-wound", "lost"}
	HandlingWords = []string{"watched", "viscoelastic", "cut-by-vitrector", "sponge-and-scissors", "ring", "sutured", "converted", "fragments-left", "referred", "stopped"}
)
