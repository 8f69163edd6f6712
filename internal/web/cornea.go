package web

import (
	"context"
	"errors"
	"html/template"
	"math"
	"net/http"
	"slices"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/unit"
)

// CorneaCase is the cornea of a case with its planned incision.
type CorneaCase struct {
	Identity
	Editable bool
	Texts    map[string]string          // as typed, by key
	Refused  map[string]finding.Refusal // what could not be read
	Answer   *pathway.CorneaAnswer      // nil: readings are missing
	Clock    *Clock
}

// IncisionForm is the planned incision as typed.
type IncisionForm struct {
	CaseID   string
	Revision int
	Texts    map[string]string
}

func (a *ward) Cornea(ctx context.Context, by Actor, id string) (CorneaCase, error) {
	j, err := a.Check(ctx, actorOf(by), id)
	if err != nil {
		return CorneaCase{}, said(err)
	}
	own := j.Eyes[j.Side]
	c := CorneaCase{Identity: identityOf(&j), Editable: j.May[pathway.VerbChoose], Texts: own.Texts, Refused: own.Refused}
	if j.Plan != nil {
		answer := pathway.CorneaOf(j.Plan)
		c.Answer, c.Clock = &answer, pathway.ClockOf(&j.Plan.Input.Eye, &answer.CorneaPlan)
	}
	return c, nil
}

func (a *ward) Incise(ctx context.Context, by Actor, f IncisionForm) error {
	_, err := a.Pathway.Choose(ctx, actorOf(by), pathway.Choice{Case: f.CaseID, Seen: f.Revision, Cornea: f.Texts})
	if err != nil {
		return a.conflictOf(ctx, by, f.CaseID, err, nil)
	}
	return nil
}

// CorneaPage is the page of cornea and incision.
type CorneaPage struct {
	Frame
	CaseID     string
	Revision   int
	Editable   bool
	Fields     []CorneaField
	Choose     []CorneaField // of the toric lens the surgeon chooses
	Refused    []string
	Clock      template.HTML
	Says       []string
	Plot       template.HTML
	Lines      []Line
	Findings   []FindingView
	Candidates []CandidateRow
	Toric      *ToricView
	Published  []Line
	Waiting    string
}

// Line is one value with its name.
type Line struct{ Name, Text string }

// CorneaField is one field of the form.
type CorneaField struct {
	Key, Label, Value, Unit, How, Message string
	Options                               []Option
}

// CandidateRow is one incision that might be made.
type CandidateRow struct {
	Type, Place, Effect, After, Expected, Within string
	Excluded, Chosen                             bool
}

// ToricView is the part of the toric lens.
type ToricView struct {
	Lines []Line
	Rows  []ToricRow
	Sheet string        // address of the sheet for marking
	Marks template.HTML // how the marks of the lens lie
}

// ToricRow is one cylinder of the shelf.
type ToricRow struct {
	Cylinder, Leaves, Expected, Within, LostAt string
	Best                                       bool
}

func (s *server) cornea(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.corneaPage(w, r, by, nil)
}

func (s *server) corneaPage(w http.ResponseWriter, r *http.Request, by Actor, refused finding.Refusals) error {
	c, err := s.Pathway.Cornea(r.Context(), by, r.PathValue("id"))
	if err != nil {
		return err
	}
	status := http.StatusOK
	if refused != nil {
		status = http.StatusUnprocessableEntity
	}
	v := s.corneaView(&c)
	v.Frame, v.Refused = s.clinical(r, by, s.t("cornea.heading"), c.Identity), s.refusalText(refused)
	return s.render(w, status, "cornea", "page", v)
}

func (s *server) incise(w http.ResponseWriter, r *http.Request, by Actor) error {
	f := IncisionForm{CaseID: r.PathValue("id"), Revision: revision(r), Texts: map[string]string{}}
	for _, key := range pathway.IncisionKeys {
		if _, is := r.PostForm[key]; is {
			f.Texts[key] = r.PostForm.Get(key)
		}
	}
	err := s.Pathway.Incise(r.Context(), by, f)
	var refused finding.Refusals
	switch {
	case errors.As(err, &refused):
		return s.corneaPage(w, r, by, refused)
	case err == nil:
		s.to(w, r, "/case/"+f.CaseID+"/cornea")
	}
	return err
}

func (s *server) corneaView(c *CorneaCase) CorneaPage {
	v := CorneaPage{CaseID: c.CaseID, Revision: c.Revision, Editable: c.Editable}
	var own []CorneaField
	for _, key := range pathway.IncisionKeys {
		if f := s.corneaField(c, key); strings.HasPrefix(key, "toric_") {
			own = append(own, f)
		} else {
			v.Fields = append(v.Fields, f)
		}
	}
	if a := c.Answer; a != nil && a.Toric != nil || slices.ContainsFunc(own, func(f CorneaField) bool { return f.Value != "" }) {
		v.Choose = own
	}
	a := c.Answer
	if a == nil {
		v.Waiting = s.t("cornea.waiting")
		return v
	}
	if c.Clock != nil {
		v.Clock, v.Says = s.drawClock(c.Clock, "clock", 380), s.clockSays(c.Clock)
	}
	v.Plot = s.residualPlot(a)
	v.Lines = s.corneaLines(a)
	for i, f := range a.Findings {
		v.Findings = append(v.Findings, s.findingView("cornea-"+px(float64(i)), FindingItem{Finding: f, Side: c.Side}))
	}
	for _, x := range pathway.PublishedEffects() {
		effect := x.Mean.Unsigned()
		if x.SD.Known {
			effect += " ± " + x.SD.Value.Unsigned()
		}
		v.Published = append(v.Published, Line{s.t("cornea.published." + x.Key), effect + " · " + s.cite(x.Ref)})
	}
	v.Candidates, v.Toric = s.candidateRows(a), s.toricView(a)
	if v.Toric != nil {
		v.Toric.Sheet = s.prefix + "/case/" + c.CaseID + "/marks"
	}
	return v
}

// corneaField is one field with what was typed and why it could not be read.
func (s *server) corneaField(c *CorneaCase, key string) CorneaField {
	f := eye.FieldNamed(key)
	x := CorneaField{Key: key, Label: s.t("cornea.field." + key), Value: c.Texts[key], Unit: f.Unit}
	if r, bad := c.Refused[key]; bad {
		x.Message = capital(locale.Refusal(s.lang, r))
	}
	if how := "cornea.how." + key; slices.Contains(locale.Keys(locale.English), how) {
		x.How = s.t(how)
	}
	if f.Words != nil {
		x.Options = append(x.Options, Option{"", s.t("not-recorded"), x.Value == ""})
		for _, w := range f.Words {
			x.Options = append(x.Options, Option{w, s.t("word." + key + "." + w), x.Value == w})
		}
	}
	return x
}

// at writes "1.25 D at 90°".
func (s *server) at(a *pathway.Astigmatism) string {
	if a == nil {
		return s.t("not-recorded")
	}
	return s.t("text.cornea.at", "magnitude", unit.Dioptre(a.Magnitude.Value).Unsigned(), "axis", unit.Axis(a.Steep.Value).String())
}

func (s *server) corneaLines(a *pathway.CorneaAnswer) (list []Line) {
	add := func(key, text string) { list = append(list, Line{s.t("cornea.line." + key), text}) }
	add("measured", s.at(a.Measured))
	if a.Posterior != "none" {
		add("posterior", s.at(a.Adjusted)+" · "+s.t("word.posterior_cornea."+a.Posterior))
	}
	if i := a.Incision; i != nil {
		origin := s.t("cornea.origin." + i.Origin)
		add("effect", unit.Dioptre(i.Effect.Value).Unsigned()+" ± "+unit.Dioptre(i.SD.Value).Unsigned()+" · "+origin)
		add("after", s.at(a.After))
		add("expected", unit.Dioptre(i.Expected.Value).Unsigned())
	}
	return list
}

// residualPlot is the double-angle plot of cornea before and after.
func (s *server) residualPlot(a *pathway.CorneaAnswer) template.HTML {
	if a.Measured == nil {
		return ""
	}
	most := max(1, a.Measured.Magnitude.Value, a.Adjusted.Magnitude.Value, a.After.Magnitude.Value)
	desc := s.t("cornea.plot.desc", "before", s.at(a.Adjusted), "after", s.at(a.After))
	p := newPlane("residual", most, s.t("cornea.plot"), desc)
	p.dot(a.Adjusted, s.t("cornea.plot.before"), ink("ground"), 0)
	if a.Incision != nil {
		p.dot(a.After, s.t("cornea.plot.after"), ink("water"), 28)
	}
	return p.d.html()
}

func (s *server) candidateRows(a *pathway.CorneaAnswer) (list []CandidateRow) {
	for i, c := range a.Candidates {
		if i > 0 {
			if o := a.Candidates[i-1]; o.Place == c.Place && o.Width == c.Width && o.Effect == c.Effect && o.SD == c.SD && o.Origin == c.Origin && c.Origin != "own" {
				continue
			}
		}
		kind := s.t("text.cornea.corneal")
		switch {
		case c.Origin == "own", c.Type == "scleral-straight":
			kind = s.t("word.incision_type." + string(c.Type))
		case strings.HasPrefix(string(c.Type), "scleral"):
			kind = s.t("text.cornea.curved")
		}
		row := CandidateRow{Type: kind + ", " + unit.Millimetre(c.Width.Value).String(), Place: s.t("text.place."+string(c.Place)) + ", " + c.Hour, Effect: unit.Dioptre(c.Effect.Value).Unsigned() + " ± " + unit.Dioptre(c.SD.Value).Unsigned(),
			After: s.at(c.After), Expected: unit.Dioptre(c.Expected.Value).Unsigned(), Within: unit.Percent(c.Within.Value).String(), Excluded: c.Excluded}
		if c.Excluded {
			row.Place += " · " + s.t("cornea.excluded", "why", strings.Join(slices.Compact(slices.Clone(c.Why)), ", "))
		}
		list = append(list, row)
	}
	return list
}

func (s *server) toricView(a *pathway.CorneaAnswer) *ToricView {
	t := a.Toric
	if t == nil {
		return nil
	}
	v := &ToricView{}
	add := func(key, text string) { v.Lines = append(v.Lines, Line{s.t("cornea.toric." + key), text}) }
	add("axis", unit.Axis(t.Axis.Value).String())
	advised := unit.Dioptre(t.Best.Value).Unsigned()
	if t.Best.Value == 0 {
		advised = s.t("cornea.toric.none")
	}
	add("advised", advised)
	add("chosen", s.toricChosen(t.Chosen))
	add("ideal", unit.Dioptre(t.Ideal.Value).Unsigned())
	add("ratio", unit.Fixed(t.Ratio.Value, 3)+" · "+s.t("cornea.toric.position", "position", unit.Millimetre(t.Position.Value).String(), "method", locale.Method(s.lang, t.Method)))
	for _, x := range t.Steps {
		v.Rows = append(v.Rows, ToricRow{Cylinder: unit.Dioptre(x.Cylinder.Value).Unsigned(), Leaves: unit.Dioptre(x.Sphere.Value).String() + " / " + unit.Dioptre(x.Residual.Value).String() + " × " + unit.Axis(x.Axis.Value).String(),
			Expected: unit.Dioptre(x.Expected.Value).Unsigned(), Within: unit.Percent(x.Within.Value).String(), LostAt: unit.Degree(x.LostAt.Value).String(), Best: x.Cylinder == t.Best})
	}
	v.Marks = s.drawMarks(t.Model, t.Marks)
	return v
}

// toricChosen says what the surgeon chose.
func (s *server) toricChosen(c *pathway.ToricChoice) string {
	if c == nil {
		return s.t("cornea.toric.chosen.not")
	}
	left := unit.Dioptre(c.Sphere.Value).String() + " / " + unit.Dioptre(c.Residual.Value).String() + " × " + unit.Axis(c.Axis.Value).String()
	if c.Cylinder.Value == 0 {
		return s.t("cornea.toric.chosen.none", "left", left)
	}
	return s.t("cornea.toric.chosen.is", "cylinder", unit.Dioptre(c.Cylinder.Value).Unsigned(), "axis", unit.Axis(c.Mark.Value).String(), "left", left)
}

// drawMarks draws a toric lens with the marks of its low-power meridian as the
// model has them: dots on each side, or a line; dashed where nobody said.
func (s *server) drawMarks(model string, marks *pathway.Number) template.HTML {
	d := newDrawing("marks", 260, 150, s.t("cornea.marks", "model", model), s.t("cornea.marks.desc"))
	d.path("M70 75C40 40 18 52 12 84M190 75C220 110 242 98 248 66", "fill", "none", "stroke", ink("ink"), "stroke-width", "3")
	d.circle(130, 75, 60, "fill", ink("pool"), "stroke", ink("ink"), "stroke-width", "2")
	switch {
	case marks == nil:
		d.line(78, 75, 102, 75, "stroke", ink("ink"), "stroke-width", "3", "stroke-dasharray", "4 4")
		d.line(158, 75, 182, 75, "stroke", ink("ink"), "stroke-width", "3", "stroke-dasharray", "4 4")
	case marks.Value == 0:
		d.line(76, 75, 104, 75, "stroke", ink("ink"), "stroke-width", "4")
		d.line(156, 75, 184, 75, "stroke", ink("ink"), "stroke-width", "4")
	default:
		for i := range int(marks.Value) {
			d.circle(78+9*float64(i), 75, 3, "fill", ink("ink"))
			d.circle(182-9*float64(i), 75, 3, "fill", ink("ink"))
		}
	}
	d.text(130, 60, s.t("cornea.marks.low"), "font-size", "14", "text-anchor", "middle", "fill", ink("ink"))
	d.line(130, 88, 130, 128, "stroke", ink("edge"), "stroke-width", "2", "stroke-dasharray", "4 4")
	return d.html()
}

// MarksPage is the sheet for marking a patient's eye before a toric lens: the
// references made sitting up, and where the lens's own marks come to lie.
type MarksPage struct {
	Frame
	CaseID, Side, Name, Identifier, Seat string
	Clock, Lens                          template.HTML
	Whose                                string // the numbers are: chosen, advised
	Axis, Model, How                     string
	Turns                                []Line
	Waiting                              string
}

// markSheet prints the sheet.
func (s *server) markSheet(w http.ResponseWriter, r *http.Request, by Actor) error {
	c, err := s.Pathway.Cornea(r.Context(), by, r.PathValue("id"))
	if err != nil {
		return err
	}
	v := MarksPage{Frame: s.clinical(r, by, s.t("marks.heading"), c.Identity), CaseID: c.CaseID, Side: s.side(c.Side), Name: c.Identity.Name, Identifier: c.Identity.Identifier}
	v.Bare, v.Print = true, true
	k := c.Clock
	if k == nil || k.Lens == nil || c.Answer == nil || c.Answer.Toric == nil {
		v.Waiting = s.t("marks.waiting")
		return s.render(w, http.StatusOK, "marks", "page", v)
	}
	t := c.Answer.Toric
	v.Seat, v.Model, v.Axis = s.t("word.surgeon_seat."+string(k.Seat)), t.Model, k.Lens.Axis.String()
	v.Clock, v.Lens, v.Whose = s.drawClock(k, "clock", 520), s.drawMarks(t.Model, t.Marks), s.toricLine(k)
	switch {
	case t.Marks == nil:
		v.How = s.t("marks.unknown")
	case t.Marks.Value == 0:
		v.How = s.t("marks.line")
	default:
		v.How = s.t("marks.dots", "n", unit.Fixed(t.Marks.Value, 0))
	}
	v.Turns = s.turns(float64(k.Lens.Axis))
	return s.render(w, http.StatusOK, "marks", "page", v)
}

// turns says how far the lens's axis lies from each reference mark, and which
// way, as the graduated ring shows it: 0° at the patient's left of each eye as
// one looks at it, degrees counter-clockwise.
func (s *server) turns(axis float64) (list []Line) {
	for _, from := range []float64{0, 90, 180} {
		d := math.Remainder(axis-from, 180)
		way := "counter"
		if d < 0 {
			way = "clock"
		}
		text := s.t("marks.turn."+way, "by", unit.Degree(math.Abs(d)).String())
		if math.Abs(d) < 0.5 {
			text = s.t("marks.turn.none")
		}
		list = append(list, Line{s.t("marks.from", "mark", unit.Axis(from).String()), text})
	}
	return list
}
