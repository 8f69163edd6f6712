package constants

import (
	"errors"
	"math"

	"linn/unit"
)

// Prior is what is believed of the mean error before the eyes were seen: normal
// with a mean and an SD between surgeons.
type Prior struct{ Mean, Tau unit.Dioptre }

// NoPeers is the prior without other series to learn it from; 0.15 D is an
// assumption of our own.
var NoPeers = Prior{Mean: 0, Tau: 0.15}

// Observed is the mean error of a series and the SD of one eye's.
type Observed struct {
	N           int
	Mean, Sigma unit.Dioptre
}

// Shrunk is the mean error drawn towards the prior.
type Shrunk struct {
	Weight    unit.Ratio // of the own series, 0 to 1
	Mean, SD  unit.Dioptre
	Low, High unit.Dioptre // 95 % of the posterior
	NextSD    unit.Dioptre // of the next eye's error
}

const z975 = 1.959963984540054

var errPrior = errors.New("constants: a series needs a count, a spread and a prior with spread")

// Shrink combines prior and series: w = n/(n + σ²/τ²). Without eyes it is the
// prior. Sigma and Tau must be above 0 and N not below it.
func Shrink(o Observed, p Prior) (Shrunk, error) {
	if o.N < 0 || !(o.Sigma > 0) || !(p.Tau > 0) {
		return Shrunk{}, errPrior
	}
	n, s2, t2 := float64(o.N), float64(o.Sigma*o.Sigma), float64(p.Tau*p.Tau)
	w := n / (n + s2/t2)
	m, v := w*float64(o.Mean)+(1-w)*float64(p.Mean), 1/(1/t2+n/s2)
	half := z975 * math.Sqrt(v)
	return Shrunk{Weight: unit.Ratio(w), Mean: unit.Dioptre(m), SD: unit.Dioptre(math.Sqrt(v)),
		Low: unit.Dioptre(m - half), High: unit.Dioptre(m + half), NextSD: unit.Dioptre(math.Sqrt(v + s2))}, nil
}

// Pooled is what several series say together (DerSimonian and Laird).
type Pooled struct {
	Fixed, Random, SE unit.Dioptre
	Q                 unit.Ratio
	Tau2              float64    // D²
	I2                unit.Ratio // share of the spread that is between series
	Shrunk            []Shrunk   // each series drawn towards Random
}

// Pool estimates the spread between series and draws each towards the common
// mean. With Tau2 0 every series is drawn onto it. At least two series.
func Pool(list []Observed) (Pooled, error) {
	if len(list) < 2 {
		return Pooled{}, ErrTooFew
	}
	var sw, sw2, swy float64
	for _, o := range list {
		if o.N < 1 || !(o.Sigma > 0) {
			return Pooled{}, errPrior
		}
		w := 1 / o.variance()
		sw, sw2, swy = sw+w, sw2+w*w, swy+w*float64(o.Mean)
	}
	p, q := Pooled{Fixed: unit.Dioptre(swy / sw)}, 0.0
	for _, o := range list {
		d := float64(o.Mean - p.Fixed)
		q += d * d / o.variance()
	}
	df := float64(len(list) - 1)
	p.Q, p.Tau2 = unit.Ratio(q), max(0, (q-df)/(sw-sw2/sw))
	if q > df {
		p.I2 = unit.Ratio((q - df) / q)
	}
	return p.draw(list), nil
}

func (o Observed) variance() float64 { return float64(o.Sigma*o.Sigma) / float64(o.N) }

// draw shrinks each series towards the common mean.
func (p Pooled) draw(list []Observed) Pooled {
	var sw, swy float64
	for _, o := range list {
		w := 1 / (p.Tau2 + o.variance())
		sw, swy = sw+w, swy+w*float64(o.Mean)
	}
	p.Random, p.SE = unit.Dioptre(swy/sw), unit.Dioptre(1/math.Sqrt(sw))
	for _, o := range list {
		if p.Tau2 == 0 {
			p.Shrunk = append(p.Shrunk, Shrunk{Mean: p.Random, NextSD: o.Sigma, Low: p.Random, High: p.Random})
			continue
		}
		one, _ := Shrink(o, Prior{p.Random, unit.Dioptre(math.Sqrt(p.Tau2))}) // checked by Pool
		p.Shrunk = append(p.Shrunk, one)
	}
	return p
}
