package pathway

import (
	"linn/calc/fluidics"
	"linn/finding"
	"linn/unit"
)

// The parts of a happening, for those who print it.
type (
	Happening = fluidics.Happening
	Script    = fluidics.Script
)

// The happenings that a chamber is tried with.
const (
	AirInLine    = fluidics.AirInLine
	PedalPath    = fluidics.PedalPath
	BottleChange = fluidics.BottleChange
	KinkedLine   = fluidics.KinkedLine
	PowerFails   = fluidics.PowerFails
	PieceByPiece = fluidics.PieceByPiece
)

// Happenings lists them.
func Happenings() []Happening { return fluidics.Happenings() }

// UsualScript is a happening with the numbers it has when nobody says others;
// our own choice.
func UsualScript(kind Happening) Script {
	s := Script{Kind: kind, Lasts: 3, Noted: 2, Kink: 5, Pieces: 4, Air: 50}
	switch kind {
	case PieceByPiece:
		s.Lasts = 1
	case BottleChange:
		s.Lasts = 10
	}
	return s
}

// HappeningStretch is one stretch of a happening with what it does over the
// lines in use.
type HappeningStretch struct {
	Key          string
	Begins, Ends unit.Second
	Least, Most  fluidics.Range[unit.MillimetreHg] // of the pressures in it
	Lost         fluidics.Range[unit.Microlitre]
	Irrigated    fluidics.Range[unit.Microlitre]
	Aspirated    fluidics.Range[unit.Microlitre]
	Leaked       fluidics.Range[unit.Microlitre]
	Above        fluidics.Range[unit.Second]
	Collapses    []LineCollapse
}

// LineCollapse is when the chamber collapses with a line.
type LineCollapse struct {
	Line unit.MicrolitrePerMmHg
	At   unit.Second // since the start
}

// HappeningAnswer is a happening in the model.
type HappeningAnswer struct {
	Settings   ChamberSettings
	Script     Script
	Stretches  []HappeningStretch
	Lines      []LineTrace                      // a stiff, a standard and a soft line, and the one given
	WithoutAir *fluidics.Range[unit.Microlitre] // of air in the line: what is lost at the break without it
	Added      unit.MicrolitrePerMmHg           // of air in the line: the compliance it adds at the limit
}

// Holds is what the chamber holds.
func (a *HappeningAnswer) Holds() unit.Microlitre {
	m := a.Settings.Model()
	return m.ChamberVolume
}

// Worst is the stretch with the least pressure.
func (a *HappeningAnswer) Worst() *HappeningStretch {
	worst := &a.Stretches[0]
	for i := range a.Stretches {
		if a.Stretches[i].Least.Low < worst.Least.Low {
			worst = &a.Stretches[i]
		}
	}
	return worst
}

// HappeningOf plays a script with every line in use.
func HappeningOf(s ChamberSettings, script Script) (HappeningAnswer, finding.Refusals) {
	a := HappeningAnswer{Settings: s, Script: script}
	steps, err := script.Steps(s.Opening.Or(0))
	if err != nil {
		return a, outside(err)
	}
	phases := make([]fluidics.Phase, len(steps))
	for i, st := range steps {
		phases[i] = st.Phase
	}
	m := script.On(s.Model())
	for _, line := range fluidics.LinesInUse(m.Compliance) {
		m.Compliance = line
		played, err := m.Play(phases)
		if err != nil {
			return a, outside(err)
		}
		every := max(traceEvery, played[len(played)-1].Ends/2000) // no more samples than a picture shows
		samples, err := m.Trace(fluidics.Trace{Phases: phases, Every: every})
		if err != nil {
			return a, outside(err)
		}
		collapse := a.gather(steps, played, line)
		a.Lines = append(a.Lines, LineTrace{Line: line, Samples: samples, Collapse: collapse})
	}
	return a, a.compareAir()
}

// gather adds what one line did.
func (a *HappeningAnswer) gather(steps []fluidics.Step, played []fluidics.Passage, line unit.MicrolitrePerMmHg) (collapse bool) {
	for i, p := range played {
		if len(a.Stretches) == i {
			a.Stretches = append(a.Stretches, HappeningStretch{Key: steps[i].Key, Begins: p.Begins, Ends: p.Ends, Least: fluidics.One(p.Least.Pressure), Most: fluidics.One(p.Greatest.Pressure),
				Lost: fluidics.One(p.Lost), Irrigated: fluidics.One(p.Irrigated), Aspirated: fluidics.One(p.Aspirated), Leaked: fluidics.One(p.Leaked), Above: fluidics.One(p.AboveHigh)})
		}
		s := &a.Stretches[i]
		s.Least.Add(p.Least.Pressure)
		s.Most.Add(p.Greatest.Pressure)
		s.Lost.Add(p.Lost)
		s.Irrigated.Add(p.Irrigated)
		s.Aspirated.Add(p.Aspirated)
		s.Leaked.Add(p.Leaked)
		s.Above.Add(p.AboveHigh)
		if p.Collapse.Known {
			collapse = true
			s.Collapses = append(s.Collapses, LineCollapse{line, p.Collapse.Value})
		}
	}
	return collapse
}

// compareAir says what the same break does without the air.
func (a *HappeningAnswer) compareAir() finding.Refusals {
	if a.Script.Kind != AirInLine || a.Script.Air == 0 {
		return nil
	}
	m := a.Script.On(a.Settings.Model())
	_, added, err := m.Air.Under(m.VacuumLimit)
	if err != nil {
		return outside(err)
	}
	dry := a.Script
	dry.Air = 0
	without, refused := HappeningOf(a.Settings, dry)
	if len(refused) > 0 {
		return refused
	}
	a.Added, a.WithoutAir = added, &without.Stretches[len(without.Stretches)-1].Lost
	return nil
}

// HappeningTrace samples a script every 5 ms with the settings' own line.
func HappeningTrace(s ChamberSettings, script Script) ([]ChamberSample, finding.Refusals) {
	steps, err := script.Steps(s.Opening.Or(0))
	if err != nil {
		return nil, outside(err)
	}
	phases := make([]fluidics.Phase, len(steps))
	for i, st := range steps {
		phases[i] = st.Phase
	}
	m := script.On(s.Model())
	list, err := m.Trace(fluidics.Trace{Phases: phases, Every: traceEvery})
	return list, outside(err)
}
