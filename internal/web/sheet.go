package web

import (
	"bytes"
	"html/template"
	"net/http"
	"strings"

	"linn/finding"
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
	Past       string // why the sheet is not to be used any more
	Person     string
	Born       string
	Procedure  string
	ListLine   string
	Theatre    string
	ListPlace  string // "place 1 · " on the list of the line above
	Model      string
	Power      Num
	PowerWord  string // PLUS or MINUS
	HasLens    bool
	Place      string
	Target     Num
	Assumed    string
	Predicted  Num
	Range      string
	Basis      string
	Alerts     []FindingView
	Allergies  string
	Side       string // head of the column of readings
	OtherSide  string
	Readings   []SheetReading
	Rescue     []RescueRow
	Measured   string
	Confirmed  string
	SignedBy   string
	Senior     string
	Alone      string
	Open       string // what is open before signing
	Checks     []CheckColumn
	WriteDown  []string
	Phases     []PhaseLine
	Clock      template.HTML // the cornea from the surgeon's seat
	ClockSays  []string
	PlanNumber string
	Printed    string
	PDF        string
}

// SheetReading is one reading on the sheet, of this eye and of the other.
type SheetReading struct{ Label, Text, Note, Other string }

// CheckColumn is the checks of one moment.
type CheckColumn struct {
	Moment string
	Checks []string
}

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

// sheetPDF is the same sheet as a file that prints alike everywhere.
func (s *server) sheetPDF(w http.ResponseWriter, r *http.Request, by Actor) error {
	var b bytes.Buffer // nothing goes out when it fails
	if err := s.Pathway.Print(r.Context(), by, r.PathValue("id"), &b); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `inline; filename="sheet.pdf"`) // no name: it lands in a folder
	_, err := b.WriteTo(w)
	return err
}

func (s *server) sheetView(r *http.Request, by Actor, sh *Sheet) (SheetView, error) {
	v := SheetView{
		Frame:  s.clinical(r, by, s.t("stage.sheet"), sh.Identity),
		Signed: sh.Signed != nil, Person: s.person(sh.Identity), Born: s.t("sheet.born", "date", s.bornText(sh.Born)),
		Procedure: s.t("paper.procedure." + sh.Procedure), ListLine: s.t("sheet.unlisted"), Model: sh.Model, HasLens: sh.Power.Known,
		Power: reading(s.words, sh.Power), Target: reading(s.words, sh.Target), Predicted: reading(s.words, sh.Predicted),
		PlanNumber: s.t("sheet.plan", "n", unit.Fixed(float64(sh.Plan), 0)), Side: s.side(sh.Side), OtherSide: s.side(sh.Side.Other()),
		Printed: s.t("sheet.printed", "when", s.moment(sh.Printed), "program", sh.Program), PDF: s.prefix + "/case/" + sh.CaseID + "/sheet.pdf",
	}
	v.Bare, v.Print = true, true
	if v.Place = s.t("word.placement.bag"); sh.Placement != "" { // the bag is planned for where nothing else is recorded
		v.Place = s.t("word.placement." + string(sh.Placement))
	}
	if v.PowerWord = s.t("paper.plus"); sh.Power.Value < 0 {
		v.PowerWord = s.t("paper.minus")
	}
	if sh.Assumed {
		v.Assumed = s.t("paper.assumed")
	}
	if sh.List.Known() {
		v.ListLine = s.listed(sh.Identity)
	}
	v.Theatre = sh.Theatre
	if sh.Identity.Place > 0 {
		v.ListPlace = s.t("paper.order", "n", unit.Fixed(float64(sh.Identity.Place), 0)) + " · "
	}
	if sh.Low.Known && sh.High.Known {
		v.Range = s.t("sheet.range", "low", sh.Low.Value, "high", sh.High.Value)
	}
	if len(sh.Basis) > 0 {
		v.Basis = s.t("paper.methods", "methods", s.methodNames(sh.Basis))
	}
	if sh.Clock != nil {
		v.Clock, v.ClockSays = s.drawClock(sh.Clock, "clock-sheet", 270), s.clockSays(sh.Clock)
	}
	for i := range sh.Rescue {
		v.Rescue = append(v.Rescue, s.rescueRow(&sh.Rescue[i]))
	}
	s.sheetAlerts(&v, sh)
	s.sheetReadings(&v, sh)
	s.sheetSigned(&v, sh)
	s.sheetChecks(&v, sh)
	if !v.Signed {
		v.NotSigned = s.notSigned()
		return v, nil
	}
	v.Valid = s.t("sheet.valid", "date", s.date(sh.List))
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

func (s *server) sheetAlerts(v *SheetView, sh *Sheet) {
	for i, a := range sh.Alerts {
		f := s.findingView("alert-"+px(float64(i)), a)
		f.Text = s.brief(a.Finding).Text
		v.Alerts = append(v.Alerts, f)
	}
	switch {
	case !sh.Asked:
		v.Allergies = s.t("sheet.allergies.none")
	case len(sh.Allergies) == 0:
		v.Allergies = s.t("sheet.allergies.asked")
	default:
		v.Allergies = strings.Join(sh.Allergies, ", ")
	}
}

func (s *server) sheetSigned(v *SheetView, sh *Sheet) {
	by := func(a *Signature) string {
		if a == nil || a.Name == "" {
			return s.t("sheet.nobody")
		}
		return s.t("sheet.by", "name", a.Name, "when", a.When)
	}
	v.Measured, v.Confirmed, v.SignedBy = by(&sh.Measured), by(sh.Confirmed), by(sh.Signed)
	if sh.Senior != nil {
		v.Senior = by(sh.Senior)
	}
	if sh.Alone != "" {
		v.Alone = s.t("sheet.alone", "reason", sh.Alone)
	}
	if sh.Past {
		v.Past = s.t("sheet.past")
	}
	var open []string
	for _, b := range sh.Open {
		open = append(open, s.t("blocker."+b.Code, "field", locale.Field(s.lang, b.Field)))
	}
	if len(open) > 0 && !v.Signed {
		v.Open = s.t("paper.open", "list", strings.Join(open, ", "))
	}
}

// sheetReadings are the readings the team can compare with the source.
func (s *server) sheetReadings(v *SheetView, sh *Sheet) {
	orNone := func(text string) string {
		if text == "" {
			return "–"
		}
		return text
	}
	for _, r := range sh.Readings {
		line := SheetReading{Label: s.label(r.Field), Text: orNone(r.Text), Other: orNone(r.Fellow)}
		switch {
		case r.Detail == "":
		case r.Field == "axial_length_mm":
			line.Note = s.t("paper.length." + r.Detail)
		default:
			line.Note = s.t("paper.axis", "axis", r.Detail)
		}
		v.Readings = append(v.Readings, line)
	}
}

func (s *server) sheetChecks(v *SheetView, sh *Sheet) {
	for _, c := range sh.Checks {
		moment := s.t("paper.moment." + c.Moment)
		if n := len(v.Checks); n == 0 || v.Checks[n-1].Moment != moment {
			v.Checks = append(v.Checks, CheckColumn{Moment: moment})
		}
		last := &v.Checks[len(v.Checks)-1]
		last.Checks = append(last.Checks, s.t("paper.check."+c.Key))
	}
	v.Phases = s.sheetPhases(sh.Phases)
	for _, key := range sh.WriteDown {
		v.WriteDown = append(v.WriteDown, s.t("paper.write."+key))
	}
}

// notSigned writes NOT SIGNED across the whole page in outline, so that what
// lies beneath can still be read.
func (s *server) notSigned() template.HTML {
	d := &drawing{}
	d.b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" class="not-signed" role="img" aria-label="` + template.HTMLEscapeString(s.t("sheet.not-signed")) +
		`" viewBox="0 0 210 297" preserveAspectRatio="none" font-family="inherit">`)
	for _, y := range []float64{74, 160, 246} {
		d.text(105, y, s.t("sheet.not-signed"), "font-size", "32", "font-weight", "700", "text-anchor", "middle", "fill", "none",
			"stroke", ink("ink"), "stroke-width", "0.5", "transform", "rotate(-24 105 "+px(y-9)+")")
	}
	return d.html()
}

// printWords are the words of one language as the print asks for them.
type printWords struct{ words }

func (p printWords) T(key string, values ...finding.Value) string {
	return locale.T(p.lang, key, values...)
}
func (p printWords) Finding(f finding.Finding) string   { return locale.Finding(p.lang, f) }
func (p printWords) Severity(v finding.Severity) string { return locale.Severity(p.lang, v) }
func (p printWords) Field(key string) string            { return locale.Field(p.lang, key) }
func (p printWords) Method(id string) string            { return locale.Method(p.lang, id) }
