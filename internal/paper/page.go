package paper

import (
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"linn/finding"
)

// Words are the texts of the print in one language.
type Words interface {
	T(key string, values ...finding.Value) string
	Finding(f finding.Finding) string
	Severity(s finding.Severity) string
	Field(key string) string
	Method(id string) string
}

// The page, in mm.
const (
	pageWidth, pageHeight = 210.0, 297.0
	margin                = 12.0
	width                 = pageWidth - 2*margin
	right                 = pageWidth - margin
	pointsPerMM           = 72 / 25.4
)

// page draws text and lines; the first error is kept and ends the drawing.
type page struct {
	pdf   *fpdf.Fpdf
	words Words
	err   error
}

// epoch stands in the file's dates: the sheet carries its own, and the bytes
// of a print do not depend on the clock.
var epoch = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

func newPage(w Words, title string) *page {
	pdf := fpdf.New("P", "mm", "A4", "")
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(epoch)
	pdf.SetModificationDate(epoch)
	pdf.SetProducer("linn", true)
	pdf.SetTitle(title, true)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetMargins(margin, margin, margin)
	addFonts(pdf)
	pdf.AddPage()
	pdf.SetTextColor(0, 0, 0)
	return &page{pdf: pdf, words: w}
}

// style is a size in points and a weight.
type style struct {
	size float64
	bold bool
}

// set chooses the typeface that has every letter of text and returns the text
// as it is to be set.
func (p *page) set(text string, s style) string {
	t, f, err := settable(strings.Join(strings.Fields(text), " "))
	if narrow := strings.ContainsAny(text, "\u00a0\u202f"); narrow {
		t, f, err = settable(text)
	}
	if err != nil {
		if p.err == nil {
			p.err = err
		}
		return ""
	}
	weight := ""
	if s.bold {
		weight = "B"
	}
	p.pdf.SetFont(f.name, weight, s.size)
	return t
}

// at writes one line with its baseline at y and returns its width.
func (p *page) at(x, y float64, text string, s style) float64 {
	t := p.set(text, s)
	if t == "" {
		return 0
	}
	p.pdf.Text(x, y, t)
	return p.pdf.GetStringWidth(t)
}

// end writes one line that ends at x.
func (p *page) end(x, y float64, text string, s style) {
	t := p.set(text, s)
	if t == "" {
		return
	}
	p.pdf.Text(x-p.pdf.GetStringWidth(t), y, t)
}

// fit writes one line, smaller if it must be, so that it is never wider than
// most; below the smallest size it goes on over two lines.
func (p *page) fit(x, y, most float64, text string, s style) {
	for ; s.size > smallest; s.size -= 0.5 {
		if t := p.set(text, s); p.pdf.GetStringWidth(t) <= most {
			break
		}
	}
	for _, line := range p.wrap(text, most, s) {
		p.at(x, y, line, s)
		y += s.line()
	}
}

// smallest is the least size of a name or a lens, in points.
const smallest = 9.0

// line is the distance of two baselines in mm.
func (s style) line() float64 { return s.size * 1.22 / pointsPerMM }

// wrap breaks text at its spaces into lines of at most the width most.
func (p *page) wrap(text string, most float64, s style) (lines []string) {
	line := ""
	for _, word := range strings.Split(text, " ") {
		longer := word
		if line != "" {
			longer = line + " " + word
		}
		if t := p.set(longer, s); line != "" && p.pdf.GetStringWidth(t) > most {
			lines, line = append(lines, line), word
			continue
		}
		line = longer
	}
	return append(lines, line)
}

// block writes wrapped text downwards from the baseline y and returns the
// baseline below it.
func (p *page) block(x, y, most float64, text string, s style) float64 {
	for _, line := range p.wrap(text, most, s) {
		p.at(x, y, line, s)
		y += s.line()
	}
	return y
}

// rule draws a line across the page.
func (p *page) rule(y, thick float64) {
	p.pdf.SetLineWidth(thick)
	p.pdf.Line(margin, y, right, y)
}

// box draws an empty box to tick, standing on the baseline.
func (p *page) box(x, y float64) {
	p.pdf.SetLineWidth(0.25)
	p.pdf.Rect(x, y-2.7, 3, 3, "D")
}

// blank draws a line to write on.
func (p *page) blank(x, y, length float64) {
	p.pdf.SetLineWidth(0.15)
	p.pdf.Line(x, y+0.6, x+length, y+0.6)
}

func value(name, text string) finding.Value { return finding.Value{Name: name, Text: text} }
