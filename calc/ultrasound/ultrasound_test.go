package ultrasound

import (
	"errors"
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"linn/finding"
	"linn/unit"
)

// The kinematics against the sine itself, differentiated on a grid.
func TestMotionIsASine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Motion{unit.Kilohertz(rapid.Float64Range(20, 80).Draw(t, "f")), unit.Micrometre(rapid.Float64Range(1, 300).Draw(t, "s"))}
		v, err := m.Moves()
		if err != nil {
			t.Fatal(err)
		}
		period := 1 / (float64(m.Frequency) * 1e3)
		const n = 4000
		x := func(i int) float64 { return float64(m.Stroke) * 1e-6 / 2 * math.Sin(2*math.Pi*float64(i)/n) }
		h := period / n
		fastest, hardest, way := 0.0, 0.0, 0.0
		for i := range n {
			fastest = max(fastest, math.Abs(x(i+1)-x(i-1))/(2*h))
			hardest = max(hardest, math.Abs(x(i+1)-2*x(i)+x(i-1))/(h*h))
			way += math.Abs(x(i+1) - x(i))
		}
		for what, c := range map[string][2]float64{"velocity": {float64(v.Velocity), fastest}, "acceleration": {float64(v.Acceleration), hardest}, "mean": {float64(v.MeanSpeed), way / period}} {
			if math.Abs(c[0]/c[1]-1) > 1e-5 {
				t.Errorf("%s: %g, grid %g", what, c[0], c[1])
			}
		}
	})
}

// Any two numbers of a true motion give the other two back, and contradict
// nothing.
func TestEveryPairGivesTheMotion(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Motion{unit.Kilohertz(rapid.Float64Range(0.1, 100).Draw(t, "f")), unit.Micrometre(rapid.Float64Range(1, 3000).Draw(t, "s"))}
		v, err := m.Moves()
		if err != nil {
			t.Fatal(err)
		}
		claim := Claim{Frequency: unit.Known(m.Frequency), Velocity: unit.Known(v.Velocity), Acceleration: unit.Known(v.Acceleration), Stroke: unit.Known(m.Stroke)}
		verdict, err := claim.Check()
		if err != nil || !verdict.Holds || len(verdict.Pairs) != 6 || len(verdict.Findings()) != 0 {
			t.Fatalf("%+v %v", verdict, err)
		}
		for _, p := range verdict.Pairs {
			i := p.Implies
			for what, r := range map[string]float64{"f": float64(i.Frequency[0] / m.Frequency), "v": float64(i.Velocity[1] / v.Velocity), "a": float64(i.Acceleration[0] / v.Acceleration), "s": float64(i.Stroke[1] / m.Stroke)} {
				if math.Abs(r-1) > 1e-9 {
					t.Fatalf("%v: %s off by %g", p.Take, what, r-1)
				}
			}
		}
		claim.Velocity.Value *= 1.24
		if verdict, err = claim.Check(); err != nil || !verdict.Holds == (len(verdict.Findings()) == 0) {
			t.Fatalf("%+v %v", verdict, err)
		}
		claim.Velocity.Value = v.Velocity * 1.3
		if verdict, err = claim.Check(); err != nil || verdict.Holds {
			t.Fatalf("a velocity 30 %% too large passes: %+v %v", verdict, err)
		}
	})
}

func TestTaughtCannotHold(t *testing.T) {
	v, err := Taught().Check()
	if err != nil || v.Holds || len(v.Pairs) != 6 {
		t.Fatal(v, err)
	}
	for _, p := range v.Pairs {
		if len(p.Clashes) == 0 {
			t.Errorf("%v agrees with the rest", p.Take)
		}
	}
	found := v.Findings()
	if len(found) != 12 || found[0].Code != "tip-number-too-small" || found[0].Field != "acceleration" || found[0].Value("least") != "98.6" || found[1].Code != "tip-number-too-large" || found[1].Value("least") != "6.28" || found[3].Value("most") != "1240" {
		t.Errorf("%d: %+v", len(found), found[0])
	}
	// 1–2 mil instead of 1–2 mm: 3.2–6.4 m/s at 40 kHz (phaco-physics B.2)
	m := Motion{40, unit.Mil(1).Micrometre()}
	if w, err := m.Moves(); err != nil || math.Abs(float64(w.Velocity)-3.2) > 0.05 {
		t.Errorf("%v %v", w, err)
	}
}

func TestClaimRefuses(t *testing.T) {
	for name, c := range map[string]Claim{
		"nothing":  {},
		"one":      {Frequency: unit.Known(unit.Kilohertz(40))},
		"zero":     {Frequency: unit.Known(unit.Kilohertz(40)), Velocity: unit.Known(unit.MetrePerSecond(0))},
		"no":       {Frequency: unit.Known(unit.Kilohertz(40)), Velocity: unit.Known(unit.MetrePerSecond(math.NaN()))},
		"reversed": {Frequency: unit.Known(unit.Kilohertz(40)), Stroke: unit.Known(unit.Micrometre(90)), StrokeTo: unit.Known(unit.Micrometre(30))},
	} {
		if _, err := c.Check(); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func TestNearField(t *testing.T) {
	m := Motion{40, 90}
	small, err := Face{0.45, 0.1}.Pressure(m)
	if err != nil {
		t.Fatal(err)
	}
	wide, err := Face{0.9, 0.1}.Pressure(m)
	if err != nil || math.Abs(float64(wide.Disc/small.Disc)-2) > 1e-12 || wide.Plane != small.Plane || wide.Rim != small.Rim {
		t.Errorf("%+v %+v %v", small, wide, err)
	}
	// the plane wave overstates about 16 times (phaco-physics B.3)
	if r := float64(small.Plane / small.Disc); math.Abs(r-15.7) > 0.1 {
		t.Errorf("plane over disc %g", r)
	}
	if _, err := (Face{0, 0.1}).Pressure(m); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
	if _, err := UsualFace().Pressure(Motion{}); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
}

func TestCavitation(t *testing.T) {
	for _, c := range []struct {
		d    Drive
		seen bool
	}{{Drive{Power: 59}, false}, {Drive{Power: 60}, true}, {Drive{Way: Torsional, Power: 79}, false}, {Drive{Way: Torsional, Power: 80}, true}} {
		if got := finding.Has(Cavitation(c.d), "cavitation-seen"); got != c.seen {
			t.Errorf("%+v: %v", c.d, got)
		}
	}
}

func TestModes(t *testing.T) {
	on, off, err := Rhythm{15, 50}.Cycle()
	if err != nil || math.Abs(float64(on)-1./30) > 1e-12 || math.Abs(float64(off)-1./30) > 1e-12 {
		t.Error(on, off, err)
	}
	for _, c := range []struct {
		d    Drive
		mode Mode
		duty unit.Percent
	}{{Drive{On: 1}, Continuous, 100}, {Drive{On: 1. / 30, Off: 1. / 30}, Pulse, 50}, {Drive{On: 0.006, Off: 0.012}, ShortPulse, 100. / 3}, {Drive{On: 0.03, Off: 0.27}, Pulse, 10}} {
		duty, err := c.d.Duty()
		if err != nil || math.Abs(float64(duty-c.duty)) > 1e-9 || c.d.Mode() != c.mode {
			t.Errorf("%+v: %v %v %v", c.d, duty, c.d.Mode(), err)
		}
	}
	for _, bad := range []Drive{{Power: 101}, {Power: -1}, {On: -1}, {Time: unit.Second(math.Inf(1))}} {
		if _, err := Sum([]Drive{bad}); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
	if _, _, err := (Rhythm{0, 50}).Cycle(); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
	if _, err := (Energy{}).StrokeTime(-1); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
	if e, err := Sum(nil); err != nil || e != (Energy{}) {
		t.Error(e, err)
	}
}

// Effective time is phaco time × mean power, whatever the rhythm, and adds up.
func TestEnergyAddsUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []Drive
		for range rapid.IntRange(1, 6).Draw(t, "n") {
			list = append(list, Drive{Way: rapid.SampledFrom([]Way{Longitudinal, Torsional}).Draw(t, "way"), Power: unit.Percent(rapid.Float64Range(0, 100).Draw(t, "p")),
				On: unit.Second(rapid.Float64Range(0.001, 0.2).Draw(t, "on")), Off: unit.Second(rapid.Float64Range(0, 0.2).Draw(t, "off")), Time: unit.Second(rapid.Float64Range(0.1, 60).Draw(t, "t"))})
		}
		e, err := Sum(list)
		if err != nil {
			t.Fatal(err)
		}
		var sum unit.Second
		for _, d := range list {
			one, err := Sum([]Drive{d})
			if err != nil {
				t.Fatal(err)
			}
			sum += one.Effective
		}
		even, err := e.StrokeTime(1)
		if err != nil || math.Abs(float64(sum-e.Effective)) > 1e-9 || math.Abs(float64(even-e.Effective)) > 1e-9 ||
			math.Abs(float64(e.Time)*e.MeanPower.Fraction()-float64(e.Effective)) > 1e-9 || e.On > e.Time+1e-9 || e.Effective > e.On+1e-9 {
			t.Fatalf("%+v, parts %v, even %v (%v)", e, sum, even, err)
		}
	})
}

func TestGrades(t *testing.T) {
	last := 0.0
	for g := Grade(0.1); g <= 6.9; g += 0.1 {
		e, err := g.Expect()
		if err != nil || float64(e.Effective) <= last {
			t.Fatalf("grade %v: %v after %g (%v)", g, e, last, err)
		}
		last = float64(e.Effective)
	}
	three, _ := Grade(3).Expect()
	four, _ := Grade(4).Expect()
	if r := float64(four.Effective / three.Effective); math.Abs(r-2.228) > 0.001 { // 2.23 per grade
		t.Errorf("per grade %g", r)
	}
	for _, bad := range []Grade{0, 7, Grade(math.NaN())} {
		if _, err := bad.Expect(); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%v: %v", bad, err)
		}
	}
	if finding.Has(Grade(4).Findings(), "grade-extrapolated") || !finding.Has(Grade(2).Findings(), "grade-extrapolated") || !finding.Has(Grade(4).Findings(), "grade-one-study") {
		t.Error("findings")
	}
}

func piece() Piece {
	return Piece{Volume: NucleusVolume(), Grade: 4, Power: 40, Duty: 50, Flow: 30, Leak: 4.2, Occluded: UsualOccluded()}
}

func TestPieces(t *testing.T) {
	p := piece()
	whole, err := p.Remove()
	if err != nil {
		t.Fatal(err)
	}
	// a cube of 3 mm against one of 2 mm: volume, so everything, times 3.375
	small, big := p, p
	small.Volume, big.Volume = 8, 27
	a, errA := small.Remove()
	b, errB := big.Remove()
	if errA != nil || errB != nil || math.Abs(float64(b.Time/a.Time)-3.375) > 1e-9 || math.Abs(float64(b.Fluid/a.Fluid)-3.375) > 1e-9 {
		t.Errorf("%+v %+v", a, b)
	}
	for what, change := range map[string]func(*Piece){"power": func(p *Piece) { p.Power = 80 }, "duty": func(p *Piece) { p.Duty = 100 }, "grade": func(p *Piece) { p.Grade = 3 }} {
		q := p
		change(&q)
		if r, err := q.Remove(); err != nil || r.Time >= whole.Time {
			t.Errorf("%s: %v is not shorter than %v", what, r.Time, whole.Time)
		}
	}
	// a nucleus at the expected grade needs just the expected energy
	if e, _ := p.Grade.Expect(); math.Abs(float64(whole.Effective-e.Effective)) > 1e-12 {
		t.Errorf("%v, expected %v", whole.Effective, e.Effective)
	}
	crumb := p
	crumb.Volume, crumb.Bore = 0.1, 0.7
	if r, err := crumb.Remove(); err != nil || !r.Passes || r.Effective != 0 || r.Blocked != 0 || math.Abs(float64(r.Time)-0.0002) > 1e-9 {
		t.Errorf("%+v %v", r, err)
	}
	for name, change := range map[string]func(*Piece){"volume": func(p *Piece) { p.Volume = 0 }, "power": func(p *Piece) { p.Power = 0 }, "duty": func(p *Piece) { p.Duty = 101 },
		"flow": func(p *Piece) { p.Flow = 0 }, "grade": func(p *Piece) { p.Grade = 8 }, "occluded": func(p *Piece) { p.Occluded = 1.1 }} {
		q := p
		change(&q)
		if _, err := q.Remove(); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := q.Working(); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v", name, err)
		}
		if _, err := q.Take(Techniques()[4]); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Dividing costs no energy in the model; it shortens the single block.
func TestTechniques(t *testing.T) {
	p := piece()
	whole, err := p.Remove()
	if err != nil {
		t.Fatal(err)
	}
	longest := map[string]unit.Second{}
	for _, tech := range Techniques() {
		c, err := p.Take(tech)
		if err != nil || math.Abs(float64(c.Total.Effective-whole.Effective)) > 1e-9 || math.Abs(float64(c.Total.Time-whole.Time)) > 1e-9 {
			t.Errorf("%s: %+v, whole %+v (%v)", tech.Name, c.Total, whole, err)
		}
		if tech.Groove > 0 && (c.Total.Blocked >= whole.Blocked || c.Total.Fluid <= whole.Fluid) {
			t.Errorf("%s: a groove is made with the tip open: %+v", tech.Name, c.Total)
		}
		if !finding.Has(c.Findings, "technique-shares-assumed") {
			t.Errorf("%s says nothing of its assumptions", tech.Name)
		}
		longest[tech.Name] = c.Longest
	}
	for _, c := range [][2]string{{"halves", "whole"}, {"quadrants", "halves"}, {"eighths", "quadrants"}, {"divide-and-conquer", "quadrants"}, {"stop-and-chop", "divide-and-conquer"}} {
		if longest[c[0]] >= longest[c[1]] {
			t.Errorf("%s blocks for %v, %s for %v", c[0], longest[c[0]], c[1], longest[c[1]])
		}
	}
	for _, bad := range []Technique{{Pieces: 0}, {Pieces: 4, Groove: 1}} {
		if _, err := p.Take(bad); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
}

func TestWorkings(t *testing.T) {
	a, errA := Motion{40, 90}.Working()
	f, errF := UsualFace().Working(Motion{40, 90})
	b, errB := piece().Working()
	if errA != nil || errB != nil || errF != nil {
		t.Fatal(errA, errB, errF)
	}
	all := append(append(a, f...), b...)
	if len(all) != len(StepNames) {
		t.Fatalf("%d steps, %d names", len(all), len(StepNames))
	}
	for i, s := range all {
		if s.Name != StepNames[i] || !s.Ref.Grade.Valid() || s.Symbol == "" || math.IsNaN(s.Value) {
			t.Errorf("%+v", s)
		}
	}
	if _, err := (Motion{}).Working(); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
	if _, err := UsualFace().Working(Motion{}); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
	if _, err := (Motion{40, 90}).At(120); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
}

// Velocity and acceleration of a tip of 40 kHz and 90 µm (phaco-physics B.1).
func ExampleMotion_Moves() {
	v, err := Motion{Frequency: 40, Stroke: 90}.Moves()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f m/s, %.3g m/s², %.0f g\n", float64(v.Velocity), float64(v.Acceleration), float64(v.Gravities))
	// Output: 11.31 m/s, 2.84e+06 m/s², 289849 g
}
