package eye

import (
	"errors"
	"math"
	"slices"
	"strings"

	"linn/finding"
	"linn/unit"
)

// Field describes one key of the format: its kind, its unit as people write
// it, and the bounds outside which a value is refused.
type Field struct {
	Key    string
	Unit   string      // "" when the field is not a number
	Bounds unit.Bounds // meaningful when Unit or Number
	Number bool
	Words  []string // the allowed words of an enumeration
	set    func(*Eye, string) error
	get    func(*Eye) string
}

// Get returns the field of e as text that Set would take again, "" when it
// was not recorded.
func (f *Field) Get(e *Eye) string { return f.get(e) }

// number makes a field that holds a number. The bounds of age, velocity, pupil,
// posterior radii and earlier refractions are our own choice, wide enough for
// every eye reported; the others are the input rules of the format.
func number[U unit.Quantity](key, name string, low, high float64, at func(*Eye) *unit.Reading[U]) Field {
	f := Field{Key: key, Unit: name, Bounds: unit.Bounds{Low: low, High: high}, Number: true}
	bounds := f.Bounds
	f.set = func(e *Eye, text string) error {
		v, err := unit.Parse[U](text, key, name, bounds)
		if err != nil {
			return err
		}
		r := at(e)
		r.Value, r.Known, r.Text = v, true, text
		return nil
	}
	f.get = func(e *Eye) string {
		r := at(e)
		if !r.Known {
			return ""
		}
		if r.Text != "" {
			return r.Text
		}
		return formatPlain(float64(r.Value))
	}
	return f
}

func axis(key string, at func(*Eye) *unit.Reading[unit.Axis]) Field {
	f := number(key, "°", 0, 180, at)
	set := f.set
	f.set = func(e *Eye, text string) error {
		if err := set(e, text); err != nil {
			return err
		}
		at(e).Value = unit.NewAxis(unit.Degree(at(e).Value))
		return nil
	}
	return f
}

func word[T ~string](key string, at func(*Eye) *T, allowed ...T) Field {
	f := Field{Key: key}
	for _, w := range allowed {
		f.Words = append(f.Words, string(w))
	}
	f.set = func(e *Eye, text string) error {
		for _, w := range allowed { // assigns the constant: no allocation, text may be a reused buffer
			if string(w) == text {
				*at(e) = w
				return nil
			}
		}
		return finding.Refusal{Code: "unknown-word", Field: key, Values: finding.Values{
			{Name: "got", Text: clip(text)}, {Name: "allowed", Text: strings.Join(f.Words, ", ")}, {Name: "nearest", Text: nearest(text, f.Words)}}}
	}
	f.get = func(e *Eye) string { return string(*at(e)) }
	return f
}

func text(key string, at func(*Eye) *string) Field {
	return Field{Key: key,
		set: func(e *Eye, s string) error { *at(e) = strings.Clone(strings.TrimSpace(s)); return nil },
		get: func(e *Eye) string { return *at(e) }}
}

func date(key string, at func(*Eye) *unit.Date) Field {
	return Field{Key: key,
		set: func(e *Eye, s string) (err error) { *at(e), err = unit.ParseDate(strings.TrimSpace(s)); return err },
		get: func(e *Eye) string { return at(e).String() }}
}

// Fields lists the keys of an eye in the order of the format's description.
// other_eye is not among them: it is an object of the same fields.
var Fields = slices.Concat(ordinaryFields, unusualFields)

var ordinaryFields = []Field{
	word("side", func(e *Eye) *Side { return &e.Side }, Right, Left),
	number("age_years", "years", 0, 130, func(e *Eye) *unit.Reading[unit.Year] { return &e.Age }),
	word("sex", func(e *Eye) *Sex { return &e.Sex }, Female, Male, OtherSex),
	number("axial_length_mm", "mm", 15, 38, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.AxialLength }),
	word("axial_length_method", func(e *Eye) *LengthMethod { return &e.AxialLengthMethod }, Optical, Immersion, Contact),
	number("velocity_m_s", "m/s", 500, 3000, func(e *Eye) *unit.Reading[unit.MetrePerSecond] { return &e.Velocity }),
	number("k_flat_d", "D", 30, 60, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.KFlat }),
	axis("k_flat_axis_deg", func(e *Eye) *unit.Reading[unit.Axis] { return &e.KFlatAxis }),
	number("k_steep_d", "D", 30, 60, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.KSteep }),
	axis("k_steep_axis_deg", func(e *Eye) *unit.Reading[unit.Axis] { return &e.KSteepAxis }),
	number("keratometric_index", "", 1.32, 1.34, func(e *Eye) *unit.Reading[unit.Index] { return &e.KeratometricIndex }),
	number("acd_mm", "mm", 1.5, 5.5, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.ACD }),
	number("lens_thickness_mm", "mm", 2.5, 6.5, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.LensThickness }),
	number("white_to_white_mm", "mm", 9, 14, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.WhiteToWhite }),
	number("corneal_thickness_um", "µm", 300, 800, func(e *Eye) *unit.Reading[unit.Micrometre] { return &e.CornealThickness }),
	number("pupil_mm", "mm", 0.5, 12, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.Pupil }),
	number("posterior_r_flat_mm", "mm", 3, 12, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.PosteriorRFlat }),
	number("posterior_r_steep_mm", "mm", 3, 12, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.PosteriorRSteep }),
	axis("posterior_steep_axis_deg", func(e *Eye) *unit.Reading[unit.Axis] { return &e.PosteriorSteepAxis }),
	word("lens_status", func(e *Eye) *LensStatus { return &e.LensStatus }, Phakic, Aphakic, Pseudophakic),
	word("vitreous", func(e *Eye) *Vitreous { return &e.Vitreous }, NaturalVitreous, RemovedVitreous, Oil, Gas),
	word("corneal_surgery", func(e *Eye) *CornealSurgery { return &e.CornealSurgery }, NoSurgery, MyopicLaser, HyperopicLaser, RadialCuts, Graft, UnknownSurgery),
	number("k_before_d", "D", 30, 60, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.KBefore }),
	number("refraction_before_d", "D", -40, 40, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.RefractionBefore }),
	number("refraction_after_d", "D", -40, 40, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.RefractionAfter }),
	word("placement", func(e *Eye) *Placement { return &e.Placement }, Bag, Sulcus, Chamber),
	number("target_d", "D", -10, 15, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.Target }),
	number("vertex_mm", "mm", 8, 16, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.Vertex }),
	word("surgeon_seat", func(e *Eye) *Seat { return &e.Seat }, SuperiorSeat, SuperotemporalSeat, TemporalSeat),
	word("incision_type", func(e *Eye) *string { return &e.Incision }, IncisionTypes...),
	number("incision_at_deg", "°", 0, 360, func(e *Eye) *unit.Reading[unit.Degree] { return &e.IncisionAt }),
	number("incision_hour", "o’clock", 0, 12, func(e *Eye) *unit.Reading[unit.Hour] { return &e.IncisionHour }),
	number("incision_mm", "mm", 0.8, 12, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.IncisionWidth }),
	number("tunnel_mm", "mm", 0.2, 6, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.TunnelLength }),
	number("internal_lip_mm", "mm", 0, 4, func(e *Eye) *unit.Reading[unit.Millimetre] { return &e.InternalLip }),
	number("incision_effect_d", "D", -1, 5, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.IncisionEffect }),
	number("incision_effect_sd_d", "D", 0, 3, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.IncisionEffectSD }),
	hours("excluded_hours", func(e *Eye) *string { return &e.ExcludedHours }),
	word("posterior_cornea", func(e *Eye) *string { return &e.PosteriorCornea }, PosteriorCorneas...),
	number("marking_sd_deg", "°", 0, 30, func(e *Eye) *unit.Reading[unit.Degree] { return &e.MarkingSD }),
	number("toric_cylinder_d", "D", 0, 15, func(e *Eye) *unit.Reading[unit.Dioptre] { return &e.ToricCylinder }),
	axis("toric_axis_deg", func(e *Eye) *unit.Reading[unit.Axis] { return &e.ToricAxis }),
	text("toric_reason", func(e *Eye) *string { return &e.ToricReason }),
	date("measured_on", func(e *Eye) *unit.Date { return &e.MeasuredOn }),
	date("as_of", func(e *Eye) *unit.Date { return &e.AsOf }),
	text("device", func(e *Eye) *string { return &e.Device }),
	text("operator", func(e *Eye) *string { return &e.Operator }),
}

// FieldNamed returns the field with key, nil when there is none.
func FieldNamed(key string) *Field {
	if i := slices.IndexFunc(Fields, func(f Field) bool { return f.Key == key }); i >= 0 {
		return &Fields[i]
	}
	return nil
}

// Set reads text into the field of e, or says why it refuses. White space
// around words is not forgiven: a word is exact.
func (f *Field) Set(e *Eye, text string) *finding.Refusal {
	err := f.set(e, text)
	if err == nil {
		return nil
	}
	r := refusal(f, err)
	return &r
}

// Refusal turns the error of parsing f's text into the reason people read.
func (f *Field) Refusal(err error) finding.Refusal { return refusal(f, err) }

// refusal turns a parser's error into the reason people read.
func refusal(f *Field, err error) finding.Refusal {
	var (
		made   finding.Refusal
		rangeE *unit.RangeError
		syntax *unit.SyntaxError
	)
	switch {
	case errors.As(err, &made):
		return made
	case errors.As(err, &rangeE):
		got := rangeE.Got
		values := finding.Values{{Name: "got", Text: shown(got)}, {Name: "low", Text: shown(rangeE.Low)},
			{Name: "high", Text: shown(rangeE.High)}, {Name: "unit", Text: rangeE.Unit}}
		code := "out-of-range"
		if strings.HasPrefix(f.Key, "k_") && f.Unit == "D" && got >= 5 && got <= 10 {
			code = "looks-like-radius"
			// 337.5/r: keratometric index 1.3375, the trade's convention.
			values = append(values, finding.Value{Name: "as_power", Text: unit.Fixed(337.5/got, 2)})
		}
		if low, high := f.Bounds.Low, f.Bounds.High; code == "out-of-range" && f.Number && (low > 0 || got >= 100) { // of a signed field a small whole number may be meant
			for _, scale := range [...]float64{10, 100, 1000} { // a decimal mark lost on the way
				if v := got / scale; v >= low && v <= high && math.Abs(got) >= scale {
					code = "lost-decimal-mark"
					values = append(values, finding.Value{Name: "meant", Text: shown(v)})
					break
				}
			}
		}
		return finding.Refusal{Code: code, Field: f.Key, Values: values}
	case errors.As(err, &syntax):
		return finding.Refusal{Code: string(syntax.Reason), Field: f.Key, Values: finding.Values{{Name: "got", Text: clip(syntax.Text)}}}
	}
	return finding.Refusal{Code: "unreadable", Field: f.Key}
}
