package invent

import (
	"slices"
	"testing"

	"linn/internal/care/followup"
	"linn/internal/care/operation"
	"linn/unit"
)

// Every story can be told: its fields are there, its texts are taken, its day
// lies before today, and it shows what it is there to show.
func TestDemoOperated(t *testing.T) {
	today := unit.Date{Year: 2026, Month: 3, Day: 2}
	statuses := map[followup.Status]int{}
	for _, o := range DemoOperated(today) {
		r := operation.Record{Values: o.Record}
		if bad := r.Read(); len(bad) > 0 {
			t.Errorf("%s: %v", o.Person.Name(), bad)
		}
		if o.DaysAgo < 1 || o.Eye.MeasuredOn.Before(today.AddDays(-200)) || !o.Eye.MeasuredOn.Before(today.AddDays(-o.DaysAgo)) {
			t.Errorf("%s: measured %s, operated %d days ago", o.Person.Name(), o.Eye.MeasuredOn, o.DaysAgo)
		}
		e := followup.Eye{On: today.AddDays(-o.DaysAgo), Technique: r.Ended()}
		for _, s := range o.Seen {
			v := followup.Visit{On: e.On.AddDays(s.Day), Kind: followup.Kind(s.Kind), Values: s.Values}
			if bad := v.Read(); len(bad) > 0 || !slices.Contains(followup.Kinds, v.Kind) || s.Day > o.DaysAgo {
				t.Errorf("%s day %d: %v", o.Person.Name(), s.Day, bad)
			}
			e.Visits = append(e.Visits, v)
		}
		got, _ := e.StatusOn(today)
		statuses[got]++
	}
	for status, n := range map[followup.Status]int{followup.Due: 3, followup.Overdue: 1, followup.Complete: 1} {
		if statuses[status] != n {
			t.Errorf("%d eyes are %s, not %d", statuses[status], status, n)
		}
	}
}
