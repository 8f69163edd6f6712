package web

import (
	"strconv"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/locale"
)

// SignView is the sheet stage: what signing needs, the second person, the
// signature and the way to the print.
type SignView struct {
	Prefix     string
	CaseID     string
	Revision   int
	Needs      []NeedView
	Ready      bool
	Confirm    []ConfirmView // what the second person reads; empty: not for this actor
	Confirmed  string
	Beside     bool     // somebody else at this machine may confirm
	Names      []Option // in the demo, where no password is asked
	Seniors    []Option
	MaySign    bool
	Senior     bool   // a supervisor has to sign beside
	Statement  string // what the signature says
	Alone      string // when a lone worker may sign, "" when there is no need
	AloneOpen  bool
	Signed     string
	Number     string
	Reopened   []Mark
	Why        string // why a signed plan was reopened
	MayReopen  bool
	MayList    bool
	List       Listing
	MayClose   bool
	ClosedWhy  []Option
	Closed     string
	PersonHref string // where to correct who this is, "" for those who may not
	Links      []Link // to the eye's history and what puts it right
	SheetHref  string
	SheetText  string
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
	v := SignView{Prefix: s.prefix, CaseID: c.CaseID, Revision: c.Revision, Ready: true, MaySign: p.MaySign && !c.Signed, Number: p.Sheet,
		MayReopen: p.MayReopen, MayList: p.MayList, MayClose: c.MayClose, Senior: p.Supervised,
		SheetHref: s.prefix + "/case/" + c.CaseID + "/sheet", SheetText: s.t("sheet.preview")}
	if s.Pathway.May(by, ToCorrect) && c.Closed == "" {
		v.PersonHref = s.prefix + "/case/" + c.CaseID + "/person"
	}
	v.Links = s.chainLinks(by, c)
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
	} else if p.MayConfirm || p.Beside {
		v.Confirm, v.Beside = s.confirmItems(c), !p.MayConfirm
	}
	if p.Signed != nil {
		v.Signed = s.t("sign.done", "name", p.Signed.Name, "when", s.moment(p.Signed.At))
		if p.Senior != "" {
			v.Signed += " " + s.t("sign.senior", "name", p.Senior)
		}
	}
	if c.Signed {
		v.SheetText = s.t("sheet.print")
	}
	s.signWords(&v, c, by)
	return v
}

// signWords are what the signature says, when it may be given alone, on which
// list the eye stands, and what became of an earlier signature.
func (s *server) signWords(v *SignView, c *EyeCase, by Actor) {
	p := &c.Signing
	v.Statement = s.t("sign.statement", "name", by.Name, "side", s.side(c.Side), "person", c.Name, "lens", s.chosenText(c))
	if p.Alone && !c.Signed {
		v.Alone = s.t("alone.from", "time", clock(p.AloneFrom))
		if v.AloneOpen = p.AloneOpen; v.AloneOpen {
			v.Alone = s.t("alone.open")
		}
	}
	if p.Why != "" {
		v.Why = s.t("reopened", "why", s.reopenedText(p.Why))
	}
	if c.Closed != "" {
		v.Closed = s.t("closed", "why", s.keyOrText("closed.", c.Closed))
	}
	v.List = Listing{Place: p.Place}
	if c.List.Known() {
		v.List.Date = c.List.String()
	}
	if c.Place > 0 {
		v.List.Order = strconv.Itoa(c.Place)
	}
	for _, why := range ClosedWhy {
		v.ClosedWhy = append(v.ClosedWhy, Option{Value: why, Text: s.t("closed." + why)})
	}
}

// reopenedText turns the codes at the head of a reason into words; what a
// person wrote behind them stays as it is.
func (s *server) reopenedText(why string) string {
	var said, rest []string
	for _, word := range strings.Fields(why) {
		switch {
		case len(rest) == 0 && locale.Has("reopened."+word):
			said = append(said, s.t("reopened."+word))
		case len(rest) == 0 && locale.Has("finding."+word):
			said = append(said, locale.Finding(s.lang, finding.Finding{Code: word}))
		default:
			rest = append(rest, word)
		}
	}
	if len(rest) > 0 {
		said = append(said, strings.Join(rest, " "))
	}
	return strings.Join(said, "; ")
}

func (s *server) keyOrText(prefix, key string) string {
	if locale.Has(prefix + key) {
		return s.t(prefix + key)
	}
	return key
}

// chosenText names the chosen lens with its power.
func (s *server) chosenText(c *EyeCase) string {
	if c.Lens.Chosen == nil {
		return s.t("lens.none")
	}
	return c.Lens.Chosen.Name + " " + num(c.Lens.Chosen.Power).String()
}

// confirmItems shows the plan's values next to each thing to be read.
func (s *server) confirmItems(c *EyeCase) (list []ConfirmView) {
	e := &c.Of(c.Side).Eye
	values := map[string]string{
		"name":   c.Name + ", " + c.Identifier,
		"side":   s.side(c.Side),
		"length": reading(s.words, e.AxialLength).String(),
		"k":      s.kText(e),
		"lens":   s.chosenText(c),
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
