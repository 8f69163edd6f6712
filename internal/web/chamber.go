package web

import (
	"context"
	"errors"
	"html/template"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/unit"
)

// ChamberPart is the machine's part of an eye's journey.
type ChamberPart struct {
	Machine  string
	Machines []Option
	Settings map[string]map[string]string // as typed: phase → key → text
	Volume   unit.Reading[unit.Microlitre]
	Missing  []string
	Advice   []pathway.PhaseAdvice // of a machine measured on site only
	Measured bool                  // the machine chosen was
	Editable bool
}

// SheetPhase is one phase's settings as the sheet prints them.
type SheetPhase struct {
	Phase    string
	Settings []PhaseSetting
}

// PhaseSetting is one of them with its unit.
type PhaseSetting struct{ Key, Text string }

// ChamberView is the stage on the page.
type ChamberView struct {
	Prefix, CaseID string
	Revision       int
	Editable       bool
	Machines       []Option
	Heads          []string
	Phases         []PhaseView
	Lines          []string
	Advice         []AdviceView
	Bench          Link
}

// PhaseView is one phase's fields.
type PhaseView struct {
	Name   string
	Fields []FieldView
}

// AdviceView is a comparison of settings for one phase.
type AdviceView struct {
	Text, Best, Says string
	Collapse         bool
	Wide, Narrow     template.HTML
}

func (a *ward) chamberPart(j *pathway.Journey) ChamberPart {
	c := ChamberPart{Machine: j.Chamber.Machine, Settings: j.Chamber.Settings, Volume: j.Chamber.Volume, Missing: j.Chamber.Missing,
		Advice: j.Chamber.Advice, Editable: j.May[pathway.VerbPhases]}
	c.Machines = append(c.Machines, Option{"", a.t("chamber.stage.no-machine"), c.Machine == ""})
	for _, m := range j.Chamber.Machines {
		c.Machines = append(c.Machines, Option{m.ID, m.Name, m.ID == c.Machine})
		c.Measured = c.Measured || m.ID == c.Machine && m.Fit.Complete()
	}
	return c
}

func (a *ward) SetPhases(ctx context.Context, by Actor, p PhaseForm) (EyeCase, error) {
	j, err := a.Pathway.SetPhases(ctx, actorOf(by), pathway.Phases{Case: p.CaseID, Seen: p.Revision, Machine: p.Machine, Settings: p.Settings})
	if err != nil {
		return EyeCase{}, a.conflictOf(ctx, by, p.CaseID, err, nil)
	}
	return a.eyeCase(ctx, by, &j, "", nil)
}

func (s *server) phases(w http.ResponseWriter, r *http.Request, by Actor) error {
	f := PhaseForm{CaseID: r.PathValue("id"), Revision: revision(r), Machine: r.PostForm.Get("machine"), Settings: map[string]map[string]string{}}
	for _, phase := range pathway.OperationPhases {
		f.Settings[phase] = map[string]string{}
		for _, key := range pathway.PhaseKeys {
			f.Settings[phase][key] = r.PostForm.Get(phase + "." + key)
		}
	}
	c, err := s.Pathway.SetPhases(r.Context(), by, f)
	var refused finding.Refusals
	if errors.As(err, &refused) { // what was typed stays in the form
		now, err := s.Pathway.Eye(r.Context(), by, f.CaseID, "")
		if err != nil {
			return err
		}
		now.Chamber.Settings, now.Chamber.Advice = f.Settings, nil
		v := s.eyeView(r, by, &now)
		v.Refused = s.refusalText(refused)
		part := "page"
		if partial(r) {
			part = "changed"
		}
		return s.render(w, http.StatusUnprocessableEntity, "eye", part, v)
	}
	return s.change(w, r, by, "chamber", c, err)
}

func (s *server) chamberView(c *EyeCase) ChamberView {
	p := &c.Chamber
	v := ChamberView{Prefix: s.prefix, CaseID: c.CaseID, Revision: c.Revision, Editable: p.Editable, Machines: p.Machines}
	for _, key := range pathway.PhaseKeys {
		v.Heads = append(v.Heads, s.t("phase.short."+key))
	}
	for _, phase := range pathway.OperationPhases {
		ph := PhaseView{Name: s.t("phase." + phase)}
		for _, key := range pathway.PhaseKeys {
			id := phase + "." + key
			ph.Fields = append(ph.Fields, FieldView{ID: strings.ReplaceAll(id, ".", "-"), Name: id, Value: p.Settings[phase][key], Unit: phaseUnits[key], Number: true,
				Full: s.t("chamber.stage.field", "key", s.keyWords(key), "phase", s.t("phase."+phase))})
		}
		v.Phases = append(v.Phases, ph)
	}
	v.Bench = Link{Href: s.prefix + "/bench/chamber", Text: s.t("chamber.stage.bench")}
	if p.Volume.Known {
		v.Lines = append(v.Lines, s.t("chamber.stage.volume", "volume", pathway.TwoFigures(float64(p.Volume.Value))+unit.Thin+"µL"))
		v.Bench.Href += "?chamber_volume_ul=" + strconv.Itoa(int(float64(p.Volume.Value)+0.5))
	} else if len(p.Missing) > 0 {
		var names []string
		for _, key := range p.Missing {
			names = append(names, locale.Field(s.lang, key))
		}
		v.Lines = append(v.Lines, s.t("chamber.stage.no-volume", "fields", strings.Join(names, ", ")))
	}
	switch {
	case !p.Measured:
		v.Lines = append(v.Lines, s.t("chamber.stage.not-calibrated"))
	case len(p.Advice) == 0:
		v.Lines = append(v.Lines, s.t("chamber.stage.type-more"))
	}
	for i := range p.Advice {
		v.Advice = append(v.Advice, s.adviceView(&p.Advice[i]))
	}
	return v
}

var phaseUnits = map[string]string{"bottle_cm": "cm", "forced_mmhg": "mmHg", "flow_ml_min": "mL/min", "vacuum_limit_mmhg": "mmHg", "power_pct": "%"}

// adviceView says what a phase's settings do in the model of the machine.
func (s *server) adviceView(a *pathway.PhaseAdvice) AdviceView {
	phase, stays := s.t("phase."+a.Phase), s.t("chamber.stage.advice.stays")
	if a.Collapse {
		stays = s.t("chamber.stage.advice.collapses")
	}
	sp := &a.Answer.Spread
	v := AdviceView{Collapse: a.Collapse, Best: s.t("chamber.stage.best.none"),
		Text: s.t("chamber.stage.advice", "phase", phase, "lost", s.lostText(&a.Answer, float64(sp.Lost.Low), float64(sp.Lost.High), "µL"), "stays", stays),
		Says: s.t("chamber.stage.map", "phase", phase, "flow", a.Map.Flow)}
	if b := a.Best; b != nil {
		v.Best = s.t("chamber.stage.best", "what", s.keyWords(b.Key), "from", unit.Fixed(b.From, decimals(b.From)), "to", unit.Fixed(b.To, decimals(b.To))+unit.Thin+b.Unit)
	}
	f := s.envelopeMap(&a.Map, a.Answer.Settings)
	for _, d := range []*drawing{f.wide, f.narrow} { // one page may hold several phases
		text := strings.ReplaceAll(d.b.String(), f.name, a.Phase)
		d.b.Reset()
		d.b.WriteString(text)
	}
	v.Wide, v.Narrow = f.wide.html(), f.narrow.html()
	return v
}

// sheetPhases are the settings by phase on the sheet.
func (s *server) sheetPhases(list []SheetPhase) (out []PhaseLine) {
	for _, ph := range list {
		var parts []string
		for _, set := range ph.Settings {
			parts = append(parts, s.t("phase.short."+set.Key)+" "+set.Text)
		}
		out = append(out, PhaseLine{s.t("phase." + ph.Phase), strings.Join(slices.Clone(parts), " · ")})
	}
	return out
}

// PhaseLine is a phase with its settings in one line.
type PhaseLine struct{ Name, Line string }
