package risk

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"

	"linn/source"
)

// FileFormat is the name and version of a model file.
const FileFormat = "linn.risk-model/1"

// file is a model as written; a null ratio is a coefficient that was never
// obtained.
type file struct {
	Format    string   `json:"format"`
	ID        string   `json:"id"`
	Version   string   `json:"version"`
	Outcome   string   `json:"outcome"`
	Setting   string   `json:"setting"`
	Years     string   `json:"years"`
	Technique string   `json:"technique"`
	Baseline  *float64 `json:"baseline"`
	Source    string   `json:"source"`
	Grade     string   `json:"grade"`
	Factors   []struct {
		Key    string `json:"key"`
		Levels []struct {
			Name  string   `json:"name"`
			Ratio *float64 `json:"odds_ratio"`
		} `json:"levels"`
	} `json:"factors"`
}

// ErrFile is what every refusal of a model file wraps.
var ErrFile = errors.New("model file refused")

// ParseModel reads a model file, so that a unit can enter a table it has in
// print. A missing coefficient or intercept, an unknown key, an unknown source
// or a level that stands twice refuses the whole file.
func ParseModel(data []byte) (Model, error) {
	var f file
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&f); err != nil {
		return Model{}, fmt.Errorf("risk: %w: %w", ErrFile, err)
	}
	if len(bytes.TrimSpace(data[dec.InputOffset():])) > 0 {
		return Model{}, fmt.Errorf("risk: %w: text after the model", ErrFile)
	}
	m, err := f.model()
	if err == nil {
		err = m.Check()
	}
	if err != nil {
		return Model{}, fmt.Errorf("risk: %w: %w", ErrFile, err)
	}
	return m, nil
}

func (f *file) model() (Model, error) {
	m := Model{ID: f.ID, Version: f.Version, Outcome: f.Outcome, Setting: f.Setting, Years: f.Years, Technique: f.Technique,
		Ref: source.Ref{Key: source.Key(f.Source), Grade: source.Grade(f.Grade)}}
	m.BaselineRef = m.Ref
	switch _, known := source.Lookup(m.Ref.Key); {
	case f.Format != FileFormat:
		return m, fmt.Errorf("format %q", f.Format)
	case f.ID == "" || f.Version == "" || f.Technique == "":
		return m, errors.New("id, version and technique are needed")
	case !known || !m.Ref.Grade.Valid():
		return m, fmt.Errorf("source %q with grade %q", f.Source, f.Grade)
	case f.Baseline == nil:
		return m, fmt.Errorf("%w: baseline", ErrCoefficient)
	}
	m.Baseline = *f.Baseline
	for _, x := range f.Factors {
		factor := Factor{Key: x.Key}
		for _, l := range x.Levels {
			level := Level{Name: l.Name, Known: l.Ratio != nil}
			if level.Known {
				level.Ratio = *l.Ratio
			}
			factor.Levels = append(factor.Levels, level)
		}
		m.Factors = append(m.Factors, factor)
	}
	return m, nil
}
