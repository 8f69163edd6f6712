package pathway

import (
	"context"
	"maps"
	"reflect"
	"slices"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/internal/care/plan"
	"linn/source"
)

// Why a signed plan no longer holds. Each blocks the sheet until somebody
// reopens the plan and signs it anew.
var (
	readingsAged    = reopens("plan-readings-old", "readings older than the local age on the day of the list, and not so when signed")
	fellowOperated  = reopens("plan-fellow-operated", "the fellow eye was operated on or treated after signing")
	fellowChanged   = reopens("plan-fellow-changed", "length or K of the fellow eye changed after signing")
	constantChanged = reopens("plan-constant-changed", "a constant of the chosen lens changed after signing")
	stockChanged    = reopens("plan-stock-changed", "the chosen power was on the shelf when signed and is not now")
	targetChanged   = reopens("plan-target-changed", "the target changed after signing")
	lensWithdrawn   = reopens("plan-lens-withdrawn", "the chosen lens model was withdrawn after signing")
	lensRenamed     = reopens("plan-lens-renamed", "the chosen lens model was given another name after signing")
	versionRecalled = reopens("plan-version-recalled", "a version that computed the plan was recalled")
)

func reopens(code, limit string) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: finding.Stop, Limit: limit,
		Ref: source.Ref{Key: source.OwnChoice, Where: "when a signed plan reopens", Grade: source.Own}})
}

// reopens lists why a signed plan no longer holds, nothing when it does.
func (t *turn) reopens(c *caseAt) ([]finding.Finding, error) {
	s, err := t.gather(*c)
	if err != nil {
		return nil, err
	}
	return t.reopensOf(&s)
}

// reopensOf compares what the plan was made from with what stands now.
func (t *turn) reopensOf(s *situation) (list []finding.Finding, err error) {
	was, err := signedPlan(s.Signed)
	if err != nil {
		return nil, err
	}
	is, err := t.input(s)
	if err != nil {
		return nil, err
	}
	operated, err := t.fellowClosedSince(s)
	if err != nil {
		return nil, err
	}
	add := func(why bool, r finding.Rule, field string, v ...finding.Value) {
		if why {
			list = append(list, r.On(field, v...))
		}
	}
	stale := func(p *plan.Plan) bool { return finding.Has(p.All(), staleCode) }
	add(!stale(was) && len(plan.Refuse(&is.Eye, &anyLens)) == 0 && stale(ptr(plan.Make(is))), readingsAged, "measured_on")
	treated := operated || stateOf(was.Input.Eye.Fellow) != stateOf(is.Eye.Fellow)
	add(treated, fellowOperated, "other_eye")
	add(!treated && readingsOf(was.Input.Eye.Fellow) != readingsOf(is.Eye.Fellow), fellowChanged, "other_eye")
	add(was.Input.Eye.Target.Value != is.Eye.Target.Value || was.Input.Eye.Target.Known != is.Eye.Target.Known, targetChanged, "target_d")
	list = append(list, shelfChanges(was, is)...)
	for _, name := range slices.Sorted(maps.Keys(s.Signed.Versions)) {
		v := s.Signed.Versions[name]
		add(s.protocol.Recalled(name, v), versionRecalled, "", value("what", name), value("version", v))
	}
	return list, nil
}

// staleCode is the finding of readings beyond the local age.
const staleCode = "reading-stale"

func ptr[T any](v T) *T { return &v }

// shelfChanges compares the chosen lens on the shelf with the signed one.
func shelfChanges(was *plan.Plan, is plan.Input) (list []finding.Finding) {
	if was.Input.Chosen == nil {
		return nil
	}
	old, had := onThe(was.Input.Shelf, was.Input.Chosen.Model)
	now, has := plan.Shelved{}, false
	if is.Chosen != nil {
		now, has = onThe(is.Shelf, is.Chosen.Model)
	}
	if !had || !has {
		return append(list, lensWithdrawn.On("lens", value("model", was.Input.Chosen.Model)))
	}
	if is.Chosen.Model != was.Input.Chosen.Model {
		list = append(list, lensRenamed.On("lens", value("model", was.Input.Chosen.Model), value("got", is.Chosen.Model)))
	}
	if !reflect.DeepEqual(old.Constants, now.Constants) {
		list = append(list, constantChanged.On("constants", value("model", was.Input.Chosen.Model)))
	}
	lay, counted := lying(old, was.Input.Chosen)
	lies, counts := lying(now, was.Input.Chosen)
	if counts && lies == 0 && (!counted || lay > 0) {
		list = append(list, stockChanged.On("lens", value("model", was.Input.Chosen.Model), value("got", was.Input.Chosen.Power.String())))
	}
	return list
}

func onThe(shelf []plan.Shelved, model string) (plan.Shelved, bool) {
	for _, s := range shelf {
		if s.Lens.Model == model {
			return s, true
		}
	}
	return plan.Shelved{}, false
}

func lying(s plan.Shelved, p *plan.Pick) (count int, counted bool) {
	for _, x := range s.Stock {
		if within(float64(x.Power), float64(p.Power), 0) {
			return x.Count, true
		}
	}
	return 0, len(s.Stock) > 0
}

// stateOf is what an operation or a treatment of an eye changes.
func stateOf(e *eye.Eye) [3]string {
	if e == nil {
		return [3]string{}
	}
	return [3]string{string(e.LensStatus), string(e.Vitreous), string(e.CornealSurgery)}
}

// readingsOf are the readings that are compared between the eyes.
func readingsOf(e *eye.Eye) string {
	if e == nil {
		return ""
	}
	var b strings.Builder
	for _, key := range []string{"axial_length_mm", "axial_length_method", "k_flat_d", "k_steep_d", "keratometric_index"} {
		b.WriteString(eye.FieldNamed(key).Get(e) + "\x00")
	}
	return b.String()
}

// fellowClosedSince reports whether the fellow eye's operation was done, or its
// case closed as operated, after this one was signed. Order is the record's,
// not the clock's; what is written down of the fellow eye later, a visit or a
// correction, changes nothing.
func (t *turn) fellowClosedSince(s *situation) (bool, error) {
	if s.fellow.Case == "" || s.fellow.State != casebook.StateClosed {
		return false, nil
	}
	fellow, err := t.history(s.fellow.Case)
	if err != nil {
		return false, err
	}
	done := int64(0)
	for _, v := range fellow {
		if v.State.Operated() {
			done = v.Revision.Sequence
			break
		}
	}
	signed := int64(0)
	versions, err := t.history(s.id)
	for _, v := range versions {
		if v.State.Verb == casebook.VerbSign {
			signed = v.Revision.Sequence
		}
	}
	return done > signed, err
}

// reopen takes the signature out of force, and with it the second person and
// the reason for having had none.
func reopen(c *casebook.Case, why string) {
	c.Reopened, c.ReadBack, c.LoneReason = why, nil, ""
}

// Reopen takes a signed plan out of force, with a reason or because of what
// the program found. The signature stays in the record; the second person has
// to read again.
func (p *Pathway) Reopen(ctx context.Context, by casebook.Actor, id string, seen int, reason string) (j Journey, err error) {
	err = p.do(ctx, by, VerbReopen, func(t *turn) error {
		err := t.change(id, seen, casebook.VerbReopen, line(reason), func(c *caseAt) error {
			if c.State() != casebook.StateSigned {
				return refuse("not-signed", "")
			}
			why, err := t.reopens(c)
			if err != nil {
				return err
			}
			because := line(reason)
			for _, f := range why {
				because = strings.TrimSpace(f.Code + " " + because)
			}
			if because == "" {
				return refuse("reason-needed", "reason")
			}
			reopen(&c.Case, because)
			return t.plain(c.Patient, reason)
		})
		if err != nil {
			return err
		}
		j, err = t.journey(id)
		return err
	})
	return j, err
}
