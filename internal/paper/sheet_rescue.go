package paper

import (
	"linn/internal/care/sheet"
	"linn/unit"
)

// rescue draws the ways out side by side: the place, the lens with its power,
// what it is expected to leave.
func (p *page) rescue(s *sheet.Sheet, y float64) float64 {
	if len(s.Rescue) == 0 {
		return y
	}
	p.rule(y, 0.3)
	p.at(margin, y+4.6, p.words.T("rescue.heading"), smallBold)
	column := width / float64(len(s.Rescue))
	lowest := 0.0
	for i := range s.Rescue {
		r := &s.Rescue[i]
		x, at := margin+float64(i)*column, y+9
		p.fit(x, at, column-2, p.words.T("rescue.place."+r.Place), smallStyle)
		switch {
		case r.Place == "none":
			p.at(x, at+4.6, "–", boldStyle)
		case r.Lacks != "":
			at = p.block(x, at+4, column-2, p.words.T("rescue.lacks", value("field", p.words.Field(r.Lacks))), tinyStyle) - 8
		case !r.Power.Known:
			at = p.block(x, at+4, column-2, p.words.T("rescue.never"), tinyStyle) - 8
		default:
			p.at(x, at+4.6, p.dioptres(r.Power), boldStyle)
			p.fit(x, at+8.2, column-2, r.Model+p.ready(r.Stock.Known, r.Stock.Value), tinyStyle)
		}
		if r.Refraction.Known {
			p.fit(x, at+11.6, column-2, p.words.T("paper.rescue.expect", value("refraction", unit.Dioptre(r.Refraction.Value).String())), tinyStyle)
		}
		lowest = max(lowest, at+11.6)
	}
	return max(lowest, y+20.6) + 1.6
}

// ready says that a power does not lie ready.
func (p *page) ready(counted bool, n float64) string {
	if counted && n == 0 {
		return " · " + p.words.T("rescue.out")
	}
	return ""
}
