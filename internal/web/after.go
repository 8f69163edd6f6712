package web

import (
	"context"
	"io"

	"linn/internal/pathway"
)

// AfterPathway is what the pages ask about operations and what follows them.
type AfterPathway interface {
	// Operate writes down the operation as done; two people at once is a
	// *RecordConflict.
	Operate(ctx context.Context, by Actor, o pathway.Operating) (EyeCase, error)
	// FollowUp writes down a visit; two people at once is a *RecordConflict.
	FollowUp(ctx context.Context, by Actor, v pathway.Visiting) (EyeCase, error)
	GiveUp(ctx context.Context, by Actor, id string, revision int, why string) error
	Bed(ctx context.Context, by Actor, id string, revision int, bed string) error
	// OpenAgain opens the case of an eye that goes to theatre again.
	OpenAgain(ctx context.Context, by Actor, id, why string) (next string, err error)
	Attach(ctx context.Context, by Actor, a pathway.Attaching) error
	Detach(ctx context.Context, by Actor, id string, revision, number int, reason string) error
	Attachment(ctx context.Context, by Actor, id string, number int) (pathway.File, error)
	// Round is the morning round, and who is due.
	Round(ctx context.Context, by Actor) (pathway.Round, error)
	// Phone is whom a patient rings, "" when nobody settled it.
	Phone(ctx context.Context, by Actor) (hospital, phone string, err error)
	// PrintLeaflet writes the leaflet of warning signs as PDF.
	PrintLeaflet(ctx context.Context, by Actor, id string, w io.Writer) error
}

// AfterPart is the operation of an eye and its visits, with what the actor may
// do about them.
type AfterPart struct {
	pathway.After
	MayOperate, MayVisit, MayTrace, MayAttach, MayOpenAgain bool
}

func afterPart(j *pathway.Journey) AfterPart {
	return AfterPart{After: j.After, MayOperate: j.May[pathway.VerbOperate], MayVisit: j.May[pathway.VerbFollowUp],
		MayTrace: j.May[pathway.VerbTrace], MayAttach: j.May[pathway.VerbAttach], MayOpenAgain: j.May[pathway.VerbOpenCase] && j.Closed == pathway.ClosedOperated}
}

// RecordConflict says that somebody else wrote a newer revision while this
// form was filled in. Nothing of either is lost: both stand in Rows.
type RecordConflict struct {
	CaseID   string
	Revision int // the newer one
	By, At   string
	Form     string // "operation" or "visit"
	Visit    int    // index of a visit, pathway.NewVisit for a new one
	Rows     []RecordDifference
	Hidden   []HiddenField // what nobody else wrote, carried along
}

func (c *RecordConflict) Error() string { return "web: a newer revision exists" }

// RecordDifference is one field of a form that two people wrote differently.
type RecordDifference struct {
	Name               string // of the form's field
	Field, Step        string // its key, for the label
	Mine, Theirs, Base string // as typed, "" for empty
	MineText           string // shown in place of the value, where that is not for reading
	TheirsText         string
}
