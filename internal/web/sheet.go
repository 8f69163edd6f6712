package web

import (
	"html/template"
	"net/http"

	"linn/internal/locale"
	"linn/unit"
)

// SheetView is the theatre sheet of one eye: one A4 page in black and white.
type SheetView struct {
	Frame
	Signed     bool
	NotSigned  template.HTML // across everything before signing
	Number     string
	Mark       template.HTML // the DataMatrix
	Valid      string
	Person     string
	Born       string
	Procedure  string
	ListLine   string
	Model      string
	Power      Num
	HasLens    bool
	Place      string
	Target     Num
	Predicted  Num
	Range      string
	Guide      string
	Alerts     []FindingView
	Allergies  string
	Readings   []SheetReading
	Measured   string
	Confirmed  string
	SignedBy   string
	Alone      string
	Checks     []string
	WriteDown  []string
	PlanNumber string
	Printed    string
}

// SheetReading is one reading on the sheet.
type SheetReading struct {
	Label string
	Num   Num
	Note  string
}

// sheetChecks are the team's checks in order, and what is written down, as
// keys of "sheet.check.KEY" and "sheet.write.KEY".
var (
	sheetChecks = []string{"person", "eye", "allergy", "lens", "power", "aloud", "lenses-away"}
	sheetWrites = []string{"power", "place", "events", "time"}
)

func (s *server) sheet(w http.ResponseWriter, r *http.Request, by Actor) error {
	sh, err := s.Pathway.Sheet(r.Context(), by, r.PathValue("id"))
	if err != nil {
		return err
	}
	v, err := s.sheetView(r, by, &sh)
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "sheet", "page", v)
}

func (s *server) sheetView(r *http.Request, by Actor, sh *Sheet) (SheetView, error) {
	v := SheetView{
		Frame:  s.clinical(r, by, s.t("stage.sheet"), sh.Identity),
		Signed: sh.Signed != nil, Person: s.person(sh.Identity), Born: s.t("sheet.born", "date", s.bornText(sh.Born)),
		Procedure: s.t("procedure." + sh.Procedure), ListLine: s.t("sheet.unlisted"), Model: sh.Model, HasLens: sh.Power.Known,
		Power: reading(s.words, sh.Power), Target: reading(s.words, sh.Target), Predicted: reading(s.words, sh.Predicted),
		Guide:     s.t("sheet.guide", "method", locale.Method(s.lang, sh.Guide), "constant", sh.Constant, "origin", s.t("origin."+sh.Origin)),
		Allergies: s.t("sheet.allergies.none"), PlanNumber: s.t("sheet.plan", "n", unit.Fixed(float64(sh.Plan), 0)),
		Printed: s.t("sheet.printed", "when", s.moment(sh.Printed), "program", sh.Program),
	}
	v.Bare, v.Print = true, true
	if sh.Placement != "" {
		v.Place = s.t("word.placement." + string(sh.Placement))
	}
	if sh.Allergies != "" {
		v.Allergies = sh.Allergies
	}
	if sh.List.Known() {
		v.ListLine = s.listed(sh.Identity)
		v.Valid = s.t("sheet.valid", "date", s.date(sh.List))
	}
	if sh.Low.Known && sh.High.Known {
		v.Range = s.t("sheet.range", "low", sh.Low.Value, "high", sh.High.Value)
	}
	for i, a := range sh.Alerts {
		f := s.findingView("alert-"+px(float64(i)), a)
		f.Text = s.brief(a.Finding).Text
		v.Alerts = append(v.Alerts, f)
	}
	v.Readings = s.sheetReadings(&sh.Readings)
	s.sheetSigned(&v, sh)
	for _, key := range sheetChecks {
		v.Checks = append(v.Checks, s.t("sheet.check."+key))
	}
	for _, key := range sheetWrites {
		v.WriteDown = append(v.WriteDown, s.t("sheet.write."+key))
	}
	if !v.Signed {
		v.NotSigned = s.notSigned()
		return v, nil
	}
	mark, err := dataMatrix(sh.Mark, s.t("sheet.mark", "number", sh.Number))
	v.Number, v.Mark = sh.Number, mark
	return v, err
}

func (s *server) bornText(d unit.Date) string {
	if !d.Known() {
		return s.t("not-recorded")
	}
	return d.String()
}

func (s *server) sheetSigned(v *SheetView, sh *Sheet) {
	v.Measured = s.t("sheet.measured", "name", sh.Measured.Name, "when", s.moment(sh.Measured.At))
	v.Confirmed, v.SignedBy = s.t("sheet.nobody"), s.t("sheet.nobody")
	if sh.Confirmed != nil {
		v.Confirmed = s.t("sheet.by", "name", sh.Confirmed.Name, "when", s.moment(sh.Confirmed.At))
	}
	if sh.Signed != nil {
		v.SignedBy = s.t("sheet.by", "name", sh.Signed.Name, "when", s.moment(sh.Signed.At))
	}
	if sh.Alone != "" {
		v.Alone = s.t("sheet.alone", "reason", sh.Alone)
	}
}

// sheetReadings are the readings the team can compare with the source.
func (s *server) sheetReadings(r *Readings) []SheetReading {
	e, w := &r.Eye, s.words
	length := ""
	if e.AxialLengthMethod != "" {
		length = s.t("word.axial_length_method." + string(e.AxialLengthMethod))
	}
	axis := func(r unit.Reading[unit.Axis]) string {
		if !r.Known {
			return s.t("axis.none")
		}
		return s.t("axis.at", "axis", r.Value)
	}
	return []SheetReading{
		{s.label("axial_length_mm"), reading(w, e.AxialLength), length},
		{s.label("k_flat_d"), unsigned(w, e.KFlat), axis(e.KFlatAxis)},
		{s.label("k_steep_d"), unsigned(w, e.KSteep), axis(e.KSteepAxis)},
		{s.label("keratometric_index"), reading(w, e.KeratometricIndex), ""},
		{s.label("acd_mm"), reading(w, e.ACD), ""},
		{s.label("lens_thickness_mm"), reading(w, e.LensThickness), ""},
		{s.label("white_to_white_mm"), reading(w, e.WhiteToWhite), ""},
	}
}

// notSigned writes NOT SIGNED across the whole page in outline, so that what
// lies beneath can still be read.
func (s *server) notSigned() template.HTML {
	d := &drawing{}
	d.b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" class="not-signed" role="img" aria-label="` + template.HTMLEscapeString(s.t("sheet.not-signed")) +
		`" viewBox="0 0 210 297" preserveAspectRatio="none" font-family="inherit">`)
	for _, y := range []float64{78, 168, 258} {
		d.text(105, y, s.t("sheet.not-signed"), "font-size", "35", "font-weight", "700", "text-anchor", "middle", "fill", "none",
			"stroke", ink("ink"), "stroke-width", "0.5", "transform", "rotate(-24 105 "+px(y-9)+")")
	}
	return d.html()
}
