package web

import (
	"time"

	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Identity is what stands at the top of every clinical view and print.
type Identity struct {
	CaseID     string
	Side       eye.Side
	Name       string
	Identifier string
	Sex        eye.Sex
	Age        unit.Reading[unit.Year]
	Born       unit.Date
	List       unit.Date // the theatre list; unknown: not on a list
	Place      int       // on the list, from 1; 0: none
	Plan       int       // number of the plan, 0: none yet
	Signed     bool
	Revision   int
}

// Progress is how far an eye has come.
type Progress struct {
	Measured, Checked, Lens, Sheet bool // complete
}

// Ward is the list of eyes.
type Ward struct {
	Today unit.Date
	Rows  []WardRow
}

// WardRow is one eye on the Ward.
type WardRow struct {
	Identity
	Model    string // lens model, "" when none is chosen
	Power    unit.Reading[unit.Dioptre]
	Progress Progress
	// Missing is the one thing that still keeps the plan from being signed,
	// nil when nothing does.
	Missing *Missing
}

// Missing is one open need or one finding that blocks.
type Missing struct {
	Need    string // code of a Need, or
	Finding finding.Finding
}

// EyeCase is one eye's journey.
type EyeCase struct {
	Identity
	SavedAt  time.Time // in the ward's zone; zero: nothing stored yet
	SavedBy  string
	Progress Progress
	Editable bool // the actor may enter readings
	Right    Readings
	Left     Readings
	Queue    []RepeatItem
	Findings []FindingItem
	Rules    int // how many rules looked at the readings
	Lens     LensPart
	Signing  SignPart
}

// Of returns the readings of a side.
func (c *EyeCase) Of(s eye.Side) *Readings {
	if s == eye.Left {
		return &c.Left
	}
	return &c.Right
}

// Readings are one eye as typed and as read.
type Readings struct {
	Eye     eye.Eye
	Texts   map[string]string          // as typed, by contract key
	Refused map[string]finding.Refusal // what could not be read, by contract key
}

// RepeatItem is a reading to be entered again.
type RepeatItem struct {
	Side    eye.Side
	Field   string
	Why     string // "second-entry", "disagrees", or the code of a finding
	Text    string // the second entry as typed, when it disagrees
	Refusal *finding.Refusal
}

// FindingItem is a finding with what can be done about it.
type FindingItem struct {
	finding.Finding
	Side    eye.Side // "" when it speaks of both eyes
	Ref     source.Ref
	Limit   string // the rule's threshold in words
	Passed  *Act   // a gate that was let through, with its reason
	MayPass bool
	// Repeating buys: spread of the refraction now and after a repeat.
	SDNow, SDAfter unit.Reading[unit.Dioptre]
}

// Act is who did something, when, and why.
type Act struct {
	Name   string
	At     time.Time
	Reason string
}

// LensPart is what the methods answer and what was chosen.
type LensPart struct {
	Editable bool
	Models   []ModelName
	Model    string // id of the chosen model
	Target   unit.Reading[unit.Dioptre]
	Powers   []ShelfPower // the steps shown, ascending
	Methods  []MethodAnswer
	Absent   []Absent
	Findings []finding.Finding
	Guide    string // method that guides the choice
	Power    unit.Reading[unit.Dioptre]
	// For the chosen power and guiding method.
	Predicted unit.Reading[unit.Dioptre] // with its SD
	Within50  unit.Reading[unit.Percent]
	Within100 unit.Reading[unit.Percent]
	Band      []BandPoint
	Shares    []Share
}

// ModelName names a lens model.
type ModelName struct{ ID, Name string }

// ShelfPower is one step of the shelf.
type ShelfPower struct {
	Power   unit.Dioptre
	InStock bool
}

// MethodAnswer is one method's answer (linn.lens/1).
type MethodAnswer struct {
	ID, Version  string
	LensPosition unit.Reading[unit.Millimetre]
	Power        unit.Reading[unit.Dioptre]
	Emmetropia   unit.Reading[unit.Dioptre]
	Choices      []PowerChoice
	Findings     []finding.Finding
	Origin       string // of its constant: "label", "fitted", "converted", "own"
	Apart        bool   // shown, but never counted in agreement
	Steps        []source.Step
}

// PowerChoice is the refraction a method predicts for a power.
type PowerChoice struct {
	Power, Refraction unit.Dioptre
}

// Absent is a method that lacks an input.
type Absent struct{ Method, Field string }

// BandPoint says where two of three such eyes would land with a power.
type BandPoint struct {
	Power, Low, High unit.Dioptre
}

// Share is one source's part of the variance of the refraction.
type Share struct {
	Name    string // key of "share.NAME"
	Percent unit.Percent
}

// SignPart is what signing needs and what was done.
type SignPart struct {
	Needs      []Need
	MayConfirm bool
	MaySign    bool
	// Alone: a lone worker may sign from this instant with a reason.
	Alone     bool
	AloneFrom time.Time
	Confirmed *Act
	Signed    *Act
	Sheet     string // sheet number, "" before signing
	Reopened  []finding.Finding
}

// Need is one condition of signing: text "need.CODE".
type Need struct {
	Code   string
	Met    bool
	Values finding.Values
}

// Sheet is the theatre sheet of one eye.
type Sheet struct {
	Identity
	Number    string // "" before signing
	Mark      string // content of the DataMatrix, "" before signing
	Procedure string // key of "procedure.NAME"
	Placement eye.Placement
	Model     string
	Power     unit.Reading[unit.Dioptre]
	Target    unit.Reading[unit.Dioptre]
	Predicted unit.Reading[unit.Dioptre] // with its SD
	Low, High unit.Reading[unit.Dioptre]
	Guide     string
	Constant  string // "A 119.00", as printed
	Origin    string
	Alerts    []FindingItem
	Allergies string
	Readings  Readings
	Measured  Act
	Confirmed *Act
	Signed    *Act
	Alone     string // reason of a lone signature
	Printed   time.Time
	Program   string // version
}

// Shelf is what lies ready.
type Shelf struct {
	Editable bool
	Models   []Model
}

// Model is one lens model with its constants and stock.
type Model struct {
	ID, Name  string
	Constants []ModelConstant
	Powers    []ShelfPower // the whole range, ascending
	From, To  unit.Dioptre
	Step      unit.Dioptre
}

// ModelConstant is one constant with where it comes from.
type ModelConstant struct {
	Method string // method it serves
	Name   string // "a", "sf_mm", …
	Value  string // printed with its unit
	Origin string // "label", "fitted", "converted", "own"
	N      int    // eyes behind a fitted constant
	Since  unit.Date
}

// Desk is who works here.
type Desk struct {
	Editable bool
	People   []Person
}

// Person is an account.
type Person struct {
	Actor
	SignIn     string
	Supervisor bool
	Closed     bool
	LastSeen   unit.Date
}
