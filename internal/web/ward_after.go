package web

import (
	"context"
	"encoding/json"
	"errors"
	"io"
	"maps"
	"slices"
	"strconv"
	"strings"

	"linn/internal/paper"
	"linn/internal/pathway"
)

func (a *ward) Operate(ctx context.Context, by Actor, o pathway.Operating) (EyeCase, error) {
	j, err := a.Pathway.Operate(ctx, actorOf(by), o)
	c := (*pathway.Conflict)(nil)
	if errors.As(err, &c) && c.ByID == by.ID && !overlaps(c) {
		// One person's own two forms, sent one right after the other: what this
		// one changed goes on top, and it changed nothing that the other did.
		j, err = a.Pathway.Operate(ctx, actorOf(by), onlyChanged(o, c))
	}
	if errors.As(err, &c) {
		return a.operationConflict(ctx, by, o, c)
	}
	return a.eyeCase(ctx, by, &j, "", err)
}

// overlaps reports whether both versions changed one thing in two ways.
func overlaps(c *pathway.Conflict) bool {
	mine, theirs, base := flatOperation(&c.Mine), flatOperation(&c.Theirs), flatOperation(&c.Base)
	for name := range union(union(mine, theirs), base) {
		if mine[name] != base[name] && theirs[name] != base[name] && mine[name] != theirs[name] {
			return true
		}
	}
	return false
}

// onlyChanged is the form without what it only repeats, on the newest revision.
func onlyChanged(o pathway.Operating, c *pathway.Conflict) pathway.Operating {
	mine, base := flatOperation(&c.Mine), flatOperation(&c.Base)
	same := func(name string) bool { return mine[name] == base[name] }
	o.Seen = c.Number
	o.Values, o.Hands = maps.Clone(o.Values), maps.Clone(o.Hands)
	maps.DeleteFunc(o.Values, func(key, _ string) bool { return same("v." + key) })
	maps.DeleteFunc(o.Hands, func(step, _ string) bool { return same("hand." + step) })
	if same("hand.supervisor") {
		o.Supervisor = nil
	}
	if same(allComplications) {
		o.Complications = nil
	}
	return o
}

// operationConflict shows both versions. A form that was sent twice says
// nothing that does not stand already, and is no conflict.
func (a *ward) operationConflict(ctx context.Context, by Actor, o pathway.Operating, c *pathway.Conflict) (EyeCase, error) {
	out := &RecordConflict{CaseID: o.Case, Revision: c.Number, By: c.By, At: clock(c.At.In(a.Clock().Location())), Form: "operation"}
	mine, theirs, base := flatOperation(&c.Mine), flatOperation(&c.Theirs), flatOperation(&c.Base)
	for _, name := range slices.Sorted(maps.Keys(union(mine, theirs))) {
		if mine[name] == theirs[name] {
			continue
		}
		d := RecordDifference{Name: name, Mine: mine[name], Theirs: theirs[name], Base: base[name]}
		d.Step, d.Field, _ = strings.Cut(name, ".")
		if d.Step == "hand" {
			d.MineText, d.TheirsText = a.nameOf(ctx, by, d.Mine), a.nameOf(ctx, by, d.Theirs)
		}
		if name == allComplications {
			d.MineText, d.TheirsText = a.told(d.Mine), a.told(d.Theirs)
		}
		out.Rows = append(out.Rows, d)
	}
	if len(out.Rows) == 0 && !o.Done {
		return a.Eye(ctx, by, o.Case, "")
	}
	if o.Done {
		out.Hidden = append(out.Hidden, HiddenField{"done", "1"})
	}
	if o.Reason != "" {
		out.Hidden = append(out.Hidden, HiddenField{"reason", o.Reason})
	}
	return EyeCase{}, out
}

func union(a, b map[string]string) map[string]string {
	all := maps.Clone(a)
	maps.Copy(all, b)
	return all
}

// allComplications is the form's name for all complications at once.
const allComplications = "complications-all"

// flatOperation is the operation of a case by the form's names.
func flatOperation(c *pathway.Case) map[string]string {
	flat := map[string]string{}
	if c.Operation == nil {
		return flat
	}
	for key, text := range c.Operation.Values {
		flat["v."+key] = text
	}
	for step, who := range c.Operation.Hands {
		flat["hand."+step] = who
	}
	if c.Operation.Supervisor != "" {
		flat["hand.supervisor"] = c.Operation.Supervisor
	}
	if len(c.Operation.Complications) > 0 {
		text, err := json.Marshal(c.Operation.Complications)
		if err != nil {
			panic("web: complications: " + err.Error()) // texts alone
		}
		flat[allComplications] = string(text)
	}
	return flat
}

func (a *ward) nameOf(ctx context.Context, by Actor, id string) string {
	people, err := a.Pathway.Desk(ctx, actorOf(by))
	for _, p := range people {
		if err == nil && p.ID == id {
			return p.Name
		}
	}
	return id
}

// told writes a list of complications as words.
func (a *ward) told(text string) string {
	var list []pathway.Complication
	if text == "" || json.Unmarshal([]byte(text), &list) != nil {
		return ""
	}
	var said []string
	for _, c := range list {
		said = append(said, a.complication(c))
	}
	return strings.Join(said, "; ")
}

func (a *ward) FollowUp(ctx context.Context, by Actor, v pathway.Visiting) (EyeCase, error) {
	j, err := a.Pathway.FollowUp(ctx, actorOf(by), v)
	if c := (*pathway.Conflict)(nil); errors.As(err, &c) {
		return EyeCase{}, a.visitConflict(&v, c)
	}
	return a.eyeCase(ctx, by, &j, "", err)
}

// visitConflict shows both versions of a visit that two people changed, and
// carries a new one along: it stands beside whatever was written meanwhile.
func (a *ward) visitConflict(v *pathway.Visiting, c *pathway.Conflict) error {
	out := &RecordConflict{CaseID: v.Case, Revision: c.Number, By: c.By, At: clock(c.At.In(a.Clock().Location())), Form: "visit", Visit: v.Visit,
		Hidden: []HiddenField{{"on", v.On}, {"kind", v.Kind}, {"reason", v.Reason}, {"withdraw", v.Withdraw}, {"visit", strconv.Itoa(v.Visit)}}}
	var theirs, base map[string]string
	if v.Visit >= 0 && v.Visit < len(c.Theirs.Visits) {
		theirs = c.Theirs.Visits[v.Visit].Values
	}
	if v.Visit >= 0 && v.Visit < len(c.Base.Visits) {
		base = c.Base.Visits[v.Visit].Values
	}
	for _, key := range slices.Sorted(maps.Keys(v.Values)) {
		mine := strings.Join(strings.Fields(v.Values[key]), " ")
		switch {
		case v.Visit == pathway.NewVisit && mine != "":
			out.Hidden = append(out.Hidden, HiddenField{"v." + key, mine})
		case v.Visit != pathway.NewVisit && mine != theirs[key]:
			out.Rows = append(out.Rows, RecordDifference{Name: "v." + key, Step: "v", Field: key, Mine: mine, Theirs: theirs[key], Base: base[key]})
		}
	}
	return out
}

// late is what is said to who came late with a form that has nothing to choose.
func (a *ward) late(ctx context.Context, by Actor, id string, err error) error {
	if err == nil {
		return nil
	}
	return a.conflictOf(ctx, by, id, err, nil)
}

func (a *ward) GiveUp(ctx context.Context, by Actor, id string, revision int, why string) error {
	_, err := a.Pathway.GiveUp(ctx, actorOf(by), id, revision, why)
	return a.late(ctx, by, id, err)
}

func (a *ward) Bed(ctx context.Context, by Actor, id string, revision int, bed string) error {
	_, err := a.Pathway.Bed(ctx, actorOf(by), id, revision, bed)
	return a.late(ctx, by, id, err)
}

func (a *ward) OpenAgain(ctx context.Context, by Actor, id, why string) (string, error) {
	next, err := a.Pathway.OpenAgain(ctx, actorOf(by), id, why)
	return next, said(err)
}

// Attach adds a file to the case as it stands now: it takes nothing away, so
// it does not matter what else was written meanwhile.
func (a *ward) Attach(ctx context.Context, by Actor, f pathway.Attaching) error {
	f.Seen = pathway.Newest
	_, err := a.Pathway.Attach(ctx, actorOf(by), f)
	return said(err)
}

func (a *ward) Detach(ctx context.Context, by Actor, id string, revision, number int, reason string) error {
	_, err := a.Pathway.Detach(ctx, actorOf(by), id, revision, number, reason)
	return a.late(ctx, by, id, err)
}

func (a *ward) Attachment(ctx context.Context, by Actor, id string, number int) (pathway.File, error) {
	f, err := a.Pathway.Attachment(ctx, actorOf(by), id, number)
	return f, said(err)
}

func (a *ward) Round(ctx context.Context, by Actor) (pathway.Round, error) {
	r, err := a.Pathway.Round(ctx, actorOf(by))
	return r, said(err)
}

func (a *ward) Phone(ctx context.Context, by Actor) (hospital, phone string, err error) {
	l, err := a.Pathway.Protocol(ctx, actorOf(by))
	return l.Hospital, l.Phone(), said(err)
}

// PrintLeaflet writes the leaflet as PDF.
func (a *ward) PrintLeaflet(ctx context.Context, by Actor, id string, w io.Writer) error {
	j, err := a.Check(ctx, actorOf(by), id)
	if err != nil {
		return said(err)
	}
	hospital, phone, err := a.Phone(ctx, by)
	if err != nil {
		return err
	}
	l := paper.Leaflet{Side: a.side(j.Side), Name: j.Who.Name, Identifier: j.Who.Identifier, Hospital: hospital, Phone: phone,
		Signs: leafletSigns, Printed: a.t("sheet.printed", "when", a.moment(a.Clock()), "program", a.Program)}
	err = paper.PrintLeaflet(w, &l, printWords{a.words})
	if u := (*paper.UncoveredError)(nil); errors.As(err, &u) {
		return Refused("letters", "", valueOf("got", u.Text), valueOf("letter", string(u.Letter)))
	}
	return err
}
