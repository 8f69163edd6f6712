package main

import (
	"fmt"
	"math"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/paper"
	"linn/internal/pathway"
	"linn/unit"
)

// calibrateCommand answers what measurements on a machine say of it.
type calibrateCommand struct {
	File string `arg:"" help:"${help_calibrate_file}"`
	JSON bool   `help:"${help_json}"`
}

// Run writes what the data support; a part they cannot support is told on
// standard error and ends with the exit code of a refusal.
func (c *calibrateCommand) Run(a *app) error {
	data, refused, err := a.read(c.File)
	if err != nil {
		return err
	}
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	m, fit, refused := pathway.Calibrate(data)
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	if c.JSON {
		b, err := fit.JSON(m.Machine)
		if err != nil {
			return err
		}
		if _, err := fmt.Fprintf(a.out, "%s\n", b); err != nil {
			return err
		}
	} else if err := paper.Text(a.out, a.writer().calibrated(&m, &fit)); err != nil {
		return err
	}
	if len(fit.Refused) > 0 {
		return a.refuse(c.File, reasonsInWords(a.lang, fit.Refused))
	}
	return nil
}

// reasonsInWords says why a part cannot be fitted.
func reasonsInWords(lang locale.Language, list finding.Refusals) (out finding.Refusals) {
	for _, r := range list {
		if reason := r.Values.Get("reason"); reason != "" {
			r.Values = finding.Values{value("reason", locale.T(lang, "fit."+reason))}
		}
		out = append(out, r)
	}
	return out
}

func (w writer) calibrated(m *pathway.MachineData, c *pathway.Calibrated) *paper.Answer {
	var rows [][]string
	row := func(key string, e *pathway.Estimate, u string) {
		if e != nil {
			rows = append(rows, []string{w.T(key), w.estimate(e, u)})
		}
	}
	row("field.head_offset_cm", c.Offset, "cm")
	if c.Irrigation != nil {
		row("calibrate.resistance", &c.Irrigation.Resistance, "mmHg/(mL/min)")
		row("calibrate.quadratic", &c.Irrigation.Quadratic, "mmHg/(mL/min)²")
	}
	if c.Line != nil {
		row("field.line_compliance_ul_per_mmhg", &c.Line.Compliance, "µL/mmHg")
	}
	if c.Vacuum != nil {
		row("calibrate.gauge-offset", &c.Vacuum.Offset, "mmHg")
		row("calibrate.gauge-gain", &c.Vacuum.Gain, "")
	}
	row("field.leak_ml_min_per_mmhg", c.Leak, "(mL/min)/mmHg")
	name := m.Machine
	if name == "" {
		name = w.T("calibrate.nameless")
	}
	state := w.T("calibrate.incomplete")
	if c.Complete() {
		state = w.T("calibrate.complete")
	}
	return &paper.Answer{Side: name, Parts: []paper.Part{{Said: w.said(c.Findings)}, {Table: &paper.Table{Rows: rows}, Lines: []string{state}}}, Footer: []string{w.T("footer.licensed")}}
}

// estimate writes a fitted value with its interval.
func (w writer) estimate(e *pathway.Estimate, u string) string {
	if u != "" {
		u = unit.Thin + u
	}
	d := 3
	if math.Abs(e.Value) >= 10 {
		d = 1
	} else if math.Abs(e.Value) < 0.01 {
		d = 5
	}
	if !e.Bounded {
		return w.T("calibrate.unbounded", value("got", unit.Fixed(e.Value, d)+u))
	}
	return w.T("calibrate.interval", value("got", unit.Fixed(e.Value, d)+u), value("low", unit.Fixed(e.Low, d)), value("high", unit.Fixed(e.High, d)))
}
