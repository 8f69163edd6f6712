package main

import (
	"io"
	"strings"
	"time"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/paper"
	"linn/internal/transfer/gs1io"
	"linn/unit"
)

// labelFormat is the answer of linn label.
const labelFormat = "linn.label/1"

// labelCommand reads the code of an implant's box.
type labelCommand struct {
	Code string `arg:"" name:"string" help:"${help_label_string}"`
	On   string `help:"${help_label_on}"`
	JSON bool   `help:"${help_json}"`
}

// labelAnswer is every way the code can be read.
type labelAnswer struct {
	Format   string        `json:"format"`
	Readings []gs1io.Label `json:"readings"`
}

func (c *labelCommand) Run(a *app) error {
	today := unit.DateOf(time.Now())
	if c.On != "" {
		var err error
		if today, err = unit.ParseDate(c.On); err != nil || !today.Exact() {
			return usageError(a.t("label.not-a-date", value("got", c.On)))
		}
	}
	code := c.Code
	if code == "-" {
		b, err := io.ReadAll(io.LimitReader(a.in, gs1io.Longest+1))
		if err != nil {
			return err
		}
		code = string(b)
	}
	labels, refused := gs1io.Read(code, today)
	if len(refused) > 0 {
		return a.refuse(a.t("label.code"), refused)
	}
	if c.JSON {
		return a.json(labelAnswer{labelFormat, labels})
	}
	return paper.Text(a.out, a.writer().labels(labels))
}

func (w writer) labels(labels []gs1io.Label) *paper.Answer {
	a := &paper.Answer{Footer: []string{w.T("label.not-in-code"), locale.T(w.lang, "footer.licensed")}}
	for i := range labels {
		a.Parts = append(a.Parts, w.label(&labels[i]))
	}
	return a
}

// label is one reading, as it should stand in print beside the code.
func (w writer) label(l *gs1io.Label) paper.Part {
	p := paper.Part{Said: w.said(l.Findings), Lines: []string{w.T("label.issuer." + l.Issuer)}}
	var printed strings.Builder
	for _, e := range l.Elements {
		if e.AI != "" {
			printed.WriteString("(" + e.AI + ")")
		}
		printed.WriteString(e.Text)
	}
	line := func(key, text string) {
		if text != "" {
			p.Lines = append(p.Lines, w.T(key, finding.Value{Name: "text", Text: text}))
		}
	}
	line("label.printed", printed.String())
	line("label.product", l.Product)
	line("label.lot", l.Lot)
	line("label.serial", l.Serial)
	line("label.part", l.Part)
	line("label.made", l.Made.String())
	line("label.expiry", l.Expiry.String())
	return p
}
