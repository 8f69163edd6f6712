package supplies

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linn/internal/checkvalue"
	"linn/unit"
)

// rows loads one file of check values.
func rows(t *testing.T, path string) (checkvalue.File, func(r checkvalue.Row, col string) float64) {
	t.Helper()
	folder, _, _ := strings.Cut(path, "/")
	files, err := checkvalue.Load("testdata/" + folder)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if strings.HasSuffix(f.Path, path) {
			return f, func(r checkvalue.Row, col string) float64 {
				v, err := f.Number(r, col)
				if err != nil {
					t.Fatal(err)
				}
				return v
			}
		}
	}
	t.Fatal("no file ", path)
	return checkvalue.File{}, nil
}

func TestAssignmentOfScipy(t *testing.T) {
	f, num := rows(t, "derived/assignment.txt")
	for _, r := range f.Rows {
		var s Share
		for e := range 4 {
			var row []unit.Dioptre
			for l := range 5 {
				row = append(row, unit.Dioptre(num(r, fmt.Sprintf("e%dl%d", e, l))))
			}
			s.Error = append(s.Error, row)
		}
		got, err := s.Best()
		if err != nil || got.Served != 4 {
			t.Fatal(got, err)
		}
		if err := f.Compare(r, "total", float64(got.Total)); err != nil {
			t.Error(err)
		}
	}
	if len(f.Rows) != 12 {
		t.Error(len(f.Rows), "rows")
	}
}

const scipyAssigns = `
import json, sys
import numpy as np
from scipy.optimize import linear_sum_assignment
out = []
for c in json.load(sys.stdin):
    c = np.array(c)
    r, k = linear_sum_assignment(c)
    out.append(float(c[r, k].sum()))
json.dump(out, sys.stdout)
`

// TestAssignmentByScipy is of the full test: lists as long as a camp's.
func TestAssignmentByScipy(t *testing.T) {
	if os.Getenv("LINN_FULL") == "" {
		return // twelve tables stand frozen in testdata
	}
	var tables [][][]float64
	var got []float64
	rapid.Check(t, func(t *rapid.T) {
		rows, cols := rapid.IntRange(1, 40).Draw(t, "eyes"), rapid.IntRange(40, 60).Draw(t, "lenses")
		table, s := make([][]float64, rows), Share{Error: make([][]unit.Dioptre, rows)}
		for e := range table {
			for range cols {
				v := rapid.Float64Range(0, 3).Draw(t, "d")
				table[e], s.Error[e] = append(table[e], v), append(s.Error[e], unit.Dioptre(v))
			}
		}
		r, err := s.Best()
		if err != nil {
			t.Fatal(err)
		}
		tables, got = append(tables, table), append(got, float64(r.Total))
	})
	raw, err := json.Marshal(tables)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("/usr/bin/python3", "-c", scipyAssigns)
	cmd.Stdin, cmd.Stderr = strings.NewReader(string(raw)), os.Stderr
	said, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var want []float64
	if err := json.Unmarshal(said, &want); err != nil || len(want) != len(got) {
		t.Fatal(err, len(want), len(got))
	}
	for i := range want {
		if math.Abs(want[i]-got[i]) > 1e-9 {
			t.Errorf("table %d: %v here, %v there", i, got[i], want[i])
		}
	}
}

// every tries all ways to give lenses to the eyes from e on.
func every(s Share, e int, taken []bool) (served int, total float64) {
	if e == len(s.Error) {
		return 0, 0
	}
	served, total = every(s, e+1, taken)
	for l, v := range s.Error[e] {
		if taken[l] || math.IsNaN(float64(v)) {
			continue
		}
		taken[l] = true
		n, sum := every(s, e+1, taken)
		taken[l] = false
		if n, sum = n+1, sum+float64(v); n > served || n == served && sum < total {
			served, total = n, sum
		}
	}
	return served, total
}

// No way of giving out a short stock serves more eyes, or as many with less
// error, than the one found; no lens is given twice.
func TestShareIsBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		eyes, lenses := rapid.IntRange(1, 5).Draw(t, "eyes"), rapid.IntRange(0, 5).Draw(t, "lenses")
		s := Share{Error: make([][]unit.Dioptre, eyes)}
		for e := range eyes {
			for range lenses {
				v := unit.Dioptre(rapid.Float64Range(0, 3).Draw(t, "d"))
				if rapid.Bool().Draw(t, "never") {
					v = unit.Dioptre(math.NaN())
				}
				s.Error[e] = append(s.Error[e], v)
			}
		}
		got, err := s.Best()
		if err != nil {
			t.Fatal(err)
		}
		served, total := every(s, 0, make([]bool, lenses))
		if got.Served != served || math.Abs(float64(got.Total)-total) > 1e-9 {
			t.Fatalf("%v: served %d of %d, %v against %v", s.Error, got.Served, served, got.Total, total)
		}
		used := map[int]bool{}
		for _, l := range got.Lens {
			if l >= 0 && used[l] {
				t.Fatal("a lens twice", got.Lens)
			}
			used[l] = true
		}
	})
}

func drawCamp(t *rapid.T, lists, eyes, steps, take int) Camp {
	c := Camp{Steps: steps, Take: take}
	for range lists {
		var list []Suits
		for range eyes {
			low := rapid.IntRange(-2, steps).Draw(t, "low")
			list = append(list, Suits{low, low + rapid.IntRange(-1, 3).Draw(t, "width")})
		}
		c.Drawn = append(c.Drawn, list)
	}
	return c
}

// Giving a box out by the earliest end serves as many eyes as the assignment
// does, an independent way.
func TestGiveIsTheBestMatching(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		steps := rapid.IntRange(1, 6).Draw(t, "steps")
		c := drawCamp(t, 1, rapid.IntRange(1, 7).Draw(t, "eyes"), steps, 0)
		box := make([]int, steps)
		var at []int
		for i := range box {
			box[i] = rapid.IntRange(0, 2).Draw(t, "n")
			for range box[i] {
				at = append(at, i)
			}
		}
		var s Share
		for _, e := range c.Drawn[0] {
			var row []unit.Dioptre
			for _, step := range at {
				v := unit.Dioptre(math.NaN())
				if e.Low <= step && step <= e.High {
					v = 0
				}
				row = append(row, v)
			}
			s.Error = append(s.Error, row)
		}
		want, err := s.Best()
		if err != nil {
			t.Fatal(err)
		}
		got, err := c.Judge(box)
		if err != nil || math.Abs(float64(got.Served)*float64(len(c.Drawn[0]))-float64(want.Served)) > 1e-9 {
			t.Fatalf("%v %v: %v against %d, %v", c.Drawn, box, got.Served, want.Served, err)
		}
	})
}

// boxes calls f with every box of take lenses.
func boxes(count []int, from, take int, f func([]int)) {
	if from == len(count)-1 {
		count[from] = take
		f(count)
		return
	}
	for n := range take + 1 {
		count[from] = n
		boxes(count, from+1, take-n, f)
	}
}

// Against every possible box: never better than the best, never below the
// proved bound of 1 − 1/e.
func TestPackAgainstEveryBox(t *testing.T) {
	equal, n := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		c := drawCamp(t, rapid.IntRange(1, 4).Draw(t, "lists"), rapid.IntRange(1, 4).Draw(t, "eyes"), rapid.IntRange(1, 5).Draw(t, "steps"), rapid.IntRange(0, 4).Draw(t, "take"))
		got, err := c.Best()
		if err != nil {
			t.Fatal(err)
		}
		best := 0.0
		boxes(make([]int, c.Steps), 0, c.Take, func(count []int) {
			p, err := c.Judge(count)
			if err != nil {
				t.Fatal(err)
			}
			best = max(best, float64(p.Served))
		})
		n++
		if math.Abs(float64(got.Served)-best) < 1e-12 {
			equal++
		}
		if float64(got.Served) > best+1e-12 || float64(got.Served) < (1-1/math.E)*best || got.Served > got.Limit {
			t.Fatalf("%+v: %+v, best %v", c, got, best)
		}
	})
	t.Logf("the best box in %d of %d", equal, n)
}

// Every eye wants the one step: the box holds it alone, and serves as many
// eyes as there are lenses.
func TestPackOneStep(t *testing.T) {
	list := make([]Suits, 10)
	for i := range list {
		list[i] = Suits{3, 3}
	}
	got, err := Camp{Drawn: [][]Suits{list}, Steps: 8, Take: 6}.Best()
	if err != nil || got.Count[3] != 6 || got.Served != 0.6 || got.All != 0 || got.Limit != 1 {
		t.Errorf("%+v, %v", got, err)
	}
	for _, bad := range []Camp{{Drawn: [][]Suits{}}, {Drawn: [][]Suits{list, list[:3]}, Steps: 8}, {Drawn: [][]Suits{list}, Steps: 0}, {Drawn: [][]Suits{list}, Steps: 8, Take: -1}} {
		if _, err := bad.Best(); err == nil {
			t.Errorf("%d lists, %d steps: taken", len(bad.Drawn), bad.Steps)
		}
	}
}

func TestSessions(t *testing.T) {
	stays, num := rows(t, "derived/stays.txt")
	sessions := map[float64]*Session{}
	for _, r := range stays.Rows {
		s := sessions[num(r, "list")]
		if s == nil {
			s = &Session{Start: Clock(num(r, "start")), End: Clock(num(r, "end"))}
			sessions[num(r, "list")] = s
		}
		s.Stays = append(s.Stays, Stay{Clock(num(r, "in")), Clock(num(r, "knife")), Clock(num(r, "close")), Clock(num(r, "out"))})
	}
	f, num := rows(t, "derived/session.txt")
	for _, r := range f.Rows {
		got, err := sessions[num(r, "list")].Times()
		if err != nil {
			t.Fatal(err)
		}
		for name, v := range map[string]float64{"planned": float64(got.Planned), "late": float64(got.LateStart), "first-knife": float64(got.FirstKnife), "surgery": float64(got.Surgery), "in-room": float64(got.InRoom),
			"between-mean": float64(got.BetweenMean.Value), "between-median": float64(got.BetweenMedian.Value), "early": float64(got.Early), "overrun": float64(got.Overrun), "used": float64(got.Used),
			"used-within": float64(got.UsedWithin), "operating": float64(got.Operating), "per-hour": float64(got.PerHour), "knife-to-knife": float64(got.KnifeToKnife.Value)} {
			if err := f.Compare(r, name, v); err != nil {
				t.Error(err)
			}
		}
	}
	if len(f.Rows) != 2 || len(f.Outputs) != 14 {
		t.Error("not every value was checked")
	}
	bad := *sessions[1]
	bad.Stays = []Stay{{600, 590, 610, 620}}
	if _, err := bad.Times(); err == nil {
		t.Error("the knife before the patient")
	}
}

func TestCycles(t *testing.T) {
	f, num := rows(t, "published/venkatesh.txt")
	for _, r := range f.Rows {
		n, err := Tables{unit.Minute(num(r, "surgery")), unit.Minute(num(r, "turn"))}.Capacity(60, true)
		if err != nil {
			t.Fatal(err)
		}
		if err := f.Compare(r, "per-hour", float64(n)); err != nil {
			t.Error(err)
		}
	}
	// A second table never makes a list slower, and at best halves the cycle.
	rapid.Check(t, func(t *rapid.T) {
		tables := Tables{unit.Minute(rapid.Float64Range(1, 60).Draw(t, "surgery")), unit.Minute(rapid.Float64Range(0, 60).Draw(t, "turn"))}
		one, err := tables.Cycle(false)
		if err != nil {
			t.Fatal(err)
		}
		two, err := tables.Cycle(true)
		if err != nil || two > one || two < one/2 || two < tables.Surgery {
			t.Fatal(one, two, err)
		}
	})
}

// Decision-safety I gives the sum: fixed 300 a month over 100 operations and
// 12 of consumables make 15.
func TestCost(t *testing.T) {
	c := Cost{Fixed: 300, Cases: 100, Consumables: 12}
	if got, err := c.PerCase(); err != nil || got != 15 {
		t.Error(got, err)
	}
	if got, err := c.PerGood(); err != nil || got.Known {
		t.Error("a cost of good sight that nobody measured", got, err)
	}
	c.Good = 0.75
	if got, err := c.PerGood(); err != nil || got.Value != 20 {
		t.Error(got, err)
	}
	if _, err := (Cost{Cases: 0}).PerCase(); err == nil {
		t.Error("no cases")
	}
}

// At the break-even number the dearer way has become the cheaper one, and one
// operation fewer it has not.
func TestBreakEven(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		one := Cost{Fixed: Money(rapid.Float64Range(0, 9000).Draw(t, "fixed")), Cases: 1, Consumables: Money(rapid.Float64Range(0, 90).Draw(t, "each"))}
		two := Cost{Fixed: Money(rapid.Float64Range(0, 9000).Draw(t, "fixed 2")), Cases: 1, Consumables: Money(rapid.Float64Range(0, 90).Draw(t, "each 2"))}
		n, ever, err := one.BreakEven(two)
		if err != nil {
			t.Fatal(err)
		}
		total := func(c Cost, n int) Money { return c.Fixed + Money(n)*c.Varying() }
		switch {
		case !ever && total(one, 1_000_000) < total(two, 1_000_000) && one.Varying() < two.Varying():
			t.Fatal("never, and yet")
		case ever && n > 0 && (total(one, n) >= total(two, n) || total(one, n-1) < total(two, n-1)-1e-6):
			t.Fatal(one, two, n)
		}
	})
}

// A box of 60 lenses for 40 eyes over 300 drawn lists.
func BenchmarkPack(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	c := Camp{Steps: 41, Take: 60}
	for range 300 {
		var list []Suits
		for range 40 {
			at := int(22 + 5*r.NormFloat64())
			list = append(list, Suits{at - 2, at + 2})
		}
		c.Drawn = append(c.Drawn, list)
	}
	for b.Loop() {
		if _, err := c.Best(); err != nil {
			b.Fatal(err)
		}
	}
}
