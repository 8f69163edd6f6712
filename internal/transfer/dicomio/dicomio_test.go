package dicomio

import (
	"bytes"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"linn/finding"
)

func sample(t testing.TB, name string) []byte {
	t.Helper()
	b, err := os.ReadFile(filepath.Join("testdata", name+".dcm"))
	if err != nil {
		t.Fatal(err)
	}
	return b
}

var names = []string{"keratometry", "axial", "lenses", "refraction", "acuity", "report"}

// said writes an object as lines: "right k_flat_d 43.27".
func said(o *Object) string {
	var b strings.Builder
	for _, s := range o.Eyes {
		for _, v := range s.Values {
			b.WriteString(string(s.Side) + " " + v.Key + " " + v.Text + "\n")
		}
	}
	for _, f := range o.Findings {
		b.WriteString(f.Code + " " + f.Value("side") + "\n")
	}
	return b.String()
}

// The values are those written by another library (testdata/make.py,
// pydicom), in both transfer syntaxes; 23.45 was stored as float32.
func TestRead(t *testing.T) {
	ks := "right k_flat_d 43.27\nright k_flat_axis_deg 2\nright k_steep_d 44.41\nright k_steep_axis_deg 92\nright keratometric_index 1.3375\n"
	axial := func(side, al, acd, lt string) string {
		return side + " axial_length_method optical\n" + side + " lens_status phakic\n" + side + " vitreous natural\n" + side + " axial_length_mm " + al + "\n" + side + " axial_length_snr 45.2\n" +
			side + " acd_mm " + acd + "\n" + side + " lens_thickness_mm " + lt + "\n" + side + " corneal_thickness_um 540\n"
	}
	want := map[string]string{
		"keratometry": ks + "dicom-index-inferred RIGHT EYE\n",
		"axial":       axial("right", "23.45", "3.12", "4.53") + axial("left", "23.51", "3.15", "4.5"),
		"lenses":      "right axial_length_mm 23.45\nright corneal_surgery none\n" + ks + "right lens_thickness_mm 4.53\ndicom-acd-reference RIGHT EYE\n",
		"refraction":  "left sphere_d -0.5\nleft cylinder_d -0.75\nleft axis_deg 92\n",
		"acuity":      "right decimal_acuity 0.5\nright acuity_at distance\nright acuity_with corrected\nright letters_more 1\nright letters_fewer 0\n",
		"report":      "",
	}
	for _, name := range names {
		for _, syntax := range []string{"", "-implicit"} {
			o, err := Read(sample(t, name+syntax))
			if err != nil {
				t.Errorf("%s%s: %v", name, syntax, err)
				continue
			}
			if got := said(o); got != want[name] {
				t.Errorf("%s%s:\n%swant\n%s", name, syntax, got, want[name])
			}
			if o.Patient != (Person{"Thapa Maya é", "H-0412", "1954-03-01", "female"}) || o.On != "2026-11-20" || o.Device != "Demo Instruments Demo One, SN7" {
				t.Errorf("%s%s: %+v", name, syntax, o)
			}
		}
	}
}

func TestOtherSystem(t *testing.T) {
	o, err := Read(sample(t, "lenses"))
	if err != nil {
		t.Fatal(err)
	}
	x := o.Eyes[0].Other
	if x.Formula != "SRK/T" || x.Model != "Demo A" || x.TargetD != "-0.25" || x.Emmetrope != "20.85" || x.Constants[0] != (Constant{"A-constant", "118.7"}) ||
		x.Powers[0] != (Power{"21", "-0.11", false}) || x.Powers[1] != (Power{"21.5", "-0.46", true}) {
		t.Errorf("%+v", x)
	}
	o, err = Read(sample(t, "report"))
	if err != nil || string(o.Report.PDF) != "%PDF-1.4\n%%EOF" || o.Report.Title != "Demo report" {
		t.Errorf("%+v %v", o, err)
	}
}

// What is written again is the file that was read, private elements included.
func TestRoundTrip(t *testing.T) {
	for _, name := range names {
		b := sample(t, name)
		f, err := Parse(b)
		if err != nil {
			t.Fatal(err)
		}
		if !bytes.Equal(f.Bytes(), b) {
			t.Errorf("%s: differs when written again", name)
		}
		if !bytes.Contains(f.Bytes(), []byte("kept")) {
			t.Errorf("%s: the private element is lost", name)
		}
	}
}

// code is the refusal's code, "" when the file was taken.
func code(err error) string {
	var r finding.Refusal
	if err == nil {
		return ""
	}
	if !errors.As(err, &r) {
		return err.Error()
	}
	return r.Code
}

// change reads a sample, changes its elements and writes it.
func change(t testing.TB, name string, with func(*File)) []byte {
	f, err := Parse(bytes.Clone(sample(t, name)))
	if err != nil {
		t.Fatal(err)
	}
	with(f)
	return f.Bytes()
}

func set(tag Tag, value string) func(*File) {
	return func(f *File) { f.Data.find(tag).Value = []byte(value) }
}

func TestRefused(t *testing.T) {
	inner := func(tag Tag, value []byte) func(*File) {
		return func(f *File) { f.Data.item(0x00460070).item(0x00460080).find(tag).Value = value }
	}
	patched := func(at int, with ...byte) []byte {
		b := bytes.Clone(sample(t, "keratometry"))
		copy(b[at:], with)
		return b
	}
	k := sample(t, "keratometry")
	name := bytes.Index(k, []byte("\x46\x00\x70\x00SQ"))
	for _, c := range []struct {
		want string
		file []byte
	}{
		{"dicom-no-preamble", nil},
		{"dicom-no-preamble", patched(128, 'X')},
		{"dicom-too-large", make([]byte, MaxFile+1)},
		{"dicom-truncated", append(bytes.Clone(k), 0x99, 0)},
		{"dicom-length", patched(name+8, 0xFF, 0xFF, 0xFF, 0x7F)}, // 2 GB
		{"dicom-charset", change(t, "keratometry", set(0x00080005, "ISO_IR 101"))},
		{"dicom-charset", change(t, "keratometry", set(0x00080005, "\\ISO 2022 IR 87 "))},
		{"dicom-text", change(t, "keratometry", set(0x00080005, "ISO_IR 6"))},
		{"dicom-text", change(t, "keratometry", set(0x00100010, "Thapa^\xE9"))},
		{"dicom-side", change(t, "keratometry", set(0x00240113, "L "))},
		{"dicom-side", change(t, "axial", set(0x00240113, "R "))},
		{"dicom-side", change(t, "keratometry", set(0x00240113, ""))},
		{"dicom-class", change(t, "keratometry", set(0x00080016, "1.2.840.10008.5.1.4.1.1.2\x00"))},
		{"dicom-uid", change(t, "keratometry", set(0x00080018, "../etc"))},
		{"dicom-no-eye", change(t, "keratometry", func(f *File) { f.Data.find(0x00460070).Items = nil })},
		{"dicom-two-items", change(t, "keratometry", func(f *File) { e := f.Data.find(0x00460070); e.Items = append(e.Items, e.Items[0]) })},
		{"dicom-number", change(t, "keratometry", inner(0x00460076, []byte{0, 0, 0, 0, 0, 0, 0xF8, 0x7F}))},
		{"looks-like-radius", change(t, "keratometry", inner(0x00460076, []byte{0x33, 0x33, 0x33, 0x33, 0x33, 0x33, 0x1F, 0x40}))},
		{"dicom-order", change(t, "keratometry", func(f *File) { f.Data = append(f.Data, f.Data[0]) })},
		{"dicom-document", change(t, "report", set(0x00420012, "text/xml"))},
		{"dicom-document-length", change(t, "report", set(0x00420015, "\xFF\xFF\xFF\x7F"))},
		{"dicom-nested", nested(t)},
		{"dicom-elements", change(t, "keratometry", func(f *File) {
			f.Data = append(f.Data, Element{Tag: 0x00990010, VR: "SQ", Items: make([]Dataset, maxElements)})
		})},
		{"dicom-syntax", bytes.Replace(k, []byte("1.2.840.10008.1.2.1\x00"), []byte("1.2.840.10008.1.2.2\x00"), 1)},
	} {
		o, err := Read(c.file)
		if got := code(err); got != c.want || o != nil {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}

// A file that was cut off is refused, or, when it was cut between two elements
// after the last that means something, says what the whole file says.
func TestCutOff(t *testing.T) {
	for _, name := range names {
		b := sample(t, name)
		whole, err := Read(b)
		if err != nil {
			t.Fatal(err)
		}
		for n := range b {
			o, err := Read(b[:n:n])
			if (err == nil) != (o != nil) || o != nil && said(o) != said(whole) {
				t.Fatalf("%s cut to %d of %d bytes was taken", name, n, len(b))
			}
		}
	}
}

// nested is a file with a thousand sequences in each other, of open length.
func nested(t testing.TB) []byte {
	b := bytes.Clone(sample(t, "keratometry"))
	for range 1000 {
		b = append(b, "\x99\x00\x10\x00SQ\x00\x00\xFF\xFF\xFF\xFF\xFE\xFF\x00\xE0\xFF\xFF\xFF\xFF"...)
	}
	return b
}

// The deflated syntax is refused by name, so nothing is ever inflated.
func TestDeflatedIsRefused(t *testing.T) {
	f, err := Parse(sample(t, "keratometry"))
	if err != nil {
		t.Fatal(err)
	}
	b := bytes.Replace(f.Bytes(), []byte("1.2.840.10008.1.2.1\x00"), []byte("1.2.840.10008.1.2.1.99"), 1)
	at := bytes.Index(b, []byte("\x02\x00\x10\x00UI"))
	binary.LittleEndian.PutUint16(b[at+6:], 22)
	if _, err := Parse(b); code(err) != "dicom-syntax" {
		t.Error(err)
	}
}

// Which index fits: one in use, or none taken.
func TestIndex(t *testing.T) {
	meridian := func(power string) Dataset {
		return Dataset{{Tag: 0x00460075, VR: "DS", Value: []byte("7.80")}, {Tag: 0x00460076, VR: "DS", Value: []byte(power)}}
	}
	for power, want := range map[string]int{
		"43.27": 1, // 1.3375
		"43.08": 1, // 1.336
		"42.60": 1, // 1.3323: 1.332
		"42.53": 2, // 1.33173: 1.332 or 1.3315
		"48.00": 0,
	} {
		var r reading
		if got := r.indexOf(meridian(power), indices); len(got) != want || r.err != nil {
			t.Errorf("%s D: %v, want %d", power, got, want)
		}
	}
}

// A chamber depth from another surface, and a length that nobody selected, are
// not taken.
func TestNotTaken(t *testing.T) {
	o, err := Read(change(t, "axial", func(f *File) {
		f.Data.item(0x00221125).find(0x00080100).Value = []byte("111777")
		for _, tag := range []Tag{0x00221007, 0x00221008} {
			s := f.Data.item(tag).item(0x00221255)
			s.find(0x00221260).Items = nil
		}
	}))
	if err != nil {
		t.Fatal(err)
	}
	got := said(o)
	for _, want := range []string{"dicom-acd-reference RIGHT EYE", "dicom-acd-reference LEFT EYE", "dicom-length-unselected LEFT EYE"} {
		if !strings.Contains(got, want) {
			t.Errorf("no %s in\n%s", want, got)
		}
	}
	if strings.Contains(got, "acd_mm") || strings.Contains(got, "axial_length_mm") {
		t.Errorf("taken:\n%s", got)
	}
}

// FuzzRead: any file is refused, or what it says is said again when it is
// written and read again.
func FuzzRead(f *testing.F) {
	for _, name := range names {
		f.Add(sample(f, name))
		f.Add(sample(f, name+"-implicit"))
	}
	f.Add(nested(f))
	f.Fuzz(func(t *testing.T, b []byte) {
		file, err := Parse(b)
		if err != nil {
			if !strings.HasPrefix(code(err), "dicom-") {
				t.Fatal(err)
			}
			return
		}
		o, err := file.Object()
		if err != nil {
			return
		}
		again, err := Read(file.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		if said(o) != said(again) || o.UID != again.UID || o.Patient != again.Patient {
			t.Fatalf("%+v\n%+v", o, again)
		}
	})
}
