package web

import (
	"math"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"linn/eye"
	"linn/internal/care/plan"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/unit"
)

// clockCase is a right or left eye with an incision at a place and a seat.
func clockCase(side eye.Side, seat eye.Seat, hour unit.Hour, steep unit.Axis) *Clock {
	d := func(v float64) unit.Reading[unit.Dioptre] { return unit.Known(unit.Dioptre(v)) }
	e := eye.Eye{Side: side, KFlat: d(42.5), KSteep: d(44.5), KSteepAxis: unit.Known(steep), Seat: seat, Incision: "limbal",
		IncisionHour: unit.Known(hour), IncisionWidth: unit.Known(unit.Millimetre(2.8))}
	a := plan.Cornea(plan.CorneaInput{Eye: e})
	return pathway.ClockOf(&e, &a.CorneaPlan)
}

type spot struct{ x, y float64 }

// read finds an element of a class in a drawing and where it stands.
func read(t *testing.T, svg, class string) spot {
	t.Helper()
	tag := regexp.MustCompile(`<[a-z]+ [^>]*class="` + class + `"[^>]*>`).FindString(svg)
	get := func(names ...string) float64 {
		for _, n := range names {
			if m := regexp.MustCompile(` ` + n + `="([-0-9.]+)"`).FindStringSubmatch(tag); m != nil {
				v, err := strconv.ParseFloat(m[1], 64)
				if err != nil {
					t.Fatal(err)
				}
				return v
			}
		}
		t.Fatalf("%s is not in the drawing", class)
		return 0
	}
	return spot{get("x", "cx", "x1"), get("y", "cy", "y1")}
}

// The drawing is read back: NASAL, TEMPORAL and the incision stand where they
// belong for both eyes and two seats, and the fellow eye is the mirror image.
// A drawing that mirrors one eye alone fails.
func TestClockIsReadBack(t *testing.T) {
	s := server{words: words{locale.English}}
	for _, c := range []struct {
		seat                       eye.Seat
		right, left                unit.Hour // of the temporal incision
		nasal, temporal, incisionR string    // of the right eye: left, right, top, bottom of the page
	}{
		{eye.SuperiorSeat, 9, 3, "left", "right", "right"},
		{eye.TemporalSeat, 9, 3, "top", "bottom", "bottom"},
	} {
		draw := func(side eye.Side, hour unit.Hour, steep unit.Axis) string {
			return string(s.drawClock(clockCase(side, c.seat, hour, steep), "clock", 380))
		}
		r, l := draw(eye.Right, c.right, 70), draw(eye.Left, c.left, 110)
		if !strings.Contains(r, ">NASAL<") || !strings.Contains(r, ">TEMPORAL<") || !strings.Contains(r, "RIGHT EYE") || !strings.Contains(l, "LEFT EYE") {
			t.Fatal("NASAL, TEMPORAL and the side must be written")
		}
		const mx, my = 190.0, 163.4 // the middle
		where := func(p spot) string {
			switch dx, dy := p.x-mx, p.y-my; {
			case math.Abs(dx) > math.Abs(dy) && dx < 0:
				return "left"
			case math.Abs(dx) > math.Abs(dy):
				return "right"
			case dy < 0:
				return "top"
			}
			return "bottom"
		}
		for class, want := range map[string]string{"nasal": c.nasal, "temporal": c.temporal, "incision-middle": c.incisionR} {
			if got := where(read(t, r, class)); got != want {
				t.Errorf("RIGHT EYE, seat %s: %s at the %s, not the %s", c.seat, class, got, want)
			}
		}
		// From a superior seat the nose is at the left of the right eye and at the
		// right of the left eye; from the temporal seat it is opposite, for both.
		mirror := map[string]string{"left": "right", "right": "left", "top": "top", "bottom": "bottom"}
		for class, want := range map[string]string{"nasal": mirror[c.nasal], "temporal": mirror[c.temporal], "incision-middle": mirror[c.incisionR]} {
			if got := where(read(t, l, class)); got != want {
				t.Errorf("LEFT EYE, seat %s: %s at the %s, not the %s", c.seat, class, got, want)
			}
		}
		for _, class := range []string{"incision-middle", "port", "nasal"} {
			a, b := read(t, r, class), read(t, l, class)
			if class == "port" { // the first port of one eye is the second of the other
				b = read(t, strings.Replace(l, `class="port"`, `class="first"`, 1), class)
			}
			if math.Abs((a.x-mx)+(b.x-mx)) > 0.11 || math.Abs(a.y-b.y) > 0.11 {
				t.Errorf("seat %s: %s at %v in the right eye, %v in the left: not a mirror image", c.seat, class, a, b)
			}
		}
	}
}

// The hours stand where the eye has them: 12 nearest to a superior surgeon.
func TestClockHours(t *testing.T) {
	k := clockCase(eye.Left, eye.SuperiorSeat, 12, 90)
	if h := k.Hours[11]; math.Abs(h.X) > 1e-9 || h.Y < 0.99 {
		t.Errorf("12 o'clock at %+v", h)
	}
	if h := k.Hours[2]; h.X > -0.99 || k.Left() != "temporal" || k.Right() != "nasal" { // 3 o'clock of a left eye is temporal
		t.Errorf("3 o'clock at %+v, %s at the left", h, k.Left())
	}
	if k := clockCase(eye.Right, "", 12, 90); k.Said || k.Seat != eye.SuperiorSeat {
		t.Error("without a seat it is drawn from above, and that is known")
	}
}

func TestMeridiansPage(t *testing.T) {
	h, err := New(Options{Pathway: &canned{who: surgeonLark}, Access: &canned{who: surgeonLark}, Language: locale.English})
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		list, want string
		status     int
	}{
		{"", "One a line", 200}, {"1 90\n1 180", "0.00\u202fD", 200}, {"2 90\n2 90\n2,0@90", "6.00\u202fD at 90°", 200},
		{"1 190", "Line 1, “1 190”", 422}, {"x 10", "write dioptres", 422}, {"-1 10", "write dioptres", 422}, {"1 2 3", "write dioptres", 422},
		{"0.5 90\n0.75 80\n0.4 110\n0.25 95", "Hotelling", 200},
	} {
		w := httptest.NewRecorder()
		h.ServeHTTP(w, httptest.NewRequest("GET", "/bench/meridians?list="+url.QueryEscape(c.list), nil))
		if w.Code != c.status || !strings.Contains(w.Body.String(), c.want) {
			t.Errorf("%q: %d, without %q", c.list, w.Code, c.want)
		}
	}
}

func FuzzReadMeridians(f *testing.F) {
	for _, s := range []string{"0.5 90", "1@180\n2×0", "x", "", "1 190"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		list, refused := readMeridians(text)
		for _, m := range list {
			if !(m.Magnitude >= 0 && m.Magnitude <= 20 && m.Steep > 0 && m.Steep <= 180) {
				t.Fatalf("%q: %+v", text, m)
			}
		}
		for _, r := range refused {
			if r.Line < 1 {
				t.Fatalf("%q: %+v", text, r)
			}
		}
	})
}
