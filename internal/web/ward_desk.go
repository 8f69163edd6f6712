package web

import (
	"context"
	"strconv"
	"strings"

	"linn/internal/pathway"
	"linn/unit"
)

// Person is who the person of a case is, as the form to correct it. An
// estimated age stands as it is today.
func (a *ward) Person(ctx context.Context, by Actor, id string) (PersonForm, error) {
	p, err := a.WhoIs(ctx, actorOf(by), id)
	if err != nil {
		return PersonForm{}, said(err)
	}
	f := PersonForm{CaseID: id, Revision: p.Revision, Name: p.Name, Identifier: p.Identifier, Sex: string(p.Sex), Born: p.BirthDate.String(),
		Allergies: strings.Join(p.Allergies.Items, ", "), NoAllergies: p.Allergies.Asked && len(p.Allergies.Items) == 0}
	if !p.BirthDate.Known() {
		f.Born = ""
		if age, ok := p.AgeOn(unit.DateOf(a.Clock())); ok {
			f.Born = strconv.Itoa(int(age))
		}
	}
	return f, nil
}

// CorrectPerson corrects who the person of a case is. The drugs, which the
// form does not ask for, stay.
func (a *ward) CorrectPerson(ctx context.Context, by Actor, f PersonForm) error {
	p, err := a.WhoIs(ctx, actorOf(by), f.CaseID)
	if err != nil {
		return said(err)
	}
	form := pathway.NewPatient{Name: f.Name, Identifier: f.Identifier, Sex: f.Sex, Born: f.Born}
	if form.Allergies, err = allergies(NewCase{Allergies: f.Allergies, NoAllergies: f.NoAllergies}); err != nil {
		return err
	}
	if p.Drugs.Asked {
		form.Drugs = append([]string{}, p.Drugs.Items...)
	}
	return said(a.CorrectPatient(ctx, actorOf(by), p.Patient, f.Revision, form, f.Reason))
}

// betweenPlaces parts the rooms of a ward in one line of text.
const betweenPlaces = ";"

func (a *ward) Protocol(ctx context.Context, by Actor) (Protocol, error) {
	l, err := a.Pathway.Protocol(ctx, actorOf(by))
	p := Protocol{Editable: pathway.May(pathway.Role(by.Role), pathway.VerbProtocol), Revision: l.Number, Hospital: l.Hospital, Zone: l.Zone,
		Places: strings.Join(l.Places, betweenPlaces+" "), ReadingAge: countText(l.ReadingAgeDays), LoneDelay: countText(l.LoneDelayMinutes),
		Recalled: l.Recall(), Phone: l.Phone(), UsualAge: strconv.Itoa(pathway.LocalProtocol{}.MaxAgeDays()),
		UsualDelay: strconv.Itoa(int(pathway.DefaultLoneDelay.Minutes()))}
	return p, said(err)
}

// countText is a number as typed, "" for one that was never settled.
func countText(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func (a *ward) SetProtocol(ctx context.Context, by Actor, p Protocol) error {
	if strings.TrimSpace(p.Reason) == "" && pathway.May(pathway.Role(by.Role), pathway.VerbProtocol) {
		return Refused("reason-needed", "reason")
	}
	return said(a.Pathway.SetProtocol(ctx, actorOf(by), pathway.ProtocolForm{Seen: p.Revision, Hospital: p.Hospital, Zone: p.Zone,
		Places: strings.Split(p.Places, betweenPlaces), ReadingAgeDays: p.ReadingAge, LoneDelayMinutes: p.LoneDelay, Recalled: p.Recalled, Phone: p.Phone, Reason: p.Reason}))
}

// linesOnPage is how many lines of the access log stand on one page.
const linesOnPage = 100

func (a *ward) AccessLog(ctx context.Context, by Actor, q LogQuery) (list []LogLine, more bool, err error) {
	patient, err := "", error(nil)
	if q.Identifier != "" {
		if patient, err = a.PatientOf(ctx, actorOf(by), q.Identifier); err != nil {
			return nil, false, said(err)
		}
	}
	lines, err := a.Pathway.AccessLog(ctx, actorOf(by), pathway.LogQuery{Patient: patient, Actor: q.Person, Before: q.Before, Limit: linesOnPage + 1})
	if more = len(lines) > linesOnPage; more {
		lines = lines[:linesOnPage]
	}
	for _, l := range lines {
		list = append(list, LogLine{Number: l.Number, At: l.At.In(a.Clock().Location()), Name: l.Name, What: l.What, Verb: l.Detail, CaseID: l.Case})
	}
	return list, more, said(err)
}
