package plan

import (
	"linn/calc/biometry"
	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// LengthBeside is what a method answers with another length than the measured
// one. It stands beside the plain result and counts nowhere; two lengths are
// never combined.
type LengthBeside struct {
	Length      string `json:"length"` // wang-koch-2018, cooke-modified, velocity, segments
	Method      string `json:"method"`
	AxialLength Number `json:"axial_length_mm"`
	Power       Number `json:"power_d"`      // for the target
	Measured    Number `json:"measured_d"`   // the plain result, for the target
	Emmetropia  Number `json:"emmetropia_d"` // as power_d, for 0
	Working     []Step `json:"working,omitempty"`
}

// variants are the other lengths of an ordinary eye: the regressions for long
// eyes, and those of the sound's or the light's way through each medium.
func (q *question) variants() (list []biometry.LengthVariant) {
	if q.silent() || q.rules < 2 {
		return nil
	}
	e := q.eye
	if long, _, err := biometry.LongLength(e.AxialLength.Value); err == nil {
		list = append(list, long...)
	}
	if v, err := biometry.CookeModified(biometry.SegmentLength{AxialLength: e.AxialLength.Value, LensThickness: e.LensThickness, Method: e.AxialLengthMethod}); err == nil {
		list = append(list, v)
	}
	if v, err := biometry.SumOfSegments(biometry.SegmentsShown{Chamber: e.ACD, Lens: e.LensThickness, Vitreous: e.Unusual.VitreousPart, Velocity: e.Velocity, Method: e.AxialLengthMethod}); err == nil {
		list = append(list, v)
	}
	if e.AxialLengthMethod == eye.Immersion || e.AxialLengthMethod == eye.Contact {
		if a, err := biometry.CorrectLength(lengthInput(e)); err == nil && a.Corrected.Known {
			last := a.Steps[len(a.Steps)-1]
			list = append(list, biometry.LengthVariant{ID: "velocity", Value: a.Corrected.Value, Ref: last.Ref, Steps: a.Steps})
		}
	}
	return list
}

// longNote says that lengths for long eyes stand beside.
func (q *question) longNote() []finding.Finding {
	if q.silent() || q.rules < 2 {
		return nil
	}
	_, found, err := biometry.LongLength(q.eye.AxialLength.Value)
	if err != nil {
		return nil
	}
	return found
}

// beside asks every method with the other lengths made for it.
func (q *question) beside(of constantsOf) (list []LengthBeside) {
	for _, v := range q.variants() {
		for _, m := range lenspower.Methods {
			if v.Method != "" && v.Method != m.ID {
				continue
			}
			lens, _ := of(m.ID)
			own, absent := q.method(m, &lens)
			if absent != nil || !own.ok {
				continue
			}
			in := own.in
			in.AxialLength = v.Value
			s, err := m.Solve(in)
			if err != nil {
				continue
			}
			other := solved{solution: s, ok: true}
			list = append(list, LengthBeside{Length: v.ID, Method: m.ID, AxialLength: number(v.Value), Power: other.power(q.target), Measured: own.power(q.target),
				Emmetropia: other.power(0), Working: steps(v.Steps)})
		}
	}
	return list
}

// Rescue is one way out when the operation goes otherwise: the lens at hand for
// it, its power, and the refraction to expect.
type Rescue struct {
	Place      string            `json:"place"` // bag, captured, sulcus, chamber, none
	Model      string            `json:"model,omitempty"`
	Wanted     Number            `json:"wanted_d"` // unrounded, for the target
	Power      Number            `json:"power_d"`  // in stock, else the nearest made
	Stock      Number            `json:"stock"`    // null: never counted
	Refraction Number            `json:"refraction_d"`
	Chart      Number            `json:"chart_d"` // sulcus: both published rules of the bag's power
	Nines      Number            `json:"nines_d"`
	Lacks      string            `json:"lacks,omitempty"` // what has to be known for it
	Findings   []finding.Finding `json:"findings"`
}

// rescue is the ladder of one lens model, from the counting method nearest to
// the median. An eye that has no lens of its own has no such ladder.
func (l *LensPlan) rescue(q *question, s *Shelved, eyes []solved, all []Shelved) {
	if q.rules < 2 || withoutLens(q.eye) || !l.Agreement.Median.Known || q.eye.Placement != "" && q.eye.Placement != eye.Bag {
		return
	}
	at := nearestCounting(l.Methods, l.Agreement.Median)
	bag := eyes[at].bag()
	if bag == nil {
		return
	}
	sulcus, chamber := forSulcus(s, all), madeFor(all, eye.Chamber)
	in := lenspower.RescueInput{Eye: bag, Target: q.target, Bag: s.rescueLens(), Sulcus: sulcus.rescueLens(), Chamber: chamber.rescueLens()}
	for _, r := range lenspower.RescueLadder(in) {
		lens := map[lenspower.Place]*Shelved{lenspower.InBag: s, lenspower.Captured: sulcus, lenspower.InSulcus: sulcus, lenspower.InChamber: chamber}[r.Place]
		l.Rescue = append(l.Rescue, rescued(r, lens))
	}
}

func nearestCounting(list []MethodPlan, median Number) (best int) {
	best = -1
	for i := range list {
		if !list[i].Counts {
			continue
		}
		if best < 0 || distance(list[i].Power, median) < distance(list[best].Power, median) {
			best = i
		}
	}
	return best
}

func distance(a, b Number) float64 { return max(a.Value-b.Value, b.Value-a.Value) }

// bag is the settled eye as the ladder takes it.
func (s *solved) bag() lenspower.BagEye {
	if s.own == nil {
		return s.solution
	}
	b, _ := s.own.(lenspower.BagEye)
	return b
}

// rescued writes one rung. What is a stop there has no power to choose.
func rescued(r lenspower.Rung, lens *Shelved) Rescue {
	x := Rescue{Place: string(r.Place), Findings: append([]finding.Finding{}, r.Findings...)}
	if lens != nil {
		x.Model = lens.Lens.Model
	}
	switch {
	case r.Place == lenspower.NoLens:
		x.Refraction = number(r.Refraction)
	case lens == nil:
		x.Lacks = string(r.Place) + "_lens"
	case r.Err != nil:
		x.Lacks = "a"
	default:
		x.Wanted, x.Power, x.Refraction = number(r.Wanted), number(r.Power), number(r.Refraction)
		x.Stock = lens.stock(x.Power.Value)
		if r.Place == lenspower.InSulcus {
			x.Chart, x.Nines = number(r.Rules.Chart), number(r.Rules.Nines)
		}
	}
	if r.Err != nil {
		x.Refraction = Number{}
	}
	for _, f := range r.Findings {
		if f.Severity == finding.Stop {
			x.Wanted, x.Power, x.Refraction, x.Stock, x.Chart, x.Nines = Number{}, Number{}, Number{}, Number{}, Number{}, Number{}
		}
	}
	return x
}

// madeFor is the first lens made for a place, nil when there is none.
func madeFor(all []Shelved, place eye.Placement) *Shelved {
	for i := range all {
		if all[i].Lens.MadeFor == place {
			return &all[i]
		}
	}
	return nil
}

// forSulcus is the lens whose haptics may go into the sulcus: one made for it,
// the planned lens, or another of the shelf; where none is known to be fit, the
// planned one with what speaks against it.
func forSulcus(s *Shelved, all []Shelved) *Shelved {
	if x := madeFor(all, eye.Sulcus); x != nil {
		return x
	}
	if s.Lens.OnePieceSoftAcrylic == lenspower.No {
		return s
	}
	for i := range all {
		if all[i].Lens.OnePieceSoftAcrylic == lenspower.No && all[i].Lens.MadeFor != eye.Chamber {
			return &all[i]
		}
	}
	return s
}

// rescueLens is a lens at hand with its A constant and the powers that lie
// ready, or are made when they were never counted.
func (s *Shelved) rescueLens() (r lenspower.RescueLens) {
	if s == nil {
		return r
	}
	lens, from := s.lensFor("srk-t")
	if r.A = lens.Constants.A; from["a"].Origin == Converted {
		r.A = unit.Reading[unit.Constant]{}
	}
	r.OnePieceSoftAcrylic, r.Stock = s.Lens.OnePieceSoftAcrylic, []unit.Dioptre{}
	steps := shelf{s.Lens.From, s.Lens.To, s.Lens.Step}
	for k := range steps.last() + 1 {
		if p := steps.at(k); s.Stock == nil || s.stock(p).Value > 0 {
			r.Stock = append(r.Stock, unit.Dioptre(p))
		}
	}
	return r
}

// SecondEye is what the error of the eye operated first says about this one's
// target. It is advice: the target stays as it was entered.
type SecondEye struct {
	Error      Number            `json:"error_d"` // achieved less predicted, of the first eye
	Eligible   bool              `json:"eligible"`
	Weight     Number            `json:"weight"`
	Unadjusted Number            `json:"unadjusted_d"`
	Target     Number            `json:"target_d"`
	Residual   Number            `json:"residual_sd_pct"` // of the second eye's error, by theory, at the correlation
	Best       Number            `json:"best_sd_pct"`     // with the best weight
	Correlated Number            `json:"correlation"`
	Findings   []finding.Finding `json:"findings"`
}

// pairCorrelation is what a published drop of 11.3 % of the error implies.
const pairCorrelation unit.Ratio = 0.46

// secondEye compares the eyes where the first one's result was entered.
func (q *question) secondEye() *SecondEye {
	e, first := q.eye, &q.eye.Unusual.First
	if *first == (eye.FirstEye{}) {
		return nil
	}
	in := lenspower.FirstEye{DaysToRefraction: first.Days, SameModel: lenspower.Told(first.SameLens), SameMethod: lenspower.Told(first.SameMethod),
		Complication: lenspower.Told(first.Complicated)}
	if first.Place != "" {
		in.InBag = lenspower.No
		if first.Place == eye.Bag {
			in.InBag = lenspower.Yes
		}
	}
	if first.Predicted.Known && first.Achieved.Known {
		in.Error = unit.Known(first.Achieved.Value - first.Predicted.Value)
	}
	if f := e.Fellow; f != nil {
		if e.AxialLength.Known && f.AxialLength.Known {
			in.LengthDifference = unit.Known(e.AxialLength.Value - f.AxialLength.Value)
		}
		if e.ACD.Known && f.ACD.Known {
			in.ACDDifference = unit.Known(e.ACD.Value - f.ACD.Value)
		}
		if k, err := biometry.MeanK(f); err == nil && q.err == nil {
			in.KDifference = unit.Known(q.in.K - k)
		}
	}
	a := lenspower.AdjustSecondEye(in, q.target)
	s := &SecondEye{Eligible: a.Eligible, Weight: number(a.Weight), Unadjusted: number(q.target), Target: number(a.Target), Correlated: number(pairCorrelation), Findings: a.Findings}
	if in.Error.Known {
		s.Error = number(in.Error.Value)
	}
	if a.Eligible {
		s.Residual, s.Best = residual(unit.Ratio(a.Weight)), residual(pairCorrelation)
	}
	return s
}

func residual(weight unit.Ratio) Number {
	r, err := lenspower.Pair{Correlation: pairCorrelation, Weight: weight}.ResidualSD()
	if err != nil {
		return Number{}
	}
	return number(100 * r)
}
