package heat

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"linn/calc/ultrasound"
	"linn/finding"
	"linn/unit"
)

// stepped integrates the two balances with a classical Runge–Kutta of order 4
// and the index by trapezes: the second method for the closed forms.
func stepped(w Wound, x Index, p Phase, h float64) (wound, chamber, index float64) {
	g, m := w.cooling(&p)
	quiet := p
	quiet.Power = 0
	start := w.nodes(&quiet)
	power := p.Power.Fraction()
	capacity := perMillilit * float64(w.Volume)
	slope := func(tw, tc float64) (dw, dc float64) {
		dw = (w.heat(&p) - g*(tw-float64(w.Irrigation)) - float64(w.Tissue)*(tw-float64(w.Body))) / float64(w.Capacity)
		dc = (p.Duty.Fraction()*float64(w.Acoustic)*power*power + g*(tw-float64(w.Irrigation)) + m*(float64(w.Irrigation)-tc) - float64(w.Eye)*(tc-float64(w.Body))) / capacity
		return dw, dc
	}
	tw, tc := start.wound, start.chamber
	for range int(math.Round(float64(p.Lasts) / h)) {
		before := x.rate(tw)
		a1, b1 := slope(tw, tc)
		a2, b2 := slope(tw+h/2*a1, tc+h/2*b1)
		a3, b3 := slope(tw+h/2*a2, tc+h/2*b2)
		a4, b4 := slope(tw+h*a3, tc+h*b3)
		tw, tc = tw+h/6*(a1+2*a2+2*a3+a4), tc+h/6*(b1+2*b2+2*b3+b4)
		index += h / 2 * (before + x.rate(tw))
	}
	return tw, tc, index
}

func anyPhase(t *rapid.T) Phase {
	draw := func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
	return Phase{Lasts: unit.Second(draw("lasts", 0.5, 8)), Power: unit.Percent(draw("power", 0, 100)), Duty: unit.Percent(draw("duty", 5, 100)),
		WayFactor: unit.Ratio(draw("way", 0.2, 1)), Load: unit.GramForce(draw("load", 0, 60)), Flow: unit.MillilitrePerMinute(draw("flow", 0, 40))}
}

func TestClosedFormsAgainstSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, p := Reference(), anyPhase(t)
		p.Lasts = unit.Second(math.Round(float64(p.Lasts)*1000) / 1000)
		for _, x := range Indices() {
			o, err := w.Play(x, []Phase{p})
			if err != nil {
				t.Fatal(err)
			}
			tw, tc, index := stepped(w, x, p, 1e-3)
			if math.Abs(tw-float64(o.Final)) > 1e-6 || math.Abs(tc-float64(o.ChamberFinal)) > 1e-6 || math.Abs(index/o.Index-1) > 1e-4 {
				t.Fatalf("%s: %.8f %.8f %.8g, steps %.8f %.8f %.8g", x.Name, float64(o.Final), float64(o.ChamberFinal), o.Index, tw, tc, index)
			}
		}
	})
}

// A phase cut in two is the same phase, wherever it is cut.
func TestCutsDoNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, p := Reference(), anyPhase(t)
		a, b := p, p
		a.Lasts = p.Lasts * unit.Second(rapid.Float64Range(0.05, 0.95).Draw(t, "cut"))
		b.Lasts = p.Lasts - a.Lasts
		one, err := w.Play(Burn(), []Phase{p})
		two, err2 := w.Play(Burn(), []Phase{a, b})
		if err != nil || err2 != nil || math.Abs(float64(one.Final-two.Final)) > 1e-9 || math.Abs(float64(one.ChamberFinal-two.ChamberFinal)) > 1e-9 ||
			math.Abs(one.Index/two.Index-1) > 1e-8 || one.BurnAt.Known != two.BurnAt.Known || math.Abs(float64(one.BurnAt.Value-two.BurnAt.Value)) > 1e-6 ||
			math.Abs(float64(one.ChamberPeak-two.ChamberPeak)) > 1e-6 {
			t.Fatalf("%+v\n%+v\n%v %v", one, two, err, err2)
		}
	})
}

func TestEqualRates(t *testing.T) {
	n := nodes{wound: 50, chamber: 30, a: 0.7, b: 0.7, into: 0.4}
	near := n
	near.b += 1e-7
	if d := n.chamberAt(2, 25, 25) - near.chamberAt(2, 25, 25); math.Abs(d) > 1e-5 || math.IsNaN(d) {
		t.Errorf("equal rates part by %g", d)
	}
}

// Warmer with power, duty, load and the way; cooler with flow.
func TestMonotone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, p := Reference(), anyPhase(t)
		p.Power, p.Duty, p.Load = max(p.Power, 5), max(p.Duty, 5), max(p.Load, 1)
		base, err := w.Rest(p)
		if err != nil {
			t.Fatal(err)
		}
		for what, change := range map[string]func(*Phase){
			"power": func(p *Phase) { p.Power /= 1.2 }, "duty": func(p *Phase) { p.Duty /= 1.2 }, "load": func(p *Phase) { p.Load /= 1.2 }, "way": func(p *Phase) { p.WayFactor /= 1.2 },
		} {
			q := p
			change(&q)
			if r, err := w.Rest(q); err != nil || r.Wound >= base.Wound {
				t.Fatalf("less %s is not cooler: %v, %v (%v)", what, float64(r.Wound), float64(base.Wound), err)
			}
		}
		q := p
		q.Flow = p.Flow*1.2 + 0.1
		// with hardly any heat the tissue warms the wound, the flow still cools it
		if r, err := w.Rest(q); err != nil || r.Wound >= base.Wound {
			t.Fatalf("more flow is not cooler: %v, %v (%v)", float64(r.Wound), float64(base.Wound), err)
		}
	})
}

func TestIndices(t *testing.T) {
	for _, x := range Indices() {
		last := math.Inf(1)
		for c := unit.Celsius(30); c <= 100; c++ {
			s, err := x.ToBurn(c)
			if err != nil || float64(s) >= last {
				t.Fatalf("%s: %v at %v (%v)", x.Name, s, c, err)
			}
			last = float64(s)
		}
		// at one temperature the index is time over the time to 1
		w := Reference()
		p := Phase{Lasts: 100, Flow: 10}
		o, err := w.Play(x, []Phase{p})
		if err != nil {
			t.Fatal(err)
		}
		s, err := x.ToBurn(o.Start)
		if err != nil || math.Abs(o.Index*float64(s)/100-1) > 1e-9 {
			t.Errorf("%s: %g in 100 s, 1 in %v (%v)", x.Name, o.Index, float64(s), err)
		}
	}
	for _, bad := range []unit.Celsius{-1, 151, unit.Celsius(math.NaN())} {
		if _, err := Burn().ToBurn(bad); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%v: %v", bad, err)
		}
	}
	if !finding.Has(Cornea().Check(50), "burn-index-denatures") || finding.Has(Cornea().Check(60), "burn-index-denatures") || finding.Has(Burn().Check(50), "burn-index-denatures") {
		t.Error("the cornea’s index")
	}
}

func full(flow unit.MillilitrePerMinute, lasts unit.Second) Phase {
	return Phase{Lasts: lasts, Power: 100, Duty: 100, WayFactor: WayFactor(ultrasound.Longitudinal), Load: 30, Flow: flow}
}

// The flow stops during continuous power: 60 °C after 1.804 s (phaco-physics
// C.2), and one second leaves it near 50 °C.
func TestFlowStops(t *testing.T) {
	w := Reference()
	o, err := w.Play(Burn(), []Phase{full(30, 20), full(0, 10)})
	if err != nil || math.Abs(float64(o.To60.Value)-21.8043) > 0.0002 || !o.BurnAt.Known || o.BurnAt.Value <= o.To60.Value || o.BurnAt.Value > o.To60.Value+0.5 {
		t.Errorf("%+v %v", o, err)
	}
	if o.Peak != o.Final || o.PeakAt != 30 || len(o.Phases) != 2 || o.Phases[1].Wound != o.Final {
		t.Errorf("%+v", o)
	}
	plug := full(30, 10)
	plug.Plugged = true
	if p, err := w.Play(Burn(), []Phase{full(30, 20), plug}); err != nil || p.Final != o.Final || p.To60 != o.To60 {
		t.Errorf("a plug is no flow: %+v %v", p, err)
	}
	if o, err = w.Play(Burn(), []Phase{full(30, 20), full(0, 1)}); err != nil || o.Final < 48 || o.Final > 52 {
		t.Errorf("one second without flow: %v %v", o.Final, err)
	}
	if o, err = w.Play(Burn(), []Phase{full(0, 1.5), full(30, 10)}); err != nil || o.Peak <= o.Final || o.PeakAt != 1.5 || o.Final > 33 {
		t.Errorf("the flow comes back: %+v %v", o, err)
	}
	// the chamber is warmest on the way, not at either end
	if o, err = w.Play(Burn(), []Phase{full(0, 5), full(2, 60)}); err != nil || o.ChamberPeak <= o.ChamberFinal+0.5 || o.ChamberPeak <= o.Phases[0].Chamber {
		t.Errorf("%+v %v", o, err)
	}
}

func TestFindings(t *testing.T) {
	w := Reference()
	for _, c := range []struct {
		phases []Phase
		x      Index
		want   string
	}{
		{[]Phase{full(30, 10)}, Burn(), ""},
		{[]Phase{full(0, 0.8)}, Burn(), "wound-warm"},
		{[]Phase{full(0, 3)}, Burn(), "wound-burn"},
		{[]Phase{full(0, 1.8)}, Collagen(), "wound-burn"}, // 60 °C, while this index stays low
		{[]Phase{full(30, 10)}, Cornea(), "burn-index-denatures"},
	} {
		o, err := w.Play(c.x, c.phases)
		if err != nil {
			t.Fatal(err)
		}
		found := o.Findings(c.x)
		if c.want == "" && len(found) > 0 || c.want != "" && (len(found) != 1 || found[0].Code != c.want) {
			t.Errorf("%+v: %+v, want %s", c.phases, found, c.want)
		}
	}
	on := Moment{UltrasoundOn: true, Power: 40, Duty: 100, Aspirated: 1, LowFor: 1.5}
	if !finding.Has(on.Alarm(), "no-flow") {
		t.Error("no alarm")
	}
	for name, change := range map[string]func(*Moment){"off": func(m *Moment) { m.UltrasoundOn = false }, "weak": func(m *Moment) { m.Duty = 70 }, "flow": func(m *Moment) { m.Aspirated = 2 }, "short": func(m *Moment) { m.LowFor = 1 }} {
		m := on
		change(&m)
		if len(m.Alarm()) != 0 {
			t.Errorf("%s: %+v", name, m.Alarm())
		}
	}
}

func TestLeastFlow(t *testing.T) {
	w := Reference()
	rapid.Check(t, func(t *rapid.T) {
		limit := unit.Celsius(rapid.Float64Range(33, 100).Draw(t, "limit"))
		q, err := w.LeastFlow(full(0, 0), limit)
		if err != nil {
			t.Fatal(err)
		}
		if r, err := w.Rest(full(q, 0)); err != nil || math.Abs(float64(r.Wound-limit)) > 1e-6 {
			t.Fatalf("%v mL/min leave %v, wanted %v (%v)", float64(q), float64(r.Wound), float64(limit), err)
		}
	})
	if q, err := w.LeastFlow(full(0, 0), 120); q != 0 || err != nil {
		t.Errorf("%v %v", q, err)
	}
	if _, err := w.LeastFlow(full(0, 0), 20); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
}

func TestRefuses(t *testing.T) {
	w := Reference()
	for name, change := range map[string]func(*Phase){"lasts": func(p *Phase) { p.Lasts = -1 }, "power": func(p *Phase) { p.Power = 101 }, "duty": func(p *Phase) { p.Duty = unit.Percent(math.NaN()) },
		"way-factor": func(p *Phase) { p.WayFactor = -1 }, "load": func(p *Phase) { p.Load = 501 }, "flow": func(p *Phase) { p.Flow = -1 }} {
		p := full(10, 1)
		change(&p)
		_, err := w.Play(Burn(), []Phase{p})
		_, err2 := w.Rest(p)
		_, err3 := w.LeastFlow(p, 45)
		_, err4 := w.Working(p)
		for _, e := range []error{err, err2, err3, err4} {
			var outside *unit.RangeError
			if !errors.As(e, &outside) || outside.What != name {
				t.Errorf("%s: %v", name, e)
			}
		}
	}
	w.Tissue = 0
	_, err := w.Play(Burn(), []Phase{full(1, 1)})
	_, err2 := w.Rest(full(1, 1))
	_, err3 := w.LeastFlow(full(1, 1), 45)
	_, err4 := w.AcousticRise()
	_, err5 := Reference().Play(Burn(), nil)
	_, err6 := Rub{Coefficient: 3}.Power()
	_, err7 := Rub{Coefficient: 0.4, Load: 30}.Power()
	for i, e := range []error{err, err2, err3, err4, err5, err6, err7} {
		if !errors.Is(e, unit.ErrRange) {
			t.Errorf("%d: %v", i, e)
		}
	}
}

func TestWorking(t *testing.T) {
	steps, err := Reference().Working(full(30, 1))
	if err != nil || len(steps) != len(StepNames) {
		t.Fatal(len(steps), err)
	}
	for i, s := range steps {
		if s.Name != StepNames[i] || !s.Ref.Grade.Valid() || math.IsNaN(s.Value) {
			t.Errorf("%+v", s)
		}
	}
}

func TestWays(t *testing.T) {
	if WayFactor(ultrasound.Torsional) != 0.5 || WayFactor(ultrasound.Longitudinal) != 1 || WayFactor("") != 1 {
		t.Error("factors of the ways")
	}
}

func BenchmarkCourse(b *testing.B) {
	w := Reference()
	phases := []Phase{full(30, 20), full(0, 3), full(30, 20)}
	for b.Loop() {
		if _, err := w.Play(Burn(), phases); err != nil {
			b.Fatal(err)
		}
	}
}

func ExampleWound_Play() {
	w := Reference()
	during := Phase{Lasts: 10, Power: 100, Duty: 100, WayFactor: WayFactor(ultrasound.Longitudinal), Load: 30, Flow: 30}
	stopped := during
	stopped.Flow, stopped.Lasts = 0, 5
	o, err := w.Play(Burn(), []Phase{during, stopped})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.1f °C with flow; 60 °C %.1f s after it stops\n", float64(o.Phases[0].Wound), float64(o.To60.Value)-10)
	// Output: 32.1 °C with flow; 60 °C 1.8 s after it stops
}
