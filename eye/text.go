package eye

import (
	"strconv"
	"strings"
	"unicode"

	"linn/unit"
)

// maxShown bounds how much of a stranger's text a message repeats.
const maxShown = 40

// clip makes text fit for a message: printable, on one line, at most maxShown
// characters.
func clip(s string) string {
	var b strings.Builder
	n := 0
	for _, r := range s {
		if n++; n > maxShown {
			b.WriteRune('…')
			break
		}
		if !unicode.IsPrint(r) {
			r = '·'
		}
		b.WriteRune(r)
	}
	return b.String()
}

// Clip makes a stranger's text fit for a message: see [finding.Refusal].
func Clip(s string) string { return clip(s) }

// Nearest returns the known word with the least edit distance to got, "" when
// none is near.
func Nearest(got string, known []string) string { return nearest(got, known) }

// formatPlain writes v so that Set would take it again.
func formatPlain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// shown writes v for people: formatPlain with a true minus.
func shown(v float64) string { return strings.Replace(formatPlain(v), "-", unit.Minus, 1) }

// nearest returns the known word with the least edit distance to got, "" when
// none is within half its length.
func nearest(got string, known []string) string {
	if len(got) > 64 {
		return ""
	}
	best, bestD := "", 1<<30
	for _, w := range known {
		if d := distance(got, w); d < bestD && d <= (len(w)+1)/2 {
			best, bestD = w, d
		}
	}
	return best
}

// distance is the Levenshtein distance in bytes.
func distance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := 1; i <= len(a); i++ {
		diag := row[0]
		row[0] = i
		for j := 1; j <= len(b); j++ {
			cost := diag
			if a[i-1] != b[j-1] {
				cost++
			}
			diag = row[j]
			row[j] = min(cost, row[j]+1, row[j-1]+1)
		}
	}
	return row[len(b)]
}
