package audit

import (
	"encoding/csv"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// row is one line of a file of testdata/derived by column name.
type row map[string]string

// table reads a file that R and an independent Python program wrote.
func table(t testing.TB, name string) (list []row) {
	t.Helper()
	f, err := os.Open("testdata/derived/" + name + ".csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	cells, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, line := range cells[1:] {
		r := row{}
		for i, name := range cells[0] {
			r[name] = line[i]
		}
		list = append(list, r)
	}
	return list
}

func (r row) num(t testing.TB, name string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(r[name], 64)
	if err != nil {
		t.Fatalf("%s: %v in %v", name, err, r)
	}
	return v
}

func (r row) near(t testing.TB, name string, got, tol float64) {
	t.Helper()
	if want := r.num(t, name); !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.13g, not %.13g ± %g in %v", name, got, want, tol, r)
	}
}

// sample is S1: first eyes without rupture, 6/12 or better, days 28 to 60; and
// both eyes under the same conditions.
func sample(t testing.TB) (first map[string][]float64, both map[string][]Eye) {
	t.Helper()
	first, both = map[string][]float64{}, map[string][]Eye{}
	for _, r := range table(t, "pe_sample") {
		if d := r.num(t, "days_postop"); r["pcr"] != "0" || r.num(t, "bcva_logmar") > 0.30 || d < 28 || d > 60 {
			continue
		}
		for _, m := range []string{"A", "B", "C", "D"} {
			e := r.num(t, "pe_"+m)
			both[m] = append(both[m], Eye{r["patient"], e})
			if r["eye_order"] == "1" {
				first[m] = append(first[m], e)
			}
		}
	}
	return first, both
}

// results computes every statistic of pe_results that this package has, under
// the names of that file.
func results(t testing.TB) map[string]float64 {
	first, both := sample(t)
	out, zeroed := map[string]float64{}, map[string][]float64{}
	for m, pe := range first {
		zeroed[m] = Zeroed(pe)
		describe(t, out, "S1_raw_"+m, pe)
		describe(t, out, "S1_zeroed_"+m, zeroed[m])
	}
	methods := []string{"A", "B", "C", "D"}
	var rows [][]float64
	var hits [][]bool
	for i := range first["A"] {
		var r []float64
		var h []bool
		for _, m := range methods {
			// printed to ten decimals, on which the ties rest
			e := math.Round(math.Abs(zeroed[m][i])*1e10) / 1e10
			r, h = append(r, e), append(h, e <= 0.5+guard)
		}
		rows, hits = append(rows, r), append(hits, h)
	}
	fr := Friedman(rows)
	out["friedman_absPE_4,chi2"], out["friedman_absPE_4,df"], out["friedman_absPE_4,p"], out["friedman_absPE_4,kendall_W"] = fr.ChiSquared, float64(fr.DF), fr.P, fr.W
	for j, m := range methods {
		out["friedman_absPE_4,mean_rank_"+m] = fr.MeanRanks[j]
	}
	out["cochranQ_within_0.50,Q"], out["cochranQ_within_0.50,p"] = CochranQ(hits)
	pairs(out, methods, zeroed, hits)
	for _, m := range []string{"A", "C"} {
		name := "both_eyes_mean_" + m
		out[name+",se_CR1"], out[name+",se_CR2"] = MeanSE(both[m])
	}
	out["both_eyes,n_eyes"], out["both_eyes,n_patients"] = float64(len(both["A"])), float64(len(Grouped(both["A"])))
	return out
}

func describe(t testing.TB, out map[string]float64, name string, pe []float64) {
	s, err := Describe(pe)
	if err != nil {
		t.Fatal(err)
	}
	for k, v := range map[string]float64{
		"n": float64(s.N), "mean": s.Mean, "sd_n_minus_1": s.SD, "median": s.Median, "mae": s.MAE, "medae": s.MedAE, "rms": s.RMS,
		"trimmed_mean_20": s.Trimmed, "trimmed_mean_abs_20": s.TrimmedAbs, "q05_type7": s.Q05, "q95_type7": s.Q95,
		"mean_ci_lo": s.MeanCI.Low, "mean_ci_hi": s.MeanCI.High, "sd_ci_lo_chisq": s.SDCI.Low, "sd_ci_hi_chisq": s.SDCI.High,
	} {
		out[name+","+k] = v
	}
	for i, step := range Steps {
		out[fmt.Sprintf("%s,count_abs_le_%.2f", name, step)] = float64(s.Within[i])
	}
	if math.Abs(s.Mean*s.Mean+s.SD*s.SD*float64(s.N-1)/float64(s.N)-s.RMS*s.RMS) > 1e-12 {
		t.Errorf("%s: mean² + variance is not RMS²", name)
	}
}

func pairs(out map[string]float64, methods []string, zeroed map[string][]float64, hits [][]bool) {
	var names []string
	var ranked, shares []float64
	for i, a := range methods {
		for j := i + 1; j < len(methods); j++ {
			b := methods[j]
			pair := a + "_" + b
			x, y, d := absolutes(zeroed[a]), absolutes(zeroed[b]), []float64{}
			for k := range x {
				d = append(d, x[k]-y[k])
			}
			w := Wilcoxon(d)
			out["wilcoxon_absPE_"+pair+",V_sum_positive_ranks"], out["wilcoxon_absPE_"+pair+",p_normal_cc"], out["wilcoxon_absPE_"+pair+",n_nonzero"] = w.V, w.P, float64(w.N)
			m := McNemar{}
			for _, h := range hits {
				if h[i] && !h[j] {
					m.OnlyFirst++
				}
				if h[j] && !h[i] {
					m.OnlySecond++
				}
			}
			out["mcnemar_0.50_"+pair+",n10"], out["mcnemar_0.50_"+pair+",n01"] = float64(m.OnlyFirst), float64(m.OnlySecond)
			out["mcnemar_0.50_"+pair+",p_exact"], out["mcnemar_0.50_"+pair+",p_mid"] = m.Exact(), m.MidP()
			s, _ := CompareSpread(zeroed[a], zeroed[b])
			out["depvar_"+pair+",pitman_morgan_t"], out["depvar_"+pair+",pitman_morgan_p"] = s.Classic.T, s.Classic.P
			out["depvar_"+pair+",hc4_t"], out["depvar_"+pair+",hc4_p_df_n_minus_2"] = s.Robust.T, s.Robust.P
			u, _ := CompareTrimmed(x, y)
			out["yuend_absPE_"+pair+",trimmed_diff"], out["yuend_absPE_"+pair+",se"], out["yuend_absPE_"+pair+",df"], out["yuend_absPE_"+pair+",p"] = u.Difference, u.SE, u.DF, u.P
			names, ranked, shares = append(names, pair), append(ranked, w.P), append(shares, m.Exact())
		}
	}
	for k, p := range Holm(ranked) {
		out["wilcoxon_absPE_"+names[k]+",p_holm6"] = p
	}
	for k, p := range Holm(shares) {
		out["mcnemar_0.50_"+names[k]+",p_holm6"] = p
	}
}

// What of pe_results this package does not compute, with the reason.
var elsewhere = []string{
	"filter", "gee_", "lmm_", "naive_", "se_CR0", "shapiro_", "skewness", "kurtosis", "iqr", "mad_", ",min", ",max", // description nobody is shown
	"p_normal_nocc", "p_bonferroni", "p_bh6", "chi2_nocc", "chi2_cc", "pitman_morgan_r", "hc3_t", "paired_t", // variants beside the one we use
	"fellow_eye", // learned constants
	"wilcoxon_small_exact",
}

// Every statistic against R and Python, to the file's tolerance.
func TestAgainstR(t *testing.T) {
	got, checked := results(t), 0
	for _, r := range table(t, "pe_results") {
		key := r["case"] + "," + r["quantity"]
		v, ok := got[key]
		if !ok {
			if !slices.ContainsFunc(elsewhere, func(s string) bool { return strings.Contains(key, s) }) {
				t.Errorf("%s is not computed", key)
			}
			continue
		}
		tol := math.Max(r.num(t, "tol"), 1e-12)
		r.near(t, "value_r", v, tol)
		r.near(t, "value_py", v, tol)
		checked++
	}
	t.Logf("%d statistics", checked)
	if checked < 250 {
		t.Errorf("only %d statistics of the file are checked", checked)
	}
}

// Ten differences whose positive ranks sum to 8: 25 of the 1024 subsets of 1
// to 10 lie as low, counted here by trying them all.
func TestWilcoxonExact(t *testing.T) {
	w := Wilcoxon([]float64{1, -2, -3, -4, -5, -6, 7, -8, -9, -10})
	low := 0
	for s := range 1024 {
		sum := 0
		for b := range 10 {
			sum += (s >> b & 1) * (b + 1)
		}
		if sum <= 8 {
			low++
		}
	}
	if !w.Exact || w.V != 8 || w.P != 2*float64(low)/1024 || w.P != 0.048828125 {
		t.Errorf("%+v, %d subsets", w, low)
	}
}

func TestProportions(t *testing.T) {
	for _, r := range table(t, "binomial_ci") {
		x, tol := Tally{int(r.num(t, "events")), int(r.num(t, "n"))}, r.num(t, "tol")
		w, e, j := x.Wilson(), x.Exact(), x.Jeffreys()
		r.near(t, "wilson_lo", w.Low, tol)
		r.near(t, "wilson_hi", w.High, tol)
		r.near(t, "cp_lo", e.Low, tol)
		r.near(t, "cp_hi", e.High, tol)
		r.near(t, "jeffreys_lo", j.Low, tol)
		r.near(t, "jeffreys_hi", j.High, tol)
		r.near(t, "cp_upper_one_sided95", x.UpTo(), tol)
	}
	for _, r := range table(t, "two_proportions") {
		n := func(s string) int { return int(r.num(t, s)) }
		d, i := Tally{n("x1"), n("n1")}.Less(Tally{n("x2"), n("n2")})
		r.near(t, "diff", d, r.num(t, "tol"))
		r.near(t, "newcombe10_lo", i.Low, r.num(t, "tol"))
		r.near(t, "newcombe10_hi", i.High, r.num(t, "tol"))
	}
	for _, r := range table(t, "oe_ratio") {
		ratio, i := Expected{int(r.num(t, "observed")), r.num(t, "expected")}.Ratio()
		r.near(t, "oe", ratio, r.num(t, "tol"))
		r.near(t, "exact_lo", i.Low, r.num(t, "tol"))
		r.near(t, "exact_hi", i.High, r.num(t, "tol"))
	}
	for _, r := range table(t, "funnel_limits") {
		f, tol := FunnelLimits(int(r.num(t, "n")), r.num(t, "target")), r.num(t, "tol")
		r.near(t, "lo95", f.Inner.Low, tol)
		r.near(t, "hi95", f.Inner.High, tol)
		r.near(t, "lo998", f.Outer.Low, tol)
		r.near(t, "hi998", f.Outer.High, tol)
	}
}

// None in 20 is compatible with a true rate up to 14 %: 0.95 that none of 20
// happens at the rate 1 − 0.05^(1/20).
func TestNoneInTwenty(t *testing.T) {
	if got, want := (Tally{0, 20}).UpTo(), 1-math.Pow(0.05, 0.05); math.Abs(got-want) > 1e-12 || math.Abs(got-0.139) > 0.0005 {
		t.Errorf("%v, not %v", got, want)
	}
	if b := (Tally{10, 50}).Bounds(50); b != (Interval{0.1, 0.6}) {
		t.Errorf("bounds %v", b)
	}
}

// The percentile interval against the other engines', to their Monte-Carlo
// tolerance, with two seeds; a seed gives the same interval twice.
func TestBootstrap(t *testing.T) {
	first, _ := sample(t)
	var groups [][]float64
	for _, e := range Zeroed(first["A"]) {
		groups = append(groups, []float64{e})
	}
	of := map[string]func([]float64) float64{"mean": mean, "mae": MAE, "sd": SD}
	for _, seed := range []uint64{1, 2} {
		for _, r := range table(t, "bootstrap_results") {
			name, bound, ok := strings.Cut(r["quantity"], "_")
			if f := of[name]; r["case"] == "bootstrap_percentile_zeroed_A" && ok && f != nil && strings.HasSuffix(bound, "95") {
				i := Bootstrap(groups, f, Resample{10000, rand.NewPCG(seed, 7)})
				v := i.Low
				if bound == "hi95" {
					v = i.High
				}
				r.near(t, "value_r", v, r.num(t, "tol"))
			}
		}
	}
	a, b := Bootstrap(groups, SD, Resample{200, rand.NewPCG(3, 3)}), Bootstrap(groups, SD, Resample{200, rand.NewPCG(3, 3)})
	if a != b {
		t.Error("the same seed gives another interval")
	}
}

func TestBadInput(t *testing.T) {
	for _, pe := range [][]float64{nil, {math.NaN()}, {0.1, math.Inf(1)}} {
		if _, err := Describe(pe); err == nil {
			t.Errorf("%v is described", pe)
		}
	}
	one, err := Describe([]float64{0.3})
	if err != nil || !math.IsNaN(one.SD) || !math.IsNaN(one.MeanCI.Low) || one.Within[1] != 1 {
		t.Errorf("one eye: %+v %v", one, err)
	}
	same := []float64{0.1, 0.1, 0.1, 0.1}
	if _, ok := CompareSpread(same, same); ok {
		t.Error("identical rows are compared")
	}
	if _, ok := CompareTrimmed(same, same); ok {
		t.Error("identical rows are compared")
	}
	if w := Wilcoxon(make([]float64, 5)); w.P != 1 || w.N != 0 {
		t.Errorf("%+v", w)
	}
	if f := Friedman([][]float64{{1, 1}, {2, 2}}); f.P != 1 {
		t.Errorf("%+v", f)
	}
	if q, p := CochranQ([][]bool{{true, true}, {false, false}}); q != 0 || p != 1 {
		t.Errorf("Q %v p %v", q, p)
	}
	if (Tally{3, 2}).Valid() || (Tally{0, 0}).Valid() || (Tally{-1, 5}).Valid() || !(Tally{0, 5}).Valid() {
		t.Error("counts that cannot be")
	}
}

// Signs: turning every error turns mean and median and leaves the rest; order
// changes nothing.
func TestTurned(t *testing.T) {
	first, _ := sample(t)
	pe := first["C"]
	turned := make([]float64, len(pe))
	for i, e := range pe {
		turned[len(pe)-1-i] = -e
	}
	a, _ := Describe(pe)
	b, _ := Describe(turned)
	if math.Abs(a.Mean+b.Mean) > 1e-12 || math.Abs(a.Median+b.Median) > 1e-12 || math.Abs(a.SD-b.SD) > 1e-12 || a.MedAE != b.MedAE || !slices.Equal(a.Within, b.Within) {
		t.Errorf("%+v against %+v", a, b)
	}
}
