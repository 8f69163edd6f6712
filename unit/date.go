package unit

import (
	"fmt"
	"time"
)

// Date is a civil date without a time zone, with its own precision: Month or
// Day may be 0 when only the year or the month is known. The zero Date is
// "not recorded".
type Date struct {
	Year  int
	Month int // 1…12, or 0: not known
	Day   int // 1…31, or 0: not known
}

// ParseDate reads YYYY, YYYY-MM or YYYY-MM-DD (ISO 8601 calendar dates).
// It refuses any other shape, and days that the calendar does not have.
func ParseDate(s string) (Date, error) {
	bad := &SyntaxError{Text: s, Reason: ReasonDate}
	for _, layout := range [...]string{"2006-01-02", "2006-01", "2006"} {
		if len(s) != len(layout) {
			continue
		}
		t, err := time.Parse(layout, s)
		if err != nil || t.Year() < 1800 {
			return Date{}, bad
		}
		d := Date{Year: t.Year()}
		if len(layout) > 4 {
			d.Month = int(t.Month())
		}
		if len(layout) > 7 {
			d.Day = t.Day()
		}
		return d, nil
	}
	return Date{}, bad
}

// DateOf returns the civil date of t in t's own location.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date{y, int(m), d}
}

// Known reports whether at least the year is recorded.
func (d Date) Known() bool { return d.Year != 0 }

// Exact reports whether the date is known to the day.
func (d Date) Exact() bool { return d.Day != 0 }

// String writes the date as ISO 8601 at its precision, "" when not recorded.
func (d Date) String() string {
	switch {
	case d.Year == 0:
		return ""
	case d.Month == 0:
		return fmt.Sprintf("%04d", d.Year)
	case d.Day == 0:
		return fmt.Sprintf("%04d-%02d", d.Year, d.Month)
	}
	return fmt.Sprintf("%04d-%02d-%02d", d.Year, d.Month, d.Day)
}

// DaysUntil counts the days from d to e. ok is false unless both are exact.
func (d Date) DaysUntil(e Date) (days int, ok bool) {
	if !d.Exact() || !e.Exact() {
		return 0, false
	}
	return int(e.utc().Sub(d.utc()).Hours() / 24), true
}

// Before reports whether d lies before e as far as both are known; an unknown
// month or day counts as its first.
func (d Date) Before(e Date) bool { return d.utc().Before(e.utc()) }

// AgeOn returns the age in years on the day e, as completed years when both
// dates are exact and as the difference of years (precision a year) otherwise.
func (d Date) AgeOn(e Date) (age Year, ok bool) {
	if !d.Known() || !e.Known() || e.Before(d) {
		return 0, false
	}
	n := e.Year - d.Year
	if d.Month != 0 && e.Month != 0 && (e.Month < d.Month || e.Month == d.Month && d.Day != 0 && e.Day != 0 && e.Day < d.Day) {
		n--
	}
	return Year(n), true
}

func (d Date) utc() time.Time {
	return time.Date(d.Year, time.Month(max(d.Month, 1)), max(d.Day, 1), 0, 0, 0, 0, time.UTC)
}

// MarshalText writes the ISO form.
func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads the ISO form; empty text is "not recorded".
func (d *Date) UnmarshalText(b []byte) (err error) {
	if len(b) == 0 {
		*d = Date{}
		return nil
	}
	*d, err = ParseDate(string(b))
	return err
}

// AddDays moves an exact date by whole days. The zero date, and one without
// its day, stay what they are: nobody knows which day follows them.
func (d Date) AddDays(n int) Date {
	if !d.Exact() {
		return d
	}
	return DateOf(d.utc().AddDate(0, 0, n))
}
