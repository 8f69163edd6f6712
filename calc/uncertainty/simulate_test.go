package uncertainty

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"linn/calc/optics"
	"linn/eye"
	"linn/unit"
)

func stream(seed uint64) rand.Source { return rand.NewPCG(seed, 7) }

func simulate(t interface{ Fatal(...any) }, f Eye, b Budget, n int, seed uint64) Sample {
	s, err := Simulate([]Eye{f}, b, Draws{N: n, Source: stream(seed)})
	if err != nil {
		t.Fatal(err)
	}
	return s[0]
}

// TestSharesFromSpreads takes the spreads as given and our own derivatives:
// the published shares of the variance come out, and the remainder is 12 %. It
// shows consistency, not proof: the spreads were implied by the shares.
func TestSharesFromSpreads(t *testing.T) {
	inputs := []Input{{Kind: LensPosition, SD: 0.317}, {Kind: AxialLength, SD: 0.112}, {Kind: LensPower, SD: 0.106},
		{Kind: Refraction, SD: 0.391}, {Kind: Pupil, SD: 0.213}, {Kind: Other, SD: 0.261}}
	want := map[Kind]float64{LensPosition: 35, Refraction: 27, AxialLength: 17, Pupil: 8, LensPower: 1, Other: 12}
	b := Budget{At: average(), Inputs: inputs}
	r := propagate(t, thin, b)
	for _, s := range r.Sources {
		if got := 100 * s.Share; math.Abs(got-want[s.Kind]) > 1 {
			t.Errorf("%s: %.2f %% of the variance, want %v ± 1", s.Kind, got, want[s.Kind])
		}
		// and by simulation: leaving the source out takes its share away
		var rest []Input
		for _, in := range inputs {
			if in.Kind != s.Kind {
				rest = append(rest, in)
			}
		}
		all := float64(simulate(t, thin, b, 200_000, 1).SD())
		without := float64(simulate(t, thin, Budget{At: b.At, Inputs: rest}, 200_000, 2).SD())
		if got := 100 * (1 - square(without/all)); math.Abs(got-want[s.Kind]) > 2 { // noise of 200,000 draws: 0.5 % of either SD²
			t.Errorf("%s: %.2f %% drawn, want %v ± 2", s.Kind, got, want[s.Kind])
		}
	}
}

// TestSimulationMeetsFirstOrder: for small spreads of any budget, correlated
// or not, the simulated SD is the propagated one within its noise.
func TestSimulationMeetsFirstOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := Point{AxialLength: unit.Millimetre(rapid.Float64Range(21, 27).Draw(t, "length")), MeanK: unit.Dioptre(rapid.Float64Range(40, 46).Draw(t, "k")), LensPower: unit.Dioptre(rapid.Float64Range(5, 28).Draw(t, "power"))}
		b := Budget{At: at, Offset: unit.Dioptre(rapid.Float64Range(-0.5, 0.5).Draw(t, "offset"))}
		for _, k := range []Kind{AxialLength, MeanK, LensPosition, LensPower, Refraction} {
			b.Inputs = append(b.Inputs, Input{Kind: k, SD: rapid.Float64Range(0.001, 0.08).Draw(t, k.String()), Uniform: k == LensPower})
		}
		if rapid.Bool().Draw(t, "correlated") {
			b.Correlations = []Correlation{{[2]Kind{AxialLength, MeanK}, rapid.Float64Range(-1, 1).Draw(t, "r1")}, {[2]Kind{LensPosition, Refraction}, rapid.Float64Range(-1, 1).Draw(t, "r2")}}
		}
		r, err := Propagate(thin, b)
		if err != nil {
			t.Fatal(err)
		}
		const n = 4000
		s := simulate(t, thin, b, n, rapid.Uint64().Draw(t, "seed"))
		want := float64(r.SD)
		// five standard errors of an SD, and the curvature left out: below 2 % at these spreads
		if got := float64(s.SD()); s.Failed != 0 || math.Abs(got-want) > want*(5/math.Sqrt(2*n)+0.02) {
			t.Fatalf("SD drawn %v, propagated %v, %d failed", got, want, s.Failed)
		}
		mean := float64(s.Predicted + b.Offset)
		if got := float64(s.Mean()); math.Abs(got-mean) > 5*want/math.Sqrt(n)+0.02 {
			t.Fatalf("mean %v, want %v", got, mean)
		}
		half := unit.Dioptre(rapid.Float64Range(0.5, 2).Draw(t, "half")) * r.SD
		if got, want := float64(s.Within(Landing{s.Predicted, half})), float64(r.Within(half)); math.Abs(got-want) > 6 { // one uniform part may dominate
			if r.Sources[3].Share < 0.3 {
				t.Fatalf("within %v: %v drawn, %v", half, got, want)
			}
		}
	})
}

// TestSimulationMeetsFrozenRun holds it against the run in another language.
func TestSimulationMeetsFrozenRun(t *testing.T) {
	f := file(t, "testdata/derived/monte-carlo.txt")
	for _, row := range f.Rows {
		setting, err := f.Text(row, "setting")
		if err != nil {
			t.Fatal(err)
		}
		in, err := ForMethod(eye.LengthMethod(setting), 21.553)
		if err != nil {
			t.Fatal(err)
		}
		s := simulate(t, thin, Budget{At: average(), Inputs: in}, 200_000, 11)
		if want := number(t, f, row, "sd"); math.Abs(float64(s.SD())-want) > 2*noiseSD*want+0.0005 {
			t.Errorf("%s: SD %v, frozen %v", setting, s.SD(), want)
		}
		for half, name := range map[unit.Dioptre]string{0.25: "w25", 0.5: "w50", 0.75: "w75", 1: "w100"} {
			if got, want := float64(s.Within(Landing{s.Predicted, half})), number(t, f, row, name); math.Abs(got-want) > 2*noiseChance+0.05 {
				t.Errorf("%s ±%v: %v, frozen %v", setting, half, got, want)
			}
		}
	}
}

func TestStreamsAreDeterministic(t *testing.T) {
	in, err := ForMethod(eye.Optical, 21)
	if err != nil {
		t.Fatal(err)
	}
	b := Budget{At: average(), Inputs: in}
	a, c, other := simulate(t, thin, b, 500, 3), simulate(t, thin, b, 500, 3), simulate(t, thin, b, 500, 4)
	if !slices.Equal(a.Values, c.Values) || slices.Equal(a.Values, other.Values) {
		t.Error("one stream gives one sample, another stream another")
	}
	// the same draws for every calculation
	two, err := Simulate([]Eye{thin, func(p Point) (unit.Dioptre, error) { r, err := thin(p); return r + 1, err }}, b, Draws{500, stream(3)})
	if err != nil {
		t.Fatal(err)
	}
	for i := range two[0].Values {
		if math.Abs(two[1].Values[i]-two[0].Values[i]-1) > 1e-12 || two[0].Values[i] != a.Values[i] {
			t.Fatal("the calculations had different draws")
		}
	}
}

func TestUniformStaysWithin(t *testing.T) {
	b := Budget{At: average(), Inputs: []Input{{Kind: LensPower, SD: float64(UniformSD(0.4)), Uniform: true}}}
	power := func(p Point) (unit.Dioptre, error) { return p.LensPower, nil }
	s := simulate(t, power, b, 50_000, 1)
	low, _ := s.Quantile(0)
	high, _ := s.Quantile(100)
	mid, _ := s.Quantile(50)
	if low < 21.153 || high > 21.953 || math.Abs(float64(mid)-21.553) > 0.01 || math.Abs(float64(s.SD()-UniformSD(0.4))) > 0.002 {
		t.Errorf("from %v to %v, middle %v, SD %v", low, high, mid, s.SD())
	}
	if _, err := s.Quantile(101); !errors.Is(err, unit.ErrRange) {
		t.Error("101 %")
	}
}

func TestFailedDrawsCount(t *testing.T) {
	b := Budget{At: average(), Inputs: []Input{{Kind: AxialLength, SD: 1}}}
	picky := func(p Point) (unit.Dioptre, error) {
		if p.AxialLength > 23.45 {
			return 0, unit.ErrRange
		}
		return 0, nil
	}
	s := simulate(t, picky, b, 10_000, 1)
	if got := float64(s.Within(Landing{0, 1})); math.Abs(got-50) > 2 || s.Failed == 0 {
		t.Errorf("%v %% of eyes of which half have no answer, %d failed", got, s.Failed)
	}
	if o := s.Outcome(0); math.Abs(float64(o.Surprise)-50) > 2 {
		t.Errorf("%+v", o)
	}
	never := func(Point) (unit.Dioptre, error) { return 0, unit.ErrRange }
	nan := func(Point) (unit.Dioptre, error) { return unit.Dioptre(math.NaN()), nil }
	atOnly := func(p Point) (unit.Dioptre, error) {
		if p == b.At {
			return 0, nil
		}
		return 0, unit.ErrRange
	}
	for name, f := range map[string]Eye{"never": never, "NaN": nan, "only unmoved": atOnly} {
		if _, err := Simulate([]Eye{f}, b, Draws{10, stream(1)}); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	for name, d := range map[string]Draws{"none": {0, stream(1)}, "too many": {mostDraws + 1, stream(1)}, "no stream": {10, nil}} {
		if _, err := Simulate([]Eye{thin}, b, d); !errors.Is(err, ErrBudget) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := Simulate([]Eye{thin}, Budget{}, Draws{10, stream(1)}); !errors.Is(err, ErrBudget) {
		t.Errorf("no budget: %v", err)
	}
}

// TestOutcome: both ways of telling what may become of a lens agree, the bands
// grow, and a lens aimed elsewhere lands less often.
func TestOutcome(t *testing.T) {
	in, err := ForMethod(eye.Contact, 21)
	if err != nil {
		t.Fatal(err)
	}
	b := Budget{At: average(), Inputs: in}
	r, s := propagate(t, thin, b), simulate(t, thin, b, 200_000, 5)
	for _, target := range []unit.Dioptre{0, -0.3, -2, 1} {
		a, d := r.Outcome(Prediction{s.Predicted, target}), s.Outcome(target)
		for i := range Bands {
			if math.Abs(float64(a.Within[i]-d.Within[i])) > 1.2 || i > 0 && a.Within[i] < a.Within[i-1] { // curvature, and the label is not normal
				t.Errorf("target %v: %+v, drawn %+v", target, a, d)
			}
		}
		if math.Abs(float64(a.Surprise-d.Surprise)) > 1.2 || math.Abs(float64(a.Myopic-d.Myopic)) > 1.2 {
			t.Errorf("target %v: %+v, drawn %+v", target, a, d)
		}
	}
	if o := (Result{}).Outcome(Prediction{-1, 0}); o.Myopic != 100 || o.Within[3] != 100 || o.Within[2] != 0 {
		t.Errorf("certain: %+v", o)
	}
}

func TestBuying(t *testing.T) {
	in, err := ForMethod(eye.Contact, 21.553)
	if err != nil {
		t.Fatal(err)
	}
	b := Budget{At: average(), Inputs: in, Offset: 0.3}
	optical, err := Buying(thin, b, Change{Length: eye.Optical})
	if err != nil {
		t.Fatal(err)
	}
	// the frozen runs: 0.844 by contact, 0.566 by optical biometry
	if math.Abs(float64(optical.Before.SD)-0.844) > 0.005 || math.Abs(float64(optical.After.SD)-0.566) > 0.001 {
		t.Errorf("%v to %v", optical.Before.SD, optical.After.SD)
	}
	immersion, err := Buying(thin, b, Change{Length: eye.Immersion})
	if err != nil || !(immersion.After.SD < immersion.Before.SD && immersion.After.SD > optical.After.SD) {
		t.Errorf("immersion %v, %v", immersion.After.SD, err)
	}
	again, err := Buying(thin, b, Change{Repeat: Repeat{AxialLength, 3}})
	want, _ := Repeating(thin, b, Repeat{AxialLength, 3})
	if err != nil || again.After.SD != want.After {
		t.Errorf("%v, %v", again.After.SD, want.After)
	}
	last := unit.Dioptre(math.Inf(1))
	for _, n := range []int{1, 10, 40, 10000} {
		own, err := Buying(thin, b, Change{Constant: Constant{Cases: n}})
		if err != nil || own.After.Offset != 0 || own.After.SD >= own.Before.SD || own.After.SD >= last || own.After.Within(0.5) <= own.Before.Within(0.5) {
			t.Errorf("%d own cases: %+v, %v", n, own, err)
		}
		last = own.After.SD
	}
	// by hand: σ 0.8435, τ 0.20, 40 eyes: left 1/√(25 + 40/0.7115) = 0.1109
	own, err := Buying(thin, b, Change{Constant: Constant{Cases: 40}})
	one := float64(optical.Before.SD)
	if left := math.Sqrt(square(float64(own.After.SD)) - square(one)); err != nil || math.Abs(left-0.1109) > 0.0003 {
		t.Errorf("left %v", left)
	}
	for name, c := range map[string]Change{"nothing": {}, "two": {Length: eye.Optical, Constant: Constant{Cases: 3}}, "method": {Length: "dowsing"},
		"absent": {Repeat: Repeat{ChamberDepth, 2}}, "no cases": {Constant: Constant{Unknown: 0.2}}, "unknown": {Constant: Constant{Cases: 5, Unknown: -1}}} {
		if _, err := Buying(thin, b, c); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := Buying(thin, Budget{}, Change{Length: eye.Optical}); !errors.Is(err, ErrBudget) {
		t.Errorf("no budget: %v", err)
	}
	certain := Budget{At: average(), Inputs: []Input{{Kind: Refraction}}}
	if _, err := Buying(thin, certain, Change{Constant: Constant{Cases: 3}}); !errors.Is(err, ErrBudget) {
		t.Errorf("certain: %v", err)
	}
}

// BenchmarkSimulate is 20,000 draws by six calculations.
func BenchmarkSimulate(b *testing.B) {
	in, err := ForMethod(eye.Optical, 21)
	if err != nil {
		b.Fatal(err)
	}
	var eyes []Eye
	for i := range 6 {
		at := unit.Millimetre(4.8 + 0.1*float64(i))
		eyes = append(eyes, func(p Point) (unit.Dioptre, error) {
			e := optics.Thin{Cornea: p.MeanK * (331.5 / 337.5), Length: p.AxialLength, Position: at + p.LensPosition, Vertex: 12}
			return e.Refraction(p.LensPower)
		})
	}
	budget := Budget{At: average(), Inputs: in}
	for b.Loop() {
		if _, err := Simulate(eyes, budget, Draws{20_000, stream(1)}); err != nil {
			b.Fatal(err)
		}
	}
}
