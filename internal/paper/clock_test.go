package paper

import (
	"bytes"
	"linn/internal/care/plan"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"linn/eye"
	"linn/internal/care/sheet"
	"linn/unit"
)

// incised is a sheet with an incision on the temporal side.
func incised(side eye.Side, seat eye.Seat) *sheet.Sheet {
	hour := map[eye.Side]unit.Hour{eye.Right: 9, eye.Left: 3}[side]
	return invented(func(e *eye.Eye, _ *sheet.Input) {
		e.Side, e.Fellow.Side, e.Seat, e.Incision = side, side.Other(), seat, "limbal"
		e.IncisionHour, e.IncisionWidth = unit.Known(hour), unit.Known(unit.Millimetre(2.8))
	})
}

// words are the places of words on the first page, in points.
func wordsOf(t *testing.T, s *sheet.Sheet) map[string][2]float64 {
	t.Helper()
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("pdftotext is not here")
	}
	var b bytes.Buffer
	if err := Sheet(&b, s, english{}); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(t.TempDir(), "sheet.pdf")
	if err := os.WriteFile(file, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command("pdftotext", "-bbox", file, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	at := map[string][2]float64{}
	for _, m := range regexp.MustCompile(`<word xMin="([0-9.]+)" yMin="([0-9.]+)" xMax="([0-9.]+)" yMax="([0-9.]+)">([^<]+)</word>`).FindAllStringSubmatch(string(out), -1) {
		n := func(i int) float64 { v, _ := strconv.ParseFloat(m[i], 64); return v }
		at[m[5]] = [2]float64{(n(1) + n(3)) / 2, (n(2) + n(4)) / 2}
	}
	return at
}

// The printed clock is read back from the PDF's text: NASAL and TEMPORAL stand
// on their sides for both eyes and two seats, and mirror between the eyes.
func TestPrintedClock(t *testing.T) {
	for _, seat := range []eye.Seat{eye.SuperiorSeat, eye.TemporalSeat} {
		r, l := wordsOf(t, incised(eye.Right, seat)), wordsOf(t, incised(eye.Left, seat))
		for side, w := range map[string]map[string][2]float64{"RIGHT": r, "LEFT": l} {
			for _, word := range []string{side, "NASAL", "TEMPORAL", "surgeon"} {
				if _, ok := w[word]; !ok {
					t.Fatalf("%s, %s: %s is not printed", side, seat, word)
				}
			}
		}
		middle := r["surgeon"][0]
		switch seat {
		case eye.SuperiorSeat: // the nose at the left of the right eye, at the right of the left one
			if !(r["NASAL"][0] < middle && middle < r["TEMPORAL"][0]) || !(l["TEMPORAL"][0] < middle && middle < l["NASAL"][0]) {
				t.Errorf("%s: right %v %v, left %v %v", seat, r["NASAL"], r["TEMPORAL"], l["NASAL"], l["TEMPORAL"])
			}
			if math.Abs((r["NASAL"][0]-middle)+(l["NASAL"][0]-middle)) > 1 {
				t.Errorf("%s: not a mirror image: %v and %v about %v", seat, r["NASAL"], l["NASAL"], middle)
			}
		default: // the temple towards the surgeon, for both
			for _, w := range []map[string][2]float64{r, l} {
				if !(w["NASAL"][1] < w["TEMPORAL"][1] && w["TEMPORAL"][1] < w["surgeon"][1]) {
					t.Errorf("%s: %v %v %v", seat, w["NASAL"], w["TEMPORAL"], w["surgeon"])
				}
			}
		}
	}
}

// Black on white, and the whole sheet still on one page.
func TestPrintedClockStays(t *testing.T) {
	var b bytes.Buffer
	if err := Sheet(&b, incised(eye.Left, eye.TemporalSeat), english{}); err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(b.String(), "/Type /Page\n"); n != 1 {
		t.Errorf("%d pages", n)
	}
}

// The PDF's text says whose a toric cylinder is: advised alone is NOT CHOSEN,
// a choice stands with its axis, what it leaves and its reason, and the sheet
// stays one page with the longest reason that is taken.
func TestPrintedToric(t *testing.T) {
	text := func(state sheet.ToricState, c *plan.ToricChoice) string {
		t.Helper()
		s := incised(eye.Right, eye.TemporalSeat)
		s.Clock.Toric, s.Clock.Chosen, s.Clock.Cylinder = state, c, plan.Number{Value: 3, Known: true}
		if state == sheet.ToricChosen || state == sheet.ToricAdvised {
			s.Clock.Lens = &sheet.Meridian{From: sheet.Point{X: 1}, To: sheet.Point{X: -1}, Axis: 88}
		}
		s.Clock.Close("11-1 bleb, 6")
		var b bytes.Buffer
		if err := Sheet(&b, s, english{}); err != nil {
			t.Fatal(err)
		}
		if n := strings.Count(b.String(), "/Type /Page\n"); n != 1 {
			t.Errorf("%d pages", n)
		}
		cmd := exec.Command("pdftotext", "-raw", "-", "-")
		cmd.Stdin = &b
		out, err := cmd.Output()
		if err != nil {
			t.Fatal(err)
		}
		return strings.Join(strings.Fields(string(out)), " ")
	}
	n := func(v float64) plan.Number { return plan.Number{Value: v, Known: true} }
	c := plan.ToricChoice{Cylinder: n(3), Mark: n(88), Sphere: n(0.25), Residual: n(-0.5), Axis: n(178), Differs: true, Reason: "agreed with the patient"}
	for state, want := range map[sheet.ToricState]string{sheet.ToricAdvised: "toric: advised, NOT CHOSEN: 88°", sheet.ToricNotAdvised: "cylinder NOT CHOSEN", sheet.ToricNone: "NO CYLINDER",
		sheet.ToricChosen: "toric, chosen: marks on 88°, cylinder 3.00 D; leaves +0.25 D / −0.50 D × 178° Not as advised: agreed with the patient"} {
		choice := &c
		if state == sheet.ToricAdvised || state == sheet.ToricNotAdvised {
			choice = nil
		}
		got := strings.ReplaceAll(text(state, choice), "\u202f", " ")
		if !strings.Contains(got, want) || !strings.Contains(got, "11–1 bleb, 6") || (state == sheet.ToricAdvised) != strings.Contains(got, "advised, NOT") {
			t.Errorf("%s: %q not in %q", state, want, got)
		}
	}
}
