package fluidics

import (
	"errors"
	"math"
	"testing"

	"linn/unit"
)

// The line's compliance with air in it is that of the walls and of Bubble.Under,
// whose rows stand in testdata (50 µL under 400 mmHg: 0.293 µL/mmHg).
func TestAirInTheLine(t *testing.T) {
	m := Reference()
	m.Air = Bubble{50, 760}
	c, err := m.circuit()
	if err != nil {
		t.Fatal(err)
	}
	for _, vacuum := range []float64{0, 100, 250, 400, 600} {
		_, added, err := m.Air.Under(unit.MillimetreHg(vacuum))
		got, slope := c.compliance(-vacuum)
		if err != nil || math.Abs(got-float64(m.Compliance)-float64(added)) > 1e-12 {
			t.Errorf("at %v mmHg: %v, want the walls' and %v (%v)", vacuum, got, added, err)
		}
		up, _ := c.compliance(-vacuum + 1e-4)
		down, _ := c.compliance(-vacuum - 1e-4)
		if want := (up - down) / 2e-4; math.Abs(slope-want) > 1e-6*(1+math.Abs(want)) {
			t.Errorf("at %v mmHg: slope %v, quotient %v", vacuum, slope, want)
		}
	}
}

// While a peristaltic pump takes its full flow behind a blocked tip, the time
// from one vacuum to another is the volume that walls and air give up over the
// flow, C·Δp and V·p = constant (Boyle): a second way to the integrator's rise.
func TestAirFillsByBoyle(t *testing.T) {
	m := Reference()
	m.Air = Bubble{80, 760}
	const low, high = 60.0, 340.0 // below the part of the limit over which the pump slows
	samples, err := m.Trace(Trace{Phases: []Phase{{Lasts: 2, Tip: Blocked}}, Every: 1e-4})
	if err != nil {
		t.Fatal(err)
	}
	reach := func(vacuum float64) float64 {
		for i := 1; i < len(samples); i++ {
			if a, b := -float64(samples[i-1].Node), -float64(samples[i].Node); b >= vacuum {
				return float64(samples[i-1].At) + 1e-4*(vacuum-a)/(b-a)
			}
		}
		return math.NaN()
	}
	volume := float64(m.Compliance)*(high-low) + 80*760*(1/(760-high)-1/(760-low))
	want := volume / float64(m.Flow.MicrolitrePerSecond())
	if got := reach(high) - reach(low); math.Abs(got-want) > 2e-5 {
		t.Errorf("from %v to %v mmHg in %.6f s, Boyle says %.6f", low, high, got, want)
	}
}

// More air, more lost at the break behind a peristaltic pump. A vacuum pump
// holds the vacuum in its cassette: there air changes the loss by little.
func TestMoreAirLosesMore(t *testing.T) {
	lost := func(m Model, air unit.Microlitre) float64 {
		t.Helper()
		s := Script{Kind: AirInLine, Lasts: 3, Air: air}
		steps, err := s.Steps(0)
		if err != nil {
			t.Fatal(err)
		}
		m = s.On(m)
		list, err := m.Play(phasesOf(steps))
		if err != nil {
			t.Fatal(err)
		}
		return float64(list[2].Lost)
	}
	roller, vacuum := Reference(), Reference()
	vacuum.Pump, vacuum.VacuumLimit = Vacuum, 150 // with more the chamber does not stand even before
	last := 0.0
	for _, air := range []unit.Microlitre{0, 10, 50, 150} {
		got := lost(roller, air)
		if got <= last {
			t.Errorf("%v of air: %v µL lost, with less air %v", air, got, last)
		}
		last = got
		if dry, wet := lost(vacuum, 0), lost(vacuum, air); math.Abs(wet/dry-1) > 0.1 {
			t.Errorf("vacuum pump, %v of air: %v µL lost, %v without", air, wet, dry)
		}
	}
}

func phasesOf(steps []Step) (list []Phase) {
	for _, s := range steps {
		list = append(list, s.Phase)
	}
	return list
}

// Every happening, on a bottle and on forced infusion and with either pump: the
// volume is the integral of the flows, and what befalls shows where it must.
func TestHappenings(t *testing.T) {
	for _, forced := range []bool{false, true} {
		for _, pump := range []Pump{Peristaltic, Vacuum} {
			for _, kind := range Happenings() {
				m := Reference()
				if m.Pump = pump; pump == Vacuum {
					m.VacuumLimit = 150
				}
				if forced {
					m.Forced = unit.Known(unit.MillimetreHg(50))
				}
				s := Script{Kind: kind, Lasts: 3, Noted: 1, Kink: 5, Pieces: 3, Air: 50}
				steps, err := s.Steps(0)
				if err != nil {
					t.Fatal(err)
				}
				m = s.On(m)
				list, err := m.Play(phasesOf(steps))
				if err != nil {
					t.Fatalf("%s: %v", kind, err)
				}
				samples, err := m.Trace(Trace{Phases: phasesOf(steps), Every: 0.01})
				if err != nil {
					t.Fatal(err)
				}
				gained := 0.0
				for i, p := range list {
					gained += float64(p.Irrigated - p.Aspirated - p.Leaked)
					if k := steps[i].Key; (k == "empty" || k == "changing" || k == "rest") && math.Abs(float64(p.Irrigated)) > 1e-6 {
						t.Errorf("%s, %s: %v µL came in", kind, k, float64(p.Irrigated))
					}
				}
				last := samples[len(samples)-1]
				if math.Abs(gained-float64(last.Volume)) > 1e-3*(1+math.Abs(gained)) && math.Abs(gained-float64(last.Volume)) > 0.01 {
					t.Errorf("%s: flows add up to %v µL, the chamber gained %v", kind, gained, float64(last.Volume))
				}
				if kind == PowerFails && list[1].Collapse.Known != forced {
					t.Errorf("forced %v: the power fails and collapse is %v", forced, list[1].Collapse)
				}
				if kind == BottleChange && !list[1].Collapse.Known {
					t.Errorf("an empty bottle with the pump running for 1 s: no collapse: %+v", list[1])
				}
			}
		}
	}
}

func TestScriptRefuses(t *testing.T) {
	for _, s := range []Script{{Kind: "flood", Lasts: 1}, {Kind: AirInLine, Lasts: 3, Air: 900}, {Kind: AirInLine, Lasts: 3, Air: -1}, {Kind: PieceByPiece, Lasts: 1},
		{Kind: KinkedLine, Lasts: 1, Kink: -1}, {Kind: PowerFails}, {Kind: BottleChange, Lasts: 1}, {Kind: PedalPath, Lasts: unit.Second(math.NaN())}} {
		if _, err := s.Steps(0); !errors.Is(err, unit.ErrRange) {
			t.Errorf("%+v: %v", s, err)
		}
	}
	m := Reference()
	m.Air, m.VacuumLimit = Bubble{50, 500}, 490 // the air would be all but gone
	if _, err := m.Play([]Phase{{Lasts: 1}}); !errors.Is(err, unit.ErrRange) {
		t.Error(err)
	}
}
