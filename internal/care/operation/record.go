package operation

import (
	"strconv"
	"strings"
	"time"

	"linn/finding"
	"linn/unit"
)

// Record is one state of an operation as written down, "operation" of a case.
type Record struct {
	// Values are texts as typed or tapped, by key of Fields.
	Values map[string]string `json:"values,omitempty"`

	// Hands names who held the instrument, by step; People's identifiers.
	Hands map[string]string `json:"hands,omitempty"`

	// Supervisor was at the table beside a trainee.
	Supervisor string `json:"supervisor,omitempty"`

	Complications []Complication `json:"complications,omitempty"`

	// Confirmed is the lens that differs from the plan, confirmed by somebody
	// who typed whose eye it is and which.
	Confirmed *Confirmed `json:"confirmed,omitempty"`

	// Done says who closed the record, when the patient left the table.
	Done *Act `json:"done,omitempty"`
}

// Act is who did something, and when.
type Act struct {
	By string    `json:"by"`
	At time.Time `json:"at"`
}

// Confirmed is a lens that was confirmed against the plan's.
type Confirmed struct {
	Act
	Lens string `json:"lens"` // as LensText of the record that was confirmed
	Plan string `json:"plan"` // as LensText of the plan
}

// Planned is what the signed plan says of the operation; the zero value: no
// plan was signed.
type Planned struct {
	Model     string
	Power     unit.Dioptre
	HasLens   bool
	Placement string    // bag, sulcus, chamber; "" is the bag
	OnePiece  bool      // a model that does not belong into the sulcus
	List      unit.Date // the day the sheet is valid for
	Surgeon   string    // identifier of who signed
}

// Prefill is the record as it opens: the day of the list, the surgeon at every
// step. Nothing that has to be seen is filled in.
func (p Planned) Prefill() Record {
	r := Record{}
	if p.List.Known() {
		r.Set(KeyDay, p.List.String())
	}
	for _, s := range HeldSteps {
		if p.Surgeon != "" {
			r.Hold(s, p.Surgeon)
		}
	}
	return r
}

// Set types a text into a field; an empty one takes it away.
func (r *Record) Set(key, text string) {
	text = strings.Join(strings.Fields(text), " ")
	if text == "" {
		delete(r.Values, key)
		return
	}
	if r.Values == nil {
		r.Values = map[string]string{}
	}
	r.Values[key] = text
}

// Hold says who held the instrument at a step.
func (r *Record) Hold(step, person string) {
	if person == "" {
		delete(r.Hands, step)
		return
	}
	if r.Hands == nil {
		r.Hands = map[string]string{}
	}
	r.Hands[step] = person
}

// Clone shares nothing with r.
func (r Record) Clone() Record {
	c := r
	c.Values, c.Hands = nil, nil
	for k, v := range r.Values {
		c.Set(k, v)
	}
	for k, v := range r.Hands {
		c.Hold(k, v)
	}
	c.Complications = append([]Complication(nil), r.Complications...)
	return c
}

// Technique is the technique of the record, "" when none is recorded.
func (r *Record) Technique() Technique { return Technique(r.Values[KeyTechnique]) }

// Ended is the technique by which the nucleus came out: after a conversion not
// the one that was begun.
func (r *Record) Ended() Technique {
	if to, converted := strings.CutPrefix(r.Values[KeyConverted], "to-"); converted {
		return Technique(to)
	}
	return r.Technique()
}

// Number is a number of the record.
func (r *Record) Number(key string) unit.Reading[unit.Constant] {
	f := FieldNamed(key)
	v, err := unit.ParseNumber(r.Values[key])
	if f == nil || f.Kind != Number || err != nil || v < f.Low || v > f.High {
		return unit.Reading[unit.Constant]{}
	}
	return unit.Known(unit.Constant(v))
}

// Power is the power of the implanted lens.
func (r *Record) Power() unit.Reading[unit.Dioptre] {
	n := r.Number(KeyPower)
	return unit.Reading[unit.Dioptre]{Value: unit.Dioptre(n.Value), Known: n.Known}
}

// On is the civil day of the operation, zero when it is not recorded exactly.
func (r *Record) On() unit.Date {
	d, err := unit.ParseDate(r.Values[KeyDay])
	if err != nil || !d.Exact() {
		return unit.Date{}
	}
	return d
}

// minutes reads "09:41" as minutes since midnight.
func minutes(text string) (int, bool) {
	h, m, ok := strings.Cut(text, ":")
	if !ok || len(m) != 2 || len(h) == 0 || len(h) > 2 {
		return 0, false
	}
	hour, err1 := strconv.Atoi(h)
	minute, err2 := strconv.Atoi(m)
	if err1 != nil || err2 != nil || hour < 0 || hour > 23 || minute < 0 || minute > 59 || strings.ContainsAny(text, "+-") {
		return 0, false
	}
	return 60*hour + minute, true
}

// Minutes is how long it took from one clock to a later one; an operation may
// go on over midnight. known is false when either is not recorded.
func (r *Record) Minutes(from, to string) (n int, known bool) {
	a, ok := minutes(r.Values[from])
	b, ok2 := minutes(r.Values[to])
	if !ok || !ok2 {
		return 0, false
	}
	if b < a {
		b += 24 * 60
	}
	return b - a, true
}

// LensText is a lens as it is compared and confirmed; "none" where none lies
// in the eye.
func LensText(model string, power unit.Reading[unit.Dioptre]) string {
	if !power.Known {
		return model + " " + "–"
	}
	return model + " " + power.Value.String()
}

// Lens is the lens of the record as it is compared.
func (r *Record) Lens() string {
	if r.Values[KeyPlace] == "none" {
		return "none"
	}
	return LensText(r.Values[KeyModel], r.Power())
}

// CapsuleRupture reports posterior capsule rupture as audits count it: a tear
// of the posterior capsule with or without vitreous, or of the zonule with
// vitreous. known is false while nobody recorded complications or their
// absence.
func (r *Record) CapsuleRupture() (yes, known bool) {
	for _, c := range r.Complications {
		with := c.Vitreous != "" && c.Vitreous != "none" && c.Vitreous != "face-intact"
		if c.Kind == "capsule-rupture" || c.Kind == "dropped-nucleus" || c.Kind == "vitreous" || c.Kind == "zonule" && with {
			return true, true
		}
	}
	return false, len(r.Complications) > 0 || r.Values[KeyNone] == "none"
}

// Read says which texts no rule can take, by key. They stay as typed.
func (r *Record) Read() map[string]finding.Refusal {
	bad := map[string]finding.Refusal{}
	for key, text := range r.Values {
		f := FieldNamed(key)
		if f == nil {
			bad[key] = finding.Refusal{Code: "unknown-key", Field: key}
			continue
		}
		if refused := f.Refuses(text); refused != nil {
			bad[key] = *refused
		}
	}
	return bad
}

// Refuses says why a text cannot be taken, nil when it can.
func (f *Field) Refuses(text string) *finding.Refusal {
	no := func(code string, v ...finding.Value) *finding.Refusal {
		return &finding.Refusal{Code: code, Field: f.Key, Values: append(finding.Values{{Name: "got", Text: text}}, v...)}
	}
	switch f.Kind {
	case Word:
		for _, w := range f.Words {
			if w == text {
				return nil
			}
		}
		return no("unknown-word", finding.Value{Name: "allowed", Text: strings.Join(f.Words, ", ")})
	case Clock:
		if _, ok := minutes(text); !ok {
			return no("not-a-clock")
		}
	case Day:
		if d, err := unit.ParseDate(text); err != nil || !d.Exact() {
			return no("not-a-date")
		}
	case Number:
		v, err := unit.ParseNumber(text)
		switch {
		case err != nil:
			return no("not-a-number")
		case v < f.Low || v > f.High:
			return no("out-of-range", finding.Value{Name: "unit", Text: f.Unit}, finding.Value{Name: "low", Text: unit.Fixed(f.Low, f.Decimals)},
				finding.Value{Name: "high", Text: unit.Fixed(f.High, f.Decimals)})
		}
	case Text:
		if len(text) > 200 {
			return no("too-long-text", finding.Value{Name: "most", Text: "200"})
		}
	}
	return nil
}
