package eye

import (
	"slices"
	"strings"

	"linn/finding"
	"linn/unit"
)

// HourRange is a stretch of clock hours that is not to be cut, clockwise from
// From to To, 12 above, and why.
type HourRange struct {
	From, To unit.Hour // (0, 12]
	Why      string    // of HourReasons, or ""
}

// HourReasons are why an hour is not to be cut.
var HourReasons = []string{"pannus", "thinning", "bleb", "scar", "brow", "reach"}

// ParseHours reads hours that are not to be cut: "11-1 bleb, 6". Parts are
// separated by a comma or a semicolon; a part is an hour or two with a hyphen,
// and may name its reason. What cannot be read is a finding.Refusal.
func ParseHours(text string) (list []HourRange, err error) {
	for part := range strings.FieldsFuncSeq(text, func(r rune) bool { return r == ',' || r == ';' }) {
		if part = strings.TrimSpace(part); part == "" {
			continue
		}
		hours, why, _ := strings.Cut(part, " ")
		why = strings.TrimSpace(why)
		if why != "" && !slices.Contains(HourReasons, why) {
			return nil, finding.Refusal{Code: "unknown-word", Field: "excluded_hours", Values: finding.Values{
				{Name: "got", Text: clip(why)}, {Name: "allowed", Text: strings.Join(HourReasons, ", ")}, {Name: "nearest", Text: nearest(why, HourReasons)}}}
		}
		from, to, two := strings.Cut(strings.ReplaceAll(hours, "–", "-"), "-")
		if !two {
			to = from
		}
		x := HourRange{Why: why}
		if x.From, err = clockHour(from); err != nil {
			return nil, err
		}
		if x.To, err = clockHour(to); err != nil {
			return nil, err
		}
		list = append(list, x)
		if len(list) > 12 {
			return nil, finding.Refusal{Code: "too-many-hours", Field: "excluded_hours"}
		}
	}
	return list, nil
}

// clockHour reads one hour; 0 is 12.
func clockHour(text string) (unit.Hour, error) {
	h, err := unit.Parse[unit.Hour](text, "excluded_hours", "o’clock", unit.Bounds{Low: 0, High: 12})
	if err == nil && h == 0 {
		h = 12
	}
	return h, err
}

// hours is a field of excluded hours; the text is kept as typed.
func hours(key string, at func(*Eye) *string) Field {
	f := text(key, at)
	set := f.set
	f.set = func(e *Eye, s string) error {
		if _, err := ParseHours(s); err != nil {
			return err
		}
		return set(e, s)
	}
	return f
}
