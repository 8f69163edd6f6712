package pathway

import (
	"context"
	"errors"
	"slices"
	"strings"

	"linn/eye"
	"linn/internal/care/casebook"
	"linn/unit"
)

// OpenCase opens a case for one eye of a patient. Readings that were typed
// beside the fellow eye's case become this case's own: they are this eye's.
func (p *Pathway) OpenCase(ctx context.Context, by casebook.Actor, patient string, side eye.Side) (id string, err error) {
	err = p.do(ctx, by, VerbOpenCase, func(t *turn) error {
		id, err = t.openCase(patient, side)
		return err
	})
	return id, err
}

func (t *turn) openCase(patient string, side eye.Side) (string, error) {
	if side.Other() == "" {
		return "", refuse("needed", "side")
	}
	root, err := casebook.Resolve(t.tx, patient)
	if err != nil {
		return "", err
	}
	c := casebook.Case{Patient: root, Side: side, Verb: casebook.VerbOpen}
	if err := t.identified(&caseAt{Case: c}); err != nil {
		return "", err
	}
	cases, err := t.casesOf(root)
	if err != nil {
		return "", err
	}
	if slices.ContainsFunc(cases, func(w casebook.WardRow) bool { return w.Side == side && w.State != casebook.StateClosed }) {
		return "", refuse("case-exists", "side", value("eye", side.Words()))
	}
	if err := t.adopt(&c, cases); err != nil {
		return "", err
	}
	id, err := casebook.NewID(t.Random, t.now)
	if err != nil {
		return "", err
	}
	if _, err := casebook.Revise(t.tx, t.stamp, id, 0, c); err != nil {
		return "", err
	}
	t.touch(casebook.AccessChange, root, id)
	return id, nil
}

// besideKey is how a field of the fellow eye is named in a case.
const besideKey = "other_eye."

// adopt takes over the readings of this eye that stand in the fellow eye's
// open case, texts that could not be read too.
func (t *turn) adopt(c *casebook.Case, cases []casebook.WardRow) error {
	for _, w := range cases {
		if w.Side == c.Side || w.State == casebook.StateClosed {
			continue
		}
		fellow, err := t.load(w.Case, Newest)
		if err != nil {
			return err
		}
		if fellow.Eye.Fellow != nil {
			c.Eye = *fellow.Eye.Fellow
			c.Eye.Side = ""
		}
		for key, text := range fellow.Unread {
			if own, is := strings.CutPrefix(key, besideKey); is {
				c.Unread = with(c.Unread, own, text)
			}
		}
	}
	return nil
}

// with returns the map with one entry set; a nil map is made.
func with[V any](m map[string]V, key string, v V) map[string]V {
	if m == nil {
		m = map[string]V{}
	}
	m[key] = v
	return m
}

// without returns the map without one entry, nil when none is left.
func without[V any](m map[string]V, key string) map[string]V {
	delete(m, key)
	if len(m) == 0 {
		return nil
	}
	return m
}

// Listing puts a case on a theatre list.
type Listing struct {
	Case  string
	Seen  int
	Date  string // ISO date as typed; "" takes the case off its list
	Place string
	Order int
}

// List puts a case on the list of a day, or takes it off. A signed plan that
// moves to another day gets a new sheet number: a sheet is valid only for the
// list of its day. It stays signed only if nothing reopens it on that day.
func (p *Pathway) List(ctx context.Context, by casebook.Actor, l Listing) (j Journey, err error) {
	err = p.do(ctx, by, VerbList, func(t *turn) error {
		listing, err := t.listing(l)
		if err != nil {
			return err
		}
		err = t.change(l.Case, l.Seen, casebook.VerbList, "", func(c *caseAt) error {
			if c.State() != casebook.StateSigned {
				c.List = listing
				return t.writable(c)
			}
			return t.relist(c, listing)
		})
		if err != nil {
			return err
		}
		j, err = t.journey(l.Case)
		return err
	})
	return j, err
}

func (t *turn) listing(l Listing) (*casebook.Listing, error) {
	text := strings.TrimSpace(l.Date)
	if text == "" {
		return nil, nil
	}
	date, err := unit.ParseDate(text)
	if err != nil || !date.Exact() {
		return nil, refuse("not-a-date", "list", value("got", clip(text)))
	}
	if date.Before(t.today()) {
		return nil, refuse("list-past", "list", value("got", date.String()), value("today", t.today().String()))
	}
	return &casebook.Listing{Date: date, Place: line(l.Place), Order: max(l.Order, 0)}, nil
}

// relist moves a signed case to another day.
func (t *turn) relist(c *caseAt, listing *casebook.Listing) error {
	if listing == nil {
		return refuse("case-signed", "list")
	}
	if err := t.identified(c); err != nil {
		return err
	}
	moved := c.List == nil || c.List.Date != listing.Date
	c.List = listing
	if !moved {
		return nil
	}
	why, err := t.reopens(c)
	if err != nil {
		return err
	}
	if len(why) > 0 {
		return refuse("relist-reopens", "list", value("why", why[0].Code))
	}
	sheet, err := t.tx.NextSheet(c.id)
	if err != nil {
		return err
	}
	c.Signed.Sheet, c.Signed.ListDate = sheet, listing.Date
	return nil
}

// Closed says why nothing more is to be done with a case.
const (
	ClosedOperated = casebook.ClosedOperated
	ClosedDropped  = "dropped" // the operation is not wanted or not needed
	ClosedMistake  = "mistake" // the case was opened by mistake
)

// Close ends a case.
func (p *Pathway) Close(ctx context.Context, by casebook.Actor, id string, seen int, why, reason string) error {
	return p.do(ctx, by, VerbClose, func(t *turn) error {
		if !slices.Contains([]string{ClosedOperated, ClosedDropped, ClosedMistake}, why) {
			return refuse("unknown-word", "closed", value("got", clip(why)),
				value("allowed", strings.Join([]string{ClosedOperated, ClosedDropped, ClosedMistake}, ", ")))
		}
		return t.change(id, seen, casebook.VerbClose, line(reason), func(c *caseAt) error {
			if c.State() == casebook.StateClosed {
				return refuse("case-closed", "", value("why", c.Closed))
			}
			if err := t.plain(c.Patient, reason); err != nil {
				return err
			}
			c.Closed = why
			return nil
		})
	})
}

// reason reads a reason that has to be given.
func (t *turn) reason(patient, text string) (string, error) {
	if line(text) == "" {
		return "", refuse("reason-needed", "reason")
	}
	return line(text), t.plain(patient, text)
}

// plain refuses a text that names its patient. Reasons stand in the record
// unsealed: after an erasure they would still say who it was.
func (t *turn) plain(patient, text string) error {
	root, err := casebook.Resolve(t.tx, patient)
	if err != nil {
		return err
	}
	id, err := casebook.Identify(t.tx, root)
	if errors.Is(err, ErrErased) {
		return nil
	}
	if err != nil {
		return err
	}
	return namesNobody(id, text)
}

// namesNobody refuses a text that says who a person is.
func namesNobody(id casebook.Identity, text string) error {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return strings.ContainsRune(" ,;:()\"'\t\n", r) })
	said := " " + strings.Join(words, " ") + " "
	for _, who := range []string{id.Name, id.Identifier} {
		if who = line(strings.ToLower(who)); len(who) > 2 && strings.Contains(said, " "+who+" ") {
			return refuse("reason-names-patient", "reason")
		}
	}
	return nil
}
