package paper

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"linn/internal/care/plan"
	"linn/internal/care/sheet"
	"linn/unit"
)

// Sheet writes the theatre sheet as PDF. It fails with an *UncoveredError
// when a name holds letters that cannot be set: a sheet never goes out with
// letters missing.
func Sheet(w io.Writer, s *sheet.Sheet, words Words) error {
	p := newPage(words, s.SideWords+" "+s.Person.Name)
	p.sheet(s)
	return p.out(w)
}

// out writes the document, or says what could not be set.
func (p *page) out(w io.Writer) error {
	if p.err != nil {
		return p.err
	}
	if err := p.pdf.Output(w); err != nil {
		return fmt.Errorf("paper: %w", err)
	}
	return nil
}

// sheet draws the sheet on the page.
func (p *page) sheet(s *sheet.Sheet) {
	y := p.head(s)
	y = p.what(s, y)
	top := y
	y = max(p.toricBelow(s.Clock, p.lens(s, top)), p.clock(s.Clock, p.readings(s, top)))
	y = p.rescue(s, y)
	p.rule(y, 0.3)
	bottom := p.foot(s)
	p.alerts(s, p.phases(s, y+5.5), bottom)
	if !s.Signed {
		p.notSigned()
	}
}

// The styles of the sheet, in points.
var (
	sideStyle  = style{28, true}
	nameStyle  = style{19, true}
	powerStyle = style{40, true}
	modelStyle = style{16, true}
	plainStyle = style{10.5, false}
	boldStyle  = style{10.5, true}
	smallStyle = style{9, false}
	smallBold  = style{9, true}
	tinyStyle  = style{7.5, false}
)

// markSize is the edge of the DataMatrix with its border, in mm.
const markSize = 24.0

// head: the eye, the person, the number of the sheet.
func (p *page) head(s *sheet.Sheet) float64 {
	room := width - markSize - 4
	p.at(margin, margin+9, s.SideWords, sideStyle)
	if s.Signed {
		p.end(right-markSize-3, margin+5, p.words.T("paper.number", value("number", s.Number)), boldStyle)
		p.end(right-markSize-3, margin+9.5, p.words.T("paper.valid", value("date", p.date(s.List))), smallBold)
		p.mark(right-markSize, margin-2, markSize, s.Mark)
	} else {
		p.end(right, margin+5, p.words.T("paper.not-signed"), boldStyle)
		room = width
	}
	name := s.Person.Name
	if name == "" {
		name = p.words.T("paper.no-name")
	}
	p.fit(margin, margin+19, room, name, nameStyle)
	p.at(margin, margin+25.5, strings.Join(p.person(s), "   ·   "), boldStyle)
	p.rule(margin+29, 0.6)
	return margin + 29
}

func (p *page) person(s *sheet.Sheet) []string {
	id := p.words.T("paper.no-identifier")
	if s.Person.Identifier != "" {
		id = s.Person.Identifier
	}
	list := []string{id}
	if s.Person.Sex != "" {
		list = append(list, p.words.T("sex."+string(s.Person.Sex)))
	}
	if s.Person.Born.Known() {
		list = append(list, p.words.T("paper.born", value("date", s.Person.Born.String())))
	}
	if s.Person.Age.Known {
		list = append(list, s.Person.Age.Value.String())
	}
	return list
}

func (p *page) date(d unit.Date) string {
	if !d.Known() {
		return p.words.T("paper.no-date")
	}
	return d.String()
}

// what: the operation and the list.
func (p *page) what(s *sheet.Sheet, y float64) float64 {
	p.at(margin, y+6, p.words.T("paper.procedure."+s.Procedure), boldStyle)
	list := p.words.T("paper.unlisted")
	if s.List.Known() {
		list = p.words.T("paper.list", value("date", s.List.String()))
	}
	if s.Place != "" {
		list += "   ·   " + s.Place
	}
	if s.Order > 0 {
		list += "   ·   " + p.words.T("paper.order", value("n", strconv.Itoa(s.Order)))
	}
	p.end(right, y+6, list, plainStyle)
	p.rule(y+9, 0.3)
	return y + 9
}

// middle is where the readings begin.
const middle = margin + 112

// lens: the model, the power, the target, what it is expected to leave.
func (p *page) lens(s *sheet.Sheet, y float64) float64 {
	room := middle - margin - 6
	l := &s.Lens
	if !l.Chosen {
		p.at(margin, y+9, p.words.T("paper.no-lens"), modelStyle)
		return p.line(margin, y+17, "paper.target", p.target(l)) + 3
	}
	p.fit(margin, y+8, room, l.Model, modelStyle)
	power := p.dioptres(l.Power)
	w := p.at(margin, y+25, power, powerStyle)
	p.at(margin+w+4, y+25, p.inWords(l.Power), boldStyle)
	y += 33
	place := "bag"
	if s.Placement != "" {
		place = string(s.Placement)
	}
	y = p.line(margin, y, "paper.placement", p.words.T("paper.placement."+place))
	y = p.line(margin, y, "paper.target", p.target(l))
	if !l.Predicted.Known {
		return p.line(margin, y, "paper.predicted", p.words.T("paper.no-prediction")) + 2
	}
	predicted := p.dioptres(l.Predicted)
	if l.SD.Known {
		predicted += " ± " + unit.Dioptre(l.SD.Value).Unsigned()
	}
	y = p.line(margin, y, "paper.predicted", predicted)
	if l.TwoOf.Known {
		y = p.block(margin, y, room, p.words.T("paper.band", value("low", unit.Dioptre(l.Predicted.Value-l.TwoOf.Value).String()),
			value("high", unit.Dioptre(l.Predicted.Value+l.TwoOf.Value).String())), smallStyle)
	}
	names := make([]string, len(l.Methods))
	for i, id := range l.Methods {
		names[i] = p.words.Method(id)
	}
	return p.block(margin, y, room, p.words.T("paper.methods", value("methods", strings.Join(names, ", "))), smallStyle) + 1
}

// line writes a label and its value and returns the next baseline.
func (p *page) line(x, y float64, key, text string) float64 {
	w := p.at(x, y, p.words.T(key), plainStyle)
	p.at(x+max(w+3, 26), y, text, boldStyle)
	return y + 5.4
}

func (p *page) target(l *sheet.Lens) string {
	t := p.dioptres(l.Target)
	if l.Assumed {
		t += " " + p.words.T("paper.assumed")
	}
	return t
}

func (p *page) dioptres(n plan.Number) string {
	if !n.Known {
		return "–"
	}
	return unit.Dioptre(n.Value).String()
}

// inWords says the sign of a power: a minus that is overlooked costs an eye.
func (p *page) inWords(n plan.Number) string {
	key := "paper.plus"
	if n.Value < 0 {
		key = "paper.minus"
	}
	return p.words.T(key)
}

// readings: what the second person compares with the source.
func (p *page) readings(s *sheet.Sheet, y float64) float64 {
	p.at(middle, y+6, p.words.T("paper.readings"), smallBold)
	p.end(right-26, y+6, s.SideWords, smallBold)
	if s.Fellow != nil {
		p.end(right, y+6, s.Side.Other().Words(), smallStyle)
	}
	y += 11
	for i, r := range s.Readings {
		p.at(middle, y, p.words.Field(r.Field), smallStyle)
		p.end(right-26, y, p.reading(r), smallBold)
		if i < len(s.Fellow) {
			p.end(right, y, p.reading(s.Fellow[i]), smallStyle)
		}
		y += 4.4
		if r.Detail != "" {
			p.end(right-26, y-0.9, p.detail(r), tinyStyle)
			y += 3
		}
	}
	return y
}

func (p *page) reading(r sheet.Reading) string {
	if r.Text == "" {
		return "–"
	}
	return r.Text
}

func (p *page) detail(r sheet.Reading) string {
	if r.Field == "axial_length_mm" {
		return p.words.T("paper.length." + r.Detail)
	}
	return p.words.T("paper.axis", value("axis", r.Detail))
}

// notSigned stands across a sheet that was not signed, in outline so that
// what is below stays readable.
func (p *page) notSigned() {
	s := style{88, true}
	text := p.set(p.words.T("paper.not-signed"), s)
	w := p.pdf.GetStringWidth(text)
	p.pdf.TransformBegin()
	p.pdf.TransformRotate(52, pageWidth/2, pageHeight/2)
	p.pdf.SetTextRenderingMode(1)
	p.pdf.SetDrawColor(110, 110, 110)
	p.pdf.SetLineWidth(0.5)
	p.pdf.Text(pageWidth/2-w/2, pageHeight/2+10, text)
	p.pdf.SetTextRenderingMode(0)
	p.pdf.SetDrawColor(0, 0, 0)
	p.pdf.TransformEnd()
}
