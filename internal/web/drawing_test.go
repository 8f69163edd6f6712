package web

import (
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/boombuler/barcode/datamatrix"

	"linn/eye"
	"linn/internal/locale"
	"linn/unit"
)

func galleryWords(t *testing.T) *server {
	t.Helper()
	s, err := newServer(Options{Access: &canned{}})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// wellFormed reads an SVG as XML and checks that it carries presentation
// attributes only, a title and a description.
func wellFormed(t *testing.T, svg string) {
	t.Helper()
	d := xml.NewDecoder(strings.NewReader(svg))
	seen := map[string]bool{}
	for {
		tok, err := d.Token()
		if err == io.EOF {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if el, ok := tok.(xml.StartElement); ok {
			seen[el.Name.Local] = true
			for _, a := range el.Attr {
				if a.Name.Local == "style" || strings.HasPrefix(a.Name.Local, "on") || strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
					t.Errorf("<%s> carries %s=%q", el.Name.Local, a.Name.Local, a.Value)
				}
			}
		}
	}
	if !seen["title"] || !seen["desc"] {
		t.Error("no title or description")
	}
}

func TestDrawingsAreWellFormed(t *testing.T) {
	s := galleryWords(t)
	for name, c := range map[string]EyeCase{"average": averageEye(), "empty": emptyEye(), "longest": longestEye(), "missing": missingEye(), "stops": stopsEye()} {
		t.Run(name, func(t *testing.T) {
			for _, f := range []eyeFrame{wideEye, narrowEye} {
				wellFormed(t, string(s.drawEye(&c, f)))
			}
			if drawable(&c.Lens) {
				for _, f := range []ladderFrame{wideLadder, narrowLadder} {
					wellFormed(t, string(s.ladder(&c, f)))
				}
			}
		})
	}
}

// Any eye the readings' bounds allow can be drawn without a broken number.
func TestDrawingHoldsAtTheBounds(t *testing.T) {
	s := galleryWords(t)
	for _, length := range []unit.Millimetre{15, 23.4, 38} {
		for _, k := range []unit.Dioptre{30, 43, 60} {
			for _, white := range []unit.Millimetre{9, 14} {
				c := averageEye()
				e := &c.Right.Eye
				e.AxialLength.Value, e.KFlat.Value, e.KSteep.Value, e.WhiteToWhite.Value = length, k, k, white
				e.ACD.Value, e.LensThickness.Value = 5.5, 6.5
				wellFormed(t, string(s.drawEye(&c, wideEye)))
			}
		}
	}
}

// The eye is to scale: the line of the axial length is as long as it says.
func TestEyeIsToScale(t *testing.T) {
	s := galleryWords(t)
	for _, length := range []unit.Millimetre{20, 23.41, 27} {
		c := averageEye()
		c.Right.Eye.AxialLength.Value = length
		m := regexp.MustCompile(`<line x1="([\d.]+)" y1="232.0" x2="([\d.]+)" y2="232.0"`).FindStringSubmatch(string(s.drawEye(&c, wideEye)))
		if m == nil {
			t.Fatal("no line along the axis")
		}
		a, _ := strconv.ParseFloat(m[1], 64)
		b, _ := strconv.ParseFloat(m[2], 64)
		if got := (b - a) / wideEye.scale; math.Abs(got-float64(length)) > 0.01 {
			t.Errorf("drawn %.2f mm, measured %s", got, length)
		}
	}
}

// The ladder's heights are its numbers: each mark of the guiding method lies
// where the scale puts its refraction, and higher means more plus.
func TestLadderIsToScale(t *testing.T) {
	s := galleryWords(t)
	c := averageEye()
	svg := string(s.ladder(&c, wideLadder))
	low, high := span(&c.Lens)
	if low != -2 || high != 1 {
		t.Fatalf("span %g to %g", low, high)
	}
	sc := scale{wideLadder, 5, low, high}
	if sc.y(1) != wideLadder.top || sc.y(-2) != wideLadder.height-wideLadder.bottom {
		t.Error("the scale does not fill the paper")
	}
	for _, ch := range c.Lens.Methods[0].Choices {
		if want := `cy="` + px(sc.y(float64(ch.Refraction))) + `"`; !strings.Contains(svg, want) {
			t.Errorf("no mark at %s for %s", want, ch.Refraction)
		}
	}
	if want := `y1="` + px(sc.y(-0.25)) + `"`; !strings.Contains(svg, want) {
		t.Errorf("no target line at %s", want)
	}
	for _, m := range c.Lens.Methods {
		if !strings.Contains(svg, ">"+locale.Method(locale.English, m.ID)+"</text>") {
			t.Errorf("%s is not named beside its marks", m.ID)
		}
	}
}

// Methods are told apart by shape without colour.
func TestMethodsDifferInShape(t *testing.T) {
	seen := map[string]string{}
	for id, l := range looks {
		if other := seen[l.shape]; other != "" {
			t.Errorf("%s and %s share the %s", id, other, l.shape)
		}
		seen[l.shape] = id
	}
	if looks["srk-t"].shape == lookOf("haigis-l").shape {
		t.Error("a later method takes the shape of an ordinary one")
	}
}

// The drawn symbol has exactly the encoder's dark modules, inside a quiet
// zone, and the two solid and two broken edges of ISO/IEC 16022.
func TestDataMatrix(t *testing.T) {
	const content = "LINN1 0412-2-7F3C"
	svg, err := dataMatrix(content, "label")
	if err != nil {
		t.Fatal(err)
	}
	dark := map[[2]int]bool{}
	for _, m := range regexp.MustCompile(`M(\d+) (\d+)h1v1h-1z`).FindAllStringSubmatch(string(svg), -1) {
		x, _ := strconv.Atoi(m[1])
		y, _ := strconv.Atoi(m[2])
		dark[[2]int{x - 2, y - 2}] = true
	}
	code, err := datamatrix.Encode(content)
	if err != nil {
		t.Fatal(err)
	}
	n := code.Bounds().Dx()
	for y := range n {
		for x := range n {
			r, _, _, _ := code.At(x, y).RGBA()
			if (r == 0) != dark[[2]int{x, y}] {
				t.Fatalf("module %d,%d differs", x, y)
			}
		}
	}
	for i := range n {
		if !dark[[2]int{0, i}] || !dark[[2]int{i, n - 1}] {
			t.Fatal("the solid edges are broken")
		}
		if dark[[2]int{i, 0}] != (i%2 == 0) || dark[[2]int{n - 1, i}] != (i%2 == 1) {
			t.Fatal("the broken edges do not alternate")
		}
	}
}

func TestShapeOfEmptyEyeIsDotted(t *testing.T) {
	sh := shapeOf(&eye.Eye{})
	if sh.hasLength || sh.hasDepth || sh.hasLens || sh.hasK || dash(sh.hasLength) == "none" {
		t.Error("an eye without readings is drawn as if measured")
	}
}
