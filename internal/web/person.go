package web

import (
	"errors"
	"net/http"
	"strings"

	"linn/eye"
	"linn/finding"
)

// PersonPage is the form that corrects who a person is.
type PersonPage struct {
	Frame
	CaseID  string
	Form    PersonForm
	Sexes   []Option
	Refused []string
}

func (s *server) personOf(w http.ResponseWriter, r *http.Request, by Actor) error {
	f, err := s.Pathway.Person(r.Context(), by, r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.personPage(w, r, by, f, nil)
}

func (s *server) personPage(w http.ResponseWriter, r *http.Request, by Actor, f PersonForm, refused finding.Refusals) error {
	c, err := s.Pathway.Eye(r.Context(), by, f.CaseID, "")
	if err != nil {
		return err
	}
	v := PersonPage{Frame: s.clinical(r, by, s.t("person.heading"), c.Identity), CaseID: f.CaseID, Form: f, Sexes: s.sexes(f.Sex), Refused: s.refusalText(refused)}
	status := http.StatusOK
	if refused != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "person", "page", v)
}

func (s *server) sexes(chosen string) (list []Option) {
	for _, sex := range []eye.Sex{eye.Female, eye.Male, eye.OtherSex} {
		list = append(list, Option{string(sex), s.t("sex." + string(sex)), chosen == string(sex)})
	}
	return list
}

func (s *server) correctPerson(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	f := PersonForm{CaseID: r.PathValue("id"), Revision: revision(r), Name: get("name"), Identifier: get("identifier"), Sex: get("sex"),
		Born: get("born"), Allergies: get("allergies"), NoAllergies: get("no-allergies") == "yes", Reason: get("reason")}
	err := s.Pathway.CorrectPerson(r.Context(), by, f)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.personPage(w, r, by, f, refused)
	}
	if err == nil {
		s.to(w, r, "/case/"+f.CaseID)
	}
	return err
}
