package paper

import (
	"embed"
	"encoding/binary"
	"errors"
	"fmt"
	"strings"

	"codeberg.org/go-pdf/fpdf"
)

//go:embed fonts
var fonts embed.FS

// Fonts holds the typefaces of the print with their licences and MANIFEST.txt.
func Fonts() embed.FS { return fonts }

// A face is one typeface in two weights with the letters it has.
type face struct {
	name    string // as the PDF calls it
	folder  string
	covered ranges
}

// faces in order of preference: the house typeface, then one with many more
// letters for names that need them.
var faces = loadFaces()

func loadFaces() []face {
	list := []face{{name: "atkinson", folder: "atkinson-hyperlegible-next"}, {name: "noto", folder: "noto-sans"}}
	for i := range list {
		r, err := coverage(fontFile(list[i].folder, "regular"))
		if err != nil { // an embedded file: our own broken invariant
			panic("paper: " + list[i].folder + ": " + err.Error())
		}
		list[i].covered = r
	}
	return list
}

func fontFile(folder, weight string) []byte {
	b, err := fonts.ReadFile("fonts/" + folder + "/" + weight + ".ttf")
	if err != nil {
		panic("paper: " + err.Error())
	}
	return b
}

func addFonts(pdf *fpdf.Fpdf) {
	for _, f := range faces {
		pdf.AddUTF8FontFromBytes(f.name, "", fontFile(f.folder, "regular"))
		pdf.AddUTF8FontFromBytes(f.name, "B", fontFile(f.folder, "bold"))
	}
}

// UncoveredError says that a text holds a letter that no embedded typeface
// can set. A name is never printed with letters missing.
type UncoveredError struct {
	Text   string
	Letter rune
}

func (e *UncoveredError) Error() string {
	return fmt.Sprintf("paper: no typeface for %q (%U) in %q", e.Letter, e.Letter, e.Text)
}

// twins are letters that look alike and mean the same, for a typeface that has
// only the second.
var twins = [...][2]string{{"\u202f", "\u00a0"}, {"\u00b5", "\u03bc"}}

// settable finds the first face that has every letter of text, after putting
// twins in the place of letters it lacks.
func settable(text string) (string, face, error) {
	var missing rune
	for _, f := range faces {
		t := text
		for _, twin := range twins {
			if f.covered.missing(twin[0]) != 0 {
				t = strings.ReplaceAll(t, twin[0], twin[1])
			}
		}
		if missing = f.covered.missing(t); missing == 0 {
			return t, f, nil
		}
	}
	return "", face{}, &UncoveredError{Text: text, Letter: missing}
}

// ranges are the runs of code points a typeface has a glyph for.
type ranges []struct{ first, last rune }

func (r ranges) has(c rune) bool {
	for _, x := range r {
		if c >= x.first && c <= x.last {
			return true
		}
	}
	return false
}

// missing returns the first letter of text that r lacks, 0 when it has all.
// Letters above U+FFFF count as missing: the PDF writer does not set them.
// So do letters of scripts that need shaping, which it cannot do.
func (r ranges) missing(text string) rune {
	for _, c := range text {
		if c > 0xffff || !r.has(c) || needsShaping(c) {
			return c
		}
	}
	return 0
}

// needsShaping reports whether c belongs to a script whose letters change or
// move with their neighbours, or to a combining mark.
func needsShaping(c rune) bool {
	return c >= 0x0300 && c <= 0x036f || // combining marks
		c >= 0x0590 && c <= 0x109f || // Hebrew … Myanmar
		c >= 0x1780 && c <= 0x18af || c >= 0xa980 && c <= 0xabff || c >= 0xfb1d && c <= 0xfeff
}

var errCmap = errors.New("no usable character map")

// coverage reads the character map of a TrueType file: table cmap, subtable
// format 4 (segment mapping), as the OpenType specification lays it out.
func coverage(ttf []byte) (ranges, error) {
	table, err := sfntTable(ttf, "cmap")
	if err != nil {
		return nil, err
	}
	u16 := func(at int) int {
		if at < 0 || at+2 > len(table) {
			return 0
		}
		return int(binary.BigEndian.Uint16(table[at:]))
	}
	for i := range u16(2) {
		if 4+8*i+8 > len(table) {
			return nil, errCmap
		}
		at := int(binary.BigEndian.Uint32(table[4+8*i+4:]))
		if u16(at) != 4 {
			continue
		}
		segments := u16(at+6) / 2
		var r ranges
		for s := range segments {
			last, first := rune(u16(at+14+2*s)), rune(u16(at+16+2*segments+2*s))
			if last != 0xffff && first <= last {
				r = append(r, struct{ first, last rune }{first, last})
			}
		}
		return r, nil
	}
	return nil, errCmap
}

func sfntTable(ttf []byte, tag string) ([]byte, error) {
	if len(ttf) < 12 {
		return nil, errCmap
	}
	for i := range int(binary.BigEndian.Uint16(ttf[4:])) {
		at := 12 + 16*i
		if at+16 > len(ttf) {
			break
		}
		if string(ttf[at:at+4]) != tag {
			continue
		}
		off, n := binary.BigEndian.Uint32(ttf[at+8:]), binary.BigEndian.Uint32(ttf[at+12:])
		if int(off)+int(n) <= len(ttf) {
			return ttf[off : off+n], nil
		}
	}
	return nil, errCmap
}
