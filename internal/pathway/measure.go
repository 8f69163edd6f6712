package pathway

import (
	"context"
	"errors"
	"maps"
	"slices"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
)

// Measurement is a group of readings as typed, by side and contract key. A
// field that is not named stays; an empty text takes the reading away. What
// equals the stored text is no change.
type Measurement struct {
	Case string
	Seen int // revision of the case the form was made from

	// FellowSeen is the revision of the fellow eye's own case, when it has
	// one: its readings are changed there, in the same write.
	FellowSeen int

	Eyes map[eye.Side]map[string]string

	// Details are what is known about single readings of this eye beside
	// their value, by contract key; under "contact_lenses" the kind last worn
	// (Method: none, soft, rigid) and its last day in the eye (MeasuredOn).
	Details map[string]casebook.Detail

	// Imported says that the values came from a device and were not typed.
	Imported bool
}

// decided are the fields that are not measured: they belong to the case, the
// patient, the day or the surgeon's choice.
var decided = append([]string{"side", "age_years", "sex", "as_of", "target_d", "placement", "age_months"}, IncisionKeys...)

// Measured lists the keys that Measure takes.
func Measured() []string {
	var keys []string
	for i := range eye.Fields {
		if !slices.Contains(decided, eye.Fields[i].Key) {
			keys = append(keys, eye.Fields[i].Key)
		}
	}
	return keys
}

// Measure stores readings as typed, as one revision. A text that no rule can
// take is kept and shown with its reason and never used; the reading it was to
// replace is not used either. A changed reading loses its second entry, and
// the case its second person.
func (p *Pathway) Measure(ctx context.Context, by casebook.Actor, m Measurement) (j Journey, err error) {
	if err := m.check(); err != nil {
		return j, err
	}
	err = p.do(ctx, by, VerbMeasure, func(t *turn) error {
		if err := t.measure(m, casebook.VerbMeasure, ""); err != nil {
			return err
		}
		j, err = t.journey(m.Case)
		return err
	})
	return j, err
}

// check refuses keys that are not readings before anything is stored.
func (m Measurement) check() error {
	var bad finding.Refusals
	keys := Measured()
	for side, fields := range m.Eyes {
		if side.Other() == "" {
			return refuse("needed", "side")
		}
		for _, key := range slices.Sorted(maps.Keys(fields)) {
			if !slices.Contains(keys, key) {
				bad = append(bad, eye.UnknownKey(key))
			}
		}
	}
	for _, key := range slices.Sorted(maps.Keys(m.Details)) {
		if !slices.Contains(keys, key) && key != wearDetail {
			bad = append(bad, eye.UnknownKey(key))
		}
	}
	return bad.Err()
}

// measure enters the readings of both eyes where they belong.
func (t *turn) measure(m Measurement, verb casebook.Verb, reason string) error {
	var fellow casebook.WardRow
	err := t.change(m.Case, m.Seen, verb, reason, func(c *caseAt) (err error) {
		changed := t.enter(c, "", m.Eyes[c.Side], m.Imported)
		for key, d := range m.Details {
			if c.Details[key] != d {
				c.Details = with(c.Details, key, d)
				changed = true
			}
		}
		if fellow, err = t.fellowOf(c); err != nil {
			return err
		}
		if fellow.Case == "" {
			changed = t.enter(c, besideKey, m.Eyes[c.Side.Other()], m.Imported) || changed
		}
		if !changed {
			return nil
		}
		return t.remeasured(c, verb)
	})
	if err != nil || fellow.Case == "" {
		return err
	}
	return t.measureFellow(fellow, m, verb, reason)
}

// measureFellow enters readings of the fellow eye in its own case. A form
// that does not know that case's revision can only repeat what stands there.
func (t *turn) measureFellow(fellow casebook.WardRow, m Measurement, verb casebook.Verb, reason string) error {
	seen := m.FellowSeen
	if seen == 0 {
		seen = fellow.Number
	}
	return t.change(fellow.Case, seen, verb, reason, func(c *caseAt) error {
		if !t.enter(c, "", m.Eyes[c.Side], m.Imported) {
			return nil
		}
		if m.FellowSeen == 0 {
			return refuse("fellow-unseen", "", value("eye", c.Side.Words()))
		}
		return t.remeasured(c, verb)
	})
}

// remeasured does what follows from changed readings: a signed plan is
// changed only as a correction, which reopens it; the second person has to
// read again; a reason for another lens than the recommended has to be given
// again.
func (t *turn) remeasured(c *caseAt, verb casebook.Verb) error {
	if verb == casebook.VerbCorrect && c.State() == casebook.StateSigned {
		reopen(&c.Case, "corrected")
	}
	if err := t.writable(c); err != nil {
		return err
	}
	c.ReadBack = nil
	if c.Chosen != nil {
		c.Chosen.Reason = ""
	}
	c.Eye.ToricReason = ""
	return nil
}

// enter types texts into the eye of the case, or, under the prefix, into the
// fellow eye kept beside it. It reports whether any reading changed.
func (t *turn) enter(c *caseAt, prefix string, fields map[string]string, imported bool) (changed bool) {
	at := &c.Eye
	if prefix != "" {
		if c.Eye.Fellow == nil {
			c.Eye.Fellow = &eye.Eye{}
		}
		at = c.Eye.Fellow
	}
	for i := range eye.Fields {
		key := eye.Fields[i].Key
		text, named := fields[key]
		text = strings.TrimSpace(text)
		if !named {
			continue
		}
		if text != textOf(c, prefix, key) {
			changed = true
			put(c, at, prefix, key, text)
			if prefix == "" {
				c.Second, c.Details = without(c.Second, key), without(c.Details, key)
			}
		}
		if imported && prefix == "" {
			t.fromDevice(c, key)
		}
	}
	if prefix != "" && *c.Eye.Fellow == (eye.Eye{}) {
		c.Eye.Fellow = nil
	}
	return changed
}

// fromDevice notes that a reading that is entered twice came from a device:
// that counts as its second entry.
func (t *turn) fromDevice(c *caseAt, key string) {
	if !slices.Contains(casebook.FieldsEnteredTwice(), key) {
		return
	}
	if eye.FieldNamed(key).Get(&c.Eye) != "" && !c.Second[key].Imported {
		c.Second = with(c.Second, key, casebook.SecondEntry{Imported: true, By: t.by.ID, At: t.stamp.At})
	}
}

// put types one text: into the eye when it can be read, else beside it.
func put(c *caseAt, at *eye.Eye, prefix, key, text string) {
	clearField(at, key)
	c.Unread = without(c.Unread, prefix+key)
	if text == "" {
		return
	}
	if refused := eye.FieldNamed(key).Set(at, text); refused != nil {
		c.Unread = with(c.Unread, prefix+key, text)
	}
}

// textOf is what stands in a field as typed, read or not.
func textOf(c *caseAt, prefix, key string) string {
	if text, is := c.Unread[prefix+key]; is {
		return text
	}
	at := &c.Eye
	if prefix != "" {
		at = c.Eye.Fellow
	}
	if at == nil {
		return ""
	}
	return strings.TrimSpace(eye.FieldNamed(key).Get(at))
}

// clearField makes one field "not recorded" again: the eye is typed anew
// without it.
func clearField(e *eye.Eye, key string) {
	kept := eye.Eye{Fellow: e.Fellow}
	for i := range eye.Fields {
		f := &eye.Fields[i]
		if text := f.Get(e); text != "" && f.Key != key {
			if r := f.Set(&kept, text); r != nil {
				panic("pathway: a reading that was taken is refused: " + r.Error())
			}
		}
	}
	*e = kept
}

// fellowOf finds the fellow eye's case: the open one, else the newest closed
// one. The zero row: there is none.
func (t *turn) fellowOf(c *caseAt) (fellow casebook.WardRow, err error) {
	cases, err := t.casesOf(c.Patient)
	if err != nil {
		return fellow, err
	}
	for _, w := range cases {
		if w.Side != c.Side.Other() {
			continue
		}
		open, wasOpen := w.State != casebook.StateClosed, fellow.Case != "" && fellow.State != casebook.StateClosed
		if fellow.Case == "" || open && !wasOpen || open == wasOpen && w.Changed.After(fellow.Changed) {
			fellow = w
		}
	}
	return fellow, nil
}

// SecondEntry types readings a second time, without having seen the first. It
// is kept as typed; the reading counts as entered twice when both are the same
// number.
func (p *Pathway) SecondEntry(ctx context.Context, by casebook.Actor, m Measurement) (j Journey, err error) {
	return p.again(ctx, by, m, casebook.VerbRepeat, "", func(t *turn, c *caseAt, key, text string) error {
		return t.secondEntry(c, key, text)
	})
}

// MeasureAgain enters readings that were measured a second time on the
// patient, because a finding asked for it. The new reading takes the place of
// the old one, which is kept beside it; the same number measured again counts
// as the second entry too. A text that cannot be read is kept as a second
// entry that disagrees: the reading that stands is not lost to a slip.
func (p *Pathway) MeasureAgain(ctx context.Context, by casebook.Actor, m Measurement, reason string) (j Journey, err error) {
	return p.again(ctx, by, m, casebook.VerbRepeat, line(reason), func(t *turn, c *caseAt, key, text string) error {
		return t.measureAgain(c, key, text, line(reason))
	})
}

// Repeat works off the queue of repeats: each text is a new measurement where
// a finding asked for one, and a second entry otherwise.
func (p *Pathway) Repeat(ctx context.Context, by casebook.Actor, m Measurement) (j Journey, err error) {
	var asked map[string]bool
	return p.again(ctx, by, m, casebook.VerbRepeat, "", func(t *turn, c *caseAt, key, text string) (err error) {
		if asked == nil {
			if asked, err = t.askedAgain(c); err != nil {
				return err
			}
		}
		if asked[key] {
			return t.measureAgain(c, key, text, "")
		}
		return t.secondEntry(c, key, text)
	})
}

// again runs one of the ways to enter a reading another time over the texts
// of this eye.
func (p *Pathway) again(ctx context.Context, by casebook.Actor, m Measurement, verb casebook.Verb, reason string,
	each func(t *turn, c *caseAt, key, text string) error) (j Journey, err error) {
	if err := m.check(); err != nil {
		return j, err
	}
	err = p.do(ctx, by, VerbMeasure, func(t *turn) error {
		err := t.change(m.Case, m.Seen, verb, reason, func(c *caseAt) error {
			if err := errors.Join(t.writable(c), t.plain(c.Patient, reason)); err != nil {
				return err
			}
			for _, key := range Measured() {
				if text := strings.TrimSpace(m.Eyes[c.Side][key]); text != "" {
					if err := each(t, c, key, text); err != nil {
						return err
					}
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
		j, err = t.journey(m.Case)
		return err
	})
	return j, err
}

func (t *turn) secondEntry(c *caseAt, key, text string) error {
	if textOf(c, "", key) == "" {
		return refuse("first-entry-missing", key)
	}
	c.Second = with(c.Second, key, casebook.SecondEntry{Text: text, By: t.by.ID, At: t.stamp.At})
	return nil
}

func (t *turn) measureAgain(c *caseAt, key, text, reason string) error {
	old := eye.FieldNamed(key).Get(&c.Eye)
	if old == "" {
		return refuse("first-entry-missing", key)
	}
	try := eye.Eye{}
	if refused := eye.FieldNamed(key).Set(&try, text); refused != nil {
		return t.secondEntry(c, key, text)
	}
	c.Repeats = append(c.Repeats, casebook.Repetition{Field: key, Old: old, New: text, By: t.by.ID, At: t.stamp.At, Reason: reason})
	if sameNumber(old, text) {
		if !c.Second[key].Imported {
			return t.secondEntry(c, key, text)
		}
		return nil
	}
	put(c, &c.Eye, "", key, text)
	c.Second, c.Details = without(c.Second, key), without(c.Details, key)
	return t.remeasured(c, casebook.VerbRepeat)
}
