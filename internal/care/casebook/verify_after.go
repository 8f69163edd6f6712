package casebook

import "errors"

// after compares the rows of operated eyes with what the heads give, and the
// attachments that the heads name with what is kept.
func (v *verifier) after() error {
	list, err := v.tx.Operated(OperatedQuery{})
	if err != nil {
		return err
	}
	rows := map[string]OperatedRow{}
	for _, o := range list {
		rows[o.Case] = o
		if v.chains[link{KindCase, o.Case}] == nil {
			v.report.Stale = append(v.report.Stale, Break{KindCase, o.Case, o.Number, FaultStale})
		}
	}
	for at, c := range v.chains {
		if at.kind != KindCase || c.broken || c.newer {
			continue
		}
		want, is, err := ProjectOperated(c.head)
		got, has := rows[at.chain]
		v.stale(c.head, err != nil || is != has || got != want)
		if err := v.attachments(c.head); err != nil {
			return err
		}
	}
	return nil
}

// attachments checks every file that a case names: it is there, and its
// ciphertext has the SHA-256 that the record says. It needs no key.
func (v *verifier) attachments(head Revision) error {
	var c Case
	if err := Decode(head, &c); err != nil {
		return nil // said already
	}
	for _, a := range c.Attached {
		_, box, err := v.tx.Attachment(a.Address)
		switch {
		case errors.Is(err, ErrAbsent) || err == nil && AddressOf(box) != a.Address:
			v.report.Broken = append(v.report.Broken, Break{head.Kind, head.Chain, head.Number, FaultAttachment})
			return nil
		case err != nil:
			return err
		}
	}
	return nil
}
