package fluidics

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// Format is the name and version of the chamber settings' file format.
const Format = "linn.chamber-settings/1"

// Settings are what a surgeon sets or knows of a machine, tip and eye. What is
// not Known takes the reference model's value.
type Settings struct {
	Bottle         unit.Reading[unit.CentimetreWater] // or Forced, never both
	Forced         unit.Reading[unit.MillimetreHg]
	HeadOffset     unit.Reading[unit.CentimetreWater]
	Flow           unit.Reading[unit.MillilitrePerMinute]
	VacuumLimit    unit.Reading[unit.MillimetreHg]
	Pump           Pump // "": not recorded
	TipGauge       unit.Reading[Gauge]
	Incision       unit.Reading[unit.Millimetre]
	LineCompliance unit.Reading[unit.MicrolitrePerMmHg]
	LineBore       unit.Reading[unit.Millimetre]
	Leak           unit.Reading[unit.MillilitrePerMinuteMmHg]
	Bypass         unit.Reading[unit.Millimetre]
	WoundFactor    unit.Reading[unit.Ratio]
	PumpDroop      unit.Reading[unit.Ratio]
	ChamberVolume  unit.Reading[unit.Microlitre]
	Occlusion      unit.Reading[unit.Second]
	Opening        unit.Reading[unit.Second]
}

// Field describes one key of the settings: its unit, and the bounds outside
// which a value is refused.
type Field struct {
	Key    string
	Unit   string      // as people write it, "" for a pure number or a word
	Bounds unit.Bounds // meaningful when Number
	Number bool
	Words  []string // the allowed words
	set    func(*Settings, string) error
	get    func(*Settings) string
}

// Get returns the field of s as text that Set would take again, "" when it was
// not recorded.
func (f *Field) Get(s *Settings) string { return f.get(s) }

// Set reads text into the field of s, or says why it refuses.
func (f *Field) Set(s *Settings, text string) *finding.Refusal {
	err := f.set(s, text)
	if err == nil {
		return nil
	}
	form := eye.Field{Key: f.Key, Unit: f.Unit, Bounds: f.Bounds, Number: f.Number, Words: f.Words}
	r := form.Refusal(err)
	return &r
}

func number[U unit.Quantity](key, name string, low, high float64, at func(*Settings) *unit.Reading[U]) Field {
	f := Field{Key: key, Unit: name, Bounds: unit.Bounds{Low: low, High: high}, Number: true}
	bounds := f.Bounds
	f.set = func(s *Settings, text string) error {
		v, err := unit.Parse[U](text, key, name, bounds)
		if err != nil {
			return err
		}
		*at(s) = unit.Reading[U]{Value: v, Known: true, Text: text}
		return nil
	}
	f.get = func(s *Settings) string {
		switch r := at(s); {
		case !r.Known:
			return ""
		case r.Text != "":
			return r.Text
		default:
			return strconv.FormatFloat(float64(r.Value), 'f', -1, 64)
		}
	}
	return f
}

// gaugeField is a number that must be one of the gauges.
func gaugeField(key string, at func(*Settings) *unit.Reading[Gauge]) Field {
	f := number(key, "G", 19, 22, at)
	plain := f.set
	f.set = func(s *Settings, text string) error {
		var trial Settings
		if err := plain(&trial, text); err != nil {
			return err
		}
		if r := *at(&trial); slices.Contains(Gauges(), r.Value) {
			*at(s) = r
			return nil
		}
		return finding.Refusal{Code: "unknown-word", Field: key, Values: finding.Values{
			{Name: "got", Text: eye.Clip(text)}, {Name: "allowed", Text: "19, 20, 21, 22"}, {Name: "nearest", Text: ""}}}
	}
	return f
}

func pumpField(key string) Field {
	words := []string{string(Peristaltic), string(Vacuum)}
	return Field{Key: key, Words: words,
		set: func(s *Settings, text string) error {
			if i := slices.Index(words, text); i >= 0 {
				s.Pump = Pump(words[i])
				return nil
			}
			return finding.Refusal{Code: "unknown-word", Field: key, Values: finding.Values{{Name: "got", Text: eye.Clip(text)},
				{Name: "allowed", Text: strings.Join(words, ", ")}, {Name: "nearest", Text: eye.Nearest(text, words)}}}
		},
		get: func(s *Settings) string { return string(s.Pump) }}
}

// Fields lists the keys of the settings in the order of the format's
// description. The gauges and the incisions are those of the sleeve table; the
// vacuum limit ends where a fluid of 25 °C boils at sea level. The other bounds
// are our own choice: wider than any machine in use, narrow enough to catch a
// slip of the pen.
var Fields = []Field{
	number("bottle_cm", "cm", 0, 200, func(s *Settings) *unit.Reading[unit.CentimetreWater] { return &s.Bottle }),
	number("forced_mmhg", "mmHg", 5, 140, func(s *Settings) *unit.Reading[unit.MillimetreHg] { return &s.Forced }),
	number("head_offset_cm", "cm", -50, 50, func(s *Settings) *unit.Reading[unit.CentimetreWater] { return &s.HeadOffset }),
	number("flow_ml_min", "mL/min", 1, 100, func(s *Settings) *unit.Reading[unit.MillilitrePerMinute] { return &s.Flow }),
	number("vacuum_limit_mmhg", "mmHg", 10, 736, func(s *Settings) *unit.Reading[unit.MillimetreHg] { return &s.VacuumLimit }),
	pumpField("pump"),
	gaugeField("tip_gauge", func(s *Settings) *unit.Reading[Gauge] { return &s.TipGauge }),
	number("incision_mm", "mm", 1.8, 2.8, func(s *Settings) *unit.Reading[unit.Millimetre] { return &s.Incision }),
	number("line_compliance_ul_per_mmhg", "µL/mmHg", 0.01, 2, func(s *Settings) *unit.Reading[unit.MicrolitrePerMmHg] { return &s.LineCompliance }),
	number("line_bore_mm", "mm", 0.8, 3, func(s *Settings) *unit.Reading[unit.Millimetre] { return &s.LineBore }),
	number("leak_ml_min_per_mmhg", "(mL/min)/mmHg", 0, 1, func(s *Settings) *unit.Reading[unit.MillilitrePerMinuteMmHg] { return &s.Leak }),
	number("bypass_mm", "mm", 0, 0.4, func(s *Settings) *unit.Reading[unit.Millimetre] { return &s.Bypass }),
	number("wound_factor", "", 0.4, 10, func(s *Settings) *unit.Reading[unit.Ratio] { return &s.WoundFactor }),
	number("pump_droop", "", 0.02, 1, func(s *Settings) *unit.Reading[unit.Ratio] { return &s.PumpDroop }),
	number("chamber_volume_ul", "µL", 30, 500, func(s *Settings) *unit.Reading[unit.Microlitre] { return &s.ChamberVolume }),
	number("occlusion_s", "s", 0.01, 60, func(s *Settings) *unit.Reading[unit.Second] { return &s.Occlusion }),
	number("break_s", "s", 0, 5, func(s *Settings) *unit.Reading[unit.Second] { return &s.Opening }),
}

// FieldNamed returns the field with key, nil when there is none.
func FieldNamed(key string) *Field {
	for i := range Fields {
		if Fields[i].Key == key {
			return &Fields[i]
		}
	}
	return nil
}

// ParseSettings reads one object of the settings' format. Unknown and repeated
// keys are refused naming the nearest, keys that begin with "x_" are ignored,
// null is not recorded, and all reasons are returned with their places.
func ParseSettings(data []byte) (Settings, finding.Refusals) {
	list, refused := eye.Members(data)
	var s Settings
	for i := range list {
		if r := s.member(&list[i]); r != nil {
			r.Line, r.Column = list[i].Line, list[i].Column
			refused = append(refused, *r)
		}
	}
	if r := s.Check(); r != nil && len(refused) == 0 {
		for i := range list {
			if list[i].Key == r.Field {
				r.Line, r.Column = list[i].Line, list[i].Column
			}
		}
		refused = append(refused, *r)
	}
	return s, refused
}

func (s *Settings) member(m *eye.Member) *finding.Refusal {
	f := FieldNamed(m.Key)
	wrong := func(wanted string) *finding.Refusal {
		return &finding.Refusal{Code: "wrong-kind", Field: m.Key, Values: finding.Values{{Name: "wanted", Text: wanted}, {Name: "got", Text: eye.Clip(m.Text)}}}
	}
	switch {
	case strings.HasPrefix(m.Key, "x_"):
		return nil
	case m.Key == "format":
		if m.Kind != eye.Null && (m.Kind != eye.Text || m.Text != Format) {
			return &finding.Refusal{Code: "unknown-format", Field: "format", Values: finding.Values{{Name: "got", Text: eye.Clip(m.Text)}, {Name: "known", Text: Format}}}
		}
		return nil
	case f == nil:
		return &finding.Refusal{Code: "unknown-key", Field: eye.Clip(m.Key), Values: finding.Values{{Name: "nearest", Text: nearestKey(m.Key)}}}
	case m.Kind == eye.Null:
		return nil
	case m.Kind == eye.Text || m.Kind == eye.Number && f.Number:
		return f.Set(s, m.Text)
	case f.Number:
		return wrong("number")
	}
	return wrong(strings.Join(f.Words, ", "))
}

func nearestKey(key string) string {
	known := []string{"format"}
	for i := range Fields {
		known = append(known, Fields[i].Key)
	}
	return eye.Nearest(key, known)
}

// Check refuses settings that contradict each other: a bottle together with
// forced infusion, and a bottle that the offset puts below the eye.
func (s *Settings) Check() *finding.Refusal {
	if s.Bottle.Known && s.Forced.Known {
		return &finding.Refusal{Code: "both-given", Field: "forced_mmhg", Values: finding.Values{{Name: "other", Text: "bottle_cm"}}}
	}
	if m := s.Model(); m.Bottle+m.HeadOffset < 0 {
		return &finding.Refusal{Code: "below-eye", Field: "head_offset_cm", Values: finding.Values{{Name: "got", Text: (m.Bottle + m.HeadOffset).String()}}}
	}
	return nil
}

// MarshalJSON writes the recorded keys in the order of Fields, numbers as
// numbers unless they were typed with a comma or a true minus.
func (s Settings) MarshalJSON() ([]byte, error) {
	out := append([]byte(`{"format":`), strconv.AppendQuote(nil, Format)...)
	for i := range Fields {
		f := &Fields[i]
		text := f.get(&s)
		if text == "" {
			continue
		}
		out = append(strconv.AppendQuote(append(out, ','), f.Key), ':')
		if f.Number && json.Valid([]byte(text)) {
			out = append(out, text...)
		} else {
			quoted, err := json.Marshal(text)
			if err != nil {
				return nil, err
			}
			out = append(out, quoted...)
		}
	}
	return append(out, '}'), nil
}

// UnmarshalJSON reads what MarshalJSON wrote, with ParseSettings' strictness.
func (s *Settings) UnmarshalJSON(data []byte) error {
	parsed, refused := ParseSettings(data)
	*s = parsed
	return refused.Err()
}
