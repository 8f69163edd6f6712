package eye_test

import (
	"slices"
	"testing"

	"linn/eye"
)

func TestParseHours(t *testing.T) {
	for text, want := range map[string][]eye.HourRange{
		"":                   nil,
		" ; ,":               nil,
		"6":                  {{From: 6, To: 6}},
		"0":                  {{From: 12, To: 12}},
		"11-1 bleb, 6 reach": {{From: 11, To: 1, Why: "bleb"}, {From: 6, To: 6, Why: "reach"}},
		"2.5–3;9 scar":       {{From: 2.5, To: 3}, {From: 9, To: 9, Why: "scar"}},
	} {
		got, err := eye.ParseHours(text)
		if err != nil || !slices.Equal(got, want) {
			t.Errorf("%q: %+v %v", text, got, err)
		}
	}
	for _, text := range []string{"13", "12.1", "-1", "6-13", "bleb", "6 foo", "1-2-3", "1e1", "noon", "1,2,3,4,5,6,7,8,9,10,11,12,1"} {
		if got, err := eye.ParseHours(text); err == nil {
			t.Errorf("%q was taken: %+v", text, got)
		}
	}
	var e eye.Eye
	if r := eye.FieldNamed("excluded_hours").Set(&e, "13 bleb"); r == nil || e.ExcludedHours != "" {
		t.Errorf("%v, %q", r, e.ExcludedHours)
	}
}

func FuzzParseHours(f *testing.F) {
	for _, s := range []string{"11-1 bleb, 6", "0", "13", "1–2;3", ""} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		list, err := eye.ParseHours(text)
		if err != nil {
			return
		}
		for _, x := range list {
			if !(x.From > 0 && x.From <= 12 && x.To > 0 && x.To <= 12) || x.Why != "" && !slices.Contains(eye.HourReasons, x.Why) {
				t.Fatalf("%q: %+v", text, x)
			}
		}
	})
}
