package lenspower

import (
	"math"
	"strconv"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// Lens is a lens model: its constants, the powers it is made in and, where
// known, its form.
type Lens struct {
	Model          string
	Constants      Constants
	From, To, Step unit.Dioptre // powers on the shelf: From, From + Step, … To

	Index       unit.Reading[unit.Index]
	Thickness   unit.Reading[unit.Millimetre] // at the centre
	ShapeFactor unit.Reading[unit.Constant]   // (F₁ − F₂)/(F₁ + F₂)
	Optic       unit.Reading[unit.Millimetre] // diameter

	MadeFor             eye.Placement // "" is the bag
	OnePieceSoftAcrylic Told

	// Cylinders at the lens plane, of a toric model: from, from + step, … to.
	CylinderFrom, CylinderTo, CylinderStep unit.Reading[unit.Dioptre]

	// AxisMarks is how many dots mark the axis on each side of the optic; 0: a
	// line on each side. Not known: the marks are as the leaflet of the lens says.
	AxisMarks unit.Reading[unit.Constant]
}

// Cylinders lists the cylinders a toric model is made in, none of another.
func (l *Lens) Cylinders() (list []unit.Dioptre) {
	if !l.CylinderFrom.Known {
		return nil
	}
	to, step := l.CylinderTo.Or(l.CylinderFrom.Value), l.CylinderStep.Or(unit.Dioptre(math.Inf(1)))
	for k := 0; ; k++ {
		c := l.CylinderFrom.Value
		if k > 0 {
			c += unit.Dioptre(k) * step
		}
		if c > to+1e-9 {
			return list
		}
		list = append(list, c)
	}
}

// NewLens returns a lens without constants whose shelf runs from −10 to +40 D
// by 0.5, the default of the file format.
func NewLens() Lens { return Lens{From: -10, To: 40, Step: 0.5} }

// LensField describes one key of a lens: its unit, and the bounds outside which
// a value is refused.
type LensField struct {
	Key      string
	Unit     string      // as people write it, "" for a pure number or a word
	Bounds   unit.Bounds // meaningful when Number
	Number   bool
	Constant bool     // stands in the "constants" object of the JSON form
	Words    []string // the allowed words of an enumeration
	set      func(*Lens, string) error
	get      func(*Lens) string
}

// Get returns the field of l as text that Set would take again, "" when it was
// not given.
func (f *LensField) Get(l *Lens) string { return f.get(l) }

// Set reads text into the field of l, or says why it refuses.
func (f *LensField) Set(l *Lens, text string) *finding.Refusal {
	err := f.set(l, text)
	if err == nil {
		return nil
	}
	form := eye.Field{Key: f.Key, Unit: f.Unit, Bounds: f.Bounds, Number: f.Number}
	r := form.Refusal(err)
	return &r
}

// LensFields lists the keys of a lens in the order of the format's description.
// The bounds of A are the format's input rule. All others are our own choice,
// wide enough for every lens known to us: SF and pACD as A between 110 and 122
// gives them with a margin, the Haigis constants for fitted sets far from the
// defaults, indices from silicone to dense acrylic.
var LensFields = []LensField{
	{Key: "model",
		set: func(l *Lens, text string) error { l.Model = strings.Clone(strings.TrimSpace(text)); return nil },
		get: func(l *Lens) string { return l.Model }},
	constant("a", "", 110, 122, func(l *Lens) *unit.Reading[unit.Constant] { return &l.Constants.A }),
	constant("sf_mm", "mm", -4, 5, func(l *Lens) *unit.Reading[unit.Millimetre] { return &l.Constants.SF }),
	constant("pacd_mm", "mm", 0, 9, func(l *Lens) *unit.Reading[unit.Millimetre] { return &l.Constants.PACD }),
	constant("a0", "mm", -10, 10, func(l *Lens) *unit.Reading[unit.Millimetre] { return &l.Constants.A0 }),
	constant("a1", "", -2, 2, func(l *Lens) *unit.Reading[unit.Constant] { return &l.Constants.A1 }),
	constant("a2", "", -2, 2, func(l *Lens) *unit.Reading[unit.Constant] { return &l.Constants.A2 }),
	constant("c", "", 0, 1, func(l *Lens) *unit.Reading[unit.Constant] { return &l.Constants.C }),
	power("from_d", -40, 60, func(l *Lens) *unit.Dioptre { return &l.From }),
	power("to_d", -40, 60, func(l *Lens) *unit.Dioptre { return &l.To }),
	power("step_d", 0.05, 5, func(l *Lens) *unit.Dioptre { return &l.Step }),
	number("index", "", 1.38, 1.62, func(l *Lens) *unit.Reading[unit.Index] { return &l.Index }),
	number("thickness_mm", "mm", 0.1, 3, func(l *Lens) *unit.Reading[unit.Millimetre] { return &l.Thickness }),
	number("shape_factor", "", -3, 3, func(l *Lens) *unit.Reading[unit.Constant] { return &l.ShapeFactor }),
	number("optic_mm", "mm", 4, 8, func(l *Lens) *unit.Reading[unit.Millimetre] { return &l.Optic }),
	number("cylinder_from_d", "D", 0.5, 15, func(l *Lens) *unit.Reading[unit.Dioptre] { return &l.CylinderFrom }),
	number("cylinder_to_d", "D", 0.5, 15, func(l *Lens) *unit.Reading[unit.Dioptre] { return &l.CylinderTo }),
	number("cylinder_step_d", "D", 0.25, 3, func(l *Lens) *unit.Reading[unit.Dioptre] { return &l.CylinderStep }),
	number("axis_marks", "", 0, 6, func(l *Lens) *unit.Reading[unit.Constant] { return &l.AxisMarks }),
	choice("made_for", func(l *Lens) *eye.Placement { return &l.MadeFor }, eye.Bag, eye.Sulcus, eye.Chamber),
	choice("one_piece_soft_acrylic", func(l *Lens) *Told { return &l.OnePieceSoftAcrylic }, Yes, No),
}

// choice makes a field of one of a few words.
func choice[T ~string](key string, at func(*Lens) *T, allowed ...T) LensField {
	f := LensField{Key: key, get: func(l *Lens) string { return string(*at(l)) }}
	for _, w := range allowed {
		f.Words = append(f.Words, string(w))
	}
	f.set = func(l *Lens, text string) error {
		for _, w := range allowed {
			if string(w) == text {
				*at(l) = w
				return nil
			}
		}
		return finding.Refusal{Code: "unknown-word", Field: key, Values: finding.Values{{Name: "got", Text: eye.Clip(text)},
			{Name: "allowed", Text: strings.Join(f.Words, ", ")}, {Name: "nearest", Text: eye.Nearest(text, f.Words)}}}
	}
	return f
}

// LensFieldNamed returns the field with key, nil when there is none.
func LensFieldNamed(key string) *LensField {
	for i := range LensFields {
		if LensFields[i].Key == key {
			return &LensFields[i]
		}
	}
	return nil
}

func number[U unit.Quantity](key, name string, low, high float64, at func(*Lens) *unit.Reading[U]) LensField {
	f := LensField{Key: key, Unit: name, Bounds: unit.Bounds{Low: low, High: high}, Number: true}
	bounds := f.Bounds
	f.set = func(l *Lens, text string) error {
		v, err := unit.Parse[U](text, key, name, bounds)
		if err != nil {
			return err
		}
		r := at(l)
		r.Value, r.Known, r.Text = v, true, text
		return nil
	}
	f.get = func(l *Lens) string {
		switch r := at(l); {
		case !r.Known:
			return ""
		case r.Text != "":
			return r.Text
		default:
			return plain(float64(r.Value))
		}
	}
	return f
}

func constant[U unit.Quantity](key, name string, low, high float64, at func(*Lens) *unit.Reading[U]) LensField {
	f := number(key, name, low, high, at)
	f.Constant = true
	return f
}

// power makes a field of the shelf, which always has a value.
func power(key string, low, high float64, at func(*Lens) *unit.Dioptre) LensField {
	f := LensField{Key: key, Unit: "D", Bounds: unit.Bounds{Low: low, High: high}, Number: true}
	bounds := f.Bounds
	f.set = func(l *Lens, text string) error {
		v, err := unit.Parse[unit.Dioptre](text, key, "D", bounds)
		if err == nil {
			*at(l) = v
		}
		return err
	}
	f.get = func(l *Lens) string { return plain(float64(*at(l))) }
	return f
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// Check refuses a shelf whose highest power is below its lowest.
func (l *Lens) Check() *finding.Refusal {
	if l.To >= l.From {
		return nil
	}
	return &finding.Refusal{Code: "shelf-reversed", Field: "to_d",
		Values: finding.Values{{Name: "got", Text: plain(float64(l.To))}, {Name: "low", Text: plain(float64(l.From))}, {Name: "unit", Text: "D"}}}
}
