package lenspower

import (
	"errors"
	"fmt"
	"testing"

	"linn/calc/optics"
	"linn/internal/checkvalue"
	"linn/unit"
)

// cells reads a row's columns as quantities.
type cells struct{ *checkvalue.Case }

func (c cells) mm(col string) unit.Millimetre { return unit.Millimetre(c.Num(col)) }
func (c cells) d(col string) unit.Dioptre     { return unit.Dioptre(c.Num(col)) }

type results = checkvalue.Results

// published is the set of the reference grid; joint one that was optimised for
// all methods together.
var (
	published = Constants{A: unit.Known(unit.Constant(118.4)), SF: unit.Known(unit.Millimetre(1.4499)), PACD: unit.Known(unit.Millimetre(5.1987)),
		A0: unit.Known(unit.Millimetre(1.5269)), A1: unit.Known(unit.Constant(0.4)), A2: unit.Known(unit.Constant(0.1))}
	joint = Constants{A: unit.Known(unit.Constant(119)), SF: unit.Known(unit.Millimetre(1.84)), PACD: unit.Known(unit.Millimetre(5.64)),
		A0: unit.Known(unit.Millimetre(-0.769)), A1: unit.Known(unit.Constant(0.234)), A2: unit.Known(unit.Constant(0.217))}
)

func onlyA(a float64) Constants { return Constants{A: unit.Known(unit.Constant(a))} }

func resolved(t testing.TB, m *Method, c Constants) Resolved {
	t.Helper()
	r, _, missing := m.Resolve(c)
	if missing != "" {
		t.Fatalf("%s: missing %s", m.ID, missing)
	}
	return r
}

// eyeOf makes an input of the columns AL, K and, where it is used, ACD.
func (c cells) eyeOf(m *Method, set Constants) (Input, error) {
	r, _, missing := m.Resolve(set)
	if missing != "" {
		return Input{}, fmt.Errorf("missing %s", missing)
	}
	in := Input{AxialLength: c.mm("AL"), K: c.d("K"), Vertex: 12, Constant: r}
	if m.NeedsACD() {
		in.ACD = unit.Known(c.mm("ACD"))
	}
	return in, nil
}

// runners say how each file of check values is computed.
var runners = map[string]func(cells) (results, error){
	"published/holladay-without-double-k.txt": func(c cells) (results, error) {
		m := MethodNamed("holladay-1")
		in, err := c.eyeOf(m, onlyA(c.Num("A")))
		if err != nil {
			return nil, err
		}
		p, err := m.Power(in, 0)
		return results{"P": float64(p)}, err
	},
	"published/srkt-cusp.txt": func(c cells) (results, error) {
		return results{"AL": lastSolved(20, 38, func(x float64) Input { return srktEye(x, c.Num("K")) })}, nil
	},
	"derived/srkt-cusp-length.txt": func(c cells) (results, error) {
		return results{"AL": lastSolved(20, 38, func(x float64) Input { return srktEye(x, c.Num("K")) })}, nil
	},
	"derived/srkt-cusp-k.txt": func(c cells) (results, error) {
		return results{"K": lastSolved(40, 60, func(x float64) Input { return srktEye(c.Num("AL"), x) })}, nil
	},
	"published/haigis-l-example.txt": func(c cells) (results, error) {
		r, err := HaigisLRadius((c.mm("r1") + c.mm("r2")) / 2)
		return results{"r": float64(r), "K": keratometric / float64(r)}, err
	},
	"published/jarade-tabbara-means.txt": func(c cells) (results, error) {
		k, err := JaradeTabbaraK(LaserChange{c.d("Kpre"), c.mm("Rpre"), c.mm("Rpost")})
		return results{"Kc": float64(k)}, err
	},
	"derived/eight-eyes.txt":  eightEyes,
	"derived/conversions.txt": conversions,
	"derived/sensitivity.txt": sensitivity,
	"derived/joint-set.txt":   func(c cells) (results, error) { return emmetropia(c, joint) },
	"derived/traps.txt":       func(c cells) (results, error) { return emmetropia(c, published) },
	"derived/double-k.txt": func(c cells) (results, error) {
		m := MethodNamed("holladay-1")
		r, _, _ := m.Resolve(onlyA(118.9))
		p, err := m.Power(Input{AxialLength: 24.5, K: c.d("Kpost"), KBefore: unit.Known(c.d("Kpre")), Vertex: 12, Constant: r}, 0)
		return results{"P": float64(p)}, err
	},
	"derived/heights.txt": func(c cells) (results, error) {
		h, _ := srktHeight(radius(c.Num("K")), srktWidth(c.Num("AL"), c.Num("K")))
		return results{"H": h, "H2": t2Height(c.Num("AL"), c.Num("K"))}, nil
	},
	"derived/haigis-position.txt": func(c cells) (results, error) {
		b, err := MethodNamed("haigis").BackSolve(Input{AxialLength: c.mm("AL"), K: unit.Dioptre(keratometric / c.Num("r")), ACD: unit.Known(unit.Millimetre(3.1)), Vertex: 12},
			optics.Achieved{Power: c.d("P"), Refraction: c.d("Ref")})
		if usable := b.Position > 3; b.Usable != usable {
			return nil, fmt.Errorf("position %g is usable: %v", b.Position, b.Usable)
		}
		return results{"d": float64(b.Position)}, err
	},
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

func srktEye(al, k float64) Input {
	r, _, _ := MethodNamed("srk-t").Resolve(onlyA(118.4))
	return Input{AxialLength: unit.Millimetre(al), K: unit.Dioptre(k), Vertex: 12, Constant: r}
}

// lastSolved finds by halving the largest x between low and high at which
// SRK/T has an answer.
func lastSolved(low, high float64, at func(float64) Input) float64 {
	for range 60 {
		mid := (low + high) / 2
		_, err := MethodNamed("srk-t").Solve(at(mid))
		if errors.Is(err, unit.ErrRange) {
			high = mid
		} else {
			low = mid
		}
	}
	return low
}

func eightEyes(c cells) (results, error) {
	m := MethodNamed(c.Word("method"))
	in, err := c.eyeOf(m, published)
	if err != nil {
		return nil, err
	}
	s, err := m.Solve(in)
	if err != nil {
		return nil, err
	}
	out := results{"d": float64(s.Position)}
	for col, target := range map[string]unit.Dioptre{"P0": 0, "P-0.5": -0.5, "P-2": -2} {
		p, e := s.Power(target)
		err = errors.Join(err, e)
		out[col] = float64(p)
	}
	out["lens"] = nearestHalf(out["P0"])
	r, e := s.Refraction(unit.Dioptre(out["lens"]))
	out["Ref"] = float64(r)
	return out, errors.Join(err, e)
}

func emmetropia(c cells, set Constants) (results, error) {
	m := MethodNamed(c.Word("method"))
	in, err := c.eyeOf(m, set)
	if err != nil {
		return nil, err
	}
	p, err := m.Power(in, 0)
	return results{"P": float64(p)}, err
}

func conversions(c cells) (results, error) {
	out := results{}
	for col, id := range map[string]string{"SF": "holladay-1", "pACD": "hoffer-q", "a0": "haigis"} {
		r, findings, missing := MethodNamed(id).Resolve(onlyA(c.Num("A")))
		if missing != "" || !r.Converted || len(findings) == 0 {
			return nil, fmt.Errorf("%s was not converted", id)
		}
		out[col] = float64(r.Value)
	}
	for _, step := range MethodNamed("srk-t").Working(srktWith(c.Num("A")), 0) {
		if step.Name == "srk-t.acd-constant" {
			out["ACDconst"] = step.Value
		}
	}
	return out, nil
}

func srktWith(a float64) Input {
	in := srktEye(23.5, 43.5)
	in.Constant, _, _ = MethodNamed("srk-t").Resolve(onlyA(a))
	return in
}

// sensitivity differentiates the refraction by the method's own constant.
func sensitivity(c cells) (results, error) {
	m := MethodNamed(c.Word("method"))
	at := func(by float64) (Input, error) {
		set := published
		set.A.Value += unit.Constant(by)
		set.SF.Value += unit.Millimetre(by)
		set.PACD.Value += unit.Millimetre(by)
		set.A0.Value += unit.Millimetre(by)
		r, _, missing := m.Resolve(set)
		if missing != "" {
			return Input{}, errors.New("missing " + missing)
		}
		return Input{AxialLength: 23.5, K: 43.5, ACD: unit.Known(unit.Millimetre(3.1)), Vertex: 12, Constant: r}, nil
	}
	middle, err := at(0)
	if err != nil {
		return nil, err
	}
	p, err := m.Power(middle, 0)
	if err != nil {
		return nil, err
	}
	const h = 1e-4
	up, e1 := at(h)
	down, e2 := at(-h)
	high, e3 := m.Refraction(up, p)
	low, e4 := m.Refraction(down, p)
	return results{"slope": float64(high-low) / (2 * h)}, errors.Join(e1, e2, e3, e4)
}
