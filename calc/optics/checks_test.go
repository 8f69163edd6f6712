package optics

import (
	"fmt"
	"math"
	"testing"

	"linn/internal/checkvalue"
	"linn/unit"
)

// cells reads a row's columns as quantities.
type cells struct{ *checkvalue.Case }

func (c cells) num(col string) float64        { return c.Num(col) }
func (c cells) mm(col string) unit.Millimetre { return unit.Millimetre(c.Num(col)) }
func (c cells) d(col string) unit.Dioptre     { return unit.Dioptre(c.Num(col)) }

// results are the computed outputs of one row, by column.
type results = checkvalue.Results

// runners say how each file of check values is computed. A file without a
// runner, and a runner without a file, fail.
var runners = map[string]func(cells) (results, error){
	"published/cornea-gullstrand-ratio.txt": func(c cells) (results, error) {
		n, err := Cornea{c.mm("R1"), c.mm("R2"), c.mm("t")}.KeratometricIndex()
		return results{"index": float64(n)}, err
	},
	"derived/cornea-index.txt": func(c cells) (results, error) {
		n, err := c.cornea().KeratometricIndex()
		return results{"index": float64(n)}, err
	},
	"derived/cornea-power.txt": func(c cells) (results, error) {
		p, err := c.cornea().Power()
		return results{"P": float64(p)}, err
	},
	"published/sulcus-chart.txt":         sulcus,
	"published/thick-against-thin.txt":   thickAgainstThin,
	"published/eye-gullstrand.txt":       schematic,
	"published/eye-emsley.txt":           schematic,
	"published/eye-le-grand.txt":         schematic,
	"published/eye-bennett-rabbetts.txt": schematic,
	"derived/schematic-eyes.txt":         schematic,
	"derived/lens-bending.txt":           bending,
	"derived/thin-sensitivity.txt":       func(c cells) (results, error) { return sensitivity(c, 1, c.mm("ELP")) },
	"derived/thin-derivatives.txt":       func(c cells) (results, error) { return sensitivity(c, 331.5/337.5, 5) },
	"derived/aphakic.txt":                aphakic,
	"derived/position.txt":               position,
	"derived/four-surfaces.txt":          fourSurfaces,
	"derived/thick-reference.txt":        thickReference,
}

func (c cells) cornea() Cornea {
	return Cornea{c.mm("R1"), c.mm("R1") * unit.Millimetre(c.num("ratio")), c.mm("t")}
}

func TestCheckValues(t *testing.T) {
	files, err := checkvalue.LoadTree(".")
	if err != nil {
		t.Fatal(err)
	}
	for i := range files {
		f := &files[i]
		t.Run(f.Name(), func(t *testing.T) {
			run := runners[f.Name()]
			if run == nil {
				t.Fatal("no runner")
			}
			if f.Unconfirmed() {
				t.Logf("unconfirmed: %s, %s is from memory", f.Source, f.Where)
			}
			for _, fault := range f.Run(func(c *checkvalue.Case) (results, error) { return run(cells{c}) }) {
				t.Error(fault)
			}
		})
	}
	for _, name := range checkvalue.Unmatched(files, runners) {
		t.Errorf("%s is gone", name)
	}
}

// sulcus moves a lens forward by half a millimetre in an unchanged eye.
func sulcus(c cells) (results, error) {
	const k, bag, front = 43.14, 5.20, 4.70
	need := c.num("bag") + perMillimetre/(perMillimetre/k-bag) // vergence behind the lens
	e := Thin{Cornea: k, Length: unit.Millimetre(bag + perMillimetre/need), Position: front, Vertex: 12}
	p, err := e.Power(0)
	return results{"sulcus": float64(p)}, err
}

// thickAgainstThin finds where a thick lens must stand to refract the eye as
// the thin lens at 5.0 mm does.
func thickAgainstThin(c cells) (results, error) {
	length := 5 + perMillimetre/(c.num("P")+perMillimetre/(perMillimetre/43-5)) // the eye the thin lens makes emmetropic
	thin := Thin{Cornea: 43, Length: unit.Millimetre(length), Position: 5, Vertex: 12}
	want, err := thin.Refraction(c.d("P"))
	if err != nil {
		return nil, err
	}
	front, back, err := Shape{1.46, 0.9, unit.Constant(c.num("X"))}.Radii(c.d("P"))
	if err != nil {
		return nil, err
	}
	vertexOf := func(at float64) float64 { // refraction with the front vertex at
		cornea := SurfaceRadius(43, Media{1, Aqueous})
		v, e := System{1, []Surface{{cornea, Aqueous, unit.Millimetre(at)}, {front, 1.46, 0.9}, {back, Aqueous, unit.Millimetre(length - at - 0.9)}}}.VertexRefraction()
		if e != nil {
			err = e
		}
		r, e := ToSpectacle(v, 12)
		if e != nil {
			err = e
		}
		return float64(r)
	}
	low, high := 2.0, 8.0
	rising := vertexOf(high) > vertexOf(low)
	for range 60 {
		mid := (low + high) / 2
		if (vertexOf(mid) < float64(want)) == rising {
			low = mid
		} else {
			high = mid
		}
	}
	return results{"shift": low - 5}, err
}

// eyes are the schematic eyes whose published derived data are checked.
var eyes = map[string]System{
	"gullstrand":       {1, []Surface{{7.7, 1.376, 0.5}, {6.8, 1.336, 3.1}, {10, 1.386, 0.546}, {7.911, 1.406, 2.419}, {-5.76, 1.386, 0.635}, {-6, 1.336, 0}}},
	"emsley":           {1, []Surface{{7.8, 4. / 3, 3.6}, {10, 1.416, 3.6}, {-6, 4. / 3, 0}}},
	"le-grand":         {1, []Surface{{7.8, 1.3771, 0.55}, {6.5, 1.3374, 3.05}, {10.2, 1.42, 4}, {-6, 1.336, 16.59655}}},
	"bennett-rabbetts": {1, []Surface{{7.8, 1.336, 3.6}, {11, 1.422, 3.7}, {-6.47515, 1.336, 16.79}}},
}

func schematic(c cells) (results, error) {
	k, err := eyes[c.Word("eye")].Cardinal()
	return results{"P": float64(k.Power), "F": float64(k.Front), "F2": float64(k.Back), "H": float64(k.H), "H2": float64(k.HPrime),
		"N": float64(k.N), "N2": float64(k.NPrime)}, err
}

func bending(c cells) (results, error) {
	s := Shape{unit.Index(c.num("n")), c.mm("t"), unit.Constant(c.num("X"))}
	front, back, err := s.Radii(c.d("P"))
	if err != nil {
		return nil, err
	}
	k, err := System{Aqueous, []Surface{{front, s.Index, s.Thickness}, {back, Aqueous, 0}}}.Cardinal()
	if math.Abs(float64(k.Power)-c.num("P")) > 1e-9 {
		return nil, fmt.Errorf("radii of %g D make a lens of %g D", c.num("P"), k.Power)
	}
	return results{"R1": float64(front), "R2": float64(back), "H": float64(k.H), "H2": float64(k.HPrime)}, err
}

// sensitivity differentiates the thin eye around emmetropia; scale is the
// corneal power per dioptre of the K that is entered.
func sensitivity(c cells, scale unit.Dioptre, position unit.Millimetre) (results, error) {
	cornea := scale * c.d("K")
	e := Thin{cornea, c.mm("AL"), position, 12}
	p, err := e.Power(0)
	const h = 1e-4
	slope := func(f func(x float64) (unit.Dioptre, error)) float64 {
		up, e1 := f(h)
		down, e2 := f(-h)
		if e1 != nil {
			err = e1
		}
		if e2 != nil {
			err = e2
		}
		return float64(up-down) / (2 * h)
	}
	moved := func(dk unit.Dioptre, dl, dd unit.Millimetre) Thin {
		return Thin{cornea + dk, e.Length + dl, position + dd, 12}
	}
	return results{"P": float64(p),
		"dP_dELP": slope(func(x float64) (unit.Dioptre, error) { return moved(0, 0, unit.Millimetre(x)).Power(0) }),
		"dR_dELP": slope(func(x float64) (unit.Dioptre, error) { return moved(0, 0, unit.Millimetre(x)).Refraction(p) }),
		"dR_dAL":  slope(func(x float64) (unit.Dioptre, error) { return moved(0, unit.Millimetre(x), 0).Refraction(p) }),
		"dR_dK":   slope(func(x float64) (unit.Dioptre, error) { return moved(scale*unit.Dioptre(x), 0, 0).Refraction(p) }),
		"dR_dP":   slope(func(x float64) (unit.Dioptre, error) { return e.Refraction(p + unit.Dioptre(x)) })}, err
}

func aphakic(c cells) (results, error) {
	e := Thin{c.d("K"), c.mm("AL"), c.mm("d"), 12}
	p, err := e.Power(0)
	if err != nil {
		return nil, err
	}
	r, err := e.AphakicRefraction()
	return results{"P": float64(p), "Ref": float64(r)}, err
}

func position(c cells) (results, error) {
	d, err := Thin{Cornea: unit.Dioptre(331.5 / c.num("r")), Length: c.mm("AL"), Vertex: 12}.PositionFor(Achieved{c.d("P"), c.d("Ref")})
	return results{"d": float64(d)}, err
}

func fourSurfaces(c cells) (results, error) {
	n, t := unit.Index(c.num("nL")), c.mm("T")
	v, err := System{1, []Surface{{c.mm("R1"), CornealStroma, c.mm("t")}, {c.mm("R2"), Aqueous, c.mm("front") - c.mm("t")},
		{c.mm("Ra"), n, t}, {c.mm("Rp"), Aqueous, c.mm("AL") - c.mm("front") - t}}}.VertexRefraction()
	if err != nil {
		return nil, err
	}
	r, err := ToSpectacle(v, 12)
	return results{"Ref": float64(r)}, err
}

func thickReference(c cells) (results, error) {
	r := c.mm("R")
	e := Thick{Cornea{r, 0.83 * r, 0.5}, Shape{1.49, 0.8, 0}, c.mm("ACD") + 0.39*c.mm("LT"), c.mm("AL"), 12}
	ref, err := e.Refraction(c.d("P"))
	return results{"Ref": float64(ref)}, err
}
