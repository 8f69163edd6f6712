package invent

import (
	"math"
	"math/rand/v2"

	"linn/source"
	"linn/unit"
)

// Lens is an invented lens model.
type Lens struct {
	Model     string
	Material  string
	Pieces    int // 1 or 3
	Placement string
	Index     unit.Index
	Optic     unit.Millimetre
	Constants []Constant

	From, To, Step unit.Dioptre
	Stock          []Stock
}

// Constant is one invented constant under its key in the file format.
type Constant struct {
	Method string // "srk-t", …; "" for any
	Name   string // a, sf_mm, pacd_mm, a0, a1, a2
	Value  float64
	Origin Origin
}

// Origin says how a constant would have been come by, were the lens real.
type Origin string

// The origins.
const (
	Label     Origin = "label"     // on the box: an ultrasound-era starting value
	Published Origin = "published" // a set fitted to optical lengths
)

// Stock is how many lenses of one power lie on the shelf; 0 is "counted, none".
type Stock struct {
	Power unit.Dioptre
	Count int
}

// Get returns the constant of a method by name; one for any method counts for
// each.
func (l *Lens) Get(method, name string) (Constant, bool) {
	for _, c := range l.Constants {
		if c.Name == name && (c.Method == method || c.Method == "") {
			return c, true
		}
	}
	return Constant{}, false
}

// The published conversions of an A constant, from which sets are made up.
var (
	retzlaff = source.Ref{Key: source.SRKT1990, Where: "A to ACD constant", Grade: source.Memory}
	holladay = source.Ref{Key: source.Holladay1988, Where: "A to surgeon factor and pACD", Grade: source.Memory}
	haigis   = source.Ref{Key: source.Haigis2000, Where: "A to a0", Grade: source.Memory}

	perA     = constant("a0-per-a", 0.62467, "mm", retzlaff)
	atZeroA0 = constant("a0-at-zero", -72.434, "mm", haigis)
	sfPerA   = constant("sf-per-a", 0.5663, "mm", holladay)
	sfAtZero = constant("sf-at-zero", -65.60, "mm", holladay)
	pacdPerA = constant("pacd-per-a", 0.58357, "mm", holladay)
	pacdZero = constant("pacd-at-zero", -63.896, "mm", holladay)

	// opticalStep is what an optical set's A lies above the label's: contact
	// ultrasound reads 0.2–0.5 mm short, worth 0.5–1.2 (own arithmetic).
	opticalStep = constant("optical-step", 0.6, "", ours)

	// haigisStep brings a converted a0 into line with the other methods: it is
	// about 1 D too strong in an average eye, 1 D is 0.706 D of refraction, and
	// a0 moves refraction by 1.4 D/mm (own arithmetic).
	haigisStep = constant("haigis-step", -0.50, "mm", ours)
)

// kind is what a family of lenses has in common. The indices are round values
// of the material class (common knowledge, no source).
type kind struct {
	material  string
	pieces    int
	placement string
	index     unit.Index
	meanA     float64
	from, to  unit.Dioptre
}

var kinds = [...]kind{
	{"hydrophobic acrylic", 1, "bag", 1.50, 118.5, 6, 30},
	{"hydrophilic acrylic", 1, "bag", 1.46, 118.2, 0, 32},
	{"PMMA", 1, "bag", 1.49, 118.0, 5, 30},
	{"hydrophobic acrylic", 3, "bag", 1.50, 118.4, -5, 30},
	{"silicone", 3, "bag", 1.43, 118.1, 6, 28},
	{"PMMA", 1, "chamber", 1.49, 115.3, 10, 26},
}

var lensNames = []string{"Skerry", "Holm", "Voe", "Ayre", "Machair", "Geo", "Stack", "Noup", "Wick", "Lagan", "Roost", "Tombolo"}

// Lenses invents n lens models, in turn through the kinds: names, constants
// and stock are made up, no real lens is meant. Every model has a label A; all
// but every fifth also have a set for optical lengths. The same source state
// gives the same shelf.
func Lenses(src rand.Source, n int) []Lens {
	r := rand.New(src)
	list := make([]Lens, n)
	for i := range list {
		k := kinds[i%len(kinds)]
		a := round(k.meanA+0.25*r.NormFloat64(), 1)
		l := Lens{Model: lensName(i), Material: k.material, Pieces: k.pieces, Placement: k.placement, Index: k.index,
			Optic: 6, From: k.from, To: k.to, Step: 0.5}
		l.Constants = []Constant{{"", "a", a, Label}}
		if i%5 != 4 && k.placement == "bag" {
			l.Constants = append(opticalSet(r, a), l.Constants...)
		}
		l.Stock = stock(r, &l)
		list[i] = l
	}
	return list
}

// lensName never repeats: "Demo Skerry", …, then "Demo Skerry 2".
func lensName(i int) string {
	name := "Demo " + lensNames[i%len(lensNames)]
	if turn := i / len(lensNames); turn > 0 {
		name += " " + string(rune('1'+turn%9))
	}
	return name
}

// opticalSet makes up what a fit to optical lengths could have given.
func opticalSet(r *rand.Rand, label float64) []Constant {
	a := label + opticalStep
	jitter := func(v float64) float64 { return round(v+0.02*r.NormFloat64(), 2) }
	return []Constant{
		{"srk-t", "a", jitter(a), Published},
		{"t2", "a", jitter(a), Published},
		{"holladay-1", "sf_mm", jitter(sfPerA*a + sfAtZero), Published},
		{"hoffer-q", "pacd_mm", jitter(pacdPerA*a + pacdZero), Published},
		{"haigis", "a0", jitter(perA*a + atZeroA0 + haigisStep), Published},
		{"haigis", "a1", 0.4, Published},
		{"haigis", "a2", 0.1, Published},
	}
}

// stock fills the shelf: most around the middle powers, some steps empty.
func stock(r *rand.Rand, l *Lens) (list []Stock) {
	steps := int(math.Round(float64((l.To - l.From) / l.Step)))
	for k := range steps + 1 {
		p := l.From + unit.Dioptre(k)*l.Step
		most := 1 + 6*math.Exp(-square(float64(p-21)/4)/2)
		list = append(list, Stock{p, int(math.Round(most * r.Float64()))})
	}
	return list
}

func round(v float64, decimals int) float64 {
	scale := math.Pow(10, float64(decimals))
	return math.Round(v*scale) / scale
}
