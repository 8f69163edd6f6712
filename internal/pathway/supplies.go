package pathway

import (
	"linn/calc/supplies"
	"linn/finding"
	"linn/unit"
)

// The parts of the theatre's electric supply.
type (
	Load    = supplies.Load
	Demand  = supplies.Demand
	Battery = supplies.Battery
	Bottles = supplies.Bottles
)

// Lead and lithium batteries as they usually are.
func Lead() Battery    { return supplies.LeadAcid() }
func Lithium() Battery { return supplies.Lithium() }

// PowerInput is what runs, from what, and the operation on the table.
type PowerInput struct {
	Loads   []Load
	Battery Battery
	Label   unit.AmpereHour
	Goal    unit.Minute // that the battery must last
	Elapsed unit.Minute // of the operation on the table
	Past    []unit.Minute
	Case    unit.Minute // with everything running
	Cases   int         // on the list
	Bottles Bottles
}

// PowerAnswer is what the supply has to be and how long it lasts.
type PowerAnswer struct {
	Demand   Demand
	Needs    unit.WattHour // label of the battery for the goal
	Charge   unit.AmpereHour
	Lasts    unit.Minute
	Remains  unit.Reading[unit.Minute] // 90th centile of what such an operation still takes
	PerCase  unit.WattHour
	PerList  unit.WattHour
	Bottles  supplies.Change
	Findings []finding.Finding
}

// Power works out a theatre's supply.
func Power(in PowerInput) (a PowerAnswer, refused finding.Refusals) {
	err := func() (err error) {
		if a.Demand, err = supplies.Sum(in.Loads); err != nil {
			return err
		}
		if a.Needs, a.Charge, err = in.Battery.Size(supplies.Draw{Power: a.Demand.Running, Time: in.Goal}); err != nil {
			return err
		}
		if a.Lasts, err = (supplies.Bank{Battery: in.Battery, Label: in.Label}).Lasts(a.Demand.Running); err != nil {
			return err
		}
		running := supplies.Running{Elapsed: in.Elapsed, Past: in.Past}
		if a.Remains, err = running.Remaining(); err != nil {
			return err
		}
		if a.Findings, err = running.Check(a.Lasts); err != nil {
			return err
		}
		a.Bottles, err = in.Bottles.Plan()
		return err
	}()
	a.PerCase = supplies.Draw{Power: a.Demand.Running, Time: in.Case}.Energy()
	a.PerList = a.PerCase * unit.WattHour(in.Cases)
	a.Findings = append(a.Demand.Findings, a.Findings...)
	return a, outside(err)
}
