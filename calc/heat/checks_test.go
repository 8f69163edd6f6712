package heat

import (
	"maps"
	"math"
	"path/filepath"
	"slices"
	"testing"

	"linn/calc/ultrasound"
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

// or is the column, or what stands in for it.
func (c cells) or(col string, otherwise float64) float64 {
	if slices.Contains(c.f.Inputs, col) {
		return c.num(col)
	}
	return otherwise
}

// results are the computed outputs of one row, by column.
type results map[string]float64

// runners say how each file of check values is computed. A file without a
// runner, and a runner without a file, fail.
var runners = map[string]func(cells) (results, error){
	"derived/wound.txt":                 woundRow,
	"derived/wound-times.txt":           timesRow,
	"derived/wound-index.txt":           indexRow,
	"derived/isothermal.txt":            isothermalRow,
	"derived/stop-flow.txt":             stopRow,
	"derived/least-flow.txt":            leastRow,
	"derived/cornea-index.txt":          corneaRow,
	"derived/acoustic.txt":              acousticRow,
	"derived/rub.txt":                   rubRow,
	"published/sleeve-without-flow.txt": temperatureRow,
	"published/sleeved-tips.txt":        temperatureRow,
	"published/torsional-tip.txt":       temperatureRow,
	"published/shaft-in-patients.txt":   temperatureRow,
	"published/cadaver-no-flow.txt":     warmRow,
	"published/transverse-rise.txt":     riseRow,
	"published/tip-rise.txt":            riseRow,
	"published/chamber-rise.txt":        chamberRow,
	"published/chamber-rise-pulsed.txt": chamberRow,
	"published/burn-time.txt":           burnRow,
	"published/acoustic.txt":            acousticPublished,
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
			v, computed := got[out]
			switch {
			case !f.Printed(r, out):
				if computed {
					t.Errorf("%s:%d: %s: got %g where the reference has none", f.Path, r.Line, out, v)
				}
			case !computed:
				t.Errorf("%s:%d: %s: not computed", f.Path, r.Line, out)
			default:
				if err := f.Compare(r, out, v); err != nil {
					t.Error(err)
				}
			}
		}
	}
}

// worked is a case of the reference's table: power and duty as parts of one,
// load in units of 30 gf.
func (c cells) worked(lasts float64) Phase {
	return Phase{Lasts: unit.Second(lasts), Power: unit.Percent(100 * c.num("power")), Duty: unit.Percent(100 * c.num("duty")), WayFactor: unit.Ratio(c.num("mode")),
		Load: unit.GramForce(30 * c.num("load")), Flow: unit.MillilitrePerMinute(c.num("flow"))}
}

func woundRow(c cells) (results, error) {
	w := Reference()
	r, err := w.Rest(c.worked(0))
	if err != nil {
		return nil, err
	}
	out := results{"watt": float64(r.Heat), "cooling": float64(r.Conductance), "tau": float64(r.Lag), "final": float64(r.Wound)}
	for name, t := range map[string]float64{"t1": 1, "t3": 3, "t10": 10, "t60": 60} {
		o, err := w.Play(Burn(), []Phase{c.worked(t)})
		if err != nil {
			return nil, err
		}
		out[name], out["t0"], out["chamber0"] = float64(o.Final), float64(o.Start), float64(o.ChamberStart)
		if t == 60 {
			out["chamber60"], out["rise"] = float64(o.ChamberFinal), float64(o.ChamberFinal.Above(o.ChamberStart))
		}
	}
	return out, nil
}

// put stores a time that exists.
func (r results) put(name string, v unit.Reading[unit.Second]) {
	if v.Known {
		r[name] = float64(v.Value)
	}
}

func timesRow(c cells) (results, error) {
	o, err := Reference().Play(Burn(), []Phase{c.worked(60)})
	out := results{}
	out.put("t45", o.To45)
	out.put("t60", o.To60)
	out.put("burn", o.BurnAt)
	return out, err
}

func indexRow(c cells) (results, error) {
	w := Reference()
	ten, err := w.Play(Burn(), []Phase{c.worked(10)})
	if err != nil {
		return nil, err
	}
	sixty, err := w.Play(Burn(), []Phase{c.worked(60)})
	if err != nil {
		return nil, err
	}
	other, err := w.Play(Collagen(), []Phase{c.worked(60)})
	return results{"burn10": ten.Index / math.Pow(10, c.num("e10")), "burn60": sixty.Index / math.Pow(10, c.num("e60")), "collagen60": other.Index / math.Pow(10, c.num("ec60"))}, err
}

func isothermalRow(c cells) (results, error) {
	out := results{}
	for name, x := range map[string]Index{"burn": Burn(), "collagen": Collagen(), "cornea": Cornea()} {
		t, err := x.ToBurn(unit.Celsius(c.num("t")))
		if err != nil {
			return nil, err
		}
		out[name] = float64(t) / math.Pow(10, c.num("e_"+name))
	}
	return out, nil
}

// stopRow: the flow stops; the power is made up by the way factor.
func stopRow(c cells) (results, error) {
	w := Reference()
	p := Phase{Lasts: 60, Power: 100, Duty: 100, WayFactor: unit.Ratio(c.num("watt") / 1.5), Load: 30}
	n := w.nodes(&p)
	out := results{"final": n.wound, "tau": 1 / n.a}
	if t, ok := n.reaches(60, c.num("t0")); ok {
		out["t60"] = t
	}
	return out, nil
}

func leastRow(c cells) (results, error) {
	q, err := Reference().LeastFlow(Phase{Power: 100, Duty: 100, WayFactor: 1, Load: 30}, unit.Celsius(c.num("limit")))
	return results{"flow": float64(q)}, err
}

func corneaRow(c cells) (results, error) {
	t, err := Cornea().ToBurn(unit.Celsius(c.num("t")))
	return results{"minutes": float64(t) / 60}, err
}

func acousticRow(c cells) (results, error) {
	w := Reference()
	w.Acoustic = unit.Watt(c.num("intensity") * c.num("area"))
	r, err := w.AcousticRise()
	return results{"watt": float64(w.Acoustic), "rise": r}, err
}

func acousticPublished(c cells) (results, error) {
	w := Reference()
	w.Acoustic = unit.Watt(c.num("watt"))
	r, err := w.AcousticRise()
	return results{"rise": r}, err
}

func rubRow(c cells) (results, error) {
	p, err := Rub{unit.Ratio(c.num("mu")), unit.GramForce(c.num("load")), ultrasound.Motion{Frequency: unit.Kilohertz(c.num("f")), Stroke: unit.Micrometre(c.num("stroke"))}}.Power()
	return results{"watt": float64(p)}, err
}

func (c cells) published() Phase {
	return Phase{Lasts: unit.Second(c.or("t", 60)), Power: unit.Percent(c.num("power")), Duty: unit.Percent(c.or("duty", 100)), WayFactor: unit.Ratio(c.or("way", 1)),
		Load: unit.GramForce(c.or("load", 30)), Flow: unit.MillilitrePerMinute(c.or("flow", 0))}
}

func temperatureRow(c cells) (results, error) {
	w, p := Reference(), c.published()
	o, err := w.Play(Burn(), []Phase{p})
	if err != nil {
		return nil, err
	}
	n := w.nodes(&p)
	return results{"temperature": n.woundAt(float64(p.Lasts), c.or("start", float64(o.Start)))}, nil
}

func warmRow(c cells) (results, error) {
	o, err := Reference().Play(Burn(), []Phase{c.published()})
	return results{"t45": float64(o.To45.Value)}, err
}

func riseRow(c cells) (results, error) {
	o, err := Reference().Play(Burn(), []Phase{c.published()})
	return results{"rise": float64(o.Final.Above(o.Start))}, err
}

func chamberRow(c cells) (results, error) {
	o, err := Reference().Play(Burn(), []Phase{c.published()})
	return results{"rise": float64(o.ChamberFinal.Above(o.ChamberStart))}, err
}

func burnRow(c cells) (results, error) {
	t, err := Burn().ToBurn(unit.Celsius(c.num("t")))
	return results{"time": float64(t)}, err
}
