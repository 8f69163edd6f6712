package web

import (
	"html/template"
	"math"
	"net/http"
	"strings"

	"linn/finding"
	"linn/internal/pathway"
	"linn/unit"
)

// MeridiansPage adds astigmatisms and describes many of them.
type MeridiansPage struct {
	Frame
	Text    string
	Refused []string
	Plot    template.HTML
	Lines   []Line
	N       int
}

// mostMeridians bounds what one page describes.
const mostMeridians = 500

// exampleMeridians is what the page begins with.
const exampleMeridians = "0.50 90\n0.75 80\n0.40 110\n0.25 95\n0.60 70"

func (s *server) meridians(w http.ResponseWriter, r *http.Request, by Actor) error {
	v := MeridiansPage{Frame: s.frame(r, by, s.t("bench.meridians"), "bench"), Text: r.Form.Get("list")}
	if _, asked := r.Form["list"]; !asked {
		v.Text = exampleMeridians
	}
	list, refused := readMeridians(v.Text)
	if len(refused) > 0 {
		v.Refused = s.refusalText(refused)
		return s.render(w, http.StatusUnprocessableEntity, "meridians", "page", v)
	}
	if len(list) > 0 {
		s.describe(&v, list)
	}
	return s.render(w, http.StatusOK, "meridians", "page", v)
}

// readMeridians reads a line each: how much, and where steep. "@", "x" and "×"
// may stand between.
func readMeridians(text string) (list []pathway.Meridional, refused finding.Refusals) {
	n := 0
	for line := range strings.Lines(text) {
		n++
		parts := strings.Fields(strings.NewReplacer("@", " ", "×", " ", "°", " ", "D", " ").Replace(line))
		if len(parts) == 0 {
			continue
		}
		bad := func(code, field, got string) {
			refused = append(refused, finding.Refusal{Code: code, Field: field, Line: n, Column: 1, Values: finding.Values{valueOf("got", got), valueOf("line", unit.Fixed(float64(n), 0))}})
		}
		if len(parts) != 2 || len(list) == mostMeridians {
			bad("meridian-line", "", strings.TrimSpace(line))
			continue
		}
		c, err1 := unit.Parse[unit.Dioptre](parts[0], "cylinder_d", "D", unit.Bounds{Low: 0, High: 20})
		axis, err2 := unit.Parse[unit.Degree](parts[1], "axis_deg", "°", unit.Bounds{Low: 0, High: 180})
		if err1 != nil || err2 != nil {
			bad("meridian-line", "", strings.TrimSpace(line))
			continue
		}
		list = append(list, pathway.Meridional{Magnitude: c, Steep: unit.NewAxis(axis)})
	}
	return list, refused
}

func (s *server) describe(v *MeridiansPage, list []pathway.Meridional) {
	g := pathway.Meridians(list)
	v.N = g.N
	most := 0.5
	for _, m := range list {
		most = max(most, float64(m.Magnitude))
	}
	add := func(key, text string) { v.Lines = append(v.Lines, Line{s.t("bench.meridians." + key), text}) }
	sum := *g.Centroid
	sum.Magnitude.Value *= float64(g.N)
	two := func(n pathway.Number) string { return unit.Dioptre(n.Value).Unsigned() }
	add("sum", s.at(&sum))
	add("centroid", s.at(g.Centroid))
	add("mean", two(g.Mean))
	if g.Deviation != nil {
		add("sd", two(g.SDX)+" / "+two(g.SDY)+" · "+two(g.SDTotal))
		add("confidence", two(g.Confidence.Major)+" × "+two(g.Confidence.Minor))
		add("prediction", two(g.Prediction.Major)+" × "+two(g.Prediction.Minor))
		most = max(most, math.Hypot(g.X.Value, g.Y.Value)+g.Deviation.Major.Value)
	}
	if g.P.Known {
		add("hotelling", s.t("bench.meridians.test", "t2", unit.Fixed(g.T2.Value, 3), "f", unit.Fixed(g.F.Value, 3), "df", unit.Fixed(float64(g.DF2), 0), "p", unit.Fixed(g.P.Value, 4)))
	}
	p := newPlane("plane", most, s.t("bench.meridians.plot"), s.t("bench.meridians.desc", "n", unit.Fixed(float64(g.N), 0), "centroid", s.at(g.Centroid)))
	for _, q := range g.Points {
		x, y := p.at(q.X.Value, q.Y.Value)
		p.d.circle(x, y, 4, "fill", "none", "stroke", ink("ink"), "stroke-width", "1.5", "class", "eye")
	}
	p.ellipse(g.Deviation, g.X.Value, g.Y.Value, "6 5", "deviation")
	p.ellipse(g.Confidence, g.X.Value, g.Y.Value, "none", "confidence")
	p.dot(g.Centroid, s.t("bench.meridians.centroid"), ink("water"), 0)
	v.Plot = p.d.html()
}
