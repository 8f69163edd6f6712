package fluidics

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"linn/finding"
	"linn/unit"
)

func TestSpread(t *testing.T) {
	m := Reference()
	s, err := m.Spread(StandardBreak())
	if err != nil {
		t.Fatal(err)
	}
	// cases F11 (stiff), F01 and F10 (soft) of the reference
	if math.Abs(float64(s.Lost.Low)-62.605) > 0.001 || math.Abs(float64(s.Lost.High)-135.727) > 0.001 || len(s.Tried) != 3 || len(s.CollapsesAt) != 2 {
		t.Errorf("%+v", s)
	}
	m.Compliance = 1.2
	wide, err := m.Spread(StandardBreak())
	if err != nil || len(wide.Tried) != 4 || wide.Lost.High <= s.Lost.High || wide.Lost.Low != s.Lost.Low {
		t.Errorf("%+v %v", wide, err)
	}
	m.BypassBore, m.VacuumLimit = 0.4, 600 // the limit is out of reach
	none, err := m.Spread(StandardBreak())
	if err != nil || none.Rise.Known() {
		t.Errorf("a rise that does not exist: %+v %v", none.Rise, err)
	}
}

func TestUncertainty(t *testing.T) {
	run := func(s Settings, seed uint64, n int) Uncertainty {
		t.Helper()
		u, err := UncertaintyInput{Settings: s, Runs: n, Source: rand.NewPCG(seed, 1)}.Uncertainty()
		if err != nil {
			t.Fatal(err)
		}
		return u
	}
	a, b, c := run(Settings{}, 1, 200), run(Settings{}, 1, 200), run(Settings{}, 2, 200)
	if !reflect.DeepEqual(a, b) || reflect.DeepEqual(a, c) {
		t.Error("the seed decides, and nothing else")
	}
	if a.Lost.Low >= a.Lost.Median || a.Lost.Median >= a.Lost.High || a.Open.Low >= a.Open.High || a.Collapses < 0 || a.Collapses > 1 || len(a.Varied) != 10 {
		t.Errorf("%+v", a)
	}
	// two halves of the draws agree as far as their number lets them
	if math.Abs(float64(a.Lost.Median-c.Lost.Median)) > 20 {
		t.Errorf("medians %v and %v", a.Lost.Median, c.Lost.Median)
	}
	known := parsed(t, `{"head_offset_cm":0,"wound_factor":1.5,"leak_ml_min_per_mmhg":0.1,"line_bore_mm":1.5,"line_compliance_ul_per_mmhg":0.3,"pump_droop":0.1,"chamber_volume_ul":140}`)
	d := run(known, 1, 200)
	if len(d.Varied) != 3 || d.Lost.High-d.Lost.Low >= a.Lost.High-a.Lost.Low {
		t.Errorf("knowing the machine does not narrow the spread: %+v", d)
	}
	if !d.Rise.Known || d.Rise.High-d.Rise.Low > 0.02 {
		t.Errorf("the rise depends on what was given: %+v", d.Rise)
	}
	vacuum := run(Settings{Pump: Vacuum}, 1, 50)
	if len(vacuum.Varied) != 10 || vacuum.Varied[9] != "pump_lag" {
		t.Errorf("%v", vacuum.Varied)
	}
	for _, bad := range []UncertaintyInput{{Runs: 5, Source: rand.NewPCG(1, 1)}, {Runs: 50, Source: rand.NewPCG(1, 1), Settings: Settings{TipGauge: unit.Known(Gauge(1))}}} {
		if _, err := bad.Uncertainty(); err == nil {
			t.Error("taken")
		}
	}
}

func TestDoubtsStayInside(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	for _, d := range Doubts() {
		for range 100 {
			if v := d.draw(r); v < d.Low || v > d.High {
				t.Errorf("%s: %g", d.Key, v)
			}
		}
		m, same := Reference(), Reference()
		d.put(&m, d.High)
		if m == same {
			t.Errorf("%s changes nothing", d.Key)
		}
	}
}

func TestEnvelope(t *testing.T) {
	in := envelopeGrid(4)
	var seen []int
	in.Progress = func(p Progress) bool { seen = append(seen, p.Done); return true }
	e, err := in.Envelope()
	if err != nil || len(e.Cells) != 64 || len(seen) != 16 || seen[15] != 64 || e.Stopped {
		t.Fatal(err, len(e.Cells), seen)
	}
	at := func(s, l, f int) Cell { return e.Cells[(s*4+l)*4+f] }
	for _, c := range e.Cells {
		if at(c.Supply, c.Limit, c.Flow) != c {
			t.Fatal("order")
		}
		if c.Limit > 0 && c.Lost < at(c.Supply, c.Limit-1, c.Flow).Lost {
			t.Errorf("a higher limit loses less: %+v", c)
		}
		if c.Limit > 0 && c.Formed && !at(c.Supply, c.Limit-1, c.Flow).Formed {
			t.Errorf("a lower limit loses the chamber: %+v", c)
		}
		if c.Supply > 0 && c.Minimum < at(c.Supply-1, c.Limit, c.Flow).Minimum {
			t.Errorf("a higher bottle is worse: %+v", c)
		}
		// the coarse tolerance against the fine one
		m := in.Model
		m.Bottle, m.VacuumLimit, m.Flow = in.Bottles[c.Supply], in.Limits[c.Limit], in.Flows[c.Flow]
		a, err := m.Run(in.Break)
		if err != nil || math.Abs(float64(a.Minimum-c.Minimum)) > 0.05 || math.Abs(float64(a.Lost-c.Lost)) > 0.1 {
			t.Errorf("%+v, fine %v %v", c, float64(a.Minimum), float64(a.Lost))
		}
	}
	in.Progress = func(Progress) bool { return false }
	if e, err = in.Envelope(); err != nil || !e.Stopped || len(e.Cells) != 4 {
		t.Errorf("%+v %v", e, err)
	}
	in.Progress, in.Forced = nil, []unit.MillimetreHg{50}
	if _, err = in.Envelope(); err == nil {
		t.Error("bottles and forced infusion together")
	}
	in.Bottles = nil
	if e, err = in.Envelope(); err != nil || len(e.Cells) != 16 || math.Abs(float64(e.Cells[0].Open)-50) > 1e-9 {
		t.Errorf("%v %v", len(e.Cells), err)
	}
	in.Limits = nil
	if _, err = in.Envelope(); err == nil {
		t.Error("an empty grid")
	}
}

func TestChanges(t *testing.T) {
	m := Reference()
	before, list, err := m.Changes(StandardBreak())
	if err != nil || len(list) != 6 || !before.Collapse {
		t.Fatal(err, len(list))
	}
	seen := map[string]Change{}
	for i, c := range list {
		seen[c.Key] = c
		if i > 0 && c.Steadier > list[i-1].Steadier {
			t.Errorf("%s is better than %s", c.Key, list[i-1].Key)
		}
	}
	// F11: the stiff line saves 104.181 - 62.605 µL, the port 104.181 - 96.161
	if list[0].Key != "line_compliance_ul_per_mmhg" || math.Abs(float64(seen["line_compliance_ul_per_mmhg"].Saved)-41.576) > 0.002 || math.Abs(float64(seen["bypass_mm"].Saved)-8.02) > 0.002 {
		t.Errorf("%+v", list)
	}
	m.Forced, m.BypassBore, m.Compliance = unit.Known(unit.MillimetreHg(135)), 0.2, 0.05
	m.Needle, _ = NeedleOf(22)
	_, list, err = m.Changes(StandardBreak())
	if err != nil || len(list) != 2 { // limit and flow: the rest is at its end
		t.Errorf("%+v %v", list, err)
	}
}

func TestSeriesAndPedal(t *testing.T) {
	m := Reference()
	phases := append([]Phase{{Lasts: 1, Pedal: Irrigate}, {Lasts: 1}}, Series{Pieces: 3, Blocked: 0.5, Free: 1.5}.Phases()...)
	list, err := m.Play(phases)
	if err != nil || len(list) != 8 {
		t.Fatal(err)
	}
	if p := list[0].Chamber; p < 61.9 || p > 62.2 { // irrigation only: head less what the leak costs
		t.Errorf("irrigating: %v", float64(p))
	}
	if p := list[1].Chamber; p < 42 || p > 42.4 {
		t.Errorf("aspirating: %v", float64(p))
	}
	for i := 3; i < 8; i += 2 {
		if list[i].Lost < 90 || !list[i].Collapse.Known {
			t.Errorf("break %d: %+v", i, list[i])
		}
	}
	total := 0.0
	for _, p := range list {
		total += float64(p.Irrigated)
		if p.Ends <= p.Begins || p.Least.Pressure > p.Greatest.Pressure {
			t.Errorf("%+v", p)
		}
	}
	if total < 34.2/60*1000*4 || total > 34.2/60*1000*10 {
		t.Errorf("irrigated %v µL in 8 s", total)
	}
	shorter, err := m.Play(Series{Pieces: 1, Blocked: 0.08, Free: 1}.Phases())
	if err != nil || shorter[1].Lost >= list[3].Lost {
		t.Errorf("a piece that goes before the limit is reached loses as much: %v", shorter[1].Lost)
	}
}

func TestMishaps(t *testing.T) {
	m := Reference()
	run := func(p ...Phase) []Passage {
		t.Helper()
		list, err := m.Play(p)
		if err != nil {
			t.Fatal(err)
		}
		return list
	}
	empty := run(Phase{Lasts: 5, Empty: true})
	if !empty[0].Collapse.Known || math.Abs(float64(empty[0].Irrigated)) > 1e-6 {
		t.Errorf("no irrigation for 5 s: %+v", empty[0])
	}
	kink := run(Phase{Lasts: 5, Kink: 2})
	if kink[0].Chamber >= 30 {
		t.Errorf("a kinked sleeve: %v", float64(kink[0].Chamber))
	}
	cut := run(Phase{Lasts: 5, PowerCut: true})
	if cut[0].Chamber < 60 {
		t.Errorf("gravity goes on when the power fails: %v", float64(cut[0].Chamber))
	}
	rest := run(Phase{Lasts: 5, Pedal: Rest})
	if math.Abs(float64(rest[0].Irrigated)) > 1e-6 || rest[0].Chamber >= 42 {
		t.Errorf("pedal released: %+v", rest[0])
	}
	m.Forced = unit.Known(unit.MillimetreHg(50))
	cut = run(Phase{Lasts: 5, PowerCut: true})
	if cut[0].Chamber > 5 || !cut[0].Collapse.Known {
		t.Errorf("forced infusion without power: %v", float64(cut[0].Chamber))
	}
	m = Reference()
	whole, half := run(Phase{Lasts: 3, Tip: Blocked}, Phase{Lasts: 2}), run(Phase{Lasts: 3, Tip: Blocked}, Phase{Lasts: 2, Mouth: 0.15})
	if half[1].Lost >= whole[1].Lost {
		t.Errorf("a partial break loses %v, a whole one %v", half[1].Lost, whole[1].Lost)
	}
	for _, bad := range []Phase{{}, {Lasts: -1}, {Lasts: 1, Mouth: 2}, {Lasts: 1, Opening: -1}, {Lasts: 1, Kink: -1}} {
		if _, err := m.Play([]Phase{bad}); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
}

func TestTrace(t *testing.T) {
	m := Reference()
	for _, bad := range []Trace{{Phases: []Phase{{Lasts: 1}}}, {Phases: []Phase{{Lasts: 3600}}, Every: 1e-4}, {Every: 0.1}, {Phases: []Phase{{}}, Every: 0.1}} {
		if _, err := m.Trace(bad); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
	list, err := m.Trace(Trace{Phases: []Phase{{Lasts: 0.3}, {Lasts: 0.7, Pedal: Irrigate}}, Every: 0.25})
	if err != nil || len(list) != 5 || list[4].At != 1 || math.Abs(float64(list[1].Chamber-list[0].Chamber)) > 1e-6 {
		t.Errorf("%+v %v", list, err)
	}
}

func TestPressureFindings(t *testing.T) {
	for p, want := range map[unit.MillimetreHg]string{45: "", 46: "chamber-pressure-raised", 60: "chamber-pressure-raised", 61: "chamber-pressure-high"} {
		found := CheckPressure("", p)
		if got := codes(found); got != want {
			t.Errorf("%v: %s", p, got)
		}
	}
	if got := codes(Perfusion{MeanArterial: 90, Chamber: 55}.Check()); got != "perfusion-low" {
		t.Error(got)
	}
	if got := codes(Perfusion{MeanArterial: 90, Chamber: 50}.Check()); got != "" {
		t.Error(got)
	}
	s, err := SalineAt(25)
	if err != nil {
		t.Fatal(err)
	}
	high, err := VacuumCeiling(2400, s)
	if err != nil || codes(high.Check(500)) != "vacuum-above-ceiling" || codes(high.Check(480)) != "" {
		t.Errorf("%+v %v", high, err)
	}
}

func codes(list []finding.Finding) (out string) {
	for _, f := range list {
		out += f.Code
	}
	return out
}

func TestSameGrip(t *testing.T) {
	wide, _ := NeedleOf(19)
	for g, want := range map[Gauge]float64{20: 661, 22: 1296} { // phaco-physics A.7
		n, err := NeedleOf(g)
		if got := n.SameGrip(wide, 400); err != nil || math.Abs(float64(got)-want) > 0.5 {
			t.Errorf("%v: %v, want %v", g, float64(got), want)
		}
	}
}

func TestStudent(t *testing.T) {
	for df := 1; df <= 200; df++ {
		want := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(df)}.Quantile(0.975)
		if got := student(df); math.Abs(got-want) > 0.0006 {
			t.Errorf("%d: %.4f, library %.4f", df, got, want)
		}
	}
}

func TestDomains(t *testing.T) {
	nan := math.NaN()
	_, salt := SalineAt(unit.Celsius(nan))
	_, sky := VacuumCeiling(9000, Saline{})
	_, _, air := Bubble{50, 760}.Under(760)
	_, _, thin := Bubble{50, 100}.Under(10)
	_, _, big := Bubble{-1, 760}.Under(10)
	_, tube := ThickTube{0.75, 0.75, 1, 1e6}.Compliance()
	_, rise := Rise{0.3, 400, 0, 30, 0.1}.To(1)
	_, still := Rise{0.3, 400, 0, 0, 0.1}.To(0.9)
	_, foot := BottleTime{0, 500, 50}.Foot()
	_, spent := BottleTime{30, 40, 50}.Foot()
	_, flat := Anterior{1, 560, 12}.Volume()
	_, small := Anterior{3, 560, 7}.Volume()
	_, dry := GlobeLaws()[0].Compliance(0)
	_, grip := Needle{}.Grip(-1)
	_, bore := SleeveBore(3)
	_, gauge := NeedleOf(19.5)
	for name, err := range map[string]error{"salt": salt, "sky": sky, "air": air, "thin": thin, "big": big, "tube": tube, "rise": rise, "still": still, "foot": foot,
		"spent": spent, "flat": flat, "small": small, "dry": dry, "grip": grip, "bore": bore, "gauge": gauge} {
		var outside *unit.RangeError
		if !errors.As(err, &outside) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if v, err := (Rise{0.3, 400, 390, 30, 0.1}).To(0.9); v != 0 || err != nil {
		t.Errorf("already there: %v %v", v, err)
	}
}

func TestWorking(t *testing.T) {
	m := Reference()
	steps, err := m.Working()
	if err != nil || len(steps) != len(StepNames) {
		t.Fatalf("%d steps, %v", len(steps), err)
	}
	for i, s := range steps {
		if s.Name != StepNames[i] || math.IsNaN(s.Value) || !s.Ref.Grade.Valid() || s.Symbol == "" {
			t.Errorf("%+v", s)
		}
	}
	by := func(name string) float64 {
		for _, s := range steps {
			if s.Name == "fluidics."+name {
				return s.Value
			}
		}
		t.Fatal(name)
		return 0
	}
	if d := by("head") - by("irrigation-drop") - by("open-pressure"); math.Abs(d) > 1e-9 {
		t.Errorf("the working does not add up: %g", d)
	}
	m.BypassBore = 0.1
	if steps, err = m.Working(); err != nil || len(steps) != len(StepNames)-1 {
		t.Errorf("with a bypass there is no closed form: %d", len(steps))
	}
}
