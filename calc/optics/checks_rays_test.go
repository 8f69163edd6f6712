package optics

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"linn/unit"
)

func init() {
	for name, run := range map[string]func(cells) (results, error){
		"derived/exact-rays.txt":                  exactRays,
		"derived/graded-rays.txt":                 exactRays,
		"derived/toric-rays.txt":                  toricRays,
		"derived/toric-thick.txt":                 toricThick,
		"derived/spherical-aberration.txt":        sphericalAberration,
		"derived/best-focus.txt":                  bestFocus,
		"derived/graded-and-conic-eyes.txt":       conicEyes,
		"derived/lens-thickness.txt":              lensThickness,
		"derived/lens-bending-from-edge.txt":      bendingFromEdge,
		"derived/lens-with-cornea.txt":            lensWithCornea,
		"published/eyes-power-length.txt":         powerAndLength,
		"published/eyes-focal-points.txt":         conicEyes,
		"published/eye-le-grand-accommodated.txt": conicEyes,
		"published/atchison-refraction.txt":       atchisonRefraction,
	} {
		runners[name] = run
	}
}

// namedFaces are the faces behind the names of the check files: schematic
// eyes, some with another corneal index, corneas alone.
func namedFaces(name string) ([]Face, error) {
	if f, ok := corneaAlone(name); ok {
		return f, nil
	}
	base, index, varied := strings.Cut(name, "-1.")
	e := SchematicEyeNamed(base)
	if e == nil {
		return nil, fmt.Errorf("no eye %s", name)
	}
	if varied {
		n, err := strconv.ParseFloat("1."+index, 64)
		if err != nil {
			return nil, err
		}
		e.Faces[0].After = of(n)
	}
	return e.Faces, nil
}

func corneaAlone(name string) ([]Face, bool) {
	if kind, figures, ok := strings.Cut(name, "anterior_"); ok && kind == "" {
		var r, q, n float64
		if _, err := fmt.Sscanf(strings.ReplaceAll(figures, "_", " "), "%g %g %g", &r, &q, &n); err != nil {
			return nil, false
		}
		return []Face{Round(0, Profile{unit.Millimetre(r), unit.Constant(q)}, of(n))}, true
	}
	kinds := map[string]string{"cornea_Atchison": "atchison", "cornea_LeGrand": "le-grand", "cornea_LiouBrennan": "liou-brennan", "cornea_Navarro": "navarro"}
	if key, ok := kinds[name]; ok {
		f := SchematicEyeNamed(key).Faces[:2]
		return f, true
	}
	return nil, false
}

func namedTrain(c cells) (*Train, error) {
	f, err := namedFaces(c.Word("eye"))
	if err != nil {
		return nil, err
	}
	return NewTrain(1, f)
}

func exactRays(c cells) (results, error) {
	t, err := namedTrain(c)
	if err != nil {
		return nil, err
	}
	r, fate := t.Trace(Ray{At: Vec{0, c.num("h"), -1}, Along: Vec{0, 0, 1}})
	if fate != Through {
		return nil, fmt.Errorf("fate %d", fate)
	}
	return results{"y": r.At.Y, "z": r.At.Z, "dy": r.Along.Y, "dz": r.Along.Z,
		"cross": r.At.Z - r.At.Y/r.Along.Y*r.Along.Z, "opl": r.Path}, nil
}

// toricEye is the eye of the reference page's skew rays.
func toricEye(c cells) (*Train, error) {
	cornea, lens := unit.Degree(c.num("cornea")), unit.Degree(c.num("lens"))
	face := func(at, x, y unit.Millimetre, q unit.Constant, turn unit.Degree, n float64) Face {
		return Face{Vertex: at, X: Profile{x, q}, Y: Profile{y, q}, Turn: turn, After: of(n)}
	}
	return NewTrain(1, []Face{face(0, 7.8, 7.4, -0.2, cornea, 1.376), face(0.5, 6.55, 6.15, -0.3, cornea, 1.336),
		face(4.6, 14, 14, 0, lens, 1.4915), face(5.45, -20, -15.5, -1, lens, 1.336)})
}

func toricRays(c cells) (results, error) {
	t, err := toricEye(c)
	if err != nil {
		return nil, err
	}
	dx, dy := c.num("dx"), c.num("dy")
	d := Vec{dx, dy, math.Sqrt(1 - dx*dx - dy*dy)}
	at := Vec{c.num("x"), c.num("y"), 0}
	r, fate := t.Trace(Ray{At: at.along(d, -1/d.Z), Along: d})
	if fate != Through {
		return nil, fmt.Errorf("fate %d", fate)
	}
	x, y := r.where(23.5)
	return results{"px": r.At.X, "py": r.At.Y, "pz": r.At.Z, "qx": r.Along.X, "qy": r.Along.Y, "qz": r.Along.Z, "ex": x, "ey": y, "opl": r.Path}, nil
}

func toricThick(c cells) (results, error) {
	t, err := toricEye(c)
	if err != nil {
		return nil, err
	}
	need, err := t.Needs(Retina{c.mm("AL")})
	if err != nil {
		return nil, err
	}
	far, err := need.Back(Gap{12, 1})
	out := results{}
	for prefix, m := range map[string]Astigmatic{"": far, "c": need} {
		p := m.Parts() // minus cylinder: its axis is the meridian of the highest power
		out[prefix+"sphere"] = float64(p.Mean + p.Cylinder/2)
		out[prefix+"cylinder"] = -float64(p.Cylinder)
		out[prefix+"axis"] = float64(p.Highest)
		if out[prefix+"axis"] > 179.999999 {
			out[prefix+"axis"] -= 180
		}
	}
	return out, err
}

func sphericalAberration(c cells) (results, error) {
	t, err := namedTrain(c)
	if err != nil {
		return nil, err
	}
	k, err := t.Cardinal()
	if err != nil {
		return nil, err
	}
	b, err := t.TraceBundle(Bundle{Pupil: c.mm("pupil"), Rays: 400})
	if err != nil {
		return nil, err
	}
	w, err := b.BestWavefront()
	return results{"focus": float64(w.Centre - k.Back), "c40": float64(w.Of(Mode{4, 0})), "c60": float64(w.Of(Mode{6, 0}))}, err
}

func bestFocus(c cells) (results, error) {
	t, err := namedTrain(c)
	if err != nil {
		return nil, err
	}
	k, err := t.Cardinal()
	if err != nil {
		return nil, err
	}
	b, err := t.TraceBundle(Bundle{Pupil: c.mm("pupil"), Rays: 2000})
	if err != nil {
		return nil, err
	}
	w, err := b.BestWavefront()
	if err != nil {
		return nil, err
	}
	f, err := t.FanOf(c.mm("pupil"))
	spot := b.SmallestSpot()
	return results{"paraxial": float64(k.Back), "marginal": float64(f.Marginal), "wave": float64(w.Centre), "spot": float64(spot),
		"least": float64(f.Least), "rms": float64(b.SpotAt(spot).RMS), "circle": float64(f.Diameter)}, err
}

func conicEyes(c cells) (results, error) {
	t, err := namedTrain(c)
	if err != nil {
		return nil, err
	}
	k, err := t.Cardinal()
	return results{"P": float64(k.Power), "F": float64(k.Front), "F2": float64(k.Back), "H": float64(k.H), "H2": float64(k.HPrime),
		"N": float64(k.N), "N2": float64(k.NPrime)}, err
}

func powerAndLength(c cells) (results, error) {
	t, err := namedTrain(c)
	if err != nil {
		return nil, err
	}
	k, err := t.Cardinal()
	return results{"P": float64(k.Power), "length": float64(SchematicEyeNamed(c.Word("eye")).Retina)}, err
}

// atchisonRefraction is read at 12 mm from an eye of the family.
func atchisonRefraction(c cells) (results, error) {
	e := Atchison(c.d("want"))
	t, err := e.Train()
	if err != nil {
		return nil, err
	}
	k, err := t.Cardinal()
	if err != nil {
		return nil, err
	}
	atH := 1336/float64(e.Retina-k.HPrime) - float64(k.Power)
	far := 1000/atH + float64(k.H) // far point from the vertex
	return results{"SR": 1000 / (far + 12)}, nil
}

func lensThickness(c cells) (results, error) {
	l, err := Design{Index: unit.Index(c.num("n")), Optic: c.mm("optic"), Edge: c.mm("edge")}.Make(c.d("P"))
	return results{"R1": float64(l.Front), "R2": float64(l.Back), "t": float64(l.Thickness), "H": float64(l.H), "H2": float64(l.HPrime)}, err
}

func bendingFromEdge(c cells) (results, error) {
	l, err := Design{Index: unit.Index(c.num("n")), Optic: 6, Edge: 0.25, Factor: unit.Constant(c.num("X"))}.Make(c.d("P"))
	return results{"t": float64(l.Thickness), "H": float64(l.H), "H2": float64(l.HPrime), "mid": float64(l.EdgePlane),
		"He": float64(l.H - l.EdgePlane), "H2e": float64(l.HPrime - l.EdgePlane)}, err
}

func lensWithCornea(c cells) (results, error) {
	cornea := SchematicEyeNamed("liou-brennan").Faces[:2]
	front, back := Profile{c.mm("R"), 0}, Profile{-c.mm("R"), 0}
	if c.Word("side") == "front" {
		front.Q = unit.Constant(c.num("Q"))
	} else {
		back.Q = unit.Constant(c.num("Q"))
	}
	t, err := NewTrain(1, append(cornea, Round(4.6, front, of(c.num("n"))), Round(4.6+c.mm("t"), back, of(1.336))))
	if err != nil {
		return nil, err
	}
	k, err := t.Cardinal()
	out := results{"P": float64(k.Power), "F2": float64(k.Back)}
	for pupil, column := range map[unit.Millimetre]string{3: "c3", 5: "c5", 6: "c6"} {
		b, e := t.TraceBundle(Bundle{Pupil: pupil, Rays: 400})
		if e != nil {
			return nil, e
		}
		w, e := b.BestWavefront()
		if e != nil {
			return nil, e
		}
		out[column] = float64(w.Of(Mode{4, 0}))
	}
	return out, err
}
