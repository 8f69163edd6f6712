package lenspower

import (
	"errors"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// BagEye is an eye settled by a method with the lens in the bag: a [Solution]
// or an [OperatedSolution].
type BagEye interface {
	Power(target unit.Dioptre) (unit.Dioptre, error)
	Refraction(power unit.Dioptre) (unit.Dioptre, error)
	forward(by unit.Millimetre) BagEye
}

func (s Solution) forward(by unit.Millimetre) BagEye {
	s.Position -= by
	s.eye.Position -= by
	return s
}

// SulcusForward is how far in front of the bag the sulcus is taken to lie, and
// ChamberMiddle the middle of the usual places of a lens in the chamber.
const (
	SulcusForward                 = sulcusShift
	ChamberMiddle unit.Millimetre = (chamberNear + chamberFar) / 2
)

// InSulcus is the eye with the lens in the sulcus.
func (a Adapted) InSulcus() Adapted { return a.forward(sulcusShift).(Adapted) }

func (s OperatedSolution) forward(by unit.Millimetre) BagEye {
	s.Position -= by
	s.eye.Position -= by
	return s
}

// Place is where a lens ends up when the operation goes otherwise.
type Place string

// The rungs of the ladder, best first.
const (
	InBag     Place = "bag"
	Captured  Place = "captured" // haptics in the sulcus, optic behind the capsulorhexis
	InSulcus  Place = "sulcus"
	InChamber Place = "chamber"
	NoLens    Place = "none"
)

// RescueLens is a lens model at hand.
type RescueLens struct {
	A                   unit.Reading[unit.Constant]
	OnePieceSoftAcrylic Told
	Stock               []unit.Dioptre // nil: not told, powers stay unrounded; empty: none
}

// RescueInput asks for the ladder of one eye.
type RescueInput struct {
	Eye     BagEye
	Target  unit.Dioptre
	Bag     RescueLens // its A belongs to the constant the eye was settled with
	Sulcus  RescueLens // also for the captured optic
	Chamber RescueLens
}

// Rung is one way out.
type Rung struct {
	Place      Place
	Wanted     unit.Dioptre // unrounded, for the target
	Power      unit.Dioptre // from stock, or Wanted where stock is not told
	Refraction unit.Dioptre // to expect with Power, spherical equivalent at the spectacle plane
	Rules      SulcusPowers // InSulcus only: both published rules, of the bag power
	Err        error        // no power or no refraction: the reason; the numbers are then 0
	Findings   []finding.Finding
}

var (
	rescueStock = finding.Declare(finding.Rule{Code: "rescue-not-in-stock", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "a way out needs its lens in the room", Grade: source.Own},
		Limit: "no lens for this way out in stock"})
	rescueFar = finding.Declare(finding.Rule{Code: "rescue-far-from-target", Severity: finding.Caution,
		Ref:   source.Ref{Key: source.OwnChoice, Where: "1 D from the target", Grade: source.Own},
		Limit: "the nearest power in stock leaves more than 1.00 D from the target"})
	sulcusApart = finding.Declare(finding.Rule{Code: "sulcus-rules-differ", Severity: finding.Note,
		Ref:   source.Ref{Key: source.SulcusNote, Where: "chart against rule of nines", Grade: source.Secondary},
		Limit: "the two published rules for the sulcus differ"})
	sulcusShiftNote = finding.Declare(finding.Rule{Code: "sulcus-expected-spread", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Sulcus2012, Where: "91 eyes ended −1.04 ± 0.85 D from the prediction for the bag", Grade: source.Read},
		Limit: "every lens in the sulcus"})
	aphakicLeft = finding.Declare(finding.Rule{Code: "left-aphakic", Severity: finding.Note,
		Ref:   source.Ref{Key: source.CommonPractice, Where: "no lens: refraction for spectacles or contact lens until a second operation", Grade: source.Memory},
		Limit: "the rung without a lens"})
)

const rescueLimit unit.Dioptre = 1.0

// ErrConstantNeeded says that a rung needs the A constants of both lenses.
var ErrConstantNeeded = errors.New("lenspower: A constants of both lenses are needed")

// RescueLadder returns bag, captured, sulcus, chamber and none, in this order.
// The captured optic refracts as in the bag; the sulcus is recomputed 0.50 mm
// forward; a chamber lens is P − (A_bag − A_chamber). Where the A constants of
// bag and sulcus lens are both known and differ, their difference is added.
// Errors stand in the rungs.
func RescueLadder(in RescueInput) [5]Rung {
	var ladder [5]Rung
	change := unit.Dioptre(0)
	if in.Bag.A.Known && in.Sulcus.A.Known {
		change = unit.Dioptre(in.Sulcus.A.Value - in.Bag.A.Value)
	}
	ladder[0] = rung(InBag, in, way{in.Eye, in.Bag, 0})
	ladder[1] = rung(Captured, in, way{in.Eye, in.Sulcus, change})
	ladder[2] = rung(InSulcus, in, way{in.Eye.forward(sulcusShift), in.Sulcus, change})
	for i := range ladder[1:3] {
		ladder[1+i].Findings = append(ladder[1+i].Findings, CheckPlacement(SulcusFacts{HapticsInSulcus: true, OnePieceSoftAcrylic: in.Sulcus.OnePieceSoftAcrylic})...)
	}
	ladder[2].rules(ladder[0].Wanted)
	ladder[3] = Rung{Place: InChamber, Err: ErrConstantNeeded}
	if in.Bag.A.Known && in.Chamber.A.Known {
		ladder[3] = rung(InChamber, in, way{in.Eye, in.Chamber, unit.Dioptre(in.Chamber.A.Value - in.Bag.A.Value)})
	}
	ladder[4] = Rung{Place: NoLens}
	ladder[4].Refraction, ladder[4].Err = in.Eye.Refraction(0)
	if ladder[4].Err == nil {
		ladder[4].Findings = []finding.Finding{aphakicLeft.On("lens", finding.Value{Name: "got", Text: ladder[4].Refraction.String()})}
	}
	return ladder
}

// way is an eye with the lens for it; change is what the lens's label differs
// by from one that refracts alike in the eye.
type way struct {
	eye    BagEye
	lens   RescueLens
	change unit.Dioptre
}

func rung(place Place, in RescueInput, w way) Rung {
	r := Rung{Place: place}
	p, err := w.eye.Power(in.Target)
	if err != nil {
		r.Err = err
		return r
	}
	r.Wanted = p + w.change
	r.Power = r.Wanted
	if w.lens.Stock != nil {
		var ok bool
		if r.Power, ok = nearest(w.lens.Stock, r.Wanted); !ok {
			r.Findings = append(r.Findings, rescueStock.On("lens", finding.Value{Name: "wanted", Text: r.Wanted.String()}))
			r.Power = r.Wanted
		}
	}
	r.Refraction, r.Err = w.eye.Refraction(r.Power - w.change)
	if r.Err != nil {
		r.Wanted, r.Power = 0, 0
		return r
	}
	if off := r.Refraction - in.Target; off > rescueLimit+1e-9 || off < -rescueLimit-1e-9 {
		r.Findings = append(r.Findings, rescueFar.On("lens", finding.Value{Name: "got", Text: r.Refraction.String()}, finding.Value{Name: "power", Text: r.Power.String()},
			finding.Value{Name: "target", Text: in.Target.String()}))
	}
	return r
}

// rules puts the two published rules beside the sulcus.
func (r *Rung) rules(bag unit.Dioptre) {
	if r.Err != nil {
		return
	}
	r.Rules = sulcusRules(bag)
	r.Rules.Recomputed = r.Wanted
	r.Findings = append(r.Findings, sulcusShiftNote.On("placement"))
	if r.Rules.Apart {
		r.Findings = append(r.Findings, sulcusApart.On("placement", finding.Value{Name: "chart", Text: r.Rules.Chart.String()}, finding.Value{Name: "nines", Text: r.Rules.Nines.String()},
			finding.Value{Name: "recomputed", Text: r.Rules.Recomputed.String()}))
	}
}

// The usual position of a lens in the chamber, for [RefractiveVergence].
const (
	chamberNear = 3.0 // mm
	chamberFar  = 3.3 // mm
)

var _ = declare(source.CommonPractice, source.Memory,
	coefficient{"chamber-lens.position-low", chamberNear, "mm", "ELP of an anterior chamber lens"},
	coefficient{"chamber-lens.position-high", chamberFar, "mm", "ELP of an anterior chamber lens"},
)

// ChamberByVergence returns the powers of an anterior chamber lens from the
// aphakic refraction at both ends of its usual position, 3.0 and 3.3 mm. The
// position of the input is not used. Errors are those of [RefractiveVergence].
func ChamberByVergence(in SecondLens) (Range, error) {
	in.Position = chamberNear
	low, err := RefractiveVergence(in)
	if err != nil {
		return Range{}, err
	}
	in.Position = chamberFar
	high, err := RefractiveVergence(in)
	if err != nil {
		return Range{}, err
	}
	return Range{min(low, high), max(low, high)}, nil
}

// ChangeTo returns what a change to the other lens model adds to the power: the
// difference of the A constants (model-change-note, grade b).
func (c Constants) ChangeTo(other Constants) (unit.Dioptre, error) {
	if !other.A.Known || !c.A.Known {
		return 0, ErrConstantNeeded
	}
	return unit.Dioptre(other.A.Value - c.A.Value), nil
}
