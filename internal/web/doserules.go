package web

import (
	"errors"
	"net/http"
	"strings"

	"linn/finding"
)

// DoseRules are the targets and limits of drugs and the drop schedules of the
// unit.
type DoseRules struct {
	Editable bool
	Revision int
	List     []DoseRule
	Drops    []Drop
}

// DoseRule is one target or limit.
type DoseRule struct {
	Key, Name, Unit string
	Default, Source string
	Says            string // what its sources disagree about
	Value           string // as approved here, "" not
	By, On          string
}

// Drop is a drop schedule of the unit, in its own words.
type Drop struct{ Name, Text string }

// DoseRulesForm is what was typed.
type DoseRulesForm struct {
	Revision int
	Values   map[string]string
	By, On   string
	Drop     Drop
	Reason   string
}

// DoseRulesPage is the page of the Desk.
type DoseRulesPage struct {
	Frame
	Rules   DoseRules
	Form    DoseRulesForm
	Refused []string
}

func (s *server) doseRules(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.doseRulesPage(w, r, by, DoseRulesForm{}, nil)
}

func (s *server) doseRulesPage(w http.ResponseWriter, r *http.Request, by Actor, f DoseRulesForm, refused finding.Refusals) error {
	rules, err := s.Pathway.Doses(r.Context(), by)
	if err != nil {
		return err
	}
	for i := range rules.List {
		if text, typed := f.Values[rules.List[i].Key]; typed {
			rules.List[i].Value = text
		}
	}
	status := http.StatusOK
	if refused != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "doses", "page", DoseRulesPage{s.frame(r, by, s.t("doses.heading"), "desk"), rules, f, s.refusalText(refused)})
}

func (s *server) settleDoses(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	f := DoseRulesForm{Revision: revision(r), Values: map[string]string{}, By: get("by"), On: get("on"), Drop: Drop{get("drop-name"), get("drop-text")}, Reason: get("reason")}
	for key, list := range r.PostForm {
		if name, is := strings.CutPrefix(key, "limit."); is {
			f.Values[name] = strings.TrimSpace(list[0])
		}
	}
	err := s.Pathway.SetDoses(r.Context(), by, f)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.doseRulesPage(w, r, by, f, refused)
	}
	if err == nil {
		s.to(w, r, "/desk/doses")
	}
	return err
}
