package web

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// Contrast ratios are those of WCAG 2.2 (W3C, "contrast ratio" and "relative
// luminance"). The floors are LOOK's: 7 for text, 3 for lines that carry
// meaning.
const (
	textFloor = 7.0
	lineFloor = 3.0
)

var token = regexp.MustCompile(`--([a-z-]+):\s*(#[0-9A-Fa-f]{6})`)

// tokensOf reads the colours of the rule that begins with head.
func tokensOf(t *testing.T, css, head string) map[string]string {
	t.Helper()
	_, rest, ok := strings.Cut(css, "\n"+head+" {")
	if !ok {
		t.Fatalf("no rule %q", head)
	}
	body, _, _ := strings.Cut(rest, "}")
	m := map[string]string{}
	for _, x := range token.FindAllStringSubmatch(body, -1) {
		m[x[1]] = x[2]
	}
	return m
}

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	v := [3]float64{}
	for i := range v {
		n, err := strconv.ParseUint(hex[1+2*i:3+2*i], 16, 8)
		if err != nil {
			t.Fatalf("colour %q: %v", hex, err)
		}
		c := float64(n) / 255
		if c <= 0.04045 {
			v[i] = c / 12.92
		} else {
			v[i] = math.Pow((c+0.055)/1.055, 2.4)
		}
	}
	return 0.2126*v[0] + 0.7152*v[1] + 0.0722*v[2]
}

func contrast(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (max(x, y) + 0.05) / (min(x, y) + 0.05)
}

// Black on white is 21, and one published pair: #767676 on white is 4.54
// (W3C, Understanding SC 1.4.3).
func TestContrastFormula(t *testing.T) {
	if got := contrast(t, "#000000", "#FFFFFF"); math.Abs(got-21) > 1e-9 {
		t.Errorf("black on white %g", got)
	}
	if got := contrast(t, "#767676", "#FFFFFF"); math.Abs(got-4.54) > 0.005 {
		t.Errorf("#767676 on white %g", got)
	}
}

func TestContrastOfBothThemes(t *testing.T) {
	b, err := own.ReadFile("static/linn.css")
	if err != nil {
		t.Fatal(err)
	}
	grounds := []string{"ground", "pool", "stop-ground"}
	for _, head := range []string{":root", `[data-theme="dim"]`} {
		c := tokensOf(t, string(b), head)
		need := func(floor float64, fg, bg string) {
			t.Helper()
			if c[fg] == "" || c[bg] == "" {
				t.Fatalf("%s lacks --%s or --%s", head, fg, bg)
			}
			if got := contrast(t, c[fg], c[bg]); got < floor {
				t.Errorf("%s: --%s on --%s is %.2f, below %g", head, fg, bg, got, floor)
			}
		}
		for _, bg := range grounds {
			need(textFloor, "ink", bg)
			need(textFloor, "soft", bg)
			need(lineFloor, "edge", bg)
		}
		need(textFloor, "water", "ground")
		need(6.3, "water", "pool") // bold or large text and links on the pale ground; 4.5 is the standard's floor
		need(textFloor, "on-water", "water")
		need(textFloor, "stop", "ground")
		need(textFloor, "stop", "stop-ground")
		for _, line := range []string{"blue", "vermillion", "green", "water"} {
			need(lineFloor, line, "ground")
			need(lineFloor, line, "band")
		}
		// The caution's diamond shows by its fill or by its outline in ink.
		if got := max(contrast(t, c["amber"], c["ground"]), contrast(t, c["ink"], c["amber"])); got < lineFloor {
			t.Errorf("%s: the diamond shows with %.2f only", head, got)
		}
	}
}

// Colours stand in the tokens alone: the two themes and the paper sheet.
func TestNoColourOutsideTokens(t *testing.T) {
	b, err := own.ReadFile("static/linn.css")
	if err != nil {
		t.Fatal(err)
	}
	for n, line := range strings.Split(string(b), "\n") {
		rest := token.ReplaceAllString(line, "")
		if hex := regexp.MustCompile(`#[0-9A-Fa-f]{3,8}\b`).FindString(rest); hex != "" && !strings.Contains(line, "::backdrop") {
			t.Errorf("line %d: colour %s outside the tokens", n+1, hex)
		}
	}
}
