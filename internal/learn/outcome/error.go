package outcome

import "linn/unit"

// Predicted is what one method said of an eye with the lens that was
// implanted, never of the target: with the constant in force when it was
// planned, and with the constant in force now.
type Predicted struct {
	Method  string
	Then    unit.Reading[unit.Dioptre]
	Current unit.Reading[unit.Dioptre]
}

// Errors are the prediction errors of an eye, achieved − predicted in D.
type Errors struct {
	Method  string
	Then    unit.Reading[unit.Dioptre]
	Current unit.Reading[unit.Dioptre]
}

// Lane says whether every operation has the distance of its chart, so that the
// term −1/distance can be added to all: it is added to all or to none.
func Lane(list []Operation) bool {
	for _, o := range list {
		if !o.Distance.Known || o.Distance.Value <= 0 {
			return false
		}
	}
	return len(list) > 0
}

// Achieved is the spherical equivalent left, in D. With lane it is referred to
// a chart at infinity by −1/distance: 6 m is −0.17 D, 4 m is −0.25 D. Only for
// a refracted eye, and with lane only when [Lane] allows it.
func (o Operation) Achieved(lane bool) unit.Dioptre {
	if !lane {
		return o.Equivalent()
	}
	return o.Equivalent() - unit.Dioptre(1/float64(o.Distance.Value))
}

// Against gives the errors of a prediction; a prediction not made has none.
func (o Operation) Against(p Predicted, lane bool) Errors {
	return Errors{Method: p.Method, Then: o.less(p.Then, lane), Current: o.less(p.Current, lane)}
}

func (o Operation) less(p unit.Reading[unit.Dioptre], lane bool) unit.Reading[unit.Dioptre] {
	if !p.Known || !o.Refracted() {
		return unit.Reading[unit.Dioptre]{}
	}
	return unit.Known(o.Achieved(lane) - p.Value)
}

// FromOtherSign turns an error written predicted − achieved into ours.
func FromOtherSign(e unit.Dioptre) unit.Dioptre { return -e }
