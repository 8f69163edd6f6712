package supplies

import (
	"math"

	"linn/unit"
)

// Money is an amount in the place's own currency.
type Money float64

// Cost is what one way of operating costs at one place. Prices are the
// place's own: published ones are of other years and other currencies.
type Cost struct {
	Fixed        Money // of the period: rent, service, salaries that are paid anyway
	Cases        int   // of the period
	Staff        Money // an hour, of all who are paid by the hour
	StaffTime    unit.Minute
	Consumables  Money // an operation
	Lens         Money
	Complication Money      // what one costs on top
	Rate         unit.Ratio // of operations that have one
	Good         unit.Ratio // of eyes that reach the place's mark of good sight; 0: not asked
}

func (c Cost) check() error {
	const most = 1e9
	return within(bound{"fixed", float64(c.Fixed), 0, most, ""}, bound{"cases", float64(c.Cases), 1, 1e6, ""}, bound{"staff", float64(c.Staff), 0, most, ""},
		bound{"staff_min", float64(c.StaffTime), 0, 600, "min"}, bound{"consumables", float64(c.Consumables), 0, most, ""}, bound{"lens", float64(c.Lens), 0, most, ""},
		bound{"complication", float64(c.Complication), 0, most, ""}, bound{"rate", float64(c.Rate), 0, 1, ""}, bound{"good", float64(c.Good), 0, 1, ""})
}

// Varying is the part of the cost that each operation adds.
func (c Cost) Varying() Money {
	return c.Staff*Money(c.StaffTime)/60 + c.Consumables + c.Lens + c.Complication*Money(c.Rate)
}

// PerCase is the cost of one operation: its share of what is fixed, and what
// it adds.
func (c Cost) PerCase() (Money, error) {
	if err := c.check(); err != nil {
		return 0, err
	}
	return c.Fixed/Money(c.Cases) + c.Varying(), nil
}

// PerGood is the cost of one eye that sees well, when it is known how many do.
func (c Cost) PerGood() (unit.Reading[unit.Ratio], error) {
	per, err := c.PerCase()
	if err != nil || c.Good == 0 {
		return unit.Reading[unit.Ratio]{}, err
	}
	return unit.Known(unit.Ratio(float64(per) / float64(c.Good))), nil
}

// BreakEven is the number of operations a period above which c is the cheaper
// way of the two. Never, when c costs more both fixed and for each operation;
// 0 when it costs less in both.
func (c Cost) BreakEven(other Cost) (cases int, ever bool, err error) {
	for _, one := range []Cost{c, other} {
		if err := one.check(); err != nil {
			return 0, false, err
		}
	}
	more, saves := float64(c.Fixed-other.Fixed), float64(other.Varying()-c.Varying())
	switch {
	case more <= 0 && saves >= 0:
		return 0, true, nil
	case saves <= 0:
		return 0, false, nil
	}
	return int(math.Floor(more/saves)) + 1, true, nil
}
