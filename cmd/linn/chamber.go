package main

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/paper"
	"linn/internal/pathway"
	"linn/unit"
)

// chamberCommand answers what one break of an occlusion does to the chamber.
type chamberCommand struct {
	File  string `arg:"" help:"${help_chamber_file}"`
	JSON  bool   `help:"${help_json}"`
	Trace bool   `help:"${help_chamber_trace}"`

	Happening string   `help:"${help_chamber_happening}" enum:",air,pedal,bottle,kink,power-cut,pieces" default:""`
	Lasts     *float64 `help:"${help_chamber_lasts}"`
	Noted     *float64 `help:"${help_chamber_noted}"`
	Kink      *float64 `help:"${help_chamber_kink}"`
	Pieces    *int     `help:"${help_chamber_pieces}"`
	Air       *float64 `help:"${help_chamber_air}"`
}

// script is what befalls the chamber, with its usual numbers where none is said.
func (c *chamberCommand) script() pathway.Script {
	s := pathway.UsualScript(pathway.Happening(c.Happening))
	given(c.Lasts, func(v float64) { s.Lasts = unit.Second(v) })
	given(c.Noted, func(v float64) { s.Noted = unit.Second(v) })
	given(c.Kink, func(v float64) { s.Kink = unit.Ratio(v) })
	given(c.Air, func(v float64) { s.Air = unit.Microlitre(v) })
	given(c.Pieces, func(v int) { s.Pieces = v })
	return s
}

func given[T any](v *T, take func(T)) {
	if v != nil {
		take(*v)
	}
}

func (c *chamberCommand) Run(a *app) error {
	data, refused, err := a.read(c.File)
	if err != nil {
		return err
	}
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	answer, refused := pathway.Chamber(data)
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	if c.Happening != "" {
		if c.JSON {
			return usageError(a.t("chamber.happening-is-a-table"))
		}
		trace, refused := pathway.HappeningTrace(answer.Settings, c.script())
		if len(refused) > 0 {
			return a.refuse(c.File, refused)
		}
		return chamberCSV(a.out, trace)
	}
	var trace []pathway.ChamberSample
	if c.Trace {
		if trace, refused = pathway.ChamberTrace(answer.Settings); len(refused) > 0 {
			return a.refuse(c.File, refused)
		}
	}
	switch {
	case c.JSON:
		return a.chamberJSON(&answer, trace)
	case c.Trace:
		return chamberCSV(a.out, trace)
	}
	return paper.Text(a.out, a.writer().chamber(&answer))
}

// traceKeys are the columns of a trace.
var traceKeys = []string{"at_s", "chamber_mmhg", "node_mmhg", "irrigation_ml_min", "tip_ml_min", "bypass_ml_min", "leak_ml_min", "volume_ul"}

func traceRow(s pathway.ChamberSample) []float64 {
	return []float64{float64(s.At), float64(s.Chamber), float64(s.Node), float64(s.Irrigation), float64(s.Tip), float64(s.Bypass), float64(s.Leak), float64(s.Volume)}
}

// chamberJSON writes the answer, with the trace as its last key where one was
// asked for.
func (a *app) chamberJSON(answer *pathway.ChamberAnswer, trace []pathway.ChamberSample) error {
	b, err := answer.JSON()
	if err != nil {
		return err
	}
	if trace == nil {
		_, err = fmt.Fprintf(a.out, "%s\n", b)
		return err
	}
	rows := make([]map[string]float64, len(trace))
	for i, s := range trace {
		rows[i] = map[string]float64{}
		for k, v := range traceRow(s) {
			rows[i][traceKeys[k]] = v + 0 // no −0
		}
	}
	more, err := json.Marshal(rows)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.out, "%s,\"trace\":%s}\n", b[:len(b)-1], more)
	return err
}

// chamberCSV writes a trace as a table, four decimals.
func chamberCSV(w io.Writer, trace []pathway.ChamberSample) error {
	var b []byte
	for i, key := range traceKeys {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(b, key...)
	}
	b = append(b, '\n')
	for _, s := range trace {
		for i, v := range traceRow(s) {
			if i > 0 {
				b = append(b, ',')
			}
			at := len(b)
			if b = strconv.AppendFloat(b, v, 'f', 4, 64); string(b[at:]) == "-0.0000" {
				b = append(b[:at], "0.0000"...)
			}
		}
		b = append(b, '\n')
	}
	_, err := w.Write(b)
	return err
}

// chamber is the answer for people: surge numbers with two figures and as
// ranges over the lines in use, the least pressure never.
func (w writer) chamber(c *pathway.ChamberAnswer) *paper.Answer {
	a, s := &c.Answer, &c.Spread
	rows := [][]string{
		{w.T("chamber.open"), w.pressure("chamber.about", float64(a.Open))},
		{w.T("chamber.blocked"), w.pressure("chamber.blocked.at", float64(a.Blocked), value("vacuum", two(max(float64(a.BlockedVacuum), 0), "mmHg")))},
		{w.T("chamber.rise"), w.span(s.Rise.Known(), float64(s.Rise.Low), float64(s.Rise.High), "s")},
		{w.T("chamber.lost"), w.upTo(c, float64(s.Lost.Low), float64(s.Lost.High), "µL")},
		{w.T("chamber.excursion"), w.upTo(c, float64(s.Excursion.Low), float64(s.Excursion.High), "mm")},
		{w.T("chamber.recovery"), w.span(true, float64(s.Recovery.Low), float64(s.Recovery.High), "s")},
		{w.T("chamber.stays"), w.collapses(s)},
	}
	return &paper.Answer{Side: w.T("chamber.heading"), Parts: []paper.Part{
		{Said: w.said(w.keysInWords(c.Findings))}, {Table: &paper.Table{Rows: rows}, Lines: []string{w.T("chamber.ranges")}}}, Footer: []string{w.T("footer.licensed")}}
}

// pressure says a chamber's pressure; below what keeps it formed there is no
// number to read, and below 0 it would be none.
func (w writer) pressure(key string, p float64, more ...finding.Value) string {
	if p < pathway.FormedAbove() {
		return w.T("chamber.not-formed")
	}
	return w.T(key, append(more, value("got", two(p, "mmHg")))...)
}

func (w writer) span(known bool, low, high float64, u string) string {
	if !known {
		return w.T("chamber.not-reached")
	}
	l, h := pathway.TwoFigures(low), pathway.TwoFigures(high)
	if l == h {
		return w.T("chamber.about", value("got", l+unit.Thin+u))
	}
	return w.T("chamber.range", value("low", l), value("high", h+unit.Thin+u))
}

// upTo is a range of what the chamber loses, ending at the whole of it.
func (w writer) upTo(c *pathway.ChamberAnswer, low, high float64, u string) string {
	switch {
	case c.Spread.Lost.Low >= c.Holds():
		return w.T("chamber.whole")
	case c.Spread.Lost.High >= c.Holds():
		return w.T("chamber.to-whole", value("low", two(low, u)))
	}
	return w.span(true, low, high, u)
}

func (w writer) collapses(s *pathway.ChamberSpread) string {
	switch {
	case len(s.CollapsesAt) == 0:
		return w.T("chamber.formed")
	case len(s.CollapsesAt) == len(s.Tried):
		return w.T("chamber.collapses")
	}
	return w.T("chamber.collapses.from", value("line", s.CollapsesAt[0].String()))
}

// keysInWords says in words which settings were not given.
func (w writer) keysInWords(list []finding.Finding) []finding.Finding {
	list = slices.Clone(list)
	for i, f := range list {
		keys := f.Values.Get("keys")
		if keys == "" {
			continue
		}
		var names []string
		for _, key := range strings.Split(keys, ", ") {
			names = append(names, w.Field(key))
		}
		list[i].Values = finding.Values{value("keys", strings.Join(names, ", "))}
	}
	return list
}

func two(v float64, u string) string { return pathway.TwoFigures(v) + unit.Thin + u }
