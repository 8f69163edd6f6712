package web

import (
	"strconv"
	"strings"

	"linn/internal/pathway"
)

// DoneView is the operation on the Eye page.
type DoneView struct {
	CaseID, Prefix string
	Revision       int
	Text           string // who closed the record, or that nothing is written down
	Lines          []SaidView
	Findings       []*Mark
	Told           []string // complications
	Form           string   // where to write, "" for those who may not
	FormText       string
	Linked         []Link
	Again          []Option // why the eye goes to theatre again
	Attached       []AttachedView
	AttachHref     string
	What           []Option
	MayAttach      bool
}

// VisitsView is what was seen afterwards, on the Eye page.
type VisitsView struct {
	CaseID, Prefix string
	Revision       int
	Operated       bool
	Status         *Mark
	Missed         string
	Bed            string
	MayVisit       bool
	MayTrace       bool
	Lost           []Option
	Lines          []VisitLine
	Leaflet        string
}

func (s *server) doneView(c *EyeCase) DoneView {
	a := &c.After
	v := DoneView{CaseID: c.CaseID, Prefix: s.prefix, Revision: c.Revision, Text: s.t("operation.none"), Findings: s.findingLines(a.Findings),
		Attached: s.attachedViews(c), What: s.choices("attached.", pathway.AttachedWhat, ""), MayAttach: a.MayAttach}
	switch {
	case a.Done != nil:
		v.Text = s.t("operation.done", "name", a.Done.Name, "when", s.moment(a.Done.At))
	case a.Begun:
		v.Text = s.t("operation.begun")
	case c.Closed == pathway.ClosedOperated:
		v.Text = s.t("operation.elsewhere")
	}
	if a.MayOperate {
		v.Form, v.FormText = s.prefix+"/case/"+c.CaseID+"/operation", s.t("operation.write")
		if a.Done != nil {
			v.FormText = s.t("operation.correct")
		}
	}
	if a.Begun {
		s.doneLines(&v, a)
	}
	if a.Before != nil {
		v.Linked = append(v.Linked, Link{Href: s.prefix + "/case/" + a.Before.Case, Text: s.t("follows.before", "why", s.t("follows."+a.Before.Why))})
	}
	for _, l := range a.Later {
		v.Linked = append(v.Linked, Link{Href: s.prefix + "/case/" + l.Case, Text: s.t("follows.later", "why", s.t("follows."+l.Why))})
	}
	if a.MayOpenAgain {
		v.Again = s.choices("follows.", pathway.FollowsWhy, "")
	}
	return v
}

// doneLines are what is recorded, step by step, with who held the instrument.
func (s *server) doneLines(v *DoneView, a *AfterPart) {
	for _, step := range pathway.OperationSteps {
		var said []string
		for i := range pathway.OperationFields {
			f := &pathway.OperationFields[i]
			if text := a.Record.Values[f.Key]; f.Step == step && text != "" {
				said = append(said, s.label(f.Key)+": "+s.said(f, text))
			}
		}
		if who := a.Hands[step]; who != "" && len(said) > 0 {
			said = append(said, s.t("operation.by", "name", who))
		}
		if len(said) > 0 {
			v.Lines = append(v.Lines, SaidView{s.t("step." + step + ".name"), strings.Join(said, " · ")})
		}
	}
	for _, c := range a.Record.Complications {
		v.Told = append(v.Told, capital(s.complication(c)))
	}
}

func (s *server) visitsView(c *EyeCase) VisitsView {
	a := &c.After
	v := VisitsView{CaseID: c.CaseID, Prefix: s.prefix, Revision: c.Revision, Operated: c.Closed == pathway.ClosedOperated || a.Done != nil, Bed: a.Bed,
		MayVisit: a.MayVisit, MayTrace: a.MayTrace, Lines: s.visitLines(c), Leaflet: s.prefix + "/case/" + c.CaseID + "/leaflet"}
	if !v.Operated {
		return v
	}
	v.Status = s.statusMark(string(a.Status), a)
	var missed []string
	for _, k := range a.Next.Missed {
		missed = append(missed, s.t("visit."+string(k)))
	}
	if len(missed) > 0 {
		v.Missed = s.t("visits.missed", "list", strings.Join(missed, ", "))
	}
	chosen := ""
	if a.Eye.Lost != nil {
		chosen = a.Eye.Lost.Why
	}
	v.Lost = s.choices("lost.", pathway.LostWhy, chosen)
	v.Lost[0].Text = s.t("lost.none")
	return v
}

// statusMark says how the eye stands with its visits, loud where somebody has
// to act.
func (s *server) statusMark(status string, a *AfterPart) *Mark {
	m := &Mark{Class: "need", Text: s.t("status." + status)}
	switch status {
	case "overdue", "lost":
		m.Class = "caution"
	}
	if k := a.Next.Kind; k != "" && status != "unknown" {
		m.Text = s.t("visits.next", "status", m.Text, "visit", s.t("visit."+string(k)), "from", s.date(a.Next.From), "until", s.date(a.Next.Until))
	}
	if a.Eye.Lost != nil && status == "lost" {
		m.Text += " · " + s.t("lost."+a.Eye.Lost.Why)
	}
	return m
}

// AttachedView is one file of the case.
type AttachedView struct {
	N         string
	Href      string
	What      string
	About     string // who, when, how large
	Image     bool
	Withdrawn string
}

func (s *server) attachedViews(c *EyeCase) (list []AttachedView) {
	for _, f := range c.After.Attached {
		v := AttachedView{N: strconv.Itoa(f.Number), Href: s.prefix + "/case/" + c.CaseID + "/file/" + strconv.Itoa(f.Number), What: s.t("attached." + f.What),
			About: s.t("attached.about", "when", s.moment(f.At.In(c.zone())), "size", strconv.Itoa((f.Size+1023)/1024)), Image: f.Type != "application/pdf"}
		if f.Withdrawn != "" {
			v.Withdrawn = s.t("attached.withdrawn", "why", f.Withdrawn)
		}
		list = append(list, v)
	}
	return list
}
