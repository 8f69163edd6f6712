package followup

import (
	"linn/internal/care/operation"
	"linn/source"
	"linn/unit"
)

// Window is when a visit is expected, in days after the operation: due on Due,
// and early enough until Last.
type Window struct {
	Kind             Kind
	First, Due, Last int
}

// Schedule is the visits of one technique in order.
type Schedule []Window

// WindowsFrom says where the windows come from: common practice. The audited
// refraction lies at weeks 4 to 6; after sutured extracapsular surgery at 8 to
// 12, when sutures are out.
var WindowsFrom = source.Ref{Key: source.AfterPractice, Where: "day 1, week 1, weeks 4–6; 8–12 weeks after sutured surgery", Grade: source.Memory}

var usual = Schedule{{Day1, 1, 1, 2}, {Week1, 5, 7, 10}, {Weeks4to6, 28, 35, 42}}

// ScheduleOf is the schedule after a technique.
func ScheduleOf(t operation.Technique) Schedule {
	if t == operation.ECCE {
		return Schedule{usual[0], usual[1], {Weeks4to6, 56, 63, 84}}
	}
	return usual
}

// LostAfter is how many days after the end of a window nobody expects the eye
// any more, unless somebody traces it: our own choice.
const LostAfter = 60

// Status is how an operated eye stands with its visits.
type Status string

// The statuses.
const (
	Unknown  Status = "unknown"  // the day of the operation is not recorded
	Waiting  Status = "waiting"  // the next visit lies ahead
	Due      Status = "due"      // its window is open
	Overdue  Status = "overdue"  // its window has passed: to be traced
	Missing  Status = "lost"     // recorded as lost, or overdue for two months
	Complete Status = "complete" // every visit of the schedule was made
)

// Eye is what the follow-up needs to know of an operated eye.
type Eye struct {
	On        unit.Date // of the operation
	Technique operation.Technique
	Visits    []Visit
	Lost      *Lost
}

// Next is the visit an eye waits for.
type Next struct {
	Kind   Kind
	From   unit.Date // first day of the window
	On     unit.Date // the day it is due
	Until  unit.Date // last day of the window
	Missed []Kind    // visits of the schedule that were never made
}

// Next is the first visit of the schedule that was not made and that a later
// one does not stand for. done: every visit of the schedule was made.
func (e Eye) Next() (n Next, done bool) {
	windows := ScheduleOf(e.Technique)
	latest := -1
	made := map[Kind]bool{}
	for _, v := range Standing(e.Visits) {
		for i, w := range windows {
			if e.stands(v, w) {
				made[w.Kind] = true
				latest = max(latest, i)
			}
		}
	}
	for i, w := range windows {
		if made[w.Kind] {
			continue
		}
		if i < latest {
			n.Missed = append(n.Missed, w.Kind)
			continue
		}
		n.Kind, n.From, n.On, n.Until = w.Kind, days(e.On, w.First), days(e.On, w.Due), days(e.On, w.Last)
		return n, false
	}
	return n, true
}

// stands reports whether a visit is one of a window: by its kind, or, when it
// was for something else, by its day.
func (e Eye) stands(v Visit, w Window) bool {
	if v.Kind == w.Kind {
		return true
	}
	after, ok := e.On.DaysUntil(v.On)
	named := v.Kind == Day1 || v.Kind == Week1 || v.Kind == Weeks4to6
	return ok && !named && after >= w.First && after <= w.Last
}

// days moves an exact date by whole days.
func days(d unit.Date, n int) unit.Date {
	if !d.Exact() {
		return unit.Date{}
	}
	return d.AddDays(n)
}

// On tells how the eye stands on a civil day.
func (e Eye) StatusOn(today unit.Date) (Status, Next) {
	if e.Lost != nil && !e.seenSince() {
		n, _ := e.Next()
		return Missing, n
	}
	if !e.On.Exact() || !today.Exact() {
		return Unknown, Next{}
	}
	n, done := e.Next()
	if done {
		return Complete, n
	}
	past, _ := n.Until.DaysUntil(today)
	switch {
	case past > LostAfter:
		return Missing, n
	case past > 0:
		return Overdue, n
	case !today.Before(n.From):
		return Due, n
	}
	return Waiting, n
}

// seenSince reports whether the eye was seen on or after the day it was given
// up: then it is found again.
func (e Eye) seenSince() bool {
	for _, v := range Standing(e.Visits) {
		if !v.On.Before(e.Lost.On) {
			return true
		}
	}
	return false
}

// Day is the number of days after the operation, 0 on its day.
func (e Eye) Day(v Visit) (n int, known bool) { return e.On.DaysUntil(v.On) }
