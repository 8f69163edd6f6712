package main

import (
	"linn/finding"
	"linn/internal/paper"
	"linn/internal/pathway"
	"linn/unit"
)

// beside is what methods answer with another length than the measured one.
func (w writer) beside(list []pathway.LengthBeside) (part paper.Part) {
	if len(list) == 0 {
		return part
	}
	part.Heading = w.T("text.beside")
	part.Table = &paper.Table{Head: []string{w.T("text.beside.length"), w.T("text.method"), w.T("text.beside.mm"), w.T("text.power"), w.T("text.beside.plain")}}
	for i := range list {
		b := &list[i]
		part.Table.Rows = append(part.Table.Rows, []string{w.T("length." + b.Length), w.Method(b.Method), w.millimetres(b.AxialLength), w.dioptres(b.Power), w.dioptres(b.Measured)})
	}
	part.Lines = []string{w.T("text.beside.never")}
	return part
}

// children are the published targets of a child's eye.
func (w writer) children(list []pathway.ChildBeside) (part paper.Part) {
	if len(list) == 0 {
		return part
	}
	part.Heading = w.T("child.targets")
	part.Table = &paper.Table{Head: []string{w.T("child.table"), w.T("text.method"), w.T("child.aim"), w.T("text.power")}}
	between := func(low, high pathway.Number) string {
		if low.Known && high.Known && low.Value != high.Value {
			return w.dioptres(low) + " … " + w.dioptres(high)
		}
		return w.dioptres(low)
	}
	for i := range list {
		c := &list[i]
		part.Table.Rows = append(part.Table.Rows, []string{w.Method(c.Table), w.Method(c.Method), between(c.AimLow, c.AimHigh), between(c.PowerLow, c.PowerHigh)})
	}
	part.Lines = []string{w.T("child.never")}
	return part
}

// rescue is the ladder of ways out.
func (w writer) rescue(list []pathway.Rescue) (part paper.Part) {
	if len(list) == 0 {
		return part
	}
	part.Heading = w.T("rescue.heading")
	part.Table = &paper.Table{Head: []string{w.T("rescue.place"), w.T("rescue.lens"), w.T("rescue.power"), w.T("rescue.stock"), w.T("rescue.refraction")}}
	var found []finding.Finding
	for i := range list {
		r := &list[i]
		found = append(found, r.Findings...)
		stock := "–"
		if r.Stock.Known {
			stock = unit.Fixed(r.Stock.Value, 0)
		}
		power := signed(r.Power)
		if r.Lacks != "" {
			power = w.T("rescue.lacks", value("field", w.Field(r.Lacks)))
		}
		part.Table.Rows = append(part.Table.Rows, []string{w.T("rescue.place." + r.Place), r.Model, power, stock, signed(r.Refraction)})
	}
	part.Said = w.said(found)
	return part
}

// secondEye is what the first eye's error says about this one's target.
func (w writer) secondEye(s *pathway.SecondEye) (part paper.Part) {
	if s == nil {
		return part
	}
	part.Heading, part.Said = w.T("second-eye.heading"), w.said(s.Findings)
	if s.Eligible {
		part.Lines = []string{w.T("second-eye.theory", value("weight", unit.Fixed(s.Weight.Value, 2)), value("correlation", unit.Fixed(s.Correlated.Value, 2)),
			value("residual", percent(s.Residual)), value("best", percent(s.Best)))}
	}
	return part
}
