package web

import (
	"context"
	"io"
	"time"

	"linn/unit"
)

// Days is what the pages ask of a day's list as a whole.
type Days interface {
	// Day is the list of a day as it stands.
	Day(ctx context.Context, by Actor, day string) (Day, error)
	// LockDay takes it out of the record; the lock is written down.
	LockDay(ctx context.Context, by Actor, day string) (Day, error)
	// PrintDay locks it and writes the list with every sheet as PDF.
	PrintDay(ctx context.Context, by Actor, day string, w io.Writer) error
}

// ToLock is the deed of locking a list.
const ToLock Deed = "lock"

// Day is a list as it stood at one moment.
type Day struct {
	Date     unit.Date
	AsOf     time.Time
	Hospital string
	Eyes     []DayEye
}

// DayEye is one eye of the list. Only a confirmed one has a number.
type DayEye struct {
	Identity
	Confirmed bool
	Number    string
	Model     string
	Power     unit.Reading[unit.Dioptre]
	Target    unit.Reading[unit.Dioptre]
	Allergies []string
	Asked     bool
}
