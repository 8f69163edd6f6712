package pathway

import (
	"context"
	"errors"
	"strconv"
	"strings"

	"linn/calc/risk"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/plan"
	"linn/unit"
)

// riskSetting begins the keys of the unit's own intercepts among the settings.
const riskSetting = "risk."

// RiskTechniques are the techniques that a unit can have an intercept for.
var RiskTechniques = []string{"phaco", "msics", "ecce"}

// AcceptedRisk is an intercept that a unit accepted: the shift of the log odds,
// what it rests on, and who accepted it when.
type AcceptedRisk struct {
	Shift      float64
	Events, Of int
	By         string
	On         unit.Date
}

// RiskCount and RiskInterval are events among operations and a rate with its
// 95 % interval.
type (
	RiskCount    = risk.Count
	RiskInterval = risk.Interval
)

// OwnRisk is what the record says of capsule rupture by one technique beside
// the published model.
type OwnRisk struct {
	Technique string
	Count     risk.Count
	Rate      risk.Interval // 95 %, of Count
	Expected  float64       // by the model, of the same eyes as if by phacoemulsification
	Against   risk.Interval // observed over expected
	FewToSay  bool          // too few expected for that ratio
	Shift     Number        // of the log odds; not known: too few
	Accepted  *AcceptedRisk
}

// OwnRisks are the intercepts this unit accepted, by technique. One is stored
// as "shift|events|of|who|date".
func (l LocalProtocol) OwnRisks() map[string]AcceptedRisk {
	out := map[string]AcceptedRisk{}
	for name, text := range l.Settings {
		technique, is := strings.CutPrefix(name, riskSetting)
		parts := strings.Split(text, "|")
		if !is || len(parts) != 5 {
			continue
		}
		shift, err := strconv.ParseFloat(parts[0], 64)
		events, err2 := strconv.Atoi(parts[1])
		of, err3 := strconv.Atoi(parts[2])
		on, err4 := unit.ParseDate(parts[4])
		if errors.Join(err, err2, err3, err4) == nil {
			out[technique] = AcceptedRisk{shift, events, of, parts[3], on}
		}
	}
	return out
}

// OwnRisks counts capsule ruptures in the record by the technique an operation
// ended with, beside what the published model expected of the same eyes.
func (p *Pathway) OwnRisks(ctx context.Context, by casebook.Actor) (list []OwnRisk, l LocalProtocol, err error) {
	err = p.look(ctx, by, VerbTally, func(t *turn) error {
		if l, err = t.protocol(); err != nil {
			return err
		}
		list, err = t.ownRisks(l)
		return err
	})
	return list, l, err
}

func (t *turn) ownRisks(l LocalProtocol) ([]OwnRisk, error) {
	rows, err := t.tx.Operated(casebook.OperatedQuery{})
	if err != nil {
		return nil, err
	}
	predicted, events := map[string][]float64{}, map[string]int{}
	for _, o := range rows {
		c, err := t.load(o.Case, Newest)
		if err != nil {
			return nil, err
		}
		if c.Operation == nil || c.Operation.Ended() == "" {
			continue
		}
		in := &plan.Clinical{}
		if c.Decided != nil {
			in.Answers = c.Decided.Answers
		}
		e, err := t.eyeAsPlanned(c)
		if err != nil {
			return nil, err
		}
		technique := string(c.Operation.Ended())
		p, err := plan.BaseRisk(in.Answered(&e))
		if err != nil {
			continue // an answer that the model has no level for
		}
		predicted[technique] = append(predicted[technique], p)
		if torn, _ := c.Operation.CapsuleRupture(); torn {
			events[technique]++
		}
	}
	accepted := l.OwnRisks()
	var list []OwnRisk
	for _, technique := range RiskTechniques {
		own := OwnRisk{Technique: technique, Count: risk.Count{Events: events[technique], Of: len(predicted[technique])}}
		own.judge(predicted[technique])
		if a, has := accepted[technique]; has {
			own.Accepted = &a
		}
		list = append(list, own)
	}
	return list, nil
}

// eyeAsPlanned is the eye with age and sex, which stand with the person and not
// with the readings: as it was signed, else as it would be planned now.
func (t *turn) eyeAsPlanned(c caseAt) (eye.Eye, error) {
	if c.Signed != nil {
		signed, err := signedPlan(c.Signed)
		if err != nil {
			return eye.Eye{}, err
		}
		return signed.Input.Eye, nil
	}
	s, err := t.gather(c)
	if err != nil {
		return eye.Eye{}, err
	}
	return s.eyeForPlan(), nil
}

// judge fills what the counts allow to be said.
func (o *OwnRisk) judge(predicted []float64) {
	for _, p := range predicted {
		o.Expected += p
	}
	if o.Count.Of == 0 {
		o.FewToSay = true
		return
	}
	if i, err := risk.Wilson(o.Count); err == nil {
		o.Rate = i
	}
	var err error
	o.Against, err = risk.Against(o.Count.Events, o.Expected)
	o.FewToSay = err != nil
	if shift, err := risk.Calibrate(predicted, o.Count); err == nil {
		o.Shift = Number{Value: shift, Known: true}
	}
}

// RiskForm accepts what the record says of one technique, or takes an accepted
// intercept back.
type RiskForm struct {
	Seen      int
	Technique string
	Back      bool
	By, On    string // who accepted it, and when
	Reason    string
}

// AcceptRisk sets the unit's own intercept for a technique from the record as
// it stands, or takes it back. Plans already signed keep theirs.
func (p *Pathway) AcceptRisk(ctx context.Context, by casebook.Actor, form RiskForm) error {
	return p.settle(ctx, by, settling{form.Seen, form.Reason}, func(t *turn, was LocalProtocol, is *casebook.Protocol) error {
		if form.Back {
			is.Settings = without(is.Settings, riskSetting+form.Technique)
			return nil
		}
		text, err := t.accepted(was, form)
		if err == nil {
			is.Settings = with(is.Settings, riskSetting+form.Technique, text)
		}
		return err
	})
}

// accepted writes down what the record says now.
func (t *turn) accepted(was LocalProtocol, form RiskForm) (string, error) {
	on, err := unit.ParseDate(strings.TrimSpace(form.On))
	switch {
	case line(form.By) == "" || strings.Contains(form.By, "|"):
		return "", finding.Refusals{{Code: "needed", Field: "approved_by"}}
	case err != nil || !on.Exact():
		return "", finding.Refusals{{Code: "needed", Field: "approved_on"}}
	}
	list, err := t.ownRisks(was)
	if err != nil {
		return "", err
	}
	for _, o := range list {
		if o.Technique == form.Technique && o.Shift.Known {
			return strings.Join([]string{strconv.FormatFloat(o.Shift.Value, 'g', -1, 64), strconv.Itoa(o.Count.Events), strconv.Itoa(o.Count.Of), line(form.By), on.String()}, "|"), nil
		}
	}
	return "", finding.Refusals{{Code: "risk-too-few", Field: "technique", Values: finding.Values{value("least", strconv.Itoa(int(risk.LeastForShift)))}}}
}
