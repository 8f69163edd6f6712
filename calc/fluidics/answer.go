package fluidics

import (
	"encoding/json"
	"strings"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// AnswerFormat is the name and version of the chamber answer's format.
const AnswerFormat = "linn.chamber/1"

var (
	modelRef = source.Ref{Key: source.OwnModel, Where: "chamber model", Grade: source.Own}

	referenceModel = finding.Declare(finding.Rule{Code: "reference-model", Severity: finding.Note, Ref: modelRef,
		Limit: "always: the numbers are a model's, not a machine's; the break is the worst case"})
	defaultsTaken = finding.Declare(finding.Rule{Code: "reference-values", Severity: finding.Note, Ref: modelRef,
		Limit: "a setting is absent and takes the reference model's value"})
	flowIgnored = finding.Declare(finding.Rule{Code: "flow-ignored", Severity: finding.Note, Ref: source.Ref{Key: source.Linn, Where: "input rules", Grade: source.Own},
		Limit: "flow given for a vacuum pump, which sets none"})
	limitNotReached = finding.Declare(finding.Rule{Code: "vacuum-limit-not-reached", Severity: finding.Note, Ref: modelRef,
		Limit: "vacuum at the end of the occlusion below 99 % of the limit"})
	chamberCollapse = finding.Declare(finding.Rule{Code: "chamber-collapse", Severity: finding.Caution, Ref: modelRef,
		Limit: "after the break below 5 mmHg, or more volume lost than the chamber holds"})
	chamberNotFormed = finding.Declare(finding.Rule{Code: "chamber-not-formed", Severity: finding.Caution, Ref: modelRef,
		Limit: "below 5 mmHg with the tip open and steady"})
	infusionAtCeiling = finding.Declare(finding.Rule{Code: "infusion-at-ceiling", Severity: finding.Caution, Ref: modelRef,
		Limit: "forced infusion cannot hold its set pressure: the source would need more than 150 mmHg"})
	blockedPressureHigh = finding.Declare(finding.Rule{Code: "blocked-pressure-high", Severity: finding.Note, Ref: perfusionRef,
		Limit: "chamber above 60 mmHg while the tip is blocked"})
)

// reachedPart of the limit counts as reached.
var reachedPart = declare("limit-reached-part", 0.99, "", choice)

// Model is the reference model with what the settings say.
func (s *Settings) Model() Model {
	m := Reference()
	set(s.Bottle, &m.Bottle)
	set(s.HeadOffset, &m.HeadOffset)
	m.Forced = s.Forced
	set(s.Flow, &m.Flow)
	set(s.VacuumLimit, &m.VacuumLimit)
	if s.Pump != "" {
		m.Pump = s.Pump
	}
	if n, err := NeedleOf(s.TipGauge.Value); s.TipGauge.Known && err == nil {
		m.Needle = n
	}
	if b, err := SleeveBore(s.Incision.Value); s.Incision.Known && err == nil {
		m.Sleeve.Bore = b
	}
	set(s.LineCompliance, &m.Compliance)
	set(s.LineBore, &m.Line.Bore)
	set(s.Leak, &m.Leak)
	set(s.Bypass, &m.BypassBore)
	set(s.WoundFactor, &m.Sleeve.WoundFactor)
	set(s.PumpDroop, &m.Droop)
	set(s.ChamberVolume, &m.ChamberVolume)
	return m
}

func set[U unit.Quantity](r unit.Reading[U], to *U) {
	if r.Known {
		*to = r.Value
	}
}

// Break is the trial the settings ask for: 3 s blocked and an instant break
// unless they say otherwise.
func (s *Settings) Break() Break {
	return Break{Hold: s.Occlusion.Or(unit.Second(refHold)), Opening: s.Opening.Or(0)}
}

// Run answers for the settings and says what there is to say about them. The
// settings come from ParseSettings or passed Check; others may be a
// *unit.RangeError.
func (s *Settings) Run() (Answer, []finding.Finding, error) {
	if err := s.gauges(); err != nil {
		return Answer{}, nil, err
	}
	m := s.Model()
	a, err := m.Run(s.Break())
	if err != nil {
		return Answer{}, nil, err
	}
	return a, s.Findings(&a), nil
}

// gauges refuses a gauge or incision that the tables do not hold.
func (s *Settings) gauges() error {
	if s.TipGauge.Known {
		if _, err := NeedleOf(s.TipGauge.Value); err != nil {
			return err
		}
	}
	if s.Incision.Known {
		if _, err := SleeveBore(s.Incision.Value); err != nil {
			return err
		}
	}
	return nil
}

// Findings says what stands beside the answer a.
func (s *Settings) Findings(a *Answer) []finding.Finding {
	m := s.Model()
	list := []finding.Finding{referenceModel.On("")}
	if keys := s.absent(); len(keys) > 0 {
		list = append(list, defaultsTaken.On("", finding.Value{Name: "keys", Text: strings.Join(keys, ", ")}))
	}
	if m.Pump == Vacuum && s.Flow.Known {
		list = append(list, flowIgnored.On("flow_ml_min", finding.Value{Name: "got", Text: s.Flow.Value.String()}))
	}
	two := func(r finding.Rule, field string, got unit.MillimetreHg, limit unit.MillimetreHg) {
		list = append(list, r.On(field, finding.Value{Name: "got", Text: got.String()}, finding.Value{Name: "limit", Text: limit.String()}))
	}
	if a.Steady.AtCeiling {
		two(infusionAtCeiling, "forced_mmhg", max(a.Open, 0), s.Forced.Value)
	}
	if float64(a.Open) < formedAbove {
		two(chamberNotFormed, "", max(a.Open, 0), unit.MillimetreHg(formedAbove))
	}
	list = append(list, CheckPressure("", a.Open)...)
	if float64(a.Blocked) > highPressure && float64(a.Open) <= highPressure {
		two(blockedPressureHigh, "", a.Blocked, unit.MillimetreHg(highPressure))
	}
	if float64(a.BlockedVacuum) < reachedPart*float64(m.VacuumLimit) {
		two(limitNotReached, "vacuum_limit_mmhg", max(a.BlockedVacuum, 0), m.VacuumLimit)
	}
	if a.Collapse {
		lost := min(a.Lost, m.ChamberVolume) // what is missing beyond it, the globe lacks: no number for people
		list = append(list, chamberCollapse.On("", finding.Value{Name: "lost", Text: TwoFigures(float64(lost)) + unit.Thin + "µL"},
			finding.Value{Name: "chamber", Text: m.ChamberVolume.String()}))
	}
	return list
}

// absent lists the keys that take the reference value; the alternatives to what
// is given, and those that mean "none", are not missed.
func (s *Settings) absent() (keys []string) {
	for i := range Fields {
		f := &Fields[i]
		if f.get(s) != "" {
			continue
		}
		switch f.Key {
		case "forced_mmhg", "head_offset_cm", "bypass_mm", "occlusion_s", "break_s":
		case "bottle_cm":
			if !s.Forced.Known {
				keys = append(keys, f.Key)
			}
		case "flow_ml_min", "pump_droop":
			if s.Pump != Vacuum {
				keys = append(keys, f.Key)
			}
		default:
			keys = append(keys, f.Key)
		}
	}
	return keys
}

// answerJSON is the answer's file format.
type answerJSON struct {
	Format        string            `json:"format"`
	Open          float64           `json:"open_mmhg"`
	Blocked       float64           `json:"blocked_mmhg"`
	BlockedVacuum float64           `json:"blocked_vacuum_mmhg"`
	Rise          *float64          `json:"rise_s"`
	Peak          float64           `json:"peak_outflow_ml_min"`
	Minimum       float64           `json:"minimum_mmhg"`
	MinimumAt     float64           `json:"minimum_at_s"`
	Lost          float64           `json:"volume_lost_ul"`
	Recovery      float64           `json:"recovery_s"`
	Collapse      bool              `json:"collapse"`
	Findings      []finding.Finding `json:"findings"`
}

// JSON writes the answer with its findings in the format linn.chamber/1,
// numbers unrounded.
func (a *Answer) JSON(findings []finding.Finding) ([]byte, error) {
	out := answerJSON{Format: AnswerFormat, Open: positive(a.Open), Blocked: positive(a.Blocked), BlockedVacuum: positive(a.BlockedVacuum),
		Peak: positive(a.Peak), Minimum: positive(a.Minimum), MinimumAt: positive(a.MinimumAt), Lost: positive(a.Lost), Recovery: positive(a.Recovery),
		Collapse: a.Collapse, Findings: findings}
	if findings == nil {
		out.Findings = []finding.Finding{}
	}
	if a.Rise.Known {
		v := positive(a.Rise.Value)
		out.Rise = &v
	}
	return json.Marshal(out)
}

// positive turns −0 into 0 and leaves every other number alone.
func positive[U unit.Quantity](v U) float64 { return float64(v) + 0 }
