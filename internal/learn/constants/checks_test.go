package constants

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"testing"

	"linn/unit"
)

// The files of testdata/derived are second implementations in R and in Python
// over a synthetic sample; both values stand in them with a tolerance.

func table(t *testing.T, name string) (rows []map[string]string) {
	t.Helper()
	f, err := os.Open("testdata/derived/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, l := range lines[1:] {
		row := map[string]string{}
		for i, cell := range l {
			row[lines[0][i]] = cell
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// expected holds computed values against a file of quantities; every row of the
// file must be asked for.
func expected(t *testing.T, name, only string, got map[string]float64) {
	t.Helper()
	seen := 0
	for _, row := range table(t, name) {
		if only != "" && row["case"] != only {
			continue
		}
		key := row["case"] + "/" + row["quantity"]
		have, ok := got[key]
		if !ok {
			t.Errorf("%s: %s is not checked", name, key)
			continue
		}
		seen++
		tol := number(t, row["tol"]) + 1e-11*math.Abs(have) // the file prints 12 digits
		for _, column := range []string{"value_r", "value_py"} {
			if want := number(t, row[column]); !(math.Abs(have-want) <= tol) {
				t.Errorf("%s %s: %.12g, want %.12g within %g", key, column, have, want, tol)
			}
		}
	}
	if seen != len(got) {
		t.Errorf("%s: %d of %d values found", name, seen, len(got))
	}
}

// ruleA is the sample's own prediction rule: d = c + 0.4·ACD + 0.12·AL at index
// 1336, refraction at the cornea. Written from the reference page.
type ruleA struct{ al, k, acd, p float64 }

const index = 1336.0

func (r ruleA) Predict(c unit.Constant) (unit.Dioptre, error) {
	return r.At(unit.Millimetre(float64(c) + 0.4*r.acd + 0.12*r.al))
}

func (r ruleA) At(at unit.Millimetre) (unit.Dioptre, error) {
	d := float64(at)
	l := index/(r.al-d) - r.p
	return unit.Dioptre(l/(1+d*l/index) - r.k), nil
}

func (r ruleA) Placed(achieved unit.Dioptre) (unit.Millimetre, bool) {
	b := index / (r.k + float64(achieved))
	under := (b-r.al)*(b-r.al) + 4*index*(b-r.al)/r.p
	return unit.Millimetre((r.al + b - math.Sqrt(under)) / 2), under >= 0
}

func (r ruleA) Readings() (acd, length unit.Millimetre) {
	return unit.Millimetre(r.acd), unit.Millimetre(r.al)
}

// slope is the closed form of the change of refraction with position.
func (r ruleA) slope(d float64) float64 {
	before := index / (r.al - d)
	l := before - r.p
	q := 1 + d*l/index
	return (before*before - l*l) / index / (q * q)
}

// sample is set S1: first eyes without rupture, 6/12 or better, day 28 to 60.
func sample(t *testing.T) Set {
	s := Set{InForce: 0.9, Reach: reachMM}
	for _, row := range table(t, "audit_pe_sample.csv") {
		days := number(t, row["days_postop"])
		if row["eye_order"] != "1" || row["pcr"] != "0" || number(t, row["bcva_logmar"]) > 0.30 || days < 28 || days > 60 {
			continue
		}
		rule := ruleA{number(t, row["al_mm"]), number(t, row["k_d"]), number(t, row["acd_mm"]), number(t, row["iol_p_d"])}
		s.Cases = append(s.Cases, Case{ID: row["eye_id"], Achieved: unit.Dioptre(number(t, row["se_post_d"])), Predictor: rule})
	}
	if len(s.Cases) != 110 {
		t.Fatalf("%d eyes in S1, want 110", len(s.Cases))
	}
	return s
}

func fitted(t *testing.T, s Set, by Criterion) Fit {
	t.Helper()
	f, err := s.Fit(by)
	if err != nil {
		t.Fatal(by, err)
	}
	return f
}

func TestConstantsOfTheSample(t *testing.T) {
	s := sample(t)
	zero, middle, square, absolute := fitted(t, s, ZeroMean), fitted(t, s, ZeroMedian), fitted(t, s, LeastRMS), fitted(t, s, LeastMAE)
	start := s.errors(0.9)
	shortcut, closed := 0.0, 0.0
	for _, c := range s.Cases {
		r := c.Predictor.(ruleA)
		shortcut += 0.0006 * (r.p*r.p + 2*r.k*r.p) / 110
		closed += r.slope(0.9+0.4*r.acd+0.12*r.al) / 110
	}
	if g := s.gradient(0.9); math.Abs(g-closed) > 1e-7 {
		t.Errorf("gradient %v, closed form %v", g, closed)
	}
	jack, resampled := jackknife(t, s), resample(t, s)
	regressed, err := s.FitPositions()
	if err != nil {
		t.Fatal(err)
	}
	three, err := s.FitThree()
	if err != nil {
		t.Fatal(err)
	}
	expected(t, "audit_lens_constant_results.csv", "", map[string]float64{
		"const_A/c_start": 0.9, "const_A/me_start": float64(zero.Before.Mean), "const_A/mean_gradient_at_start": closed,
		"const_A/c_zero_mean": float64(zero.Value), "const_A/sd_at_zero_mean": float64(zero.After.SD), "const_A/sd_at_start": float64(zero.Before.SD),
		"const_A/c_one_newton_step": 0.9 + mean(start)/closed, "const_A/c_one_step_0.0006_rule": 0.9 + mean(start)/shortcut,
		"const_A/c_min_rms": float64(square.Value), "const_A/rms_at_min": float64(square.After.RMS), "const_A/me_at_min_rms": float64(square.After.Mean),
		"const_A/c_min_mae": float64(absolute.Value), "const_A/mae_at_min": float64(absolute.After.MAE), "const_A/mae_at_zero_mean": float64(zero.After.MAE),
		"const_A/c_zero_median": float64(middle.Value), "const_A/jackknife_se_c_zero_mean": jack, "const_A/bootstrap_se_c_zero_mean": resampled,
		"const_A/delta_method_se": float64(zero.SE),
		"elp/mean_backsolved":     float64(regressed.MeanPosition), "elp/sd_backsolved": float64(regressed.SDPlaced),
		"elp_regression/a0": float64(regressed.A0), "elp_regression/se_a0": float64(regressed.SEA0),
		"elp_regression/a1_acd": float64(regressed.A1), "elp_regression/se_a1": float64(regressed.SEA1),
		"elp_regression/a2_al": float64(regressed.A2), "elp_regression/se_a2": float64(regressed.SEA2),
		"elp_regression/r2": float64(regressed.R2), "elp_regression/residual_sd": float64(regressed.Residual),
		"elp_regression/pe_mean": float64(regressed.Errors.Mean), "elp_regression/pe_sd": float64(regressed.Errors.SD), "elp_regression/pe_mae": float64(regressed.Errors.MAE),
		"elp_nls_min_rms/a0": float64(three.A0), "elp_nls_min_rms/a1_acd": float64(three.A1), "elp_nls_min_rms/a2_al": float64(three.A2),
		"elp_nls_min_rms/rms": float64(three.Errors.RMS), "elp_nls_min_rms/mean_pe": float64(three.Errors.Mean),
	})
}

// jackknife is the second way to the standard error.
func jackknife(t *testing.T, s Set) float64 {
	t.Helper()
	n := len(s.Cases)
	values := make([]float64, n)
	for i := range s.Cases {
		less := s
		less.Cases = append(append([]Case{}, s.Cases[:i]...), s.Cases[i+1:]...)
		values[i] = float64(fitted(t, less, ZeroMean).Value)
	}
	return sd(values) * float64(n-1) / math.Sqrt(float64(n))
}

// resample is the third: 800 samples with return.
func resample(t *testing.T, s Set) float64 {
	t.Helper()
	random := seeded(1)
	values := make([]float64, 800)
	for i := range values {
		again := s
		again.Cases = make([]Case, len(s.Cases))
		for j := range again.Cases {
			again.Cases[j] = s.Cases[random.IntN(len(s.Cases))]
		}
		values[i] = float64(fitted(t, again, ZeroMean).Value)
	}
	return sd(values)
}

func TestShrinkAgainstTheTable(t *testing.T) {
	rows := table(t, "audit_shrinkage.csv")
	for i, row := range rows {
		n := number(t, row["n"])
		got, err := Shrink(Observed{int(n), unit.Dioptre(number(t, row["mean_pe"])), unit.Dioptre(number(t, row["sigma"]))},
			Prior{unit.Dioptre(number(t, row["prior_mean"])), unit.Dioptre(number(t, row["tau"]))})
		if err != nil {
			t.Fatal(err)
		}
		for column, have := range map[string]float64{"weight": float64(got.Weight), "post_mean": float64(got.Mean), "post_sd": float64(got.SD),
			"lo95": float64(got.Low), "hi95": float64(got.High), "predictive_sd_next": float64(got.NextSD)} {
			close(t, fmt.Sprint("row ", i+1, " ", column), have, number(t, row[column]), number(t, row["tol"]))
		}
	}
	if len(rows) != 28 {
		t.Errorf("%d rows", len(rows))
	}
}

func TestPoolAgainstTheTable(t *testing.T) {
	rows := table(t, "audit_shrinkage_multi.csv")
	var list []Observed
	for _, row := range rows {
		list = append(list, Observed{int(number(t, row["n"])), unit.Dioptre(number(t, row["mean_pe"])), unit.Dioptre(number(t, row["sd"]))})
	}
	p, err := Pool(list)
	if err != nil {
		t.Fatal(err)
	}
	for i, row := range rows {
		for column, have := range map[string]float64{"var_mean": list[i].variance(), "fixed_mean": float64(p.Fixed), "Q": float64(p.Q), "tau2_DL": p.Tau2,
			"re_mean": float64(p.Random), "re_se": float64(p.SE), "I2": float64(p.I2), "shrunk_mean": float64(p.Shrunk[i].Mean), "shrink_weight": float64(p.Shrunk[i].Weight)} {
			close(t, row["surgeon"]+" "+column, have, number(t, row[column]), number(t, row["tol"]))
		}
	}
	if len(rows) != 8 {
		t.Errorf("%d rows", len(rows))
	}
}

// TestGradientTable holds the numeric gradient of an eye against the closed
// forms of the page.
func TestGradientTable(t *testing.T) {
	rows := table(t, "audit_lens_gradient.csv")
	for _, row := range rows {
		d := number(t, row["elp_mm"])
		r := ruleA{number(t, row["al_mm"]), number(t, row["k_d"]), 0, number(t, row["p_d"])}
		at, _ := r.At(unit.Millimetre(d))
		close(t, "refraction", float64(at), number(t, row["refraction_corneal_d"]), number(t, row["tol"]))
		g := placed{Positioned: r}.slope(d)
		close(t, "slope", g, number(t, row["dR_dELP_d_per_mm"]), number(t, row["tol"]))
	}
	if len(rows) != 7 {
		t.Errorf("%d rows", len(rows))
	}
}

// TestFellowEyes uses the second eyes whose first is in S1.
func TestFellowEyes(t *testing.T) {
	pairs := fellows(t)
	f, err := OwnWeight(pairs)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]float64{"n_pairs": float64(f.N), "pearson_r": float64(f.Correlation), "slope_second_on_first": float64(f.Slope), "slope_through_origin": float64(f.ThroughOrigin)}
	for _, share := range []float64{0, 0.25, 0.5, 0.75, 1} {
		got[fmt.Sprintf("mae_second_after_%.2f_correction", share)] = float64(taken(pairs, share))
	}
	all := map[string]float64{}
	for k, v := range got {
		all["fellow_eye_A/"+k] = v
	}
	expected(t, "audit_fellow_eye.csv", "fellow_eye_A", all)
	if f.Weight < 0.36 || f.Weight > 0.5 {
		t.Errorf("weight %v is not between the own slope and one half", f.Weight)
	}
}

func fellows(t *testing.T) (pairs []Eyes) {
	t.Helper()
	first := map[string]float64{}
	for _, want := range []string{"1", "2"} {
		for _, row := range table(t, "audit_pe_sample.csv") {
			days := number(t, row["days_postop"])
			if row["eye_order"] != want || row["pcr"] != "0" || number(t, row["bcva_logmar"]) > 0.30 || days < 28 || days > 60 {
				continue
			}
			e := number(t, row["pe_A"])
			if one, ok := first[row["patient"]]; ok && want == "2" {
				pairs = append(pairs, Eyes{unit.Dioptre(one), unit.Dioptre(e)})
			} else if want == "1" {
				first[row["patient"]] = e
			}
		}
	}
	return pairs
}

func close(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol+1e-11*math.Abs(want)) { // the file prints 12 digits
		t.Errorf("%s: %.12g, want %.12g", what, got, want)
	}
}
