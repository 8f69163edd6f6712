package pathway

import (
	"linn/internal/care/followup"
	"linn/internal/care/operation"
	"linn/unit"
)

// Planned is what the signed plan says of an operation.
type Planned = operation.Planned

// PreparedAfter judges an operation that stands in no record: for canned pages.
func PreparedAfter(p Planned, r operation.Record, today unit.Date) After {
	a := After{Planned: p, Record: r, Read: r.Read(), Missing: r.Missing(), Findings: operation.Check(r, p, today), Hands: map[string]string{},
		Eye: followup.Eye{On: r.On(), Technique: r.Ended()}}
	a.Status, a.Next = a.Eye.StatusOn(today)
	return a
}

// PreparedVisits adds visits that stand in no record, all by one person.
func PreparedVisits(a After, visits []Visit, by string, today unit.Date) After {
	a.Eye.Visits = visits
	a.Visits = nil
	a.Status, a.Next = a.Eye.StatusOn(today)
	for i, v := range visits {
		seen := VisitSeen{Visit: v, Index: i, Name: by, Read: v.Read()}
		seen.Day, seen.Known = a.Eye.Day(v)
		if v.Withdrawn == "" {
			seen.Findings = followup.Check(v, a.Eye, today)
		}
		a.Visits = append(a.Visits, seen)
	}
	return a
}

// PreparedRow is a row of the round that stands in no record.
func PreparedRow(on, today unit.Date, visits []Visit) (r RoundRow) {
	e := followup.Eye{On: on, Visits: visits}
	r.On = on
	r.Status, r.Next = e.StatusOn(today)
	if seen := followup.Standing(visits); len(seen) > 0 {
		r.Last = &seen[len(seen)-1]
		r.Findings = followup.Check(*r.Last, e, today)
	}
	return r
}
