package web

import (
	"context"
	"fmt"
	"html/template"
	"math"
	"net/http"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/unit"
)

// EyeOptics is the eye of a case as an optical instrument.
type EyeOptics struct {
	Identity
	Instrument *pathway.Instrument // nil: there is none, see Refused
	Refused    finding.Refusals
}

func (a *ward) Optics(ctx context.Context, by Actor, id string, w pathway.WhatIf) (EyeOptics, error) {
	j, err := a.Check(ctx, actorOf(by), id)
	if err != nil {
		return EyeOptics{}, said(err)
	}
	out := EyeOptics{Identity: identityOf(&j)}
	if j.Plan == nil {
		out.Refused = finding.Refusals{{Code: "no-power-to-draw"}}
		return out, nil
	}
	in, refused := pathway.InstrumentWith(j.Plan, w)
	if out.Refused = refused; len(refused) == 0 {
		out.Instrument = &in
	}
	return out, nil
}

// OpticsView is the page of an eye's optics.
type OpticsView struct {
	Frame
	Back2   string
	Refused []string
	Drawing template.HTML
	Seen    []SeenRow
	Scenes  []SeenScene
	Focus   *FigureView // sight from far to near
	Sure    []SureRow
	Bands   []string
	Methods string
	Buys    []string
	Moved   []string
	Notes   []string
	Aim     string
	Draws   string
	Knobs   []KnobView
	Self    string
	Posed   string
	NotSure string
}

// opticsPlay are what can be tried with an eye: they stand for nothing that is
// recorded.
var opticsPlay = benchPage{key: "optics", knobs: []knob{
	{key: "pupil_mm_tried", unit: "mm", low: 1.5, high: 7, from: 1.5, to: 7, step: 0.1, may: true},
	{key: "lens_tilt_deg", unit: "°", low: -20, high: 20, from: -15, to: 15, step: 0.5, usual: "0"},
	{key: "lens_shift_mm", unit: "mm", low: -2, high: 2, from: -1, to: 1, step: 0.05, usual: "0"},
}}

// whatIf reads what is tried; what is refused is told and not tried.
func (s *server) whatIf(r *http.Request) (pathway.WhatIf, *played) {
	p := &played{page: &opticsPlay, typed: map[string]string{}, part: partial(r)}
	for _, k := range opticsPlay.knobs {
		p.typed[k.key] = strings.TrimSpace(r.Form.Get(k.key))
	}
	w := pathway.WhatIf{Tilt: unit.Degree(p.value("lens_tilt_deg")), Shift: unit.Millimetre(p.value("lens_shift_mm")), WithoutChances: p.part}
	if n := p.number("pupil_mm_tried"); n.Known {
		w.Pupil = unit.Known(unit.Millimetre(n.Value))
	}
	return w, p
}

// SeenRow is what one power leaves to see.
type SeenRow struct {
	Power, Refraction, Far, Intermediate, Near string
	Here                                       bool
}

// SeenScene is a simulated picture.
type SeenScene struct{ Src, Alt, Caption string }

// SureRow is what may become of one power.
type SureRow struct {
	Power, W25, W50, W75, W100, Surprise, Myopic string
	Here                                         bool
}

func (s *server) optics(w http.ResponseWriter, r *http.Request, by Actor) error {
	tried, p := s.whatIf(r)
	o, err := s.Pathway.Optics(r.Context(), by, r.PathValue("id"), tried)
	if err != nil {
		return err
	}
	v := OpticsView{Frame: s.clinical(r, by, s.t("optics.heading"), o.Identity), Back2: s.prefix + "/case/" + o.CaseID + "#lens", Self: s.prefix + "/case/" + o.CaseID + "/optics",
		Refused: s.refusalText(append(p.refused, o.Refused...))}
	if in := o.Instrument; in != nil {
		s.opticsView(&v, in)
		s.opticsKnobs(&v, in, p)
	}
	status, part := http.StatusOK, "page"
	if p.part {
		part = "seen"
	}
	if len(p.refused) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "optics", part, v)
}

// opticsKnobs shows what is tried; the pupil begins at that of the model.
func (s *server) opticsKnobs(v *OpticsView, in *pathway.Instrument, p *played) {
	for _, k := range opticsPlay.knobs {
		text := p.typed[k.key]
		switch {
		case text == "" && k.may:
			text = unit.Fixed(in.Pupil.Value, decimals(in.Pupil.Value))
		case text == "":
			text = k.usual
		}
		v.Knobs = append(v.Knobs, s.knobView(k, text, p.refused))
	}
	if m := in.Posed; m != nil {
		v.Posed = s.t("optics.posed", "change", signedText(m.Equivalent, "D"), "cylinder", unit.Fixed(m.Cylinder.Value, 2)+unit.Thin+"D")
	}
}

func (s *server) opticsView(v *OpticsView, in *pathway.Instrument) {
	v.Drawing = s.drawInstrument("eye-model", in)
	v.Aim = signedText(in.Target, "D")
	for _, x := range in.Steps {
		v.Seen = append(v.Seen, SeenRow{signedText(x.Power, "D"), signedText(x.Refraction, "D"), s.acuity(x.Far), s.acuity(x.Intermediate), s.acuity(x.Near), x.Power == in.Lens.Power})
	}
	v.Scenes, v.Focus = s.seenScenes(in), s.focusFigure(in)
	if in.Sure != nil {
		s.sureView(v, in)
	}
	for _, m := range in.Moved {
		key := "optics.moved.tilt"
		switch {
		case m.Tilt.Value == 0:
			key = "optics.moved.shift"
		case m.Shift.Value != 0:
			key = "optics.moved.both"
		}
		v.Moved = append(v.Moved, s.t(key, "tilt", unit.Fixed(m.Tilt.Value, 0)+"°", "shift", unit.Millimetre(m.Shift.Value), "change", signedText(m.Equivalent, "D"), "cylinder", unit.Fixed(m.Cylinder.Value, 2)+unit.Thin+"D"))
	}
	for _, f := range in.Findings {
		if f.Code == "chances-not-drawn" {
			v.NotSure = s.sentence(f)
			continue
		}
		v.Notes = append(v.Notes, s.sentence(f))
	}
}

func (s *server) sureView(v *OpticsView, in *pathway.Instrument) {
	v.Bands = []string{"±0.25" + unit.Thin + "D", "±0.50" + unit.Thin + "D", "±0.75" + unit.Thin + "D", "±1.00" + unit.Thin + "D"}
	v.Draws = fmt.Sprintf("%d,%03d", in.Sure.Draws/1000, in.Sure.Draws%1000)
	pct := func(n pathway.Number) string { return unit.Percent(n.Value).String() }
	for _, x := range in.Sure.Steps {
		v.Sure = append(v.Sure, SureRow{signedText(x.Power, "D"), pct(x.Within[0]), pct(x.Within[1]), pct(x.Within[2]), pct(x.Within[3]), pct(x.Surprise), pct(x.Myopic), x.Power == in.Lens.Power})
	}
	var list []string
	for _, m := range in.Sure.Methods {
		list = append(list, s.t("optics.method", "method", locale.Method(s.lang, m.Method), "chance", pct(m.Within50)))
	}
	v.Methods = strings.Join(list, "; ")
	for _, b := range in.Sure.Buys {
		key := "optics.buy.repeat"
		switch {
		case b.By != "":
			key = "optics.buy.method"
		case b.What == pathway.ConstantKey:
			key = "optics.buy.constant"
		}
		v.Buys = append(v.Buys, s.t(key, "field", s.buyField(b.What), "method", s.lengthMethod(b.By), "cases", b.Cases,
			"now", "±"+unit.Fixed(b.Before.Value, 2)+unit.Thin+"D", "after", "±"+unit.Fixed(b.After.Value, 2)+unit.Thin+"D", "chance", pct(b.Now), "then", pct(b.Then)))
	}
}

func (s *server) buyField(key string) string {
	if key == pathway.ConstantKey {
		return ""
	}
	return s.t("share." + key)
}

func (s *server) lengthMethod(m eye.LengthMethod) string {
	if m == "" {
		return ""
	}
	return s.t("word.axial_length_method." + string(m))
}

func signedText(n pathway.Number, u string) string {
	if !n.Known {
		return "–"
	}
	return unit.Signed(n.Value, 2) + unit.Thin + u
}

// acuity writes a logMAR with its Snellen fraction at 6 m.
func (s *server) acuity(n pathway.Number) string {
	if !n.Known {
		return "–"
	}
	return s.t("optics.acuity", "snellen", "6/"+unit.Fixed(6*pow10(n.Value), snellenDecimals(n.Value)), "logmar", unit.Signed(n.Value, 2))
}

func snellenDecimals(logmar float64) int {
	if logmar < 0.3 {
		return 1
	}
	return 0
}

// seenScenes are the chart far away and at arm's length, and the street.
func (s *server) seenScenes(in *pathway.Instrument) (list []SeenScene) {
	if !in.Sphere.Known || !in.Axis.Known {
		return nil
	}
	for _, x := range []struct {
		scene, key string
		object     float64
	}{{"chart", "far", 0}, {"chart", "intermediate", -1.5}, {"chart", "near", -2.5}, {"street", "street", 0}} {
		src := fmt.Sprintf("%s/seen.png?scene=%s&sphere=%.3f&cylinder=%.3f&axis=%.1f&object=%.2f&pupil=%.2f", s.prefix, x.scene, in.Sphere.Value, -in.Cylinder.Value, in.Axis.Value, x.object, in.Pupil.Value)
		list = append(list, SeenScene{src, s.t("optics.scene." + x.key + ".alt"), s.t("optics.scene." + x.key)})
	}
	return list
}

func pow10(x float64) float64 { return math.Pow(10, x) }
