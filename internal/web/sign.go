package web

import (
	"linn/eye"
	"linn/internal/locale"
)

// SignView is the sheet stage: what signing needs, the second person, the
// signature and the way to the print.
type SignView struct {
	Prefix    string
	CaseID    string
	Revision  int
	Needs     []NeedView
	Ready     bool
	Confirm   []ConfirmView // what the second person reads; empty: not for this actor
	Confirmed string
	MaySign   bool
	Statement string // what the signature says
	Alone     string // when a lone worker may sign, "" when there is no need
	AloneOpen bool
	Signed    string
	Number    string
	Reopened  []Mark
	SheetHref string
	SheetText string
}

// NeedView is one condition of signing.
type NeedView struct {
	Text string
	Met  bool
	Word string // "yes", "open"
}

// ConfirmView is one thing the second person reads from the source.
type ConfirmView struct{ Key, Label, Value string }

func (s *server) signView(c *EyeCase, by Actor) SignView {
	p := &c.Signing
	v := SignView{Prefix: s.prefix, CaseID: c.CaseID, Revision: c.Revision, Ready: true, MaySign: p.MaySign && p.Signed == nil, Number: p.Sheet,
		SheetHref: s.prefix + "/case/" + c.CaseID + "/sheet", SheetText: s.t("sheet.preview")}
	for _, n := range p.Needs {
		word := s.t("need.open")
		if n.Met {
			word = s.t("need.met")
		}
		v.Needs = append(v.Needs, NeedView{locale.T(s.lang, "need."+n.Code, n.Values...), n.Met, word})
		v.Ready = v.Ready && n.Met
	}
	for _, f := range p.Reopened {
		v.Reopened = append(v.Reopened, *s.mark(f))
	}
	if p.Confirmed != nil {
		v.Confirmed = s.t("confirm.done", "name", p.Confirmed.Name, "when", s.moment(p.Confirmed.At))
	} else if p.MayConfirm {
		v.Confirm = s.confirmItems(c)
	}
	if p.Signed != nil {
		v.Signed, v.SheetText = s.t("sign.done", "name", p.Signed.Name, "when", s.moment(p.Signed.At)), s.t("sheet.print")
	}
	v.Statement = s.t("sign.statement", "name", by.Name, "side", s.side(c.Side), "person", c.Name, "model", s.modelName(c), "power", reading(s.words, c.Lens.Power))
	if p.Alone && p.Signed == nil {
		v.Alone = s.t("alone.from", "time", clock(p.AloneFrom))
		if v.AloneOpen = !p.AloneFrom.After(c.SavedAt); v.AloneOpen {
			v.Alone = s.t("alone.open")
		}
	}
	return v
}

func (s *server) modelName(c *EyeCase) string {
	for _, m := range c.Lens.Models {
		if m.ID == c.Lens.Model {
			return m.Name
		}
	}
	return s.t("lens.none")
}

// confirmItems shows the plan's values next to each thing to be read.
func (s *server) confirmItems(c *EyeCase) (list []ConfirmView) {
	e := &c.Of(c.Side).Eye
	values := map[string]string{
		"name":   c.Name + ", " + c.Identifier,
		"side":   s.side(c.Side),
		"length": reading(s.words, e.AxialLength).String(),
		"k":      s.kText(e),
		"lens":   s.modelName(c) + " " + reading(s.words, c.Lens.Power).String(),
	}
	for _, key := range ConfirmItems {
		list = append(list, ConfirmView{key, s.t("confirm." + key), values[key]})
	}
	return list
}

// kText writes both corneal powers with their axes and index.
func (s *server) kText(e *eye.Eye) string {
	return s.t("k.text", "flat", unsigned(s.words, e.KFlat), "flataxis", reading(s.words, e.KFlatAxis),
		"steep", unsigned(s.words, e.KSteep), "steepaxis", reading(s.words, e.KSteepAxis))
}
