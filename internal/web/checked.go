package web

import (
	"slices"
	"strconv"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/locale"
	"linn/source"
)

// CheckedView is what the program has to say about the readings.
type CheckedView struct {
	Prefix   string
	CaseID   string
	Revision int
	Findings []FindingView // stops, cautions, notes
	Strict   string        // all strict screening limits in one line, "" for none
	Refused  []string      // why no power can be calculated
	Quiet    string        // said when there is nothing to mend
	Missing  string        // what is not recorded, "" for nothing
}

// FindingView is one finding.
type FindingView struct {
	ID     string
	Class  string // note, caution, stop
	Word   string
	Side   string // RIGHT EYE, LEFT EYE or both
	Text   string
	Limit  string
	Source string
	Gate   string // what a gate asks, "" for no gate
	Passed string // who let it through and why
	Buys   string // what repeating would buy
	Form   *PassForm
}

// PassForm lets a supervisor pass a gate.
type PassForm struct{ Code, Field string }

func (s *server) checkedView(c *EyeCase) CheckedView {
	v := CheckedView{Prefix: s.prefix, CaseID: c.CaseID, Revision: c.Revision}
	items := slices.Clone(c.Findings)
	slices.SortStableFunc(items, func(a, b FindingItem) int { return int(b.Severity) - int(a.Severity) })
	var strict []string
	for i, item := range items {
		if item.Strict {
			strict = append(strict, s.t("strict.one", "side", s.sideOrBoth(item.Side), "text", strings.TrimSuffix(s.sentence(item.Finding), ".")))
			continue
		}
		v.Findings = append(v.Findings, s.findingView("finding-"+strconv.Itoa(i), item))
	}
	if len(strict) > 0 {
		v.Strict = s.t("strict", "list", strings.Join(strict, "; "))
	}
	switch {
	case !c.Looked:
		v.Quiet = s.t("checked.waiting")
	case len(v.Findings) == 0 && len(c.Refused) == 0:
		v.Quiet = s.t("checked.quiet")
	}
	for _, r := range c.Refused {
		if r.Code != "missing" { // what is missing is named below
			v.Refused = append(v.Refused, capital(locale.Refusal(s.lang, r)))
		}
	}
	v.Missing = s.missing(c)
	return v
}

// missing names what is not recorded for the eye of this plan: not recorded
// is never normal.
func (s *server) missing(c *EyeCase) string {
	r := c.Of(c.Side)
	if len(r.Texts) == 0 {
		return ""
	}
	var names []string
	for _, key := range entryKeys {
		if key == "velocity_m_s" && r.Eye.AxialLengthMethod != eye.Immersion && r.Eye.AxialLengthMethod != eye.Contact {
			continue // means nothing for an optical length
		}
		if slices.Contains(historyKeys, key) || slices.Contains(foldedKeys, key) {
			continue // the methods that lack one say so
		}
		if strings.TrimSpace(r.Texts[key]) == "" {
			names = append(names, locale.Field(s.lang, key))
		}
	}
	if len(names) == 0 {
		return ""
	}
	return s.t("checked.missing", "list", strings.Join(names, ", "))
}

func (s *server) sideOrBoth(side eye.Side) string {
	if side == "" {
		return s.t("side.both")
	}
	return s.side(side)
}

func (s *server) findingView(id string, item FindingItem) FindingView {
	f := FindingView{
		ID: id, Class: item.Severity.String(), Word: locale.Severity(s.lang, item.Severity),
		Side: s.sideOrBoth(item.Side), Text: s.sentence(item.Finding), Limit: item.Limit, Source: s.cite(item.Ref),
	}
	if item.SDNow.Known && item.SDAfter.Known {
		now, after := "±"+item.SDNow.Value.Unsigned(), "±"+item.SDAfter.Value.Unsigned()
		if f.Buys = s.t("checked.buys", "now", now, "after", after); now == after {
			f.Buys = s.t("checked.buys.nothing", "now", now)
		}
	}
	switch {
	case item.Severity == finding.Stop:
		f.Gate = s.t("gate.stop")
	case item.Passed != nil:
		f.Passed = s.t("gate.passed", "name", item.Passed.Name, "when", s.moment(item.Passed.At), "reason", item.Passed.Reason)
	case item.PassedOn != nil:
		f.Passed = s.t("gate.passed", "name", item.PassedOn.Name, "when", item.PassedOn.When, "reason", item.Because)
	case item.Repeated:
		f.Passed = s.t("gate.repeated")
	case item.Gate:
		f.Gate = s.t("gate.open")
		if item.MayPass {
			f.Form = &PassForm{item.Code, item.Field}
		}
	}
	return f
}

// cite writes where a number comes from, and how well it was read.
func (s *server) cite(ref source.Ref) string {
	work, ok := source.Lookup(ref.Key)
	if !ok {
		return ""
	}
	text := work.Citation
	if ref.Where != "" {
		text += ", " + ref.Where
	}
	return s.t("source", "text", text, "grade", s.t("grade."+string(ref.Grade)))
}

// PassingView is a finding with the form that lets it pass.
type PassingView struct {
	Prefix, CaseID string
	Revision       int
	Finding        FindingView
}

// passing puts a finding of a stage beside the case it belongs to.
func passing(stage any, f FindingView) PassingView {
	switch v := stage.(type) {
	case CheckedView:
		return PassingView{v.Prefix, v.CaseID, v.Revision, f}
	case LensView:
		return PassingView{v.Prefix, v.CaseID, v.Revision, f}
	}
	panic("web: a finding of no stage")
}
