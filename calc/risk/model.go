package risk

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"linn/source"
)

// Level is one level of a factor with its odds ratio; Known is false in a
// model whose table was never obtained.
type Level struct {
	Name  string
	Ratio float64
	Known bool
	Never string // why the ratio is not to be applied, "" when it is
}

// Factor is one input of a model. Its first level is the reference.
type Factor struct {
	Key    string
	Levels []Level
}

// Model is a published model of odds ratios: odds = odds0 × product.
type Model struct {
	ID, Version string
	Outcome     string // key of what it is the risk of
	Setting     string
	Years       string
	Technique   string // the operation it was made from
	Baseline    float64
	Ref         source.Ref // of the ratios
	BaselineRef source.Ref
	Old         bool // its baseline lies above what is seen today
	Factors     []Factor
}

// Findings are the levels that were answered, by factor. A factor that is
// absent was not answered.
type Findings map[string]string

// Estimate is one probability with the range that the unanswered factors
// leave.
type Estimate struct {
	Model     string
	Composite float64 // product of the answered ratios
	P         float64 // with the unanswered factors left out
	Low, High float64 // over every answer the unanswered factors could have
	Missing   []string
}

// The errors of a model.
var (
	ErrCoefficient = errors.New("a coefficient is missing")
	ErrLevel       = errors.New("the model has no such level")
)

// Check refuses a model that could only be guessed with: a missing
// coefficient or intercept, a factor or level twice, a ratio that is none.
func (m *Model) Check() error {
	if !(m.Baseline > 0 && m.Baseline < 1) {
		return fmt.Errorf("risk: %s: %w: baseline", m.ID, ErrCoefficient)
	}
	if len(m.Factors) == 0 || m.Outcome == "" {
		return fmt.Errorf("risk: %s: %w: factors and outcome", m.ID, ErrCoefficient)
	}
	seen := map[string]bool{}
	for _, f := range m.Factors {
		if seen[f.Key] || f.Key == "" {
			return fmt.Errorf("risk: %s: factor %q stands twice or has no name", m.ID, f.Key)
		}
		seen[f.Key] = true
		if err := f.check(); err != nil {
			return fmt.Errorf("risk: %s: %w", m.ID, err)
		}
	}
	return nil
}

func (f *Factor) check() error {
	seen := map[string]bool{}
	if len(f.Levels) < 2 {
		return fmt.Errorf("%w: %s needs two levels", ErrCoefficient, f.Key)
	}
	for i, l := range f.Levels {
		switch {
		case seen[l.Name] || l.Name == "":
			return fmt.Errorf("level %q of %s stands twice or has no name", l.Name, f.Key)
		case !l.Known || math.IsNaN(l.Ratio) || math.IsInf(l.Ratio, 0) || l.Ratio <= 0:
			return fmt.Errorf("%w: %s, %s", ErrCoefficient, f.Key, l.Name)
		case i == 0 && l.Ratio != 1:
			return fmt.Errorf("the first level of %s is the reference and has ratio 1", f.Key)
		}
		seen[l.Name] = true
	}
	return nil
}

// Estimate multiplies the ratios of what was answered. shift moves the log
// odds to the unit's own rate, see [Calibrate]; 0 takes the published
// baseline. A level the model does not know is an error that wraps ErrLevel.
func (m *Model) Estimate(f Findings, shift float64) (Estimate, error) {
	e := Estimate{Model: m.ID, Composite: 1}
	if err := m.Check(); err != nil {
		return e, err
	}
	low, high := 1.0, 1.0
	for i := range m.Factors {
		x := &m.Factors[i]
		least, most := x.span()
		name, answered := f[x.Key]
		if !answered {
			e.Missing, low, high = append(e.Missing, x.Key), low*least, high*most
			continue
		}
		at := slices.IndexFunc(x.Levels, func(l Level) bool { return l.Name == name })
		if at < 0 || x.Levels[at].Never != "" {
			return e, fmt.Errorf("risk: %s: %w: %s %q", m.ID, ErrLevel, x.Key, name)
		}
		e.Composite *= x.Levels[at].Ratio
	}
	odds := func(by float64) float64 {
		return probability(math.Log(m.Baseline/(1-m.Baseline)) + shift + math.Log(e.Composite*by))
	}
	e.P, e.Low, e.High = odds(1), odds(low), odds(high)
	return e, nil
}

// span is the least and the greatest ratio a factor could have.
func (f *Factor) span() (least, most float64) {
	least, most = math.Inf(1), 0
	for _, l := range f.Levels {
		if l.Never == "" {
			least, most = math.Min(least, l.Ratio), math.Max(most, l.Ratio)
		}
	}
	return least, most
}

func probability(logit float64) float64 { return 1 / (1 + math.Exp(-logit)) }
func logit(p float64) float64           { return math.Log(p / (1 - p)) }
