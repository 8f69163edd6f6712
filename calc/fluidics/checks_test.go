package fluidics

import (
	"encoding/json"
	"fmt"
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

func (c cells) given(col string) bool { return c.f.Printed(c.r, col) }

// results are the computed outputs of one row, by column.
type results map[string]float64

// runners say how each file of check values is computed. A file without a
// runner, and a runner without a file, fail.
var runners = map[string]func(cells) (results, error){
	"derived/elements.txt":            elementRow,
	"derived/break-steady.txt":        steadyRow,
	"derived/break-surge.txt":         surgeRow,
	"derived/break-halved.txt":        surgeRow,
	"derived/break-rise.txt":          riseRow,
	"derived/break-times.txt":         timesRow,
	"derived/break-random.txt":        settingsRow,
	"derived/surge-bench.txt":         benchRow,
	"derived/stiff-line.txt":          stiffRow,
	"derived/trace.txt":               traceRow,
	"derived/grip.txt":                gripRow,
	"derived/saline.txt":              salineRow,
	"derived/altitude.txt":            altitudeRow,
	"derived/globe.txt":               globeRow,
	"derived/globe-volume.txt":        globeVolumeRow,
	"derived/bottle-time.txt":         bottleRow,
	"derived/leak-fall.txt":           leakRow,
	"derived/bubble.txt":              bubbleRow,
	"derived/thick-tube.txt":          tubeRow,
	"derived/rise.txt":                closedRow,
	"published/water.txt":             waterRow,
	"published/atmosphere.txt":        atmosphereRow,
	"published/hydrostatics.txt":      hydrostaticsRow,
	"published/vivo-pressures.txt":    vivoRow,
	"published/porcine-pressures.txt": headRow,
	"published/canine-irrigation.txt": canineRow,
	"published/sleeve-pressure.txt":   sleeveRow,
	"published/leak-fall-active.txt":  activeLeakRow,
	"published/forced-pressure.txt":   forcedRow,
	"published/surge-bench.txt":       benchRow,
	"published/surge-duration.txt":    durationRow,
	"published/chamber-volume.txt":    chamberRow,
	"published/needle-flow.txt":       needleRow,
	"published/leak-in-operation.txt": leakVolumeRow,
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

// model reads the columns that describe one machine.
func (c cells) model() Model {
	m := Reference()
	num := func(col string, put func(float64)) {
		for _, have := range c.f.Inputs {
			if have == col && c.given(col) {
				put(c.num(col))
			}
		}
	}
	num("bottle", func(v float64) { m.Bottle = unit.CentimetreWater(v) })
	num("forced", func(v float64) { m.Forced = unit.Known(unit.MillimetreHg(v)) })
	num("flow", func(v float64) { m.Flow = unit.MillilitrePerMinute(v) })
	num("limit", func(v float64) { m.VacuumLimit = unit.MillimetreHg(v) })
	num("gauge", func(v float64) {
		n, err := NeedleOf(Gauge(v))
		if err != nil {
			c.t.Fatal(err)
		}
		m.Needle = n
	})
	num("incision", func(v float64) {
		b, err := SleeveBore(unit.Millimetre(v))
		if err != nil {
			c.t.Fatal(err)
		}
		m.Sleeve.Bore = b
	})
	num("line", func(v float64) { m.Line.Bore = unit.Millimetre(v) })
	num("wound", func(v float64) { m.Sleeve.WoundFactor = unit.Ratio(v) })
	num("bypass", func(v float64) { m.BypassBore = unit.Millimetre(v) })
	num("compliance", func(v float64) { m.Compliance = unit.MicrolitrePerMmHg(v) })
	num("leak", func(v float64) { m.Leak = unit.MillilitrePerMinuteMmHg(v) })
	num("droop", func(v float64) { m.Droop = unit.Ratio(v) })
	for _, have := range c.f.Inputs {
		if have == "pump" {
			m.Pump = Pump(c.text("pump"))
		}
	}
	return m
}

func (c cells) trial() Break {
	b := StandardBreak()
	for _, have := range c.f.Inputs {
		if have == "opening" {
			b.Opening = unit.Second(c.num("opening"))
		}
	}
	return b
}

func elementRow(c cells) (results, error) {
	s, err := SalineAt(25)
	if err != nil {
		return nil, err
	}
	var e Element
	switch c.text("kind") {
	case "tube":
		e = Tube{Bore: unit.Millimetre(c.num("bore")), Length: unit.Millimetre(c.num("length")), Loss: unit.Ratio(c.num("loss"))}.element("", s.metric())
	case "needle":
		n, err := NeedleOf(Gauge(c.num("gauge")))
		if err != nil {
			return nil, err
		}
		e = n.tube().element("", s.metric())
	case "sleeve":
		m := c.model()
		e = m.Sleeve.element("", m.Needle.Outer, s.metric())
	default:
		return nil, fmt.Errorf("kind %s", c.text("kind"))
	}
	perMinute := float64(unit.MillilitrePerMinute(1).MicrolitrePerSecond())
	return results{"r": e.Resistance * 1e3, "r_minute": e.ResistancePerMinute(), "k": e.Quadratic * 1e6, "i": e.Inertance * 1e3, "re": e.Reynolds * perMinute}, nil
}

func steadyRow(c cells) (results, error) {
	m := c.model()
	a, err := m.Run(c.trial())
	if err != nil {
		return nil, err
	}
	s := a.Steady
	circuit, err := m.circuit()
	if err != nil {
		return nil, err
	}
	bypass, _ := circuit.bypassFlow(float64(a.Blocked + a.BlockedVacuum))
	return results{"supply": float64(s.Supply), "open": float64(a.Open), "tip": float64(s.Tip), "irrigation": float64(s.Irrigation), "leakflow": float64(s.Leak),
		"node": float64(s.NodeVacuum), "pump_vacuum": float64(s.PumpVacuum), "blocked": float64(a.Blocked), "blocked_vacuum": float64(a.BlockedVacuum),
		"bypassflow": float64(unit.MicrolitrePerSecond(bypass).MillilitrePerMinute())}, nil
}

func surgeRow(c cells) (results, error) {
	m := c.model()
	a, err := m.Run(c.trial())
	return results{"peak": float64(a.Peak), "minimum": float64(a.Minimum), "lost": float64(a.Lost), "below_open": float64(a.LostBelowOpen),
		"excursion": float64(a.Excursion), "final": float64(a.Final)}, err
}

func timesRow(c cells) (results, error) {
	m := c.model()
	a, err := m.Run(c.trial())
	return results{"peak_at": 1000 * float64(a.PeakAt), "minimum_at": 1000 * float64(a.MinimumAt), "recovery": 1000 * float64(a.Recovery)}, err
}

// riseRow times the vacuum's way to 50, 90 and 95 % of the limit.
func riseRow(c cells) (results, error) {
	m := c.model()
	circuit, err := m.circuit()
	if err != nil {
		return nil, err
	}
	pl := newPlayer(circuit)
	out := results{}
	goals := map[string]float64{"t50": 0.5, "t90": 0.9, "t95": 0.95}
	for name, part := range goals {
		if pl.y[node] <= -part*circuit.limit {
			out[name] = 0
		}
	}
	err = pl.play(&Phase{Lasts: 3, Tip: Blocked}, func(s *step) {
		for name, part := range goals {
			if theta, ok := s.crossing(node, -part*circuit.limit); ok && out[name] == 0 {
				out[name] = s.t + theta*s.h
			}
		}
	})
	if a, e := m.Run(c.trial()); e != nil || a.Rise.Known && a.Rise.Value != unit.Second(out["t90"]) {
		c.t.Errorf("the answer's rise is %v, here %v (%v)", a.Rise, out["t90"], e)
	}
	return out, err
}

// settingsRow goes the whole way: text, settings, model, answer, JSON.
func settingsRow(c cells) (results, error) {
	var s Settings
	for _, key := range c.f.Inputs {
		if text := c.text(key); text != "-" {
			if r := FieldNamed(key).Set(&s, text); r != nil {
				return nil, *r
			}
		}
	}
	a, found, err := s.Run()
	if err != nil {
		return nil, err
	}
	text, err := a.JSON(found)
	if err != nil {
		return nil, err
	}
	var all map[string]any
	if err := json.Unmarshal(text, &all); err != nil {
		return nil, err
	}
	out := results{}
	for key, v := range all {
		if number, ok := v.(float64); ok {
			out[key] = number
		}
	}
	return out, nil
}

func benchRow(c cells) (results, error) {
	m := Reference()
	m.Leak, m.BypassBore = 0, 0.175
	m.Forced = unit.Known(unit.MillimetreHg(c.num("set")))
	m.VacuumLimit, m.Flow = unit.MillimetreHg(c.num("limit")), unit.MillilitrePerMinute(c.num("flow"))
	m.Compliance = unit.MicrolitrePerMmHg(c.num("compliance"))
	a, err := m.Run(StandardBreak())
	return results{"lost": float64(a.Lost)}, err
}

func stiffRow(c cells) (results, error) {
	m := c.model()
	a, err := m.Run(StandardBreak())
	return results{"lost": float64(a.Lost), "below_open": float64(a.LostBelowOpen)}, err
}

func traceRow(c cells) (results, error) {
	samples, err := referenceTrace()
	if err != nil {
		return nil, err
	}
	n := int(c.num("t")/0.005 + 0.5)
	s := samples[n]
	return results{"chamber": float64(s.Chamber), "node": float64(s.Node), "irrigation": float64(s.Irrigation), "tip": float64(s.Tip), "volume": float64(s.Volume)}, nil
}

func gripRow(c cells) (results, error) {
	n, err := NeedleOf(Gauge(c.num("gauge")))
	if err != nil {
		return nil, err
	}
	g, err := n.Grip(unit.MillimetreHg(c.num("vacuum")))
	return results{"on_bore": float64(g.OnBore), "on_bore_gf": float64(g.OnBore.GramForce()), "on_mouth": float64(g.OnMouth)}, err
}

func salineRow(c cells) (results, error) {
	s, err := SalineAt(unit.Celsius(c.num("t")))
	return results{"viscosity": float64(s.Viscosity), "density": float64(s.Density), "vapour": float64(s.Vapour), "head": float64(s.Head(10))}, err
}

func altitudeRow(c cells) (results, error) {
	s, err := SalineAt(25)
	if err != nil {
		return nil, err
	}
	v, err := VacuumCeiling(unit.Metre(c.num("altitude")), s)
	return results{"air": float64(v.Air), "vapour": float64(s.Vapour), "ceiling": float64(v.Vacuum), "practical": float64(v.Practical)}, err
}

func globeRow(c cells) (results, error) {
	out := results{}
	p := unit.MillimetreHg(c.num("p"))
	for i, name := range []string{"reference", "cube_root", "cadaver", "living_natural", "living_decimal"} {
		law := GlobeLaws()[i]
		if name != "reference" {
			law.Floor = 0
		}
		v, err := law.Compliance(p)
		if err != nil {
			return nil, err
		}
		out[name] = float64(v)
	}
	bare := GlobeLaws()[0]
	bare.Floor = 0
	v, err := bare.Compliance(p)
	out["no_floor"] = float64(v)
	return out, err
}

func globeVolumeRow(c cells) (results, error) {
	i := Interval{unit.MillimetreHg(c.num("from")), unit.MillimetreHg(c.num("to"))}
	cube := GlobeLaws()[1]
	cube.Floor = 0
	return results{"reference": float64(GlobeLaws()[0].Volume(i)), "cube_root_no_floor": float64(cube.Volume(i))}, nil
}

func bottleRow(c cells) (results, error) {
	t, err := BottleTime{unit.MillilitrePerMinute(c.num("flow")), unit.Millilitre(c.num("bottle")), unit.Millilitre(c.num("reserve"))}.Foot()
	return results{"time": float64(t) / 60}, err
}

// withLeak is the open pressure of m when the wounds let q mL/min out: the
// conductance is what gives that flow.
func withLeak(m Model, q float64) (float64, error) {
	var s Steady
	for range 60 {
		var err error
		if s, err = m.SteadyOpen(); err != nil {
			return 0, err
		}
		if s.Chamber <= 0 {
			return 0, fmt.Errorf("no pressure left")
		}
		m.Leak = unit.MillilitrePerMinuteMmHg(q / float64(s.Chamber))
	}
	return float64(s.Chamber), nil
}

func leakRow(c cells) (results, error) {
	m := Reference()
	m.Bottle, m.Flow, m.Leak = unit.CentimetreWater(c.num("bottle")), unit.MillilitrePerMinute(c.num("flow")), 0
	p, err := withLeak(m, c.num("leak"))
	return results{"open": p}, err
}

func bubbleRow(c cells) (results, error) {
	v, added, err := Bubble{unit.Microlitre(c.num("bubble")), 760}.Under(unit.MillimetreHg(c.num("vacuum")))
	return results{"volume": float64(v), "added": float64(added)}, err
}

func tubeRow(c cells) (results, error) {
	v, err := ThickTube{unit.Millimetre(c.num("inner")), unit.Millimetre(c.num("outer")), unit.Metre(c.num("length")), unit.Pascal(1e6 * c.num("modulus"))}.Compliance()
	return results{"compliance": float64(v)}, err
}

func closedRow(c cells) (results, error) {
	r := Rise{unit.MicrolitrePerMmHg(c.num("compliance")), unit.MillimetreHg(c.num("limit")), unit.MillimetreHg(c.num("start")), unit.MillilitrePerMinute(c.num("flow")), unit.Ratio(c.num("droop"))}
	t90, err := r.To(0.9)
	if err != nil {
		return nil, err
	}
	t95, err := r.To(0.95)
	return results{"t90": float64(t90), "t95": float64(t95)}, err
}
