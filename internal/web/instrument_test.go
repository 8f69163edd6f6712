package web

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"linn/internal/locale"
	"linn/internal/pathway"
)

// instrumentOf is an invented eye of a length as an instrument.
func instrumentOf(t *testing.T, length, k, depth float64) pathway.Instrument {
	t.Helper()
	in, refused := pathway.InstrumentFile(fmt.Appendf(nil, `{"side":"left","axial_length_mm":%g,"axial_length_method":"optical","k_flat_d":%g,"k_steep_d":%g,"k_steep_axis_deg":90,"keratometric_index":1.3375,
		"acd_mm":%g,"lens_thickness_mm":4.5,"lens_status":"phakic","vitreous":"natural","corneal_surgery":"none","target_d":-0.25,"vertex_mm":12,"white_to_white_mm":11.8,"pupil_mm":3,
		"lens":{"model":"Invented 1","index":1.47,"constants":{"a":118.4,"sf_mm":1.45,"pacd_mm":5.2,"a0":1.35,"a1":0.4,"a2":0.1}}}`, length, k, k+0.75, depth), "test")
	if err := refused.Err(); err != nil {
		t.Fatal(err)
	}
	return in
}

var drawnEyes = []struct{ length, k, depth float64 }{{20, 46, 2.6}, {23.5, 43.3, 3.1}, {31, 43, 3.7}}

var (
	partOf  = regexp.MustCompile(`<g data-part="([a-z-]+)">(.*?)</g>`)
	figures = regexp.MustCompile(`-?\d+\.\d+|-?\d+`)
	texts   = regexp.MustCompile(`<text x="([^"]+)" y="([^"]+)"([^>]*)>([^<]*)</text>`)
	size    = regexp.MustCompile(`font-size="(\d+)"`)
)

// vertex is where an arc of a path crosses the axis, in pixels: from its ends
// and its radius.
func vertex(t *testing.T, path string) float64 {
	t.Helper()
	var x1, y1, r, r2, x2, y2 float64
	var sweep int
	if _, err := fmt.Sscanf(path, "M%f %fA%f %f 0 0 %d %f %f", &x1, &y1, &r, &r2, &sweep, &x2, &y2); err != nil {
		t.Fatalf("%s: %v", path, err)
	}
	h := (y2 - y1) / 2
	sag := r - math.Sqrt(r*r-h*h)
	left := (sweep == 0) == (y2 > y1) // bulges to the left
	if left {
		return x1 - sag
	}
	return x1 + sag
}

// TestInstrumentToScale reads the positions of every part from the picture and
// holds them against the model.
func TestInstrumentToScale(t *testing.T) {
	for _, e := range drawnEyes {
		t.Run(fmt.Sprint(e.length), func(t *testing.T) {
			in := instrumentOf(t, e.length, e.k, e.depth)
			svg := InstrumentSVG(locale.English, &in)
			parts := map[string]string{}
			for _, m := range partOf.FindAllStringSubmatch(svg, -1) {
				parts[m[1]] = m[2]
			}
			f := instrumentFrame
			path := regexp.MustCompile(`d="([^"]+)"`)
			place := func(part string) string { return path.FindStringSubmatch(parts[part])[1] }
			lens := strings.Split(place("lens"), "L")
			for name, c := range map[string]struct{ got, want float64 }{
				"cornea front": {vertex(t, place("cornea-front")), 0},
				"cornea back":  {vertex(t, place("cornea-back")), in.Places.CorneaBack.Value},
				"lens front":   {vertex(t, lens[0]), in.Places.LensFront.Value},
				"lens back":    {vertex(t, "M"+strings.TrimSuffix(lens[1], "Z")), in.Places.LensBack.Value},
			} {
				if got := (c.got - f.left) / f.scale; math.Abs(got-c.want) > 0.02 { // a tenth of a pixel at either end
					t.Errorf("%s at %.3f mm, the model has it at %.3f", name, got, c.want)
				}
			}
			circle := figures.FindAllString(parts["retina"][strings.Index(parts["retina"], "<circle"):], -1)
			if got := (plotted(t, circle[0]) - f.left) / f.scale; math.Abs(got-e.length) > 0.01 {
				t.Errorf("retina at %.3f mm of %v", got, e.length)
			}
			rays := strings.Split(parts["rays"], "<path ")[1:]
			if len(rays) != len(in.Rays) {
				t.Fatalf("%d rays drawn of %d", len(rays), len(in.Rays))
			}
			for i, r := range rays {
				xy := figures.FindAllString(path.FindStringSubmatch("<path " + r)[1], -1)
				for k, p := range in.Rays[i] {
					if x, y := plotted(t, xy[2*k]), plotted(t, xy[2*k+1]); math.Abs((x-f.left)/f.scale-p[0]) > 0.01 || math.Abs((f.axis-y)/f.scale-p[1]) > 0.01 {
						t.Errorf("ray %d meets surface %d at %v, drawn at %v %v", i, k, p, x, y)
					}
				}
			}
		})
	}
}

func plotted(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestInstrumentLabels: no two texts of the picture meet, and none leaves it. A
// letter is taken as 0.62 of the font's size, wider than the typeface's mean.
func TestInstrumentLabels(t *testing.T) {
	for _, e := range drawnEyes {
		in := instrumentOf(t, e.length, e.k, e.depth)
		type box struct {
			text           string
			x1, x2, y1, y2 float64
		}
		var boxes []box
		for _, m := range texts.FindAllStringSubmatch(InstrumentSVG(locale.English, &in), -1) {
			x, y, s := plotted(t, m[1]), plotted(t, m[2]), plotted(t, size.FindStringSubmatch(m[3])[1])
			w := 0.62 * s * float64(utf8.RuneCountInString(m[4]))
			switch {
			case strings.Contains(m[3], "middle"):
				x -= w / 2
			case strings.Contains(m[3], "end"):
				x -= w
			}
			boxes = append(boxes, box{m[4], x, x + w, y - 0.8*s, y + 0.25*s})
		}
		if len(boxes) < 8 {
			t.Fatalf("%d texts", len(boxes))
		}
		for i, a := range boxes {
			if a.x1 < 0 || a.x2 > instrumentFrame.width || a.y1 < 0 || a.y2 > instrumentFrame.height {
				t.Errorf("%v mm: %q leaves the picture", e.length, a.text)
			}
			for _, b := range boxes[:i] {
				if a.x1 < b.x2 && b.x1 < a.x2 && a.y1 < b.y2 && b.y1 < a.y2 {
					t.Errorf("%v mm: %q meets %q", e.length, a.text, b.text)
				}
			}
		}
	}
}

// TestLongestEyeFits: the longest eye that is taken has room.
func TestLongestEyeFits(t *testing.T) {
	in := instrumentOf(t, 31, 43, 3.7)
	in.Places.Retina.Value = 38
	if svg := InstrumentSVG(locale.English, &in); !strings.Contains(svg, "38.00") {
		t.Error("no length")
	}
}
