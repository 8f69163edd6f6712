package main

import (
	"errors"
	"io"
	"strings"

	"linn/finding"
	"linn/internal/paper"
	"linn/internal/transfer/dicomio"
)

// dicomCommand says what a DICOM file of an instrument says. It keeps nothing.
type dicomCommand struct {
	File string `arg:"" help:"${help_dicom_file}"`
	JSON bool   `help:"${help_json}"`
}

// dicomAnswer is what is answered as JSON.
type dicomAnswer struct {
	Format string `json:"format"`
	*dicomio.Object
}

func (c *dicomCommand) Run(a *app) error {
	f, err := a.open(c.File)
	if err != nil {
		return err
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, dicomio.MaxFile+1))
	if err != nil {
		return err
	}
	o, err := dicomio.Read(data)
	var refused finding.Refusal
	switch {
	case errors.As(err, &refused):
		return a.refuse(c.File, finding.Refusals{refused})
	case err != nil:
		return err
	case c.JSON:
		return a.json(dicomAnswer{dicomio.Format, o})
	}
	return paper.Text(a.out, a.writer().dicom(o))
}

// dicom is a file in words: whose it is, each eye, and apart from them what
// another system calculated.
func (w writer) dicom(o *dicomio.Object) *paper.Answer {
	who := w.T("dicom.person", value("name", known(o.Patient.Name, w.T("paper.no-name"))), value("identifier", known(o.Patient.Identifier, w.T("paper.no-identifier"))),
		value("born", known(o.Patient.Born, w.T("dicom.not-said"))))
	a := &paper.Answer{Side: w.T("dicom.class." + o.Class), Lines: []string{who, w.T("dicom.from", value("device", known(o.Device, w.T("dicom.not-said"))), value("on", known(o.On, w.T("dicom.not-said"))))},
		Parts: []paper.Part{{Said: w.said(o.Findings)}}, Footer: append([]string{w.T("dicom.nothing-kept")}, w.footer()...)}
	for _, s := range o.Eyes {
		part := paper.Part{Heading: s.Side.Words(), Table: &paper.Table{Head: []string{w.T("dicom.key"), w.T("dicom.value")}}}
		for _, v := range s.Values {
			part.Table.Rows = append(part.Table.Rows, []string{v.Key, v.Text})
		}
		a.Parts = append(a.Parts, part)
		if s.Other != nil {
			a.Parts = append(a.Parts, w.otherSystem(s.Side.Words(), s.Other))
		}
	}
	if o.Report != nil {
		a.Parts = append(a.Parts, paper.Part{Lines: []string{w.T("dicom.report", value("title", o.Report.Title))}})
	}
	return a
}

func known(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

// otherSystem is a calculation that is not ours, said to be so.
func (w writer) otherSystem(side string, x *dicomio.Other) paper.Part {
	part := paper.Part{Heading: w.T("dicom.other", value("side", side), value("formula", known(x.Formula, w.T("dicom.not-said"))), value("lens", known(strings.TrimSpace(x.Maker+" "+x.Model), w.T("dicom.not-said")))),
		Table: &paper.Table{Head: []string{w.T("dicom.other.power"), w.T("dicom.other.refraction"), ""}}, Lines: []string{w.T("dicom.other.apart", value("target", withSign(x.TargetD)))}}
	for _, c := range x.Constants {
		part.Lines = append(part.Lines, w.T("dicom.other.constant", value("name", c.Name), value("value", c.Value)))
	}
	for _, p := range x.Powers {
		chosen := ""
		if p.Chosen {
			chosen = w.T("dicom.other.chosen")
		}
		part.Table.Rows = append(part.Table.Rows, []string{withSign(p.Power) + " D", withSign(p.Refraction) + " D", chosen})
	}
	return part
}

// withSign puts the explicit sign before a decimal text.
func withSign(text string) string {
	switch {
	case text == "":
		return "–"
	case text[0] == '-':
		return "−" + text[1:]
	}
	return "+" + text
}
