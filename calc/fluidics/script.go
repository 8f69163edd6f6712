package fluidics

import (
	"math"

	"linn/unit"
)

// Happening is something that befalls a chamber beyond a single break.
type Happening string

// The happenings. Air sits in the aspiration line at a break; the pedal goes
// from aspiration to rest, to irrigation and back; the bottle runs empty and is
// changed; the irrigation is kinked; the power fails; a nucleus is taken piece
// by piece.
const (
	AirInLine    Happening = "air"
	PedalPath    Happening = "pedal"
	BottleChange Happening = "bottle"
	KinkedLine   Happening = "kink"
	PowerFails   Happening = "power-cut"
	PieceByPiece Happening = "pieces"
)

// Happenings lists them in the order they are shown.
func Happenings() []Happening {
	return []Happening{AirInLine, PedalPath, BottleChange, KinkedLine, PowerFails, PieceByPiece}
}

// Script is one happening with its numbers; each uses those that it names.
type Script struct {
	Kind   Happening
	Lasts  unit.Second     // of rest, change, kink, power cut, or of each piece's block: 0.1 to 120
	Noted  unit.Second     // bottle: the pump runs on that long before the foot comes up: 0.1 to 60
	Kink   unit.Ratio      // kink: what it adds to the sleeve's laminar resistance, in times that resistance: 0 to 1e4
	Pieces int             // pieces: 1 to 40
	Air    unit.Microlitre // air: the bubble at the air's pressure: 0 to 500
}

// The stretches around a happening, in s, and the air's pressure at sea level.
var (
	scriptBefore = declare("script-before", 1, "s", choice)
	scriptAfter  = declare("script-after", 3, "s", choice)
	scriptFree   = declare("script-free", 1.5, "s", choice)
	seaLevelAir  = declare("script-air", 760, "mmHg", choice)
)

// Step is one phase of a script with its key: steady, blocked, free, rest,
// irrigate, aspirate, empty, changing, kinked, dark, again.
type Step struct {
	Key string
	Phase
}

func (s *Script) check() error {
	bounds := []bound{{"lasts_s", float64(s.Lasts), 0.1, 120, "s"}, {"noted_s", float64(s.Noted), 0.1, 60, "s"}, {"kink_times", float64(s.Kink), 0, 1e4, ""},
		{"series_pieces", float64(s.Pieces), 1, 40, ""}, {"air_ul", float64(s.Air), 0, 500, "µL"}}
	used := map[Happening][]int{AirInLine: {0, 4}, PedalPath: {0}, BottleChange: {0, 1}, KinkedLine: {0, 2}, PowerFails: {0}, PieceByPiece: {0, 3}}[s.Kind]
	if used == nil {
		return &unit.RangeError{What: "happening", Unit: "one of " + string(AirInLine) + " to " + string(PieceByPiece)}
	}
	for _, i := range used {
		b := bounds[i]
		if err := inside(b.what, b.value, unit.Bounds{Low: b.low, High: b.high}, b.unit); err != nil {
			return err
		}
	}
	return nil
}

// Steps writes the script out from the steady state with the tip open. Opening
// is how long each break takes (0: at once). A number outside its domain is a
// *unit.RangeError.
func (s *Script) Steps(opening unit.Second) ([]Step, error) {
	if err := s.check(); err != nil {
		return nil, err
	}
	before, after, free := unit.Second(scriptBefore), unit.Second(scriptAfter), unit.Second(scriptFree)
	steady := Step{"steady", Phase{Lasts: before}}
	again := Step{"again", Phase{Lasts: after}}
	list := []Step{steady}
	switch s.Kind {
	case AirInLine:
		return append(list, Step{"blocked", Phase{Lasts: s.Lasts, Tip: Blocked}}, Step{"free", Phase{Lasts: after, Opening: opening}}), nil
	case PedalPath:
		return append(list, Step{"rest", Phase{Lasts: s.Lasts, Pedal: Rest}}, Step{"irrigate", Phase{Lasts: free, Pedal: Irrigate}}, Step{"aspirate", Phase{Lasts: after}}), nil
	case BottleChange:
		return append(list, Step{"empty", Phase{Lasts: s.Noted, Empty: true}}, Step{"changing", Phase{Lasts: s.Lasts, Pedal: Irrigate, Empty: true}},
			Step{"irrigate", Phase{Lasts: free, Pedal: Irrigate}}, Step{"aspirate", Phase{Lasts: after}}), nil
	case KinkedLine:
		return append(list, Step{"kinked", Phase{Lasts: s.Lasts, Kink: s.Kink}}, again), nil
	case PowerFails:
		return append(list, Step{"dark", Phase{Lasts: s.Lasts, PowerCut: true}}, again), nil
	}
	for range s.Pieces {
		list = append(list, Step{"blocked", Phase{Lasts: s.Lasts, Tip: Blocked}}, Step{"free", Phase{Lasts: free, Opening: opening}})
	}
	return list, nil
}

// On is the model as the script plays on it: with the script's air in its line.
func (s *Script) On(m Model) Model {
	if s.Kind == AirInLine {
		m.Air = Bubble{Volume: s.Air, Air: unit.MillimetreHg(seaLevelAir)}
	}
	return m
}

// thinnest is the least part of the air's pressure that the line's air is taken
// to: a node never gets there, and the equations stay finite on the way.
var thinnest = declare("script-air-thinnest", 0.02, "", choice)

// compliance of the line at node pressure p, and its slope: that of the walls,
// and of air that keeps V·p.
func (c *circuit) compliance(p float64) (v, slope float64) {
	if c.air == 0 {
		return c.compl, 0
	}
	left := c.sky + p
	if left < thinnest*c.sky {
		left = thinnest * c.sky
		return c.compl + c.air*c.sky/(left*left), 0
	}
	v = c.air * c.sky / (left * left)
	return c.compl + v, -2 * v / left
}

// airBounds are the domain of the model's air: none, or a bubble under a vacuum
// that leaves it some pressure.
func (m *Model) airBounds() []bound {
	if m.Air.Volume == 0 {
		return nil
	}
	return []bound{{"air_ul", float64(m.Air.Volume), 0, 500, "µL"}, {"air", float64(m.Air.Air), 300, 800, "mmHg"},
		{"vacuum_limit_mmhg", float64(m.VacuumLimit), 1, math.Floor(0.97 * float64(m.Air.Air)), "mmHg"}}
}
