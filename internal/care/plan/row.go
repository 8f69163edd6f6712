package plan

import (
	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// Row is the answer for one row of a table of eyes. It is filled again and
// again: its slices keep their memory.
type Row struct {
	Refused finding.Refusals // then there are no lines
	Codes   []string         // of the findings of the eye
	Lines   []Line

	Options Options // set before Answer
}

// Line is one method's line.
type Line struct {
	Method       string
	LensPosition Number // mm
	Power        Number // D, unrounded, for the target
	Chosen       Number // D: the power asked about, or the nearest step
	Refraction   Number // D, at the spectacle plane, with the chosen power
	Codes        []string
}

// Answer fills r for one eye and one lens model. chosen is the power whose
// refraction is asked for; when it is not known the step of the lens model
// nearest to each method's power is taken, a tie taking the higher, and
// outside-shelf says when the model is not made in it. For an eye that the
// ordinary methods do not hold for, no number is given.
func (r *Row) Answer(e *eye.Eye, l *lenspower.Lens, chosen unit.Reading[unit.Dioptre]) {
	r.Codes, r.Lines = r.Codes[:0], r.Lines[:0]
	if r.Refused = Refuse(e, l); len(r.Refused) > 0 {
		return
	}
	q := ask(e)
	var more further
	if !q.plain(l, r.Options) {
		more = q.further(oneLens(l), r.Options)
	}
	r.Codes = codes(codes(r.Codes, more.stops), q.eyeFindings())
	for _, m := range lenspower.Methods {
		s, absent := q.method(m, l)
		if absent != nil {
			r.Codes = append(r.Codes, absent.Code)
			continue
		}
		r.line(m.ID, l, &q, &s, chosen)
	}
	for i := range more.list {
		r.line(more.list[i].id, l, &q, &more.list[i].own, chosen)
	}
	if more.list != nil || more.absent != nil || more.after != nil {
		r.Codes = codes(r.Codes, more.findings())
	}
}

func (r *Row) line(id string, l *lenspower.Lens, q *question, s *solved, chosen unit.Reading[unit.Dioptre]) {
	n := len(r.Lines)
	if n == cap(r.Lines) {
		r.Lines = append(r.Lines, Line{})
	}
	r.Lines = r.Lines[:n+1]
	x := &r.Lines[n]
	*x = Line{Method: id, LensPosition: s.position(), Power: s.power(q.target), Codes: codes(x.Codes[:0], s.findings)}
	shelf := shelf{l.From, l.To, l.Step}
	switch {
	case chosen.Known:
		x.Chosen = number(chosen.Value)
	case x.Power.Known:
		k := shelf.nearest(x.Power.Value)
		if k < 0 || k > shelf.last() {
			x.Codes = append(x.Codes, outsideShelf.Code)
		}
		x.Chosen = number(shelf.at(k))
	}
	if x.Chosen.Known {
		x.Refraction = s.refraction(x.Chosen.Value)
	}
}

func codes(into []string, list []finding.Finding) []string {
	for i := range list {
		into = append(into, list[i].Code)
	}
	return into
}
