package plan

import (
	"linn/calc/lenspower"
	"linn/eye"
	"linn/unit"
)

// ChildBeside is what one published target for a child of this age comes to by
// one method: the refraction it aims at, and the power for that. Low and high
// are equal for a target that is one number. It counts nowhere: no target is the
// correct one.
type ChildBeside struct {
	Table    string `json:"table"`
	Source   string `json:"source"`
	Grade    string `json:"grade"`
	Method   string `json:"method"`
	AimLow   Number `json:"aim_low_d"`
	AimHigh  Number `json:"aim_high_d"`
	PowerLow Number `json:"power_low_d"`
	// PowerHigh is that of the lower aim: more power leaves an eye
	// nearer-sighted.
	PowerHigh Number `json:"power_high_d"`
}

// aims are the published targets of a child's eye.
func (q *question) aims() []lenspower.ChildTarget {
	if !child(q.eye) || q.rules < 3 {
		return nil
	}
	c := lenspower.Child{AgeMonths: unit.Constant(12 * q.eye.Age.Value), AxialLength: q.eye.AxialLength}
	if q.eye.Unusual.AgeMonths.Known {
		c.AgeMonths = q.eye.Unusual.AgeMonths.Value
	}
	list, err := lenspower.ChildTargets(c)
	if err != nil { // an age outside the tables: they say nothing
		return nil
	}
	return list
}

// children sets every published target beside every ordinary method that can
// answer this eye, whether a target was chosen or not.
func (q *question) children(of constantsOf) (list []ChildBeside) {
	a := q.adapted
	if a == nil || len(a.byLength) > 0 || q.eye.Placement != "" && q.eye.Placement != eye.Bag {
		return nil // the tables speak of the bag
	}
	for _, t := range q.aims() {
		for _, m := range lenspower.Methods {
			lens, _ := of(m.ID)
			in := q.in
			constant, _, lacks := m.Resolve(lens.Constants)
			in.AxialLength, in.Constant = a.length, constant
			if lacks != "" || m.Missing(in) != "" {
				continue
			}
			s, err := m.Solve(in)
			if err != nil {
				continue
			}
			own := solved{own: lenspower.Adapted{Solution: s, Added: a.added}, ok: true}
			aim, err := t.Refraction(lenspower.Adapted{Solution: s, Added: a.added})
			if err != nil {
				continue
			}
			list = append(list, ChildBeside{Table: t.Table, Source: string(t.Ref.Key), Grade: string(t.Ref.Grade), Method: m.ID, AimLow: number(aim.Low), AimHigh: number(aim.High),
				PowerLow: own.power(aim.High), PowerHigh: own.power(aim.Low)})
		}
	}
	return list
}
