package pathway

import (
	"context"
	"time"

	"linn/internal/care/operation"
	"linn/internal/invent"
	"linn/unit"
)

// operated plays an eye whose operation is done, on the days on which it
// happened: the verbs are given the clock of those days.
func (d *demo) operated(ctx context.Context, o *invent.Operated, today unit.Date, theatre string) error {
	on := today.AddDays(-o.DaysAgo)
	before := d.onDay(on.AddDays(-1), 15)
	id, err := before.admit(ctx, o.Case)
	if err != nil {
		return err
	}
	if err := before.measure(ctx, id, o.Case); err != nil {
		return err
	}
	if _, err := before.List(ctx, d.staff[counsellor], Listing{Case: id, Seen: Newest, Date: on.String(), Place: theatre}); err != nil {
		return err
	}
	if err := before.decide(ctx, 0, id, o.Lens); err != nil {
		return err
	}
	form := Operating{Case: id, Seen: Newest, Values: map[string]string{"complications": "none", "lens_serial": "S-" + o.Person.Identifier}, AsPlanned: true, Done: true}
	for key, text := range o.Record {
		form.Values[key] = text
	}
	if o.Torn {
		form.Values["complications"] = ""
		form.Complications = []operation.Complication{{Step: "cortex", Kind: "capsule-rupture", Size: "under-2-mm", Vitreous: "face-intact", Handling: "viscoelastic"}}
	}
	if _, err := d.onDay(on, 10).Operate(ctx, d.staff[nurse], form); err != nil {
		return err
	}
	if o.Bed != "" {
		if _, err := d.onDay(on, 11).Bed(ctx, d.staff[nurse], id, Newest, o.Bed); err != nil {
			return err
		}
	}
	for _, s := range o.Seen {
		day := d.onDay(on.AddDays(s.Day), 8)
		if _, err := day.FollowUp(ctx, d.staff[technician], Visiting{Case: id, Seen: Newest, Visit: NewVisit, Kind: s.Kind, Values: s.Values}); err != nil {
			return err
		}
	}
	return nil
}

// onDay is the demo as it was at an hour of a day.
func (d *demo) onDay(day unit.Date, hour int) *demo {
	now := d.Clock()
	then := time.Date(day.Year, time.Month(day.Month), day.Day, hour, 0, 0, 0, now.Location())
	early := &Pathway{Store: d.Store, Clock: func() time.Time { return then }, Random: d.Random, Program: d.Program, Off: d.Off, Hash: d.Hash}
	return &demo{Pathway: early, staff: d.staff, lenses: d.lenses}
}
