package invent

import (
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"sort"
	"testing"

	"linn/calc/biometry"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

var asOf = unit.Date{Year: 2024, Month: 5, Day: 14}

func seeded(seed uint64) rand.Source { return rand.NewPCG(seed, 7) }

func ward(n int) []Pair { return Ward(seeded(1), Order{People: n, AsOf: asOf}) }

func TestSameSeedSameWard(t *testing.T) {
	if !reflect.DeepEqual(ward(50), ward(50)) {
		t.Error("one seed, two wards")
	}
	if reflect.DeepEqual(ward(50), Ward(seeded(2), Order{People: 50, AsOf: asOf})) {
		t.Error("two seeds, one ward")
	}
}

func TestWardFitsTheFormat(t *testing.T) {
	for _, p := range ward(2000) {
		for _, e := range p.Eyes() {
			reread(t, e)
			if e.Fellow.Fellow != nil || e.Fellow.Side != e.Side.Other() {
				t.Fatalf("%s: fellow %s", e.Side, e.Fellow.Side)
			}
			if age, ok := p.Person.Born.AgeOn(asOf); !ok || math.Abs(float64(age-e.Age.Value)) > 1 {
				t.Fatalf("born %s, age %v", p.Person.Born, e.Age.Value)
			}
		}
		if !reflect.DeepEqual(*p.Right.Fellow, unpaired(p.Left)) {
			t.Fatal("the right eye's fellow is not the left eye")
		}
	}
}

func unpaired(e eye.Eye) eye.Eye { e.Fellow = nil; return e }

// reread sends an eye through the file format and back.
func reread(t *testing.T, e *eye.Eye) {
	t.Helper()
	data, err := e.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	got, _, refused := eye.ParseJSON(data)
	if refused.Err() != nil {
		t.Fatalf("%s\n%v", data, refused)
	}
	if got.AxialLength.Value != e.AxialLength.Value || got.KFlat.Value != e.KFlat.Value || got.KSteep.Value != e.KSteep.Value {
		t.Fatalf("changed on the way: %s", data)
	}
}

// near holds a sample figure against print with a tolerance that says why.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	t.Logf("%-44s %8.3f (print %g)", what, got, want)
	if math.Abs(got-want) > tolerance {
		t.Errorf("%s: %.4f, want %g ± %g", what, got, want, tolerance)
	}
}

// column collects one reading of the first eyes drawn: right or left does not
// matter, both have the same distribution up to the length difference.
func column(list []Pair, get func(*eye.Eye) float64) []float64 {
	out := make([]float64, len(list))
	for i := range list {
		out[i] = get(&list[i].Right)
	}
	return out
}

var readings = map[string]func(*eye.Eye) float64{
	"length":   func(e *eye.Eye) float64 { return float64(e.AxialLength.Value) },
	"k":        func(e *eye.Eye) float64 { return float64(e.KFlat.Value+e.KSteep.Value) / 2 },
	"chamber":  func(e *eye.Eye) float64 { return float64(e.ACD.Value) },
	"lens":     func(e *eye.Eye) float64 { return float64(e.LensThickness.Value) },
	"width":    func(e *eye.Eye) float64 { return float64(e.WhiteToWhite.Value) },
	"cornea":   func(e *eye.Eye) float64 { return float64(e.CornealThickness.Value) },
	"cylinder": func(e *eye.Eye) float64 { return float64(e.KSteep.Value - e.KFlat.Value) },
	"age":      func(e *eye.Eye) float64 { return float64(e.Age.Value) },
}

// TestMoments holds the ward against the series it is drawn from (BMC
// Ophthalmol 2021;21:168, grade a). Tolerance: 2 % of the SD for sampling, and
// what redrawing outside the format and flooring the age take away.
func TestMoments(t *testing.T) {
	list := ward(20000)
	s := biometry.China
	for name, m := range map[string]biometry.Moments{"length": s.Length, "k": s.MeanK, "chamber": s.Chamber, "lens": s.Lens,
		"width": s.Width, "cornea": s.Thickness, "cylinder": s.Cylinder} {
		mean, sd := meanSD(column(list, readings[name]))
		near(t, name+" mean", mean, m.Mean, 0.03*m.SD)
		near(t, name+" SD", sd, m.SD, 0.04*m.SD)
	}
	mean, sd := meanSD(column(list, readings["age"]))
	near(t, "age mean (whole years)", mean+0.5, s.Age.Mean, 0.3)
	near(t, "age SD", sd, s.Age.SD, 0.3)
}

// TestCorrelations: same series, Spearman, two decimals printed. Tolerance
// 0.02: sampling 0.005, half a printed digit 0.005, rounding of readings.
func TestCorrelations(t *testing.T) {
	list := ward(20000)
	s := biometry.China
	for _, c := range []struct {
		a, b string
		want float64
	}{{"length", "chamber", s.LengthChamber}, {"length", "k", s.LengthK}, {"chamber", "lens", s.ChamberLens},
		{"chamber", "width", s.ChamberWidth}, {"chamber", "age", s.ChamberAge}, {"chamber", "k", s.ChamberK}, {"length", "cylinder", s.LengthCylinder}} {
		near(t, c.a+" with "+c.b, spearman(column(list, readings[c.a]), column(list, readings[c.b])), c.want, 0.02)
	}
}

// TestSharesOfOtherSeries compares shapes we chose with shares other series
// print (read in abstracts and open papers): West China 13.7 % above 26.5 mm and
// 35.5 % of cylinders above 1 D, Central China 10.6 % above 2 D, UK 3.7 %
// above 3 D. They are other people: 3 points are allowed.
func TestSharesOfOtherSeries(t *testing.T) {
	list := ward(20000)
	share := func(name string, limit float64) float64 {
		n := 0
		for _, v := range column(list, readings[name]) {
			if v > limit {
				n++
			}
		}
		return 100 * float64(n) / float64(len(list))
	}
	near(t, "length above 26.5 mm, %", share("length", 26.5), 13.7, 3)
	near(t, "cylinder above 1 D, %", share("cylinder", 1), 35.5, 3)
	near(t, "cylinder above 2 D, %", share("cylinder", 2), 10.6, 3)
	near(t, "cylinder above 3 D, %", share("cylinder", 3), 3.7, 3)
	with, against := 0, 0
	for i := range list {
		switch a := float64(list[i].Right.KSteepAxis.Value); {
		case a >= 60 && a <= 120:
			with++
		case a <= 30 || a >= 150:
			against++
		}
	}
	// Hoffmann & Hütz 2010.
	near(t, "steep meridian within 30° of 90°, %", 100*float64(with)/float64(len(list)), 46.8, 1)
	near(t, "steep meridian within 30° of 180°, %", 100*float64(against)/float64(len(list)), 34.4, 1)
}

// TestBetweenEyes holds the length differences against Rajan 2008 (1,379
// people in the UK): 0.3 mm or more in 24 %, 95th centile 0.5 mm when the
// longer eye is at most 22 mm and 4.0 mm from 28 mm on. Lengths are drawn with
// the moments of a UK series (23.99 ± 1.85 mm, 2,247 eyes), since the ward's
// own series has more long eyes. The UK guideline calls 0.92 D about
// the outer 5 % (grade c).
func TestBetweenEyes(t *testing.T) {
	uk := biometry.China
	uk.Length = biometry.Moments{Mean: 23.99, SD: 1.85}
	r := rand.New(seeded(3))
	var all, short, long, corneas []float64
	for len(all) < 40000 {
		p, ok := pairOf(r, &uk, 1, asOf)
		if !ok {
			continue
		}
		a, b := readings["length"](&p.Right), readings["length"](&p.Left)
		d := math.Abs(a - b)
		all = append(all, d)
		switch longer := max(a, b); {
		case longer <= 22:
			short = append(short, d)
		case longer >= 28:
			long = append(long, d)
		}
		corneas = append(corneas, math.Abs(readings["k"](&p.Right)-readings["k"](&p.Left)))
	}
	// Readings carry two decimals: 0.295 rounds to 0.30.
	near(t, "0.3 mm or more apart, %", 100*shareFrom(all, 0.2999), 24, 1.5)
	near(t, "95th centile, longer eye ≤ 22 mm", quantile(short, 0.95), 0.5, 0.05)
	near(t, "95th centile, longer eye ≥ 28 mm", quantile(long, 0.95), 4.0, 0.4)
	// Not held: the guideline's "about the outer 5 %" for 0.7 mm (grade c, and it
	// does not say of which eyes) lies below what the printed centiles give.
	t.Logf("more than 0.7 mm apart: %.1f %%", 100*shareFrom(all, 0.7001))
	near(t, "K more than 0.92 D apart, %", 100*shareFrom(corneas, 0.92), 5, 0.5)
}

func shareFrom(v []float64, from float64) float64 {
	n := 0
	for _, x := range v {
		if x >= from {
			n++
		}
	}
	return float64(n) / float64(len(v))
}

func quantile(v []float64, p float64) float64 {
	sort.Float64s(v)
	return v[int(p*float64(len(v)-1))]
}

func meanSD(v []float64) (mean, sd float64) {
	for _, x := range v {
		mean += x / float64(len(v))
	}
	for _, x := range v {
		sd += square(x-mean) / float64(len(v)-1)
	}
	return mean, math.Sqrt(sd)
}

func spearman(a, b []float64) float64 {
	ra, rb := ranks(a), ranks(b)
	ma, sa := meanSD(ra)
	mb, sb := meanSD(rb)
	sum := 0.0
	for i := range ra {
		sum += (ra[i] - ma) * (rb[i] - mb)
	}
	return sum / (float64(len(a)-1) * sa * sb)
}

// ranks gives equal values their mean rank.
func ranks(v []float64) []float64 {
	order := make([]int, len(v))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		switch {
		case v[i] < v[j]:
			return -1
		case v[i] > v[j]:
			return 1
		}
		return 0
	})
	out := make([]float64, len(v))
	for i := 0; i < len(order); {
		j := i
		for j < len(order) && v[order[j]] == v[order[i]] {
			j++
		}
		for k := i; k < j; k++ {
			out[order[k]] = float64(i+j-1) / 2
		}
		i = j
	}
	return out
}

// ordinary is the eye of the alert budget: adult, both eyes unoperated, inputs
// recorded, length 21.2–26.6 mm, K 40–47 D, cylinder at most 2.5 D, eyes
// within 0.7 mm and 1.0 D.
func ordinary(e *eye.Eye) bool {
	k, errK := biometry.MeanK(e)
	cylinder, errC := biometry.Cylinder(e)
	other, errO := biometry.MeanK(e.Fellow)
	if errK != nil || errC != nil || errO != nil {
		return false
	}
	length := float64(e.AxialLength.Value)
	return length >= 21.2 && length <= 26.6 && k >= 40 && k <= 47 && cylinder <= 2.5 &&
		math.Abs(length-float64(e.Fellow.AxialLength.Value)) <= 0.7 && math.Abs(float64(k-other)) <= 1
}

// TestAlertBudget: of ordinary eyes at most 2 % may get a stop and 15 % a
// caution. Half the people were measured before, by the same method with its
// own spread, so that the suspicion of swapped sides can misfire.
func TestAlertBudget(t *testing.T) {
	const wanted = 20000
	list := ward(wanted)
	r := rand.New(seeded(9))
	n, worst, by := 0, map[finding.Severity]int{}, map[string]int{}
	others, everyone := 0, map[finding.Severity]int{}
	for i := range list {
		before := r.IntN(2) == 0
		for _, e := range list[i].Eyes() {
			o := biometry.Options{}
			if before {
				o.Earlier = again(r, e)
			}
			found := biometry.Check(e, o)
			if !ordinary(e) {
				others++
				everyone[finding.Worst(found)]++
				continue
			}
			n++
			worst[finding.Worst(found)]++
			for _, f := range found {
				by[f.Severity.String()+" "+f.Code]++
			}
		}
	}
	if n < wanted {
		t.Fatalf("only %d ordinary eyes", n)
	}
	share := func(c int) float64 { return 100 * float64(c) / float64(n) }
	t.Logf("%d ordinary eyes of %d: stop %.2f %%, caution %.2f %%, note only %.2f %%, nothing %.2f %%", n, 2*wanted,
		share(worst[finding.Stop]), share(worst[finding.Caution]), share(worst[finding.Note]), share(worst[0]))
	t.Logf("%d other eyes: stop %d, caution %d", others, everyone[finding.Stop], everyone[finding.Caution])
	for _, code := range sortedKeys(by) {
		t.Logf("  %-40s %6.2f %%", code, share(by[code]))
	}
	if share(worst[finding.Stop]) > 2 {
		t.Errorf("stops on %.2f %% of ordinary eyes, budget 2 %%", share(worst[finding.Stop]))
	}
	if c := share(worst[finding.Stop] + worst[finding.Caution]); c > 15 {
		t.Errorf("cautions or stops on %.2f %% of ordinary eyes, budget 15 %%", c)
	}
}

func sortedKeys(m map[string]int) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

// again measures a person's eyes once more, with the spread of the method
// (optical 0.025 mm, immersion 0.1, contact 0.2; K 0.2 D, as in the error
// budget).
func again(r *rand.Rand, e *eye.Eye) *eye.Eye {
	sd := map[eye.LengthMethod]float64{eye.Optical: 0.025, eye.Immersion: 0.1, eye.Contact: 0.2}[e.AxialLengthMethod]
	noisy := func(e eye.Eye) *eye.Eye {
		e.AxialLength.Value += unit.Millimetre(sd * r.NormFloat64())
		d := unit.Dioptre(0.2 * r.NormFloat64())
		e.KFlat.Value += d
		e.KSteep.Value += d
		return &e
	}
	out := noisy(*e)
	out.Fellow = noisy(*e.Fellow)
	return out
}

// TestSwapIsFound measures how often an exchange of sides is noticed when an
// earlier record exists. A lower bound keeps the rule from going blind.
func TestSwapIsFound(t *testing.T) {
	r := rand.New(seeded(11))
	total, found := 0, 0
	for _, p := range ward(20000) {
		if math.Abs(float64(p.Right.AxialLength.Value-p.Left.AxialLength.Value)) < 0.5 || p.Right.AxialLengthMethod == eye.Contact {
			continue
		}
		was := again(r, &p.Right)
		right, _ := join(unpaired(p.Left), unpaired(p.Right))
		total++
		if finding.Has(biometry.Check(&right, biometry.Options{Earlier: was}), "sides-maybe-swapped") {
			found++
		}
	}
	t.Logf("eyes 0.5 mm or more apart, not by contact: %d of %d swaps noticed", found, total)
	if found < total*95/100 {
		t.Errorf("%d of %d swaps noticed", found, total)
	}
}

func TestLengthsNeedADay(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("a ward without a day")
		}
	}()
	Ward(seeded(1), Order{People: 1, AsOf: unit.Date{Year: 2024}})
}
