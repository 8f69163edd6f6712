package astigmatism

import (
	"errors"
	"math"
	"slices"
	"testing"

	"linn/calc/refraction"
	"linn/internal/checkvalue"
	"linn/unit"
)

type cells struct{ *checkvalue.Case }

func (c cells) d(col string) unit.Dioptre     { return unit.Dioptre(c.Num(col)) }
func (c cells) mm(col string) unit.Millimetre { return unit.Millimetre(c.Num(col)) }
func (c cells) axis(col string) unit.Axis     { return unit.NewAxis(unit.Degree(c.Num(col))) }
func (c cells) cyl(magnitude, axis string) Vector {
	return Cylinder{c.d(magnitude), c.axis(axis)}.Vector()
}

// like writes an axis as the file does: 0 and 180 are one.
func (c cells) like(got unit.Axis, col string) float64 {
	if text := c.Word(col); text == "-" {
		return float64(got)
	}
	printed := c.Num(col)
	return printed + math.Remainder(float64(got)-printed, 180)
}

type results = checkvalue.Results

var runners = map[string]func(cells) (results, error){
	"derived/alpins.txt": func(c cells) (results, error) {
		a := Change{c.cyl("pre", "preax"), c.cyl("post", "postax"), c.cyl("target", "targetax")}.Alpins()
		t, s, d := a.Target.Cylinder(), a.Induced.Cylinder(), a.Difference.Cylinder()
		return results{"TIA": float64(t.Magnitude), "TIAax": c.like(t.Steep, "TIAax"), "SIA": float64(s.Magnitude), "SIAax": c.like(s.Steep, "SIAax"),
			"DV": float64(d.Magnitude), "DVax": c.like(d.Steep, "DVax"), "ME": float64(a.Magnitude), "AE": float64(a.Angle), "CI": a.Correction,
			"IOS": a.Success, "FE": float64(a.Flattening), "FI": a.Index, "torque": float64(a.Torque)}, nil
	},
	"derived/naeser.txt": func(c cells) (results, error) {
		p := c.cyl("M", "steep").Polar(unit.Degree(c.Num("phi")))
		return results{"KP": float64(p.Along), "KP45": float64(p.Torque)}, nil
	},
	"derived/abulafia-koch.txt": func(c cells) (results, error) {
		a, err := AbulafiaKoch.Adjust(c.cyl("C", "steep"), unit.Reading[unit.Dioptre]{}, nil)
		v := a.Vector.Cylinder()
		return results{"cyl": float64(v.Magnitude), "axis": c.like(v.Steep, "axis")}, err
	},
	"derived/crossed-cylinders.txt": func(c cells) (results, error) {
		e := Pseudophakic{Mean: c.d("K"), Cornea: c.cyl("C", "steep"), Length: c.mm("AL"), Position: c.mm("ELP"), Vertex: 12}
		l := ToricLens{c.d("SE"), c.d("T"), c.axis("mark")}
		s, err := e.Refraction(l)
		if err != nil {
			return nil, err
		}
		a, err := e.AtCornea(l)
		return results{"S": float64(s.Sphere), "Cyl": float64(s.Cylinder), "axis": c.like(s.Axis, "axis"), "Sc": float64(a.Sphere), "Cc": float64(a.Cylinder), "axisc": c.like(a.Axis, "axisc")}, err
	},
	"derived/toric-ratio.txt": func(c cells) (results, error) {
		e := Pseudophakic{Mean: c.d("K"), Cornea: Cylinder{c.d("C"), 90}.Vector(), Length: c.mm("AL"), Position: c.mm("ELP"), Vertex: 12}
		l, err := e.Ideal(0)
		return results{"SE": float64(l.Equivalent), "T": float64(l.Cylinder), "ratio": e.Ratio()}, err
	},
	"derived/misaligned.txt": func(c cells) (results, error) {
		v := Laid{c.cyl("C", "steep"), c.d("lens")}.Turned(unit.Degree(c.Num("turn"))).Cylinder()
		return results{"left": float64(v.Magnitude), "axis": c.like(v.Steep, "axis")}, nil
	},
	"derived/misalign-expected.txt": func(c cells) (results, error) {
		m := Marking{unit.Degree(c.Num("sd"))}
		return results{"E": float64(m.Mean(Laid{Cylinder{c.d("C"), 77}.Vector(), c.d("C") * unit.Dioptre(c.Num("ratio"))}))}, nil
	},
	"derived/rotation.txt": func(c cells) (results, error) {
		r, err := Lying{ToricLens{c.d("SE"), c.d("T"), c.axis("mark")}, refraction.AtSpectacle{Sphere: c.d("S"), Cylinder: c.d("C"), Axis: c.axis("axis"), Vertex: 12}, c.mm("AL"), c.mm("ELP"), unit.Known(c.d("K"))}.Best()
		if err != nil {
			return nil, err
		}
		if math.Abs(float64(r.After.Cylinder)-c.Num("Cafter")) > 0.0001 {
			return nil, errors.New("the best mark leaves another cylinder than at the printed mark")
		}
		r.After, err = r.Eye.Refraction(ToricLens{c.d("SE"), c.d("T"), c.axis("best")})
		return results{"best": c.like(r.Best, "best"), "Safter": float64(r.After.Sphere), "Cafter": float64(r.After.Cylinder), "axisafter": c.like(r.After.Axis, "axisafter"), "approx": c.like(r.Approx, "approx")}, err
	},
	"derived/total-cornea.txt": func(c cells) (results, error) {
		front := Radii{c.mm("R1f"), c.mm("R1s"), c.axis("steep1")}
		t, err := TwoSurfaces{front, Radii{c.mm("R2f"), c.mm("R2s"), c.axis("steep2")}, c.mm("t")}.Total()
		k := Keratometry{Flat: 337.5 / unit.Dioptre(front.Flat), Steep: 337.5 / unit.Dioptre(front.Steep), SteepAxis: unit.Known(front.SteepAxis)}
		kv, _, _ := k.Vector()
		g, v := t.Vector.Cylinder(), t.Behind.Cylinder()
		kax, gax, vax := c.like(kv.Cylinder().Steep, "Kax"), c.like(g.Steep, "Gax"), c.like(v.Steep, "Vax")
		if c.Num("KC") == 0 {
			kax = c.Num("Kax") // no astigmatism has no axis
		}
		return results{"K": float64(k.Mean()), "KC": float64(kv.Magnitude()), "Kax": kax, "G": float64(t.Gauss), "GC": float64(g.Magnitude), "Gax": gax,
			"V": float64(t.Vertex), "VC": float64(v.Magnitude), "Vax": vax}, err
	},
	"derived/within.txt": func(c cells) (results, error) {
		return results{"P": Spread{Cylinder{c.d("offset"), 33}.Vector(), c.d("sd")}.Within(c.d("limit"))}, nil
	},
	"derived/sia-eyes.txt": func(c cells) (results, error) {
		v := Change{Before: c.cyl("pre", "preax"), After: c.cyl("post", "postax")}.Induced()
		return results{"x": float64(v.X), "y": float64(v.Y), "SIA": float64(v.Magnitude()), "axis": c.like(v.Cylinder().Steep, "axis")}, nil
	},
	"derived/sia-series.txt": func(c cells) (results, error) {
		return seriesResults(c, Of(eyesOf("derived/sia-eyes.txt", ""))), nil
	},
	"derived/audit-eyes.txt": func(c cells) (results, error) {
		v := auditEye(c)
		return results{"x": float64(v.X), "y": float64(v.Y), "c": float64(v.Magnitude()), "axis": c.like(v.Cylinder().Steep, "axis")}, nil
	},
	"derived/audit-series.txt": func(c cells) (results, error) {
		s := Of(eyesOf("derived/audit-eyes.txt", c.Word("group")))
		r := seriesResults(c, s)
		p := s.Centroid.Polar(unit.Degree(c.Num("incision")))
		r["along"], r["torque"], r["p"] = float64(p.Along), float64(p.Torque), s.Test.P
		return r, nil
	},
	"derived/audit-two.txt": func(c cells) (results, error) {
		h := Two{eyesOf("derived/audit-eyes.txt", c.Word("a")), eyesOf("derived/audit-eyes.txt", c.Word("b"))}.Test()
		return results{"T2": h.T2, "F": h.F, "df2": float64(h.DF2), "p": h.P}, nil
	},
}

func auditEye(c cells) Vector {
	k := func(when string) Vector {
		v, _, err := Keratometry{Flat: c.d("kf" + when), Steep: c.d("ks" + when), SteepAxis: unit.Known(c.axis("ax" + when))}.Vector()
		if err != nil {
			panic(err)
		}
		return v
	}
	return Change{Before: k("pre"), After: k("post")}.Induced()
}

func seriesResults(c cells, s Series) results {
	v := s.Centroid.Cylinder()
	dir := s.Deviation.Angle
	return results{"n": float64(s.N), "x": float64(s.Centroid.X), "y": float64(s.Centroid.Y), "c": float64(v.Magnitude), "axis": c.like(v.Steep, "axis"),
		"sdx": float64(s.SDX), "sdy": float64(s.SDY), "cov": s.Covariance, "total": float64(s.SDTotal), "mean": float64(s.MeanMagnitude), "sd": float64(s.SDMagnitude),
		"dev1": float64(s.Deviation.Major), "dev2": float64(s.Deviation.Minor), "dir": c.like(unit.NewAxis(dir), "dir"), "F95": QuantileF(0.95, s.N-2),
		"conf1": float64(s.Confidence.Major), "conf2": float64(s.Confidence.Minor), "pred1": float64(s.Prediction.Major), "pred2": float64(s.Prediction.Minor),
		"T2": s.Test.T2, "F": s.Test.F, "coherence": s.Coherence}
}

var loaded []checkvalue.File

// eyesOf are the induced vectors of a file of eyes, of one group or of all.
func eyesOf(name, group string) (list []Vector) {
	i := slices.IndexFunc(loaded, func(f checkvalue.File) bool { return f.Name() == name })
	for _, r := range loaded[i].Rows {
		c := cells{&checkvalue.Case{File: &loaded[i], Row: r}}
		switch {
		case group == "":
			list = append(list, Change{Before: c.cyl("pre", "preax"), After: c.cyl("post", "postax")}.Induced())
		case c.Word("group") == group:
			list = append(list, auditEye(c))
		}
	}
	return list
}

func TestCheckValues(t *testing.T) {
	var err error
	if loaded, err = checkvalue.LoadTree("."); err != nil {
		t.Fatal(err)
	}
	n := 0
	for i := range loaded {
		f := &loaded[i]
		t.Run(f.Name(), func(t *testing.T) {
			run := runners[f.Name()]
			if run == nil {
				t.Fatal("no runner")
			}
			for _, fault := range f.Run(func(c *checkvalue.Case) (results, error) { return run(cells{c}) }) {
				t.Error(fault)
			}
			n += len(f.Rows)
		})
	}
	for _, name := range checkvalue.Unmatched(loaded, runners) {
		t.Errorf("%s is gone", name)
	}
	t.Logf("%d rows", n)
}

// The worked plan of reference C2, by both ways of taking the cornea.
func TestWorkedPlan(t *testing.T) {
	k := Keratometry{Flat: 42.5, Steep: 44.75, SteepAxis: unit.Known(unit.Axis(85))}
	v, _, err := k.Vector()
	if err != nil {
		t.Fatal(err)
	}
	incision := Effect{Flattening: 0.30}.Vector(175)
	near := func(name string, got, want, by float64) {
		t.Helper()
		if math.Abs(got-want) > by {
			t.Errorf("%s: %.4f, want %.4f", name, got, want)
		}
	}
	e := Pseudophakic{Mean: k.Mean(), Cornea: v.Add(incision), Length: 23.8, Position: 5.25, Vertex: 12}
	l, err := e.Ideal(0)
	if err != nil {
		t.Fatal(err)
	}
	near("after incision", float64(e.Cornea.Magnitude()), 2.55, 0.005)
	near("axis", float64(l.Mark), 85, 0.01)
	near("equivalent", float64(l.Equivalent), 19.36, 0.005)
	near("ideal", float64(l.Cylinder), 3.714, 0.0005)
	near("ratio", e.Ratio(), 1.4567, 0.0002) // printed of a cylinder of 2.55 D: 3.714/2.55
	for _, c := range [][4]float64{{3, -0.549, -0.484, 175}, {3.75, -0.771, -0.044, 85}} {
		r, err := e.Refraction(ToricLens{20.5, unit.Dioptre(c[0]), 85})
		if err != nil {
			t.Fatal(err)
		}
		near("sphere", float64(r.Sphere), c[1], 0.0006)
		near("cylinder", float64(r.Cylinder), c[2], 0.0006)
		near("axis", float64(r.Axis), c[3], 0.5)
	}
	a, err := AbulafiaKoch.Adjust(v, unit.Reading[unit.Dioptre]{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	near("regression", float64(a.Vector.Magnitude()), 1.588, 0.0005)
	near("its axis", float64(a.Vector.Cylinder().Steep), 83.2, 0.05)
	e.Cornea = a.Vector.Add(incision)
	near("after both", float64(e.Cornea.Magnitude()), 1.888, 0.0005)
	near("axis after both", float64(e.Cornea.Cylinder().Steep), 83.49, 0.005)
	if l, err = e.Ideal(0); err != nil {
		t.Fatal(err)
	}
	near("ideal after both", float64(l.Cylinder), 2.750, 0.0005)
}
