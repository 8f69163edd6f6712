package fluidics

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"testing"

	"linn/unit"
)

// random draws settings evenly within the bounds of Fields.
func random(r *rand.Rand) Settings {
	var s Settings
	for i := range Fields {
		f := &Fields[i]
		switch {
		case f.Key == "pump":
			s.Pump = []Pump{Peristaltic, Vacuum}[r.IntN(2)]
		case f.Key == "tip_gauge":
			s.TipGauge = unit.Known(Gauges()[r.IntN(4)])
		case f.Key == "forced_mmhg" || f.Key == "occlusion_s":
		default:
			v := f.Bounds.Low + (f.Bounds.High-f.Bounds.Low)*r.Float64()
			if refused := f.Set(&s, unit.Fixed(v, 6)); refused != nil {
				panic(refused)
			}
		}
	}
	if r.IntN(2) == 0 {
		s.Forced = unit.Known(unit.MillimetreHg(5 + 135*r.Float64()))
		s.Bottle = unit.Reading[unit.CentimetreWater]{}
	}
	s.Occlusion = unit.Known(unit.Second(0.05 + 4*r.Float64()))
	return s
}

func numbers(a *Answer) map[string]float64 {
	return map[string]float64{"open": float64(a.Open), "blocked": float64(a.Blocked), "blocked vacuum": float64(a.BlockedVacuum), "rise": float64(a.Rise.Value),
		"peak": float64(a.Peak), "minimum": float64(a.Minimum), "minimum at": float64(a.MinimumAt), "lost": float64(a.Lost), "recovery": float64(a.Recovery)}
}

// agreement is how far the integrator's pressures are said to lie from a fixed
// step's, see accuracy.
const agreement = 0.0003 // mmHg

// over reports a vacuum above the limit of a peristaltic pump. Within the
// integrator's own agreement it is asked again at a hundredth of the tolerance:
// the equations never pass the limit.
func over(m *Model, b Break, vacuum unit.MillimetreHg) bool {
	excess := float64(vacuum - m.VacuumLimit)
	if excess <= 1e-6 || excess > agreement {
		return excess > 1e-6
	}
	tight := Surge{tol: toleranceOf(1e-10)}
	a, err := tight.Run(m, b)
	return err != nil || a.BlockedVacuum > m.VacuumLimit+1e-6
}

// No setting within the bounds gives a number that is none, or a state that the
// parts cannot hold.
func TestAnySettingGivesAnAnswer(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 2026))
	most, runs := 0, 2000
	if os.Getenv("LINN_FULL") != "" {
		runs = 100_000
	}
	for n := 0; n < runs; {
		s := random(r)
		if s.Check() != nil { // refused: it is no setting
			continue
		}
		n++
		a, found, err := s.Run()
		if err != nil {
			t.Fatalf("%d: %v: %+v", n, err, s)
		}
		most = max(most, a.Steps)
		for name, v := range numbers(&a) {
			if math.IsNaN(v) || math.IsInf(v, 0) || math.Abs(v) > 5000 {
				t.Fatalf("%d: %s is %v: %+v", n, name, v, s)
			}
		}
		m := s.Model()
		switch {
		case m.Pump == Peristaltic && over(&m, s.Break(), a.BlockedVacuum): // a vacuum pump's line swings over
			t.Errorf("%d: vacuum %v above the limit %v", n, a.BlockedVacuum, m.VacuumLimit)
		case a.Lost < 0 || a.Recovery < 0 || a.Recovery > 2.5 || a.Peak < 0 || a.MinimumAt < 0 || a.MinimumAt > 2.5:
			t.Errorf("%d: %+v", n, a)
		case a.Steady.AtCeiling && !s.Forced.Known:
			t.Errorf("%d: a bottle at a ceiling", n)
		case len(found) == 0:
			t.Errorf("%d: no finding", n)
		case a.Collapse != (a.Minimum < 5 || a.Lost > m.ChamberVolume):
			t.Errorf("%d: collapse %v", n, a.Collapse)
		}
	}
	t.Logf("at most %d steps", most)
}

// The steady state satisfies the equations: nothing changes.
func TestSteadyStands(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	for n := range 500 {
		s := random(r)
		m := s.Model()
		if s.Check() != nil {
			continue
		}
		for _, blocked := range []bool{false, true} {
			c, err := m.circuit()
			if err != nil {
				t.Fatal(err)
			}
			c.blocked = blocked
			y, ceiling := c.rest()
			var f vector
			c.derive(0, &y, &f)
			f[aspirated], f[leaked] = 0, 0
			if ceiling {
				f[supply] = 0 // it would rise if it could
			}
			for i, v := range f {
				// the states are exact to the last bits; the stiffest rate is about 1e6 per second
				if math.Abs(v) > 1e-5*(1+math.Abs(y[i])) {
					t.Errorf("%d: blocked %v: state %d moves by %g: %+v", n, blocked, i, v, s)
				}
			}
		}
	}
}

func TestJacobian(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 8))
	for n := range 200 {
		s := random(r)
		m := s.Model()
		c, err := m.circuit()
		if err != nil {
			continue // a bottle below the eye
		}
		c.globe = GlobeLaws()[n%len(GlobeLaws())]
		c.blocked, c.closed, c.pumping, c.dead = n%5 == 0, n%7 == 0, n%3 != 0, n%11 == 0
		c.opening, c.mouth, c.kink = float64(n%2)*0.3, 0.8, float64(n%4)
		c.air, c.sky = float64(n%3)*40, 760
		y := vector{20 + 40*r.Float64(), -100 * r.Float64(), 500 * r.Float64(), 1500 * r.Float64(), 60, 500 * r.Float64(), -150, 0, 0, 0}
		const at = 0.11
		var j matrix
		var ft vector
		c.jacobian(at, &y, &j, &ft)
		quotient := func(change func(d float64) (float64, vector)) (q vector) {
			const d = 1e-5
			var up, down vector
			tu, yu := change(d)
			c.derive(tu, &yu, &up)
			td, yd := change(-d)
			c.derive(td, &yd, &down)
			for i := range q {
				q[i] = (up[i] - down[i]) / (2 * d)
			}
			return q
		}
		for col := range y {
			q := quotient(func(d float64) (float64, vector) { z := y; z[col] += d; return at, z })
			for row := range q {
				if math.Abs(q[row]-j[row][col]) > 2e-5*(1+math.Abs(q[row])) {
					t.Errorf("%d: ∂f%d/∂y%d = %g, quotient %g", n, row, col, j[row][col], q[row])
				}
			}
		}
		q := quotient(func(d float64) (float64, vector) { return at + d, y })
		for row := range q {
			if math.Abs(q[row]-ft[row]) > 1e-4*(1+math.Abs(q[row])) {
				t.Errorf("%d: ∂f%d/∂t = %g, quotient %g", n, row, ft[row], q[row])
			}
		}
	}
}

// trials is a spread of models for the properties: the reference, forced
// infusion, a vacuum pump, a bypass, a stiff line, a slow break.
func trials() map[string]struct {
	m Model
	b Break
} {
	list := map[string]struct {
		m Model
		b Break
	}{}
	add := func(name string, b Break, change func(*Model)) {
		m := Reference()
		change(&m)
		list[name] = struct {
			m Model
			b Break
		}{m, b}
	}
	add("reference", StandardBreak(), func(*Model) {})
	add("forced", StandardBreak(), func(m *Model) { m.Forced = unit.Known(unit.MillimetreHg(50)) })
	add("vacuum pump", StandardBreak(), func(m *Model) { m.Pump, m.VacuumLimit = Vacuum, 250 })
	add("bypass", StandardBreak(), func(m *Model) { m.BypassBore = 0.175 })
	add("stiff line", StandardBreak(), func(m *Model) { m.Compliance, m.Flow, m.VacuumLimit = 0.02, 60, 60 })
	add("slow break", Break{Hold: 2, Opening: 0.4}, func(m *Model) { m.Compliance, m.BypassBore = 0.15, 0.2 })
	add("worst", StandardBreak(), func(m *Model) { m.Compliance, m.VacuumLimit, m.Bottle = 0.6, 600, 60 })
	return list
}

// Second and third integrator: the implicit pair alone and a classical
// fixed-step Runge–Kutta of order 4 agree with the answer, and a tighter
// tolerance does not move it.
func TestIntegratorsAgree(t *testing.T) {
	for name, c := range trials() {
		a, err := c.m.Run(c.b)
		if err != nil {
			t.Fatal(err)
		}
		var im Surge
		im.pl.v.always = "implicit"
		tight := Surge{tol: toleranceOf(1e-10)}
		for what, u := range map[string]*Surge{"implicit": &im, "tight": &tight} {
			b, err := u.Run(&c.m, c.b)
			if err != nil {
				t.Fatal(name, what, err)
			}
			agree(t, name+", "+what, &a, &b, 2e-4)
		}
		b := classical(t, &c.m, c.b, 5e-5)
		agree(t, name+", classical", &a, &b, 2e-3) // its steps reach across the corners
	}
}

func agree(t *testing.T, name string, a, b *Answer, within float64) {
	t.Helper()
	for _, c := range []struct {
		what string
		x, y float64
	}{
		{"blocked", float64(a.Blocked), float64(b.Blocked)}, {"vacuum", float64(a.BlockedVacuum), float64(b.BlockedVacuum)},
		{"minimum", float64(a.Minimum), float64(b.Minimum)}, {"lost", float64(a.Lost), float64(b.Lost)},
		{"peak", float64(a.Peak), float64(b.Peak)}, {"final", float64(a.Final), float64(b.Final)},
	} {
		if math.Abs(c.x-c.y) > within {
			t.Errorf("%s: %s %.6f and %.6f", name, c.what, c.x, c.y)
		}
	}
}

// classical runs the break with fixed steps and reads the answers off the grid.
func classical(t *testing.T, m *Model, b Break, h float64) (a Answer) {
	c, err := m.circuit()
	if err != nil {
		t.Fatal(err)
	}
	y, _ := c.rest()
	at := 0.0
	play := func(p *Phase, each func()) {
		c.enter(p, at, &y)
		began, n := at, int(math.Round(float64(p.Lasts)/h))
		for i := range n {
			var k [4]vector
			z := y
			c.derive(at, &z, &k[0])
			for s, w := range [...]float64{0.5, 0.5, 1} {
				for j := range z {
					z[j] = y[j] + h*w*k[s][j]
				}
				c.derive(at+h*w, &z, &k[s+1])
			}
			for j := range y {
				y[j] += h / 6 * (k[0][j] + 2*k[1][j] + 2*k[2][j] + k[3][j])
			}
			at = began + float64(i+1)*h
			each()
		}
	}
	play(&Phase{Lasts: b.Hold, Tip: Blocked}, func() {})
	a.Blocked, a.BlockedVacuum = unit.MillimetreHg(y[chamber]), unit.MillimetreHg(-y[node])
	a.Minimum, a.Peak = a.Blocked, 0
	before, least := y[volume], y[volume]
	play(&Phase{Lasts: unit.Second(refWatch), Opening: b.Opening}, func() {
		a.Minimum = min(a.Minimum, unit.MillimetreHg(y[chamber]))
		a.Peak = max(a.Peak, unit.MicrolitrePerSecond(y[tipFlow]).MillilitrePerMinute())
		least = min(least, y[volume])
	})
	a.Lost, a.Final = unit.Microlitre(before-least), unit.MillimetreHg(y[chamber])
	return a
}

// V(t) - V(0) is what flowed: the integral of the interpolated flows, by Gauss's
// rule of three points on every step, against the volume, and the volume against
// the pressure by the closed form of the globe's law.
func TestVolumeIsKept(t *testing.T) {
	for name, tr := range trials() {
		for _, law := range GlobeLaws() {
			tr.m.Globe = law
			c, err := tr.m.circuit()
			if err != nil {
				t.Fatal(err)
			}
			pl := newPlayer(c)
			pl.p.tol = toleranceOf(1e-11)
			start := law.volume(pl.y[chamber])
			sum, worst, worstLaw := 0.0, 0.0, 0.0
			for _, p := range tr.b.Phases() {
				p.Lasts = min(p.Lasts, 0.5)
				err := pl.play(&p, func(s *step) {
					for _, g := range [...][2]float64{{0.5 - math.Sqrt(0.15), 5. / 18}, {0.5, 8. / 18}, {0.5 + math.Sqrt(0.15), 5. / 18}} {
						y := s.state(g[0])
						bypass, _ := c.bypassFlow(y[chamber] - y[node])
						leak, _ := c.leakFlow(y[chamber])
						sum += s.h * g[1] * (y[irrigation] - y[tipFlow] - bypass - leak)
					}
					worst = max(worst, math.Abs(sum-s.y1[volume]))
					worstLaw = max(worstLaw, math.Abs(law.volume(s.y1[chamber])-start-s.y1[volume]))
				})
				if err != nil {
					t.Fatal(err)
				}
			}
			if worst > 1e-6 { // 1e-9 mL
				t.Errorf("%s, %s: flows miss %.1e µL", name, law.Name, worst)
			}
			if worstLaw > 1e-5 {
				t.Errorf("%s, %s: pressure and volume part by %.1e µL", name, law.Name, worstLaw)
			}
		}
	}
}

// With the pump stopped and no power, what is stored only falls: kinetic energy
// of the columns, the stretch of line and globe, and the height of the fluid
// still in the bottle (mmHg·µL).
func TestEnergyFalls(t *testing.T) {
	for name, tr := range trials() {
		if tr.m.Forced.Known {
			continue
		}
		c, err := tr.m.circuit()
		if err != nil {
			t.Fatal(err)
		}
		pl := newPlayer(c)
		if err := pl.play(&Phase{Lasts: 1, Tip: Blocked}, func(*step) {}); err != nil {
			t.Fatal(err)
		}
		energy := func(y *vector) float64 {
			irrigated := y[volume] + y[aspirated] + y[leaked]
			return c.in.i*y[irrigation]*y[irrigation]/2 + c.out.i*y[tipFlow]*y[tipFlow]/2 + c.compl*y[node]*y[node]/2 +
				stretch(c.globe, y[chamber]) - y[supply]*irrigated
		}
		last := math.Inf(1)
		err = pl.play(&Phase{Lasts: 3, PowerCut: true, Opening: tr.b.Opening}, func(s *step) {
			for _, theta := range []float64{0.25, 0.5, 0.75, 1} {
				y := s.state(theta)
				if e := energy(&y); e > last+1e-6*(1+math.Abs(last)) {
					t.Fatalf("%s: at %.4f s the energy rises by %.2e to %.6f", name, s.t, e-last, e)
				} else {
					last = e
				}
			}
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// stretch is the energy in the globe at p: the integral of p dV of the reference
// law from 0.
func stretch(g GlobeLaw, p float64) float64 {
	f := float64(g.Floor)
	if p <= f {
		return p * p / (2 * g.Coefficient * f)
	}
	return f/(2*g.Coefficient) + (p-f)/g.Coefficient
}

// What the reference states to be monotone.
func TestMonotone(t *testing.T) {
	lost := func(a *Answer) float64 { return float64(a.Lost) }
	open := func(a *Answer) float64 { return float64(a.Open) }
	needle := func(m *Model, v float64) { m.Needle, _ = NeedleOf(Gauge(v)); m.Sleeve.Bore = 1.85 }
	for _, c := range []struct {
		what   string
		rises  bool
		of     func(*Answer) float64
		set    func(*Model, float64)
		values []float64
	}{
		{"lost with the limit", true, lost, func(m *Model, v float64) { m.VacuumLimit = unit.MillimetreHg(v) }, []float64{100, 200, 300, 400, 500, 600}},
		{"lost with the compliance", true, lost, func(m *Model, v float64) { m.Compliance = unit.MicrolitrePerMmHg(v) }, []float64{0.02, 0.05, 0.1, 0.2, 0.3, 0.6}},
		{"lost with the gauge", false, lost, needle, []float64{19, 20, 21, 22}},
		{"lost with the bottle", false, lost, func(m *Model, v float64) { m.Bottle = unit.CentimetreWater(v) }, []float64{60, 75, 90, 110, 130}},
		{"open with the bottle", true, open, func(m *Model, v float64) { m.Bottle = unit.CentimetreWater(v) }, []float64{60, 75, 90, 110, 130}},
		{"open with the flow", false, open, func(m *Model, v float64) { m.Flow = unit.MillilitrePerMinute(v) }, []float64{5, 15, 25, 40, 60}},
		{"open with the leak", false, open, func(m *Model, v float64) { m.Leak = unit.MillilitrePerMinuteMmHg(v) }, []float64{0, 0.02, 0.1, 0.3}},
		{"open with the wound", false, open, func(m *Model, v float64) { m.Sleeve.WoundFactor = unit.Ratio(v) }, []float64{1, 1.5, 2, 3}},
		{"rise with the flow", false, func(a *Answer) float64 { return float64(a.Rise.Value) }, func(m *Model, v float64) { m.Flow = unit.MillilitrePerMinute(v) }, []float64{10, 20, 40, 60}},
	} {
		last := math.NaN()
		for _, v := range c.values {
			m := Reference()
			c.set(&m, v)
			a, err := m.Run(StandardBreak())
			if err != nil {
				t.Fatal(err)
			}
			if got := c.of(&a); (got > last) != c.rises && !math.IsNaN(last) || got == last {
				t.Errorf("%s: %.4f after %.4f at %g", c.what, got, last, v)
			}
			last = c.of(&a)
		}
	}
	last := math.Inf(1)
	for _, opening := range []unit.Second{0, 0.05, 0.15, 0.3, 0.6, 1.2} {
		m := Reference()
		a, err := m.Run(Break{Hold: 3, Opening: opening})
		if err != nil || lost(&a) >= last {
			t.Errorf("a break over %v loses %.3f, a faster one %.3f (%v)", opening, lost(&a), last, err)
		}
		last = lost(&a)
	}
}

func TestClosedForms(t *testing.T) {
	for _, bottle := range []unit.CentimetreWater{60, 90, 120} {
		m := Reference()
		m.Bottle, m.Leak = bottle, 0
		a, err := m.Run(Break{Hold: 30})
		if err != nil || math.Abs(float64(a.Blocked-m.Head())) > 1e-4 {
			t.Errorf("blocked without a leak: %v, head %v (%v)", float64(a.Blocked), float64(m.Head()), err)
		}
		m.Leak = 0.1
		s, err := m.SteadyBlocked()
		a, e := m.Run(Break{Hold: 30})
		parts, _ := m.Elements()
		var drop unit.MillimetreHg
		for _, p := range parts[:3] {
			drop += p.Drop(s.Leak)
		}
		if err != nil || e != nil || math.Abs(float64(m.Head()-drop-s.Chamber)) > 1e-9 || math.Abs(float64(a.Blocked-s.Chamber)) > 1e-4 {
			t.Errorf("blocked with a leak: %v after 30 s, %v at rest, head less drop %v", float64(a.Blocked), float64(s.Chamber), float64(m.Head()-drop))
		}
	}
	// the rise, for droops up to and beyond the knee at 90 %
	for _, droop := range []unit.Ratio{0.05, 0.1, 0.3, 1} {
		for _, flow := range []unit.MillilitrePerMinute{15, 30, 60} {
			m := Reference()
			m.Droop, m.Flow = droop, flow
			a, err := m.Run(StandardBreak())
			if err != nil {
				t.Fatal(err)
			}
			want, err := Rise{m.Compliance, m.VacuumLimit, a.Steady.NodeVacuum, flow, droop}.To(0.9)
			if err != nil || math.Abs(float64(want-a.Rise.Value)) > 1e-6 {
				t.Errorf("droop %v, flow %v: rise %.7f, closed form %.7f (%v)", droop, flow, float64(a.Rise.Value), float64(want), err)
			}
		}
	}
	// a bypass: what it lets through is what the pump takes
	m := Reference()
	m.BypassBore = 0.175
	s, err := m.SteadyBlocked()
	if err != nil || math.Abs(float64(s.NodeVacuum)-386.446) > 0.001 || math.Abs(float64(s.Bypass)-10.166) > 0.001 {
		t.Errorf("bypass at rest: %v %v (%v)", float64(s.NodeVacuum), float64(s.Bypass), err)
	}
}

// Forced infusion is stable only above a lag of inertance over resistance: 0.30 s
// settles, 0.05 s swings ever wider or to the source's limits.
func TestForcedLagLimit(t *testing.T) {
	m := Reference()
	m.Forced, m.Leak = unit.Known(unit.MillimetreHg(50)), 0
	limit, err := m.ForcedLagLimit()
	if err != nil || math.Abs(float64(limit)-0.0955) > 0.0001 {
		t.Errorf("limit %v (%v)", float64(limit), err)
	}
	swing := func(lag unit.Second) float64 {
		m.ForcedLag = lag
		phases := []Phase{{Lasts: 4, Tip: Blocked}, {Lasts: 1, Tip: Blocked}}
		list, err := m.Play(phases)
		if err != nil {
			t.Fatal(err)
		}
		return float64(list[1].Greatest.Pressure - list[1].Least.Pressure)
	}
	if s := swing(0.30); s > 0.1 {
		t.Errorf("a lag of 0.30 s still swings by %.2f mmHg after 4 s", s)
	}
	if s := swing(0.05); s < 20 {
		t.Errorf("a lag of 0.05 s swings by only %.2f mmHg", s)
	}
}

func TestRefuses(t *testing.T) {
	for what, change := range map[string]func(*Model, *Break){
		"pump":                        func(m *Model, _ *Break) { m.Pump = "diaphragm" },
		"head":                        func(m *Model, _ *Break) { m.HeadOffset = -100 },
		"line_compliance_ul_per_mmhg": func(m *Model, _ *Break) { m.Compliance = 0 },
		"sleeve-gap":                  func(m *Model, _ *Break) { m.Sleeve.Bore = 0.9 },
		"flow_ml_min":                 func(m *Model, _ *Break) { m.Flow = unit.MillilitrePerMinute(math.NaN()) },
		"forced_mmhg":                 func(m *Model, _ *Break) { m.Forced = unit.Known(unit.MillimetreHg(math.Inf(1))) },
		"temperature":                 func(m *Model, _ *Break) { m.Temperature = 60 },
		"occlusion_s":                 func(_ *Model, b *Break) { b.Hold = -1 },
		"break_s":                     func(_ *Model, b *Break) { b.Opening = -1 },
		"needle-bore":                 func(m *Model, _ *Break) { m.Needle.Inner = 2.0001 },
	} {
		m, b := Reference(), StandardBreak()
		change(&m, &b)
		if what == "needle-bore" {
			what = "needle-inner"
		}
		_, err := m.Run(b)
		var outside *unit.RangeError
		if !errors.As(err, &outside) || outside.What != what || !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v", what, err)
		}
	}
}

// Flow in a tube and in an annulus from their profiles: the balance of forces
// solved on a grid of rings, as a second method for the closed forms.
func TestLaminarProfiles(t *testing.T) {
	const mu, length, gradient = 0.9e-3, 0.018, 1000.0 // Pa·s, m, Pa over the length
	for _, c := range []struct{ inner, outer float64 }{{0, 0.75e-3}, {0.45e-3, 0.75e-3}, {0.45e-3, 0.925e-3}, {0.40e-3, 0.625e-3}} {
		flow := profileFlow(c.inner, c.outer, gradient/length/mu)
		var e Element
		f := metric{mu, 1000}
		if c.inner == 0 {
			e = Tube{Bore: unit.Millimetre(2000 * c.outer), Length: 1000 * length}.element("", f)
		} else {
			e = Sleeve{Bore: unit.Millimetre(2000 * c.outer), Length: 1000 * length, PortBore: 1, Ports: 1, WoundFactor: 1}.element("", unit.Millimetre(2000*c.inner), f)
		}
		want := gradient / pascalPerMmHg / (flow * 1e9) // mmHg·s/µL
		if math.Abs(e.Resistance/want-1) > 2e-6 {
			t.Errorf("%g–%g: resistance %g, profile %g", c.inner, c.outer, e.Resistance, want)
		}
	}
}

// profileFlow integrates 1/r d/dr(r du/dr) = -g with u = 0 at the walls (at the
// axis du/dr = 0) on a grid, and the flow from it.
func profileFlow(inner, outer, g float64) float64 {
	const n = 4000
	h := (outer - inner) / n
	// u at the nodes 1 … n-1 by elimination of the three-term equations
	r := func(i float64) float64 { return inner + i*h }
	up, rhs := make([]float64, n+1), make([]float64, n+1)
	first := 1
	if inner == 0 { // symmetric about the axis: 4(u1-u0)/h² = -g
		first = 0
	}
	for i := first; i < n; i++ {
		a, b := r(float64(i)-0.5)/(h*h), r(float64(i)+0.5)/(h*h)
		d, f := -(a + b), -g*r(float64(i))
		if i == 0 {
			a, b, d, f = 0, 4/(h*h), -4/(h*h), -g
		}
		if i > first {
			d -= a * up[i-1]
			f -= a * rhs[i-1]
		}
		up[i], rhs[i] = b/d, f/d
	}
	u := make([]float64, n+1)
	for i := n - 1; i >= first; i-- {
		u[i] = rhs[i] - up[i]*u[i+1]
	}
	sum := 0.0
	for i := range u { // Simpson
		w := 2.0
		if i%2 == 1 {
			w = 4
		}
		if i == 0 || i == n {
			w = 1
		}
		sum += w * 2 * math.Pi * r(float64(i)) * u[i]
	}
	return sum * h / 3
}

func TestFriction(t *testing.T) {
	// Blasius: f = 0.316/Re^0.25 over 64/Re; textbooks print f = 0.0316 at Re 10 000
	for _, re := range []float64{4000, 1e4, 1e5} {
		m, _ := friction(re)
		if got, want := m*64/re, 0.316/math.Pow(re, 0.25); math.Abs(got/want-1) > 1e-12 {
			t.Errorf("Re %g: f = %g, want %g", re, got, want)
		}
	}
	for re := 1.0; re < 1e4; re += 7 {
		m, slope := friction(re)
		up, _ := friction(re + 0.001)
		if d := (up - m) / 0.001; math.Abs(d-slope) > 1e-6 && math.Abs(re-laminarTo) > 1 && math.Abs(re-turbulentFrom) > 1 {
			t.Errorf("Re %g: slope %g, quotient %g", re, slope, d)
		}
		if up < m {
			t.Errorf("friction falls at Re %g", re)
		}
	}
}

// At the reference flow everything is laminar; in a surge only the needle is not
// (phaco-physics A.3).
func TestReynolds(t *testing.T) {
	m := Reference()
	parts, err := m.Elements()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		part int
		flow unit.MillilitrePerMinute
		want float64
	}{{2, 34.2, 336}, {3, 30, 1010}, {5, 30, 471}, {3, 104.1, 3504}, {5, 104.1, 1635}} {
		if got := parts[c.part].ReynoldsAt(c.flow); math.Abs(float64(got)-c.want) > 0.6 {
			t.Errorf("%s at %v: %v, want %g", parts[c.part].Name, c.flow, float64(got), c.want)
		}
	}
}

func ExampleModel_Run() {
	m := Reference()
	a, err := m.Run(StandardBreak())
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("open %.1f, blocked %.1f mmHg; a break costs about %s µL; collapse %v\n", a.Open, a.Blocked, TwoFigures(float64(a.Lost)), a.Collapse)
	// Output: open 42.2, blocked 62.1 mmHg; a break costs about 100 µL; collapse true
}
