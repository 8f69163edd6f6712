package audit

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"linn/unit"
)

func TestWeights(t *testing.T) {
	for _, r := range table(t, "cusum_weights") {
		if r["R0"] != "1" {
			continue // our charts start from the model's odds
		}
		w := Odds{unit.Ratio(r.num(t, "p")), r.num(t, "RA")}.Weights()
		r.near(t, "W_event", w.Event, r.num(t, "tol"))
		r.near(t, "W_no_event", w.NoEvent, r.num(t, "tol"))
	}
	// steiner2000 p. 446 as printed: logit p = −3.68 + 0.077·score.
	for _, x := range []struct{ score, ratio, none, event float64 }{
		{0, 2, -0.024, 0.669}, {0, 0.5, 0.012, -0.681}, {50, 2, -0.433, 0.260}, {50, 0.5, 0.316, -0.377},
	} {
		p := 1 / (1 + math.Exp(3.68-0.077*x.score))
		w := Odds{unit.Ratio(p), x.ratio}.Weights()
		if math.Abs(w.NoEvent-x.none) > 0.0006 || math.Abs(w.Event-x.event) > 0.0006 {
			t.Errorf("score %v ratio %v: %+v", x.score, x.ratio, w)
		}
	}
}

// The path of the case series, without reset and, at limit 2, with it.
func TestPath(t *testing.T) {
	var cases []Case
	rows := table(t, "racusum_path")
	for _, r := range rows {
		cases = append(cases, Case{unit.Ratio(r.num(t, "p_expected")), r["y"] == "1"})
	}
	free, err := Chart(cases, Watch{2, math.Inf(1)})
	if err != nil {
		t.Fatal(err)
	}
	reset, _ := Chart(cases, Watch{2, 2})
	down, _ := Chart(cases, Watch{0.5, math.Inf(1)})
	for i, r := range rows {
		tol := r.num(t, "tol")
		r.near(t, "S_up_no_reset", free[i].Level, tol)
		r.near(t, "S_up_reset_h2", reset[i].Level, tol)
		r.near(t, "signal_up_h2", boolean(reset[i].Signal), 0)
		r.near(t, "S_down", down[i].Level, tol)
		r.near(t, "vlad", free[i].VLAD, tol)
	}
}

// 104 arterial switch operations (deleval1994): where the level passes 2 and 3.
func TestRealSeries(t *testing.T) {
	for _, r := range table(t, "cusum_real_series") {
		cases := make([]Case, int(r.num(t, "n")))
		for i := range cases {
			cases[i].Chance = unit.Ratio(r.num(t, "p0"))
		}
		for _, at := range strings.Split(r["event_cases"], "|") {
			i, err := strconv.Atoi(at)
			if err != nil {
				t.Fatal(err)
			}
			cases[i-1].Event = true
		}
		points, err := Chart(cases, Watch{r.num(t, "RA"), math.Inf(1)})
		if err != nil {
			t.Fatal(err)
		}
		top, at, two, three := 0.0, 0, 0, 0
		for i, p := range points {
			if p.Level > top {
				top, at = p.Level, i+1
			}
			if p.Level >= 2 && two == 0 {
				two = i + 1
			}
			if p.Level >= 3 && three == 0 {
				three = i + 1
			}
		}
		r.near(t, "S_max", top, r.num(t, "tol"))
		r.near(t, "S_max_case", float64(at), 0)
		r.near(t, "S_end", points[len(points)-1].Level, r.num(t, "tol"))
		for name, got := range map[string]int{"first_case_S_ge_2": two, "first_case_S_ge_3": three} {
			if want := r[name]; want != strconv.Itoa(got) && !(want == "" || want == "NA") {
				t.Errorf("%s is %d, not %s", name, got, want)
			}
		}
	}
}

// Chance of a signal and mean run length in a mix, beside another chain of
// 3000 cells, to the file's 2 %.
func TestRunLengths(t *testing.T) {
	for _, r := range table(t, "racusum_arl") {
		var m Mix
		shares := strings.Split(r["mix_w"], "|")
		for i, p := range strings.Split(r["mix_p"], "|") {
			chance, _ := strconv.ParseFloat(p, 64)
			share, _ := strconv.ParseFloat(shares[i], 64)
			m = append(m, Part{unit.Ratio(chance), share})
		}
		run := Run{m, Watch{r.num(t, "RA"), r.num(t, "h")}, r.num(t, "RQ")}
		tol := r.num(t, "tol_rel")
		for _, n := range []int{100, 200, 400} {
			name := "p_signal_by_" + strconv.Itoa(n)
			r.near(t, name, run.SignalWithin(n), tol*r.num(t, name))
		}
		if run.Odds == 1 {
			length, err := run.Length(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			r.near(t, "arl", length, tol*r.num(t, "arl"))
		}
	}
}

// Mean run lengths as printed (racusum-integral): logit p = −3.6798 +
// 0.0768·71·s, s ~ Beta(1, 3), limit 4.5. The mix is taken at 60
// quantiles, hence 1 %: the two printed engines are 1.3 % apart.
func TestPublishedRunLengths(t *testing.T) {
	beta := distuv.Beta{Alpha: 1, Beta: 3}
	var m Mix
	for i := range 60 {
		s := beta.Quantile((float64(i) + 0.5) / 60)
		m = append(m, Part{unit.Ratio(1 / (1 + math.Exp(3.6798-0.0768*71*s))), 1.0 / 60})
	}
	for ratio, want := range map[float64]float64{2: 4485.203, 0.5: 5731.772} {
		got, err := Run{m, Watch{ratio, 4.5}, 1}.Length(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("ratio %v: %.1f, printed %.1f", ratio, got, want)
		if math.Abs(got/want-1) > 0.01 {
			t.Errorf("ratio %v: run length %.1f, printed %.1f", ratio, got, want)
		}
	}
}

// The limit chosen for a year's false signals shows them in years simulated
// case by case: within 4 standard errors of 20 000 years and the 0.002 that the
// cells of the chain leave.
func TestLimitInSimulatedYears(t *testing.T) {
	m := Mix{{0.01, 0.5}, {0.02, 0.3}, {0.05, 0.15}, {0.12, 0.05}}
	const cases, years, chance = 200, 20000, 0.10
	w := Watch{2, 0}
	w.Limit = Limit(Run{Mix: m, Watch: w}, cases, chance)
	draw, signals := rand.New(rand.NewPCG(11, 12)), 0
	for range years {
		level := 0.0
		for range cases {
			u, k := draw.Float64(), 0
			for u > m[k].Share && k < len(m)-1 {
				u -= m[k].Share
				k++
			}
			add := Odds{m[k].Chance, 2}.Weights()
			if draw.Float64() < float64(m[k].Chance) {
				level += add.Event
			} else {
				level = math.Max(0, level+add.NoEvent)
			}
			if level >= w.Limit {
				signals++
				break
			}
		}
	}
	share := float64(signals) / years
	t.Logf("limit %.3f: %.4f of simulated years", w.Limit, share)
	if math.Abs(share-chance) > 4*math.Sqrt(chance*(1-chance)/years)+0.002 {
		t.Errorf("limit %.3f signals in %.4f of years, not %.2f", w.Limit, share, chance)
	}
}

func TestWald(t *testing.T) {
	for _, r := range table(t, "wald_cusum") {
		l, tol := Wald{r.num(t, "p0"), r.num(t, "p1"), r.num(t, "alpha"), r.num(t, "beta")}.Limits(), r.num(t, "tol")
		r.near(t, "one_minus_s", l.Event, tol)
		r.near(t, "s", -l.NoEvent, tol)
		r.near(t, "h0", -l.Accept, tol)
		r.near(t, "h1", l.Reject, tol)
		r.near(t, "min_cases_to_cross_h0_without_failure", math.Ceil(l.Accept/l.NoEvent), 0)
	}
}

func TestLearning(t *testing.T) {
	for _, r := range table(t, "lccusum") {
		w, tol := Learning{r.num(t, "p0"), r.num(t, "delta")}.Weights(), r.num(t, "tol")
		r.near(t, "W_success", w.NoEvent, tol)
		r.near(t, "W_failure", w.Event, tol)
		for _, n := range []int{50, 100} {
			r.near(t, "p_signal_by_"+strconv.Itoa(n), w.Declared(r.num(t, "h"), r.num(t, "p"), n), tol)
		}
	}
}

func TestChartRefuses(t *testing.T) {
	for _, p := range []unit.Ratio{0, 1, -0.1, unit.Ratio(math.NaN())} {
		if _, err := Chart([]Case{{p, false}}, Watch{2, 3}); err == nil {
			t.Errorf("a chance of %v is charted", p)
		}
	}
	if points, err := Chart(nil, Watch{2, 3}); err != nil || len(points) != 0 {
		t.Error("no cases")
	}
}

func TestMixOf(t *testing.T) {
	m := MixOf([]unit.Ratio{0.05, 0.01, 0.01, 0.02})
	share, mean := 0.0, 0.0
	for _, p := range m {
		share += p.Share
		mean += p.Share * float64(p.Chance)
	}
	if math.Abs(share-1) > 1e-12 || math.Abs(mean-0.0225) > 1e-12 || len(MixOf(nil)) != 0 {
		t.Errorf("%v", m)
	}
}
