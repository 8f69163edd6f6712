package pathway

import (
	"context"
	"slices"
	"strings"

	"linn/calc/fluidics"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/sheet"
	"linn/unit"
)

// OperationPhases are the phases of an operation with settings of their own.
var OperationPhases = []string{"groove", "segment-removal", "cortex", "washout"}

// PhaseKeys are what a surgeon sets for a phase.
var PhaseKeys = []string{"bottle_cm", "forced_mmhg", "flow_ml_min", "vacuum_limit_mmhg", "power_pct"}

// Phases are a machine's settings by phase, as typed.
type Phases struct {
	Case     string
	Seen     int
	Machine  string                       // chain of the machine on the Shelf, "" for none
	Settings map[string]map[string]string // phase → key → text
}

// phaseText reads one setting: its value with the unit, as it is printed.
func phaseText(key, text string) (string, *finding.Refusal) {
	f := eye.Field{Key: key, Unit: "%", Bounds: unit.Bounds{Low: 0, High: 100}, Number: true}
	if key != "power_pct" {
		of := fluidics.FieldNamed(key)
		f = eye.Field{Key: key, Unit: of.Unit, Bounds: of.Bounds, Number: true}
	}
	if _, err := unit.Parse[unit.Ratio](text, f.Key, f.Unit, f.Bounds); err != nil {
		r := f.Refusal(err)
		return "", &r
	}
	return strings.Replace(text, ",", ".", 1) + unit.Thin + f.Unit, nil
}

// read is what of the form is typed, or every reason it is refused.
func (f Phases) read() (map[string]map[string]string, error) {
	out := map[string]map[string]string{}
	var bad finding.Refusals
	for _, phase := range OperationPhases {
		for _, key := range PhaseKeys {
			text := strings.TrimSpace(f.Settings[phase][key])
			if text == "" {
				continue
			}
			if _, r := phaseText(key, text); r != nil {
				bad = append(bad, *r)
				continue
			}
			out[phase] = with(out[phase], key, text)
		}
		if out[phase]["bottle_cm"] != "" && out[phase]["forced_mmhg"] != "" {
			bad = append(bad, finding.Refusal{Code: "both-given", Field: "forced_mmhg", Values: finding.Values{value("other", "bottle_cm")}})
		}
	}
	if len(out) == 0 {
		out = nil
	}
	return out, bad.Err()
}

// SetPhases keeps the settings by phase that the surgeon typed. They are
// printed as typed; no number of a model ever is. The second person does not
// read them, and need not read again.
func (p *Pathway) SetPhases(ctx context.Context, by casebook.Actor, f Phases) (j Journey, err error) {
	err = p.do(ctx, by, VerbPhases, func(t *turn) error {
		settings, err := f.read()
		if err != nil {
			return err
		}
		if f.Machine != "" {
			if _, _, err := casebook.Load[casebook.Machine](t.tx, f.Machine); err != nil {
				return err
			}
		}
		err = t.change(f.Case, f.Seen, casebook.VerbPhases, "", func(c *caseAt) error {
			if err := t.writable(c); err != nil {
				return err
			}
			c.Machine, c.Phases = f.Machine, settings
			return nil
		})
		if err != nil {
			return err
		}
		j, err = t.journey(f.Case)
		return err
	})
	return j, err
}

// ChamberStage is what the page of an eye says of its chamber.
type ChamberStage struct {
	Machine  string
	Machines []ShelfMachine
	Settings map[string]map[string]string

	Volume  unit.Reading[unit.Microlitre] // of this eye's anterior chamber, by a spherical cap
	Missing []string                      // readings the volume lacks

	// Of a machine that was calibrated on site; empty for any other.
	Advice []PhaseAdvice
}

// PhaseAdvice compares settings of one phase in the model with the machine's
// own numbers and this eye's chamber.
type PhaseAdvice struct {
	Phase    string
	Answer   ChamberAnswer
	Collapse bool
	Best     *fluidics.Change // the single change that buys most, nil when none does
	Map      EnvelopeLayer
}

// envelopePoints is how fine the map of an eye is.
const envelopePoints = 12

func (t *turn) chamberStage(s *situation) (c ChamberStage, err error) {
	c = ChamberStage{Machine: s.Machine, Settings: s.Phases}
	if c.Machines, err = t.machines(); err != nil {
		return c, err
	}
	for key, known := range map[string]bool{"acd_mm": s.Eye.ACD.Known, "corneal_thickness_um": s.Eye.CornealThickness.Known, "white_to_white_mm": s.Eye.WhiteToWhite.Known} {
		if !known {
			c.Missing = append(c.Missing, key)
		}
	}
	slices.Sort(c.Missing)
	if len(c.Missing) == 0 {
		v, err := fluidics.Anterior{Depth: s.Eye.ACD.Value, CornealThickness: s.Eye.CornealThickness.Value, WhiteToWhite: s.Eye.WhiteToWhite.Value}.Volume()
		if err == nil {
			c.Volume = unit.Known(v)
		}
	}
	i := slices.IndexFunc(c.Machines, func(m ShelfMachine) bool { return m.ID == s.Machine })
	if i < 0 || !c.Machines[i].Fit.Complete() {
		return c, nil
	}
	for _, phase := range OperationPhases {
		if a, ok := c.Machines[i].Advice(phase, s.Phases[phase], c.Volume); ok {
			c.Advice = append(c.Advice, a)
		}
	}
	return c, nil
}

// Advice compares what was typed for a phase; a phase without a vacuum limit,
// a flow and a supply has none.
func (m *ShelfMachine) Advice(phase string, typed map[string]string, volume unit.Reading[unit.Microlitre]) (a PhaseAdvice, ok bool) {
	if typed["vacuum_limit_mmhg"] == "" || typed["flow_ml_min"] == "" || typed["bottle_cm"]+typed["forced_mmhg"] == "" {
		return a, false
	}
	set, refused := ChamberTexts(typed)
	if len(refused) > 0 {
		return a, false
	}
	set.TipGauge, set.Incision = m.Data.Settings.TipGauge, m.Data.Settings.Incision
	if volume.Known {
		set.ChamberVolume = volume
	}
	model := set.Model()
	if m.Fit.Apply(&model) != nil {
		return a, false
	}
	answer, err := model.Run(set.Break())
	if err != nil {
		return a, false
	}
	a = PhaseAdvice{Phase: phase, Answer: ChamberAnswer{Settings: set, Answer: answer}, Collapse: answer.Collapse}
	if a.Answer.Spread, err = model.Spread(set.Break()); err != nil {
		return a, false
	}
	_, changes, err := model.Changes(set.Break())
	if err == nil {
		for i := range changes { // what can be set, not what must be bought, and still does the phase's work
			c := &changes[i]
			if c.Steadier > 0 && slices.Contains(PhaseKeys, c.Key) && c.To >= c.From/2 {
				a.Best = c
				break
			}
		}
	}
	a.Map, refused = envelopeOf(model, set, set.Flow.Value, envelopePoints, []unit.MicrolitrePerMmHg{model.Compliance})
	return a, len(refused) == 0
}

// phasesPrinted are the settings by phase as the sheet prints them.
func phasesPrinted(settings map[string]map[string]string) (list []sheet.Phase) {
	for _, phase := range OperationPhases {
		p := sheet.Phase{Phase: phase}
		for _, key := range PhaseKeys {
			if typed := settings[phase][key]; typed != "" {
				if text, r := phaseText(key, typed); r == nil {
					p.Settings = append(p.Settings, sheet.Setting{Key: key, Text: text})
				}
			}
		}
		if len(p.Settings) > 0 {
			list = append(list, p)
		}
	}
	return list
}
