package paper

import (
	"io"
	"strconv"

	"linn/internal/care/sheet"
)

// List is the first page of a printed pack: the list of a day as it was locked.
type List struct {
	Date, AsOf, Hospital, By string // printed already
	Rows                     []ListRow
}

// ListRow is one eye of the list. Number is "" for an eye whose sheet does not
// hold; State then says so.
type ListRow struct {
	Order                         int
	Name, Identifier, Side, State string
	Number                        string
	Sheet                         *sheet.Sheet // nil: no sheet can be made
}

// rowsOnPage are the eyes that one page of the list holds.
const rowsOnPage = 20

// Pack writes the list and every sheet, one to a page, as PDF. Sheets that do
// not hold print as they do alone: with NOT SIGNED across them and no number.
func Pack(w io.Writer, l *List, words Words) error {
	p := newPage(words, words.T("pack.list", value("date", l.Date)))
	for first := 0; first < len(l.Rows); first += rowsOnPage {
		if first > 0 {
			p.pdf.AddPage()
		}
		p.list(l, l.Rows[first:min(first+rowsOnPage, len(l.Rows))])
	}
	for _, r := range l.Rows {
		if r.Sheet != nil {
			p.pdf.AddPage()
			p.sheet(r.Sheet)
		}
	}
	return p.out(w)
}

func (p *page) list(l *List, rows []ListRow) {
	p.at(margin, margin+9, p.words.T("pack.list", value("date", l.Date)), nameStyle)
	p.at(margin, margin+16, p.words.T("pack.as-of", value("time", l.AsOf), value("name", l.By)), boldStyle)
	p.end(right, margin+9, l.Hospital, plainStyle)
	p.at(margin, margin+22, p.words.T("pack.paper-rule"), smallStyle)
	y := margin + 27.0
	p.rule(y, 0.6)
	for _, r := range rows {
		y = p.listRow(r, y)
	}
	foot := pageHeight - margin
	p.at(margin, foot-3.6, p.words.T("footer.licensed"), tinyStyle)
	p.at(margin, foot, p.words.T("footer.length"), tinyStyle)
}

// listRow draws one eye and returns where the next begins.
func (p *page) listRow(r ListRow, y float64) float64 {
	const high = 11.5
	order := ""
	if r.Order > 0 {
		order = strconv.Itoa(r.Order)
	}
	p.at(margin, y+6.5, order, nameStyle)
	p.fit(margin+12, y+5, 82, r.Name, boldStyle)
	p.at(margin+12, y+9.6, r.Identifier, smallStyle)
	p.at(margin+98, y+6.5, r.Side, boldStyle)
	if r.Number != "" {
		p.end(right, y+6.5, p.words.T("paper.number", value("number", r.Number)), boldStyle)
	} else {
		p.end(right, y+6.5, r.State, boldStyle)
	}
	p.rule(y+high, 0.2)
	return y + high
}
