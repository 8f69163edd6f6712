package web

import (
	"errors"
	"net/http"
	"slices"
	"strconv"

	"linn/finding"
	"linn/internal/pathway"
)

// VisitView is the form of one visit.
type VisitView struct {
	Frame
	CaseID   string
	Revision int
	Refused  []string
	Visit    int // index, pathway.NewVisit for a new one
	New      bool
	Since    string // "operated on …, 7 days ago"
	On       string
	Kinds    []Option
	Groups   []VisitGroup
	Return   string
	Reason   string
}

// VisitGroup is one part of the form.
type VisitGroup struct {
	Name   string
	Fields []EntryView
}

func (s *server) visit(w http.ResponseWriter, r *http.Request, by Actor) error {
	c, err := s.Pathway.Eye(r.Context(), by, r.PathValue("id"), "")
	if err != nil {
		return err
	}
	n := visitNumber(r.Form.Get("visit"))
	v := pathway.Visit{Kind: c.After.Next.Kind}
	for _, seen := range c.After.Visits {
		if seen.Index == n {
			v = seen.Visit
		}
	}
	return s.render(w, http.StatusOK, "visit", "page", s.visitView(r, by, &c, n, v))
}

// visitNumber reads the index of a visit, a new one where it is none.
func visitNumber(text string) int {
	if n, err := strconv.Atoi(text); err == nil && n >= 0 {
		return n
	}
	return pathway.NewVisit
}

func (s *server) visitView(r *http.Request, by Actor, c *EyeCase, n int, visit pathway.Visit) VisitView {
	v := VisitView{Frame: s.clinical(r, by, s.t("visit.heading"), c.Identity), CaseID: c.CaseID, Revision: c.Revision, Visit: n, New: n == pathway.NewVisit,
		Since: s.sinceText(&c.After), Return: s.prefix + "/case/" + c.CaseID + "#visits"}
	if visit.On.Known() {
		v.On = visit.On.String()
	}
	for _, k := range pathway.VisitKinds {
		v.Kinds = append(v.Kinds, Option{Value: string(k), Text: s.t("visit." + string(k)), Chosen: k == visit.Kind})
	}
	bad := visit.Read()
	for _, group := range pathway.VisitGroups {
		g := VisitGroup{Name: s.t("visit.group." + group)}
		for i := range pathway.VisitFields {
			if f := &pathway.VisitFields[i]; f.Step == group {
				g.Fields = append(g.Fields, s.entry(&f.Field, visit.Values[f.Key], bad))
			}
		}
		v.Groups = append(v.Groups, g)
	}
	return v
}

func (s *server) sinceText(a *AfterPart) string {
	if !a.Eye.On.Exact() {
		return s.t("status.unknown")
	}
	return s.t("visit.operated", "date", s.date(a.Eye.On))
}

// followUp stores a visit as typed.
func (s *server) followUp(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := r.PostForm.Get
	v := pathway.Visiting{Case: r.PathValue("id"), Seen: revision(r), Visit: visitNumber(get("visit")), On: get("on"), Kind: get("kind"), Values: map[string]string{},
		Withdraw: get("withdraw"), Reason: get("reason")}
	for i := range pathway.VisitFields {
		key := pathway.VisitFields[i].Key
		if text, named := r.PostForm["v."+key]; named {
			v.Values[key] = text[0]
		}
	}
	c, err := s.Pathway.FollowUp(r.Context(), by, v)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.followUpRefused(w, r, by, &v, refused)
	}
	if err != nil {
		return err
	}
	s.to(w, r, "/case/"+c.CaseID+"#visits")
	return nil
}

func (s *server) followUpRefused(w http.ResponseWriter, r *http.Request, by Actor, v *pathway.Visiting, refused finding.Refusals) error {
	now, err := s.Pathway.Eye(r.Context(), by, v.Case, "")
	if err != nil {
		return err
	}
	typed := pathway.Visit{}
	for i := range pathway.VisitKinds {
		if string(pathway.VisitKinds[i]) == v.Kind {
			typed.Kind = pathway.VisitKinds[i]
		}
	}
	for key, text := range v.Values {
		typed.Set(key, text)
	}
	view := s.visitView(r, by, &now, v.Visit, typed)
	view.On, view.Reason, view.Revision, view.Refused = v.On, v.Reason, v.Seen, s.refusalText(refused)
	return s.render(w, http.StatusUnprocessableEntity, "visit", "page", view)
}

func (s *server) giveUp(w http.ResponseWriter, r *http.Request, by Actor) error {
	err := s.Pathway.GiveUp(r.Context(), by, r.PathValue("id"), revision(r), r.PostForm.Get("why"))
	if err == nil {
		s.to(w, r, "/case/"+r.PathValue("id")+"#visits")
	}
	return err
}

func (s *server) bed(w http.ResponseWriter, r *http.Request, by Actor) error {
	err := s.Pathway.Bed(r.Context(), by, r.PathValue("id"), revision(r), r.PostForm.Get("bed"))
	if err == nil {
		to := "/case/" + r.PathValue("id") + "#visits"
		if r.PostForm.Get("from") == "round" {
			to = "/round"
		}
		s.to(w, r, to)
	}
	return err
}

func (s *server) openAgain(w http.ResponseWriter, r *http.Request, by Actor) error {
	next, err := s.Pathway.OpenAgain(r.Context(), by, r.PathValue("id"), r.PostForm.Get("why"))
	if err == nil {
		s.to(w, r, "/case/"+next)
	}
	return err
}

// VisitLine is a visit as it stands in a list.
type VisitLine struct {
	Kind, On, By string
	Acuity       []SaidView
	Rest         []SaidView
	Findings     []*Mark
	Withdrawn    string
	Change       string // where to change it, "" for those who may not
}

func (s *server) visitLines(c *EyeCase) (list []VisitLine) {
	for _, v := range slices.Backward(c.After.Visits) {
		l := VisitLine{Kind: s.t("visit." + string(v.Kind)), On: s.date(v.On), By: v.Name, Findings: s.findingLines(v.Findings)}
		if v.Known {
			l.On = s.t("visit.day", "date", s.date(v.On), "n", strconv.Itoa(v.Day))
		}
		if v.Withdrawn != "" {
			l.Withdrawn = s.t("visit.withdrawn", "why", v.Withdrawn)
		} else if c.After.MayVisit {
			l.Change = s.prefix + "/case/" + c.CaseID + "/visit?visit=" + strconv.Itoa(v.Index)
		}
		for i := range pathway.VisitFields {
			f := &pathway.VisitFields[i]
			text := v.Values[f.Key]
			switch {
			case text == "" || f.Key == "notation":
			case f.Acuity:
				l.Acuity = append(l.Acuity, SaidView{s.label(f.Key), s.acuityText(&v.Visit, f.Key)})
			default:
				l.Rest = append(l.Rest, SaidView{s.label(f.Key), s.said(&f.Field, text)})
			}
		}
		list = append(list, l)
	}
	return list
}

// acuityText is an acuity as the chart shows it, and its logMAR beside it.
func (s *server) acuityText(v *pathway.Visit, key string) string {
	a, err := v.Acuity(key)
	if err != nil {
		return v.Values[key]
	}
	shown := num(a.LogMAR).String()
	if a.Imputed {
		shown = s.t("acuity.imputed", "value", shown)
	}
	text := a.Text
	if n := v.Values["notation"]; a.Notation != "snellen" && a.Notation != "low" && n != "" {
		text += " " + s.word("notation", n)
	}
	return s.t("acuity.shown", "text", text, "logmar", shown)
}
