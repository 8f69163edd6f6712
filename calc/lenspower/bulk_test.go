package lenspower

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"linn/unit"
)

const million = 1_000_000

// population draws ordinary eyes.
func population(n int) Columns {
	r := rand.New(rand.NewPCG(1, 2))
	draw := func(mean, sd, low, high float64) float64 { return min(max(mean+sd*r.NormFloat64(), low), high) }
	c := Columns{AxialLength: make([]unit.Millimetre, n), K: make([]unit.Dioptre, n), ACD: make([]unit.Millimetre, n),
		Vertex: make([]unit.Millimetre, n), Target: make([]unit.Dioptre, n)}
	for i := range n {
		c.AxialLength[i] = unit.Millimetre(draw(23.5, 1.3, 20, 32))
		c.K[i] = unit.Dioptre(draw(43.8, 1.6, 38, 49))
		c.ACD[i] = unit.Millimetre(draw(3.1, 0.4, 2, 4.5))
		c.Vertex[i] = 12
		c.Target[i] = unit.Dioptre(-0.25 * float64(r.IntN(9)))
	}
	return c
}

func answersFor(n int) Answers {
	d := func() []unit.Dioptre { return make([]unit.Dioptre, n) }
	return Answers{Position: make([]unit.Millimetre, n), Emmetropia: d(), Power: d(), Lens: d(), Refraction: d(), Refused: make([]bool, n)}
}

func tasksFor(t testing.TB, n int, methods ...*Method) []Task {
	var tasks []Task
	for _, m := range methods {
		tasks = append(tasks, Task{Constant: resolved(t, m, published), Step: 0.5, Answers: answersFor(n)})
	}
	return tasks
}

// TestBulkIsSolve holds every row of the columns against Solve, in ordinary eyes,
// double K, strange readings and beyond the cusp.
func TestBulkIsSolve(t *testing.T) {
	const n, tolerance = 3000, 1e-10
	in := population(n)
	odd := []float64{14, 15, 38, 38.1, 24.2, 23, 25.326, math.NaN(), math.Inf(1), 0, -20}
	oddK := []float64{24.9, 25, 65, 65.1, 48.22, math.NaN(), math.Inf(-1), 7.8, 0}
	for i := range 900 {
		in.AxialLength[i] = unit.Millimetre(odd[i%len(odd)])
		if i%3 == 0 {
			in.AxialLength[i] = 27
		}
		if i%2 == 0 {
			in.K[i] = unit.Dioptre(oddK[i%len(oddK)])
		}
		if i%7 == 0 {
			in.ACD[i], in.Vertex[i] = unit.Millimetre(float64(i)/100), unit.Millimetre(float64(i)/50)
		}
		if i%11 == 0 {
			in.Target[i] = unit.Dioptre([]float64{90, -90, math.NaN(), math.Inf(1), 15, -10, -5000, -1e6}[i%8])
		}
	}
	before := slices.Clone(in.K)
	for i := range before {
		if i%5 == 0 {
			before[i] = 44
		}
	}
	for _, kb := range [][]unit.Dioptre{nil, before} {
		in.KBefore = kb
		tasks := tasksFor(t, n, Methods...)
		if err := Bulk(in, tasks); err != nil {
			t.Fatal(err)
		}
		for j, m := range Methods {
			out, refused := tasks[j].Answers, 0
			for i := range n {
				one := Input{AxialLength: in.AxialLength[i], K: in.K[i], ACD: unit.Known(in.ACD[i]), Vertex: in.Vertex[i], Constant: tasks[j].Constant}
				if kb != nil {
					one.KBefore = unit.Known(kb[i])
				}
				want, ok := rowBySolve(m, one, in.Target[i])
				got := [5]float64{float64(out.Position[i]), float64(out.Emmetropia[i]), float64(out.Power[i]), float64(out.Lens[i]), float64(out.Refraction[i])}
				if out.Refused[i] == ok {
					t.Fatalf("%s row %d: refused %v, Solve %v: %+v", m.ID, i, out.Refused[i], ok, one)
				}
				if !ok {
					refused++
				}
				for c := range got {
					if !(math.Abs(got[c]-want[c]) <= tolerance*(1+math.Abs(want[c]))) {
						t.Fatalf("%s row %d column %d: %v, Solve %v", m.ID, i, c, got[c], want[c])
					}
				}
			}
			if refused < 300 || refused > 2*n/3 {
				t.Errorf("%s: %d rows refused", m.ID, refused)
			}
		}
	}
}

// rowBySolve computes one row one answer at a time; all zero when any is
// refused.
func rowBySolve(m *Method, in Input, target unit.Dioptre) (row [5]float64, ok bool) {
	s, err := m.Solve(in)
	if err != nil {
		return row, false
	}
	e, err1 := s.Power(0)
	p, err2 := s.Power(target)
	lens := unit.Dioptre(nearestHalf(float64(p)))
	r, err3 := s.Refraction(lens)
	if errors.Join(err1, err2, err3) != nil {
		return row, false
	}
	return [5]float64{float64(s.Position), float64(e), float64(p), float64(lens), float64(r)}, true
}

func TestBulkRefusesColumns(t *testing.T) {
	haigis := MethodNamed("haigis")
	for _, c := range []struct {
		name   string
		change func(*Columns, *Task)
		says   string
	}{
		{"short K", func(c *Columns, _ *Task) { c.K = c.K[1:] }, "9 rows beside 10"},
		{"long vertex", func(c *Columns, _ *Task) { c.Vertex = append(c.Vertex, 12) }, "11 rows beside 10"},
		{"short K before", func(c *Columns, _ *Task) { c.KBefore = c.K[:3] }, "3 rows beside 10"},
		{"short answer", func(_ *Columns, t *Task) { t.Answers.Refused = t.Answers.Refused[:2] }, "2 rows beside 10"},
		{"no depth", func(c *Columns, _ *Task) { c.ACD = nil }, "needs acd_mm"},
		{"no constant", func(_ *Columns, t *Task) { t.Constant = Resolved{} }, "needs"},
		{"no step", func(_ *Columns, t *Task) { t.Step = 0 }, "step_d"},
	} {
		in, tasks := population(10), tasksFor(t, 10, haigis)
		c.change(&in, &tasks[0])
		if err := Bulk(in, tasks); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", c.name, err, c.says)
		}
	}
	if err := Bulk(Columns{}, tasksFor(t, 0, Methods[:4]...)); err != nil {
		t.Errorf("no eyes: %v", err)
	}
}

// BenchmarkBulk is the fast path: all five methods, and each alone, on a
// million eyes held in memory, one core.
func BenchmarkBulk(b *testing.B) {
	in := population(million)
	run := func(name string, methods ...*Method) {
		b.Run(name, func(b *testing.B) {
			tasks := tasksFor(b, million, methods...)
			pass := func() {
				if err := Bulk(in, tasks); err != nil {
					b.Fatal(err)
				}
			}
			pass() // the pages of the columns are there when the clock starts
			b.ReportAllocs()
			start := cpuTime()
			for b.Loop() {
				pass()
			}
			b.ReportMetric(float64((cpuTime()-start).Nanoseconds())/float64(b.N)/million, "ns/eye")
		})
	}
	run("all", Methods...)
	for _, m := range Methods {
		run(m.ID, m)
	}
}
