package main

import (
	"slices"
	"strconv"
	"strings"

	"linn/internal/paper"
	"linn/internal/pathway"
	"linn/source"
	"linn/unit"
)

// plan is a plan in words: who and which eye, what was found, every lens, the
// choice, what is open, the working.
func (w writer) plan(p *pathway.PlanOfFile) *paper.Answer {
	a := &paper.Answer{Side: p.Side.Words(), Flag: w.T("paper.not-signed"), Lines: []string{w.person(p), w.readings(&p.Input.Eye)}, Footer: w.footer(),
		Parts: []paper.Part{{Said: w.said(p.Findings)}}}
	a.Title = a.Side + " · " + a.Lines[0]
	for i := range p.Lenses {
		l := &p.Lenses[i]
		a.Parts = append(a.Parts, w.methods(l), w.powers(l), w.beside(l.Lengths), w.children(l.Children), w.rescue(l.Rescue))
	}
	a.Parts = append(a.Parts, w.secondEye(p.SecondEye))
	if p.Decision != nil {
		a.Parts = append(a.Parts, w.decision(p))
	}
	a.Parts = append(a.Parts, w.corneaPart(p.Cornea), w.open(p))
	a.Parts = append(a.Parts, w.working(p)...)
	a.Footer = append(a.Footer, w.T("text.program", value("version", p.Input.Program)))
	return a
}

func (w writer) person(p *pathway.PlanOfFile) string {
	if p.Patient == nil {
		return w.T("text.no-person")
	}
	name, id := p.Patient.Name, p.Patient.Identifier
	if name == "" {
		name = w.T("paper.no-name")
	}
	if id == "" {
		id = w.T("paper.no-identifier")
	}
	return w.T("text.person", value("name", name), value("identifier", id))
}

// methods is one lens model: what each method asks for, and how far they
// agree.
func (w writer) methods(l *pathway.LensPlan) paper.Part {
	part := paper.Part{Heading: w.T("text.lens.nameless")}
	if l.Model != "" {
		part.Heading = w.T("text.lens", value("model", l.Model))
	}
	part.Table = &paper.Table{Head: []string{w.T("text.method"), w.T("text.position"), w.T("text.power"), w.T("text.emmetropia"), w.T("text.constant"), ""}}
	found := slices.Clone(l.Findings)
	for i := range l.Methods {
		m := &l.Methods[i]
		counts := ""
		if !m.Counts {
			counts = w.T("text.counts.no")
		}
		part.Table.Rows = append(part.Table.Rows, []string{w.Method(m.Method), w.millimetres(m.LensPosition), w.dioptres(m.Power), w.dioptres(m.Emmetropia), constant(m), counts})
		found = append(found, m.Findings...)
	}
	part.Said = w.said(found)
	part.Lines = append(append(w.absent(l.Findings), w.agreement(l)...), w.guidance(l)...)
	return part
}

// constant writes what a method took: "a 118.40".
func constant(m *pathway.MethodPlan) string {
	c := &m.Constant
	if c.Key == "a" {
		return "a " + unit.Fixed(c.Value.Value, 2)
	}
	text := c.Key + " " + unit.Fixed(c.Value.Value, 4)
	if c.A1.Known {
		text += ", a1 " + unit.Fixed(c.A1.Value, 3) + ", a2 " + unit.Fixed(c.A2.Value, 3)
	}
	return text
}

func (w writer) methodNames(ids []string) []string {
	names := make([]string, len(ids))
	for i, id := range ids {
		names[i] = w.Method(id)
	}
	return names
}

func (w writer) names(ids []string) string { return strings.Join(w.methodNames(ids), ", ") }

func (w writer) agreement(l *pathway.LensPlan) []string {
	if l.AfterSurgery != nil {
		return w.afterSurgery(l.AfterSurgery)
	}
	a := &l.Agreement
	methods, median := value("methods", w.names(a.Methods)), value("median", w.dioptres(a.Median))
	switch {
	case !a.Median.Known:
		return nil
	case !a.Spread.Known:
		return []string{w.T("text.agreement.one", methods, median)}
	}
	return []string{w.T("text.agreement", methods, median, value("spread", w.unsigned(a.Spread)))}
}

func (w writer) guidance(l *pathway.LensPlan) (out []string) {
	for _, g := range l.Guidance {
		key := "text.guidance"
		if g.Mean {
			key += ".mean"
		}
		others := ""
		if g.Others {
			others = w.T("text.guidance.others")
		}
		work, _ := source.Lookup(g.Source)
		cited, _, _ := strings.Cut(work.Citation, ";")
		out = append(out, w.T(key, value("source", cited), value("methods", w.names(g.Prefers)), value("others", others),
			value("grade", w.T("text.grade."+string(g.Grade)))))
	}
	return out
}

// powers is the shelf: what each power is expected to leave, and how sure.
func (w writer) powers(l *pathway.LensPlan) (part paper.Part) {
	if len(l.Powers) == 0 {
		return part
	}
	part.Table = &paper.Table{Head: []string{w.T("text.powers"), w.T("text.stock"), w.T("text.predicted"), w.T("text.range"), w.T("text.within50"), w.T("text.within100")}}
	for i := range l.Powers {
		x := &l.Powers[i]
		stock := w.T("text.stock.unknown")
		if x.Stock.Known {
			stock = unit.Fixed(x.Stock.Value, 0)
		}
		predicted := signed(x.Predicted)
		if x.SD.Known {
			predicted += " ± " + unit.Fixed(x.SD.Value, 2)
		}
		part.Table.Rows = append(part.Table.Rows, []string{w.dioptres(x.Power), stock, predicted, signed(x.Lowest) + " … " + signed(x.Highest), percent(x.Target50), percent(x.Target100)})
	}
	if r := l.Recommended; r != nil {
		part.Lines = []string{w.T("text.recommended."+r.Reason, value("power", w.dioptres(r.Power)), value("predicted", w.dioptres(r.Predicted)),
			value("n", strconv.Itoa(r.Methods)), value("nearest", w.dioptres(r.Nearest)))}
	}
	return part
}

// decision is the chosen lens and what it is expected to leave.
func (w writer) decision(p *pathway.PlanOfFile) paper.Part {
	d := p.Decision
	part := paper.Part{Heading: w.T("text.decision", value("model", d.Model), value("power", w.dioptres(d.Power))), Said: w.said(d.Findings)}
	switch {
	case !d.Predicted.Known:
		part.Lines = []string{w.T("text.decision.none")}
		return part
	case !d.TwoOf.Known:
		part.Lines = []string{w.T("text.decision.no-spread", value("predicted", w.dioptres(d.Predicted)))}
		return part
	}
	part.Lines = []string{w.T("text.decision.predicted", value("predicted", w.dioptres(d.Predicted)), value("sd", w.unsigned(d.SD)),
		value("low", unit.Dioptre(d.Predicted.Value-d.TwoOf.Value).String()), value("high", unit.Dioptre(d.Predicted.Value+d.TwoOf.Value).String()))}
	var shares []string
	for _, s := range d.Shares {
		shares = append(shares, w.T("text.share", value("kind", w.T("share."+s.Kind)), value("percent", percent(s.Share))))
	}
	part.Lines = append(part.Lines, w.T("text.shares", value("list", strings.Join(shares, ", "))))
	if len(d.Shares) > 0 && d.Shares[0].Kind == pathway.ShareAfterSurgery {
		part.Lines = append(part.Lines, w.T("text.after-surgery.series"))
	}
	for _, r := range d.Repeating {
		key := "text.repeat"
		if r.By != "" {
			key += "." + string(r.By)
		}
		part.Lines = append(part.Lines, w.T(key, value("what", w.T("share."+r.What)), value("before", w.unsigned(r.Before)), value("after", w.unsigned(r.After))))
	}
	return part
}

// open is what keeps the plan from being signed.
func (w writer) open(p *pathway.PlanOfFile) paper.Part {
	part := paper.Part{Heading: w.T("text.open")}
	for _, b := range p.Blockers {
		part.Lines = append(part.Lines, "– "+w.T("blocker."+b.Code, value("field", w.Field(b.Field))))
	}
	if len(p.Blockers) == 0 {
		part.Lines = []string{w.T("text.open.none")}
	}
	return part
}

// working is how each method came to its power, and to the refraction with
// the chosen lens.
func (w writer) working(p *pathway.PlanOfFile) (parts []paper.Part) {
	if p.Decision == nil {
		return nil
	}
	for _, x := range p.Decision.Working {
		part := paper.Part{Heading: w.T("text.working", value("method", w.Method(x.Method))), Table: &paper.Table{}}
		steps := x.Power
		if n := len(x.Refraction); n > 0 {
			steps = append(steps[:len(steps):len(steps)], x.Refraction[n-1])
		}
		for _, s := range steps {
			part.Table.Rows = append(part.Table.Rows, []string{w.T("step." + s.Name), s.Symbol, stepValue(s),
				w.T("text.cited", value("source", string(s.Source)), value("where", s.Where), value("grade", string(s.Grade)))})
		}
		parts = append(parts, part)
	}
	return parts
}

// unsignedSteps are corneal powers; every other dioptre carries its sign.
var unsignedSteps = []string{"input.k", "input.k-before", "thin-eye.corneal-power", "after.k-now", "after.k-flat", "after.k-true-measured", "after.k-before-assumed", "after.k-true", "second.vergence-now", "second.vergence-target", "thick-lens.corneal-power"}

// stepValue writes a step's number.
func stepValue(s pathway.PlanStep) string {
	switch {
	case !s.Value.Known:
		return "–"
	case s.Unit == "D" && !slices.Contains(unsignedSteps, s.Name):
		return unit.Signed(s.Value.Value, 4) + unit.Thin + "D"
	case s.Unit == "":
		return unit.Fixed(s.Value.Value, 4)
	}
	return unit.Fixed(s.Value.Value, 4) + unit.Thin + s.Unit
}
