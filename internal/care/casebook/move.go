package casebook

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	"linn/eye"
)

// Move takes readings that were entered on the wrong case out of it and puts
// them where they belong. It returns the next state of both cases, with the
// readings masked in the one and marked as moved in the other; both are
// appended in one Do. What was typed stays in the earlier revisions, hidden by
// the mask.
//
// A field that already holds something in the right case is refused: nobody's
// reading is written over.
func Move(from, to Version[Case], fields []string, stamp Stamp, reason string) (Case, Case, error) {
	if from.Revision.Chain == to.Revision.Chain || len(fields) == 0 || reason == "" {
		return Case{}, Case{}, errors.New("casebook: a move needs two cases, readings and a reason")
	}
	left, right := from.State, to.State
	moved := left.keep(fields)
	for _, key := range fields {
		f := eye.FieldNamed(key)
		if f == nil || key == "side" {
			return Case{}, Case{}, fmt.Errorf("casebook: %q is not a reading", key)
		}
		if f.Get(&right.Eye) != "" || right.Unread[key] != "" {
			return Case{}, Case{}, fmt.Errorf("casebook: the case already holds %s", key)
		}
		if text := f.Get(&left.Eye); text != "" {
			if err := f.Set(&right.Eye, text); err != nil {
				return Case{}, Case{}, err
			}
		}
	}
	left = left.without(fields)
	right.Unread, right.Details, right.Second = join(right.Unread, moved.Unread), join(right.Details, moved.Details), join(right.Second, moved.Second)
	left.Verb, left.Reason = VerbMoveAway, reason
	left.Masked = append(slices.Clone(left.Masked), Mask{Fields: fields, Through: from.Revision.Number, Case: to.Revision.Chain,
		By: stamp.Actor, At: stamp.At, Reason: reason})
	right.Verb, right.Reason = VerbMoveHere, reason
	right.MovedFrom = append(slices.Clone(right.MovedFrom), Moved{Case: from.Revision.Chain, Fields: fields,
		By: stamp.Actor, At: stamp.At, Reason: reason})
	return left, right, nil
}

// Hide returns the state of revision number of a case without the readings
// that masks, those of the case's newest state, say were another eye's.
func Hide(c Case, number int, masks []Mask) Case {
	for _, m := range masks {
		if number <= m.Through {
			c = c.without(m.Fields)
		}
	}
	return c
}

// without returns c with the fields not recorded. c is not changed.
func (c Case) without(fields []string) Case {
	var kept eye.Eye
	for i := range eye.Fields {
		f := &eye.Fields[i]
		if text := f.Get(&c.Eye); text != "" && !slices.Contains(fields, f.Key) {
			if err := f.Set(&kept, text); err != nil {
				panic("casebook: a reading that was taken is refused: " + err.Error())
			}
		}
	}
	kept.Fellow = c.Eye.Fellow
	c.Eye = kept
	c.Unread, c.Details, c.Second = drop(c.Unread, fields), drop(c.Details, fields), drop(c.Second, fields)
	c.Repeats = slices.DeleteFunc(slices.Clone(c.Repeats), func(r Repetition) bool { return slices.Contains(fields, r.Field) })
	return c
}

// keep returns a case with what c holds about the fields beside their values.
func (c Case) keep(fields []string) Case {
	other := func(key string) bool { return !slices.Contains(fields, key) }
	return Case{Unread: filter(c.Unread, other), Details: filter(c.Details, other), Second: filter(c.Second, other)}
}

func drop[V any](m map[string]V, fields []string) map[string]V {
	return filter(m, func(key string) bool { return slices.Contains(fields, key) })
}

// filter returns a copy of m without the keys that out names, nil when none is left.
func filter[V any](m map[string]V, out func(string) bool) map[string]V {
	kept := maps.Clone(m)
	maps.DeleteFunc(kept, func(key string, _ V) bool { return out(key) })
	if len(kept) == 0 {
		return nil
	}
	return kept
}

func join[V any](a, b map[string]V) map[string]V {
	if len(b) == 0 {
		return a
	}
	all := maps.Clone(a)
	if all == nil {
		all = map[string]V{}
	}
	maps.Copy(all, b)
	return all
}
