package main

import (
	"bytes"
	"context"
	"math/rand/v2"
	"strings"
	"testing"

	"linn/internal/locale"
)

// ask runs a command line with text on standard input.
func ask(in string, args ...string) (code int, out, errs string) {
	var o, e bytes.Buffer
	a := &app{ctx: context.Background(), in: strings.NewReader(in), out: &o, err: &e, lang: locale.English}
	code = a.main(args)
	return code, o.String(), e.String()
}

// good is an eye without anything to complain of, one member a line.
const good = `{
"side": "right",
"age_years": 68,
"axial_length_mm": 23.5,
"axial_length_method": "optical",
"k_flat_d": 43.25,
"k_steep_d": 43.75,
"keratometric_index": 1.3375,
"acd_mm": 3.1,
"lens_status": "phakic",
"vitreous": "natural",
"corneal_surgery": "none",
"target_d": 0,
"vertex_mm": 12,
"lens": {"model": "Lake 3", "constants": {"a": 118.4, "sf_mm": 1.4499, "pacd_mm": 5.1987, "a0": 1.5269, "a1": 0.4, "a2": 0.1}}
}
`

// with replaces one line of good.
func with(key, line string) string {
	var b strings.Builder
	for l := range strings.Lines(good) {
		if strings.HasPrefix(l, `"`+key+`"`) {
			l = line
			if line != "" {
				l += "\n"
			}
		}
		b.WriteString(l)
	}
	return b.String()
}

// noise is 10 MB that is no file of any kind: seeded, so that it is the same
// every time.
func noise() string {
	r := rand.NewChaCha8([32]byte{7})
	b := make([]byte, 10_000_000)
	for i := 0; i < len(b); i += 8 {
		v := r.Uint64()
		for j := range 8 {
			b[i+j] = byte(v >> (8 * j))
		}
	}
	return string(b)
}

// The bad inputs of the issue, each with its whole message.
func TestBadInput(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"empty file", "",
			`standard input:1:1: the file is empty; an eye file is one JSON object that begins with {"side": …}`},
		{"white space only", " \n\t",
			`standard input:1:1: the file is empty; an eye file is one JSON object that begins with {"side": …}`},
		{"wrong side", with("side", `"side": "rigth",`),
			`standard input:2:1: side (side) is “rigth”; it must be one of: right, left. Did you mean “right”?`},
		{"side as an abbreviation", with("side", `"side": "OD",`),
			`standard input:2:1: side (side) is “OD”; it must be one of: right, left`},
		{"no side", with("side", ""),
			`standard input: side (side) is missing`},
		{"K 7.8", with("k_flat_d", `"k_flat_d": 7.8,`),
			`standard input:6:1: flat K (k_flat_d) is 7.8: that looks like a radius in mm. As power it would be 43.27 D at index 1.3375; write that if it is what you mean`},
		{"K 4350", with("k_steep_d", `"k_steep_d": 4350,`),
			`standard input:7:1: steep K (k_steep_d) is 4350 D: outside 30 to 60 D. A lost decimal mark? 43.5 D would fit`},
		{"axial length 235", with("axial_length_mm", `"axial_length_mm": 235,`),
			`standard input:4:1: axial length (axial_length_mm) is 235 mm: outside 15 to 38 mm. A lost decimal mark? 23.5 mm would fit`},
		{"no constants", with("lens", `"lens": {"model": "Lake 3", "constants": {}}`),
			`standard input: a lens constant: one of a, sf_mm, pacd_mm or a0 (constants) is missing`},
		{"no lens", with("vertex_mm", `"vertex_mm": 12`)[:len(with("vertex_mm", `"vertex_mm": 12`))-len(`"lens": {"model": "Lake 3", "constants": {"a": 118.4, "sf_mm": 1.4499, "pacd_mm": 5.1987, "a0": 1.5269, "a1": 0.4, "a2": 0.1}}`+"\n}\n")] + "}",
			`standard input: a lens constant: one of a, sf_mm, pacd_mm or a0 (constants) is missing`},
		{"text in a number", with("axial_length_mm", `"axial_length_mm": "about 23",`),
			`standard input:4:1: axial length (axial_length_mm) is “about 23”, which is not a number`},
		{"unit in a number", with("axial_length_mm", `"axial_length_mm": "23.5 mm",`),
			`standard input:4:1: axial length (axial_length_mm) is “23.5 mm”, which is not a number`},
		{"repeated key", with("k_steep_d", "\"k_steep_d\": 43.75,\n\"k_flat_d\": 44,"),
			`standard input:8:1: the key “k_flat_d” stands here a second time; keep one of them`},
		{"unknown key", with("axial_length_mm", `"axial_lenght_mm": 23.5,`),
			"standard input:4:1: the key “axial_lenght_mm” is not known; the nearest known key is “axial_length_mm”\n" +
				`standard input: axial length (axial_length_mm) is missing`},
		{"unknown constant", with("lens", `"lens": {"constants": {"a": 118.4, "sf": 1.8}}`),
			`standard input:15:36: the key “sf” is not known; the nearest known key is “sf_mm”`},
		{"constant in the wrong place", with("lens", `"lens": {"a": 118.4}`),
			`standard input:15:10: the key “a” is not known; the nearest known key is “constants.a”`},
		{"steep below flat", with("k_steep_d", `"k_steep_d": 43,`),
			"standard input: steep K (k_steep_d) is 43.00\u202fD, below flat K 43.25\u202fD. Were the two exchanged?"},
		{"everything missing", "{}",
			"standard input: side (side) is missing\nstandard input: axial length (axial_length_mm) is missing\nstandard input: flat K (k_flat_d) is missing\n" +
				"standard input: steep K (k_steep_d) is missing\nstandard input: a lens constant: one of a, sf_mm, pacd_mm or a0 (constants) is missing"},
		{"unknown format", with("side", `"format": "linn.eye/2", "side": "right",`),
			`standard input:2:1: the format “linn.eye/2” is not known; this program reads “linn.eye/1”`},
		{"breaks off", good[:60],
			`standard input:4:25: the JSON breaks off or is malformed here`},
		{"a list", "[1, 2]",
			`standard input:1:1: this is not a JSON object; it begins with “[1, 2]”`},
		{"target beyond the rule", with("target_d", `"target_d": 16,`),
			`standard input:13:1: target refraction (target_d) is 16 D: outside −10 to 15 D`},
		{"10 MB of noise", noise(),
			`standard input:1:3: the file is not UTF-8 text; save it as UTF-8 and try again`},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, errs := ask(c.in, "lens", "-", "--json")
			if code != exitRefused || out != "" || errs != c.want+"\n" {
				t.Errorf("exit %d, answered %q\n%s\nwant\n%s", code, out, errs, c.want)
			}
		})
	}
}

// Odd inputs that are taken, with what is said about them: whole lines of the
// answer as text.
func TestOddInput(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"comma decimals", with("axial_length_mm", `"axial_length_mm": "23,5",`), "axial length 23.50\u202fmm, K 43.25\u202fD / 43.75\u202fD, target +0.00\u202fD"},
		{"true minus", with("target_d", `"target_d": "−0,25",`), "axial length 23.50\u202fmm, K 43.25\u202fD / 43.75\u202fD, target −0.25\u202fD"},
		{"axial length 21 with K 38: the length", with("axial_length_mm", `"axial_length_mm": 21, "x_note": "as found",`),
			"◆ caution  Axial length 21.00\u202fmm, below 21.20\u202fmm: a very short eye. Repeat it before signing, or let a senior pass it with a reason."},
		{"axial length 21 with K 38: the cornea", strings.NewReplacer("43.25", "38", "43.75", "38").Replace(with("axial_length_mm", `"axial_length_mm": 21,`)),
			"◆ caution  Mean K 38.00\u202fD, below 40.00\u202fD: repeat before drops or contact, ask about laser surgery and contact lenses, or let a senior pass it with a reason."},
		{"missing ACD", with("acd_mm", ""), "Haigis is left out: anterior chamber depth is not given."},
		{"target +12 in an adult", with("target_d", `"target_d": 12,`),
			"◆ caution  The target is +12.00\u202fD. Above +0.50\u202fD is meant for children; in an adult it is more likely a slip of sign or digit. Check it."},
		{"mixed line ends with a byte-order mark", "\ufeff" + strings.Replace(good, "\n", "\r\n", 5), "RIGHT EYE"},
		{"after laser surgery", with("corneal_surgery", `"corneal_surgery": "myopic-laser",`),
			"Masket is left out: refraction before corneal surgery is not given."},
		{"after radial cuts", with("corneal_surgery", `"corneal_surgery": "radial",`),
			"■ STOP     Not an ordinary eye (corneal surgery: radial cuts). The ordinary methods do not hold for it and no other has an answer that counts, so no power is given."},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, out, errs := ask(c.in, "lens", "-")
			if code != exitDone || errs != "" || !strings.Contains(out, c.want+"\n") {
				t.Errorf("exit %d, %s\n%s\nwant the line\n%s", code, errs, out, c.want)
			}
		})
	}
}

// The good eye has nothing to complain of but what a single undated eye lacks.
func TestGoodEye(t *testing.T) {
	code, out, errs := ask(good, "lens", "-")
	if code != exitDone || errs != "" || strings.Contains(out, "caution") || strings.Contains(out, "STOP") {
		t.Errorf("exit %d\n%s%s", code, out, errs)
	}
	if strings.Contains(out, "[") || strings.Contains(out, "{") {
		t.Errorf("a message is missing or unfilled:\n%s", out)
	}
}
