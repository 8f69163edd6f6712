package reference

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"

	"linn/calc/optics"
)

// long reports the full mode; there a library that is not installed is a test
// that was skipped.
func long(t *testing.T, tool string, probe ...string) bool {
	t.Helper()
	if os.Getenv("LINN_FULL") == "" {
		return false
	}
	if exec.Command(probe[0], probe[1:]...).Run() != nil {
		t.Skip(tool + " is not installed")
	}
	return true
}

// TestParaxialAgainstSympy holds power and back focus of the schematic eyes of
// constant index against the matrices of a general algebra library; the short
// mode against what that library once printed for one of them.
func TestParaxialAgainstSympy(t *testing.T) {
	tr, err := optics.SchematicEyeNamed("le-grand").Train()
	if err != nil {
		t.Fatal(err)
	}
	if k, err := tr.Cardinal(); err != nil || math.Abs(float64(k.Power)-59.940432) > 5e-7 || math.Abs(float64(k.Back)-24.196552) > 5e-7 {
		t.Errorf("%+v, %v", k, err)
	}
	if !long(t, "python3-sympy", "/usr/bin/python3", "-c", "import sympy") {
		return
	}
	n := 0
	for _, e := range optics.SchematicEyes() {
		var code strings.Builder
		code.WriteString("from sympy.physics.optics import FreeSpace, CurvedRefraction\nm = FreeSpace(0)\n")
		before, graded := 1.0, false
		for i, f := range e.Faces {
			graded = graded || f.After.Z != 0 || f.After.ZZ != 0 || f.After.RR != 0
			if i > 0 {
				fmt.Fprintf(&code, "m = FreeSpace(%.17g) * m\n", float64(f.Vertex-e.Faces[i-1].Vertex))
			}
			fmt.Fprintf(&code, "m = CurvedRefraction(%.17g, %.17g, %.17g) * m\n", float64(f.X.Radius), before, float64(f.After.Index))
			before = float64(f.After.Index)
		}
		if graded {
			continue
		}
		fmt.Fprintf(&code, "print(float(-1000 * m.C * %.17g), float(%.17g - m.A / m.C))\n", before, float64(e.Faces[len(e.Faces)-1].Vertex))
		said, err := exec.Command("/usr/bin/python3", "-c", code.String()).Output()
		if err != nil {
			t.Fatalf("%s: %v", e.Key, err)
		}
		var power, focus float64
		if _, err := fmt.Sscan(string(said), &power, &focus); err != nil {
			t.Fatalf("%s: %q: %v", e.Key, said, err)
		}
		tr, err := e.Train()
		if err != nil {
			t.Fatal(err)
		}
		k, err := tr.Cardinal()
		if err != nil || math.Abs(float64(k.Power)-power) > 1e-9 || math.Abs(float64(k.Back)-focus) > 1e-9 {
			t.Errorf("%s: %v and %v, the library has %v and %v (%v)", e.Key, k.Power, k.Back, power, focus, err)
		}
		n++
	}
	if n < 7 {
		t.Errorf("%d eyes", n)
	}
}

// TestZernikeAgainstOctave holds every mode to order 8 against a general
// optics package, values and order; the short mode three of them against what
// that package once printed.
func TestZernikeAgainstOctave(t *testing.T) {
	for j, want := range map[int]float64{1: 0.8, 3: 0.5879, 4: -0.8660} { // to its four decimals
		if got := optics.ModeNumbered(j).At([2]float64{0.3, 0.4}); math.Abs(got-want) > 5e-5 {
			t.Errorf("mode %d: %v, once printed as %v", j, got, want)
		}
	}
	if !long(t, "octave-optics", "octave", "--no-gui", "-q", "--eval", "pkg load optics") {
		return
	}
	points := [][2]float64{{0.3, 0.4}, {-0.5, 0.2}, {0.1, -0.9}, {0, 0.6}, {-0.7, -0.7}}
	const modes = 45
	var xs, ys []string
	for _, p := range points {
		xs, ys = append(xs, fmt.Sprint(p[0])), append(ys, fmt.Sprint(p[1]))
	}
	code := fmt.Sprintf("pkg load optics; z = zernikes_and_derivatives_cartesian_OSA([%s]', [%s]', 8, 'zero'); printf('%%.15g\\n', z);", strings.Join(xs, " "), strings.Join(ys, " "))
	said, err := exec.Command("octave", "--no-gui", "-q", "--eval", code).Output()
	fields := strings.Fields(string(said))
	if len(fields) != modes*len(points) {
		t.Fatalf("%d values, %v", len(fields), err)
	}
	for i, text := range fields {
		var want float64
		if _, err := fmt.Sscan(text, &want); err != nil {
			t.Fatal(err)
		}
		m := optics.ModeNumbered(i / len(points))
		if got := m.At(points[i%len(points)]); math.Abs(got-want) > 1e-11 {
			t.Errorf("%+v at %v: %v, the package has %v", m, points[i%len(points)], got, want)
		}
	}
}
