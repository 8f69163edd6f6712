package casebook

import "encoding/json"

// KindMachine is a phaco machine on the Shelf.
const KindMachine Kind = "machine"

// Machine is one state of a machine with what was measured on it,
// "linn.machine/1". What the measurements say of it is worked out anew each
// time: they are kept as typed.
type Machine struct {
	Verb   Verb   `json:"verb"`
	Reason string `json:"reason,omitempty"`

	Name     string          `json:"name"`
	Measured json.RawMessage `json:"measured"` // linn.calibration/1
}

// Kind is KindMachine.
func (Machine) Kind() Kind { return KindMachine }

// Format is "linn.machine/1".
func (Machine) Format() string { return "linn.machine/1" }

// VerbCalibrate is a machine measured.
const VerbCalibrate Verb = "calibrate"
