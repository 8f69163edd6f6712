package web

import (
	"context"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/pathway"
	"linn/unit"
)

func (a *ward) Eye(ctx context.Context, by Actor, id, model string) (EyeCase, error) {
	j, err := a.Check(ctx, actorOf(by), id)
	return a.eyeCase(ctx, by, &j, model, err)
}

// eyeCase turns a journey into what its page shows.
func (a *ward) eyeCase(ctx context.Context, by Actor, j *pathway.Journey, model string, err error) (EyeCase, error) {
	if err != nil {
		return EyeCase{}, said(err)
	}
	shelf, err := a.Pathway.Shelf(ctx, actorOf(by))
	if err != nil {
		return EyeCase{}, said(err)
	}
	met := map[string]bool{}
	for _, n := range j.Needs {
		met[n.Code] = n.Met
	}
	c := EyeCase{Identity: identityOf(j), SavedAt: j.SavedAt, SavedBy: j.SavedBy, Editable: j.May[pathway.VerbMeasure],
		Fellow: j.FellowRevision, Refused: j.Refused, MayClose: j.May[pathway.VerbClose],
		Right: a.readings(j, eye.Right), Left: a.readings(j, eye.Left)}
	if j.Erased {
		c.Name = a.t("erased.name")
	}
	if j.State == pathway.StateClosed {
		c.Closed = j.Closed
	}
	c.Looked = j.Plan != nil || len(j.Findings) > 0 || len(c.Of(c.Side).Texts) > 0
	c.Progress = progressOf(j, met)
	c.Queue = queueOf(j)
	var ofLens []FindingItem
	c.Findings, ofLens = a.findings(j)
	c.Lens = a.lensPart(j, shelf, model)
	c.Lens.Findings = append(ofLens, c.Lens.Findings...)
	c.Lens.Chosen = chosenOf(j, met)
	c.Chamber = a.chamberPart(j)
	c.Signing = a.signing(j, by, met)
	c.After = afterPart(j)
	c.Progress.Done, c.Progress.Visits = c.After.Done != nil || c.Closed == pathway.ClosedOperated, c.After.Status == "complete"
	return c, nil
}

func progressOf(j *pathway.Journey, met map[string]bool) Progress {
	if inForce(j) {
		return Progress{Measured: true, Checked: true, Lens: true, Sheet: len(j.Reopens) == 0}
	}
	return Progress{
		Measured: met[pathway.NeedMeasured] && met[pathway.NeedReadable] && met[pathway.NeedTwice],
		Checked:  met[pathway.NeedMeasured] && met[pathway.NeedNoStop] && met[pathway.NeedGates],
		Lens:     met[pathway.NeedLens] && met[pathway.NeedLensReason] && met[pathway.NeedTarget]}
}

// readings are one eye as typed and as read. Why there is no plan is also said
// beside the field it speaks of.
func (a *ward) readings(j *pathway.Journey, side eye.Side) Readings {
	own := j.Eyes[side]
	r := Readings{Eye: own.Eye, Texts: map[string]string{}, Refused: map[string]finding.Refusal{}}
	for _, key := range entryKeys { // what the patient and the day say of the eye is not typed here
		if text := own.Texts[key]; text != "" {
			r.Texts[key] = text
		}
	}
	for key, why := range own.Refused {
		r.Refused[key] = why
	}
	if d := own.Details["axial_length_mm"]; d.SD != "" {
		if sd, err := unit.ParseNumber(d.SD); err == nil {
			r.Eye.AxialLength.SD, r.Eye.AxialLength.N = unit.Millimetre(sd), d.N
		}
	}
	for _, why := range j.Refused {
		key, other := strings.CutPrefix(why.Field, "other_eye.")
		if why.Code != "missing" && key != "" && other == (side != j.Side) {
			r.Refused[key] = why
		}
	}
	return r
}

// queueOf lists what is to be typed again, each reading once: a finding that
// wants it measured again goes before a mere second entry.
func queueOf(j *pathway.Journey) (list []RepeatItem) {
	at := map[string]int{}
	for _, q := range j.Queue {
		item := RepeatItem{Side: j.Side, Field: q.Field, Why: q.Why, Text: q.Text, Refusal: q.Refusal}
		if i, known := at[q.Field]; known {
			if list[i].Why == pathway.AgainSecond || list[i].Why == pathway.AgainDisagrees {
				item.Text, item.Refusal = list[i].Text, list[i].Refusal
				list[i] = item
			}
			continue
		}
		at[q.Field] = len(list)
		list = append(list, item)
	}
	return list
}

// findings are what is said of the readings, and what is said of the choice of
// the lens. What one method says stands beside that method, unless it blocks.
func (a *ward) findings(j *pathway.Journey) (ofEye, ofLens []FindingItem) {
	for _, f := range j.Findings {
		item := FindingItem{Finding: f.Finding, Side: sideOf(j.Side, f.Finding), Ref: f.Ref, Limit: f.Limit, MayPass: f.MayPass, Repeated: f.Repeated, Passed: actOf(f.Passed)}
		item.SDNow, item.SDAfter = buys(j.Plan, f.Finding)
		switch {
		case j.Plan == nil || hasFinding(j.Plan.Findings, f.Finding):
			ofEye = append(ofEye, item)
		case f.Code == "method-absent" || f.Method != "" && !f.Blocks():
		default:
			ofLens = append(ofLens, item)
		}
	}
	return ofEye, ofLens
}

func hasFinding(list []finding.Finding, f finding.Finding) bool {
	for _, x := range list {
		if sameFinding(x, f) {
			return true
		}
	}
	return false
}

// sideOf is the eye a finding speaks of, "" when it compares both.
func sideOf(own eye.Side, f finding.Finding) eye.Side {
	switch {
	case strings.HasPrefix(f.Field, "other_eye."):
		return own.Other()
	case f.Values.Get("fellow") != "", f.Field == "side", f.Field == "other_eye":
		return ""
	}
	return own
}

// buys is the spread of the refraction now and after a repeat, for findings
// that doubt a reading.
func buys(p *pathway.Plan, f finding.Finding) (now, after unit.Reading[unit.Dioptre]) {
	if p == nil || p.Decision == nil || f.Severity == finding.Note {
		return now, after
	}
	what := map[string]string{"axial_length_mm": "axial_length_mm", "k_flat_d": "mean_k_d", "k_steep_d": "mean_k_d"}[f.Field]
	for _, r := range p.Decision.Repeating {
		if r.What == what && r.By == "" {
			return known(r.Before), known(r.After)
		}
	}
	return now, after
}

func actOf(a *pathway.Act) *Act {
	if a == nil {
		return nil
	}
	return &Act{Name: a.Name, At: a.At, Reason: a.Reason}
}

// signing is what signing needs and who may do it now.
func (a *ward) signing(j *pathway.Journey, by Actor, met map[string]bool) SignPart {
	s := SignPart{Confirmed: actOf(j.ReadBack), Signed: actOf(j.Signed), Senior: j.Supervisor, Reopened: j.Reopens, Place: j.List.Place,
		MaySign: j.May[pathway.VerbSign], Supervised: by.Role == Trainee, MayReopen: j.May[pathway.VerbReopen], MayList: j.May[pathway.VerbList]}
	if j.State == pathway.StateReopened {
		s.Why = j.Reopened
	}
	open := j.State == pathway.StateOpen || j.State == pathway.StateReopened
	others := true // every need but the second person
	for _, n := range j.Needs {
		if open {
			s.Needs = append(s.Needs, Need{Code: n.Code, Met: n.Met})
		}
		others = others && (n.Met || n.Code == pathway.NeedSecond)
	}
	readable := met[pathway.NeedMeasured] && met[pathway.NeedLens] && j.ReadBack == nil && open
	s.MayConfirm = readable && j.May[pathway.VerbReadBack]
	s.Beside = readable && !s.MayConfirm && j.May[pathway.VerbSign]
	s.Alone = s.MaySign && by.Role == Surgeon && others && j.ReadBack == nil
	s.AloneFrom, s.AloneOpen = j.LoneFrom, s.Alone && !a.Clock().Before(j.LoneFrom)
	if j.Sheet > 0 && j.State == pathway.StateSigned {
		s.Sheet = sheetNumber(j.Sheet)
	}
	return s
}
