package web

import (
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/pathway"
)

// DecidedView is the page of technique, risk, anaesthesia and consent.
type DecidedView struct {
	CareView
	Phaco, Manual, Other []RuleView // leans
	Notes                []RuleView
	Unanswered           []string
	NotJudged            string
	Methods              []MethodView
	Risks                []RiskView
	Others               []string
	Tray                 string
	Choice               ChoiceView
	Groups               []AskGroup
	Consent              ConsentView
}

// RuleView is a rule that fired with what it rests on.
type RuleView struct{ Text, Rests, Source string }

// MethodView is one method of anaesthesia.
type MethodView struct {
	Name         string
	Barred       bool
	For, Against []string
}

// RiskView is one published estimate.
type RiskView struct {
	Big     string // "14 in 1000"
	Outcome string
	From    string
	Lines   []string
	Picture template.HTML
}

// ChoiceView is the surgeon's choice.
type ChoiceView struct {
	Techniques, Anaesthesias []Option
	Reason, By               string
}

// ConsentView is the form of the consent, the mark and the list.
type ConsentView struct {
	Said                           []string // what is recorded
	Sides, Procedures, Signatures  []Option
	Trainee, Teaching              []Option
	Language                       string
	Interpreter, Witness, Guardian string
	Risks                          []Option
	Refused                        bool
}

// RisksShown are what a counsellor may have shown, as keys of "shown.KEY".
var RisksShown = []string{"infection", "rupture", "second-operation", "bleeding", "oedema", "detachment", "glasses", "no-better"}

func (s *server) decidedView(frame CareView, c *CarePart, typed CareForm) DecidedView {
	d := &c.Care.Now.Decision
	v := DecidedView{CareView: frame, Phaco: s.rules(d.LeansTo("phaco")), Manual: s.rules(d.LeansTo("msics")), Other: s.rules(d.LeansTo("ecce")),
		NotJudged: s.t("decide.not-judged", "n", len(d.NotJudged)), Groups: s.questions(&c.Care, typed), Consent: s.consentView(c, typed)}
	var notes []pathway.Fired
	for _, f := range d.Fired {
		if f.Kind == "note" || f.Kind == "lean" && slices.Contains(f.Toward, "neither") {
			notes = append(notes, f)
		}
	}
	v.Notes = s.rules(notes)
	for _, key := range d.Unanswered {
		v.Unanswered = append(v.Unanswered, s.label(key))
	}
	for _, m := range d.Anaesthesia {
		v.Methods = append(v.Methods, MethodView{s.t("anaesthesia." + m.Method), m.Barred, s.ruleTexts(m.For), s.ruleTexts(m.Against)})
	}
	for i := range c.Care.Now.Risks {
		v.Risks = append(v.Risks, s.riskView(&c.Care.Now.Risks[i]))
	}
	for _, o := range pathway.OtherRisks() {
		v.Others = append(v.Others, s.otherRisk(o))
	}
	if len(d.Tray) > 0 {
		v.Tray = s.t("decide.tray", "items", s.joined("tray.", d.Tray), "reasons", s.joined("trigger.", pathway.Triggers))
	}
	was := c.Care.Decided
	v.Choice = ChoiceView{Techniques: s.options("answer.", pathway.Techniques, typedOr(typed, "decide", "technique", was.Technique)),
		Anaesthesias: s.options("anaesthesia.", pathway.Anaesthesias, typedOr(typed, "decide", "anaesthesia", was.Anaesthesia)), Reason: typedOr(typed, "decide", "reason", was.Reason)}
	return v
}

func (s *server) joined(prefix string, keys []string) string {
	var list []string
	for _, k := range keys {
		list = append(list, s.t(prefix+k))
	}
	return strings.Join(list, ", ")
}

func (s *server) ruleTexts(ids []string) (list []string) {
	for _, id := range ids {
		list = append(list, s.sentence(finding.Finding{Code: id}))
	}
	return list
}

func (s *server) rules(list []pathway.Fired) (out []RuleView) {
	for _, f := range list {
		var rests []string
		for _, e := range f.Rests {
			text := e.Text
			if text == "" {
				text = s.t("answer.")
			}
			rests = append(rests, s.label(e.Key)+": "+text)
		}
		out = append(out, RuleView{s.sentence(finding.Finding{Code: f.ID}), strings.Join(rests, "; "), s.t("grade", "source", string(f.Source), "grade", s.t("grade."+string(f.Grade)))})
	}
	return out
}

func inThousand(v float64) string { return strconv.Itoa(int(math.Round(1000 * v))) }

// riskView writes one estimate: its outcome, place and years stand with it.
func (s *server) riskView(r *pathway.Risk) RiskView {
	v := RiskView{Outcome: s.t("outcome." + r.Outcome)}
	if r.NoModel {
		v.Big, v.Lines = s.t("risk.nothing"), []string{s.t("risk.none", "outcome", v.Outcome)}
		return v
	}
	v.From = s.t("risk.from", "model", s.t("model."+r.Model), "setting", s.t("setting."+r.Setting), "years", r.Years)
	missing := len(r.Missing)
	switch {
	case !r.P.Known:
		v.Big = s.t("risk.big.points", "points", int(r.Points.Value))
	case r.P.Value < 0.001:
		v.Big = s.t("risk.big.under")
	default:
		v.Big = s.t("risk.big", "n", inThousand(r.P.Value))
	}
	if r.Interval95 {
		v.Lines = append(v.Lines, s.t("risk.interval", "low", inThousand(r.Low.Value), "high", inThousand(r.High.Value), "group", s.t("risk.group", "group", int(r.Group.Value), "points", int(r.Points.Value))))
	} else if r.P.Known && missing > 0 {
		v.Lines = append(v.Lines, s.t("risk.range", "low", inThousand(r.Low.Value), "high", inThousand(r.High.Value), "n", missing))
	}
	if r.Points.Known && missing > 0 {
		v.Lines = append(v.Lines, s.t("risk.points.range", "most", int(r.Most.Value), "n", missing))
	}
	if r.Old && !r.Unit {
		v.Lines = append(v.Lines, s.t("risk.old"))
	}
	if r.P.Known && r.Model == "narendran" {
		v.Picture = s.people(int(math.Round(1000*r.P.Value)), v.Outcome)
	}
	return v
}

// people draws a thousand people, n of them filled. Shape tells them apart as
// well as colour: a disc against a small ring.
func (s *server) people(n int, outcome string) template.HTML {
	n = min(max(n, 0), 1000)
	const step, columns = 9.0, 50
	d := newDrawing("people", columns*step, 1000/columns*step, s.t("risk.thousand"), s.t("risk.picture", "n", n, "outcome", strings.ToLower(outcome), "rest", 1000-n))
	for i := range 1000 {
		x, y := step*(float64(i%columns)+0.5), step*(float64(i/columns)+0.5)
		if i < n {
			d.circle(x, y, 3.6, "fill", ink("ink"))
		} else {
			d.circle(x, y, 2, "fill", "none", "stroke", ink("soft"), "stroke-width", "0.8")
		}
	}
	return d.html()
}

func (s *server) otherRisk(o pathway.OtherRisk) string {
	where, years := s.t("risk.nobody"), s.t("risk.nobody")
	if o.Setting != "" {
		where = s.t("setting." + o.Setting)
	}
	if o.Years != "" {
		years = o.Years
	}
	return s.t("risk.other", "outcome", s.t("other."+o.ID), "n", strconv.FormatFloat(o.PerTenThousand, 'f', 1, 64), "setting", where, "years", years, "source", o.Source, "grade", s.t("grade."+o.Grade))
}

func (s *server) consentView(c *CarePart, typed CareForm) ConsentView {
	now := c.Care.Consent
	var side, procedure, signature, trainee, teaching, language string
	var risks []string
	v := ConsentView{}
	if now != nil {
		side, procedure, signature, trainee, teaching, language, risks = string(now.Side), now.Procedure, now.Signature, now.Trainee, now.Teaching, now.Language, now.Risks
		v.Refused = now.Refused
		v.Said = append(v.Said, s.sourceSays("consent", string(now.Side), now.Procedure, now.Refused))
	}
	if m := c.Care.Mark; m != nil {
		v.Said = append(v.Said, s.sourceSays("mark", string(m.Side), "", false))
	}
	if l := c.Care.Listed; l != nil {
		v.Said = append(v.Said, s.sourceSays("list", string(l.Side), l.Procedure, false))
	}
	if typed.What == "consent" {
		risks, v.Refused = typed.Lists["risk"], typed.Values["refused"] == "yes"
	}
	t := func(key, recorded string) string { return typedOr(typed, "consent", key, recorded) }
	v.Sides = s.options("side.", []string{"right", "left"}, t("side", side))
	v.Procedures = s.options("answer.", pathway.Techniques, t("procedure", procedure))
	v.Signatures = s.options("signature.", pathway.Signatures, t("signature", signature))
	v.Trainee, v.Teaching = s.options("answer.", []string{"yes", "no"}, t("trainee", trainee)), s.options("answer.", []string{"yes", "no"}, t("teaching", teaching))
	v.Language, v.Interpreter, v.Witness, v.Guardian = t("language", language), t("interpreter", c.Care.Beside.Interpreter), t("witness", c.Care.Beside.Witness), t("guardian", c.Care.Beside.Guardian)
	for _, key := range RisksShown {
		v.Risks = append(v.Risks, Option{key, s.t("shown." + key), slices.Contains(risks, key)})
	}
	return v
}

func (s *server) sourceSays(by, side, procedure string, refused bool) string {
	text := s.t("side." + side)
	if procedure != "" {
		text += ", " + s.t("answer."+procedure)
	}
	if refused {
		text += ", " + s.t("consent.refused")
	}
	return s.t("says."+by, "what", text)
}
