package gs1io

import (
	"strconv"
	"time"

	"linn/unit"
)

// date reads YYMMDD as of the year of today. A year that would lie 51 or more
// years ahead is of the century before, one 50 or more years back of the next;
// day 00 is the last day of the month, noDay then true.
func date(s string, today unit.Date) (d unit.Date, noDay, ok bool) {
	if len(s) != 6 || !digits(s) {
		return d, false, false
	}
	part := func(i int) int { n, _ := strconv.Atoi(s[i : i+2]); return n }
	d = unit.Date{Year: century(part(0), today.Year), Month: part(2), Day: part(4)}
	if d.Month < 1 || d.Month > 12 {
		return unit.Date{}, false, false
	}
	last := time.Date(d.Year, time.Month(d.Month)+1, 0, 0, 0, 0, 0, time.UTC).Day()
	if noDay = d.Day == 0; noDay {
		d.Day = last
	}
	if d.Day > last {
		return unit.Date{}, false, false
	}
	return d, noDay, true
}

// century completes a year of two digits.
func century(yy, now int) int {
	year := now - now%100 + yy
	switch ahead := yy - now%100; {
	case ahead >= 51:
		return year - 100
	case ahead <= -50:
		return year + 100
	}
	return year
}
