package pathway

import (
	"bytes"
	"context"
	"image"
	_ "image/jpeg" // to look at a picture's head
	_ "image/png"
	"slices"
	"strconv"
	"strings"

	"linn/internal/care/casebook"
)

// MaxAttachment is the size of the largest file that is taken.
const MaxAttachment = casebook.MaxAttachment

// mostPixels bounds a picture: some 6 times what a phone takes.
const mostPixels = 300_000_000

// Attaching is a file for a case.
type Attaching struct {
	Case string
	Seen int
	What string // of casebook.AttachedWhat
	File []byte
}

// Attach keeps a photo or a scanned sheet with a case, sealed under its
// patient's key. The type is found in the file; its name is not kept. The same
// file twice is kept once.
func (p *Pathway) Attach(ctx context.Context, by casebook.Actor, a Attaching) (j Journey, err error) {
	err = p.do(ctx, by, VerbAttach, func(t *turn) error {
		if _, err := t.load(a.Case, Newest); err != nil {
			return err
		}
		kind, err := a.check()
		if err != nil {
			return err
		}
		err = t.change(a.Case, a.Seen, casebook.VerbAttach, "", func(c *caseAt) error {
			if err := t.identified(c); err != nil {
				return err
			}
			address, err := t.keep(c, a.File)
			if err != nil {
				return err
			}
			if !slices.ContainsFunc(c.Attached, func(x casebook.Attached) bool { return x.Address == address && x.Withdrawn == "" }) {
				c.Attached = append(c.Attached, casebook.Attached{Address: address, Type: kind, Size: len(a.File), What: a.What, By: t.by.ID, At: t.stamp.At})
			}
			return nil
		})
		if err != nil {
			return err
		}
		j, err = t.journey(a.Case)
		return err
	})
	return j, err
}

// check refuses a file before anything is opened.
func (a Attaching) check() (kind casebook.MediaType, err error) {
	switch kind = casebook.Sniff(a.File); {
	case len(a.File) == 0:
		return "", refuse("file-missing", "file")
	case len(a.File) > MaxAttachment:
		return "", refuse("file-large", "file", value("got", megabytes(len(a.File))), value("most", megabytes(MaxAttachment)))
	case kind == "":
		return "", refuse("file-type", "file")
	case !slices.Contains(casebook.AttachedWhat, a.What):
		return "", refuse("unknown-word", "what", value("got", clip(a.What)), value("allowed", strings.Join(casebook.AttachedWhat, ", ")))
	case kind == casebook.PDF:
		return kind, nil
	}
	head, _, err := image.DecodeConfig(bytes.NewReader(a.File))
	if err != nil || head.Width <= 0 || head.Height <= 0 || head.Width > mostPixels/head.Height {
		return "", refuse("file-broken", "file")
	}
	return kind, nil
}

func megabytes(n int) string { return strconv.Itoa((n+1<<20-1)>>20) + "\u202fMB" }

// keep seals a file under the key of the patient the case was opened under.
func (t *turn) keep(c *caseAt, file []byte) (casebook.Digest, error) {
	key, err := t.tx.Key(c.Patient)
	if err != nil {
		return casebook.Digest{}, err
	}
	box, err := casebook.SealAttachment(file, c.Patient, key)
	if err != nil {
		return casebook.Digest{}, err
	}
	return t.tx.PutAttachment(c.Patient, box)
}

// File is an attachment, opened.
type File struct {
	casebook.Attached
	Number int // of the case's attachments, from 1
	Bytes  []byte
}

// Attachment opens one attachment of a case. A withdrawn one is opened as
// well: it is part of the record.
func (p *Pathway) Attachment(ctx context.Context, by casebook.Actor, id string, number int) (f File, err error) {
	err = p.look(ctx, by, VerbEye, func(t *turn) error {
		c, err := t.load(id, Newest)
		if err != nil {
			return err
		}
		if number < 1 || number > len(c.Attached) {
			return ErrAbsent
		}
		f = File{Attached: c.Attached[number-1], Number: number}
		owner, box, err := t.tx.Attachment(f.Address)
		if err != nil {
			return err
		}
		key, err := t.tx.Key(owner)
		if err != nil {
			return err
		}
		t.touch(casebook.AccessRead, owner, id)
		f.Bytes, err = casebook.UnsealAttachment(box, owner, key)
		return err
	})
	return f, err
}

// Detach says why an attachment does not belong to the case. It stays in the
// record and is shown as withdrawn.
func (p *Pathway) Detach(ctx context.Context, by casebook.Actor, id string, seen, number int, reason string) (j Journey, err error) {
	err = p.do(ctx, by, VerbAttach, func(t *turn) error {
		c, err := t.load(id, Newest)
		if err != nil {
			return err
		}
		if reason, err = t.reason(c.Patient, reason); err != nil {
			return err
		}
		err = t.change(id, seen, casebook.VerbAttach, reason, func(c *caseAt) error {
			if number < 1 || number > len(c.Attached) {
				return ErrAbsent
			}
			c.Attached[number-1].Withdrawn = reason
			return t.identified(c)
		})
		if err != nil {
			return err
		}
		j, err = t.journey(id)
		return err
	})
	return j, err
}
