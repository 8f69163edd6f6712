package lenspower

import (
	"linn/eye"
	"linn/finding"
	"linn/source"
)

// doubleKForms are the ordinary methods with K before surgery for the position
// and K now for the optics. Haigis needs none: its position does not take K.
var doubleKForms = []*OperatedMethod{doubleKForm("srk-t"), doubleKForm("t2"), doubleKForm("holladay-1"), doubleKForm("hoffer-q")}

func doubleKForm(base string) *OperatedMethod {
	id := base + "-dk"
	return &OperatedMethod{ID: id, Version: MethodNamed(base).Version, Ref: source.Ref{Key: source.Aramberri2003, Where: "double K; equations of " + base, Grade: source.Memory},
		Surgeries: anySurgery, Needs: []string{"k_before_d"}, base: always(base),
		correct: func(in *OperatedInput, n *notes) (correction, error) { return in.doubleK(id, n), nil }}
}

// doubleK takes the measured total power where there is one, else K as entered.
// After laser that K is not the true power: the answer is shown and not counted.
func (in *OperatedInput) doubleK(id string, n *notes) correction {
	c := correction{k: in.K, before: in.KBefore, history: true}
	if in.TrueK.Known {
		n.reading("after.k-true-measured", "Ktrue", float64(in.TrueK.Value), "D")
		c.k, c.trueK = in.TrueK.Value, true
		return c
	}
	n.reading("after.k-now", "Kpost", float64(in.K), "D")
	switch in.Surgery {
	case eye.MyopicLaser, eye.HyperopicLaser, eye.UnknownSurgery:
		f := keratometryNotTrue.On("k_flat_d", finding.Value{Name: "got", Text: in.K.Unsigned()})
		f.Method = id
		c.biased, c.found = true, []finding.Finding{f}
	}
	return c
}
