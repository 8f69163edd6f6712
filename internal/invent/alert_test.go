package invent

import (
	"math/rand/v2"
	"strconv"
	"testing"

	"linn/calc/biometry"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/plan"
)

// shares are how often a finding is met among people listed for cataract
// surgery. They are of our own choosing, of the order of the published series
// (exfoliation, retinopathy, alpha blockers and raised pressure differ widely
// between countries); the budget is tried at twice each as well.
var shares = []struct {
	key, word string
	share     float64
}{
	{"lid_or_sac_infection", "yes", 0.004}, {"uveitis", "active", 0.002}, {"macular_oedema", "yes", 0.004}, {"retinopathy", "proliferative", 0.006},
	{"exfoliation", "yes", 0.012}, {"phacodonesis", "yes", 0.002}, {"corneal_oedema", "yes", 0.001}, {"only_eye", "yes", 0.01}, {"cataract", "posterior-polar", 0.002},
	{"vitrectomy_past", "yes", 0.006}, {"graft", "yes", 0.0005}, {"fellow_complicated", "yes", 0.003}, {"tremor", "yes", 0.006}, {"unstable_heart_or_lungs", "yes", 0.003},
	{"lens_glaucoma", "phacomorphic", 0.001}, {"alpha_blocker", "tamsulosin", 0.04}, {"glucose_above_local_limit", "yes", 0.03},
}

// examined answers the questions for one person; times multiplies the shares.
func examined(r *rand.Rand, times float64) map[string]string {
	a := map[string]string{"lies_flat": "yes", "cooperates": "yes", "light_perception": "yes", "fundus_view": "yes", "projection_accurate": "yes", "afferent_defect": "no"}
	for _, s := range shares {
		if r.Float64() < times*s.share {
			a[s.key] = s.word
		}
	}
	a["iop_mmhg"] = strconv.Itoa(max(6, min(60, int(15.5+3.2*r.NormFloat64()))))
	a["endothelium_cells_mm2"] = strconv.Itoa(max(300, int(2450+330*r.NormFloat64())))
	a["systolic_mmhg"] = strconv.Itoa(max(90, int(138+15*r.NormFloat64())))
	return a
}

// drawnUp are the drugs of one operation, drawn up with the spread that was
// measured of small volumes (0.12 ± 0.02 ml for 0.1 ml: we take 10 % of the
// volume, and one syringe in 500 at the other strength).
func drawnUp(r *rand.Rand) []map[string]string {
	volume := strconv.FormatFloat(0.1*(1+0.1*max(-1.8, min(1.8, r.NormFloat64()))), 'f', 3, 64)
	strength := "0.5"
	if r.IntN(500) == 0 {
		strength = "0.1"
	}
	by := func(m map[string]string) map[string]string { m["prepared_by"], m["checked_by"] = "a", "b"; return m }
	return []map[string]string{by(map[string]string{"drug": "lidocaine", "route": "sub-tenon", "strength_percent": "2", "volume_ml": "4"}),
		by(map[string]string{"drug": "moxifloxacin", "route": "intracameral", "strength_percent": strength, "volume_ml": volume})}
}

// TestAlertBudgetWithTechnique is the budget with the rules of technique, of
// doses and of consent beside those of the readings: stops on at most 2 %,
// cautions or stops on at most 15 % of ordinary eyes.
func TestAlertBudgetWithTechnique(t *testing.T) {
	// At twice the shares there is no budget: that run shows how far it bends.
	for _, c := range []struct{ times, stop, caution float64 }{{1, 2, 15}, {2, 2, 20}} {
		r := rand.New(seeded(11))
		n, stops, cautions, by := 0, 0, 0, map[string]int{}
		for _, p := range ward(1600) {
			for _, e := range p.Eyes() {
				if !ordinary(e) {
					continue
				}
				n++
				found := append(biometry.Check(e, biometry.Options{}), besideReadings(r, e, c.times)...)
				switch finding.Worst(found) {
				case finding.Stop:
					stops++
				case finding.Caution:
					cautions++
				}
				for _, f := range found {
					if f.Severity > finding.Note {
						by[f.Severity.String()+" "+f.Code]++
					}
				}
			}
		}
		share := func(k int) float64 { return 100 * float64(k) / float64(n) }
		t.Logf("shares × %g, %d ordinary eyes: stop %.2f %%, caution or stop %.2f %%", c.times, n, share(stops), share(stops+cautions))
		for _, code := range sortedKeys(by) {
			t.Logf("  %-40s %6.2f %%", code, share(by[code]))
		}
		if share(stops) > c.stop || share(stops+cautions) > c.caution {
			t.Errorf("× %g: stop %.2f %%, caution or stop %.2f %%", c.times, share(stops), share(stops+cautions))
		}
	}
}

func besideReadings(r *rand.Rand, e *eye.Eye, times float64) []finding.Finding {
	in := plan.Clinical{Answers: examined(r, times), Technique: "phaco", Anaesthesia: "sub-tenon", Reason: "x", Weight: strconv.Itoa(45 + r.IntN(40)), AllergiesAsked: true, Drugs: drawnUp(r),
		Statements: []plan.Statement{{By: plan.ByPlan, Side: e.Side, Procedure: "phaco"}, {By: plan.ByConsent, Side: e.Side, Procedure: "phaco"}}}
	return in.Decide(e).Findings
}
