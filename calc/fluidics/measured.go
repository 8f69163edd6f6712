package fluidics

import (
	"encoding/json"
	"errors"
	"math"
	"slices"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// MeasuredFormat is the name and version of the file of measurements on one's
// own machine, CalibratedFormat that of the answer.
const (
	MeasuredFormat   = "linn.calibration/1"
	CalibratedFormat = "linn.calibrated/1"
)

// Measured is what was measured on a machine with tape, clamp, stopwatch,
// measuring cylinder and gauge. What was not measured is empty.
type Measured struct {
	Machine  string
	Settings Settings // needle and incision (sleeve) of the free flow; others are not asked
	Head     []HeadZero
	FreeFlow []FreeFlow
	Rises    []RiseTime
	Vacuum   []GaugeReading
	Leaks    []LeakCase
}

// MeasuredPart is one kind of measurement: its key in the file and the keys of
// one measurement with the bounds outside which it is refused.
type MeasuredPart struct {
	Key    string
	Fields []Field
	add    func(*Measured, map[string]float64)
}

func plainNumber(key, name string, low, high float64) Field {
	return Field{Key: key, Unit: name, Bounds: unit.Bounds{Low: low, High: high}, Number: true}
}

// MeasuredParts lists what can be measured, in the order of the work.
var MeasuredParts = []MeasuredPart{
	{"head", []Field{plainNumber("true_cm", "cm", 0, 250), plainNumber("displayed_cm", "cm", 0, 250)}, func(m *Measured, v map[string]float64) {
		m.Head = append(m.Head, HeadZero{True: unit.CentimetreWater(v["true_cm"]), Displayed: unit.CentimetreWater(v["displayed_cm"])})
	}},
	{"free_flow", []Field{plainNumber("head_cm", "cm", 1, 250), plainNumber("volume_ml", "mL", 1, 5000), plainNumber("time_s", "s", 1, 3600)}, func(m *Measured, v map[string]float64) {
		m.FreeFlow = append(m.FreeFlow, FreeFlow{Head: unit.CentimetreWater(v["head_cm"]), Volume: unit.Millilitre(v["volume_ml"]), Time: unit.Second(v["time_s"])})
	}},
	{"rise", []Field{plainNumber("flow_ml_min", "mL/min", 1, 200), plainNumber("vacuum_limit_mmhg", "mmHg", 10, 760), plainNumber("t50_s", "s", 0, 60), plainNumber("t90_s", "s", 0, 60)}, func(m *Measured, v map[string]float64) {
		m.Rises = append(m.Rises, RiseTime{Flow: unit.MillilitrePerMinute(v["flow_ml_min"]), Limit: unit.MillimetreHg(v["vacuum_limit_mmhg"]), T50: unit.Second(v["t50_s"]), T90: unit.Second(v["t90_s"])})
	}},
	{"gauge", []Field{plainNumber("shown_mmhg", "mmHg", 0, 760), plainNumber("true_mmhg", "mmHg", 0, 760)}, func(m *Measured, v map[string]float64) {
		m.Vacuum = append(m.Vacuum, GaugeReading{Shown: unit.MillimetreHg(v["shown_mmhg"]), True: unit.MillimetreHg(v["true_mmhg"])})
	}},
	{"leak", []Field{plainNumber("irrigated_ml", "mL", 0, 5000), plainNumber("aspirated_ml", "mL", 0, 5000), plainNumber("time_s", "s", 10, 7200), plainNumber("mean_pressure_mmhg", "mmHg", 1, 150)}, func(m *Measured, v map[string]float64) {
		m.Leaks = append(m.Leaks, LeakCase{Irrigated: unit.Millilitre(v["irrigated_ml"]), Aspirated: unit.Millilitre(v["aspirated_ml"]), Time: unit.Second(v["time_s"]), Pressure: unit.MillimetreHg(v["mean_pressure_mmhg"])})
	}},
}

// ParseMeasured reads one object of the format, as strictly as ParseSettings.
func ParseMeasured(data []byte) (Measured, finding.Refusals) {
	list, refused := eye.Members(data)
	var m Measured
	for i := range list {
		in := &list[i]
		for _, r := range m.member(in) {
			r.Line, r.Column = in.Line, in.Column
			refused = append(refused, r)
		}
	}
	if len(refused) == 0 && len(m.Head)+len(m.FreeFlow)+len(m.Rises)+len(m.Vacuum)+len(m.Leaks) == 0 {
		refused = append(refused, finding.Refusal{Code: "nothing-measured"})
	}
	return m, refused
}

func (m *Measured) member(in *eye.Member) finding.Refusals {
	switch {
	case strings.HasPrefix(in.Key, "x_"), in.Kind == eye.Null:
		return nil
	case in.Key == "format":
		if in.Kind != eye.Text || in.Text != MeasuredFormat {
			return finding.Refusals{{Code: "unknown-format", Field: "format", Values: finding.Values{{Name: "got", Text: eye.Clip(in.Text)}, {Name: "known", Text: MeasuredFormat}}}}
		}
		return nil
	case in.Key == "machine" && in.Kind == eye.Text:
		m.Machine = strings.TrimSpace(in.Text)
		return nil
	case in.Key == "tip_gauge" || in.Key == "incision_mm":
		if r := m.Settings.member(in); r != nil {
			return finding.Refusals{*r}
		}
		return nil
	}
	known := []string{"format", "machine", "tip_gauge", "incision_mm"}
	for i := range MeasuredParts {
		if p := &MeasuredParts[i]; p.Key == in.Key {
			return m.part(p, in)
		}
		known = append(known, MeasuredParts[i].Key)
	}
	return finding.Refusals{{Code: "unknown-key", Field: eye.Clip(in.Key), Values: finding.Values{{Name: "nearest", Text: eye.Nearest(in.Key, known)}}}}
}

// part reads the list of one kind of measurement.
func (m *Measured) part(p *MeasuredPart, in *eye.Member) (refused finding.Refusals) {
	var raw []json.RawMessage
	if in.Kind != eye.Array || json.Unmarshal([]byte(in.Text), &raw) != nil {
		return finding.Refusals{{Code: "wrong-kind", Field: in.Key, Values: finding.Values{{Name: "wanted", Text: "array"}, {Name: "got", Text: eye.Clip(in.Text)}}}}
	}
	for _, one := range raw {
		list, bad := eye.Members(one)
		texts := map[string]string{}
		for _, v := range list {
			if v.Kind != eye.Number && v.Kind != eye.Text && v.Kind != eye.Null {
				bad = append(bad, finding.Refusal{Code: "wrong-kind", Field: v.Key, Values: finding.Values{{Name: "wanted", Text: "number"}, {Name: "got", Text: eye.Clip(v.Text)}}})
			}
			texts[v.Key] = v.Text
		}
		if len(bad) == 0 {
			bad = p.Add(m, texts)
		}
		refused = append(refused, bad...)
	}
	return refused
}

// Add reads one measurement as typed, by key; every key is needed.
func (p *MeasuredPart) Add(m *Measured, texts map[string]string) (refused finding.Refusals) {
	values, known := map[string]float64{}, []string{}
	for _, f := range p.Fields {
		known = append(known, f.Key)
		v, err := unit.Parse[unit.Ratio](texts[f.Key], f.Key, f.Unit, f.Bounds)
		if err != nil {
			form := eye.Field{Key: f.Key, Unit: f.Unit, Bounds: f.Bounds, Number: true}
			refused = append(refused, form.Refusal(err))
		}
		values[f.Key] = float64(v)
	}
	for key := range texts {
		if !slices.Contains(known, key) && !strings.HasPrefix(key, "x_") {
			refused = append(refused, finding.Refusal{Code: "unknown-key", Field: eye.Clip(key), Values: finding.Values{{Name: "nearest", Text: eye.Nearest(key, known)}}})
		}
	}
	if len(refused) == 0 {
		p.add(m, values)
	}
	return refused
}

// Calibrated is what the measurements say; a part that was not measured, or
// that the data cannot support, is nil.
type Calibrated struct {
	Offset     *Estimate // cm, to be added to the displayed height
	Irrigation *IrrigationFit
	Line       *LineFit
	Vacuum     *GaugeFit
	Leak       *Estimate // (mL/min)/mmHg

	Refused  finding.Refusals // parts that the data cannot support, and why
	Findings []finding.Finding
}

// Complete reports whether envelope and advice may be given for the machine:
// head, irrigation and line are its own.
func (c *Calibrated) Complete() bool { return c.Offset != nil && c.Irrigation != nil && c.Line != nil }

// Fit fits each part on its own; one that is refused does not touch the others.
func (m *Measured) Fit() (c Calibrated) {
	refuse := func(part string, err error) {
		var fit *FitError
		var outside *unit.RangeError
		switch {
		case errors.As(err, &fit):
			c.Refused = append(c.Refused, finding.Refusal{Code: "fit", Field: part, Values: finding.Values{{Name: "what", Text: fit.What}, {Name: "reason", Text: string(fit.Reason)}}})
		case errors.As(err, &outside):
			f := eye.Field{Key: part, Unit: outside.Unit, Bounds: unit.Bounds{Low: outside.Low, High: outside.High}, Number: true}
			c.Refused = append(c.Refused, f.Refusal(err))
		}
	}
	if len(m.Head) > 0 {
		var offsets []float64
		for _, h := range m.Head {
			v, err := h.Offset()
			if err != nil {
				refuse("head", err)
				offsets = nil
				break
			}
			offsets = append(offsets, float64(v))
		}
		if len(offsets) > 0 {
			e := mean(offsets)
			c.Offset = &e
		}
	}
	if len(m.FreeFlow) > 0 {
		fit, err := FitIrrigation(m.FreeFlow)
		if trial := m.Settings.Model(); err == nil {
			err = fit.Apply(&trial) // less than sleeve and channel alone is impossible
		}
		if err != nil {
			refuse("free_flow", err)
		} else {
			c.Irrigation = &fit
		}
	}
	if len(m.Rises) > 0 {
		if fit, err := FitLine(m.Rises); err != nil || fit.Compliance.vague() {
			refuse("rise", orVague(err, "line"))
		} else {
			c.Line, c.Findings = &fit, fit.Findings
		}
	}
	if len(m.Vacuum) > 0 {
		if fit, err := FitGauge(m.Vacuum); err != nil {
			refuse("gauge", err)
		} else {
			c.Vacuum = &fit
		}
	}
	if len(m.Leaks) > 0 {
		if fit, err := FitLeak(m.Leaks); err != nil || fit.vague() {
			refuse("leak", orVague(err, "leak"))
		} else {
			c.Leak = &fit
		}
	}
	return c
}

// vague reports an interval that reaches further than the value itself.
func (e *Estimate) vague() bool { return e.Bounded && e.High-e.Low > 2*math.Abs(e.Value) }

// orVague is err, or that the interval is wider than the value.
func orVague(err error, what string) error {
	if err != nil {
		return err
	}
	return &FitError{what, WiderThanIt}
}

// Apply makes what was calibrated the model's own. Needle and sleeve of the
// model are those of the measurement.
func (c *Calibrated) Apply(m *Model) error {
	if c.Offset != nil {
		m.HeadOffset = unit.CentimetreWater(c.Offset.Value)
	}
	if c.Line != nil {
		m.Compliance = unit.MicrolitrePerMmHg(c.Line.Compliance.Value)
	}
	if c.Leak != nil {
		m.Leak = unit.MillilitrePerMinuteMmHg(c.Leak.Value)
	}
	if c.Irrigation != nil {
		return c.Irrigation.Apply(m)
	}
	return nil
}

type estimateJSON struct {
	Value float64  `json:"value"`
	Low   *float64 `json:"low"`
	High  *float64 `json:"high"`
}

func (e *Estimate) json() *estimateJSON {
	if e == nil {
		return nil
	}
	out := estimateJSON{Value: e.Value}
	if e.Bounded {
		out.Low, out.High = &e.Low, &e.High
	}
	return &out
}

// JSON writes the answer in the format linn.calibrated/1; low and high are the
// 95 % interval, null when there are only as many measurements as unknowns.
func (c *Calibrated) JSON(machine string) ([]byte, error) {
	out := struct {
		Format     string            `json:"format"`
		Machine    string            `json:"machine"`
		Offset     *estimateJSON     `json:"head_offset_cm"`
		Resistance *estimateJSON     `json:"irrigation_mmhg_per_ml_min"`
		Quadratic  *estimateJSON     `json:"irrigation_mmhg_per_ml2_min2"`
		Line       *estimateJSON     `json:"line_compliance_ul_per_mmhg"`
		GaugeZero  *estimateJSON     `json:"gauge_offset_mmhg"`
		GaugeGain  *estimateJSON     `json:"gauge_gain"`
		Leak       *estimateJSON     `json:"leak_ml_min_per_mmhg"`
		Complete   bool              `json:"complete"`
		Refused    []refusedPart     `json:"refused"`
		Findings   []finding.Finding `json:"findings"`
	}{Format: CalibratedFormat, Machine: machine, Offset: c.Offset.json(), Leak: c.Leak.json(), Complete: c.Complete(), Refused: []refusedPart{}, Findings: c.Findings}
	if c.Irrigation != nil {
		out.Resistance, out.Quadratic = c.Irrigation.Resistance.json(), c.Irrigation.Quadratic.json()
	}
	if c.Line != nil {
		out.Line = c.Line.Compliance.json()
	}
	if c.Vacuum != nil {
		out.GaugeZero, out.GaugeGain = c.Vacuum.Offset.json(), c.Vacuum.Gain.json()
	}
	for _, r := range c.Refused {
		reason := r.Values.Get("reason")
		if reason == "" {
			reason = r.Code
		}
		out.Refused = append(out.Refused, refusedPart{r.Field, reason})
	}
	if out.Findings == nil {
		out.Findings = []finding.Finding{}
	}
	return json.Marshal(out)
}

type refusedPart struct {
	Part   string `json:"part"`
	Reason string `json:"reason"`
}
