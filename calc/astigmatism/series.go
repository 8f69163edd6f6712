package astigmatism

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

var seriesSmall = finding.Declare(finding.Rule{Code: "series-small", Severity: finding.Caution, Ref: source.Ref{Key: source.OwnChoice, Where: "own judgement: fewer than 20 eyes say little of a centroid", Grade: source.Own},
	Limit: "fewer than 20 eyes"})

var seriesMixed = finding.Declare(finding.Rule{Code: "series-both-eyes", Severity: finding.Note, Ref: source.Ref{Key: source.OwnChoice, Where: "mirroring leaves the component with or against the rule and turns the oblique one", Grade: source.Own},
	Limit: "right and left eyes together: left eyes are mirrored, 180 − θ, so that temporal is temporal"})

// Series is what many eyes together say.
type Series struct {
	N             int
	Centroid      Vector
	SDX, SDY      unit.Dioptre // per component, n − 1
	Covariance    float64      // D²
	SDTotal       unit.Dioptre // √trace; "± SD of the centroid" means either, so both are given
	MeanMagnitude unit.Dioptre // the arithmetic mean of |v|, which is not |centroid|
	SDMagnitude   unit.Dioptre
	Coherence     float64 // |centroid| / mean magnitude

	Deviation  Ellipse // one SD of the eyes
	Prediction Ellipse // 95 % for one more eye, exact under a normal distribution
	Confidence Ellipse // 95 % of the centroid

	Test Hotelling // is the centroid zero?
}

// Ellipse lies about the centroid in the double-angle plane.
type Ellipse struct {
	Major, Minor unit.Dioptre // semi-axes
	Angle        unit.Degree  // of the major one in the plane, (−90, 90]; meridians are half of it
}

// Hotelling is a test of T².
type Hotelling struct {
	T2, F    float64
	DF2      int // F has 2 and DF2 degrees of freedom
	P        float64
	Possible bool // enough eyes that do not all lie on a line
}

// confidence of ellipses and quantiles.
const confidence = 0.95

// Of describes the series; with fewer than three eyes only the means exist.
func Of(list []Vector) Series {
	s := Series{N: len(list)}
	n := float64(s.N)
	if s.N == 0 {
		return s
	}
	var m float64
	for _, v := range list {
		s.Centroid = s.Centroid.Add(v)
		m += float64(v.Magnitude())
	}
	s.Centroid = s.Centroid.Scale(1 / n)
	s.MeanMagnitude = unit.Dioptre(m / n)
	if m > 0 {
		s.Coherence = float64(s.Centroid.Magnitude()) / (m / n)
	}
	if s.N < 3 {
		return s
	}
	c := covarianceOf(list, s.Centroid)
	var mm float64
	for _, v := range list {
		d := float64(v.Magnitude() - s.MeanMagnitude)
		mm += d * d
	}
	s.SDX, s.SDY, s.Covariance = unit.Dioptre(math.Sqrt(c.xx)), unit.Dioptre(math.Sqrt(c.yy)), c.xy
	s.SDTotal, s.SDMagnitude = unit.Dioptre(math.Sqrt(c.xx+c.yy)), unit.Dioptre(math.Sqrt(mm/(n-1)))
	f := QuantileF(confidence, s.N-2)
	s.Deviation = c.ellipse(1)
	s.Confidence = c.ellipse(2 * (n - 1) / (n * (n - 2)) * f)
	s.Prediction = c.ellipse(2 * (n - 1) * (n + 1) / (n * (n - 2)) * f)
	s.Test = c.test(s.Centroid, n, n-1, s.N-2)
	return s
}

// covariance is a symmetric 2×2 matrix in D².
type covariance struct{ xx, xy, yy float64 }

func covarianceOf(list []Vector, m Vector) (c covariance) {
	for _, v := range list {
		d := v.Sub(m)
		x, y := float64(d.X), float64(d.Y)
		c.xx, c.xy, c.yy = c.xx+x*x, c.xy+x*y, c.yy+y*y
	}
	k := float64(len(list) - 1)
	return covariance{c.xx / k, c.xy / k, c.yy / k}
}

// ellipse is √(k·λ) along the eigenvectors.
func (c covariance) ellipse(k float64) Ellipse {
	mean, half := (c.xx+c.yy)/2, math.Hypot((c.xx-c.yy)/2, c.xy)
	root := func(v float64) unit.Dioptre { return unit.Dioptre(math.Sqrt(max(0, v*k))) }
	return Ellipse{root(mean + half), root(mean - half), unit.Degree(math.Atan2(2*c.xy, c.xx-c.yy) * 90 / math.Pi)}
}

// test is T² = scale·d′S⁻¹d with df degrees of freedom in S and df2 in F.
func (c covariance) test(d Vector, scale, df float64, df2 int) Hotelling {
	det := c.xx*c.yy - c.xy*c.xy
	if df2 < 1 || !(det > 1e-12*c.xx*c.yy) {
		return Hotelling{DF2: df2}
	}
	x, y := float64(d.X), float64(d.Y)
	t := scale * (c.yy*x*x - 2*c.xy*x*y + c.xx*y*y) / det
	f := float64(df2) * t / (2 * df)
	return Hotelling{t, f, df2, tailF(f, df2), true}
}

// Two are two series to be compared.
type Two struct{ A, B []Vector }

// Test asks whether the centroids of two series differ, by the pooled
// two-sample T².
func (t Two) Test() Hotelling {
	na, nb := len(t.A), len(t.B)
	if na < 2 || nb < 2 {
		return Hotelling{}
	}
	a, b := Of(t.A).Centroid, Of(t.B).Centroid
	ca, cb := covarianceOf(t.A, a), covarianceOf(t.B, b)
	df := float64(na + nb - 2)
	pool := func(x, y float64) float64 { return (float64(na-1)*x + float64(nb-1)*y) / df }
	c := covariance{pool(ca.xx, cb.xx), pool(ca.xy, cb.xy), pool(ca.yy, cb.yy)}
	return c.test(a.Sub(b), float64(na*nb)/float64(na+nb), df, na+nb-3)
}

// tailF is the chance of more than f under F with 2 and m degrees of freedom,
// in closed form: (1 + 2f/m)^(−m/2).
func tailF(f float64, m int) float64 {
	return math.Exp(-float64(m) / 2 * math.Log1p(2*f/float64(m)))
}

// QuantileF is the quantile of F with 2 and m degrees of freedom,
// (m/2)·((1 − p)^(−2/m) − 1); NaN below one degree of freedom.
func QuantileF(p float64, m int) float64 {
	if m < 1 {
		return math.NaN()
	}
	return float64(m) / 2 * math.Expm1(-2/float64(m)*math.Log1p(-p))
}

// Findings says how far the series may be relied on.
func (s Series) Findings(mixed bool) (list []finding.Finding) {
	if s.N < 20 {
		list = append(list, seriesSmall.On("", value("n", unit.Fixed(float64(s.N), 0))))
	}
	if mixed {
		list = append(list, seriesMixed.On("side"))
	}
	return list
}
