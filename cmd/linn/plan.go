package main

import (
	"bytes"
	"errors"

	"linn/finding"
	"linn/internal/paper"
	"linn/internal/pathway"
)

// planCommand plans one eye.
type planCommand struct {
	File string `arg:"" help:"${help_plan_file}"`
	JSON bool   `help:"${help_json}" xor:"form"`
	HTML bool   `help:"${help_html}" xor:"form" name:"html"`
	PDF  bool   `help:"${help_pdf}" xor:"form" name:"pdf"`
}

func (c *planCommand) Run(a *app) error {
	data, refused, err := a.read(c.File)
	if err != nil {
		return err
	}
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	p, refused := pathway.PlanFile(data, programVersion())
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	switch {
	case c.JSON:
		return a.json(p)
	case c.PDF:
		return a.pdf(c.File, &p)
	case c.HTML:
		return paper.HTML(a.out, a.writer().plan(&p))
	}
	return paper.Text(a.out, a.writer().plan(&p))
}

// pdf writes the theatre sheet. A name that no typeface can set is refused:
// letters are never left out.
func (a *app) pdf(name string, p *pathway.PlanOfFile) error {
	var b bytes.Buffer // nothing is written when it fails
	err := paper.Sheet(&b, &p.Sheet, words{a.lang})
	if e := (*paper.UncoveredError)(nil); errors.As(err, &e) {
		return a.refuse(name, finding.Refusals{{Code: "letters", Values: finding.Values{value("got", e.Text), value("letter", string(e.Letter))}}})
	}
	if err != nil {
		return err
	}
	_, err = a.out.Write(b.Bytes())
	return err
}
