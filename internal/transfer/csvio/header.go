package csvio

import (
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/plan"
	"linn/unit"
)

// fellowPrefix leads the columns of the fellow eye.
const fellowPrefix = "other_eye_"

// Row is one row of a table of eyes as it was read. Its texts are parts of
// the chunk it was read from.
type Row struct {
	ID    string
	Eye   eye.Eye
	Lens  lenspower.Lens
	Power unit.Reading[unit.Dioptre] // lens_d
	After *plan.After                // only of a job that asks for it
}

// Also finds what a column of [Job.Also] means, nil for an unknown one.
type Also func(key string) func(*plan.After, string) *finding.Refusal

// column is one column of the table.
type column struct {
	key string
	set func(*reader, string) *finding.Refusal // nil: ignored
}

// lensPower is the column lens_d. Its bounds are those of a shelf.
var lensPower = eye.Field{Key: "lens_d", Unit: "D", Number: true, Bounds: lenspower.LensFieldNamed("to_d").Bounds}

// columnNamed finds what a column means. ok is false for an unknown one.
func columnNamed(key string, also Also) (column, bool) {
	c := column{key: key}
	if also != nil {
		if set := also(key); set != nil {
			c.set = func(r *reader, text string) *finding.Refusal { return set(r.row.After, text) }
			return c, true
		}
	}
	if strings.HasPrefix(key, "x_") {
		return c, true
	}
	switch key {
	case "id":
		c.set = func(r *reader, text string) *finding.Refusal { r.row.ID = text; return nil }
		return c, true
	case "format":
		c.set = func(_ *reader, text string) *finding.Refusal { return checkFormat(text) }
		return c, true
	case "lens_d":
		c.set = setPower
		return c, true
	}
	if f := eye.FieldNamed(key); f != nil {
		c.set = func(r *reader, text string) *finding.Refusal { return f.Set(&r.row.Eye, text) }
		return c, true
	}
	if f := lenspower.LensFieldNamed(key); f != nil {
		c.set = func(r *reader, text string) *finding.Refusal { return f.Set(&r.row.Lens, text) }
		return c, true
	}
	rest, isFellow := strings.CutPrefix(key, fellowPrefix)
	if f := eye.FieldNamed(rest); isFellow && f != nil {
		c.set = func(r *reader, text string) *finding.Refusal {
			r.row.Eye.Fellow = &r.fellow
			refused := f.Set(&r.fellow, text)
			if refused != nil {
				refused.Field = "other_eye." + f.Key
			}
			return refused
		}
		return c, true
	}
	return c, false
}

func setPower(r *reader, text string) *finding.Refusal {
	v, err := unit.Parse[unit.Dioptre](text, "lens_d", "D", lensPower.Bounds)
	if err != nil {
		refused := lensPower.Refusal(err)
		return &refused
	}
	r.row.Power = unit.Known(v)
	return nil
}

func checkFormat(text string) *finding.Refusal {
	if text == eye.Format {
		return nil
	}
	return &finding.Refusal{Code: "unknown-format", Field: "format", Values: finding.Values{{Name: "got", Text: eye.Clip(text)}, {Name: "known", Text: eye.Format}}}
}

// header is the meaning of a table's columns.
type header struct {
	columns []column
	delim   byte
	after   bool // rows have what was found after surgery
}

// readHeader reads the first line. Every reason to refuse it is returned, up
// to a few: noise ends quickly.
func readHeader(text string, delim byte, line int, also Also) (header, finding.Refusals) {
	h := header{delim: delim, after: also != nil}
	switch {
	case strings.TrimSpace(text) == "":
		return h, finding.Refusals{{Code: "empty-table", Line: 1, Column: 1}}
	case !utf8.ValidString(text):
		return h, finding.Refusals{{Code: "not-utf8-table", Line: line, Column: 1}}
	case strings.HasPrefix(text, "{"):
		return h, finding.Refusals{{Code: "json-not-table", Line: line, Column: 1}}
	}
	if r, ok := nextRow(text, delim, true); !ok || r.broken {
		return h, finding.Refusals{{Code: "quotes", Line: line, Column: 1}}
	}
	var refused finding.Refusals
	for _, c := range cells(nil, text, delim) {
		if len(refused) == maxHeaderFaults {
			break
		}
		col, known := columnNamed(c.text, also)
		fault := finding.Refusal{Line: line, Column: c.at + 1}
		switch {
		case c.text == "":
			fault.Code = "nameless-column"
			fault.Values = finding.Values{{Name: "number", Text: strconv.Itoa(len(h.columns) + 1)}}
		case !known:
			near := eye.UnknownKey(c.text, otherColumns...)
			fault.Code, fault.Field, fault.Values = "unknown-column", near.Field, near.Values
		case slices.ContainsFunc(h.columns, func(o column) bool { return o.key == col.key }):
			fault.Code, fault.Field = "repeated-column", eye.Clip(col.key)
		}
		if fault.Code != "" {
			refused = append(refused, fault)
		}
		h.columns = append(h.columns, col)
	}
	return h, refused
}

// maxHeaderFaults bounds how many columns one message complains of.
const maxHeaderFaults = 5

// otherColumns are the columns that are not eye keys, for the nearest name.
var otherColumns = func() []string {
	list := []string{"id", "lens_d", "format"}
	for i := range lenspower.LensFields {
		list = append(list, lenspower.LensFields[i].Key)
	}
	for i := range eye.Fields {
		list = append(list, fellowPrefix+eye.Fields[i].Key)
	}
	return list
}()
