package web

import (
	"context"
	"time"

	"linn/eye"
	"linn/unit"
)

// cannedChain answers the chain pages of the gallery.
type cannedChain struct {
	past     History
	cards    map[string]Card
	verified Verified
	wrong    error // what a chain form is refused with
}

func (c *cannedChain) History(context.Context, Actor, HistoryQuery) (History, error) {
	return c.past, nil
}
func (c *cannedChain) Correct(context.Context, Actor, Measurement, string) (EyeCase, error) {
	return EyeCase{}, c.wrong
}
func (c *cannedChain) Card(_ context.Context, _ Actor, _ Deed, identifier string) (Card, error) {
	card, ok := c.cards[identifier]
	if !ok {
		return card, ErrNotFound
	}
	return card, nil
}
func (c *cannedChain) Move(context.Context, Actor, Moving) error          { return c.wrong }
func (c *cannedChain) Merge(context.Context, Actor, Actor, Merging) error { return c.wrong }
func (c *cannedChain) Erase(context.Context, Actor, Actor, Erasing) (string, error) {
	return "", c.wrong
}
func (c *cannedChain) Verify(context.Context, Actor) (Verified, error) { return c.verified, nil }

func galleryHistory() History {
	h := History{Identity: galleryIdentity(), Patient: "p", Older: 3, Newer: 5, Changes: []Changed{
		{"eye.axial_length_mm", "23.14", "23.41"}, {"second.axial_length_mm.text", "", "23.41"}, {"chosen.model", "", "Tarn 60"},
		{"chosen.power_d", "", "22"}, {"passes.0.reason", "", "long known myopia on the left"}, {"signed.plan.decision.power_d", "", "22"}}}
	for i, verb := range []string{"open", "measure", "repeat", "correct", "sign"} {
		p := PastLine{Number: i + 1, At: galleryTime.Add(time.Duration(i) * time.Minute), By: technicianBay.Name, Verb: verb, Hash: "9f2c81d0b7aa41e2"}
		if verb == "correct" {
			p.Reason = "the printout says 23.41"
		}
		h.Past = append(h.Past, p)
	}
	return h
}

func galleryCards() map[string]Card {
	return map[string]Card{
		"H-0412": {Patient: "p", Name: "Maren Holm", Identifier: "H-0412", Sex: eye.Female, Age: unit.Known(unit.Year(67)),
			Cases: []CardCase{{"c1", eye.Right, "signed", 7, galleryList}}},
		"H-0421": {Patient: "q", Name: "Marin Holme", Identifier: "H-0421", Sex: eye.Female, Age: unit.Known(unit.Year(76)), Also: 1,
			Cases: []CardCase{{"c2", eye.Right, "open", 3, unit.Date{}}, {"c3", eye.Left, "closed", 9, unit.Date{}}}},
	}
}

func chainCases() []galleryCase {
	person := galleryHistory()
	person.CaseID, person.Changes, person.Older, person.Newer = "", nil, 0, 0
	erased := person
	erased.Identity, erased.Erased = Identity{}, true
	with := func(who Actor, c cannedChain) *canned {
		c.cards = galleryCards()
		return &canned{who: who, eye: averageEye(), cannedChain: c}
	}
	broken := Verified{Chains: 431, Revisions: 6120, Plans: 212, Broken: []BrokenLink{{"case", "019caca6-3660-7e4b-a4fe-80977fdce01a", "hash", 4}},
		Differs: []PlanDiffers{{"019caca6-3660-7e4b-a4fe-80977fdce01b", 9, "decision.predicted", "-0.38", "-0.41"}}}
	signed := with(surgeonLark, cannedChain{})
	signed.eye = signedEye()
	return []galleryCase{
		{"history", "/case/c1/history?older=3&newer=5", with(surgeonLark, cannedChain{past: galleryHistory()})},
		{"history-person", "/patient/p/history", with(surgeonLark, cannedChain{past: person})},
		{"history-erased", "/patient/p/history", with(surgeonLark, cannedChain{past: erased})},
		{"correct", "/case/c1/correct", with(technicianBay, cannedChain{})},
		{"correct-signed", "/case/c1/correct", signed},
		{"move", "/case/c1/move", with(technicianBay, cannedChain{})},
		{"move-found", "/case/c1/move?find=H-0421", with(technicianBay, cannedChain{})},
		{"move-nobody", "/case/c1/move?find=H-9", with(technicianBay, cannedChain{})},
		{"merge", "/desk/merge", with(administratorFen, cannedChain{})},
		{"merge-both", "/desk/merge?identifier=H-0421&into=H-0412", with(administratorFen, cannedChain{})},
		{"erase-found", "/desk/erase?identifier=H-0412", with(administratorFen, cannedChain{})},
		{"verify", "/desk/verify", with(administratorFen, cannedChain{verified: broken})},
	}
}
