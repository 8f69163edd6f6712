package web

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
	"net/http"
	"strconv"

	"linn/internal/pathway"
	"linn/unit"
)

// sceneSide is the side of a simulated picture in pixels, a power of two.
const sceneSide = 512

// scene is a picture to look at: light from 0 to 1, row by row.
type scene struct {
	light []float64
	pixel float64 // arcmin
}

func newScene(pixel, ground float64) *scene {
	s := &scene{make([]float64, sceneSide*sceneSide), pixel}
	for i := range s.light {
		s.light[i] = ground
	}
	return s
}

func (s *scene) box(x1, y1, x2, y2 int, light float64) {
	for y := max(y1, 0); y < min(y2, sceneSide); y++ {
		for x := max(x1, 0); x < min(x2, sceneSide); x++ {
			s.light[y*sceneSide+x] = light
		}
	}
}

func (s *scene) disc(cx, cy, r int, light float64) {
	for y := max(cy-r, 0); y < min(cy+r, sceneSide); y++ {
		for x := max(cx-r, 0); x < min(cx+r, sceneSide); x++ {
			if (x-cx)*(x-cx)+(y-cy)*(y-cy) <= r*r {
				s.light[y*sceneSide+x] = light
			}
		}
	}
}

// slope fills the triangle under a line from (x1, y) to (x2, y) with its top
// above their middle.
func (s *scene) roof(x1, x2, y, height int, light float64) {
	for k := range height {
		half := (x2 - x1) * (height - k) / height / 2
		mid := (x1 + x2) / 2
		s.box(mid-half, y-k-1, mid+half, y-k, light)
	}
}

// letterForms are letters on five by five squares, as on charts: each square
// is the least detail.
var letterForms = map[rune][5]string{
	'D': {"####.", "#...#", "#...#", "#...#", "####."},
	'E': {"#####", "#....", "####.", "#....", "#####"},
	'H': {"#...#", "#...#", "#####", "#...#", "#...#"},
	'K': {"#...#", "#..#.", "###..", "#..#.", "#...#"},
	'N': {"#...#", "##..#", "#.#.#", "#..##", "#...#"},
	'O': {".###.", "#...#", "#...#", "#...#", ".###."},
	'V': {"#...#", "#...#", ".#.#.", ".#.#.", "..#.."},
	'Z': {"#####", "...#.", "..#..", ".#...", "#####"},
}

func (s *scene) letter(r rune, x, y, square float64, light float64) {
	for row, line := range letterForms[r] {
		for col, c := range line {
			if c == '#' {
				s.box(round(x+float64(col)*square), round(y+float64(row)*square), round(x+float64(col+1)*square), round(y+float64(row+1)*square), light)
			}
		}
	}
}

func round(v float64) int { return int(math.Round(v)) }

// chartLines are the lines of the chart: letters and their size in logMAR.
var chartLines = []struct {
	letters string
	logmar  float64
}{{"ZN", 0.8}, {"HVD", 0.7}, {"KOENZ", 0.5}, {"VHDKO", 0.3}, {"NEZVH", 0.2}, {"DKOEN", 0.1}, {"HZVDK", 0}}

// letterChart is a letter chart: letters of 10^logMAR arcmin a square, a letter's
// width between letters.
func letterChart() *scene {
	s := newScene(0.36, 0.95)
	y := 18.0
	for _, l := range chartLines {
		square := math.Pow(10, l.logmar) / s.pixel
		step := 10 * square
		x := (sceneSide - step*float64(len(l.letters)-1) - 5*square) / 2
		for _, r := range l.letters {
			s.letter(r, x, y, square, 0.04)
			x += step
		}
		y += 5*square + math.Max(14, 3.2*square)
	}
	return s
}

// street is a street by day: houses, a crossing, a bus with its number, people.
func street() *scene {
	s := newScene(1.2, 0.85) // sky
	s.box(0, 300, sceneSide, sceneSide, 0.34)
	s.box(0, 290, sceneSide, 304, 0.55)
	for i, h := range []struct{ x1, x2, top int }{{10, 120, 150}, {128, 230, 110}, {240, 330, 170}, {405, 505, 130}} {
		wall := 0.5 + 0.12*float64(i%3)
		s.box(h.x1, h.top, h.x2, 292, wall)
		s.roof(h.x1-6, h.x2+6, h.top, 34, 0.22)
		for y := h.top + 16; y < 250; y += 34 {
			for x := h.x1 + 12; x < h.x2-16; x += 26 {
				s.box(x, y, x+13, y+19, 0.12)
			}
		}
		s.box(h.x1+40, 258, h.x1+56, 292, 0.16)
	}
	s.box(344, 214, 350, 294, 0.1) // lamp post
	s.disc(347, 206, 9, 1)
	for x := 20; x < 500; x += 46 { // crossing
		s.box(x, 410, x+24, 470, 0.92)
	}
	s.bus(150, 262)
	for _, p := range []struct{ x, foot int }{{420, 392}, {452, 398}, {66, 404}} {
		s.walker(p.x, p.foot)
	}
	return s
}

// bus is a bus seen from the side, its number above the door.
func (s *scene) bus(x, y int) {
	s.box(x, y, x+170, y+96, 0.7)
	for i := range 4 {
		s.box(x+10+i*34, y+26, x+36+i*34, y+56, 0.14)
	}
	s.box(x+146, y+24, x+164, y+92, 0.2)
	s.box(x+8, y+4, x+98, y+22, 0.05)
	for i, r := range "HE" {
		s.letter(r, float64(x+16+i*18), float64(y+6), 2.6, 0.95)
	}
	s.disc(x+36, y+98, 15, 0.08)
	s.disc(x+130, y+98, 15, 0.08)
}

func (s *scene) walker(x, foot int) {
	s.disc(x, foot-70, 9, 0.3)
	s.box(x-10, foot-60, x+10, foot-26, 0.16)
	s.box(x-8, foot-26, x-2, foot, 0.1)
	s.box(x+2, foot-26, x+8, foot, 0.1)
}

// scenes are the pictures by name.
var scenes = map[string]func() *scene{"chart": letterChart, "street": street}

// encode writes light as grey values the way screens expect them.
func encode(light []float64) ([]byte, error) {
	const gamma = 1 / 2.2
	m := image.NewGray(image.Rect(0, 0, sceneSide, sceneSide))
	for i, v := range light {
		m.SetGray(i%sceneSide, i/sceneSide, color.Gray{Y: uint8(math.Round(255 * math.Pow(min(max(v, 0), 1), gamma)))})
	}
	var b bytes.Buffer
	err := (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(&b, m)
	return b.Bytes(), err
}

// seen answers a scene through a residual refraction. It belongs to no
// patient: only numbers are asked for.
func (s *server) seen(w http.ResponseWriter, r *http.Request, _ Actor) error {
	draw := scenes[r.Form.Get("scene")]
	if draw == nil {
		return ErrNotFound
	}
	get := func(name string) float64 {
		v, err := strconv.ParseFloat(r.Form.Get(name), 64)
		if err != nil {
			return math.NaN() // refused below
		}
		return v
	}
	picture := draw()
	light, err := pathway.LookThrough(picture.light, pathway.Look{Sphere: unit.Dioptre(get("sphere")), Cylinder: unit.Dioptre(get("cylinder")),
		Axis: unit.Axis(get("axis")), Object: unit.Dioptre(get("object")), Pupil: unit.Millimetre(get("pupil")), Pixel: picture.pixel})
	if err != nil {
		return ErrNotFound
	}
	b, err := encode(light)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "image/png")
	_, err = w.Write(b)
	return err
}
