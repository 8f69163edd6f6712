package main

import (
	"strings"
	"testing"
)

const tableHead = "side,axial_length_mm,k_flat_d,k_steep_d,a\n"

// Noise gives a page of messages, not a flood, and everything is counted.
func TestNoiseTables(t *testing.T) {
	code, out, errs := ask(noise(), "lens", "--csv", "-")
	if want := "standard input:1:1: this is not a table in UTF-8 text; save it as CSV (UTF-8) and try again\n"; code != exitRefused || out != "" || errs != want {
		t.Errorf("exit %d, %q, %q", code, out, errs)
	}
	code, out, errs = ask(tableHead+noise(), "lens", "--csv", "-")
	if n := strings.Count(errs, "\n"); code != exitRefused || n > 60 || !strings.Contains(errs, " more like this") || !strings.Contains(errs, " rows refused; the rest is answered") {
		t.Errorf("exit %d, %d messages\n%.2000s", code, n, errs)
	}
	rows := strings.Count(out, ",refused:")
	if rows < 1000 || strings.Count(out, "srk-t") > 0 {
		t.Errorf("%d rows of noise refused", rows)
	}
	words := tableHead + strings.Repeat("right,23.5,43.5,43.5,118.4 or so\n", 300_000)
	code, out, errs = ask(words, "lens", "--csv", "-")
	want := "standard input: 299990 more like this about A constant\n300000 of 300000 rows refused; the rest is answered\n"
	if code != exitRefused || !strings.HasSuffix(errs, want) || strings.Count(errs, "\n") != 12 || strings.Count(out, "\n") != 300_001 {
		t.Errorf("exit %d\n%s", code, errs)
	}
}

// The bad inputs of the issue as rows of a table, each with its whole message.
func TestBadRows(t *testing.T) {
	for _, c := range []struct{ name, row, code, want string }{
		{"wrong side", "rigth,23.5,43.5,43.5,118.4", "unknown-word", "2:1: side (side) is “rigth”; it must be one of: right, left. Did you mean “right”?"},
		{"K 7.8", "right,23.5,7.8,43.5,118.4", "looks-like-radius", "2:12: flat K (k_flat_d) is 7.8: that looks like a radius in mm. As power it would be 43.27 D at index 1.3375; write that if it is what you mean"},
		{"K 4350", "right,23.5,4350,43.5,118.4", "lost-decimal-mark", "2:12: flat K (k_flat_d) is 4350 D: outside 30 to 60 D. A lost decimal mark? 43.5 D would fit"},
		{"axial length 235", "right,235,43.5,43.5,118.4", "lost-decimal-mark", "2:7: axial length (axial_length_mm) is 235 mm: outside 15 to 38 mm. A lost decimal mark? 23.5 mm would fit"},
		{"comma decimals without quotes", "right,23,5,43,5,43,5,118,4", "cell-count", "2:1: the row has 9 cells, the first line names 5 columns"},
		{"no constants", "right,23.5,43.5,43.5,", "missing", "2:1: a lens constant: one of a, sf_mm, pacd_mm or a0 (constants) is missing"},
		{"text in numbers", "right,long,43.5,43.5,118.4", "not-a-number", "2:7: axial length (axial_length_mm) is “long”, which is not a number"},
		{"steep below flat", "right,23.5,43.5,42,118.4", "steep-below-flat", "2:1: steep K (k_steep_d) is 42.00\u202fD, below flat K 43.50\u202fD. Were the two exchanged?"},
		{"nothing in the row", ",,,,", "missing", "2:1: side (side) is missing"},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, errs := ask(tableHead+c.row+"\n", "lens", "--csv", "-")
			if code != exitRefused || !strings.HasSuffix(out, "\n1,,,,,,refused:"+c.code+"\n") {
				t.Errorf("exit %d\n%s", code, out)
			}
			if !strings.HasPrefix(errs, "standard input:"+c.want+"\n") || !strings.HasSuffix(errs, "\n1 of 1 rows refused; the rest is answered\n") {
				t.Errorf("told\n%s\nwant\n%s", errs, c.want)
			}
		})
	}
}
