package locale

import (
	"testing"

	"linn/eye"
	"linn/finding"
)

func TestFill(t *testing.T) {
	got := fill("{a} and {b} and {c", []finding.Value{{Name: "a", Text: "{b}"}, {Name: "b", Text: "2"}})
	if want := "{b} and 2 and {c"; got != want {
		t.Errorf("fill = %q, want %q", got, want)
	}
}

func TestUnknownKeyShowsItself(t *testing.T) {
	if got := T(English, "no.such"); got != "[no.such]" {
		t.Errorf("got %q", got)
	}
}

func TestParseRefuses(t *testing.T) {
	for _, bad := range []string{"key", "= text", "a = 1\na = 2", "a ="} {
		if _, err := parse(bad); err == nil {
			t.Errorf("parse(%q) took it", bad)
		}
	}
}

func TestEveryEyeFieldHasWords(t *testing.T) {
	for _, f := range eye.Fields {
		if !Has("field." + f.Key) {
			t.Errorf("no words for field %s", f.Key)
		}
	}
}
