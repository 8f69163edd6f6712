package refraction

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"linn/internal/checkvalue"
	"linn/unit"
)

func init() {
	runners["derived/unaided.txt"] = func(c *checkvalue.Case) (checkvalue.Results, error) {
		u := Unaided{Residual: AtCornea{Sphere: unit.Dioptre(c.Num("sphere")), Cylinder: unit.Dioptre(c.Num("cylinder"))}, Pupil: unit.Millimetre(c.Num("pupil")), Best: unit.LogMAR(math.Log10(c.Num("mar0")))}
		v, err := u.Predict()
		return checkvalue.Results{"B": float64(v.Blur), "square": float64(v.LogMAR), "smith": float64(v.Smith)}, err
	}
	runners["published/square-of-blur.txt"] = func(c *checkvalue.Case) (checkvalue.Results, error) {
		v, err := Unaided{Residual: AtCornea{Sphere: unit.Dioptre(c.Num("error"))}, Pupil: 3}.Predict()
		return checkvalue.Results{"mar": math.Pow(10, float64(v.LogMAR))}, err
	}
	runners["derived/astigmatic-vision.txt"] = func(c *checkvalue.Case) (checkvalue.Results, error) {
		v, err := AstigmaticVision(unit.Dioptre(c.Num("astigmatism")))
		return checkvalue.Results{"logmar": float64(v)}, err
	}
}

// TestUnaided: an object at the far point is seen as well as can be; farther
// from it is never better.
func TestUnaided(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := unit.Dioptre(rapid.Float64Range(-5, 2).Draw(t, "M"))
		best := unit.LogMAR(rapid.Float64Range(-0.2, 1).Draw(t, "best"))
		at := func(object unit.Dioptre) Vision {
			v, err := Unaided{Residual: AtCornea{Sphere: m}, Object: object, Best: best, Pupil: 3}.Predict()
			if err != nil {
				t.Fatal(err)
			}
			return v
		}
		if v := at(m); math.Abs(float64(v.LogMAR-best)) > 1e-12 || v.Blur != 0 {
			t.Fatalf("at the far point %+v", v)
		}
		d := unit.Dioptre(rapid.Float64Range(0, 6).Draw(t, "off"))
		if near, far := at(m+d), at(m-2*d); near.LogMAR > far.LogMAR || near.Outside != (near.Blur > 4) {
			t.Fatalf("%+v, %+v", near, far)
		}
	})
	for _, u := range []Unaided{{Pupil: 0}, {Pupil: 3, Residual: AtCornea{Sphere: unit.Dioptre(math.NaN())}}, {Pupil: 3, Object: unit.Dioptre(math.Inf(-1))}} {
		if _, err := u.Predict(); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v: %v", u, err)
		}
	}
	for _, c := range []unit.Dioptre{-0.1, 3.1, unit.Dioptre(math.NaN())} {
		if _, err := AstigmaticVision(c); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%v: %v", c, err)
		}
	}
}

// TestTwoModelsOfAstigmatism: where both speak, up to 2 D, the square of the
// blur and the measured regression lie within two lines of each other, from
// the same acuity without astigmatism.
func TestTwoModelsOfAstigmatism(t *testing.T) {
	for c := 0.0; c <= 2; c += 0.25 {
		measured, err := AstigmaticVision(unit.Dioptre(c))
		if err != nil {
			t.Fatal(err)
		}
		v, err := Unaided{Residual: AtCornea{Sphere: unit.Dioptre(c / 2), Cylinder: unit.Dioptre(-c)}, Best: -0.116, Pupil: 3}.Predict()
		if err != nil || math.Abs(float64(v.LogMAR-measured)) > 0.2 {
			t.Errorf("%v D: %v by the square, measured %v, %v", c, v.LogMAR, measured, err)
		}
	}
}
