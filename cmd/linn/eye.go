package main

import (
	"io"

	"linn/internal/paper"
	"linn/internal/pathway"
	"linn/internal/web"
	"linn/unit"
)

// eyeCommand answers one eye as an optical instrument.
type eyeCommand struct {
	File string `arg:"" help:"${help_eye_file}"`
	JSON bool   `help:"${help_json}" xor:"form"`
	SVG  bool   `help:"${help_eye_svg}" xor:"form" name:"svg"`
}

func (c *eyeCommand) Run(a *app) error {
	data, refused, err := a.read(c.File)
	if err != nil {
		return err
	}
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	in, refused := pathway.InstrumentFile(data, programVersion())
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	switch {
	case c.JSON:
		return a.json(in)
	case c.SVG:
		_, err := io.WriteString(a.out, web.InstrumentSVG(a.lang, &in))
		return err
	}
	return paper.Text(a.out, a.writer().instrument(&in))
}

// instrument is the answer for people.
func (w writer) instrument(in *pathway.Instrument) *paper.Answer {
	seen := &paper.Table{Head: []string{w.T("instrument.power"), w.T("instrument.refraction"), w.T("instrument.far"), w.T("instrument.intermediate"), w.T("instrument.near")}}
	for _, s := range in.Steps {
		seen.Rows = append(seen.Rows, []string{signed(s.Power), signed(s.Refraction), logmar(s.Far), logmar(s.Intermediate), logmar(s.Near)})
	}
	parts := []paper.Part{{Said: w.said(in.Findings)},
		{Heading: w.T("instrument.lens"), Lines: []string{w.T("instrument.lens.line", value("power", w.dioptres(in.Lens.Power)), value("thickness", w.millimetres(in.Lens.Thickness)), value("place", w.millimetres(in.Places.LensEdge)))}},
		{Heading: w.T("instrument.seen"), Table: seen, Lines: []string{w.T("instrument.seen.how")}}}
	if in.Sure != nil {
		parts = append(parts, w.sureness(in))
	}
	return &paper.Answer{Side: w.T("side." + string(in.Side)), Parts: parts, Footer: w.footer()}
}

func (w writer) sureness(in *pathway.Instrument) paper.Part {
	t := &paper.Table{Head: []string{w.T("instrument.power"), "±0.25 D", "±0.50 D", "±0.75 D", "±1.00 D", w.T("instrument.surprise")}}
	for _, s := range in.Sure.Steps {
		row := []string{signed(s.Power)}
		for _, p := range s.Within {
			row = append(row, percent(p))
		}
		t.Rows = append(t.Rows, append(row, percent(s.Surprise)))
	}
	return paper.Part{Heading: w.T("instrument.sure"), Table: t, Lines: []string{w.T("instrument.sure.how")}}
}

func logmar(n pathway.Number) string {
	if !n.Known {
		return "–"
	}
	return unit.Signed(n.Value, 2)
}
