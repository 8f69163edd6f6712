package biometry

import (
	"math"

	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Moments are the mean and SD of one reading in a series of eyes.
type Moments struct{ Mean, SD float64 }

// Series is a published series of eyes before cataract surgery: lengths in mm,
// corneal power and cylinder in D at index 1.3375, corneal thickness in µm,
// age in years. The correlations are Spearman's.
type Series struct {
	Length, MeanK, Chamber, Lens, Width, Thickness, Cylinder, Age Moments

	LengthChamber, LengthK, ChamberLens, ChamberWidth, ChamberAge, ChamberK, LengthCylinder float64
}

var (
	means       = source.Ref{Key: source.Chinese2021, Where: "mean ± SD", Grade: source.Read}
	correlation = source.Ref{Key: source.Chinese2021, Where: "Spearman correlations", Grade: source.Read}
	together    = source.Ref{Key: source.Chinese2021, Where: "limit of 3 SD: own choice", Grade: source.Own}
)

func moments(name, u string, mean, sd float64) Moments {
	return Moments{limit("series-"+name+"-mean", mean, u, means), limit("series-"+name+"-sd", sd, u, means)}
}

func rho(name string, v float64) float64 { return limit("series-rho-"+name, v, "", correlation) }

// China is the series of 28,709 eyes: the largest that prints correlations.
var China = Series{
	Length:    moments("length", "mm", 24.17, 2.47),
	MeanK:     moments("k", "D", 44.26, 1.70),
	Chamber:   moments("chamber", "mm", 3.02, 0.45),
	Lens:      moments("lens", "mm", 4.52, 0.45),
	Width:     moments("width", "mm", 11.64, 0.46),
	Thickness: moments("cornea", "µm", 534, 40),
	Cylinder:  moments("cylinder", "D", 1.06, 0.96),
	Age:       moments("age", "years", 68.6, 11.0),

	LengthChamber:  rho("length-chamber", 0.54),
	LengthK:        rho("length-k", -0.41),
	ChamberLens:    rho("chamber-lens", -0.66),
	ChamberWidth:   rho("chamber-width", 0.30),
	ChamberAge:     rho("chamber-age", -0.29),
	ChamberK:       rho("chamber-k", -0.08),
	LengthCylinder: rho("length-cylinder", 0.11),
}

// Pearson is the linear correlation of two normal variables whose Spearman
// correlation is rho: 2·sin(π·rho/6), the classical relation.
func Pearson(rho float64) float64 { return 2 * math.Sin(math.Pi*rho/6) }

// rareSD is how far one reading may lie from what the other lets expect. With
// four pairs, about one ordinary eye in a hundred goes beyond it by chance.
var rareSD = limit("rare-pair", 3, "SD", together)

// pair is one line of regression between two readings.
type pair struct {
	x, y           Moments
	rho            float64
	xField, yField string
	yText          func(float64) string
}

var (
	lengthK       = pair{China.Length, China.MeanK, China.LengthK, "axial_length_mm", "k_flat_d", dp}
	lengthChamber = pair{China.Length, China.Chamber, China.LengthChamber, "axial_length_mm", "acd_mm", mm}
	lensChamber   = pair{China.Lens, China.Chamber, China.ChamberLens, "lens_thickness_mm", "acd_mm", mm}
	widthChamber  = pair{China.Width, China.Chamber, China.ChamberWidth, "white_to_white_mm", "acd_mm", mm}
)

// expected returns the mean and SD of y when x is known.
func (p *pair) expected(x float64) (mean, sd float64) {
	r := Pearson(p.rho)
	return p.y.Mean + r*p.y.SD/p.x.SD*(x-p.x.Mean), p.y.SD * math.Sqrt(1-r*r)
}

// rarePairs compares readings that hang together in adult eyes: a short eye
// with a flat cornea, a thick lens behind a deep chamber. An operated cornea
// or a replaced lens explains the disagreement and is left out.
func (c *check) rarePairs() {
	if c.e.Age.Known && c.e.Age.Value < 18 {
		return
	}
	if c.this.hasLength && c.this.hasK && (c.e.CornealSurgery == "" || c.e.CornealSurgery == eye.NoSurgery) {
		c.rare(&lengthK, c.this.length, c.this.meanK)
	}
	if !usable(c.e.ACD, chamberField) || c.e.LensStatus == eye.Aphakic || c.e.LensStatus == eye.Pseudophakic {
		return
	}
	depth := float64(c.e.ACD.Value)
	if c.this.hasLength {
		c.rare(&lengthChamber, c.this.length, depth)
	}
	if usable(c.e.LensThickness, lensField) {
		c.rare(&lensChamber, float64(c.e.LensThickness.Value), depth)
	}
	if usable(c.e.WhiteToWhite, widthField) {
		c.rare(&widthChamber, float64(c.e.WhiteToWhite.Value), depth)
	}
}

func usable[U unit.Quantity](r unit.Reading[U], f *eye.Field) bool {
	return r.Known && inside(float64(r.Value), f.Bounds)
}

func (c *check) rare(p *pair, x, y float64) {
	mean, sd := p.expected(x)
	if !above(math.Abs(y-mean), rareSD*sd) {
		return
	}
	c.add(rarePair, p.yField, got(p.yText(y)), finding.Value{Name: "other", Text: p.xField},
		finding.Value{Name: "other_got", Text: mm(x)},
		finding.Value{Name: "low", Text: p.yText(mean - rareSD*sd)}, finding.Value{Name: "high", Text: p.yText(mean + rareSD*sd)})
}
