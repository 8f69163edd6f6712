package casebook

import "errors"

// operated are the rows of operated eyes by case; strays among them are told.
func (v *verifier) operated() (map[string]OperatedRow, error) {
	list, err := v.tx.Operated(OperatedQuery{})
	rows := map[string]OperatedRow{}
	for _, o := range list {
		rows[o.Case] = o
		if v.chains[link{KindCase, o.Case}] == nil {
			v.report.Stale = append(v.report.Stale, Break{KindCase, o.Case, o.Number, FaultStale})
		}
	}
	return rows, err
}

// after compares the row of an operated eye with what the head gives, and the
// attachments that the head names with what is kept.
func (v *verifier) after(head Revision, rows map[string]OperatedRow) error {
	want, is, err := ProjectOperated(head)
	got, has := rows[head.Chain]
	v.stale(head, err != nil || is != has || got != want)
	return v.attachments(head)
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
