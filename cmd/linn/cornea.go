package main

import (
	"slices"
	"strings"
	"sync"

	"linn/finding"
	"linn/internal/paper"
	"linn/internal/pathway"
	"linn/internal/transfer/csvio"
	"linn/unit"
)

// corneaCommand answers one cornea, a table of them, or a series.
type corneaCommand struct {
	File   string `arg:"" help:"${help_cornea_file}"`
	JSON   bool   `help:"${help_json}" xor:"form"`
	CSV    bool   `help:"${help_cornea_csv}" xor:"form" name:"csv"`
	Series bool   `help:"${help_cornea_series}"`
}

func (c *corneaCommand) Run(a *app) error {
	switch {
	case c.Series && c.CSV:
		return usageError(a.t("command.cornea-series-csv"))
	case c.Series || c.CSV:
		return c.table(a)
	}
	data, refused, err := a.read(c.File)
	if err != nil {
		return err
	}
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	answer, in, refused := pathway.Cornea(data)
	if len(refused) > 0 {
		return a.refuse(c.File, refused)
	}
	if c.JSON {
		return a.json(answer)
	}
	return paper.Text(a.out, a.writer().cornea(&in, &answer))
}

// corneaColumns is the first line of `linn cornea --csv`.
const corneaColumns = "id,incision_type,incision_at_deg,expected_d,after_d,after_deg,within_050_pct,induced_d,induced_deg,x_d,y_d,along_incision_d,torque_d,lens_cylinder_d,lens_axis_deg,turn_to_deg,findings"

// table answers rows, or what they say together.
func (c *corneaCommand) table(a *app) error {
	in, err := a.open(c.File)
	if err != nil {
		return err
	}
	defer in.Close()
	var lock sync.Mutex
	var eyes []pathway.InducedEye
	tell := newComplaints(a, c.File)
	job := csvio.Job{Name: c.File, In: in, Out: a.out, Message: tell.tell, Columns: corneaColumns,
		Also: func(key string) func(*pathway.CorneaAfter, string) *finding.Refusal {
			if f := pathway.AfterFieldNamed(key); f != nil {
				return f.Set
			}
			return nil
		},
		Write: func(b []byte, r *csvio.Row) ([]byte, finding.Refusals) {
			x := pathway.CorneaInput{Eye: r.Eye, Lens: r.Lens, After: *r.After}
			answer, refused := pathway.CorneaRow(&x)
			if len(refused) > 0 {
				return b, refused
			}
			if one, ok := x.Induced(&answer, strings.Clone(r.ID)); ok && c.Series {
				lock.Lock()
				eyes = append(eyes, one)
				lock.Unlock()
			}
			return corneaRow(b, r.ID, &answer), nil
		}}
	if c.Series {
		job.Out = nowhere{}
	}
	s, err := csvio.Lenses(a.ctx, job)
	tell.close()
	if err != nil {
		return err
	}
	if c.Series && !s.Table {
		if err := c.series(a, eyes); err != nil {
			return err
		}
	}
	if s.Refused > 0 || s.Table {
		return errRefused
	}
	return nil
}

// nowhere takes rows that nobody asked for.
type nowhere struct{}

func (nowhere) Write(b []byte) (int, error) { return len(b), nil }

func (c *corneaCommand) series(a *app, eyes []pathway.InducedEye) error {
	answer := pathway.CorneaSeries(eyes)
	if c.JSON {
		return a.json(answer)
	}
	return paper.Text(a.out, a.writer().series(&answer))
}

func corneaRow(b []byte, id string, x *pathway.CorneaAnswer) []byte {
	var n [14]pathway.Number
	kind := ""
	if i := x.Incision; i != nil {
		kind, n[0], n[1], n[2], n[3], n[4] = string(i.Type), i.At, i.Expected, i.After.Magnitude, i.After.Steep, i.Within
	}
	if i := x.Induced; i != nil {
		n[5], n[6], n[7], n[8], n[9], n[10] = i.Vector.Magnitude, i.Vector.Steep, i.X, i.Y, i.Along, i.Torque
	}
	if t := x.Toric; t != nil {
		n[11], n[12] = t.Best, t.Axis
	}
	if r := x.Rotation; r != nil {
		n[13] = r.Best
	}
	return csvio.AppendRow(b, id, []string{kind}, n[:], x.Findings)
}

// cornea is the answer for one eye in words.
func (w writer) cornea(in *pathway.CorneaInput, x *pathway.CorneaAnswer) *paper.Answer {
	out := &paper.Answer{Side: x.Side.Words(), Footer: w.footer()[:1], Lines: []string{w.T("text.cornea.readings",
		value("flat", in.Eye.KFlat.Value.Unsigned()), value("steep", in.Eye.KSteep.Value.Unsigned()), value("astigmatism", w.astigmatism(x.Measured)), value("posterior", w.astigmatism(x.Adjusted)))}}
	out.Parts = append(out.Parts, paper.Part{Said: w.said(x.Findings)})
	if i := x.Incision; i != nil {
		out.Parts = append(out.Parts, paper.Part{Lines: []string{w.incision(i)}})
	}
	if len(x.Candidates) > 0 {
		out.Parts = append(out.Parts, paper.Part{Table: w.candidates(x.Candidates), Lines: []string{w.T("text.cornea.judgement")}})
	}
	if t := x.Toric; t != nil {
		out.Parts = append(out.Parts, paper.Part{Lines: append([]string{w.toric(t)}, w.toricChoice(t)...), Table: w.toricSteps(t)})
	}
	if i := x.Induced; i != nil {
		out.Parts = append(out.Parts, paper.Part{Lines: []string{w.T("text.cornea.induced", value("vector", w.astigmatism(i.Vector)), value("along", signed(i.Along)), value("torque", signed(i.Torque)))}})
	}
	if r := x.Rotation; r != nil {
		out.Parts = append(out.Parts, paper.Part{Lines: []string{w.T("text.cornea.rotation", value("best", degrees(r.Best)), value("by", degrees(r.By)), value("now", refractionText(r.Now)), value("after", refractionText(r.After)))}})
	}
	return out
}

// corneaPart is the cornea of a plan: the incision and what it is expected to
// leave, the toric lens as chosen or only advised, and what that leaves.
func (w writer) corneaPart(x *pathway.CorneaPlan) (part paper.Part) {
	if x == nil || x.Measured == nil {
		return part
	}
	part.Heading = w.T("text.plan.cornea")
	if i := x.Incision; i != nil {
		part.Lines = append(part.Lines, w.incision(i))
	}
	part.Lines = append(part.Lines, w.T("text.plan.cornea.after", value("after", w.astigmatism(x.After))))
	if t := x.Toric; t != nil {
		part.Lines, part.Table = append(part.Lines, w.toricChoice(t)...), w.toricSteps(t)
	}
	return part
}

func (w writer) incision(i *pathway.IncisionPlan) string {
	return w.T("text.cornea.incision", value("type", w.T("word.incision_type."+string(i.Type))), value("hour", i.Hour), value("at", degrees(i.At)),
		value("side", w.T("text.place."+string(i.Place))), value("width", w.millimetres(i.Width)), value("effect", w.unsigned(i.Effect)), value("sd", w.unsigned(i.SD)),
		value("after", w.astigmatism(i.After)), value("expected", w.unsigned(i.Expected)))
}

func (w writer) toric(t *pathway.ToricPlan) string {
	return w.T("text.cornea.toric", value("model", t.Model), value("axis", degrees(t.Axis)), value("ideal", w.unsigned(t.Ideal)),
		value("ratio", unit.Fixed(t.Ratio.Value, 3)), value("position", w.millimetres(t.Position)), value("method", w.Method(t.Method)), value("best", w.unsigned(t.Best)))
}

// toricChoice says whose the cylinder is: chosen, or advised and not chosen.
func (w writer) toricChoice(t *pathway.ToricPlan) []string {
	c := t.Chosen
	switch {
	case c == nil && t.Best.Value > 0:
		return []string{w.T("text.plan.cornea.toric.advised", value("cylinder", w.unsigned(t.Best)), value("axis", degrees(t.Axis)))}
	case c == nil:
		return []string{w.T("text.plan.cornea.toric.none-advised")}
	}
	left, key := refractionText(&pathway.RefractionNumbers{Sphere: c.Sphere, Cylinder: c.Residual, Axis: c.Axis}), "chosen"
	if c.Cylinder.Value == 0 {
		key = "none"
	}
	lines := []string{w.T("text.plan.cornea.toric."+key, value("cylinder", w.unsigned(c.Cylinder)), value("axis", degrees(c.Mark)), value("left", left))}
	if c.Differs && c.Reason != "" {
		lines = append(lines, w.T("text.plan.cornea.toric.reason", value("reason", c.Reason)))
	}
	return lines
}

func (w writer) candidates(list []pathway.IncisionPlan) *paper.Table {
	t := &paper.Table{}
	for _, key := range []string{"type", "place", "width", "effect", "after", "expected", "within"} {
		t.Head = append(t.Head, w.T("text.cornea.head."+key))
	}
	for i, c := range list {
		if i > 0 && sameOutlook(&c, &list[i-1]) {
			continue
		}
		place := w.T("text.place."+string(c.Place)) + ", " + c.Hour
		if c.Excluded {
			place += " ✕ " + strings.Join(slices.Compact(slices.Clone(c.Why)), ", ")
		}
		t.Rows = append(t.Rows, []string{w.T(sort(&c)), place, w.millimetres(c.Width), w.unsigned(c.Effect) + " ± " + w.unsigned(c.SD),
			w.astigmatism(c.After), w.unsigned(c.Expected), percent(c.Within)})
	}
	return t
}

// sameOutlook reports whether two candidates differ by their build alone.
func sameOutlook(a, b *pathway.IncisionPlan) bool {
	return a.Place == b.Place && a.Width == b.Width && a.Effect == b.Effect && a.SD == b.SD && a.Origin == b.Origin
}

// sort is the message for the builds that one line of the table stands for.
func sort(c *pathway.IncisionPlan) string {
	switch {
	case c.Origin == "own", c.Type == "scleral-straight":
		return "word.incision_type." + string(c.Type)
	case c.Type == "scleral-frown", c.Type == "scleral-chevron":
		return "text.cornea.curved"
	}
	return "text.cornea.corneal"
}

func (w writer) toricSteps(t *pathway.ToricPlan) *paper.Table {
	out := &paper.Table{}
	for _, key := range []string{"cylinder", "refraction", "marking", "within-marking", "lost"} {
		out.Head = append(out.Head, w.T("text.cornea.head."+key))
	}
	for _, s := range t.Steps {
		r := pathway.RefractionNumbers{Sphere: s.Sphere, Cylinder: s.Residual, Axis: s.Axis}
		out.Rows = append(out.Rows, []string{w.unsigned(s.Cylinder), refractionText(&r), w.unsigned(s.Expected), percent(s.Within), degrees(s.LostAt)})
	}
	return out
}

// series is what many eyes say together.
func (w writer) series(x *pathway.SeriesAnswer) *paper.Answer {
	t := &paper.Table{}
	for _, key := range []string{"group", "n", "centroid", "sd", "mean", "confidence", "p"} {
		t.Head = append(t.Head, w.T("text.cornea.head."+key))
	}
	for _, g := range x.Groups {
		name := w.T("text.cornea.all")
		if g.Type != "" {
			name = w.T("word.incision_type."+string(g.Type)) + ", " + w.T("text.place."+string(g.Place))
		}
		ellipse, p := "–", "–"
		if g.Confidence != nil {
			ellipse = unit.Fixed(g.Confidence.Major.Value, 2) + " × " + unit.Fixed(g.Confidence.Minor.Value, 2)
		}
		if g.P.Known {
			p = unit.Fixed(g.P.Value, 4)
		}
		t.Rows = append(t.Rows, []string{name, unit.Fixed(float64(g.N), 0), w.astigmatism(g.Centroid), plainTwo(g.SDX) + " / " + plainTwo(g.SDY), plainTwo(g.Mean) + " ± " + plainTwo(g.SDMean), ellipse, p})
	}
	return &paper.Answer{Footer: w.footer()[:1], Parts: []paper.Part{{Said: w.said(x.Findings)}, {Table: t, Lines: []string{w.T("text.cornea.series")}}}}
}

func plainTwo(n pathway.Number) string {
	if !n.Known {
		return "–"
	}
	return unit.Fixed(n.Value, 2)
}

// astigmatism writes "1.25 D at 90°": how much, and where steep.
func (w writer) astigmatism(a *pathway.Astigmatism) string {
	if a == nil {
		return w.T("text.none")
	}
	return w.T("text.cornea.at", value("magnitude", w.unsigned(a.Magnitude)), value("axis", degrees(a.Steep)))
}

func degrees(n pathway.Number) string {
	if !n.Known {
		return "–"
	}
	return unit.Degree(n.Value).String()
}

func refractionText(r *pathway.RefractionNumbers) string {
	return signed(r.Sphere) + " / " + signed(r.Cylinder) + " × " + degrees(r.Axis)
}
