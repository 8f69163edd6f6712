package dicomio

import (
	"encoding/binary"
	"fmt"
	"strings"

	"linn/finding"
)

// Bounds of a file.
const (
	MaxFile     = 64 << 20
	maxDepth    = 32
	maxElements = 200_000 // some 20 MB of elements; a measurement file has hundreds
)

// The transfer syntaxes that are read.
const (
	ImplicitLittle = "1.2.840.10008.1.2"
	ExplicitLittle = "1.2.840.10008.1.2.1"
)

// Tag is group<<16 | element.
type Tag uint32

func (t Tag) String() string { return fmt.Sprintf("(%04X,%04X)", uint32(t)>>16, uint32(t)&0xFFFF) }

const (
	itemTag     Tag = 0xFFFEE000
	itemEnd     Tag = 0xFFFEE00D
	sequenceEnd Tag = 0xFFFEE0DD
	undefined       = 0xFFFFFFFF
)

// Element is one element: Items when it is a sequence, else Value, a part of
// the file that was parsed.
type Element struct {
	Tag   Tag
	VR    string
	Value []byte
	Items []Dataset
}

// Dataset is elements in the order of their tags.
type Dataset []Element

// File is one Part 10 file.
type File struct {
	Syntax string
	Meta   Dataset
	Data   Dataset
}

type parser struct {
	b        []byte
	at       int
	implicit bool
	elements int
}

func refuse(code string, at int, values ...finding.Value) error {
	return finding.Refusal{Code: "dicom-" + code, Values: append(values, finding.Value{Name: "at", Text: fmt.Sprint(at)})}
}

func got(s string) finding.Value { return finding.Value{Name: "got", Text: s} }

// Parse reads a file. Values are parts of b, which must not be changed.
func Parse(b []byte) (*File, error) {
	if len(b) > MaxFile {
		return nil, refuse("too-large", MaxFile)
	}
	if len(b) < 132 || string(b[128:132]) != "DICM" {
		return nil, refuse("no-preamble", 128)
	}
	f := &File{}
	p := &parser{b: b, at: 132}
	for p.at+2 <= len(b) && binary.LittleEndian.Uint16(b[p.at:]) == 2 {
		e, err := p.element(len(b), 0)
		if err != nil {
			return nil, err
		}
		f.Meta = append(f.Meta, e)
	}
	f.Syntax = strings.TrimRight(string(f.Meta.value(0x00020010)), "\x00 ")
	switch f.Syntax {
	case ImplicitLittle:
		p.implicit = true
	case ExplicitLittle:
	default:
		return nil, refuse("syntax", p.at, got(clip(f.Syntax)))
	}
	var err error
	f.Data, err = p.dataset(len(b), 0, false)
	return f, err
}

func clip(s string) string {
	s = strings.Map(func(r rune) rune {
		if r < ' ' || r > '~' {
			return '?'
		}
		return r
	}, s)
	return s[:min(len(s), 64)]
}

// dataset reads elements to end, or to the item's delimiter when open.
func (p *parser) dataset(end, depth int, open bool) (d Dataset, err error) {
	if depth > maxDepth {
		return nil, refuse("nested", p.at)
	}
	for p.at < end {
		start := p.at
		if open && p.peek(end) == itemEnd {
			p.at += 8
			return d, nil
		}
		e, err := p.element(end, depth)
		if err != nil {
			return nil, err
		}
		if n := len(d); n > 0 && d[n-1].Tag >= e.Tag {
			return nil, refuse("order", start, got(e.Tag.String()))
		}
		d = append(d, e)
	}
	if open {
		return nil, refuse("truncated", p.at)
	}
	return d, nil
}

// peek is the tag that stands here, 0 when no tag and length fit.
func (p *parser) peek(end int) Tag {
	if end-p.at < 8 {
		return 0
	}
	return Tag(binary.LittleEndian.Uint16(p.b[p.at:]))<<16 | Tag(binary.LittleEndian.Uint16(p.b[p.at+2:]))
}

// element reads one element that must end at or before end.
func (p *parser) element(end, depth int) (e Element, err error) {
	start := p.at
	if p.elements++; p.elements > maxElements {
		return e, refuse("elements", start)
	}
	if end-p.at < 8 {
		return e, refuse("truncated", start)
	}
	e.Tag = p.peek(end)
	if e.Tag>>16 == 0xFFFE {
		return e, refuse("delimiter", start, got(e.Tag.String()))
	}
	length, err := p.head(&e, end)
	if err != nil {
		return e, err
	}
	switch {
	case length != undefined && int64(length) > int64(end-p.at):
		return e, refuse("length", start, got(e.Tag.String()), finding.Value{Name: "length", Text: fmt.Sprint(length)})
	case e.VR == "SQ" || e.VR == "UN" && length == undefined:
		return e, p.sequence(&e, length, end, depth+1)
	case length == undefined:
		return e, refuse("undefined", start, got(e.Tag.String()))
	}
	e.Value = p.b[p.at : p.at+int(length)]
	p.at += int(length)
	return e, nil
}

// head reads what stands before the value; 8 bytes are there.
func (p *parser) head(e *Element, end int) (length uint32, err error) {
	h := p.b[p.at:]
	if p.implicit {
		p.at += 8
		length = binary.LittleEndian.Uint32(h[4:])
		if e.VR = vrOf(e.Tag); e.VR == "UN" && length == undefined {
			e.VR = "SQ"
		}
		return length, nil
	}
	e.VR = string(h[4:6])
	if oneOf(longVRs, e.VR) {
		if end-p.at < 12 {
			return 0, refuse("truncated", p.at)
		}
		p.at += 12
		return binary.LittleEndian.Uint32(h[8:]), nil
	}
	if !oneOf(shortVRs, e.VR) {
		return 0, refuse("vr", p.at, got(clip(e.VR)))
	}
	p.at += 8
	return uint32(binary.LittleEndian.Uint16(h[6:])), nil
}

// The value representations, by the size of their length.
const (
	longVRs  = "OB OD OF OL OV OW SQ SV UC UN UR UT UV"
	shortVRs = "AE AS AT CS DA DS DT FL FD IS LO LT PN SH SL SS ST TM UI UL US"
)

func oneOf(list, vr string) bool {
	return vr[0] >= 'A' && vr[0] <= 'Z' && vr[1] >= 'A' && vr[1] <= 'Z' && strings.Contains(list, vr)
}

// sequence reads the items of e. An unknown sequence of undefined length is
// coded with implicit VR inside (PS3.5 6.2.2, note 3).
func (p *parser) sequence(e *Element, length uint32, end, depth int) error {
	if depth > maxDepth {
		return refuse("nested", p.at)
	}
	if e.VR == "UN" {
		was := p.implicit
		p.implicit, e.VR = true, "SQ"
		defer func() { p.implicit = was }()
	}
	open := length == undefined
	if !open {
		end = p.at + int(length)
	}
	for open || p.at < end {
		if p.elements++; p.elements > maxElements {
			return refuse("elements", p.at)
		}
		tag := p.peek(end)
		if open && tag == sequenceEnd {
			p.at += 8
			return nil
		}
		if tag != itemTag {
			return refuse("truncated", p.at)
		}
		n := binary.LittleEndian.Uint32(p.b[p.at+4:])
		p.at += 8
		to := end
		if n != undefined {
			if int64(n) > int64(end-p.at) {
				return refuse("length", p.at-8, got(e.Tag.String()), finding.Value{Name: "length", Text: fmt.Sprint(n)})
			}
			to = p.at + int(n)
		}
		item, err := p.dataset(to, depth, n == undefined)
		if err != nil {
			return err
		}
		e.Items = append(e.Items, item)
	}
	return nil
}
