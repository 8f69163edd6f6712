package casebook

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"unicode/utf8"
)

// Payload is what a revision holds: one of Patient, Case, Person, LensModel,
// Machine, Protocol, List, Ward.
type Payload interface {
	Kind() Kind
	Format() string
}

// formats are the payload formats this program can read and write.
var formats = map[Kind][]string{
	KindPatient:  {Patient{}.Format()},
	KindCase:     {Case{}.Format()},
	KindPerson:   {Person{}.Format()},
	KindLens:     {LensModel{}.Format()},
	KindMachine:  {Machine{}.Format()},
	KindProtocol: {Protocol{}.Format()},
	KindList:     {List{}.Format()},
	KindWard:     {Ward{}.Format()},
}

// FormatError says that a revision was written in a format, or with a section,
// that this program does not know: by a newer program. Such a chain can be
// read as far as it is understood and is never written to.
type FormatError struct {
	Kind   Kind
	Chain  string
	Number int
	Format string
	Cause  error // the section that is not known, nil when the format itself is not
}

func (e *FormatError) Error() string {
	s := fmt.Sprintf("casebook: %s %s revision %d has format %q, which this program does not know in full", e.Kind, e.Chain, e.Number, e.Format)
	if e.Cause != nil {
		s += ": " + e.Cause.Error()
	}
	return s
}

func (e *FormatError) Unwrap() error { return e.Cause }

// ErrGarbled is what Decode wraps for a payload that is not the JSON its
// format promises.
var ErrGarbled = errors.New("payload cannot be read")

// Encode writes p as it will be stored.
func Encode(p Payload) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false) // people read the record with a text tool one day
	if err := enc.Encode(p); err != nil {
		return nil, fmt.Errorf("casebook: encode %s: %w", p.Format(), err)
	}
	return bytes.TrimSuffix(b.Bytes(), []byte{'\n'}), nil
}

// Decode reads the payload of r into p. A format or a section that this
// program does not know gives a *FormatError; p then holds what was
// understood. A payload that is not such JSON at all gives an error that wraps
// ErrGarbled.
func Decode[P Payload](r Revision, p *P) error {
	var zero P
	*p = zero
	if r.Kind != zero.Kind() {
		return fmt.Errorf("casebook: %s %s is not a %s", r.Kind, r.Chain, zero.Kind())
	}
	if r.Format != zero.Format() {
		return &FormatError{Kind: r.Kind, Chain: r.Chain, Number: r.Number, Format: r.Format}
	}
	strict := decode(r.Payload, p, true)
	if strict == nil {
		return nil
	}
	*p = zero
	if err := decode(r.Payload, p, false); err != nil {
		*p = zero
		return fmt.Errorf("casebook: %s %s revision %d: %w: %w", r.Kind, r.Chain, r.Number, ErrGarbled, err)
	}
	return &FormatError{Kind: r.Kind, Chain: r.Chain, Number: r.Number, Format: r.Format, Cause: strict}
}

func decode(payload []byte, into any, strict bool) error {
	if !utf8.Valid(payload) {
		return errors.New("not UTF-8")
	}
	dec := json.NewDecoder(bytes.NewReader(payload))
	if strict {
		dec.DisallowUnknownFields()
	}
	if err := dec.Decode(into); err != nil {
		return err
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return errors.New("text after the object")
	}
	return nil
}

// understood reports, as a *FormatError or a garbled payload, what keeps this
// program from writing after r.
func understood(r Revision) error {
	if !slices.Contains(formats[r.Kind], r.Format) {
		return &FormatError{Kind: r.Kind, Chain: r.Chain, Number: r.Number, Format: r.Format}
	}
	switch r.Kind {
	case KindPatient:
		return Decode(r, new(Patient))
	case KindCase:
		return Decode(r, new(Case))
	case KindPerson:
		return Decode(r, new(Person))
	case KindLens:
		return Decode(r, new(LensModel))
	case KindMachine:
		return Decode(r, new(Machine))
	case KindProtocol:
		return Decode(r, new(Protocol))
	case KindList:
		return Decode(r, new(List))
	}
	return Decode(r, new(Ward))
}
