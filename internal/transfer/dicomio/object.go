package dicomio

import (
	"errors"
	"strings"

	"linn/eye"
	"linn/finding"
)

// Format is the format of an Object as JSON.
const Format = "linn.dicom/1"

// Object is what a file says.
type Object struct {
	Class    string    `json:"object"` // keratometry, axial-length, …
	UID      string    `json:"sop_instance_uid"`
	Patient  Person    `json:"patient"`
	On       string    `json:"measured_on,omitempty"`
	Device   string    `json:"device,omitempty"`
	Eyes     []Side    `json:"eyes"`
	Report   *Report   `json:"report,omitempty"`
	Findings []Finding `json:"findings"`
}

// Finding is a finding as every answer carries it.
type Finding = finding.Finding

// Person is whose file it is, as the instrument was told.
type Person struct {
	Name       string `json:"name"`
	Identifier string `json:"identifier"`
	Born       string `json:"birth_date,omitempty"`
	Sex        string `json:"sex,omitempty"`
}

// Side is one eye.
type Side struct {
	Side   eye.Side `json:"side"`
	Values []Value  `json:"values"`
	Other  *Other   `json:"other_system,omitempty"` // its lens calculation, never ours
}

// Value is one value as decimal text or a word of the format, under a key of
// linn.eye/1, of linn audit, or listed in docs/formats.md.
type Value struct {
	Key  string `json:"key"`
	Text string `json:"value"`
}

// Report is an encapsulated document.
type Report struct {
	Title string `json:"title"`
	PDF   []byte `json:"pdf"`
}

type class struct {
	name        string
	right, left Tag
	eye         func(*reading, Dataset)
}

const opht = "1.2.840.10008.5.1.4.1.1.78."

var classes = map[string]class{
	opht + "1":                      {"lensometry", 0x00460014, 0x00460015, (*reading).refraction},
	opht + "2":                      {"autorefraction", 0x00460050, 0x00460052, (*reading).refraction},
	opht + "3":                      {"keratometry", 0x00460070, 0x00460071, (*reading).keratometry},
	opht + "4":                      {"subjective-refraction", 0x00460097, 0x00460098, (*reading).refraction},
	opht + "5":                      {"visual-acuity", 0x00460122, 0x00460123, (*reading).acuity},
	opht + "7":                      {"axial-length", 0x00221007, 0x00221008, (*reading).axial},
	opht + "8":                      {"lens-calculation", 0x00221300, 0x00221310, (*reading).lenses},
	"1.2.840.10008.5.1.4.1.1.104.1": {name: "report"},
}

// reading collects what is said of one eye. The first error stays.
type reading struct {
	file     Dataset
	side     Side
	findings []Finding
	err      error
}

// Read reads a file and what it means.
func Read(b []byte) (*Object, error) {
	f, err := Parse(b)
	if err != nil {
		return nil, err
	}
	return f.Object()
}

// Object says what f means.
func (f *File) Object() (*Object, error) {
	d := f.Data
	c, known := classes[d.word(0x00080016)]
	if !known {
		return nil, refuse("class", 0, got(clip(d.word(0x00080016))))
	}
	o := &Object{Class: c.name, UID: d.word(0x00080018), Eyes: []Side{}, Findings: []Finding{}}
	if !isUID(o.UID) {
		return nil, refuse("uid", 0, got(clip(o.UID)))
	}
	err := o.whose(d)
	if err != nil {
		return nil, err
	}
	if c.eye == nil {
		err = o.report(d)
	} else {
		err = o.eyes(d, c)
	}
	if err != nil {
		return nil, err
	}
	return o, nil
}

func isUID(s string) bool {
	return s != "" && len(s) <= 64 && strings.Trim(s, "0123456789.") == ""
}

// whose reads patient, day and device.
func (o *Object) whose(d Dataset) error {
	cs, err := d.charset()
	if err != nil {
		return err
	}
	var errs []error
	text := func(t Tag) string {
		s, err := cs.text(d, t)
		errs = append(errs, err)
		return s
	}
	name, _, _ := strings.Cut(text(0x00100010), "=") // the alphabetic form
	o.Patient = Person{Name: strings.Join(strings.Fields(strings.ReplaceAll(name, "^", " ")), " "), Identifier: text(0x00100020),
		Born: day(d.word(0x00100030)), Sex: map[string]string{"F": "female", "M": "male", "O": "other"}[d.word(0x00100040)]}
	o.On = day(d.word(0x00080023))
	o.Device = strings.TrimSpace(text(0x00080070) + " " + text(0x00081090))
	if s := text(0x00181000); s != "" {
		o.Device += ", " + s
	}
	if o.Patient.Identifier == "" {
		o.Findings = append(o.Findings, noIdentifier.On(""))
	}
	return errors.Join(errs...)
}

// day turns YYYYMMDD into YYYY-MM-DD; what is not a day is left out.
func day(s string) string {
	if len(s) != 8 || strings.Trim(s, "0123456789") != "" {
		return ""
	}
	return s[:4] + "-" + s[4:6] + "-" + s[6:]
}

// eyes reads both eyes, right first. Laterality must agree with the sequences.
func (o *Object) eyes(d Dataset, c class) error {
	for _, s := range []struct {
		side eye.Side
		tag  Tag
	}{{eye.Right, c.right}, {eye.Left, c.left}} {
		list := d.items(s.tag)
		if len(list) == 0 {
			continue
		}
		if len(list) > 1 {
			return refuse("two-items", 0, got(s.tag.String()))
		}
		r := &reading{file: d, side: Side{Side: s.side, Values: []Value{}}}
		c.eye(r, list[0])
		if r.err != nil {
			return r.err
		}
		o.Eyes = append(o.Eyes, r.side)
		for _, f := range r.findings {
			f.Values = append(f.Values, finding.Value{Name: "side", Text: s.side.Words()})
			o.Findings = append(o.Findings, f)
		}
	}
	if len(o.Eyes) == 0 {
		return refuse("no-eye", 0)
	}
	has := ""
	for _, s := range o.Eyes {
		has += map[eye.Side]string{eye.Right: "R", eye.Left: "L"}[s.Side]
	}
	if has == "RL" {
		has = "B"
	}
	if said := d.word(0x00240113); said != has && said != "B" {
		return refuse("side", 0, got(clip(said)), finding.Value{Name: "has", Text: has})
	}
	return o.check()
}

// check holds every value that is a key of linn.eye/1 to the bounds of that
// format.
func (o *Object) check() error {
	for _, s := range o.Eyes {
		var e eye.Eye
		for _, v := range s.Values {
			if f := eye.FieldNamed(v.Key); f != nil {
				if err := f.Set(&e, v.Text); err != nil {
					return *err
				}
			}
		}
	}
	return nil
}

func (o *Object) report(d Dataset) error {
	if kind := d.word(0x00420012); kind != "application/pdf" {
		return refuse("document", 0, got(clip(kind)))
	}
	cs, err := d.charset()
	if err != nil {
		return err
	}
	r := &Report{PDF: d.value(0x00420011)}
	if r.Title, err = cs.text(d, 0x00420010); err != nil {
		return err
	}
	if n := d.value(0x00420015); len(n) == 4 { // the length without padding
		length := int(n[0]) | int(n[1])<<8 | int(n[2])<<16 | int(n[3])<<24
		if length != len(r.PDF) && length != len(r.PDF)-1 {
			return refuse("document-length", 0)
		}
		r.PDF = r.PDF[:length]
	}
	o.Report = r
	return nil
}

// put adds a value that was recorded.
func (r *reading) put(key, text string) {
	if text != "" {
		r.side.Values = append(r.side.Values, Value{key, text})
	}
}

// number reads a number, "" when it is absent.
func (r *reading) number(d Dataset, t Tag) string {
	text, _, err := d.number(t)
	if err != nil && r.err == nil {
		r.err = err
	}
	return text
}

func (r *reading) say(rule finding.Rule, field string, values ...finding.Value) {
	r.findings = append(r.findings, rule.On(field, values...))
}
