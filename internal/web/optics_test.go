package web

import (
	"html"
	"image/png"
	"math"
	"net/http"
	"strings"
	"testing"

	"linn/unit"
)

func TestSeen(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Corvan Eskerling")
	mean := func(query string) (sum, rough float64) {
		w := v.get("/seen.png?" + query)
		if w.Code != http.StatusOK || w.Header().Get("Content-Type") != "image/png" {
			t.Fatalf("%s: %d %s", query, w.Code, w.Header().Get("Content-Type"))
		}
		m, err := png.Decode(w.Body)
		if err != nil || m.Bounds().Dx() != sceneSide {
			t.Fatal(err)
		}
		last := 0.0
		for y := range sceneSide {
			for x := range sceneSide {
				g, _, _, _ := m.At(x, y).RGBA()
				light := math.Pow(float64(g)/65535, 2.2)
				sum += light / sceneSide / sceneSide
				if x > 0 {
					rough += math.Abs(light - last)
				}
				last = light
			}
		}
		return sum, rough
	}
	for _, scene := range []string{"chart", "street"} {
		light, sharp := mean("scene=" + scene + "&sphere=0&cylinder=0&axis=90&object=0&pupil=3")
		same, blurred := mean("scene=" + scene + "&sphere=-2&cylinder=0&axis=90&object=0&pupil=3")
		if math.Abs(light-same) > 0.02 || blurred > 0.9*sharp { // 256 grey values round the light
			t.Errorf("%s: light %v and %v, edges %v and %v", scene, light, same, sharp, blurred)
		}
	}
	for _, bad := range []string{"", "scene=moon", "scene=chart&sphere=x", "scene=chart&sphere=0&cylinder=0&axis=90&object=0&pupil=40", "scene=chart&sphere=NaN&cylinder=0&axis=9&object=0&pupil=3"} {
		if w := v.get("/seen.png?" + bad); w.Code != http.StatusNotFound {
			t.Errorf("%q: %d", bad, w.Code)
		}
	}
}

// TestChartLetters: every letter of the chart has a form of five by five, and
// the chart stays on its picture.
func TestChartLetters(t *testing.T) {
	for _, l := range chartLines {
		for _, r := range l.letters {
			for _, row := range letterForms[r] {
				if len(row) != 5 {
					t.Errorf("%c: %q", r, row)
				}
			}
		}
	}
	s := letterChart()
	for i := range sceneSide {
		for _, v := range []float64{s.light[i], s.light[(sceneSide-1)*sceneSide+i], s.light[i*sceneSide], s.light[i*sceneSide+sceneSide-1]} {
			if v != 0.95 {
				t.Fatal("a letter meets the edge")
			}
		}
	}
}

func TestBenchPages(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Corvan Eskerling")
	for path, want := range map[string]struct {
		status int
		says   string
	}{
		"/bench/lens-maker":                      {200, "0.40 mm thicker at its centre than in PMMA"},
		"/bench/lens-maker?power=30":             {200, "hydrogel"},
		"/bench/lens-maker?power=abc":            {422, "role=\"alert\""},
		"/bench/lens-maker?power=99":             {422, "role=\"alert\""},
		"/bench/lens-maker?power=40&optic=7.5":   {200, "hydrophobic"},
		"/bench/rays":                            {200, "59.94"},
		"/bench/rays?eye=liou-brennan&pupil=6":   {200, "0.098"},
		"/bench/rays?eye=nobody&pupil=3":         {200, "Le Grand"},
		"/bench/rays?eye=navarro&pupil=900":      {422, "role=\"alert\""},
		"/bench/rays?eye=navarro&pupil=" + "4,5": {200, "Navarro"},
	} {
		w := v.get(path)
		if text := strings.ReplaceAll(w.Body.String(), unit.Thin, " "); w.Code != want.status || !strings.Contains(text, want.says) {
			t.Errorf("%s: %d, without %q", path, w.Code, want.says)
		}
	}
}

func TestOpticsPage(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Corvan Eskerling")
	w := v.get("/case/" + h.cases["Brennor Tidewell"] + "/optics")
	for _, want := range []string{"How sure", "What to measure again", "data-part=\"lens\"", "seen.png?scene=chart", "LEFT EYE"} {
		if !strings.Contains(w.Body.String(), want) {
			t.Errorf("no %q", want)
		}
	}
	if strings.Contains(w.Body.String(), "seen.png?scene=chart&name") {
		t.Error("a picture's address names somebody")
	}
}

// A cornea whose band is widened has no chances, and the page says why; a pupil
// or a pose that is no number is refused in words.
func TestOpticsSaysWhyNotSure(t *testing.T) {
	h := galleryServer(t)
	body := html.UnescapeString(get(h, "/gallery/optics-cone/case/c1/optics").Body.String())
	if !strings.Contains(body, "No chances are given for this eye") || strings.Contains(body, "drawn eyes.") {
		t.Error("a cone: the page does not say why there are no chances")
	}
	if body := html.UnescapeString(get(h, "/gallery/optics-tilted/case/c1/optics").Body.String()); !strings.Contains(body, "Tilt and shift as set") || !strings.Contains(body, "rotate(8") {
		t.Error("the lens that is tried is not drawn")
	}
	if w := get(h, "/gallery/optics/case/c1/optics?lens_tilt_deg=99"); w.Code != 422 || !strings.Contains(w.Body.String(), `role="alert"`) {
		t.Errorf("a tilt of 99°: %d", w.Code)
	}
}
