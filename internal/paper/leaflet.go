package paper

import (
	"fmt"
	"io"
)

// Leaflet is what a patient takes home: the signs to come back for at once,
// and whom to ring. The words are the locale's, "leaflet.…".
type Leaflet struct {
	Side, Name, Identifier string
	Hospital, Phone        string   // "" where nobody settled them
	Signs                  []string // keys of "leaflet.sign.KEY"
	Printed                string
}

// The styles of the leaflet: read by people who see little.
var (
	leafletTitle = style{26, true}
	leafletSign  = style{18, true}
	leafletPlain = style{14, false}
	leafletPhone = style{30, true}
)

// PrintLeaflet writes the leaflet as PDF, one page.
func PrintLeaflet(w io.Writer, l *Leaflet, words Words) error {
	p := newPage(words, words.T("leaflet.title"))
	p.fit(margin, 20, width, l.Name+"   "+l.Identifier, leafletPlain)
	p.end(right, 28, l.Side, leafletSign)
	p.at(margin, 28, l.Hospital, leafletPlain)
	p.rule(32, 0.6)
	y := p.block(margin, 45, width, words.T("leaflet.title"), leafletTitle) + 3
	y = p.block(margin, y, width, words.T("leaflet.lead"), leafletPlain) + 6
	for _, key := range l.Signs {
		p.pdf.Rect(margin, y-4, 4, 4, "F")
		y = p.block(margin+9, y, width-9, words.T("leaflet.sign."+key), leafletSign) + 3.5
	}
	y = p.block(margin, y+5, width, words.T("leaflet.ring"), leafletPlain) + 8
	if l.Phone == "" {
		p.blank(margin, y+2, width)
	} else {
		p.fit(margin, y+2, width, l.Phone, leafletPhone)
	}
	p.block(margin, y+16, width, words.T("leaflet.care"), leafletPlain)
	p.block(margin, pageHeight-18, width, words.T("leaflet.foot")+" "+l.Printed, tinyStyle)
	if p.err != nil {
		return p.err
	}
	if err := p.pdf.Output(w); err != nil {
		return fmt.Errorf("paper: %w", err)
	}
	return nil
}
