package layout

import (
	"maps"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
)

// doc is a calc package's doc.go that keeps the headings.
func doc(name string) string {
	s := "// Package " + name + " computes.\n//\n"
	for _, h := range headings {
		s += "// # " + h + "\n//\n// Something.\n//\n"
	}
	return s + "package " + name + "\n"
}

// sound is a small house without a fault.
func sound() map[string]string {
	return map[string]string{
		"unit/unit.go":                     "package unit\n\nimport \"strconv\"\n\nvar _ = strconv.Itoa\n",
		"finding/finding.go":               "package finding\n",
		"eye/eye.go":                       "package eye\n\nimport _ \"linn/finding\"\n",
		"calc/optics/doc.go":               doc("optics"),
		"calc/optics/optics.go":            "package optics\n\nimport \"linn/unit\"\n\n// Power is one.\nfunc Power(k unit.Dioptre, al unit.Millimetre) {}\n",
		"calc/lenspower/doc.go":            doc("lenspower"),
		"calc/lenspower/a.go":              "package lenspower\n\nimport (\n\t\"math/rand/v2\"\n\n\t\"linn/calc/optics\"\n)\n\nfunc draw(r *rand.Rand) float64 { return rand.New(rand.NewPCG(1, 2)).Float64() }\n\nvar _ = optics.Power\n",
		"calc/lenspower/a_test.go":         "package lenspower\n\nimport (\n\t\"os\"\n\t\"testing\"\n\n\t_ \"linn/internal/checkvalue\"\n)\n\nvar _ = os.Args\n\nfunc TestA(*testing.T) {}\n",
		"internal/checkvalue/c.go":         "package checkvalue\n\nimport _ \"testing\"\n",
		"internal/docgen/main.go":          "package main\n\nimport _ \"linn/internal/checkvalue\"\n\nfunc main() {}\n",
		"internal/care/plan/plan.go":       "package plan\n\nimport _ \"linn/calc/lenspower\"\n",
		"internal/pathway/pathway.go":      "package pathway\n\nimport (\n\t\"time\"\n\n\t_ \"linn/internal/care/plan\"\n)\n\nvar _ = time.Now\n",
		"internal/store/store.go":          "package store\n\nimport _ \"github.com/jackc/pgx/v5/stdlib\"\n",
		"internal/transfer/csvio/csv.go":   "package csvio\n\nimport _ \"linn/calc/lenspower\"\n",
		"internal/web/web.go":              "package web\n\nimport (\n\t_ \"linn/internal/pathway\"\n\t_ \"linn/unit\"\n)\n",
		"internal/web/templates/page.html": "<script src=\"/static/app.js\"></script><p class=\"styled\">{{.Power}}</p>",
		"cmd/linn/main.go":                 "package main\n\nimport (\n\t_ \"linn/internal/store\"\n\t_ \"linn/internal/web\"\n)\n\nfunc main() {}\n",
		"README.md":                        "The session of the person at the desk ends after 10 minutes.\n",
	}
}

func plant(t *testing.T, planted map[string]string) []string {
	t.Helper()
	all := sound()
	maps.Copy(all, planted)
	fsys := fstest.MapFS{}
	for name, body := range all {
		fsys[name] = &fstest.MapFile{Data: []byte(body)}
	}
	tr, err := read(fsys)
	if err != nil {
		t.Fatal(err)
	}
	return slices.Concat(checkImports(tr.files), checkCalls(tr.files), checkNeighbours(tr.files), checkLengths(tr),
		checkHeadings(tr.files), checkNames(tr.files), checkWords(tr.texts), checkPages(tr), checkSerostatus(tr.files))
}

func TestSoundHousePasses(t *testing.T) { report(t, plant(t, nil)) }

// importing is a file of the package at dir that imports path.
func importing(dir, path string) map[string]string {
	name := dir[strings.LastIndexByte(dir, '/')+1:]
	return map[string]string{dir + "/planted.go": "package " + name + "\n\nimport _ \"" + path + "\"\n"}
}

// saying is a file of calc/lenspower that imports path and holds body.
func saying(path, body string) map[string]string {
	return map[string]string{"calc/lenspower/planted.go": "package lenspower\n\nimport \"" + path + "\"\n\n" + body + "\n"}
}

// drawing is a file of calc/optics that draws from a distribution.
func drawing(fields string) string {
	return "package optics\n\nimport \"gonum.org/v1/gonum/stat/distuv\"\n\nfunc draw() float64 { return distuv.Normal{" + fields + "}.Rand() }\n"
}

func page(body string) map[string]string {
	return map[string]string{"internal/web/templates/planted.html": body}
}

func note(body string) map[string]string { return map[string]string{"docs/planted.md": body} }

// TestPlantedFaults is the test of the test: each planted fault must be
// found, once, and nothing else with it.
func TestPlantedFaults(t *testing.T) {
	was := grants["calc/optics"]
	grants["calc/optics"] = []string{"mat", "stat/distuv"} // for the rows on gonum
	defer func() { grants["calc/optics"] = was }()
	if faults := plant(t, map[string]string{"calc/optics/planted.go": drawing("Mu: 1, Src: nil")}); faults != nil {
		t.Errorf("a granted, seeded distribution: %q", faults)
	}
	for _, c := range []struct {
		name    string
		planted map[string]string
		want    string
	}{
		{"later line", importing("calc/optics", "linn/calc/lenspower"), "not on an earlier line"},
		{"same line", importing("unit", "linn/source"), "not on an earlier line"},
		{"itself reversed", importing("finding", "linn/eye"), "not on an earlier line"},
		{"care from calc", importing("calc/lenspower", "linn/internal/care/plan"), "not on an earlier line"},
		{"learn from care", importing("internal/care/plan", "linn/internal/learn/outcome"), "not on an earlier line"},
		{"unknown package of ours", importing("calc/lenspower", "linn/calc/nowhere"), "not on an earlier line"},
		{"unlisted package", importing("internal/util", "strings"), "stands on no line"},
		{"unlisted test package", map[string]string{"misc/a_test.go": "package misc\n"}, "stands on no line"},
		{"os in calc", importing("calc/lenspower", "os"), "is pure"},
		{"io file in care", importing("internal/care/plan", "io/fs"), "is pure"},
		{"network in unit", importing("unit", "net/http"), "is pure"},
		{"log in eye", importing("eye", "log/slog"), "is pure"},
		{"database in teach", importing("internal/teach", "database/sql"), "is pure"},
		{"crypto chance in invent", importing("internal/invent", "crypto/rand"), "is pure"},
		{"C in calc", importing("calc/lenspower", "C"), "is pure"},
		{"unsafe in calc", importing("calc/lenspower", "unsafe"), "is pure"},
		{"old chance in calc", importing("calc/lenspower", "math/rand"), "seeded math/rand/v2"},
		{"old chance in a test", map[string]string{"calc/lenspower/p_test.go": "package lenspower\n\nimport _ \"math/rand\"\n"}, "seeded math/rand/v2"},
		{"clock called", saying("time", "func f() { _ = time.Now() }"), "time.Now in a pure package"},
		{"clock as a value", saying("time", "var now = time.Since"), "time.Since in a pure package"},
		{"machine's zone", saying("time", "var here = time.Local"), "time.Local in a pure package"},
		{"clock renamed", map[string]string{"calc/lenspower/planted.go": "package lenspower\n\nimport hour \"time\"\n\nvar _ = hour.Now\n"}, "hour.Now in a pure package"},
		{"dot import", map[string]string{"calc/lenspower/planted.go": "package lenspower\n\nimport . \"time\"\n"}, "dot imports"},
		{"standard output", saying("fmt", "func f() { fmt.Println() }"), "fmt.Println in a pure package"},
		{"builtin output", map[string]string{"calc/lenspower/planted.go": "package lenspower\n\nfunc f() { println() }\n"}, "println in a pure package"},
		{"hidden chance", saying("math/rand/v2", "var x = rand.Float64()"), "rand.Float64 draws unseeded"},
		{"hidden chance in a test", map[string]string{"calc/lenspower/p_test.go": "package lenspower\n\nimport \"math/rand/v2\"\n\nvar x = rand.IntN(3)\n"}, "rand.IntN draws unseeded"},
		{"third-party in calc", importing("calc/lenspower", "github.com/google/uuid"), "no third-party code"},
		{"gonum not granted", importing("calc/lenspower", "gonum.org/v1/gonum/mat"), "grants names no such"},
		{"gonum package not open", importing("calc/optics", "gonum.org/v1/gonum/unit"), "grants names no such"},
		{"distribution without source", map[string]string{"calc/optics/planted.go": drawing("Mu: 1")}, "needs its Src"},
		{"driver in web", importing("internal/web", "github.com/jackc/pgx/v5"), "parts does not name"},
		{"part for tests only", importing("internal/web", "github.com/chromedp/chromedp"), "parts does not name"},
		{"unknown part", importing("internal/store", "example.org/unknown"), "parts does not name"},
		{"testing in production", importing("internal/web", "testing"), "belongs in _test files"},
		{"check values in production", importing("cmd/linn", "linn/internal/checkvalue"), "serves tests only; not on an earlier line; only through internal/pathway"},
		{"store suite in production", importing("internal/docgen", "linn/internal/store/storetest"), "serves tests only"},
		{"store and web together", map[string]string{"scripts/bench/p.go": "package main\n\nimport (\n\t_ \"linn/internal/store\"\n\t_ \"linn/internal/web\"\n)\n"}, "only cmd/linn wires"},
		{"store in web", importing("internal/web", "linn/internal/store"), "never from; only through internal/pathway"},
		{"more of io in calc", importing("calc/lenspower", "io"), "is pure"},
		{"nonce from hidden chance", map[string]string{"internal/care/casebook/planted.go": "package casebook\n\nimport \"crypto/cipher\"\n\nvar _ = cipher.NewGCMWithRandomNonce\n"}, "cipher.NewGCMWithRandomNonce in a pure"},
		{"store in transfer", importing("internal/transfer/csvio", "linn/internal/store"), "not on an earlier line"},
		{"pathway in transfer", importing("internal/transfer/csvio", "linn/internal/pathway"), "never from"},
		{"pathway in store", importing("internal/store", "linn/internal/pathway"), "never from"},
		{"calc in web", importing("internal/web", "linn/calc/lenspower"), "only through internal/pathway"},
		{"care in web", importing("internal/web", "linn/internal/care/plan"), "only through internal/pathway"},
		{"teach in cmd", importing("cmd/linn", "linn/internal/teach"), "only through internal/pathway"},
		{"invent in web", importing("internal/web", "linn/internal/invent"), "only through internal/pathway"},
		{"neighbours", map[string]string{"calc/optics/planted.go": "package optics\n\n// Add adds.\nfunc Add(a, b float64) {}\n"}, "neighbouring parameters of type float64"},
		{"neighbours apart", map[string]string{"calc/optics/planted.go": "package optics\n\n// Add adds.\nfunc Add(a float64, b float64) {}\n"}, "neighbouring parameters of type float64"},
		{"neighbours in a method", map[string]string{"calc/optics/planted.go": "package optics\n\ntype t int\n\n// Add adds.\nfunc (t) Add(s string, a, b float64) {}\n"}, "neighbouring parameters of type float64"},
		{"neighbours in an interface", map[string]string{"calc/optics/planted.go": "package optics\n\n// I is one.\ntype I interface{ Add(a, b float64) }\n"}, "neighbouring parameters of type float64"},
		{"neighbours in a function type", map[string]string{"calc/optics/planted.go": "package optics\n\n// F is one.\ntype F func(a int, b ...int)\n"}, "neighbouring parameters of type int"},
		{"long function", map[string]string{"internal/web/p.go": "package web\n\nfunc f() {\n" + strings.Repeat("\t_ = 1\n", longest) + "}\n"}, "at most 100"},
		{"long verb", map[string]string{"internal/pathway/p.go": "package pathway\n\nfunc Sign() {\n" + strings.Repeat("\t_ = 1\n", longestVerb) + "}\n"}, "at most 40"},
		{"long file", map[string]string{"internal/web/p.go": "package web\n" + strings.Repeat("\n", longestFile)}, "at most 500"},
		{"no doc.go", map[string]string{"calc/heat/heat.go": "package heat\n"}, "no doc.go"},
		{"heading missing", map[string]string{"calc/optics/doc.go": strings.Replace(doc("optics"), "# Disagreements", "# Quarrels", 1)}, `"Disagreements" is missing`},
		{"heading empty", map[string]string{"calc/optics/doc.go": strings.Replace(doc("optics"), "# Valid for\n//\n// Something.\n", "# Valid for\n", 1)}, `nothing stands under "Valid for"`},
		{"identifier", map[string]string{"internal/web/p.go": "package web\n\nvar µ = 1\n"}, "is not ASCII"},
		{"unfinished", note("TO" + "DO: finish"), "unfinished work"},
		{"promise", note("This is not yet " + "implemented."), "not promised"},
		{"workshop", note("See the seed " + "document."), "of the workshop"},
		{"machine path", note("It stands in /ho" + "me/someone/linn."), "a path of one machine"},
		{"registry", note("https://proxy.go" + "lang.org/linn"), "a registry's host"},
		{"inline style", page(`<p style="color: red">`), "no inline style"},
		{"style element", page(`<style>p {}</style>`), "no style element"},
		{"inline script", page(`<script defer>go()</script>`), "no inline script"},
		{"event handler", page(`<button onclick="go()">`), "no inline event handler"},
		{"from outside", page(`<img src="https://example.org/a.png">`), "loaded from outside"},
		{"arithmetic in a page", page(`{{printf "%.2f" .Power}}`), "already printed"},
		{"inline style in Go", map[string]string{"internal/web/p.go": "package web\n\nvar s = `<g style=\"fill:red\">`\n"}, "no inline style"},
		{"style sheet from outside", map[string]string{"internal/web/static/p.css": "@import url(\"https://example.org/a.css\");"}, "loaded from outside"},
		{"serostatus", map[string]string{"internal/care/plan/p.go": "package plan\n\nvar HBsAg bool\n"}, "never an input"},
	} {
		t.Run(c.name, func(t *testing.T) {
			faults := plant(t, c.planted)
			want := strings.Split(c.want, "; ")
			found := slices.IndexFunc(want, func(w string) bool { return !strings.Contains(strings.Join(faults, "\n"), w) }) < 0
			if len(faults) != len(want) || !found {
				t.Errorf("faults %q, want %d: %q", faults, len(want), want)
			}
		})
	}
}
