package pathway

import (
	"math"
	"math/rand/v2"

	"linn/calc/biometry"
	"linn/calc/lenspower"
	"linn/calc/supplies"
	"linn/finding"
	"linn/unit"
)

// PackInput asks for the lenses to take to a camp: Eyes that nobody has
// measured, of a district whose length and corneal power are known as mean and
// standard deviation, and Take lenses of one model from a shelf.
type PackInput struct {
	Eyes, Take         int
	Length, LengthSD   unit.Millimetre
	K, KSD             unit.Dioptre
	A                  unit.Constant
	Target, Within     unit.Dioptre
	FromD, ToD, StepD  unit.Dioptre
	Seed               uint64
	Tried, JudgedLists int // lists of eyes that are drawn to pack for, and others to judge by
}

// PackedBox is the box: for each power how many, and how far it goes.
type PackedBox struct {
	Powers []unit.Dioptre
	supplies.Packed
	Even supplies.Packed // the same number of every power that some eye wants: packing without counting
}

// PackFor packs a box for a camp. Lengths and corneal powers are drawn
// together, with the correlation of a published series; lenses are those that
// SRK/T says leave the eye within the wanted distance of its target. What the
// eye then really comes to is not known before the operation.
func PackFor(in PackInput) (out PackedBox, refused finding.Refusals) {
	steps, err := in.steps()
	if err != nil {
		return out, outside(err)
	}
	r := rand.New(rand.NewPCG(in.Seed, 0))
	camp := supplies.Camp{Steps: steps, Take: in.Take, Drawn: in.draw(r, in.Tried)}
	best, err := camp.Best()
	if err != nil {
		return out, outside(err)
	}
	camp.Drawn = in.draw(r, in.JudgedLists)
	if out.Packed, err = camp.Judge(best.Count); err == nil {
		out.Even, err = camp.Judge(even(in.Take, camp))
	}
	for i := range steps {
		out.Powers = append(out.Powers, in.FromD+unit.Dioptre(i)*in.StepD)
	}
	return out, outside(err)
}

// even spreads the lenses over all steps that suit some eye best, the same
// number of each.
func even(take int, c supplies.Camp) []int {
	count := make([]int, c.Steps)
	low, high := c.Steps, -1
	for _, list := range c.Drawn {
		for _, e := range list {
			if mid := (e.Low + e.High) / 2; e.Low <= e.High && mid >= 0 && mid < c.Steps {
				low, high = min(low, mid), max(high, mid)
			}
		}
	}
	for i := range take {
		if high >= low {
			count[low+i%(high-low+1)]++
		}
	}
	return count
}

func (in *PackInput) steps() (int, error) {
	for _, b := range []struct {
		what           string
		got, low, high float64
		unit           string
	}{{"axial_length_sd_mm", float64(in.LengthSD), 0, 4, "mm"}, {"mean_k_sd_d", float64(in.KSD), 0, 4, "D"}, {"within_d", float64(in.Within), 0.25, 3, "D"},
		{"step_d", float64(in.StepD), 0.25, 5, "D"}, {"to_d", float64(in.ToD), float64(in.FromD), 60, "D"}} {
		if !(b.got >= b.low && b.got <= b.high) {
			return 0, &unit.RangeError{What: b.what, Got: b.got, Low: b.low, High: b.high, Unit: b.unit}
		}
	}
	return int(math.Floor(float64((in.ToD-in.FromD)/in.StepD)+1e-9)) + 1, nil
}

// draw makes lists of eyes. An eye whose readings SRK/T refuses suits no lens.
func (in *PackInput) draw(r *rand.Rand, lists int) [][]supplies.Suits {
	m := lenspower.MethodNamed("srk-t")
	resolved, _, _ := m.Resolve(lenspower.Constants{A: unit.Known(in.A)})
	rho := biometry.Pearson(biometry.China.LengthK)
	out := make([][]supplies.Suits, lists)
	for i := range out {
		for range in.Eyes {
			x := r.NormFloat64()
			y := rho*x + math.Sqrt(1-rho*rho)*r.NormFloat64()
			eye := lenspower.Input{AxialLength: in.Length + unit.Millimetre(x)*in.LengthSD, K: in.K + unit.Dioptre(y)*in.KSD, Vertex: 12, Constant: resolved}
			// More power leaves the eye nearer-sighted.
			least, err := m.Power(eye, in.Target+in.Within)
			most, err2 := m.Power(eye, in.Target-in.Within)
			e := supplies.Suits{Low: 1, High: 0}
			if err == nil && err2 == nil {
				e.Low, e.High = int(math.Ceil(float64((least-in.FromD)/in.StepD)-1e-9)), int(math.Floor(float64((most-in.FromD)/in.StepD)+1e-9))
			}
			out[i] = append(out[i], e)
		}
	}
	return out
}

// SessionInput is how a session is run and what it costs, and another way to
// run it.
type SessionInput struct {
	Session      unit.Minute
	Tables       Tables
	One, Two     Costs
	TwoTables    bool
	SurgeryOfTwo unit.Minute
}

// Costs is a way of operating with its prices.
type (
	Costs  = supplies.Cost
	Tables = supplies.Tables
	Money  = supplies.Money
)

// SessionAnswer is what a session holds and what an operation costs.
type SessionAnswer struct {
	Cycle    [2]unit.Minute // first way, second way
	Holds    [2]int
	Each     [2]Money
	Varying  [2]Money
	Even     int // operations a period from which the first way is the cheaper
	EverEven bool
}

// RunSession works out capacity and cost of two ways side by side.
func RunSession(in SessionInput) (a SessionAnswer, refused finding.Refusals) {
	err := func() (err error) {
		ways := []Tables{in.Tables, {Surgery: in.SurgeryOfTwo, Turn: in.Tables.Turn}}
		for i, way := range ways {
			if a.Cycle[i], err = way.Cycle(in.TwoTables); err != nil {
				return err
			}
			if a.Holds[i], err = way.Capacity(in.Session, in.TwoTables); err != nil {
				return err
			}
		}
		for i, c := range []Costs{in.One, in.Two} {
			if a.Each[i], err = c.PerCase(); err != nil {
				return err
			}
			a.Varying[i] = c.Varying()
		}
		a.Even, a.EverEven, err = in.One.BreakEven(in.Two)
		return err
	}()
	return a, outside(err)
}
