package fluidics

import (
	"sync"

	"linn/unit"
)

// referenceTrace is case F01 every 5 ms.
var referenceTrace = sync.OnceValues(func() ([]Sample, error) {
	m := Reference()
	return m.Trace(Trace{Phases: StandardBreak().Phases(), Every: 0.005})
})

func waterRow(c cells) (results, error) {
	t := c.num("t")
	s, err := SalineAt(unit.Celsius(t))
	return results{"viscosity": 1000 * waterViscosity(t), "density": waterDensity(t), "vapour": float64(s.Vapour)}, err
}

func atmosphereRow(c cells) (results, error) {
	v, err := VacuumCeiling(unit.Metre(c.num("altitude")), Saline{})
	return results{"air": float64(v.Air.Pascal()) / 100}, err
}

func hydrostaticsRow(c cells) (results, error) {
	return results{"head": float64(unit.CentimetreWater(c.num("height")).MillimetreHg())}, nil
}

// vivoRow: the greatest and least chamber pressure around a complete break.
func vivoRow(c cells) (results, error) {
	m := c.model()
	a, err := m.Run(StandardBreak())
	return results{"greatest": float64(a.Blocked), "least": float64(a.Minimum)}, err
}

// headRow: the most the model can give without an offset is the head itself.
func headRow(c cells) (results, error) {
	m := c.model()
	return results{"pressure": float64(m.Head())}, nil
}

// canineRow: irrigation and aspiration at a low flow through the wide sleeve.
func canineRow(c cells) (results, error) {
	m := c.model()
	s, err := m.SteadyOpen()
	return results{"pressure": float64(s.Chamber)}, err
}

// sleeveRow: only the sleeve, as the published computation had no tubing, and
// no wound around it.
func sleeveRow(c cells) (results, error) {
	m := c.model()
	parts, err := m.Elements()
	if err != nil {
		return nil, err
	}
	return results{"pressure": float64(m.Head() - parts[2].Drop(m.Flow))}, nil
}

// activeLeakRow: the source keeps its pressure, which without a leak gives the
// stated chamber pressure; then the wounds open.
func activeLeakRow(c cells) (results, error) {
	m := Reference()
	m.Leak = 0
	m.Forced = unit.Known(unit.MillimetreHg(c.num("pressure")))
	s, err := m.SteadyOpen()
	if err != nil {
		return nil, err
	}
	m.Forced = unit.Reading[unit.MillimetreHg]{}
	m.Bottle = s.Supply.CentimetreWater()
	p, err := withLeak(m, c.num("leak"))
	return results{"change": p - c.num("pressure")}, err
}

func forcedRow(c cells) (results, error) {
	m := Reference()
	m.Forced = unit.Known(unit.MillimetreHg(c.num("preset")))
	s, err := m.SteadyOpen()
	return results{"pressure": float64(s.Chamber)}, err
}

// durationRow: until the chamber is within 2 mmHg of its final pressure, on the
// spring-eye bench.
func durationRow(c cells) (results, error) {
	m := Reference()
	m.Leak = 0
	m.Forced = unit.Known(unit.MillimetreHg(c.num("set")))
	m.VacuumLimit = unit.MillimetreHg(c.num("limit"))
	a, err := m.Run(StandardBreak())
	return results{"duration": 1000 * float64(a.Recovery)}, err
}

func chamberRow(c cells) (results, error) {
	v, err := Anterior{unit.Millimetre(c.num("depth")), unit.Micrometre(c.num("cornea")), unit.Millimetre(c.num("white"))}.Volume()
	return results{"volume": float64(v)}, err
}

// needleRow: how many times more flow the wider needle lets through at one
// pressure, the needle being the only, laminar resistance.
func needleRow(c cells) (results, error) {
	s, err := SalineAt(25)
	if err != nil {
		return nil, err
	}
	of := func(col string) float64 {
		return Tube{Bore: unit.Millimetre(c.num(col)), Length: 25}.element("", s.metric()).Resistance
	}
	return results{"times": of("narrow") / of("wide")}, nil
}

// leakVolumeRow: the volume the reference wound loses over a time at a pressure.
func leakVolumeRow(c cells) (results, error) {
	m := c.model()
	return results{"leaked": float64(m.Leak) * c.num("pressure") * c.num("time")}, nil
}
