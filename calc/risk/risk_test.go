package risk

import (
	"errors"
	"math"
	"path/filepath"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"linn/internal/checkvalue"
	"linn/unit"
)

// outputs answers every check file of this package, by its name.
var outputs = map[string]func(t *testing.T, f *checkvalue.File, r checkvalue.Row) map[string]float64{
	"narendran.txt": func(t *testing.T, f *checkvalue.File, r checkvalue.Row) map[string]float64 {
		e, err := Narendran.Estimate(findingsOf(word(t, f, r, "factors")), 0)
		fatal(t, err)
		return map[string]float64{"composite": e.Composite, "risk": 100 * e.P}
	},
	"muhtaseb-rates.txt": func(t *testing.T, f *checkvalue.File, r checkvalue.Row) map[string]float64 {
		g, group := rateOf(t, word(t, f, r, "outcome")), int(number(t, f, r, "group"))
		if g.Events[group-1] != int(number(t, f, r, "events")) {
			t.Errorf("line %d: %d events", r.Line, g.Events[group-1])
		}
		i, err := g.Of(group)
		fatal(t, err)
		return map[string]float64{"share": 100 * i.Rate}
	},
	"muhtaseb-intervals.txt": func(t *testing.T, f *checkvalue.File, r checkvalue.Row) map[string]float64 {
		i, err := rateOf(t, "any-complication").Of(int(number(t, f, r, "group")))
		fatal(t, err)
		return map[string]float64{"low": 100 * i.Low, "high": 100 * i.High}
	},
	"calibration.txt": func(t *testing.T, f *checkvalue.File, r checkvalue.Row) map[string]float64 {
		a, err := Shift([]float64{number(t, f, r, "mean") / 100}, Interval{Rate: number(t, f, r, "rate") / 100})
		fatal(t, err)
		return map[string]float64{"shift": a, "odds": math.Exp(a)}
	},
	"shifted.txt": func(t *testing.T, f *checkvalue.File, r checkvalue.Row) map[string]float64 {
		a, err := Shift([]float64{0.0192}, Interval{Rate: 0.03})
		fatal(t, err)
		return map[string]float64{"shifted": 100 * Own{Shift: a}.Shifted(number(t, f, r, "p")/100)}
	},
	"number-needed.txt": func(t *testing.T, f *checkvalue.File, r checkvalue.Row) map[string]float64 {
		n, err := NumberNeeded(Rates{Without: number(t, f, r, "without") / 100, With: number(t, f, r, "with") / 100})
		fatal(t, err)
		return map[string]float64{"needed": n}
	},
	"moxifloxacin-rates.txt": func(t *testing.T, f *checkvalue.File, r checkvalue.Row) map[string]float64 {
		i, err := Wilson(Count{int(number(t, f, r, "events")), int(number(t, f, r, "eyes"))})
		fatal(t, err)
		return map[string]float64{"share": 100 * i.Rate}
	},
	"cluster.txt": func(t *testing.T, f *checkvalue.File, r checkvalue.Row) map[string]float64 {
		p, err := TwoOrMore(int(number(t, f, r, "n")), number(t, f, r, "rate")/100)
		fatal(t, err)
		return map[string]float64{"chance": p}
	},
	"register.txt": func(t *testing.T, f *checkvalue.File, r checkvalue.Row) map[string]float64 {
		c, err := RegisterComposite(strings.Split(word(t, f, r, "items"), ";"))
		fatal(t, err)
		return map[string]float64{"composite": c}
	},
	"none-in-n.txt": func(t *testing.T, f *checkvalue.File, r checkvalue.Row) map[string]float64 {
		p, err := UpperAfterNone(int(number(t, f, r, "n")))
		fatal(t, err)
		return map[string]float64{"upper": 100 * p}
	},
}

// TestCheckValues holds every check file to what it prints.
func TestCheckValues(t *testing.T) {
	files, err := checkvalue.LoadTree(".")
	fatal(t, err)
	if len(files) != len(outputs) {
		t.Fatalf("%d check files, %d known", len(files), len(outputs))
	}
	for i := range files {
		f := &files[i]
		answer := outputs[filepath.Base(f.Path)]
		for _, r := range f.Rows {
			for name, got := range answer(t, f, r) {
				if err := f.Compare(r, name, got); err != nil {
					t.Error(err)
				}
			}
		}
	}
}

func fatal(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func number(t *testing.T, f *checkvalue.File, r checkvalue.Row, name string) float64 {
	t.Helper()
	v, err := f.Number(r, name)
	fatal(t, err)
	return v
}

func word(t *testing.T, f *checkvalue.File, r checkvalue.Row, name string) string {
	t.Helper()
	s, err := f.Text(r, name)
	fatal(t, err)
	return s
}

func findingsOf(text string) Findings {
	f := Findings{}
	for _, part := range strings.Split(text, ";") {
		if key, level, is := strings.Cut(part, "="); is {
			f[key] = level
		}
	}
	return f
}

func rateOf(t *testing.T, outcome string) *GroupRate {
	t.Helper()
	for i := range GroupRates {
		if GroupRates[i].Outcome == outcome {
			return &GroupRates[i]
		}
	}
	t.Fatalf("no outcome %s", outcome)
	return nil
}

// TestUnansweredIsNotNormal: what was not answered is named and widens the
// estimate; answering it lands inside.
func TestUnansweredIsNotNormal(t *testing.T) {
	e, err := Narendran.Estimate(Findings{"sex": "male"}, 0)
	fatal(t, err)
	if len(e.Missing) != len(Narendran.Factors)-1 || !(e.Low < e.P && e.P < e.High) {
		t.Errorf("%+v", e)
	}
	rapid.Check(t, func(t *rapid.T) {
		f := Findings{}
		for _, x := range Narendran.Factors {
			l := x.Levels[rapid.IntRange(0, len(x.Levels)-1).Draw(t, x.Key)]
			if l.Never == "" && rapid.Bool().Draw(t, "answered "+x.Key) {
				f[x.Key] = l.Name
			}
		}
		part, err := Narendran.Estimate(f, 0)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range Narendran.Factors {
			for _, l := range x.Levels {
				if _, answered := f[x.Key]; answered || l.Never != "" {
					continue
				}
				f[x.Key] = l.Name
				whole, err := Narendran.Estimate(f, 0)
				delete(f, x.Key)
				if err != nil || whole.P < part.Low-1e-12 || whole.P > part.High+1e-12 {
					t.Fatalf("%s %s: %v outside %v to %v (%v)", x.Key, l.Name, whole.P, part.Low, part.High, err)
				}
			}
		}
	})
}

// TestModelRefuses: a chain of odds ratios is guarded against what would pass
// in silence.
func TestModelRefuses(t *testing.T) {
	for name, f := range map[string]Findings{
		"no such level": {"age": "old"}, "unknown is no level": {"pupil": "unknown"}, "staff grade is selection": {"surgeon": "staff-grade"},
	} {
		if _, err := Narendran.Estimate(f, 0); !errors.Is(err, ErrLevel) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, spoil := range map[string]func(*Model){
		"baseline": func(m *Model) { m.Baseline = 0 }, "coefficient": func(m *Model) { m.Factors[0].Levels[1].Known = false },
		"no factors": func(m *Model) { m.Factors = nil }, "zero ratio": func(m *Model) { m.Factors[0].Levels[1].Ratio = 0 },
	} {
		m := copyOf(&Narendran)
		spoil(&m)
		if _, err := m.Estimate(Findings{}, 0); !errors.Is(err, ErrCoefficient) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, spoil := range map[string]func(*Model){
		"factor twice":    func(m *Model) { m.Factors = append(m.Factors, m.Factors[0]) },
		"level twice":     func(m *Model) { m.Factors[0].Levels = append(m.Factors[0].Levels, m.Factors[0].Levels[1]) },
		"reference not 1": func(m *Model) { m.Factors[0].Levels[0].Ratio = 1.1 },
	} {
		m := copyOf(&Narendran)
		spoil(&m)
		if m.Check() == nil {
			t.Error(name)
		}
	}
}

func copyOf(m *Model) Model {
	c := *m
	c.Factors = nil
	for _, f := range m.Factors {
		c.Factors = append(c.Factors, Factor{f.Key, append([]Level{}, f.Levels...)})
	}
	return c
}

// TestManualNeedsOwnIntercept: no phaco number stands in for a manual
// operation.
func TestManualNeedsOwnIntercept(t *testing.T) {
	for _, technique := range []string{"msics", "ecce"} {
		if _, err := Narendran.For(technique, Findings{}, nil); !errors.Is(err, ErrNoModel) {
			t.Errorf("%s: %v", technique, err)
		}
		if _, err := Narendran.For(technique, Findings{}, &Own{Technique: "phaco"}); !errors.Is(err, ErrNoModel) {
			t.Errorf("%s with phaco's intercept: %v", technique, err)
		}
		if e, err := Narendran.For(technique, Findings{}, &Own{Technique: technique, Shift: 0.3}); err != nil || !(e.P > Narendran.Baseline) {
			t.Errorf("%s with its own: %v %v", technique, e, err)
		}
	}
}

const aFile = `{"format":"linn.risk-model/1","id":"own","version":"1","outcome":"capsule-rupture","setting":"here","years":"2025","technique":"phaco","baseline":0.01,
"source":"own-choice","grade":"d","factors":[{"key":"age","levels":[{"name":"<60","odds_ratio":1},{"name":"60+","odds_ratio":1.5}]}]}`

func TestModelFile(t *testing.T) {
	m, err := ParseModel([]byte(aFile))
	fatal(t, err)
	if e, err := m.Estimate(Findings{"age": "60+"}, 0); err != nil || math.Abs(e.Composite-1.5) > 1e-12 {
		t.Errorf("%v %v", e, err)
	}
	for _, c := range [][2]string{
		{`"odds_ratio":1.5`, `"odds_ratio":null`}, {`,"odds_ratio":1.5`, ``}, {`"baseline":0.01,`, ``}, {`"own-choice"`, `"nobody"`},
		{`"grade":"d"`, `"grade":"z"`}, {`"years"`, `"yaers"`}, {`linn.risk-model/1`, `linn.risk-model/9`}, {`"60+"`, `"<60"`}, {`"baseline":0.01`, `"baseline":1`},
	} {
		if _, err := ParseModel([]byte(strings.Replace(aFile, c[0], c[1], 1))); !errors.Is(err, ErrFile) {
			t.Errorf("%s: %v", c[1], err)
		}
	}
	// The table of sim2024 was not obtained: a file of it with its holes is refused.
	holes := strings.Replace(aFile, `"odds_ratio":1.5`, `"odds_ratio":null`, 1)
	if _, err := ParseModel([]byte(holes)); !errors.Is(err, ErrCoefficient) {
		t.Errorf("holes: %v", err)
	}
}

func FuzzModelFile(f *testing.F) {
	f.Add([]byte(aFile))
	f.Add([]byte(`{}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := ParseModel(data)
		if err == nil && m.Check() != nil {
			t.Error("accepted and not sound")
		}
	})
}

// TestMuhtaseb: tables 1 and 2 read; the worked eyes are ours.
func TestMuhtaseb(t *testing.T) {
	for _, c := range []struct {
		present       []string
		points, group int
	}{{nil, 0, 1}, {[]string{"dense_or_white", "exfoliation"}, 6, 4}, {[]string{"ametropia_over_6", "acd_below_2_5"}, 2, 2}, {[]string{"phacodonesis"}, 3, 3}, {[]string{"phacodonesis", "vitrectomy_past", "corneal_scar"}, 5, 3}} {
		a := allNo(&MuhtasebScore)
		for _, key := range c.present {
			a[key] = true
		}
		got := MuhtasebScore.Add(a)
		if got.Points != c.points || got.Most != c.points || len(got.Missing) != 0 || Group(got.Points) != c.group {
			t.Errorf("%v: %+v, group %d", c.present, got, Group(got.Points))
		}
	}
	if got := MuhtasebScore.Add(Answers{}); got.Points != 0 || got.Most != 18 || len(got.Missing) != 12 {
		t.Errorf("nothing answered: %+v", got)
	}
	if _, err := GroupRates[0].Of(5); err == nil {
		t.Error("group 5")
	}
}

// TestHabib: table 1 read; exclusive lines count once.
func TestHabib(t *testing.T) {
	a := allNo(&HabibScore)
	if got := HabibScore.Add(a); got.Points != 0 || got.Most != 0 {
		t.Errorf("%+v", got)
	}
	a["nucleus_3"], a["dense_or_white"], a["length_over_27"], a["head_tremor"] = true, true, true, true
	if got := HabibScore.Add(a); got.Points != 5 || got.Most != 5 {
		t.Errorf("%+v", got)
	}
	if got := HabibScore.Add(Answers{"nucleus_1_2": true}); got.Points != 1 || got.Most != 1+11+1 {
		t.Errorf("nucleus alone: %+v", got) // eleven single items and the pair of lengths are open
	}
}

func allNo(s *Score) Answers {
	a := Answers{}
	for _, i := range s.Items {
		a[i.Key] = false
	}
	return a
}

func TestRegisterGuards(t *testing.T) {
	for _, items := range [][]string{{"trypan", "trypan"}, {"unknown"}} {
		if _, err := RegisterComposite(items); !errors.Is(err, ErrLevel) {
			t.Errorf("%v: %v", items, err)
		}
	}
}

// TestCalibrateFindsTheRate: whatever the predictions, their shifted mean is
// the observed rate.
func TestCalibrateFindsTheRate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(200, 400).Draw(t, "n")
		predicted := make([]float64, n)
		for i := range predicted {
			predicted[i] = rapid.Float64Range(0.001, 0.6).Draw(t, "p")
		}
		events := rapid.IntRange(1, n-1).Draw(t, "events")
		a, err := Calibrate(predicted, Count{events, n})
		if err != nil {
			t.Fatal(err)
		}
		if got := meanShifted(predicted, a); math.Abs(got-float64(events)/float64(n)) > 1e-9 {
			t.Fatalf("mean %v", got)
		}
	})
	for _, c := range []Count{{1, 199}, {0, 200}, {200, 200}} {
		if _, err := Calibrate(make([]float64, c.Of), c); !errors.Is(err, ErrFew) {
			t.Errorf("%+v: %v", c, err)
		}
	}
	if _, err := Shift([]float64{0}, Interval{Rate: 0.1}); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
}

// TestAgainst holds the exact Poisson interval to the chi-squared form of a
// general statistics library.
func TestAgainst(t *testing.T) {
	for _, n := range []int{0, 1, 2, 7, 25, 120} {
		r, err := Against(n, 20)
		fatal(t, err)
		low, high := 0.0, distuv.ChiSquared{K: 2 * float64(n+1)}.Quantile(0.975)/2
		if n > 0 {
			low = distuv.ChiSquared{K: 2 * float64(n)}.Quantile(0.025) / 2
		}
		if math.Abs(r.Low*20-low) > 1e-7 || math.Abs(r.High*20-high) > 1e-7 {
			t.Errorf("%d: %v %v, want %v %v", n, r.Low*20, r.High*20, low, high)
		}
	}
	if r, err := Against(3, 9.99); !errors.Is(err, ErrFew) || r.Rate == 0 {
		t.Errorf("%v %v", r, err)
	}
	if _, err := Against(3, 10); err != nil {
		t.Error(err)
	}
	if _, err := Against(-1, 10); !errors.Is(err, ErrCount) {
		t.Error(err)
	}
}

// TestWilsonBounds: inside [0, 1] and around the rate; refuses no eyes.
func TestWilsonBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5000).Draw(t, "n")
		i, err := Wilson(Count{rapid.IntRange(0, n).Draw(t, "events"), n})
		if err != nil || i.Low < 0 || i.High > 1 || i.Low > i.Rate+1e-12 || i.High < i.Rate-1e-12 {
			t.Fatalf("%+v %v", i, err)
		}
	})
	for _, c := range []Count{{0, 0}, {2, 1}, {-1, 3}} {
		if _, err := Wilson(c); !errors.Is(err, ErrCount) {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

// TestTwoOrMore against the library's binomial distribution.
func TestTwoOrMore(t *testing.T) {
	for _, c := range []struct {
		n    int
		rate float64
	}{{1, 0.3}, {2, 0.3}, {20, 0.2}, {400, 0.001}, {5, 0}, {5, 1}, {1, 1}} {
		got, err := TwoOrMore(c.n, c.rate)
		fatal(t, err)
		b := distuv.Binomial{N: float64(c.n), P: c.rate}
		want := 0.0
		for k := 2; k <= c.n; k++ {
			if p := b.Prob(float64(k)); !math.IsNaN(p) {
				want += p
			}
		}
		if c.rate == 1 && c.n > 1 {
			want = 1
		}
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("%+v: %v, want %v", c, got, want)
		}
	}
	if _, err := TwoOrMore(0, 0.1); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
}

func TestInThousand(t *testing.T) {
	for _, c := range []struct {
		p     float64
		n     int
		under bool
	}{{0.013758, 14, false}, {0.0005, 1, true}, {0.0002, 0, true}, {0, 0, false}, {1, 1000, false}} {
		if n, under := InThousand(c.p); n != c.n || under != c.under {
			t.Errorf("%g: %d %v", c.p, n, under)
		}
	}
}

// TestOthersNameTheirPlace: every other risk has a share and a source; what
// was not obtained is empty, not guessed.
func TestOthersNameTheirPlace(t *testing.T) {
	for _, o := range Others {
		if p := o.Of(); !(p > 0 && p < 0.05) || o.ID == "" || o.Ref.Key == "" {
			t.Errorf("%+v: %g", o, o.Of())
		}
	}
}

func TestAgeBand(t *testing.T) {
	for age, want := range map[float64]string{0: "<60", 59.9: "<60", 60: "60-69", 70: "70-79", 80: "80-89", 90: "90+", 104: "90+"} {
		if AgeBand(age) != want {
			t.Errorf("%g: %s", age, AgeBand(age))
		}
	}
}
