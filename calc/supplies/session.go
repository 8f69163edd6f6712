package supplies

import (
	"errors"
	"slices"

	"linn/unit"
)

// Clock is a time of day in minutes after midnight.
type Clock int

// Stay is one operation's times in the theatre.
type Stay struct{ In, Knife, Close, Out Clock }

// Session is one planned session and the operations that were done in it, in
// the order they were done.
type Session struct {
	Start, End Clock
	Stays      []Stay
}

// Times is how a session went. What lies between two operations is counted
// from one patient leaving to the next coming in.
type Times struct {
	Planned, LateStart, FirstKnife, Early, Overrun unit.Minute
	Surgery, InRoom                                unit.Minute // sums
	BetweenMean, BetweenMedian, KnifeToKnife       unit.Reading[unit.Minute]
	Used                                           unit.Ratio // minutes in the room over the planned ones
	UsedWithin                                     unit.Ratio // the same, minutes after the end left out
	Operating                                      unit.Ratio // knife to close over the planned minutes
	PerHour                                        unit.Ratio // operations an hour of the planned session
}

// errOrder: an operation that ends before it begins, or before the one before
// it has left.
var errOrder = errors.New("supplies: the times of the session are not in order")

func (s Session) check() error {
	if err := within(bound{"session_start", float64(s.Start), 0, 24 * 60, "min"}, bound{"session_end", float64(s.End), float64(s.Start) + 1, 48 * 60, "min"},
		bound{"cases", float64(len(s.Stays)), 1, 500, ""}); err != nil {
		return err
	}
	last := Clock(0)
	for _, c := range s.Stays {
		if c.In < last || c.Knife < c.In || c.Close < c.Knife || c.Out < c.Close {
			return errOrder
		}
		last = c.Out
	}
	return nil
}

// Times adds a session up. The definitions are those in use in reports on
// theatre lists: late start, minutes between operations, minutes in the room
// over the planned ones with and without those after the planned end.
func (s Session) Times() (Times, error) {
	if err := s.check(); err != nil {
		return Times{}, err
	}
	first, last := s.Stays[0], s.Stays[len(s.Stays)-1]
	planned := float64(s.End - s.Start)
	t := Times{Planned: unit.Minute(planned), LateStart: minutes(first.In - s.Start), FirstKnife: minutes(first.Knife - s.Start), Early: minutes(s.End - last.Out), Overrun: minutes(last.Out - s.End)}
	var between, knives []float64
	inside := Clock(0)
	for i, c := range s.Stays {
		t.Surgery += unit.Minute(c.Close - c.Knife)
		t.InRoom += unit.Minute(c.Out - c.In)
		inside += max(min(c.Out, s.End)-max(c.In, s.Start), 0)
		if i > 0 {
			between = append(between, float64(c.In-s.Stays[i-1].Out))
			knives = append(knives, float64(c.Knife-s.Stays[i-1].Knife))
		}
	}
	t.BetweenMean, t.BetweenMedian, t.KnifeToKnife = mean(between), median(between), mean(knives)
	t.Used, t.UsedWithin = unit.Ratio(float64(t.InRoom)/planned), unit.Ratio(float64(inside)/planned)
	t.Operating, t.PerHour = unit.Ratio(float64(t.Surgery)/planned), unit.Ratio(float64(len(s.Stays))/(planned/60))
	return t, nil
}

// minutes of a difference, 0 when it is none.
func minutes(d Clock) unit.Minute { return unit.Minute(max(d, 0)) }

func mean(list []float64) unit.Reading[unit.Minute] {
	if len(list) == 0 {
		return unit.Reading[unit.Minute]{}
	}
	sum := 0.0
	for _, v := range list {
		sum += v
	}
	return unit.Known(unit.Minute(sum / float64(len(list))))
}

func median(list []float64) unit.Reading[unit.Minute] {
	if len(list) == 0 {
		return unit.Reading[unit.Minute]{}
	}
	list = slices.Sorted(slices.Values(list))
	n := len(list)
	return unit.Known(unit.Minute((list[(n-1)/2] + list[n/2]) / 2))
}

// Tables is how patients go through the theatre: the surgeon's minutes and
// those it takes to change a patient.
type Tables struct{ Surgery, Turn unit.Minute }

// Cycle is the minutes from one operation to the next: on one table, or with
// one surgeon between two tables, where the change goes on meanwhile.
func (t Tables) Cycle(two bool) (unit.Minute, error) {
	if err := within(bound{"surgery_min", float64(t.Surgery), 0.5, 600, "min"}, bound{"turn_min", float64(t.Turn), 0, 600, "min"}); err != nil {
		return 0, err
	}
	whole := t.Surgery + t.Turn
	if two {
		return max(t.Surgery, whole/2), nil
	}
	return whole, nil
}

// Capacity is how many operations a session holds at that cycle.
func (t Tables) Capacity(session unit.Minute, two bool) (int, error) {
	cycle, err := t.Cycle(two)
	if err == nil {
		err = within(bound{"session_min", float64(session), 1, 24 * 60, "min"})
	}
	if err != nil {
		return 0, err
	}
	return int(session / cycle), nil
}
