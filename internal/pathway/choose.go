package pathway

import (
	"bytes"
	"context"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/unit"
)

// Choice is the surgeon's choice as typed. What is "" stays as it is; a lens
// needs its power with it.
type Choice struct {
	Case      string
	Seen      int
	Lens      string // chain of the lens model
	Power     string
	Reason    string // needed at signing when the power is not the recommended one
	Target    string // spherical equivalent at the spectacle plane
	Placement string
	Words     string // what was agreed with the patient

	// Cornea is what was typed of the incision, by key of IncisionKeys; "" takes
	// it away, what is absent stays.
	Cornea map[string]string
}

// IncisionKeys are the keys of the planned incision.
var IncisionKeys = []string{"surgeon_seat", "incision_type", "incision_at_deg", "incision_hour", "incision_mm", "tunnel_mm", "internal_lip_mm",
	"incision_effect_d", "incision_effect_sd_d", "excluded_hours", "posterior_cornea", "marking_sd_deg", "toric_cylinder_d", "toric_axis_deg", "toric_reason"}

// powerText is the key under which a power that could not be read is kept.
const powerText = "power_d"

// Choose sets target, placement, lens and power. A power the lens is not made
// in, or a target that cannot be read, is kept as typed, shown and not used.
// Whatever changes, the second person has to read again.
func (p *Pathway) Choose(ctx context.Context, by casebook.Actor, choice Choice) (j Journey, err error) {
	err = p.do(ctx, by, VerbChoose, func(t *turn) error {
		err := t.change(choice.Case, choice.Seen, casebook.VerbChoose, "", func(c *caseAt) error {
			if err := t.writable(c); err != nil {
				return err
			}
			if err := t.plain(c.Patient, choice.Reason+" "+choice.Words+" "+choice.Cornea["toric_reason"]); err != nil {
				return err
			}
			was, err := casebook.Encode(c.Case)
			if err != nil {
				return err
			}
			for key, text := range map[string]string{"target_d": choice.Target, "placement": choice.Placement} {
				if text = strings.TrimSpace(text); text != "" && text != textOf(c, "", key) {
					put(c, &c.Eye, "", key, text)
				}
			}
			for _, key := range IncisionKeys {
				if text, is := choice.Cornea[key]; is && strings.TrimSpace(text) != textOf(c, "", key) {
					put(c, &c.Eye, "", key, strings.TrimSpace(text))
				}
			}
			if w := line(choice.Words); w != "" {
				c.Case.Target = w
			}
			if err := t.chooseLens(c, choice); err != nil {
				return err
			}
			return unsettleIfChanged(c, was)
		})
		if err != nil {
			return err
		}
		j, err = t.journey(choice.Case)
		return err
	})
	return j, err
}

// unsettleIfChanged takes the second person from a case that is no longer what
// they read. A choice that says nothing new leaves them.
func unsettleIfChanged(c *caseAt, was []byte) error {
	is, err := casebook.Encode(c.Case)
	if err == nil && !bytes.Equal(was, is) {
		c.ReadBack = nil
	}
	return err
}

// chooseLens sets lens and power together.
func (t *turn) chooseLens(c *caseAt, choice Choice) error {
	if choice.Lens == "" && strings.TrimSpace(choice.Power) == "" {
		if c.Chosen != nil && line(choice.Reason) != "" {
			c.Chosen.Reason = line(choice.Reason)
		}
		return nil
	}
	lens := choice.Lens
	if lens == "" && c.Chosen != nil {
		lens = c.Chosen.Lens
	}
	if lens == "" {
		return refuse("needed", "lens")
	}
	if strings.TrimSpace(choice.Power) == "" {
		return refuse("needed", powerText)
	}
	m, _, err := casebook.Load[casebook.LensModel](t.tx, lens)
	if err != nil {
		return err
	}
	if m.Withdrawn != "" {
		return refuse("lens-withdrawn", "lens", value("model", m.Model), value("why", m.Withdrawn))
	}
	c.Unread = without(c.Unread, powerText)
	power, refused := powerOf(m, choice.Power)
	if refused != nil {
		c.Chosen, c.Unread = nil, with(c.Unread, powerText, strings.TrimSpace(choice.Power))
		return nil
	}
	c.Chosen = &casebook.Chosen{Lens: lens, Model: m.Model, Power: power, Reason: line(choice.Reason)}
	return nil
}

// powerOf reads a power that the model is made in.
func powerOf(m casebook.LensModel, text string) (unit.Dioptre, *finding.Refusal) {
	v, err := unit.ParseNumber(text)
	if err != nil || !onShelf(m, unit.Dioptre(v)) {
		return 0, &finding.Refusal{Code: "power-not-made", Field: powerText, Values: finding.Values{value("got", clip(strings.TrimSpace(text)))}}
	}
	return unit.Dioptre(v), nil
}

// ReadItems are what the second person reads from the source.
var ReadItems = []string{"name", "side", "length", "k", "lens"}

// Reading is what the second person has read.
type Reading struct {
	Case string
	Seen int
	Read []string // of ReadItems; all of them
}

// ReadBack records that a second person, with the source in hand, has read
// name, side, length, K and lens and found them alike here. Whoever reads back
// cannot sign this plan, and nobody reads back what they chose themselves.
func (p *Pathway) ReadBack(ctx context.Context, by casebook.Actor, r Reading) (j Journey, err error) {
	err = p.do(ctx, by, VerbReadBack, func(t *turn) error {
		if missing := unread(r.Read); len(missing) > 0 {
			return missing
		}
		err := t.change(r.Case, r.Seen, casebook.VerbReadBack, "", func(c *caseAt) error {
			if err := t.writable(c); err != nil {
				return err
			}
			if err := t.readable(c); err != nil {
				return err
			}
			c.ReadBack = &casebook.ReadBack{By: t.by.ID, At: t.stamp.At}
			return nil
		})
		if err != nil {
			return err
		}
		j, err = t.journey(r.Case)
		return err
	})
	return j, err
}

func unread(read []string) (missing finding.Refusals) {
	for _, item := range ReadItems {
		if !contains(read, item) {
			missing = append(missing, finding.Refusal{Code: "not-read", Field: item})
		}
	}
	return missing
}

func contains(list []string, s string) bool {
	for _, x := range list {
		if x == s {
			return true
		}
	}
	return false
}

// readable refuses to have read what is not there, or what the reader chose.
func (t *turn) readable(c *caseAt) error {
	var bad finding.Refusals
	for _, key := range casebook.FieldsEnteredTwice() {
		if eye.FieldNamed(key).Get(&c.Eye) == "" {
			bad = append(bad, finding.Refusal{Code: "not-recorded", Field: key})
		}
	}
	if c.Chosen == nil {
		bad = append(bad, finding.Refusal{Code: "not-recorded", Field: "lens"})
	}
	if err := bad.Err(); err != nil {
		return err
	}
	own, err := t.chose(c.id, t.by.ID)
	if err == nil && own {
		return refuse("second-person-chose", "")
	}
	return err
}

// chose reports whether a person set the lens and power that the case has now,
// whoever else changed the target or a reason since.
func (t *turn) chose(id, person string) (bool, error) {
	versions, err := t.history(id)
	var by string
	var was *casebook.Chosen
	for _, v := range versions {
		if is := v.State.Chosen; !sameLens(was, is) {
			by, was = v.Revision.Actor, is
		}
	}
	return person == by, err
}

// sameLens compares the lens, not the reason given for it.
func sameLens(a, b *casebook.Chosen) bool {
	if a == nil || b == nil {
		return a == b
	}
	return a.Lens == b.Lens && a.Power == b.Power
}
