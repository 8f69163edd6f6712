package ultrasound

import (
	"maps"
	"path/filepath"
	"testing"

	"linn/internal/checkvalue"
	"linn/unit"
)

// cells reads the columns of a row.
type cells struct {
	t *testing.T
	f *checkvalue.File
	r checkvalue.Row
}

func (c cells) num(col string) float64 {
	c.t.Helper()
	v, err := c.f.Number(c.r, col)
	if err != nil {
		c.t.Fatal(err)
	}
	return v
}

func (c cells) text(col string) string {
	c.t.Helper()
	v, err := c.f.Text(c.r, col)
	if err != nil {
		c.t.Fatal(err)
	}
	return v
}

// results are the computed outputs of one row, by column.
type results map[string]float64

// runners say how each file of check values is computed. A file without a
// runner, and a runner without a file, fail.
var runners = map[string]func(cells) (results, error){
	"derived/kinematics.txt":     kinematicsRow,
	"derived/grade.txt":          gradeRow,
	"derived/fragments.txt":      fragmentRow,
	"derived/energy.txt":         energyRow,
	"derived/power-time.txt":     powerTimeRow,
	"derived/stroke-time.txt":    strokeTimeRow,
	"derived/contradictions.txt": contradictionRow,
	"derived/gravities.txt":      gravitiesRow,
	"published/grade.txt":        gradeRow,
	"published/strokes.txt":      strokesRow,
	"published/sound.txt":        func(cells) (results, error) { return results{"velocity": float64(SoundVelocity())}, nil },
}

func TestCheckValues(t *testing.T) {
	left := maps.Clone(runners)
	for _, dir := range []string{"published", "derived"} {
		files, err := checkvalue.Load(filepath.Join("testdata", dir))
		if err != nil {
			t.Fatal(err)
		}
		for i := range files {
			f := &files[i]
			name := dir + "/" + filepath.Base(f.Path)
			run, ok := runners[name]
			if !ok {
				t.Errorf("%s: no test computes it", name)
				continue
			}
			delete(left, name)
			t.Run(name, func(t *testing.T) { checkFile(t, f, run) })
		}
	}
	for name := range left {
		t.Errorf("%s: no such file", name)
	}
}

func checkFile(t *testing.T, f *checkvalue.File, run func(cells) (results, error)) {
	for _, r := range f.Rows {
		got, err := run(cells{t, f, r})
		if err != nil {
			t.Errorf("%s:%d: %v", f.Path, r.Line, err)
			continue
		}
		for _, out := range f.Outputs {
			if !f.Printed(r, out) {
				continue
			}
			v, computed := got[out]
			if !computed {
				t.Errorf("%s:%d: %s: not computed", f.Path, r.Line, out)
			} else if err := f.Compare(r, out, v); err != nil {
				t.Error(err)
			}
		}
	}
}

func kinematicsRow(c cells) (results, error) {
	m := Motion{unit.Kilohertz(c.num("f")), unit.Micrometre(c.num("stroke"))}
	v, err := m.Moves()
	if err != nil {
		return nil, err
	}
	p, err := UsualFace().Pressure(m)
	return results{"v": float64(v.Velocity), "mean": float64(v.MeanSpeed), "a": float64(v.Acceleration) / 1e3, "g": float64(v.Gravities) / 1e3,
		"plane": float64(p.Plane), "piston": float64(p.Disc), "rim": float64(p.Rim)}, err
}

func gradeRow(c cells) (results, error) {
	g, err := Grade(c.num("grade")).Expect()
	extrapolated := 0.0
	if g.Extrapolated {
		extrapolated = 1
	}
	return results{"ept": float64(g.Effective), "effective": float64(g.Effective), "rate": g.Rate, "extrapolated": extrapolated}, err
}

func fragmentRow(c cells) (results, error) {
	r, err := Piece{Volume: unit.CubicMillimetre(c.num("volume")), Grade: Grade(c.num("grade")), Power: unit.Percent(100 * c.num("power")), Duty: unit.Percent(100 * c.num("duty")),
		Flow: 30, Leak: 4.2, Occluded: UsualOccluded()}.Remove()
	return results{"time": float64(r.Time), "blocked": float64(r.Blocked), "ept": float64(r.Effective), "fluid": float64(r.Fluid)}, err
}

func energyRow(c cells) (results, error) {
	e, err := Sum([]Drive{{Power: unit.Percent(c.num("power")), On: unit.Second(c.num("on")), Off: unit.Second(c.num("off")), Time: unit.Second(c.num("time"))}})
	return results{"effective": float64(e.Effective)}, err
}

func powerTimeRow(c cells) (results, error) {
	e, err := Sum([]Drive{{Power: unit.Percent(c.num("power")), Time: unit.Second(c.num("time"))}})
	return results{"effective": float64(e.Effective)}, err
}

func strokeTimeRow(c cells) (results, error) {
	e, err := Sum([]Drive{{Power: unit.Percent(c.num("long_power")), Time: unit.Second(c.num("long_time"))},
		{Way: Torsional, Power: unit.Percent(c.num("tors_power")), Time: unit.Second(c.num("tors_time"))}})
	if err != nil {
		return nil, err
	}
	s, err := e.StrokeTime(unit.Ratio(c.num("weight")))
	return results{"sum": float64(s)}, err
}

func contradictionRow(c cells) (results, error) {
	claim := Taught()
	claim.Stroke, claim.StrokeTo = unit.Known(unit.Micrometre(c.num("stroke"))), unit.Known(unit.Micrometre(c.num("stroke_to")))
	v, err := claim.Check()
	if err != nil {
		return nil, err
	}
	for _, p := range v.Pairs {
		if string(p.Take[0]) != c.text("first") || string(p.Take[1]) != c.text("second") {
			continue
		}
		i := p.Implies
		out := results{"f": float64(i.Frequency[0]), "v": float64(i.Velocity[0]), "v_to": float64(i.Velocity[1]),
			"a": float64(i.Acceleration[0]) / 1e6, "a_to": float64(i.Acceleration[1]) / 1e6, "s": float64(i.Stroke[0]) / 1000}
		for _, clash := range p.Clashes {
			key := map[Quantity]string{Velocity: "off_v", Acceleration: "off_a", Stroke: "off_s", Frequency: "off_f"}[clash.Quantity]
			out[key], out[key+"_to"] = clash.Factor[0], clash.Factor[1]
		}
		return out, nil
	}
	c.t.Errorf("no such pair")
	return nil, nil
}

func gravitiesRow(c cells) (results, error) {
	m, err := Motion{unit.Kilohertz(c.num("f")), unit.Micrometre(c.num("stroke"))}.At(unit.Percent(c.num("power")))
	if err != nil {
		return nil, err
	}
	v, err := m.Moves()
	if err != nil {
		return nil, err
	}
	p, err := UsualFace().Pressure(m)
	return results{"thousand_g": float64(v.Gravities) / 1e3, "rim": float64(p.Rim), "size": float64(p.Size), "wavelength": float64(p.Wavelength)}, err
}

func strokesRow(c cells) (results, error) {
	return results{"stroke": float64(unit.Mil(c.num("mil")).Micrometre())}, nil
}
