package web

import (
	"errors"
	"net/http"
	"strings"

	"linn/finding"
)

// NewCaseView is the form that opens a case.
type NewCaseView struct {
	Frame
	Form    NewCase
	Sexes   []Option
	Sides   []Option
	Refused []string
	MayList bool
}

func (s *server) newCase(w http.ResponseWriter, r *http.Request, by Actor) error {
	if !s.Pathway.May(by, ToOpenCase) {
		return ErrForbidden
	}
	return s.newCasePage(w, r, by, NewCase{}, nil)
}

func (s *server) newCasePage(w http.ResponseWriter, r *http.Request, by Actor, c NewCase, refused finding.Refusals) error {
	v := NewCaseView{Frame: s.frame(r, by, s.t("new.heading"), "ward"), Form: c, Refused: s.refusalText(refused), Sexes: s.sexes(c.Sex), MayList: s.Pathway.May(by, ToList)}
	for _, side := range bothSides {
		v.Sides = append(v.Sides, Option{string(side), s.side(side), c.Side == string(side)})
	}
	status := http.StatusOK
	if refused != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "new", "page", v)
}

func (s *server) startCase(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	c := NewCase{Name: get("name"), Identifier: get("identifier"), Sex: get("sex"), Born: get("born"), Side: get("side"), List: get("list"),
		Allergies: get("allergies"), NoAllergies: get("no-allergies") == "yes"}
	id, err := s.Pathway.StartCase(r.Context(), by, c)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.newCasePage(w, r, by, c, refused)
	}
	if err != nil {
		return err
	}
	s.to(w, r, "/case/"+id) // no part of the page: the first field takes the focus
	return nil
}
