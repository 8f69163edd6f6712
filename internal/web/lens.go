package web

import (
	"html/template"
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/source"
	"linn/unit"
)

// LensView is the lens stage: what was chosen, the ladder and its table.
type LensView struct {
	Prefix   string
	CaseID   string
	Revision int
	Editable bool
	Model    string
	Shown    string // id of the model whose ladder is shown
	Models   []Option
	Target   Num
	Unit     string // of the target
	Typed    string // the target as a form value
	Message  string // why the target could not be read
	Power    Num
	Chosen   bool
	Other    string // said when another model than the chosen one is shown
	Advised  string // the power nearest to the target
	Advice   []string
	Says     []Says // predicted refraction and its chances, for the chosen power
	Reason   string // for another power than the recommended
	Why      bool   // that reason is asked for
	Wide     template.HTML
	Narrow   template.HTML
	Heads    []PowerHead
	Rows     []MethodRow
	Absent   []string
	Notes    []string // of the methods, when there are too many for their rows
	Findings []FindingView
	Shares   []ShareView
	Waiting  string // why there is no ladder yet
	Places   []Option
	Rescue   []RescueRow
	Ready    []Mark // what speaks of the ways out
	Lengths  []LengthRow
	Children []ChildRow
	Second   *SecondView
}

// Says is one large number with the words that name it.
type Says struct {
	Name string
	Num  Num
	More string
}

// PowerHead is a column of the table.
type PowerHead struct {
	Value   string // form value
	Num     Num
	Chosen  bool
	Nearest bool
	Stock   string // "not in stock", "" when it is
}

// MethodRow is a method's line of the table.
type MethodRow struct {
	Marker   template.HTML
	Name     string
	Guide    bool // a publication prefers it for this length
	Version  string
	Constant string
	Origin   string
	Position Num
	Power    Num
	Plano    Num // emmetropia
	Cells    []Cell
	Findings []Mark
	Working  *Working
}

// Cell is the predicted refraction for one power.
type Cell struct {
	Num    Num
	Chosen bool
}

// Working is the steps behind a number.
type Working struct {
	ID    string
	Title string
	Steps []StepView
}

// StepView is one step.
type StepView struct{ Name, Symbol, Value, Unit, Source string }

// ShareView is one source's part of the spread.
type ShareView struct {
	Name string
	Num  Num
	Bar  template.HTML
}

func (s *server) lensView(c *EyeCase) LensView {
	l := &c.Lens
	v := LensView{Prefix: s.prefix, CaseID: c.CaseID, Revision: c.Revision, Editable: l.Editable, Target: reading(s.words, l.Target), Unit: num(unit.Dioptre(0)).Unit,
		Power: reading(s.words, l.Power), Chosen: l.Power.Known, Shown: l.Model, Typed: l.TargetText}
	if l.TargetBad != nil {
		v.Message = s.entryText(*l.TargetBad)
	}
	s.chosenAndAdvised(&v, l)
	for _, m := range l.Models {
		v.Models = append(v.Models, Option{m.ID, m.Name, m.ID == l.Model})
		if m.ID == l.Model {
			v.Model = m.Name
		}
	}
	v.Heads, v.Findings = s.powerHeads(l), s.lensFindings(l)
	adapted := slices.ContainsFunc(l.Methods, func(m MethodAnswer) bool { return slices.Contains(pathway.AdaptedMethods(), m.ID) })
	var silent []string // an entry without a number: not made for this eye
	for _, m := range l.Methods {
		row := s.methodRow(l, m)
		none := !m.Power.Known && len(m.Choices) == 0
		if none && (l.Operated != nil && len(row.Findings) == 0 || adapted && !slices.Contains(pathway.AdaptedMethods(), m.ID)) {
			silent = append(silent, m.ID)
			continue
		}
		if l.Operated != nil { // many methods, many notes: read below the table
			row.Findings = slices.DeleteFunc(row.Findings, func(f Mark) bool { return f.Class == finding.Note.String() })
			v.Notes = append(v.Notes, s.notes(m)...)
		}
		v.Rows = append(v.Rows, row)
	}
	if len(silent) > 0 {
		v.Absent = append(v.Absent, s.t("lens.silent", "methods", s.methodNames(silent)))
	}
	for _, a := range l.Absent {
		v.Absent = append(v.Absent, s.t("lens.absent", "method", locale.Method(s.lang, a.Method), "field", locale.Field(s.lang, a.Field)))
	}
	v.Says = s.says(l)
	s.besideView(&v, l)
	for _, sh := range l.Shares {
		v.Shares = append(v.Shares, ShareView{s.t("share." + sh.Name), num(sh.Percent), shareBar(float64(sh.Percent))})
	}
	switch {
	case len(l.Powers) > 0 && drawable(l):
		v.Wide, v.Narrow = s.ladder(c, wideLadder), s.ladder(c, narrowLadder)
	case stopped(c):
		v.Waiting = s.t("lens.waiting.stop")
	case len(l.Models) == 0:
		v.Waiting = s.t("lens.no-models")
	default:
		v.Waiting = s.t("lens.waiting")
	}
	return v
}

// stopped reports whether a STOP stands against the eye.
func stopped(c *EyeCase) bool {
	return slices.ContainsFunc(c.Findings, func(f FindingItem) bool { return f.Severity == finding.Stop })
}

func (s *server) lensFindings(l *LensPart) (list []FindingView) {
	for i, f := range l.Findings {
		v := s.findingView("lens-"+strconv.Itoa(i), f)
		v.Side = ""
		list = append(list, v)
	}
	return list
}

// chosenAndAdvised says what was chosen beside the ladder shown, which power
// comes nearest, and what publications prefer for this length.
func (s *server) chosenAndAdvised(v *LensView, l *LensPart) {
	if c := l.Chosen; c != nil {
		v.Reason, v.Why = c.Reason, c.NeedReason || c.Reason != ""
		if !l.Power.Known {
			v.Other = s.t("lens.other-shown", "model", c.Name, "power", num(c.Power))
		}
	}
	if r := l.Recommended; r != nil {
		v.Advised = s.t("text.recommended."+r.Reason, "power", num(r.Power), "predicted", num(r.Predicted), "n", strconv.Itoa(r.Methods), "nearest", num(r.Nearest))
	}
	v.Advice = append(v.Advice, s.afterSurgery(l.Operated)...)
	for _, a := range l.Advice {
		key := "text.guidance"
		if a.Mean {
			key = "text.guidance.mean"
		}
		others := ""
		if a.Others {
			others = s.t("text.guidance.others")
		}
		work, _ := source.Lookup(a.Ref.Key)
		cited, _, _ := strings.Cut(work.Citation, ";")
		v.Advice = append(v.Advice, s.t(key, "source", cited, "methods", s.methodNames(a.Prefers), "others", others, "grade", s.t("text.grade."+string(a.Ref.Grade))))
	}
}

// afterSurgery is what the methods after corneal surgery say together.
func (s *server) afterSurgery(o *pathway.AfterSurgery) []string {
	if o == nil {
		return nil
	}
	names := make([]string, len(o.Methods))
	for i, id := range o.Methods {
		names[i] = locale.Method(s.lang, id)
	}
	line := s.t("text.after-surgery.one", "methods", strings.Join(names, "; "), "median", reading(s.words, known(o.Median)))
	if o.Spread.Known {
		line = s.t("text.after-surgery", "methods", strings.Join(names, "; "), "median", reading(s.words, known(o.Median)),
			"low", reading(s.words, known(o.Lowest)), "high", reading(s.words, known(o.Highest)), "spread", unit.Dioptre(o.Spread.Value).Unsigned())
	}
	return []string{line}
}

func (s *server) methodNames(ids []string) string {
	var names []string
	for _, id := range ids {
		names = append(names, locale.Method(s.lang, id))
	}
	return strings.Join(names, ", ")
}

func (s *server) powerHeads(l *LensPart) (heads []PowerHead) {
	for _, p := range l.Powers {
		h := PowerHead{Value: unit.Signed(float64(p.Power), 2), Num: num(p.Power), Chosen: l.Power.Known && same(p.Power, l.Power.Value)}
		h.Nearest = l.Recommended != nil && same(p.Power, l.Recommended.Power)
		if p.Out() {
			h.Stock = s.t("lens.out-of-stock")
		}
		heads = append(heads, h)
	}
	return heads
}

// same compares two shelf steps; the finest step made is 0.25 D.
func same(a, b unit.Dioptre) bool { return a-b < 0.01 && b-a < 0.01 }

func (s *server) methodRow(l *LensPart, m MethodAnswer) MethodRow {
	name := locale.Method(s.lang, m.ID)
	row := MethodRow{Marker: markerPicture(m.ID, m.Preferred), Name: name, Guide: m.Preferred, Version: m.Version, Constant: m.Constant,
		Position: reading(s.words, m.LensPosition), Power: reading(s.words, m.Power), Plano: reading(s.words, m.Emmetropia),
		Working: s.working("working-"+m.ID, s.t("working.title", "method", name), m.Steps)}
	if m.Origin != "" {
		row.Origin = s.t("origin." + m.Origin)
	}
	for _, p := range l.Powers {
		cell := Cell{Num: Num{Missing: "–"}, Chosen: l.Power.Known && same(p.Power, l.Power.Value)}
		for _, ch := range m.Choices {
			if same(ch.Power, p.Power) {
				cell.Num = num(ch.Refraction)
			}
		}
		row.Cells = append(row.Cells, cell)
	}
	for _, f := range m.Findings {
		row.Findings = append(row.Findings, *s.mark(f))
	}
	return row
}

// notes are the sentences of a method's notes.
func (s *server) notes(m MethodAnswer) (list []string) {
	for _, f := range m.Findings {
		if f.Severity == finding.Note {
			list = append(list, locale.Finding(s.lang, f))
		}
	}
	return list
}

func (s *server) working(id, title string, steps []source.Step) *Working {
	if len(steps) == 0 {
		return nil
	}
	w := &Working{ID: id, Title: title}
	for _, st := range steps {
		w.Steps = append(w.Steps, StepView{locale.Step(s.lang, st), st.Symbol, unit.Fixed(st.Value, 4), st.Unit, s.cite(st.Ref)})
	}
	return w
}

// says are the large numbers for the chosen power.
func (s *server) says(l *LensPart) (list []Says) {
	if !l.Predicted.Known {
		return nil
	}
	list = append(list, Says{s.t("lens.predicted"), reading(s.words, l.Predicted), s.t("lens.by", "methods", s.methodNames(l.Basis))})
	for _, chance := range []struct {
		key string
		r   unit.Reading[unit.Percent]
	}{{"lens.within50", l.Within50}, {"lens.within100", l.Within100}} {
		if chance.r.Known {
			n := Num{Figure: unit.Fixed(float64(chance.r.Value), 0)}
			list = append(list, Says{s.t(chance.key), n, s.t("lens.in100")})
		}
	}
	return list
}

func shareBar(percent float64) template.HTML {
	d := &drawing{}
	d.b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" aria-hidden="true" viewBox="0 0 200 12" width="200" height="12">`)
	d.rect(0.5, 1, max(1, percent*1.98), 10, "fill", ink("pool"), "stroke", ink("water"), "stroke-width", "1.5")
	return d.html()
}
