package main

import (
	"linn/finding"
	"linn/internal/locale"
	"linn/internal/paper"
	"linn/internal/pathway"
	"linn/unit"
)

// doseCommand checks the arithmetic of drugs as drawn up.
type doseCommand struct {
	File string `arg:"" help:"${help_dose_file}"`
	JSON bool   `help:"${help_json}"`
}

func (c *doseCommand) Run(a *app) error {
	data, refused, err := a.read(c.File)
	if err != nil {
		return err
	}
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	answer, refused := pathway.Dose(data)
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	if c.JSON {
		return a.json(answer)
	}
	return paper.Text(a.out, a.writer().dose(&answer.DoseCheck))
}

func (w writer) dose(d *pathway.DoseCheck) *paper.Answer {
	a := &paper.Answer{Footer: []string{w.T("dose.not-order"), locale.T(w.lang, "footer.licensed")}}
	sums := paper.Part{}
	var found []finding.Finding
	for i := range d.Lines {
		l := &d.Lines[i]
		line := w.T("dose.line", value("drug", l.Drug), value("route", w.T("route."+l.Route)), value("concentration", pathway.AmountText(l.Concentration, "mg/ml")),
			value("volume", unit.Millilitre(l.Volume.Value).String()), value("dose", pathway.AmountText(l.Dose, "mg")))
		if l.Target.Known {
			line += "; " + w.T("dose.target", value("target", pathway.AmountText(l.Target, l.TargetUnit)), value("times", unit.Fixed(l.Share.Value, 2)))
		}
		sums.Lines, found = append(sums.Lines, line), append(found, l.Findings...)
	}
	if t := d.Total; t != nil {
		sums.Lines = append(sums.Lines, w.T("dose.total", value("share", unit.Fixed(t.Fraction.Value, 4))))
		for _, p := range t.Parts {
			key := "dose.part"
			if p.PerKg.Known {
				key = "dose.part.kg"
			}
			sums.Lines = append(sums.Lines, "  "+w.T(key, value("drug", p.Drug), value("dose", pathway.AmountText(p.Dose, "mg")), value("limit", pathway.AmountText(p.Limit, "mg")),
				value("share", unit.Fixed(p.Fraction.Value, 4)), value("perkg", unit.MilligramPerKilogram(p.PerKg.Value).String())))
		}
	}
	a.Parts = []paper.Part{{Said: w.said(append(found, d.Findings...))}, sums}
	return a
}
