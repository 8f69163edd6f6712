package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"linn/eye"
	"linn/finding"
)

// CorrectPage is the form that corrects readings with a reason.
type CorrectPage struct {
	Frame
	Eye     EyeColumn
	Fellow  int
	Reason  string
	Signed  bool
	Refused []string
}

func (s *server) correctForm(w http.ResponseWriter, r *http.Request, by Actor) error {
	c, err := s.Pathway.Eye(r.Context(), by, r.PathValue("id"), "")
	if err != nil {
		return err
	}
	return s.correctPage(w, r, by, &c, "", nil)
}

func (s *server) correctPage(w http.ResponseWriter, r *http.Request, by Actor, c *EyeCase, reason string, refused finding.Refusals) error {
	if !s.Pathway.May(by, ToCorrect) {
		return ErrForbidden
	}
	v := CorrectPage{Frame: s.clinical(r, by, s.t("correct.heading"), c.Identity), Fellow: c.Fellow, Reason: reason, Signed: c.Signed, Refused: s.refusalText(refused)}
	for _, col := range s.measuredView(c).Columns {
		if col.Here {
			v.Eye = col
		}
	}
	return s.render(w, answered(refused), "correct", "page", v)
}

// answered is the status of a form's page.
func answered(refused finding.Refusals) int {
	if refused != nil {
		return http.StatusUnprocessableEntity
	}
	return http.StatusOK
}

func (s *server) correct(w http.ResponseWriter, r *http.Request, by Actor) error {
	m, reason := typedReadings(r), r.PostForm.Get("reason")
	_, err := s.Pathway.Correct(r.Context(), by, m, reason)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		c, err := s.Pathway.Eye(r.Context(), by, m.CaseID, "")
		if err != nil {
			return err
		}
		for side, texts := range m.Eyes { // what was typed stays
			own := c.Of(side)
			for key, text := range texts {
				own.Texts[key] = text
			}
		}
		return s.correctPage(w, r, by, &c, reason, refused)
	}
	if err == nil {
		s.to(w, r, "/case/"+m.CaseID)
	}
	return err
}

// MovePage takes readings to the eye they belong to.
type MovePage struct {
	Frame
	Find    string // identifier as typed
	Absent  string
	To      *CardView
	Targets []Option // cases that may take them
	Fields  []MoveField
	Reason  string
	Refused []string
}

// MoveField is one reading that may be moved.
type MoveField struct {
	Key, Label, Value string
	Chosen            bool
}

// CardView is a person as one looks at before something is put right.
type CardView struct {
	Name, Identifier, About, Also string
	Cases                         []string
}

func (s *server) card(c Card) *CardView {
	v := &CardView{Name: c.Name, Identifier: c.Identifier, About: s.person(Identity{Sex: c.Sex, Age: c.Age})}
	if c.Also > 0 {
		v.Also = s.t("card.also", "n", c.Also)
	}
	for _, x := range c.Cases {
		v.Cases = append(v.Cases, s.caseLine(x))
	}
	return v
}

func (s *server) caseLine(x CardCase) string {
	line := s.side(x.Side) + ", " + s.t("card.state."+x.State)
	if x.List.Known() {
		line += ", " + s.t("list", "date", s.date(x.List))
	}
	return line
}

func (s *server) moveForm(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.movePage(w, r, by, Moving{CaseID: r.PathValue("id"), Identifier: strings.TrimSpace(r.Form.Get("find"))}, nil)
}

func (s *server) movePage(w http.ResponseWriter, r *http.Request, by Actor, m Moving, refused finding.Refusals) error {
	if !s.Pathway.May(by, ToMove) {
		return ErrForbidden
	}
	c, err := s.Pathway.Eye(r.Context(), by, m.CaseID, "")
	if err != nil {
		return err
	}
	v := MovePage{Frame: s.clinical(r, by, s.t("move.heading"), c.Identity), Find: m.Identifier, Reason: m.Reason, Refused: s.refusalText(refused)}
	for _, key := range entryKeys {
		if text := c.Of(c.Side).Texts[key]; text != "" {
			v.Fields = append(v.Fields, MoveField{key, s.label(key), text, slices.Contains(m.Fields, key)})
		}
	}
	if m.Identifier != "" {
		card, err := s.Pathway.Card(r.Context(), by, ToMove, m.Identifier)
		switch {
		case errors.Is(err, ErrNotFound):
			v.Absent = s.t("card.absent", "identifier", m.Identifier)
		case err != nil:
			return err
		default:
			v.To = s.card(card)
			for _, x := range card.Cases {
				if x.CaseID != m.CaseID && (x.State == "open" || x.State == "reopened") {
					v.Targets = append(v.Targets, Option{x.CaseID + " " + strconv.Itoa(x.Revision), s.caseLine(x), x.CaseID == m.To})
				}
			}
		}
	}
	return s.render(w, answered(refused), "move", "page", v)
}

func (s *server) move(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := r.PostForm.Get
	to, seen, _ := strings.Cut(get("to"), " ")
	m := Moving{CaseID: r.PathValue("id"), Revision: revision(r), To: to, ToSeen: number(seen), Fields: r.PostForm["field"],
		Reason: get("reason"), Identifier: get("find"), Typed: get("typed")}
	err := s.Pathway.Move(r.Context(), by, m)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.movePage(w, r, by, m, refused)
	}
	if err == nil {
		s.to(w, r, "/case/"+m.To)
	}
	return err
}

// TwoPeoplePage merges two records, or erases one: two people stand for it.
type TwoPeoplePage struct {
	Frame
	Identifier, Into string // as typed
	Absent           []string
	One, Other       *CardView
	Reason, Who      string
	Names            []Option // in the demo: who may be the second
	Refused          []string
}

func (s *server) mergeForm(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.mergePage(w, r, by, Merging{Identifier: strings.TrimSpace(r.Form.Get("identifier")), Into: strings.TrimSpace(r.Form.Get("into"))}, nil)
}

func (s *server) mergePage(w http.ResponseWriter, r *http.Request, by Actor, m Merging, refused finding.Refusals) error {
	if !s.Pathway.May(by, ToMerge) {
		return ErrForbidden
	}
	v := TwoPeoplePage{Frame: s.frame(r, by, s.t("merge.heading"), "desk"), Identifier: m.Identifier, Into: m.Into, Reason: m.Reason,
		Who: r.PostForm.Get("who"), Refused: s.refusalText(refused)}
	v.Names, _ = s.demoNames(r, by)
	for _, x := range []struct {
		identifier string
		into       **CardView
	}{{m.Identifier, &v.One}, {m.Into, &v.Other}} {
		if err := s.find(r, by, ToMerge, x.identifier, x.into, &v.Absent); err != nil {
			return err
		}
	}
	return s.render(w, answered(refused), "merge", "page", v)
}

// find looks a card up; nobody is not an error here.
func (s *server) find(r *http.Request, by Actor, to Deed, identifier string, into **CardView, absent *[]string) error {
	if identifier == "" {
		return nil
	}
	card, err := s.Pathway.Card(r.Context(), by, to, identifier)
	if errors.Is(err, ErrNotFound) {
		*absent = append(*absent, s.t("card.absent", "identifier", identifier))
		return nil
	}
	if err == nil {
		*into = s.card(card)
	}
	return err
}

func (s *server) merge(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := r.PostForm.Get
	m := Merging{Identifier: get("identifier"), Into: get("into"), Reason: get("reason"), Typed: get("typed")}
	second, err := s.beside(w, r, by)
	if err == nil {
		err = s.Pathway.Merge(r.Context(), by, second, m)
	}
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.mergePage(w, r, by, m, refused)
	}
	if err == nil {
		s.to(w, r, "/ward?q="+url.QueryEscape(m.Into))
	}
	return err
}

func (s *server) eraseForm(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.erasePage(w, r, by, Erasing{Identifier: strings.TrimSpace(r.Form.Get("identifier"))}, nil)
}

func (s *server) erasePage(w http.ResponseWriter, r *http.Request, by Actor, e Erasing, refused finding.Refusals) error {
	if !s.Pathway.May(by, ToErase) {
		return ErrForbidden
	}
	v := TwoPeoplePage{Frame: s.frame(r, by, s.t("erase.heading"), "desk"), Identifier: e.Identifier, Reason: e.Reason, Who: r.PostForm.Get("who"), Refused: s.refusalText(refused)}
	v.Names, _ = s.demoNames(r, by)
	if err := s.find(r, by, ToErase, e.Identifier, &v.One, &v.Absent); err != nil {
		return err
	}
	return s.render(w, answered(refused), "erase", "page", v)
}

func (s *server) erase(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := r.PostForm.Get
	e := Erasing{Identifier: get("identifier"), Reason: get("reason"), Typed: get("typed")}
	second, err := s.beside(w, r, by)
	if err == nil {
		_, err = s.Pathway.Erase(r.Context(), by, second, e)
	}
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.erasePage(w, r, by, e, refused)
	}
	if err != nil {
		return err
	}
	v := TwoPeoplePage{Frame: s.frame(r, by, s.t("erase.done"), "desk")}
	return s.render(w, http.StatusOK, "erased", "page", v)
}

// VerifyPage is what a walk over the whole record found.
type VerifyPage struct {
	Frame
	Done    bool
	Sound   bool
	Counted string
	Broken  []string
	Newer   []string
	Differs []ChangeView
}

func (s *server) verifyForm(w http.ResponseWriter, r *http.Request, by Actor) error {
	if !s.Pathway.May(by, ToVerify) {
		return ErrForbidden
	}
	return s.render(w, http.StatusOK, "verify", "page", VerifyPage{Frame: s.frame(r, by, s.t("walk.heading"), "desk")})
}

func (s *server) verify(w http.ResponseWriter, r *http.Request, by Actor) error {
	found, err := s.Pathway.Verify(r.Context(), by)
	if err != nil {
		return err
	}
	v := VerifyPage{Frame: s.frame(r, by, s.t("walk.heading"), "desk"), Done: true, Sound: found.Sound,
		Counted: s.t("walk.counted", "chains", found.Chains, "revisions", found.Revisions, "plans", found.Plans)}
	for _, b := range append(found.Broken, found.Stale...) {
		v.Broken = append(v.Broken, s.linkText(b))
	}
	for _, b := range found.Newer {
		v.Newer = append(v.Newer, s.linkText(b))
	}
	for _, d := range found.Differs {
		v.Differs = append(v.Differs, ChangeView{s.t("walk.plan", "case", d.CaseID, "n", d.Number) + ": " + s.pathLabel(d.Field), s.orEmpty(d.Signed), s.orEmpty(d.Now)})
	}
	return s.render(w, http.StatusOK, "verify", "page", v)
}

func (s *server) linkText(b BrokenLink) string {
	return s.t("walk.at", "kind", s.t("past.part."+b.Kind), "chain", b.Chain, "n", b.Number, "fault", s.t("walk.fault."+b.Fault))
}

// typedReadings reads the readings of both eyes as typed.
func typedReadings(r *http.Request) Measurement {
	m := Measurement{CaseID: r.PathValue("id"), Revision: revision(r), Fellow: whole(r, "fellow"), Eyes: map[eye.Side]map[string]string{}}
	for _, side := range bothSides {
		m.Eyes[side] = map[string]string{}
		for _, key := range entryKeys {
			if v, ok := r.PostForm[fieldName(side, key)]; ok {
				m.Eyes[side][key] = v[0]
			}
		}
	}
	return m
}
