package dicomio

import (
	"encoding/binary"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

func (d Dataset) find(t Tag) *Element {
	for i := range d {
		if d[i].Tag == t {
			return &d[i]
		}
	}
	return nil
}

func (d Dataset) value(t Tag) []byte {
	if e := d.find(t); e != nil {
		return e.Value
	}
	return nil
}

// items are the items of a sequence, none when it is absent.
func (d Dataset) items(t Tag) []Dataset {
	if e := d.find(t); e != nil {
		return e.Items
	}
	return nil
}

// item is the one item of a sequence, nil when it is absent or empty.
func (d Dataset) item(t Tag) Dataset {
	if list := d.items(t); len(list) > 0 {
		return list[0]
	}
	return nil
}

// word is a text of the default character set.
func (d Dataset) word(t Tag) string { return strings.Trim(string(d.value(t)), " \x00") }

// code is the code value in the one item of a sequence, with its scheme: "DCM 111750".
func (d Dataset) code(t Tag) string {
	i := d.item(t)
	if i.word(0x00080100) == "" {
		return ""
	}
	return i.word(0x00080102) + " " + i.word(0x00080100)
}

// number writes a number as the instrument had it: a float32 of 23.45 is
// 23.450000762939453 as a float64, and 23.45 as the shortest text that reads
// back the same. known is false when the element is absent or empty.
func (d Dataset) number(t Tag) (text string, known bool, err error) {
	e := d.find(t)
	if e == nil || len(e.Value) == 0 {
		return "", false, nil
	}
	x, bits := math.NaN(), 64
	switch {
	case e.VR == "FL" && len(e.Value) == 4:
		x, bits = float64(math.Float32frombits(binary.LittleEndian.Uint32(e.Value))), 32
	case e.VR == "FD" && len(e.Value) == 8:
		x = math.Float64frombits(binary.LittleEndian.Uint64(e.Value))
	case e.VR == "SS" && len(e.Value) == 2:
		x = float64(int16(binary.LittleEndian.Uint16(e.Value)))
	case e.VR == "DS":
		return decimal(t, d.word(t))
	}
	if math.IsNaN(x) || math.Abs(x) > 1e6 {
		return "", false, refuse("number", 0, got(t.String()))
	}
	return strconv.FormatFloat(x+0, 'f', -1, bits), true, nil // + 0: no −0
}

func decimal(t Tag, text string) (string, bool, error) {
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(x) || math.Abs(x) > 1e6 {
		return "", false, refuse("number", 0, got(t.String()))
	}
	return strings.TrimPrefix(text, "+"), true, nil
}

// charset decodes texts of a file.
type charset string

func (d Dataset) charset() (charset, error) {
	switch s := d.word(0x00080005); s {
	case "", "ISO_IR 6", "ISO_IR 100", "ISO_IR 192":
		return charset(s), nil
	default:
		return "", refuse("charset", 0, got(clip(s)))
	}
}

func (c charset) text(d Dataset, t Tag) (string, error) {
	s := d.word(t)
	switch {
	case c == "ISO_IR 192" && !utf8.ValidString(s):
		return "", refuse("text", 0, got(t.String()))
	case c == "ISO_IR 100":
		runes := make([]rune, 0, len(s))
		for _, b := range []byte(s) {
			runes = append(runes, rune(b))
		}
		return string(runes), nil
	case c != "ISO_IR 192":
		for i := range len(s) {
			if s[i] >= 0x80 {
				return "", refuse("text", 0, got(t.String()))
			}
		}
	}
	return s, nil
}
