package fluidics

import (
	"bytes"
	"encoding/csv"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"linn/internal/checkvalue"
	"linn/unit"
)

// The same equations in another language, solved by a general library: the
// files stand in testdata/oracle, fluidics_ref.py as it came.

// scipy finds a python with the library, or skips.
func scipy(t testing.TB) string {
	t.Helper()
	for _, p := range []string{"/usr/bin/python3", "python3"} {
		if exec.Command(p, "-c", "import scipy").Run() == nil {
			return p
		}
	}
	if os.Getenv("LINN_STRICT") != "" {
		t.Fatal("python3-scipy is not installed")
	}
	t.Skip("python3-scipy is not installed")
	return ""
}

func oracle(t testing.TB, dir string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(scipy(t), append([]string{"-B"}, args...)...)
	cmd.Dir, cmd.Env = dir, append(os.Environ(), "OMP_NUM_THREADS=1")
	var errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("%v: %s", err, errs.String())
	}
	return out
}

// workedCase is a case of the worked table by name.
func workedCase(t *testing.T, name string) (*Model, Break) {
	t.Helper()
	files, err := checkvalue.Load("testdata/derived")
	if err != nil {
		t.Fatal(err)
	}
	for i := range files {
		f := &files[i]
		if filepath.Base(f.Path) != "break-steady.txt" {
			continue
		}
		for _, r := range f.Rows {
			if c := (cells{t, f, r}); c.text("case") == name {
				m := c.model()
				return &m, c.trial()
			}
		}
	}
	t.Fatal("no case ", name)
	return nil, Break{}
}

// scipy solves the same equations to 0.01 mmHg, 0.01 mL/min and 0.01 µL along
// whole traces.
func TestSciPyAgrees(t *testing.T) {
	cases := []string{"F01", "F07", "F12", "F15", "F16", "F19", "F21", "F23"}
	if os.Getenv("LINN_FULL") != "" {
		cases = nil
		for i := 1; i <= 24; i++ {
			cases = append(cases, "F"+string(rune('0'+i/10))+string(rune('0'+i%10)))
		}
	}
	rows, err := csv.NewReader(bytes.NewReader(oracle(t, "testdata/oracle", append([]string{"scipy_trace.py"}, cases...)...))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 1100*len(cases) {
		t.Fatalf("%d samples", len(rows))
	}
	for len(rows) > 0 {
		name := rows[0][0]
		m, b := workedCase(t, name)
		ours, err := m.Trace(Trace{Phases: b.Phases(), Every: 0.005})
		if err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		for i, row := range rows[:1100] {
			o := ours[i+1]
			for k, got := range []float64{float64(o.At), float64(o.Chamber), float64(o.Node), float64(o.Irrigation), float64(o.Tip), float64(o.Volume)} {
				want, err := strconv.ParseFloat(row[k+1], 64)
				if err != nil {
					t.Fatal(err)
				}
				if d := math.Abs(got - want); !(d <= 0.01) {
					t.Fatalf("%s at %s s, column %d: %.5f, scipy %.5f", name, row[1], k, got, want)
				} else {
					worst = max(worst, d)
				}
			}
		}
		t.Logf("%s: at most %.5f apart", name, worst)
		rows = rows[1100:]
	}
}

// The program of the reference, as it came, still writes the table from which
// the worked cases were taken. It takes minutes.
func TestReferenceProgramUnmodified(t *testing.T) {
	if os.Getenv("LINN_FULL") == "" {
		t.Log("takes minutes: the long form runs it")
		return
	}
	dir, err := filepath.Abs("testdata/oracle/fluidics_ref.py")
	if err != nil {
		t.Fatal(err)
	}
	work := t.TempDir()
	oracle(t, work, dir)
	data, err := os.ReadFile(filepath.Join(work, "fluidics_cases.csv"))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil || len(rows) != 25 {
		t.Fatal(len(rows), err)
	}
	column := func(row []string, name string) float64 {
		v, err := strconv.ParseFloat(row[slices.Index(rows[0], name)], 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, row := range rows[1:] {
		m, b := workedCase(t, row[0])
		a, err := m.Run(b)
		if err != nil {
			t.Fatal(err)
		}
		for name, got := range map[string]float64{"pc_unocc": float64(a.Open), "pc_occ": float64(a.Blocked), "vac_occ": float64(a.BlockedVacuum), "pc_min": float64(a.Minimum),
			"surge_uL": float64(a.Lost), "q_tip_peak": float64(a.Peak)} {
			if want := column(row, name); math.Abs(got-want) > 0.006 {
				t.Errorf("%s %s: %.4f, the program of the reference %.4f", row[0], name, got, want)
			}
		}
		for name, got := range map[string]float64{"t_pcmin_ms": 1000 * float64(a.MinimumAt), "t_recover_ms": 1000 * float64(a.Recovery)} {
			if want := column(row, name); math.Abs(got-want) > 0.5 {
				t.Errorf("%s %s: %.3f, the program of the reference %.3f", row[0], name, got, want)
			}
		}
	}
}

// tenSeconds is a series of four pieces in 10 s.
func tenSeconds() []Phase { return Series{Pieces: 4, Blocked: 1.5, Free: 1}.Phases() }

// A series of 10 s here and by scipy at the same tolerance ends at the same
// pressure. The processor times are told, and judged by the bench.
func TestSeriesBesideSciPy(t *testing.T) {
	if os.Getenv("LINN_FULL") == "" {
		t.Log("timed in the long form")
		return
	}
	m := Reference()
	var last []Passage
	best := math.Inf(1) // processor time: the machine may be busy with other things
	for range 5 {
		began := cpuTime()
		for range 40 {
			var err error
			if last, err = m.Play(tenSeconds()); err != nil {
				t.Fatal(err)
			}
		}
		best = min(best, (cpuTime()-began).Seconds()/40)
	}
	out := strings.Fields(string(oracle(t, "testdata/oracle", "scipy_trace.py", "--time", "3")))
	theirs, err := strconv.ParseFloat(out[0], 64)
	if err != nil {
		t.Fatal(err)
	}
	ours := best
	t.Logf("10 s series: %.3f ms, scipy %.1f ms, %.0f times", 1e3*ours, 1e3*theirs, theirs/ours)
	if end := last[len(last)-1].Chamber; math.Abs(float64(end)-mustFloat(t, out[1])) > 0.01 {
		t.Errorf("ends at %v, scipy at %s", end, out[1])
	}
}

func mustFloat(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// 20 × 20 × 20 settings, with progress.
func BenchmarkEnvelope8000(b *testing.B) {
	in := EnvelopeInput{Model: Reference(), Break: StandardBreak()}
	for i := range 20 {
		in.Bottles = append(in.Bottles, unit.CentimetreWater(40+4*i))
		in.Limits = append(in.Limits, unit.MillimetreHg(100+25*i))
		in.Flows = append(in.Flows, unit.MillilitrePerMinute(10+2*i))
	}
	in.Progress = func(Progress) bool { return true }
	for b.Loop() {
		e, err := in.Envelope()
		if err != nil || len(e.Cells) != 8000 {
			b.Fatal(len(e.Cells), err)
		}
	}
}
