package plan

import (
	"linn/calc/biometry"
	"linn/calc/lenspower"
	"linn/calc/uncertainty"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// Uncertainty is how sure a predicted refraction is. The chances are under a
// normal distribution and count what is measured, where the lens comes to
// stand, its label and the refraction after surgery; they know of no blunder.
type Uncertainty struct {
	SD    Number `json:"sd_d"`
	TwoOf Number `json:"two_of_three_d"` // half-width: two of three such eyes land within it

	// Chances, in percent, to land within ±0.50 and ±1.00 D of the prediction,
	// and of the target.
	Within50  Number `json:"within_050_pct"`
	Within100 Number `json:"within_100_pct"`
	Target50  Number `json:"target_within_050_pct"`
	Target100 Number `json:"target_within_100_pct"`

	// Length is the method of the axial length whose spread was taken.
	Length eye.LengthMethod `json:"length_method,omitempty"`
}

// Share is one source's part of the variance of the refraction.
type Share struct {
	Kind  string `json:"kind"`
	SD    Number `json:"sd"` // in the unit of its kind
	Share Number `json:"share_pct"`
}

// Repeating is what one more measurement would buy: the SD of the refraction
// now and after it.
type Repeating struct {
	What   string           `json:"what"`             // axial_length_mm, mean_k_d
	By     eye.LengthMethod `json:"method,omitempty"` // another method than the present one
	Before Number           `json:"sd_d"`
	After  Number           `json:"sd_after_d"`
}

// twoOfThree is the share of the band that is drawn around a prediction.
const twoOfThree unit.Percent = 200.0 / 3

// lengthMethod is the method whose spread is taken: contact ultrasound, the
// widest, when none was recorded.
func lengthMethod(e *eye.Eye) eye.LengthMethod {
	if e.AxialLengthMethod == "" {
		return eye.Contact
	}
	return e.AxialLengthMethod
}

// predictor is one method, with its constant, as calc/uncertainty moves it.
type predictor struct {
	method *lenspower.Method
	in     lenspower.Input
	kSD    unit.Reading[unit.Dioptre] // of a K that is not this eye's
	widen  float64                    // of the band, 1 for none
}

func (q *question) predictor(m *lenspower.Method, in lenspower.Input) predictor {
	x := predictor{m, in, q.kSD, 1}
	if q.eye.Unusual.Keratoconus == eye.Yes {
		x.widen = float64(biometry.KeratoconusBand())
	}
	return x
}

func (q *question) uncertain(x predictor, power float64, off Number) (Uncertainty, []Share) {
	return uncertain(q.eye, x, power, off)
}

// at computes the refraction of a moved eye.
func (x *predictor) at(p uncertainty.Point) (unit.Dioptre, error) {
	in := x.in
	in.AxialLength, in.K = p.AxialLength, p.MeanK
	if in.ACD.Known {
		in.ACD.Value = p.ChamberDepth
	}
	s, err := x.method.Solve(in)
	if err != nil {
		return 0, err
	}
	thin := s.Eye()
	thin.Position += p.LensPosition
	return thin.Refraction(p.LensPower)
}

// budget is everything that is uncertain about the eye with one power.
func (x predictor) budget(length eye.LengthMethod, power unit.Dioptre) (uncertainty.Budget, error) {
	inputs, err := uncertainty.ForMethod(length, power)
	for i := range inputs {
		if inputs[i].Kind == uncertainty.MeanK && x.kSD.Known {
			inputs[i].SD, inputs[i].Fixed = float64(x.kSD.Value), float64(x.kSD.Value)
		}
	}
	return uncertainty.Budget{Inputs: inputs, At: uncertainty.Point{AxialLength: x.in.AxialLength, MeanK: x.in.K,
		ChamberDepth: x.in.ACD.Value, LensPower: power}}, err
}

// uncertain is the uncertainty of a predicted refraction; unknown where the
// calculation has no answer beside the eye as measured. off is how far the
// prediction lies from the target.
func uncertain(e *eye.Eye, x predictor, power float64, off Number) (u Uncertainty, shares []Share) {
	length := lengthMethod(e)
	b, err := x.budget(length, unit.Dioptre(power))
	if err != nil {
		return Uncertainty{}, nil
	}
	r, err := uncertainty.Propagate(x.at, b)
	if err != nil {
		return Uncertainty{}, nil
	}
	u = spread(r.SD*unit.Dioptre(x.widen), off)
	u.Length = length
	for _, s := range r.Sources {
		shares = append(shares, Share{Kind: s.Kind.String(), SD: number(s.SD), Share: number(100 * s.Share)})
	}
	return u, shares
}

// spread turns an SD into the chances that are told.
func spread(sd unit.Dioptre, off Number) Uncertainty {
	r := uncertainty.Result{SD: sd}
	u := Uncertainty{SD: number(sd), Within50: number(r.Within(0.5)), Within100: number(r.Within(1))}
	if half, err := r.Band(twoOfThree); err == nil {
		u.TwoOf = number(half)
	}
	if off.Known {
		r.Offset = unit.Dioptre(off.Value)
		u.Target50, u.Target100 = number(r.Within(0.5)), number(r.Within(1))
	}
	return u
}

// lengthSDs are the SDs of a length by a method and by optical biometry, in mm.
func lengthSDs(m eye.LengthMethod, power unit.Dioptre) (own, optical float64, err error) {
	for _, x := range [...]struct {
		method eye.LengthMethod
		into   *float64
	}{{m, &own}, {eye.Optical, &optical}} {
		inputs, err := uncertainty.ForMethod(x.method, power)
		if err != nil {
			return 0, 0, err
		}
		for _, in := range inputs {
			if in.Kind == uncertainty.AxialLength {
				*x.into = in.SD
			}
		}
	}
	return own, optical, nil
}

// repeating says what measuring length or K once more would buy, and what
// optical biometry would where the length was taken by ultrasound.
func repeating(e *eye.Eye, x predictor, power float64) []Repeating {
	list := []Repeating{}
	b, err := x.budget(lengthMethod(e), unit.Dioptre(power))
	if err != nil {
		return list
	}
	for _, k := range []uncertainty.Kind{uncertainty.AxialLength, uncertainty.MeanK} {
		if g, err := uncertainty.Repeating(x.at, b, uncertainty.Repeat{Kind: k, Total: 2}); err == nil {
			list = append(list, Repeating{What: k.String(), Before: number(g.Before), After: number(g.After)})
		}
	}
	if lengthMethod(e) == eye.Optical {
		return list
	}
	now, _ := uncertain(e, x, power, Number{})
	better := *e
	better.AxialLengthMethod = eye.Optical
	then, _ := uncertain(&better, x, power, Number{})
	return append(list, Repeating{What: uncertainty.AxialLength.String(), By: eye.Optical, Before: now.SD, After: then.SD})
}

// spreadNote says that the widest spread was taken.
func spreadNote(e *eye.Eye) []finding.Finding {
	if e.AxialLengthMethod != "" {
		return nil
	}
	return []finding.Finding{spreadAssumed.On("axial_length_method")}
}
