package plan

import (
	"linn/calc/biometry"
	"linn/calc/lenspower"
	"linn/eye"
	"linn/unit"
)

// Input is everything a plan is made from. The same Input always makes the
// same Plan; it is stored inside it.
type Input struct {
	Eye eye.Eye `json:"eye"`

	// Details are what is known about single readings beside their value, by
	// contract key; Lengths are further lengths of the same eye.
	Details       map[string]Detail `json:"details,omitempty"`
	Lengths       []Length          `json:"other_lengths,omitempty"`
	ContactLenses *Wear             `json:"contact_lenses,omitempty"`
	Earlier       *eye.Eye          `json:"earlier,omitempty"` // with its other_eye

	Shelf  []Shelved `json:"shelf"` // the lens models one may choose from
	Chosen *Pick     `json:"chosen,omitempty"`

	Rescue []Shelved `json:"rescue_lenses,omitempty"` // made for another place, for when the operation goes otherwise

	MaxAgeDays int    `json:"max_age_days,omitempty"` // of readings; 0: the program's default
	Program    string `json:"program"`                // version of the program

	// Clinical is what is recorded beside the readings, nil when nothing is.
	Clinical *Clinical `json:"clinical,omitempty"`

	// Rules is the set of rules the plan is made with, Rules for a new one. A
	// plan that was signed under an earlier set is made again under that.
	Rules int `json:"rules,omitempty"`
}

// Rules is the newest set of rules. Set 0 had no suspicion of unreported
// surgery, no offsets of the length and no thick lens; set 1 no rescue ladder,
// no lengths beside the measured one and nothing asked about the place of a
// lens outside the bag; set 2 no powers for the targets of a child.
const Rules = 3

// Detail is the spread of a reading's repeats and its own day.
type Detail struct {
	SD         Number    `json:"sd"`
	N          int       `json:"n,omitempty"`
	MeasuredOn unit.Date `json:"measured_on,omitzero"`
}

// Length is one further axial length.
type Length struct {
	Value  Number           `json:"axial_length_mm"`
	Method eye.LengthMethod `json:"axial_length_method"`
}

// Wear is when contact lenses were last worn before the measurement.
type Wear struct {
	Kind    biometry.Wear `json:"kind"`
	DaysOut Number        `json:"days_out"` // null: not recorded
}

// Pick is the lens a surgeon chose.
type Pick struct {
	Model string       `json:"model"`
	Power unit.Dioptre `json:"power_d"`
}

// Shelved is one lens model with its constants and its stock.
type Shelved struct {
	// Lens is the model. Its constants serve every method, unless Constants
	// holds others.
	Lens lenspower.Lens `json:"lens"`

	// Constants are single constants with their origin; one that names a
	// method serves that method alone and goes before one that does not.
	Constants []Constant `json:"constants,omitempty"`

	// Stock is null when the model was never counted.
	Stock []Stock `json:"stock"`
}

// Constant is one constant of a lens model.
type Constant struct {
	Method string        `json:"method,omitempty"` // "": for any
	Key    string        `json:"key"`              // a, sf_mm, …
	Value  unit.Constant `json:"value"`
	Origin string        `json:"origin,omitempty"` // label, published, own-fitted, converted
	Eyes   int           `json:"eyes,omitempty"`   // behind a fitted one
}

// Converted is the origin of a constant that was made from another.
const Converted = "converted"

// Stock is how many lenses of one power lie ready.
type Stock struct {
	Power unit.Dioptre `json:"power_d"`
	Count int          `json:"count"`
}

// eyeWithDetails is the eye with the spread and the days of its readings.
func (in *Input) eyeWithDetails() eye.Eye {
	e := in.Eye
	for key, d := range in.Details {
		switch key {
		case "axial_length_mm":
			d.put(&e.AxialLength.N, &e.AxialLength.MeasuredOn)
			e.AxialLength.SD = unit.Millimetre(d.SD.Value)
		case "k_flat_d":
			d.put(&e.KFlat.N, &e.KFlat.MeasuredOn)
			e.KFlat.SD = unit.Dioptre(d.SD.Value)
		case "k_steep_d":
			d.put(&e.KSteep.N, &e.KSteep.MeasuredOn)
			e.KSteep.SD = unit.Dioptre(d.SD.Value)
		case "acd_mm":
			d.put(&e.ACD.N, &e.ACD.MeasuredOn)
			e.ACD.SD = unit.Millimetre(d.SD.Value)
		}
	}
	return e
}

func (d *Detail) put(n *int, day *unit.Date) { *n, *day = d.N, d.MeasuredOn }

// options are what calc/biometry is told beside the eye.
func (in *Input) options() biometry.Options {
	o := biometry.Options{MaxAgeDays: in.MaxAgeDays, Earlier: in.Earlier}
	for _, l := range in.Lengths {
		if l.Value.Known {
			o.OtherLengths = append(o.OtherLengths, biometry.Length{Value: unit.Millimetre(l.Value.Value), Method: l.Method})
		}
	}
	if w := in.ContactLenses; w != nil {
		o.ContactLenses = biometry.ContactLenses{Wear: w.Kind, DaysOut: int(w.DaysOut.Value), Known: w.DaysOut.Known}
	}
	return o
}

// lensFor is the model as one method sees it, and where its constants come
// from, by key.
func (s *Shelved) lensFor(method string) (lenspower.Lens, map[string]Constant) {
	l := s.Lens
	from := map[string]Constant{}
	for _, own := range []bool{false, true} { // those of one method go last and win
		for _, c := range s.Constants {
			if own != (c.Method != "") || own && c.Method != method {
				continue
			}
			f := lenspower.LensFieldNamed(c.Key)
			if f == nil || !f.Constant || f.Set(&l, plain(float64(c.Value))) != nil {
				continue
			}
			from[c.Key] = c
		}
	}
	return l, from
}

// stock says how many lenses of a power lie ready; null when never counted.
func (s *Shelved) stock(power float64) Number {
	if s.Stock == nil {
		return Number{}
	}
	for _, x := range s.Stock {
		if same(float64(x.Power), power) {
			return number(float64(x.Count))
		}
	}
	return number(0.0)
}

// same compares two powers of a shelf: they are written to 0.01 D and finer
// than 0.0001 D is binary rounding.
func same(a, b float64) bool { return a-b < 1/gridPerDioptre && b-a < 1/gridPerDioptre }
