package invent

import (
	"math/rand/v2"
	"strings"

	"linn/calc/biometry"
	"linn/eye"
	"linn/unit"
)

// Case is one invented eye of the demonstration's ward.
type Case struct {
	Kind     string // what it is there to show, one of Kinds
	Person   Person
	Eye      eye.Eye // with its Fellow; readings keep the text as typed
	ListDays int     // days from today to its list
	Place    int     // on that list, from 1
	Lens     string  // model meant for it; "" leaves the choice open
	Note     string  // as a person on the ward might have written it

	// Options is what biometry.Check is told beyond the eye.
	Options biometry.Options
	// FirstEye is how the fellow eye ended, for a second eye.
	FirstEye *Outcome
}

// Outcome is a finished first eye.
type Outcome struct {
	Model               string
	Power               unit.Dioptre
	Predicted, Achieved unit.Dioptre // spherical equivalent at the spectacle plane
	OperatedDays        int          // days ago
}

// Kinds of the demonstration, in the order of the ward.
var Kinds = []string{"average", "short", "long", "very-long", "steep", "flat", "high-cylinder", "contact-ultrasound",
	"swapped-side", "second-eye", "out-of-stock", "similar-names", "copied-readings", "old-readings", "contact-lens",
	"much-missing", "after-laser", "aphakic", "silicone-oil", "child", "exchange", "scar", "gas"}

// DemoShelf is the demonstration's shelf: six invented models. The second has
// run out of the powers around 21 D.
func DemoShelf() []Lens {
	list := Lenses(rand.NewPCG(1851, 7), 6)
	for i := range list[1].Stock {
		if s := &list[1].Stock[i]; s.Power >= 18 && s.Power <= 25 {
			s.Count = 0
		}
	}
	return list
}

// DemoWard is the demonstration's ward of 27 eyes as it looks on the day
// today, which must be exact: ages, birth dates and days of measurement move
// with it, nothing else does.
func DemoWard(today unit.Date) []Case {
	if !today.Exact() {
		panic("invent: the day of a ward must be exact")
	}
	shelf := DemoShelf()
	list := make([]Case, len(scripts))
	for i := range scripts {
		list[i] = scripts[i].play(today, shelf)
	}
	return list
}

// script is a case as it is written down. Readings are "length flat@axis
// steep@axis depth lens width cornea", "-" where nothing was recorded.
type script struct {
	kind          string
	number        int
	given, family string
	sex           eye.Sex
	age           int
	born          unit.Date // only Month and Day are used; zero: the year alone is known
	allergies     []string
	drugs         []string

	side        eye.Side
	right, left string
	method      eye.LengthMethod
	waited      int // days since the measurement
	list, place int
	lens        int // place on the shelf, 0 for none
	note        string

	change func(*Case, eye.Side) // what is special about it
}

func (s *script) play(today unit.Date, shelf []Lens) Case {
	c := Case{Kind: s.kind, ListDays: s.list, Place: s.place, Note: s.note,
		Person: Person{Given: s.given, Family: s.family, Identifier: identifier(s.number), Sex: s.sex,
			Born: s.birth(today), Allergies: s.allergies, Drugs: s.drugs}}
	if s.lens > 0 {
		c.Lens = shelf[s.lens-1].Model
	}
	right, left := s.eye(s.right, today), s.eye(s.left, today)
	right, left = join(right, left)
	c.Eye = right
	if s.side == eye.Left {
		c.Eye = left
	}
	if s.change != nil {
		s.change(&c, s.side)
	}
	return c
}

// birth puts the last birthday into the year that gives the age today.
func (s *script) birth(today unit.Date) unit.Date {
	if s.born.Month == 0 {
		return unit.Date{Year: today.Year - s.age}
	}
	b := unit.Date{Year: today.Year - s.age, Month: s.born.Month, Day: s.born.Day}
	if b.Month > today.Month || b.Month == today.Month && b.Day > today.Day {
		b.Year--
	}
	return b
}

var readingKeys = [...]string{"axial_length_mm", "k_flat_d", "k_steep_d", "acd_mm", "lens_thickness_mm", "white_to_white_mm", "corneal_thickness_um"}

func (s *script) eye(readings string, today unit.Date) eye.Eye {
	e := eye.Eye{Age: unit.Known(unit.Year(s.age)), Sex: s.sex, AxialLengthMethod: s.method,
		LensStatus: eye.Phakic, Vitreous: eye.NaturalVitreous, CornealSurgery: eye.NoSurgery,
		MeasuredOn: addDays(today, -s.waited), AsOf: today, Operator: "Liruna Saltmarsh"}
	set(&e, "keratometric_index", "1.3375")
	for i, text := range strings.Fields(readings) {
		value, axis, hasAxis := strings.Cut(text, "@")
		if value == "-" {
			continue
		}
		set(&e, readingKeys[i], value)
		if hasAxis {
			set(&e, strings.Replace(readingKeys[i], "_d", "_axis_deg", 1), axis)
		}
	}
	return e
}

// set enters text as a person would; what the format refuses is our own slip.
func set(e *eye.Eye, key, text string) {
	if refused := eye.FieldNamed(key).Set(e, text); refused != nil {
		panic("invent: " + refused.Error())
	}
}

func day(month, day int) unit.Date { return unit.Date{Month: month, Day: day} }
