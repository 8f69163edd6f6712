package fluidics

import (
	"math"

	"linn/source"
	"linn/unit"
)

// Gauge is the size of a phaco needle as the trade names it: 19, 20, 21 or 22.
type Gauge float64

// Gauges lists the needle sizes of the model, widest first.
func Gauges() []Gauge { return []Gauge{19, 20, 21, 22} }

// Needle is a phaco needle's shaft.
type Needle struct {
	Outer, Inner, Length unit.Millimetre
	Loss                 unit.Ratio
}

// NeedleOf returns the reference needle of a gauge: a bore 0.2 mm under the
// outer diameter, 25 mm long. Other gauges are a RangeError.
func NeedleOf(g Gauge) (Needle, error) {
	outer := map[Gauge]float64{19: needle19, 20: needle20, 21: needle21, 22: needle22}[g]
	if outer == 0 {
		return Needle{}, &unit.RangeError{What: "tip_gauge", Got: float64(g), Low: 19, High: 22, Unit: "G, whole"}
	}
	return Needle{Outer: unit.Millimetre(outer), Inner: unit.Millimetre(outer - needleWall), Length: unit.Millimetre(refNeedleLength), Loss: unit.Ratio(refLoss)}, nil
}

func (n Needle) tube() Tube { return Tube{Bore: n.Inner, Length: n.Length, Loss: n.Loss} }

// SleeveBore is the lumen of the sleeve made for an incision from 1.8 to 2.8 mm:
// straight between the three usual sleeves of 1.8, 2.2 and 2.8 mm.
func SleeveBore(incision unit.Millimetre) (unit.Millimetre, error) {
	if err := inside("incision_mm", float64(incision), unit.Bounds{Low: 1.8, High: 2.8}, "mm"); err != nil {
		return 0, err
	}
	x := float64(incision)
	if x <= 2.2 {
		return unit.Millimetre(sleeve18 + (sleeve22-sleeve18)*(x-1.8)/0.4), nil
	}
	return unit.Millimetre(sleeve22 + (sleeve28-sleeve22)*(x-2.2)/0.6), nil
}

// Grip is how hard vacuum holds a piece on the tip.
type Grip struct {
	OnBore  unit.Newton // the vacuum acts on the needle's bore
	OnMouth unit.Newton // it acts on the whole mouth of a 0° tip, up to the outer diameter
}

// Grip is the holding force of a vacuum at the tip: pressure × area. The true
// force lies near OnBore once the piece deforms into the bore. Vacuum from 0 to
// one atmosphere.
func (n Needle) Grip(vacuum unit.MillimetreHg) (Grip, error) {
	if err := inside("vacuum", float64(vacuum), unit.Bounds{Low: 0, High: 760}, "mmHg"); err != nil {
		return Grip{}, err
	}
	force := func(d unit.Millimetre) unit.Newton {
		m := float64(d) / 1000
		return unit.Newton(float64(vacuum.Pascal()) * math.Pi / 4 * m * m)
	}
	return Grip{OnBore: force(n.Inner), OnMouth: force(n.Outer)}, nil
}

// SameGrip is the vacuum at which n holds as hard as other does at vacuum:
// vacuum × bore² is what counts. It may come out above what any pump reaches.
func (n Needle) SameGrip(other Needle, vacuum unit.MillimetreHg) unit.MillimetreHg {
	ratio := float64(other.Inner / n.Inner)
	return vacuum * unit.MillimetreHg(ratio*ratio)
}

var gripRef = source.Ref{Key: source.OwnModel, Where: "holding force = vacuum × area of the bore", Grade: source.Own}
