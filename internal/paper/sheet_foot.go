package paper

import (
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/care/sheet"
)

// foot draws from the bottom edge upwards: the sentences at the foot, what to
// write down, the team's checks, who stands for the plan. It returns where it
// begins, in mm from the top.
func (p *page) foot(s *sheet.Sheet) float64 {
	y := pageHeight - margin
	p.at(margin, y, p.words.T("footer.length"), tinyStyle)
	program := p.words.T("text.program", value("version", s.Program))
	if s.PlanNumber > 0 {
		program += ", " + p.words.T("paper.plan", value("n", strconv.Itoa(s.PlanNumber)))
	}
	p.end(right, y, program, tinyStyle)
	p.at(margin, y-3.6, p.words.T("footer.licensed"), tinyStyle)
	y -= 8
	p.rule(y, 0.3)
	y = p.writeDown(s, y-2)
	y = p.checks(s, y-2)
	return p.people(s, y-3)
}

// writeDown draws the blanks above y.
func (p *page) writeDown(s *sheet.Sheet, y float64) float64 {
	const high = 7.5
	rows := (len(s.WriteDown) + 1) / 2
	top := y - float64(rows)*high
	for i, key := range s.WriteDown {
		x, at := margin, top+float64(i/2+1)*high-2
		if i%2 == 1 {
			x += width/2 + 2
		}
		w := p.at(x, at, p.words.T("paper.write."+key), smallStyle)
		p.blank(x+w+2, at, width/2-w-6)
	}
	p.at(margin, top-0.5, p.words.T("paper.write"), smallBold)
	p.rule(top-5, 0.3)
	return top - 5
}

// checks draws the team's checks above y, a column for each moment.
func (p *page) checks(s *sheet.Sheet, y float64) float64 {
	column := width/3 - 2
	lowest := 0.0
	draw := func(top float64, really bool) {
		for i, moment := range []string{sheet.SignIn, sheet.TimeOut, sheet.SignOut} {
			x, at := margin+float64(i)*(column+3), top
			if really {
				p.at(x, at, p.words.T("paper.moment."+moment), smallBold)
			}
			at += 4.8
			for _, c := range s.Checks {
				if c.Moment != moment {
					continue
				}
				lines := p.wrap(p.words.T("paper.check."+c.Key), column-5, smallStyle)
				if really {
					p.box(x, at)
					for j, line := range lines {
						p.at(x+4.5, at+float64(j)*smallStyle.line(), line, smallStyle)
					}
				}
				at += float64(len(lines))*smallStyle.line() + 0.9
			}
			if really {
				w := p.at(x, at+1.5, p.words.T("paper.check-name"), smallStyle)
				p.blank(x+w+2, at+1.5, column-w-4)
			}
			lowest = max(lowest, at+3)
		}
	}
	draw(0, false)
	top := y - lowest
	draw(top, true)
	p.rule(top-5, 0.3)
	return top - 5
}

// people: who measured, who read it back, who signed; or what is still open.
func (p *page) people(s *sheet.Sheet, y float64) float64 {
	var lines []string
	add := func(key string, a *sheet.Act) {
		if a != nil && a.Name != "" {
			lines = append(lines, p.words.T(key, value("name", a.Name), value("when", a.When)))
		}
	}
	add("paper.measured", &s.Measured)
	add("paper.second", s.Second)
	add("paper.signed", s.SignedBy)
	add("paper.senior", s.Senior)
	switch {
	case s.Lone != "" && s.Signed:
		lines = append(lines, p.words.T("paper.lone", value("reason", s.Lone)))
	case s.Lone != "":
		lines = append(lines, p.words.T("paper.lone.planned", value("reason", s.Lone)))
	}
	for _, x := range s.Passes {
		lines = append(lines, p.words.T("paper.passed", value("finding", p.words.Finding(x.Finding)), value("name", x.Name), value("reason", x.Reason)))
	}
	if !s.Signed && len(s.Blockers) > 0 {
		lines = append(lines, p.words.T("paper.open", value("list", p.blockers(s))))
	}
	var wrapped []string
	for _, l := range lines {
		wrapped = append(wrapped, p.wrap(l, width, smallStyle)...)
	}
	top := y - float64(len(wrapped))*smallStyle.line()
	for i, l := range wrapped {
		p.at(margin, top+float64(i+1)*smallStyle.line(), l, smallStyle)
	}
	if len(wrapped) > 0 {
		p.rule(top-1, 0.3)
	}
	return top - 1
}

func (p *page) blockers(s *sheet.Sheet) string {
	var list []string
	for _, b := range s.Blockers {
		text := p.words.T("blocker."+b.Code, value("field", p.words.Field(b.Field)))
		if !slices.Contains(list, text) {
			list = append(list, text)
		}
	}
	return strings.Join(list, "; ")
}

// alerts draws what changes what people do between y and bottom: allergies,
// then the findings, the worst first. What does not fit is counted in words,
// never dropped in silence; a STOP always fits.
func (p *page) alerts(s *sheet.Sheet, y, bottom float64) {
	y = p.block(margin, y, width, p.allergies(s), boldStyle) + 1
	for size := 10.0; ; size -= 0.5 {
		st := style{size, false}
		if size > 7.5 && p.height(s.Alerts, st) > bottom-y {
			continue
		}
		p.draw(s.Alerts, y, bottom, st)
		return
	}
}

func (p *page) allergies(s *sheet.Sheet) string {
	a := s.Person.Allergies
	switch {
	case !a.Asked:
		return p.words.T("paper.allergies.not-asked")
	case len(a.Items) == 0:
		return p.words.T("paper.allergies.none")
	}
	return p.words.T("paper.allergies", value("items", strings.Join(a.Items, ", ")))
}

// indent is where the text of an alert begins behind its word.
const indent = 21.0

func (p *page) height(list []finding.Finding, st style) (h float64) {
	for _, f := range list {
		h += float64(len(p.wrap(p.words.Finding(f), width-indent, st)))*st.line() + 0.8
	}
	return h
}

func (p *page) draw(list []finding.Finding, y, bottom float64, st style) {
	for i, f := range list {
		need := p.height(list[i:i+1], st)
		if i < len(list)-1 {
			need += st.line() // for the line that counts the rest
		}
		if y+need > bottom+st.line() && f.Severity != finding.Stop {
			p.at(margin, y, p.words.T("paper.more", value("n", strconv.Itoa(len(list)-i))), style{st.size, true})
			return
		}
		p.shape(margin, y, f.Severity, st)
		p.at(margin+4.5, y, p.words.Severity(f.Severity), style{st.size, true})
		y = p.block(margin+indent, y, width-indent, p.words.Finding(f), st) + 0.8
	}
}

// shape draws the severity's shape: a filled square for a stop, a lozenge for
// a caution, told apart without colour.
func (p *page) shape(x, y float64, s finding.Severity, st style) {
	h := st.size * 0.32 / pointsPerMM * 2
	p.pdf.SetFillColor(0, 0, 0)
	if s == finding.Stop {
		p.pdf.Rect(x, y-h, h, h, "F")
		return
	}
	p.pdf.MoveTo(x+h/2, y-h)
	p.pdf.LineTo(x+h, y-h/2)
	p.pdf.LineTo(x+h/2, y)
	p.pdf.LineTo(x, y-h/2)
	p.pdf.ClosePath()
	p.pdf.DrawPath("F")
}
