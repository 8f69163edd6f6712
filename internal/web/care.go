package web

import (
	"errors"
	"net/http"
	"path"
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/pathway"
)

// CarePart is one eye with what is recorded beside its readings.
type CarePart struct {
	Identity Identity
	Care     pathway.Care
	Findings []FindingItem // gates, paths, doses, consent
	May      map[string]bool
}

// CareForm is one form of the pages Decided and Drugs, as typed.
type CareForm struct {
	CaseID   string
	Revision int
	What     string // findings, decide, drugs, check, consent, mark, list
	Values   map[string]string
	Lists    map[string][]string
	Lines    []map[string]string
}

// CareView is what both pages show around their own.
type CareView struct {
	Frame
	CaseID   string
	Revision int
	Findings []FindingView
	Refused  []string
	May      map[string]bool
}

// carePage says which page a form belongs to.
var carePage = map[string]string{"findings": "decided", "decide": "decided", "consent": "decided", "mark": "decided", "list": "decided", "drugs": "drugs", "check": "drugs"}

func (s *server) decided(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.carePage(w, r, by, "decided", CareForm{CaseID: r.PathValue("id")}, nil)
}

func (s *server) drugs(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.carePage(w, r, by, "drugs", CareForm{CaseID: r.PathValue("id")}, nil)
}

// record takes one form. What was refused is shown again as it was typed.
func (s *server) record(w http.ResponseWriter, r *http.Request, by Actor) error {
	f := CareForm{CaseID: r.PathValue("id"), Revision: revision(r), What: path.Base(r.URL.Path), Values: map[string]string{}, Lists: r.PostForm}
	page, known := carePage[f.What]
	if !known {
		return ErrNotFound
	}
	for key, list := range r.PostForm {
		f.Values[key] = strings.TrimSpace(list[0])
	}
	f.Lines = drugLines(f.Values)
	err := s.Pathway.Record(r.Context(), by, f)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.carePage(w, r, by, page, f, refused)
	}
	if err == nil {
		s.to(w, r, "/case/"+f.CaseID+"/"+page)
	}
	return err
}

func (s *server) carePage(w http.ResponseWriter, r *http.Request, by Actor, page string, typed CareForm, refused finding.Refusals) error {
	c, err := s.Pathway.Care(r.Context(), by, typed.CaseID)
	if err != nil {
		return err
	}
	v := CareView{Frame: s.clinical(r, by, s.t("stage."+page), c.Identity), CaseID: typed.CaseID, Revision: c.Identity.Revision, May: c.May, Refused: s.refusalText(refused)}
	for i, item := range c.Findings {
		ofDose := c.Care.Now.Dose != nil && hasFinding(c.Care.Now.Dose.All(), item.Finding)
		if ofDose != (page == "drugs") {
			continue
		}
		f := s.findingView("finding-"+strconv.Itoa(i), item)
		f.Form = nil
		v.Findings = append(v.Findings, f)
	}
	status := http.StatusOK
	if refused != nil {
		status = http.StatusUnprocessableEntity
	}
	if page == "drugs" {
		return s.render(w, status, "drugs", "page", s.drugsView(v, &c, typed))
	}
	return s.render(w, status, "decided", "page", s.decidedView(v, &c, typed))
}

// AskView is one question of a form.
type AskView struct {
	Key, Label, Unit, Value, Message string
	Options                          []Option // none: a number is typed
}

// AskGroup is a group of questions.
type AskGroup struct {
	Name string
	List []AskView
}

// typedOr is what was typed in a form that was refused, else what is recorded.
func typedOr(typed CareForm, what, key, recorded string) string {
	if typed.What == what {
		return typed.Values[key]
	}
	return recorded
}

func (s *server) options(prefix string, words []string, chosen string) []Option {
	list := []Option{{"", s.t("answer."), chosen == ""}}
	for _, w := range words {
		list = append(list, Option{w, s.t(prefix + w), w == chosen})
	}
	return list
}

// fromEye are questions that the readings or the choice answer.
var fromEye = []string{"age_years", "sex", "axial_length_mm", "acd_mm", "corneal_thickness_um", "planned_technique"}

func (s *server) questions(c *pathway.Care, typed CareForm) (list []AskGroup) {
	for _, q := range pathway.Questions() {
		if slices.Contains(fromEye, q.Key) {
			continue
		}
		value := c.Decided.Answers[q.Key]
		if text, bad := c.Unread[q.Key]; bad {
			value = text
		}
		a := AskView{Key: q.Key, Label: s.label(q.Key), Unit: q.Unit, Value: typedOr(typed, "findings", q.Key, value)}
		if r, bad := c.Refused[q.Key]; bad {
			a.Message = s.refusalText(finding.Refusals{r})[0]
		}
		if !q.Number {
			a.Options = s.options("answer.", q.Words, a.Value)
		}
		name := s.t("questions." + q.Group)
		if len(list) == 0 || list[len(list)-1].Name != name {
			list = append(list, AskGroup{Name: name})
		}
		g := &list[len(list)-1]
		g.List = append(g.List, a)
	}
	return list
}
