package paper

import (
	"strings"

	"linn/internal/care/sheet"
)

// phases writes the machine's settings, a line for each phase that has any,
// and returns where the rest begins.
func (p *page) phases(s *sheet.Sheet, y float64) float64 {
	for _, phase := range s.Phases {
		var list []string
		for _, set := range phase.Settings {
			list = append(list, p.words.T("phase.short."+set.Key)+" "+set.Text)
		}
		w := p.at(margin, y, p.words.T("phase."+phase.Phase), smallBold)
		p.fit(margin+max(w+3, 30), y, width-34, strings.Join(list, "   ·   "), smallStyle)
		y += 4.6
	}
	if len(s.Phases) > 0 {
		y += 1.5
	}
	return y
}
