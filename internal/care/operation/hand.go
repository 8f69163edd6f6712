package operation

import (
	"strings"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// InHand is one box as it was held against the signed plan: what its code
// says, and what two people each read from its print. Texts as typed.
type InHand struct {
	Act
	Sheet      int       `json:"sheet"`
	PlanNumber int       `json:"plan_number"`
	Raw        string    `json:"raw,omitempty"` // the code as it came, in hex
	Product    string    `json:"product,omitempty"`
	Lot        string    `json:"lot,omitempty"`
	Serial     string    `json:"serial,omitempty"`
	Expiry     unit.Date `json:"expiry,omitzero"`
	Model      string    `json:"model"`
	First      Reader    `json:"first"`
	Second     Reader    `json:"second"`
	Place      string    `json:"place,omitempty"` // of the rescue ladder; "" as planned
	Stops      []string  `json:"stops,omitempty"` // codes; none: the box agrees
}

// Reader is one person's reading of the print on the box.
type Reader struct {
	Who      string `json:"who"`
	Power    string `json:"power"`
	Cylinder string `json:"cylinder"`
}

// Rung is one lens of the signed rescue ladder.
type Rung struct {
	Place string
	Model string
	Power unit.Dioptre
}

// HandPlan is what the signed plan says of the lens.
type HandPlan struct {
	Planned
	Cylinder unit.Reading[unit.Dioptre] // not known or 0: no toric lens
	Ladder   []Rung
}

func hand(code, limit string) finding.Rule { return handRule(code, finding.Stop, limit) }

func handRule(code string, s finding.Severity, limit string) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: s, Absolute: s == finding.Stop, Limit: limit,
		Ref: source.Ref{Key: source.LensInHand, Where: "box against signed plan", Grade: source.Own}})
}

var (
	handPower    = hand("hand-power", "the power read from the box is not the plan's")
	handSign     = hand("hand-sign", "the power read from the box has the other sign")
	handCylinder = hand("hand-cylinder", "the cylinder read from the box is not the plan's")
	handModel    = hand("hand-model", "the model of the box is not the plan's")
	handReaders  = hand("hand-readers", "two people read different figures from one box")
	handAlone    = hand("hand-alone", "both readings are of one person")
	handExpired  = hand("hand-expired", "the date of use has passed")
	handNoDate   = hand("hand-no-date", "the date of use is not known")
	handNoLens   = hand("hand-no-lens", "the signed plan has no lens for that place")
	handNoSerial = handRule("hand-no-serial", finding.Caution, "no serial number: nobody can tell whether it was implanted before")
)

// Compare says what keeps the box from the eye. Without a stop it agrees.
// Powers are compared as printed, to a hundredth of a dioptre.
func (h *InHand) Compare(p HandPlan, today unit.Date) (list []finding.Finding) {
	add := func(is bool, r finding.Rule, field string, v ...finding.Value) {
		if is {
			list = append(list, r.On(field, v...))
		}
	}
	add(h.First.Who == h.Second.Who, handAlone, "second_reader")
	one, two := figure(h.First.Power, true), figure(h.Second.Power, true)
	add(one != two, handReaders, KeyPower, value("first", one), value("second", two))
	oneCyl, twoCyl := figure(h.First.Cylinder, false), figure(h.Second.Cylinder, false)
	add(oneCyl != twoCyl, handReaders, "cylinder", value("first", oneCyl), value("second", twoCyl))
	add(!h.Expiry.Exact(), handNoDate, "expiry")
	add(h.Expiry.Exact() && h.Expiry.Before(today), handExpired, "expiry", value("date", h.Expiry.String()), value("today", today.String()))
	add(h.Serial == "", handNoSerial, "serial")
	want, cylinder, ok := p.lens(h.Place)
	add(!ok, handNoLens, KeyPlace, value("place", h.Place))
	if !ok {
		return list
	}
	add(!strings.EqualFold(h.Model, want.Model), handModel, KeyModel, value("got", h.Model), value("planned", want.Model))
	planned := unit.Signed(float64(want.Power), 2)
	for _, got := range distinct(one, two) {
		add(!sameFigure(got, planned), handPower, KeyPower, value("got", got), value("planned", planned))
		add(got != planned && sameFigure(got, planned), handSign, KeyPower, value("got", got), value("planned", planned))
	}
	for _, got := range distinct(oneCyl, twoCyl) {
		add(got != cylinder, handCylinder, "cylinder", value("got", got), value("planned", cylinder))
	}
	return list
}

// lens is what is planned for the place, with the cylinder as printed. A lens
// of the rescue ladder is not toric.
func (p *HandPlan) lens(place string) (want Rung, cylinder string, ok bool) {
	if place == "" {
		cyl := 0.0
		if p.Cylinder.Known {
			cyl = float64(p.Cylinder.Value)
		}
		return Rung{p.Placement, p.Model, p.Power}, unit.Fixed(cyl, 2), p.HasLens
	}
	for _, r := range p.Ladder {
		if r.Place == place {
			return r, unit.Fixed(0, 2), true
		}
	}
	return Rung{}, "", false
}

// figure writes a typed number the way figures are compared; what is no number
// stays as typed, and agrees with nothing.
func figure(text string, signed bool) string {
	v, err := unit.ParseNumber(strings.TrimSpace(text))
	switch {
	case err != nil:
		return "“" + text + "”"
	case signed:
		return unit.Signed(v, 2)
	}
	return unit.Fixed(v, 2)
}

// bare is a figure without its sign.
func bare(s string) string { return strings.TrimPrefix(strings.TrimPrefix(s, "+"), unit.Minus) }

// sameFigure reports whether two figures differ in their sign at most.
func sameFigure(a, b string) bool { return bare(a) == bare(b) }

func distinct(a, b string) []string {
	if a == b {
		return []string{a}
	}
	return []string{a, b}
}

// Cylinder writes a cylinder as it is compared.
func Cylinder(text string) string { return figure(text, false) }
