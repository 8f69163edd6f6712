package fluidics

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"linn/finding"
	"linn/unit"
)

// A machine whose numbers are known is measured in the model and found again.
func TestMeasuredRoundTrip(t *testing.T) {
	m := Reference()
	m.HeadOffset, m.Compliance, m.Tube.Bore = 6, 0.22, 2.7
	free := m
	free.Sleeve.WoundFactor = 1
	parts, err := free.Elements()
	if err != nil {
		t.Fatal(err)
	}
	drop := func(q unit.MillilitrePerMinute) unit.MillimetreHg {
		return parts[0].Drop(q) + parts[1].Drop(q) + parts[2].Drop(q)
	}
	var data Measured
	for _, q := range []unit.MillilitrePerMinute{50, 80, 110} {
		data.FreeFlow = append(data.FreeFlow, FreeFlow{Head: drop(q).CentimetreWater(), Volume: unit.Millilitre(q), Time: 60})
	}
	for _, q := range []float64{20, 40} {
		c := 0.22 * 400 / (q * 1000 / 60) // C V/q
		data.Rises = append(data.Rises, RiseTime{Flow: unit.MillilitrePerMinute(q), Limit: 400, T50: unit.Second(0.5 * c), T90: unit.Second(0.9 * c)})
	}
	data.Head = []HeadZero{{96, 90}, {76, 70}}
	fit := data.Fit()
	if len(fit.Refused) > 0 || !fit.Complete() {
		t.Fatalf("%+v", fit)
	}
	found := Reference()
	if err := fit.Apply(&found); err != nil {
		t.Fatal(err)
	}
	if math.Abs(float64(found.HeadOffset-6)) > 1e-9 || math.Abs(float64(found.Compliance-0.22)) > 1e-9 || math.Abs(float64(found.Tube.Bore-2.7)) > 0.02 {
		t.Errorf("offset %v, compliance %v, bore %v", found.HeadOffset, found.Compliance, found.Tube.Bore)
	}
}

func TestMeasuredRefuses(t *testing.T) {
	for in, want := range map[string]string{
		`{"rise":{}}`: "wrong-kind", `{"rise":[1]}`: "not-json-object", `{"rise":[{"flow_ml_min":true}]}`: "wrong-kind", `{"format":"linn.eye/1"}`: "unknown-format",
		`{"tip_gauge":18}`: "out-of-range", `{"head":[{"true_cm":1,"displayed_cm":1,"time_s":1}]}`: "unknown-key", `{"machine":1,"head":[]}`: "unknown-key", `{`: "not-json",
	} {
		_, refused := ParseMeasured([]byte(in))
		if len(refused) == 0 || refused[0].Code != want {
			t.Errorf("%s: %+v, want %s", in, refused, want)
		}
	}
	for in, want := range map[string]string{
		`{"free_flow":[{"head_cm":2,"volume_ml":80,"time_s":10},{"head_cm":3,"volume_ml":130,"time_s":10}]}`: "impossible", // better than sleeve and channel alone
		`{"gauge":[{"shown_mmhg":300,"true_mmhg":339}]}`:                                                     "too-few",
	} {
		m, refused := ParseMeasured([]byte(in))
		if len(refused) > 0 {
			t.Fatal(refused)
		}
		if fit := m.Fit(); len(fit.Refused) != 1 || fit.Refused[0].Values.Get("reason") != want || fit.Complete() {
			t.Errorf("%s: %+v", in, fit)
		}
	}
	m, refused := ParseMeasured([]byte(`{"head":[{"true_cm":20,"displayed_cm":90}]}`))
	if fit := m.Fit(); len(refused) > 0 || fit.Offset == nil || fit.Offset.Value != -70 || finding.Has(fit.Findings, "x") {
		t.Error(fit, refused)
	}
}

// No text makes the parser or the fits panic, and what they answer is JSON
// without NaN.
func FuzzParseMeasured(f *testing.F) {
	for _, s := range []string{`{"rise":[{"flow_ml_min":20,"vacuum_limit_mmhg":400,"t50_s":0.18,"t90_s":0.33},{"flow_ml_min":40,"vacuum_limit_mmhg":400,"t50_s":0.18,"t90_s":0.33}]}`,
		`{"free_flow":[{"head_cm":"60,5","volume_ml":80,"time_s":70},{"head_cm":90,"volume_ml":110,"time_s":69}]}`, `{"leak":[{"irrigated_ml":1,"aspirated_ml":1,"time_s":10,"mean_pressure_mmhg":1}]}`, `{"head":[null]}`, `[`} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		m, refused := ParseMeasured(data)
		if len(refused) > 0 {
			return
		}
		fit := m.Fit()
		b, err := fit.JSON(strings.ToValidUTF8(m.Machine, ""))
		if err != nil || !json.Valid(b) {
			t.Fatal(err, string(b))
		}
	})
}
