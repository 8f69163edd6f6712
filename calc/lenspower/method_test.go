package lenspower

import (
	"errors"
	"math"
	"slices"
	"strings"
	"testing"

	"linn/calc/optics"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

func ordinary(t testing.TB, m *Method) Input {
	return Input{AxialLength: 23.5, K: 43.5, ACD: mm(3.1), Vertex: 12, Constant: resolved(t, m, published)}
}

func TestMethods(t *testing.T) {
	var ids []string
	for _, m := range Methods {
		ids = append(ids, m.ID)
		if MethodNamed(m.ID) != m || m.Version != "1" || !m.Ref.Grade.Valid() || !slices.Contains([]string{"a", "sf_mm", "pacd_mm", "a0"}, m.Key) {
			t.Errorf("%+v", m)
		}
	}
	if want := []string{"srk-t", "t2", "holladay-1", "hoffer-q", "haigis"}; !slices.Equal(ids, want) {
		t.Errorf("%v", ids)
	}
	if MethodNamed("none-such") != nil {
		t.Error("a method of that name")
	}
}

func TestDomain(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name   string
		change func(*Input)
		field  string
	}{
		{"short", func(in *Input) { in.AxialLength = 14.99 }, "axial_length_mm"},
		{"long", func(in *Input) { in.AxialLength = 38.01 }, "axial_length_mm"},
		{"length not a number", func(in *Input) { in.AxialLength = unit.Millimetre(nan) }, "axial_length_mm"},
		{"flat", func(in *Input) { in.K = 24.9 }, "k_flat_d"},
		{"steep", func(in *Input) { in.K = 65.1 }, "k_flat_d"},
		{"a radius for a power", func(in *Input) { in.K = 7.8 }, "k_flat_d"},
		{"endless K", func(in *Input) { in.K = unit.Dioptre(inf) }, "k_flat_d"},
		{"no vertex", func(in *Input) { in.Vertex = 0 }, "vertex_mm"},
		{"far vertex", func(in *Input) { in.Vertex = 17 }, "vertex_mm"},
	} {
		for _, m := range Methods {
			in := ordinary(t, m)
			c.change(&in)
			_, err := m.Solve(in)
			var domain *unit.RangeError
			if !errors.As(err, &domain) || domain.What != c.field || !errors.Is(err, unit.ErrRange) {
				t.Errorf("%s, %s: %v", c.name, m.ID, err)
			}
		}
	}
}

func TestHaigisNeedsDepth(t *testing.T) {
	m := MethodNamed("haigis")
	in := ordinary(t, m)
	if m.Missing(in) != "" || !m.NeedsACD() || m.DoubleK() {
		t.Error("complete input")
	}
	in.ACD = unit.Reading[unit.Millimetre]{}
	_, err := m.Solve(in)
	var missing *MissingError
	if m.Missing(in) != "acd_mm" || !errors.As(err, &missing) || missing.Field != "acd_mm" || missing.Method != "haigis" {
		t.Errorf("%v", err)
	}
	in.ACD = mm(5.6)
	if _, err := m.Solve(in); !errors.Is(err, unit.ErrRange) {
		t.Errorf("depth 5.6: %v", err)
	}
	for _, other := range Methods[:4] {
		in := ordinary(t, other)
		in.ACD = unit.Reading[unit.Millimetre]{}
		if _, err := other.Solve(in); err != nil || other.Missing(in) != "" {
			t.Errorf("%s needs a depth: %v", other.ID, err)
		}
	}
}

func TestConstantOfAnotherMethod(t *testing.T) {
	for i, m := range Methods {
		in := ordinary(t, Methods[(i+1)%len(Methods)])
		if _, err := m.Solve(in); !errors.Is(err, errOther) {
			t.Errorf("%s: %v", m.ID, err)
		}
		in.Constant = Resolved{}
		var missing *MissingError
		if _, err := m.Solve(in); !errors.As(err, &missing) || missing.Field != m.Key || !strings.Contains(missing.Error(), m.Key) {
			t.Errorf("%s without a constant: %v", m.ID, err)
		}
	}
}

// TestPositionInEye refuses a constant that puts the lens before the cornea.
func TestPositionInEye(t *testing.T) {
	m := MethodNamed("haigis")
	in := ordinary(t, m)
	in.Constant = resolved(t, m, Constants{A0: mm(-9), A1: pure(0.4), A2: pure(0.1)})
	_, err := m.Solve(in)
	var domain *unit.RangeError
	if !errors.As(err, &domain) || domain.What != "lens_position_mm" || domain.Got >= 0 {
		t.Errorf("%v", err)
	}
}

// TestDoubleK moves the lens by K before and the light by K now.
func TestDoubleK(t *testing.T) {
	for _, m := range Methods {
		in := ordinary(t, m)
		before, err := m.Solve(in)
		if err != nil {
			t.Fatal(err)
		}
		in.K, in.KBefore = 38, unit.Known(unit.Dioptre(43.5))
		after, err := m.Solve(in)
		if err != nil {
			t.Fatal(err)
		}
		flat := before.Eye()
		flat.Cornea *= 38 / 43.5
		if m.DoubleK() && (after.Position != before.Position || math.Abs(float64(after.Eye().Cornea-flat.Cornea)) > 1e-12) {
			t.Errorf("%s: %+v, want %+v", m.ID, after, flat)
		}
		in.KBefore = unit.Known(unit.Dioptre(20))
		if _, err := m.Solve(in); m.DoubleK() != errors.Is(err, unit.ErrRange) {
			t.Errorf("%s: K before 20: %v", m.ID, err)
		}
	}
}

func TestFindings(t *testing.T) {
	for _, c := range []struct {
		name, method string
		al, k        float64
		want         []string // code field got-or-root
	}{
		{"ordinary", "srk-t", 23.5, 43.5, nil},
		{"near the cusp", "srk-t", 26.25, 48, []string{"srkt-near-cusp k_flat_d", "outside-ordinary-use k_flat_d"}},
		{"root of 1.04 mm", "srk-t", 28, 46.55, nil},
		{"root of 0.96 mm", "srk-t", 28, 46.6, []string{"srkt-near-cusp k_flat_d"}},
		{"beyond the cusp there is no root", "srk-t", 28, 47, nil},
		{"T2 has no cusp", "t2", 28, 46.8, nil},
		{"long", "srk-t", 33.5, 42, []string{"outside-ordinary-use axial_length_mm"}},
		{"short", "haigis", 19.9, 43, []string{"outside-ordinary-use axial_length_mm"}},
		{"Holladay 1 past its width", "holladay-1", 26.5, 43, []string{"outside-ordinary-use axial_length_mm"}},
		{"Hoffer Q below its length", "hoffer-q", 18.4, 43, []string{"outside-ordinary-use axial_length_mm"}},
		{"flat", "hoffer-q", 23, 37.5, []string{"outside-ordinary-use k_flat_d"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			m := MethodNamed(c.method)
			in := ordinary(t, m)
			in.AxialLength, in.K = unit.Millimetre(c.al), unit.Dioptre(c.k)
			var got []string
			for _, f := range m.Findings(in) {
				got = append(got, f.Code+" "+f.Field)
				want := finding.Note
				if f.Code == "srkt-near-cusp" {
					want = finding.Caution
				}
				if f.Severity != want || f.Method != m.ID || len(f.Values) < 2 {
					t.Errorf("%+v", f)
				}
				if _, known := source.Lookup(f.Source); !known {
					t.Errorf("source %q", f.Source)
				}
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
	in := ordinary(t, Methods[0])
	in.K, in.KBefore = 38.5, unit.Known(unit.Dioptre(47.5))
	if f := Methods[0].Findings(in); len(f) != 1 || f[0].Field != "k_before_d" {
		t.Errorf("double K: %+v", f)
	}
}

// TestWorking follows the steps of every method to the answers of Solve.
func TestWorking(t *testing.T) {
	seen := map[string]bool{}
	for _, m := range Methods {
		in := ordinary(t, m)
		in.KBefore = unit.Known(unit.Dioptre(43))
		p, err1 := m.Power(in, -0.5)
		r, err2 := m.Refraction(in, 21)
		d, err3 := m.Position(in)
		if err := errors.Join(err1, err2, err3); err != nil {
			t.Fatal(err)
		}
		power, refraction := m.Working(in, -0.5), m.WorkingRefraction(in, 21)
		for _, steps := range [][]source.Step{power, refraction} {
			for _, s := range steps {
				seen[s.Name] = true
				if _, known := source.Lookup(s.Ref.Key); !known || !s.Ref.Grade.Valid() || s.Symbol == "" || !slices.Contains(StepNames, s.Name) {
					t.Errorf("%s: %+v", m.ID, s)
				}
			}
			if i := slices.IndexFunc(steps, func(s source.Step) bool { return s.Name == "thin-eye.lens-position" }); i < 0 || steps[i].Value != float64(d) {
				t.Errorf("%s: position is not %v", m.ID, d)
			}
		}
		if last := power[len(power)-1]; last.Name != "thin-eye.power" || last.Value != float64(p) || last.Unit != "D" {
			t.Errorf("%s ends in %+v, want %v", m.ID, last, p)
		}
		last := refraction[len(refraction)-1]
		if last.Name != "thin-eye.refraction" || last.Value != float64(r) {
			t.Errorf("%s ends in %+v, want %v", m.ID, last, r)
		}
		rc := refraction[len(refraction)-2]
		if at, err := optics.ToSpectacle(unit.Dioptre(rc.Value), 12); rc.Name != "thin-eye.corneal-refraction" || err != nil || math.Abs(float64(at-r)) > 1e-9 {
			t.Errorf("%s: the step before, %+v, leads to %v", m.ID, rc, at)
		}
	}
	for _, name := range StepNames {
		if !seen[name] {
			t.Errorf("no working has a step %s", name)
		}
	}
}

func TestWorkingOfARefusal(t *testing.T) {
	steps := Methods[0].Working(srktEye(28, 48), 0)
	if i := len(steps) - 1; i < 2 || steps[i].Name != "input.target" || steps[i-1].Name != "srk-t.corneal-width" {
		t.Errorf("%+v", steps)
	}
	if steps := Methods[0].Working(Input{AxialLength: 23.5, K: 43.5}, 0); len(steps) != 3 {
		t.Errorf("without a constant: %+v", steps)
	}
}

// TestCombinedK: the inputs of a method hold one K, the mean of both powers in
// dioptres, and the radius follows from it.
func TestCombinedK(t *testing.T) {
	if got := radius((42.0 + 44.5) / 2); math.Abs(got-337.5/43.25) > 1e-12 {
		t.Errorf("radius %v", got)
	}
}

func TestGuidance(t *testing.T) {
	for _, c := range []struct {
		length float64
		want   string
	}{
		{21.99, "nice-ng77 haigis,hoffer-q | hoffer1993 hoffer-q"},
		{22, "nice-ng77 srk-t+others | hoffer1993 mean of hoffer-q,holladay-1,srk-t"},
		{24.5, "nice-ng77 srk-t+others | hoffer1993 mean of hoffer-q,holladay-1,srk-t"},
		{24.51, "nice-ng77 srk-t+others | hoffer1993 holladay-1"},
		{26, "nice-ng77 srk-t+others | hoffer1993 holladay-1"},
		{26.01, "nice-ng77 haigis,srk-t | hoffer1993 srk-t"},
	} {
		var got []string
		for _, a := range Guidance(unit.Millimetre(c.length)) {
			text := strings.Join(a.Prefers, ",")
			if a.Mean {
				text = "mean of " + text
			}
			if a.Others {
				text += "+others"
			}
			got = append(got, string(a.Source.Key)+" "+text)
			for _, id := range a.Prefers {
				if MethodNamed(id) == nil {
					t.Errorf("guidance names %s", id)
				}
			}
			if !(a.Length.Low <= c.length && c.length <= a.Length.High) {
				t.Errorf("%v mm in a band of %v", c.length, a.Length)
			}
		}
		if s := strings.Join(got, " | "); s != c.want {
			t.Errorf("%v mm: %s, want %s", c.length, s, c.want)
		}
	}
	if a := Guidance(unit.Millimetre(math.NaN())); a != nil {
		t.Errorf("no length: %v", a)
	}
}

func TestOperatedCorneaDomain(t *testing.T) {
	if _, err := HaigisLRadius(6.9); !errors.Is(err, unit.ErrRange) {
		t.Errorf("%v", err)
	}
	for _, c := range []LaserChange{{20, 7.8, 8.6}, {43, 4, 8.6}, {43, 7.8, unit.Millimetre(math.NaN())}} {
		if _, err := JaradeTabbaraK(c); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v: %v", c, err)
		}
	}
}

// TestNothingIsAllocated guards the path a page takes on every keystroke.
func TestNothingIsAllocated(t *testing.T) {
	for _, m := range Methods {
		in := ordinary(t, m)
		got := testing.AllocsPerRun(100, func() {
			s, err := m.Solve(in)
			if err != nil {
				t.Fatal(err)
			}
			for _, target := range []unit.Dioptre{0, -0.5} {
				if _, err := s.Power(target); err != nil {
					t.Fatal(err)
				}
			}
			if _, err := s.Refraction(21); err != nil {
				t.Fatal(err)
			}
		})
		if got != 0 {
			t.Errorf("%s: %v allocations", m.ID, got)
		}
	}
	in := population(1000)
	tasks := tasksFor(t, 1000, Methods...)
	if got := testing.AllocsPerRun(5, func() {
		if err := Bulk(in, tasks); err != nil {
			t.Fatal(err)
		}
	}); got != 0 {
		t.Errorf("bulk: %v allocations", got)
	}
}

// TestCoefficientsAreDeclared finds the coefficients of every method in the
// registry with a work and a grade behind them.
func TestCoefficientsAreDeclared(t *testing.T) {
	count := map[string]int{}
	for _, c := range source.Constants() {
		prefix, _, _ := strings.Cut(c.Name, ".")
		count[prefix]++
	}
	want := map[string]int{"srk-t": 13, "t2": 3, "holladay-1": 7, "hoffer-q": 10, "haigis": 3, "constants": 8}
	for prefix, n := range want {
		if count[prefix] != n {
			t.Errorf("%s: %d constants, want %d", prefix, count[prefix], n)
		}
	}
}

func BenchmarkSolve(b *testing.B) {
	for _, m := range Methods {
		b.Run(m.ID, func(b *testing.B) {
			in := ordinary(b, m)
			b.ReportAllocs()
			for b.Loop() {
				s, err := m.Solve(in)
				if err != nil {
					b.Fatal(err)
				}
				if _, err := s.Power(-0.5); err != nil {
					b.Fatal(err)
				}
				if _, err := s.Refraction(21); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
