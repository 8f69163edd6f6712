package web

import (
	"context"
	"errors"
	"net/http"
	"slices"
	"strings"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/internal/transfer/gs1io"
	"linn/unit"
)

// Hands is what the page of the lens in hand asks.
type Hands interface {
	// InHand finds the eye that a sheet or a wristband stands for.
	InHand(ctx context.Context, by Actor, code string) (pathway.Hand, error)
	// HoldBox holds a box against the signed plan.
	HoldBox(ctx context.Context, by Actor, b pathway.Box) (pathway.BoxAnswer, error)
}

// ToHold is the deed of holding a box against the plan.
const ToHold Deed = "scan"

// HandPage is the lens in hand, one question a page. The planned power is not
// on it before two people have read the box.
type HandPage struct {
	Frame
	Action, Away string
	Step         string // code, box, way, first, second, answer
	Refused      []string
	Kept         []Kept // what was answered before
	CodeSays     []string
	Cautions     []string
	Ways         []Option
	Models       []Option
	People       []Option
	Rungs        []Option
	AskDate      bool
	Agrees       bool
	Word         string
	Power        Num
	Cylinder     string
	Says         string
	Differs      []string
}

// Kept is one answer that goes along.
type Kept struct{ Name, Value string }

// idleRefresh closes an open patient after ten minutes without a touch, also
// without a script.
const idleRefresh = "600; url="

// handPlaces are where a lens of the rescue ladder goes.
var handPlaces = []string{"captured", "sulcus", "chamber"}

func (s *server) theatre(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.render(w, http.StatusOK, "hand", "page", s.handPage(s.frame(r, by, s.t("hand.heading"), "ward"), "code"))
}

func (s *server) handPage(f Frame, step string) HandPage {
	f.Back = s.prefix + "/theatre" // the form has no address of its own
	return HandPage{Frame: f, Step: step, Action: s.prefix + "/theatre/lens", Away: s.prefix + "/theatre"}
}

// lensInHand asks the next question, or gives the answer.
func (s *server) lensInHand(w http.ResponseWriter, r *http.Request, by Actor) error {
	h, err := s.Pathway.InHand(r.Context(), by, r.PostForm.Get("code"))
	if refused := (finding.Refusals)(nil); errors.As(err, &refused) {
		v := s.handPage(s.frame(r, by, s.t("hand.heading"), "ward"), "code")
		v.Refused = s.refusalText(refused)
		return s.render(w, http.StatusUnprocessableEntity, "hand", "page", v)
	}
	if err != nil {
		return err
	}
	w.Header().Set("Refresh", idleRefresh+s.prefix+"/theatre")
	v := s.handPage(s.clinical(r, by, s.t("hand.heading"), handIdentity(&h)), "box")
	if h.SameName {
		v.Cautions = append(v.Cautions, s.t("hand.same-name"))
	}
	box := pathway.Box{Case: h.Case, Seen: h.Revision}
	refused := s.nextOfHand(&v, r, &h, &box)
	if v.Step == "answer" && refused == nil {
		a, err := s.Pathway.HoldBox(r.Context(), by, box)
		if !errors.As(err, &refused) {
			if err != nil {
				return err
			}
			s.handAnswer(&v, &a)
		} else {
			v.Step = "box"
		}
	}
	v.Refused = s.refusalText(refused)
	for _, name := range handKept[v.Step] {
		v.Kept = append(v.Kept, Kept{name, r.PostForm.Get(name)})
	}
	return s.render(w, answered(refused), "hand", "page", v)
}

// handKept are the answers that go along at each step.
var handKept = map[string][]string{
	"box":   {"code"},
	"way":   {"code", "box", "place"},
	"first": {"code", "box", "place", "way"},
	"second": {"code", "box", "place", "way", "model", "expiry",
		"first", "first_power", "first_cylinder"},
}

// nextOfHand finds the step at which the form stands and fills the box.
func (s *server) nextOfHand(v *HandPage, r *http.Request, h *pathway.Hand, box *pathway.Box) finding.Refusals {
	get := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	v.Rungs = s.handOptions("hand.place.", handPlaces, get("place"))
	if _, asked := r.PostForm["box"]; !asked {
		return nil
	}
	labels, refused := gs1io.Read(r.PostForm.Get("box"), h.Row.List.Date)
	if refused != nil {
		return refused
	}
	way := 0
	if len(labels) > 1 {
		if way = number(get("way")) - 1; way < 0 || way >= len(labels) {
			v.Step = "way"
			for i, l := range labels {
				v.Ways = append(v.Ways, Option{Value: countText(i + 1), Text: s.t("hand.way", "lot", orDash(l.Lot), "serial", orDash(l.Serial), "date", orDash(l.Expiry.String()))})
			}
			return nil
		}
	}
	l := labels[way]
	s.boxSays(v, &l)
	v.AskDate = !l.Expiry.Known()
	v.Models, v.People = plainOptions(h.Models), peopleOf(h.People)
	in := &box.Hand
	in.Raw, in.Product, in.Lot, in.Serial, in.Expiry, in.Model, in.Place = l.Raw, l.Product, l.Lot, l.Serial, l.Expiry, get("model"), get("place")
	if v.AskDate {
		in.Expiry, _ = unit.ParseDate(get("expiry"))
	}
	in.First.Who, in.First.Power, in.First.Cylinder = get("first"), get("first_power"), get("first_cylinder")
	in.Second.Who, in.Second.Power, in.Second.Cylinder = get("second"), get("second_power"), get("second_cylinder")
	switch {
	case slices.Contains([]string{in.Model, in.First.Who, in.First.Power, in.First.Cylinder}, ""):
		v.Step = "first"
	case slices.Contains([]string{in.Second.Who, in.Second.Power, in.Second.Cylinder}, ""):
		v.Step = "second"
	default:
		v.Step = "answer"
	}
	return nil
}

func (s *server) boxSays(v *HandPage, l *gs1io.Label) {
	for _, f := range l.Findings {
		v.Cautions = append(v.Cautions, locale.Severity(s.lang, f.Severity)+": "+locale.Finding(s.lang, f))
	}
	for _, line := range [][2]string{{"lot", l.Lot}, {"serial", l.Serial}, {"expiry", l.Expiry.String()}} {
		if line[1] != "" {
			v.CodeSays = append(v.CodeSays, s.t("label."+line[0], "text", line[1]))
		}
	}
}

func (s *server) handAnswer(v *HandPage, a *pathway.BoxAnswer) {
	v.Agrees, v.Word = a.Agrees, s.t("hand.stop")
	for _, f := range a.Findings {
		v.Differs = append(v.Differs, locale.Finding(s.lang, f))
	}
	if !a.Agrees {
		v.Says = s.t("hand.stop.how")
		return
	}
	v.Word, v.Power, v.Cylinder = s.t("hand.agrees.word"), reading(s.words, unit.Known(a.Power)), a.Cylinder
	v.Says = s.t("hand.agrees", "n", countText(a.PlanNumber), "name", a.Row.Who.Name, "side", s.side(a.Row.Side))
	if last := a.Last; last != nil && last.Place != "" {
		v.Differs = append([]string{s.t("hand.agrees.place", "place", s.t("hand.place."+last.Place))}, v.Differs...)
	}
}

func handIdentity(h *pathway.Hand) Identity {
	return Identity{CaseID: h.Case, Side: h.Row.Side, Name: h.Row.Who.Name, Identifier: h.Row.Who.Identifier, Sex: h.Row.Who.Sex, Born: h.Row.Who.BirthDate, Age: h.Row.Age, List: h.Row.List.Date, Place: h.Row.List.Order,
		Plan: h.PlanNumber, Signed: true, Revision: h.Revision}
}

func (s *server) handOptions(prefix string, words []string, chosen string) (list []Option) {
	for _, word := range words {
		list = append(list, Option{word, s.t(prefix + word), word == chosen})
	}
	return list
}

func plainOptions(words []string) (list []Option) {
	for _, word := range words {
		list = append(list, Option{Value: word, Text: word})
	}
	return list
}

func peopleOf(people []pathway.HandPerson) (list []Option) {
	for _, p := range people {
		list = append(list, Option{Value: p.ID, Text: p.Name})
	}
	return list
}

func orDash(text string) string {
	if text == "" {
		return "–"
	}
	return text
}

func (a *ward) InHand(ctx context.Context, by Actor, code string) (pathway.Hand, error) {
	h, err := a.Pathway.InHand(ctx, actorOf(by), code)
	return h, said(err)
}

func (a *ward) HoldBox(ctx context.Context, by Actor, b pathway.Box) (pathway.BoxAnswer, error) {
	answer, err := a.Scan(ctx, actorOf(by), b)
	return answer, said(err)
}
