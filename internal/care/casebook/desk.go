package casebook

import (
	"linn/unit"
)

// Person is one state of a person on the Desk, "linn.person/1".
type Person struct {
	Verb   Verb   `json:"verb"`
	Reason string `json:"reason,omitempty"`

	Name       string `json:"name"`
	Role       Role   `json:"role"`
	Supervisor bool   `json:"supervisor,omitempty"`
	Active     bool   `json:"active"`

	// Password is the encoded argon2id hash, empty when the person has no
	// account of their own.
	Password string `json:"password,omitempty"`

	Invite *Invitation `json:"invite,omitempty"`
	Glass  []Glass     `json:"glass,omitempty"`
}

// Kind is KindPerson.
func (Person) Kind() Kind { return KindPerson }

// Format is "linn.person/1".
func (Person) Format() string { return "linn.person/1" }

// Actor is the person as an actor; id is the person's chain.
func (p Person) Actor(id string) Actor {
	return Actor{ID: id, Name: p.Name, Role: p.Role, Supervisor: p.Supervisor}
}

// Protocol is the ward's local settings, "linn.protocol/1", in the one chain
// ProtocolChain. A zero number means "not set"; the default is the pathway's.
type Protocol struct {
	Verb   Verb   `json:"verb"`
	Reason string `json:"reason,omitempty"`

	Hospital string   `json:"hospital,omitempty"`
	Zone     string   `json:"zone,omitempty"` // of the theatre's civil dates
	Places   []string `json:"places,omitempty"`

	ReadingAgeDays   int `json:"reading_age_days,omitempty"`   // a plan reopens when a reading is older
	LoneDelayMinutes int `json:"lone_delay_minutes,omitempty"` // before a lone worker may sign

	// Settings are further local choices, by name, as typed.
	Settings map[string]string `json:"settings,omitempty"`
}

// Kind is KindProtocol.
func (Protocol) Kind() Kind { return KindProtocol }

// Format is "linn.protocol/1".
func (Protocol) Format() string { return "linn.protocol/1" }

// Origin says where a lens constant comes from.
type Origin string

// The origins. A label constant is an ultrasound-era starting value; a
// converted one is computed from another constant.
const (
	LabelConstant     Origin = "label"
	PublishedConstant Origin = "published"
	OwnFitted         Origin = "own-fitted"
	Converted         Origin = "converted"
)

// Pieces is how the lens is made.
type Pieces string

// One-piece lenses do not belong into the sulcus.
const (
	OnePiece   Pieces = "one-piece"
	ThreePiece Pieces = "three-piece"
)

// LensModel is one state of a lens model on the Shelf, "linn.lens-model/1".
type LensModel struct {
	Verb   Verb   `json:"verb"`
	Reason string `json:"reason,omitempty"`

	Model    string `json:"model"`
	Material string `json:"material,omitempty"`
	Pieces   Pieces `json:"pieces,omitempty"`
	MadeFor  string `json:"made_for,omitempty"` // sulcus or chamber; "" is the bag

	// Lens holds the numbers of the file format's lens object except the
	// constants, by key: from_d, to_d, step_d, index, thickness_mm,
	// shape_factor, optic_mm.
	Lens map[string]float64 `json:"lens,omitempty"`

	Constants []Constant `json:"constants,omitempty"`
	Stock     []Shelved  `json:"stock,omitempty"`
	Withdrawn string     `json:"withdrawn,omitempty"` // why the model is no longer to be chosen
}

// Kind is KindLens.
func (LensModel) Kind() Kind { return KindLens }

// Format is "linn.lens-model/1".
func (LensModel) Format() string { return "linn.lens-model/1" }

// Constant is one lens constant of one method.
type Constant struct {
	Method string  `json:"method"` // "srk-t"; "" when any method may use it
	Name   string  `json:"name"`   // the key of the file format: a, sf_mm, pacd_mm, a0, a1, a2, c
	Value  float64 `json:"value"`
	Origin Origin  `json:"origin"`
	Note   string  `json:"note,omitempty"`

	// Of a fitted constant: the number of eyes and their period.
	Eyes int       `json:"eyes,omitempty"`
	From unit.Date `json:"from,omitzero"`
	To   unit.Date `json:"to,omitzero"`
}

// Shelved is how many lenses of one power lie on the shelf.
type Shelved struct {
	Power unit.Dioptre `json:"power_d"`
	Count int          `json:"count"`
}

// InStock returns how many lenses of the power lie on the shelf. known is
// false when the model's stock was never counted.
func (m LensModel) InStock(power unit.Dioptre) (count int, known bool) {
	for _, s := range m.Stock {
		if s.Power == power {
			return s.Count, true
		}
	}
	return 0, len(m.Stock) > 0
}
