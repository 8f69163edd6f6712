package uncertainty

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"linn/calc/optics"
	"linn/eye"
	"linn/internal/checkvalue"
	"linn/unit"
)

// thin is the eye of testdata/derived: n 1.336, cornea at index 1.3315,
// lens at 5.0 mm, spectacles at 12 mm.
func thin(p Point) (unit.Dioptre, error) {
	e := optics.Thin{Cornea: p.MeanK * (331.5 / 337.5), Length: p.AxialLength, Position: 5 + p.LensPosition, Vertex: 12}
	return e.Refraction(p.LensPower)
}

func average() Point { return Point{AxialLength: 23.45, MeanK: 43.5, LensPower: 21.553} }

func file(t *testing.T, path string) *checkvalue.File {
	t.Helper()
	for _, dir := range []string{"testdata/published", "testdata/derived"} {
		files, err := checkvalue.Load(dir)
		if err != nil {
			t.Fatal(err)
		}
		for i := range files {
			if files[i].Path == path {
				return &files[i]
			}
		}
	}
	t.Fatalf("no %s", path)
	return nil
}

func number(t *testing.T, f *checkvalue.File, r checkvalue.Row, name string) float64 {
	t.Helper()
	v, err := f.Number(r, name)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func compare(t *testing.T, f *checkvalue.File, r checkvalue.Row, name string, got float64) {
	t.Helper()
	if err := f.Compare(r, name, got); err != nil {
		t.Error(err)
	}
}

func propagate(t *testing.T, f Eye, b Budget) Result {
	t.Helper()
	r, err := Propagate(f, b)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

func TestDerivatives(t *testing.T) {
	f := file(t, "testdata/derived/derivatives.txt")
	for _, row := range f.Rows {
		at := Point{AxialLength: unit.Millimetre(number(t, f, row, "AL")), MeanK: unit.Dioptre(number(t, f, row, "K"))}
		p, err := optics.Thin{Cornea: at.MeanK * (331.5 / 337.5), Length: at.AxialLength, Position: 5, Vertex: 12}.Power(0)
		if err != nil {
			t.Fatal(err)
		}
		at.LensPower = p
		compare(t, f, row, "P", float64(p))
		r := propagate(t, thin, Budget{At: at, Inputs: []Input{{Kind: AxialLength}, {Kind: MeanK}, {Kind: LensPosition}, {Kind: LensPower}}})
		for i, name := range []string{"AL'", "K'", "ELP'", "P'"} {
			compare(t, f, row, name, r.Sources[i].Derivative)
		}
	}
}

// TestNorrbyShares feeds the spreads that the shares imply (position 0.445 D,
// refraction 0.391, length 0.310, pupil 0.213, lens power 0.075; total 0.6·√(π/2))
// back through the optics of the average eye.
func TestNorrbyShares(t *testing.T) {
	slopes := propagate(t, thin, Budget{At: average(), Inputs: []Input{{Kind: LensPosition}, {Kind: AxialLength}, {Kind: LensPower}}}).Sources
	total := 0.6 * math.Sqrt(math.Pi/2)
	rest := total * total
	for _, d := range []float64{0.445, 0.391, 0.310, 0.213, 0.075} {
		rest -= d * d
	}
	// Pupil and the rest are both added as they are; the pupil's share is read off by leaving it out.
	inputs := []Input{{Kind: LensPosition, SD: 0.445 / slopes[0].Derivative}, {Kind: AxialLength, SD: -0.310 / slopes[1].Derivative},
		{Kind: LensPower, SD: -0.075 / slopes[2].Derivative}, {Kind: Refraction, SD: 0.391}, {Kind: Other, SD: math.Hypot(0.213, math.Sqrt(rest))}}
	if sd := inputs[0].SD; math.Abs(sd-0.32) > 0.005 {
		t.Errorf("position SD %.3f mm, the implied value is about 0.32", sd)
	}
	if sd := inputs[1].SD; math.Abs(sd-0.11) > 0.005 {
		t.Errorf("length SD %.3f mm, the implied value is about 0.11", sd)
	}
	r := propagate(t, thin, Budget{At: average(), Inputs: inputs})
	shares := map[string]float64{}
	for _, s := range r.Sources {
		shares[s.Kind.String()] = 100 * s.Share
	}
	inputs[4].SD = math.Sqrt(rest)
	without := propagate(t, thin, Budget{At: average(), Inputs: inputs})
	shares["pupil"] = 100 * (1 - square(float64(without.SD/r.SD)))
	f := file(t, "testdata/published/norrby-shares.txt")
	for _, row := range f.Rows {
		kind, err := f.Text(row, "kind")
		if err != nil {
			t.Fatal(err)
		}
		compare(t, f, row, "share", shares[kind])
	}
	if mae := float64(r.SD) * math.Sqrt(2/math.Pi); math.Abs(mae-0.6) > 0.0005 {
		t.Errorf("mean absolute error %.4f D, want 0.6", mae)
	}
}

func square(x float64) float64 { return x * x }

func TestLabelTolerance(t *testing.T) {
	f := file(t, "testdata/published/label-tolerance.txt")
	for _, row := range f.Rows {
		p := unit.Dioptre(number(t, f, row, "power"))
		for _, signed := range []unit.Dioptre{p, -p} {
			got, err := LabelTolerance(signed)
			if err != nil {
				t.Error(err)
			}
			if want := number(t, f, row, "tolerance"); float64(got) != want { // a printed limit, not a rounded one
				t.Errorf("%v: ±%v, printed ±%v", signed, got, want)
			}
		}
	}
	if _, err := LabelTolerance(unit.Dioptre(math.NaN())); !errors.Is(err, unit.ErrRange) {
		t.Errorf("not a number: %v", err)
	}
	// Own arithmetic, half/√3: as uniform SD, and at the spectacles (× 0.706).
	for half, want := range map[unit.Dioptre][2]float64{0.3: {0.173, 0.122}, 0.4: {0.231, 0.163}, 0.5: {0.289, 0.204}, 1: {0.577, 0.408}} {
		sd := float64(UniformSD(half))
		if math.Abs(sd-want[0]) > 0.0005 || math.Abs(0.706*sd-want[1]) > 0.0005 {
			t.Errorf("±%v: SD %.4f", half, sd)
		}
	}
}

// draw is a Monte Carlo of its own: the exact engine at every draw, written
// out step by step, and no derivative. It returns the errors.
func draw(seed uint64, in []Input, label float64) []float64 {
	r := rand.New(rand.NewPCG(seed, 3))
	sd := map[Kind]float64{}
	for _, i := range in {
		sd[i.Kind] = i.SD
	}
	errs := make([]float64, 200_000)
	for i := range errs {
		length := 23.45 + sd[AxialLength]*r.NormFloat64()
		cornea := (43.5 + sd[MeanK]*r.NormFloat64()) * 331.5 / 337.5
		lens := 5 + sd[LensPosition]*r.NormFloat64()
		power := 21.553 + label*(2*r.Float64()-1)
		atLens := 1336/(length-lens) - power // vergence that must arrive
		atCornea := 1336 / (1336/atLens + lens)
		needed := atCornea - cornea
		errs[i] = needed/(1+0.012*needed) + sd[Refraction]*r.NormFloat64()
	}
	return errs
}

// Three standard errors of 200,000 draws: of an SD 1/√(2n), of a mean absolute
// error √(π/2 − 1)/√n, of a chance at most 50/√n points.
var (
	noiseSD     = 3 / math.Sqrt(2*200_000)
	noiseMAE    = 3 * math.Sqrt(math.Pi/2-1) / math.Sqrt(200_000)
	noiseChance = 3 * 50 / math.Sqrt(200_000)
)

// TestMonteCarlo holds the propagated spread against two Monte Carlos: a run
// in another language, frozen to its printed digits, and a seeded one here.
func TestMonteCarlo(t *testing.T) {
	const printed, printedChance = 0.0005, 0.05
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
		for i, name := range map[int]string{0: "al", 1: "k", 2: "elp", 4: "ref"} {
			if want := number(t, f, row, name); in[i].SD != want {
				t.Errorf("%s: %s has SD %g, the run had %g", setting, name, in[i].SD, want)
			}
		}
		r := propagate(t, thin, Budget{At: average(), Inputs: in})
		errs := draw(uint64(row.Line), in, 0.4)
		mean, sd, mae := moments(errs)
		want := number(t, f, row, "sd")
		t.Logf("%s: SD propagated %.4f, drawn %.4f, frozen %.3f; mean drawn %+.4f; mean absolute %.4f", setting, r.SD, sd, want, mean, mae)
		if math.Abs(float64(r.SD)-sd) > noiseSD*sd || math.Abs(float64(r.SD)-want) > noiseSD*want+printed {
			t.Errorf("%s: SD %.4f, drawn %.4f, frozen %.3f", setting, r.SD, sd, want)
		}
		normal, frozenMAE := float64(r.SD)*math.Sqrt(2/math.Pi), number(t, f, row, "mae")
		if math.Abs(normal-mae) > noiseMAE*mae || math.Abs(normal-frozenMAE) > noiseMAE*frozenMAE+printed {
			t.Errorf("%s: mean absolute error %.4f, drawn %.4f, frozen %.3f", setting, normal, mae, frozenMAE)
		}
		for half, name := range map[float64]string{0.25: "w25", 0.5: "w50", 0.75: "w75", 1: "w100"} {
			chance, drawn, frozen := float64(r.Within(unit.Dioptre(half))), within(errs, half), number(t, f, row, name)
			if math.Abs(chance-drawn) > noiseChance || math.Abs(chance-frozen) > noiseChance+printedChance {
				t.Errorf("%s ±%g: %.2f %%, drawn %.2f, frozen %.1f", setting, half, chance, drawn, frozen)
			}
		}
		if setting == "optical" && math.Abs(float64(r.SD)-0.5658) > 0.00005 {
			t.Errorf("analytic SD %.5f, want 0.5658", r.SD)
		}
	}
}

func moments(v []float64) (mean, sd, mae float64) {
	for _, x := range v {
		mean += x / float64(len(v))
		mae += math.Abs(x) / float64(len(v))
	}
	for _, x := range v {
		sd += square(x-mean) / float64(len(v)-1)
	}
	return mean, math.Sqrt(sd), mae
}

func within(v []float64, half float64) float64 {
	n := 0
	for _, x := range v {
		if math.Abs(x) <= half {
			n++
		}
	}
	return 100 * float64(n) / float64(len(v))
}

func TestWithin(t *testing.T) {
	f := file(t, "testdata/derived/normal.txt")
	for _, row := range f.Rows {
		r := Result{SD: unit.Dioptre(number(t, f, row, "SD"))}
		for half, name := range map[unit.Dioptre]string{0.25: "w25", 0.5: "w50", 0.75: "w75", 1: "w100"} {
			compare(t, f, row, name, float64(r.Within(half)))
		}
		half, err := r.Band(50) // the median absolute error
		if err != nil {
			t.Fatal(err)
		}
		compare(t, f, row, "medae", float64(half))
	}
	for _, off := range []float64{-1.3, -0.2, 0, 0.05, 0.9} { // gonum's normal distribution
		n := distuv.Normal{Mu: off, Sigma: 0.62}
		r := Result{SD: 0.62, Offset: unit.Dioptre(off)}
		if got, want := float64(r.Within(0.5)), 100*(n.CDF(0.5)-n.CDF(-0.5)); math.Abs(got-want) > 1e-10 {
			t.Errorf("offset %g: %v, want %v", off, got, want)
		}
	}
	// Off-centre, against direct integration of the density (own second method).
	r := Result{SD: 0.5, Offset: 0.3}
	sum, h := 0.0, 1e-4
	for x := -0.5 + h/2; x < 0.5; x += h {
		sum += h * math.Exp(-square((x-0.3)/0.5)/2) / (0.5 * math.Sqrt(2*math.Pi))
	}
	if got := float64(r.Within(0.5)) / 100; math.Abs(got-sum) > 1e-7 {
		t.Errorf("off-centre %v, integrated %v", got, sum)
	}
	for _, c := range []struct {
		r    Result
		half unit.Dioptre
		want unit.Percent
	}{{Result{}, 0.5, 100}, {Result{Offset: 0.6}, 0.5, 0}, {Result{Offset: -0.5}, 0.5, 100}, {r, -1, 0}, {r, unit.Dioptre(math.NaN()), 0}} {
		if got := c.r.Within(c.half); got != c.want {
			t.Errorf("%+v within %v: %v, want %v", c.r, c.half, got, c.want)
		}
	}
}

func TestBand(t *testing.T) {
	r := Result{SD: 0.6}
	for _, share := range []unit.Percent{10, 50, 66.67, 68.27, 95, 99.9} {
		half, err := r.Band(share)
		if err != nil || math.Abs(float64(r.Within(half)-share)) > 1e-9 {
			t.Errorf("band of %v: %v, holds %v, %v", share, half, r.Within(half), err)
		}
		n := distuv.Normal{Sigma: 0.6}
		if want := n.Quantile(0.5 + float64(share)/200); math.Abs(float64(half)-want) > 1e-12 {
			t.Errorf("band of %v: %v, want %v", share, half, want)
		}
	}
	for _, share := range []unit.Percent{0, 100, -1, unit.Percent(math.NaN())} {
		if _, err := r.Band(share); !errors.Is(err, unit.ErrRange) {
			t.Errorf("band of %v: %v", share, err)
		}
	}
}

func TestForMethodRefuses(t *testing.T) {
	var method *MethodError
	if _, err := ForMethod("", 21); !errors.As(err, &method) || method.Error() == "" {
		t.Errorf("no method: %v", err)
	}
	if _, err := ForMethod(eye.Optical, unit.Dioptre(math.Inf(1))); !errors.Is(err, unit.ErrRange) {
		t.Errorf("infinite power: %v", err)
	}
}

// By hand, from the table of derivatives at 23.45 mm: contact length twice.
// Before: (2.770·0.20)² + (0.982·0.25)² + (1.403·0.35)² + (0.706·0.2309)² + 0.27²;
// after: the 0.14 mm within the eye becomes 0.14/√2, the other 0.1428 mm stays.
func TestRepeating(t *testing.T) {
	in, err := ForMethod(eye.Contact, 21.553)
	if err != nil {
		t.Fatal(err)
	}
	b := Budget{At: average(), Inputs: in}
	got, err := Repeating(thin, b, Repeat{AxialLength, 2})
	others := square(0.982*0.25) + square(1.403*0.35) + square(0.706*0.23094) + square(0.27)
	before := math.Sqrt(square(2.770*0.20) + others)
	after := math.Sqrt(square(2.770)*(0.04-0.0196/2) + others)
	if err != nil || math.Abs(float64(got.Before)-before) > 0.0005 || math.Abs(float64(got.After)-after) > 0.0005 {
		t.Errorf("%+v, %v; by hand %.4f and %.4f", got, err, before, after)
	}
	// Immersion: 0.03 mm of 0.10 within the eye; K: 0.15 D of 0.25 between sessions.
	in2, err := ForMethod(eye.Immersion, 21.553)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		kind Kind
		want float64
	}{{AxialLength, math.Sqrt(0.01 - 0.0009/2)}, {MeanK, math.Sqrt(0.0625 - 0.0225/2)}} {
		more, err := Budget{Inputs: in2}.Repeated(Repeat{c.kind, 2})
		if err != nil || math.Abs(more.Inputs[c.kind].SD-c.want) > 1e-12 {
			t.Errorf("%s twice: %v, by hand %v, %v", c.kind, more.Inputs[c.kind].SD, c.want, err)
		}
	}
	if in[0].SD != 0.20 {
		t.Error("the caller's budget was changed")
	}
	for _, r := range []Repeat{{AxialLength, 0}, {ChamberDepth, 2}, {Kind(99), 2}} {
		if _, err := Repeating(thin, b, r); !errors.Is(err, ErrBudget) {
			t.Errorf("%+v: %v", r, err)
		}
	}
	once, err := b.Repeated(Repeat{AxialLength, 1})
	if err != nil || math.Abs(once.Inputs[0].SD-0.20) > 1e-15 {
		t.Errorf("measured once: %v, %v", once.Inputs[0].SD, err)
	}
	for _, k := range []Kind{LensPosition, LensPower, Refraction} { // nothing to measure again before surgery
		if g, err := Repeating(thin, b, Repeat{k, 50}); err != nil || math.Abs(float64(g.Before-g.After)) > 1e-12 {
			t.Errorf("%s: %+v, %v", k, g, err)
		}
	}
}

func TestCorrelations(t *testing.T) {
	inputs := []Input{{Kind: AxialLength, SD: 0.1}, {Kind: ChamberDepth, SD: 0.2}, {Kind: Refraction, SD: 0.3}}
	linear := func(p Point) (unit.Dioptre, error) {
		return unit.Dioptre(-2*float64(p.AxialLength) + float64(p.ChamberDepth)), nil
	}
	with := func(r ...Correlation) Budget { return Budget{Inputs: inputs, Correlations: r} }
	// By hand: 0.2² + 0.2² + 0.3² − 2·0.2·0.2·R.
	for _, c := range []float64{-1, -0.5, 0, 0.5, 1} {
		r := propagate(t, linear, with(Correlation{[2]Kind{ChamberDepth, AxialLength}, c}))
		if want := math.Sqrt(0.17 - 0.08*c); math.Abs(float64(r.SD)-want) > 1e-9 {
			t.Errorf("R %g: %v, want %v", c, r.SD, want)
		}
	}
	pair := func(a, b Kind, r float64) Correlation { return Correlation{[2]Kind{a, b}, r} }
	for name, b := range map[string]Budget{
		"above one":        with(pair(AxialLength, ChamberDepth, 1.01)),
		"not a number":     with(pair(AxialLength, ChamberDepth, math.NaN())),
		"with itself":      with(pair(AxialLength, AxialLength, 1)),
		"absent":           with(pair(AxialLength, MeanK, 0.5)),
		"unknown":          with(pair(AxialLength, Kind(-1), 0.5)),
		"contradictory":    with(pair(AxialLength, ChamberDepth, 0.9), pair(ChamberDepth, Refraction, 0.9), pair(AxialLength, Refraction, -0.9)),
		"no inputs":        {},
		"twice":            {Inputs: []Input{{Kind: MeanK}, {Kind: MeanK}}},
		"unknown kind":     {Inputs: []Input{{Kind: kinds}}},
		"negative":         {Inputs: []Input{{Kind: MeanK, SD: -0.1}}},
		"infinite":         {Inputs: []Input{{Kind: MeanK, SD: math.Inf(1)}}},
		"more than all":    {Inputs: []Input{{Kind: MeanK, SD: 0.1, Fixed: 0.2}}},
		"offset no number": {Inputs: inputs, Offset: unit.Dioptre(math.NaN())},
	} {
		if _, err := Propagate(linear, b); !errors.Is(err, ErrBudget) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestPossible holds the elimination against the eigenvalues of a general
// library, on random symmetric matrices away from the border.
func TestPossible(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 3))
	yes, no := 0, 0
	for range 3000 {
		n := 2 + r.IntN(int(kinds)-1)
		m, lib := matrix{}, mat.NewSymDense(n, nil)
		for i := range n {
			m[i][i] = 1
			lib.SetSym(i, i, 1)
			for j := range i {
				v := 1.6 * (r.Float64() - 0.5)
				m[i][j], m[j][i] = v, v
				lib.SetSym(i, j, v)
			}
		}
		var e mat.EigenSym
		if !e.Factorize(lib, false) {
			t.Fatal("no eigenvalues")
		}
		least := slices.Min(e.Values(nil))
		if math.Abs(least) < 1e-9 {
			continue
		}
		if got := m.possible(n); got != (least > 0) {
			t.Fatalf("least eigenvalue %g: %v for %v", least, got, m)
		}
		if least > 0 {
			yes++
		} else {
			no++
		}
	}
	if yes < 100 || no < 100 {
		t.Errorf("%d possible and %d impossible matrices are too few to tell", yes, no)
	}
	// On the border: A and B move as one, so C must hang on both alike.
	border := matrix{{1, 1, 0.5}, {1, 1, 0.5}, {0.5, 0.5, 1}}
	if !border.possible(3) {
		t.Error("a singular matrix was refused")
	}
	border[1][2], border[2][1] = 0.4, 0.4
	if border.possible(3) {
		t.Error("C hangs on A and B differently though they are one")
	}
}

func TestErrorsOfTheEyeAreReturned(t *testing.T) {
	sum := func(p Point) (unit.Dioptre, error) { return thin(p) }
	b := Budget{At: Point{AxialLength: 5.0005, MeanK: 43.5, LensPower: 20}, Inputs: []Input{{Kind: AxialLength, SD: 0.1}}}
	if _, err := Propagate(sum, b); !errors.Is(err, unit.ErrRange) { // one side of the difference lies in front of the lens
		t.Errorf("edge of the domain: %v", err)
	}
	b.At.AxialLength = 4.9995
	if _, err := Propagate(sum, b); !errors.Is(err, unit.ErrRange) {
		t.Errorf("edge of the domain: %v", err)
	}
	nan := func(Point) (unit.Dioptre, error) { return unit.Dioptre(math.NaN()), nil }
	if _, err := Propagate(nan, b); !errors.Is(err, unit.ErrRange) {
		t.Errorf("not a number: %v", err)
	}
	if _, err := Repeating(nan, b, Repeat{AxialLength, 2}); !errors.Is(err, unit.ErrRange) {
		t.Errorf("not a number: %v", err)
	}
}

func TestKindsHaveKeys(t *testing.T) {
	seen := map[string]bool{}
	for k := range kinds {
		if s := k.String(); s == "" || seen[s] {
			t.Errorf("kind %d: %q", int(k), s)
		}
		seen[k.String()] = true
		moved := Point{}.moved(k, 1)
		if (moved == Point{}) != k.additive() {
			t.Errorf("%s moves %+v", k, moved)
		}
	}
	if Kind(-1).String() != "kind(-1)" {
		t.Error("a kind of nothing")
	}
}

func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		method := rapid.SampledFrom([]eye.LengthMethod{eye.Optical, eye.Immersion, eye.Contact}).Draw(t, "method")
		at := Point{AxialLength: unit.Millimetre(rapid.Float64Range(20, 32).Draw(t, "length")), MeanK: unit.Dioptre(rapid.Float64Range(38, 48).Draw(t, "k")),
			LensPower: unit.Dioptre(rapid.Float64Range(0, 32).Draw(t, "power"))}
		in, err := ForMethod(method, at.LensPower)
		if err != nil {
			t.Fatal(err)
		}
		b := Budget{At: at, Inputs: in}
		r, err := Propagate(thin, b)
		if err != nil {
			t.Fatal(err)
		}
		sum, variance := 0.0, 0.0
		for _, s := range r.Sources {
			sum += s.Share
			variance += square(float64(s.Spread))
			if s.Share < 0 || s.Ref.Key == "" {
				t.Fatalf("%+v", s)
			}
		}
		if math.Abs(sum-1) > 1e-12 || math.Abs(math.Sqrt(variance)-float64(r.SD)) > 1e-12 {
			t.Fatalf("shares add to %v, spreads to %v of %v", sum, math.Sqrt(variance), r.SD)
		}
		// More repeats never spread more, and twice the spreads are twice the SD.
		last := r.SD
		for n := 2; n < 6; n++ {
			g, err := Repeating(thin, b, Repeat{AxialLength, n})
			if err != nil || g.After > last+1e-12 {
				t.Fatalf("%d times: %v after %v, %v", n, g.After, last, err)
			}
			last = g.After
		}
		double := b
		double.Inputs = nil
		for _, i := range in {
			i.SD, i.Fixed = 2*i.SD, 2*i.Fixed
			double.Inputs = append(double.Inputs, i)
		}
		r2, err := Propagate(thin, double)
		if err != nil || math.Abs(float64(r2.SD/r.SD)-2) > 1e-9 {
			t.Fatalf("doubled: %v of %v, %v", r2.SD, r.SD, err)
		}
		// An offset to either side lowers the chance alike.
		r.Offset = 0.3
		plus := r.Within(0.5)
		r.Offset = -0.3
		minus := r.Within(0.5)
		r.Offset = 0
		if math.Abs(float64(plus-minus)) > 1e-9 || plus > r.Within(0.5) || r.Within(1) < r.Within(0.5) {
			t.Fatalf("within 0.5 D: %v, off-centre %v and %v", r.Within(0.5), plus, minus)
		}
	})
}
