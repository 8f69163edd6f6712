package pathway

import (
	"context"
	"errors"
	"fmt"
	"strconv"

	"linn/eye"
	"linn/internal/care/casebook"
	"linn/internal/invent"
	"linn/unit"
)

// SeedDemo fills an empty record with the invented ward: its people, shelf
// and eyes, each as far along its way as its story goes. Everything is done by
// the verbs of this package, as the people of the ward would do it. It returns
// the surgeon as whom the demo begins.
func (p *Pathway) SeedDemo(ctx context.Context) (surgeonID string, err error) {
	if empty, err := p.DeskEmpty(ctx); err != nil || !empty {
		return "", errors.Join(err, refuse("not-first", ""))
	}
	hospital := invent.DemoHospital()
	d := demo{Pathway: p, staff: map[casebook.Role]casebook.Actor{}, lenses: map[string]string{}}
	if err := d.people(ctx, hospital.Staff); err != nil {
		return "", fmt.Errorf("pathway: demo people: %w", err)
	}
	err = p.SetProtocol(ctx, d.staff[administrator], ProtocolForm{Hospital: hospital.Name, Phone: hospital.Phone, Places: []string{hospital.Theatre}})
	if err != nil {
		return "", fmt.Errorf("pathway: demo protocol: %w", err)
	}
	for _, l := range invent.DemoShelf() {
		if err := d.lens(ctx, l); err != nil {
			return "", fmt.Errorf("pathway: demo lens %s: %w", l.Model, err)
		}
	}
	today := unit.DateOf(p.Clock())
	for n, o := range invent.DemoOperated(today) {
		if err := d.operated(ctx, &o, today, hospital.Theatre); err != nil {
			return "", fmt.Errorf("pathway: demo operated eye %d: %w", n+1, err)
		}
	}
	for n, c := range invent.DemoWard(today) {
		if err := d.eye(ctx, n, c, today, hospital.Theatre); err != nil {
			return "", fmt.Errorf("pathway: demo eye %d: %w", n+1, err)
		}
	}
	return d.staff[surgeon].ID, nil
}

// demo is the demonstration being set up.
type demo struct {
	*Pathway
	staff  map[casebook.Role]casebook.Actor // the first of each role
	lenses map[string]string                // model → chain
}

// people puts the staff on the Desk. Nobody has a password: the demo is this
// machine's alone, and its people are chosen from a list.
func (d *demo) people(ctx context.Context, staff []invent.Member) error {
	return d.Store.Do(ctx, func(tx casebook.Tx) error {
		t := &turn{Pathway: d.Pathway, tx: tx, now: d.Clock(), stamp: casebook.StampOf(d.Clock, casebook.Actor{ID: machine})}
		for _, m := range staff {
			id, err := casebook.NewID(d.Random, t.now)
			if err != nil {
				return err
			}
			if err := t.addPerson(id, NewPerson{Name: m.Name, Role: m.Role, Supervisor: m.Supervisor}); err != nil {
				return err
			}
			if role := casebook.Role(m.Role); d.staff[role].ID == "" {
				d.staff[role] = casebook.Actor{ID: id, Name: m.Name, Role: role, Supervisor: m.Supervisor}
			}
		}
		return nil
	})
}

func plain(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func (d *demo) lens(ctx context.Context, l invent.Lens) error {
	form := LensForm{Model: l.Model, Material: l.Material, Pieces: string(casebook.OnePiece), MadeFor: l.Placement, Numbers: map[string]string{
		"from_d": plain(float64(l.From)), "to_d": plain(float64(l.To)), "step_d": plain(float64(l.Step)),
		"index": plain(float64(l.Index)), "optic_mm": plain(float64(l.Optic))}}
	if l.Pieces == 3 {
		form.Pieces = string(casebook.ThreePiece)
	}
	for _, c := range l.Constants {
		form.Constants = append(form.Constants, ConstantForm{Method: c.Method, Name: c.Name, Value: plain(c.Value), Origin: string(c.Origin), Note: "invented"})
	}
	id, err := d.AddLens(ctx, d.staff[surgeon], form)
	if err != nil {
		return err
	}
	d.lenses[l.Model] = id
	counts := map[string]string{}
	for _, s := range l.Stock {
		counts[plain(float64(s.Power))] = strconv.Itoa(s.Count)
	}
	return d.Stock(ctx, d.staff[nurse], id, Newest, counts)
}

// eye plays one story.
func (d *demo) eye(ctx context.Context, n int, c invent.Case, today unit.Date, theatre string) error {
	id, err := d.admit(ctx, c)
	if err != nil {
		return err
	}
	if err := d.measure(ctx, id, c); err != nil {
		return err
	}
	date := unit.DateOf(dateOf(today).AddDate(0, 0, c.ListDays))
	if _, err := d.List(ctx, d.staff[counsellor], Listing{Case: id, Seen: Newest, Date: date.String(), Place: theatre, Order: c.Place}); err != nil {
		return err
	}
	if c.Eye.Target.Known || c.Eye.Placement != "" {
		target := "0"
		if c.Eye.Target.Known {
			target = plain(float64(c.Eye.Target.Value))
		}
		if _, err := d.Choose(ctx, d.staff[surgeon], Choice{Case: id, Seen: Newest, Target: target, Placement: string(c.Eye.Placement)}); err != nil {
			return err
		}
	}
	if c.Lens == "" {
		return nil
	}
	return d.decide(ctx, n, id, c.Lens)
}

// admit finds or adds the patient and opens the case; a first eye that was
// done has a case of its own, closed.
func (d *demo) admit(ctx context.Context, c invent.Case) (id string, err error) {
	found, err := d.FindPatient(ctx, d.staff[nurse], c.Person.Identifier)
	patient := found.Patient
	if errors.Is(err, ErrAbsent) {
		patient, err = d.AddPatient(ctx, d.staff[nurse], NewPatient{Name: c.Person.Name(), Identifier: c.Person.Identifier, Sex: string(c.Person.Sex),
			Born: c.Person.Born.String(), Allergies: append([]string{}, c.Person.Allergies...), Drugs: append([]string{}, c.Person.Drugs...)})
	}
	if err != nil {
		return "", err
	}
	if c.FirstEye != nil {
		first, err := d.OpenCase(ctx, d.staff[nurse], patient, c.Eye.Side.Other())
		if err != nil {
			return "", err
		}
		_, err = d.Measure(ctx, d.staff[technician], Measurement{Case: first, Seen: Newest, Imported: true,
			Eyes: map[eye.Side]map[string]string{c.Eye.Side.Other(): texts(c.Eye.Fellow)}})
		if err != nil {
			return "", err
		}
		if err := d.Close(ctx, d.staff[surgeon], first, Newest, ClosedOperated, ""); err != nil {
			return "", err
		}
	}
	return d.OpenCase(ctx, d.staff[nurse], patient, c.Eye.Side)
}

// measure enters the readings: those of an optical instrument come from its
// file, those of ultrasound and of a paper form are typed.
func (d *demo) measure(ctx context.Context, id string, c invent.Case) error {
	tech := d.staff[technician]
	if was := c.Options.Earlier; was != nil {
		early := was
		if was.Side != c.Eye.Side {
			early = was.Fellow
			early.Fellow = was
		}
		if _, err := d.Measure(ctx, tech, entry(id, early, early.Fellow, true)); err != nil {
			return err
		}
	}
	m := entry(id, &c.Eye, c.Eye.Fellow, c.Eye.AxialLengthMethod == eye.Optical)
	if c.FirstEye != nil {
		delete(m.Eyes, c.Eye.Side.Other())
	}
	if r := c.Eye.AxialLength; r.N > 0 {
		m.Details = with(m.Details, "axial_length_mm", casebook.Detail{SD: plain(float64(r.SD)), N: r.N})
	}
	if w := c.Options.ContactLenses; w.Wear != "" {
		out := unit.DateOf(dateOf(c.Eye.MeasuredOn).AddDate(0, 0, -w.DaysOut))
		m.Details = with(m.Details, wearDetail, casebook.Detail{Method: string(w.Wear), MeasuredOn: out})
	}
	_, err := d.Measure(ctx, tech, m)
	return err
}

func entry(id string, e, fellow *eye.Eye, imported bool) Measurement {
	m := Measurement{Case: id, Seen: Newest, FellowSeen: Newest, Imported: imported, Eyes: map[eye.Side]map[string]string{e.Side: texts(e)}}
	if fellow != nil {
		m.Eyes[e.Side.Other()] = texts(fellow)
	}
	return m
}

// texts are the measured fields of an eye as typed.
func texts(e *eye.Eye) map[string]string {
	out := map[string]string{}
	for _, key := range Measured() {
		if text := eye.FieldNamed(key).Get(e); text != "" {
			out[key] = text
		}
	}
	return out
}

// decide chooses the recommended power of the lens meant for the eye. The
// first eye is read back and signed, the second waits for its second person.
func (d *demo) decide(ctx context.Context, n int, id, model string) error {
	j, err := d.Check(ctx, d.staff[surgeon], id)
	if err != nil || j.Plan == nil {
		return err
	}
	power := ""
	for _, l := range j.Plan.Lenses {
		if l.Model == model && l.Recommended != nil {
			power = plain(l.Recommended.Power.Value)
		}
	}
	if power == "" {
		return nil
	}
	if !j.Eyes[j.Side].Eye.Target.Known {
		_, err = d.Choose(ctx, d.staff[surgeon], Choice{Case: id, Seen: Newest, Target: "0"})
	}
	if err == nil {
		_, err = d.Choose(ctx, d.staff[surgeon], Choice{Case: id, Seen: Newest, Lens: d.lenses[model], Power: power})
	}
	if err != nil || n > 0 {
		return err
	}
	if _, err := d.ReadBack(ctx, d.staff[nurse], Reading{Case: id, Seen: Newest, Read: ReadItems}); err != nil {
		return err
	}
	_, err = d.Sign(ctx, d.staff[surgeon], Signing{Case: id, Seen: Newest})
	return err
}
