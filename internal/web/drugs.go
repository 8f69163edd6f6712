package web

import (
	"strconv"

	"linn/internal/pathway"
	"linn/unit"
)

// drugRows is how many lines the form offers.
const drugRows = 6

// DrugsView is the page of the drugs as drawn up.
type DrugsView struct {
	CareView
	Sums       []SumView
	Total      string
	Parts      []string
	Weight     string
	Rows       []DrugRow
	Drops      []Option
	MayCheck   bool
	NotChecked bool
}

// SumView is the arithmetic of one line.
type SumView struct{ Drug, Route, Sum, Target, Prepared, Checked string }

// DrugRow is one line of the form.
type DrugRow struct {
	N      int
	Drugs  []Option
	Routes []Option
	Fields []DrugField
}

// DrugField is one typed field of a line.
type DrugField struct {
	ID, Name, Label, Value string
	Options                []Option
}

// drugFields are the typed keys of a line, most used first; the rest fold
// away.
var drugFields = []string{"strength_percent", "strength_mg_ml", "strength_one_in", "volume_ml", "volume_ul", "powder_mg", "diluent_ml", "diluent", "take_ml", "dilute_ml", "dilute", "bottle_ml", "with_adrenaline", "top_up", "lot"}

var drugWords = map[string][]string{"diluent": {"added-to", "made-up-to"}, "dilute": {"added-to", "made-up-to"}, "with_adrenaline": {"yes", "no"}, "top_up": {"yes", "no"}}

// Routes are those of the drugs.
var routes = []string{"topical", "intracameral", "sub-tenon", "peribulbar", "infiltration", "subconjunctival", "intravitreal", "irrigation", "wound-hydration", "intravenous"}

// drugLines reads the lines of the form: "2.volume_ml".
func drugLines(values map[string]string) (lines []map[string]string) {
	for n := range drugRows {
		l := map[string]string{}
		for _, key := range pathway.DrugKeys {
			if text := values[strconv.Itoa(n+1)+"."+key]; text != "" {
				l[key] = text
			}
		}
		if len(l) > 0 {
			lines = append(lines, l)
		}
	}
	return lines
}

func (s *server) drugsView(frame CareView, c *CarePart, typed CareForm) DrugsView {
	v := DrugsView{CareView: frame, Weight: typedOr(typed, "drugs", "weight", c.Care.Drugs.Weight), MayCheck: c.May["drugs"]}
	if d := c.Care.Now.Dose; d != nil {
		s.sums(&v, c, d)
	}
	lines := c.Care.Drugs.Lines
	if typed.What == "drugs" {
		lines = typed.Lines
	}
	for n := range drugRows {
		l := map[string]string{}
		if n < len(lines) {
			l = lines[n]
		}
		v.Rows = append(v.Rows, s.drugRow(n+1, l))
	}
	drops := typedOr(typed, "drugs", "drops", c.Care.Drugs.Drops)
	v.Drops = []Option{{"", s.t("answer.none"), drops == ""}}
	for _, name := range c.Care.Drops {
		v.Drops = append(v.Drops, Option{name, name, name == drops})
	}
	return v
}

func (s *server) sums(v *DrugsView, c *CarePart, d *pathway.DoseCheck) {
	for _, l := range d.Lines {
		sum := s.t("dose.sum", "concentration", pathway.AmountText(l.Concentration, "mg/ml"), "volume", unit.Millilitre(l.Volume.Value).String(), "dose", pathway.AmountText(l.Dose, "mg"))
		x := SumView{Drug: l.Drug, Route: s.t("route." + l.Route), Sum: sum, Prepared: c.Care.Names[l.PreparedBy], Checked: c.Care.Names[l.CheckedBy]}
		if l.Target.Known {
			x.Target = s.t("dose.target", "target", pathway.AmountText(l.Target, l.TargetUnit), "times", unit.Fixed(l.Share.Value, 2))
		}
		if l.CheckedBy == "" {
			x.Checked, v.NotChecked = s.t("dose.unchecked"), true
		}
		v.Sums = append(v.Sums, x)
	}
	if t := d.Total; t != nil {
		v.Total = s.t("dose.total", "share", unit.Fixed(t.Fraction.Value, 2))
		for _, p := range t.Parts {
			key := "dose.part"
			if p.PerKg.Known {
				key = "dose.part.kg"
			}
			v.Parts = append(v.Parts, s.t(key, "drug", p.Drug, "dose", pathway.AmountText(p.Dose, "mg"), "limit", pathway.AmountText(p.Limit, "mg"),
				"share", unit.Fixed(p.Fraction.Value, 2), "perkg", unit.MilligramPerKilogram(p.PerKg.Value).String()))
		}
	}
}

func (s *server) drugRow(n int, l map[string]string) DrugRow {
	name := strconv.Itoa(n) + "."
	row := DrugRow{N: n, Routes: s.options("route.", routes, l["route"]), Drugs: []Option{{"", s.t("dose.no-drug"), l["drug"] == ""}}}
	for _, d := range pathway.Drugs {
		row.Drugs = append(row.Drugs, Option{d, d, d == l["drug"]})
	}
	for _, key := range drugFields {
		f := DrugField{ID: "d" + strconv.Itoa(n) + "-" + key, Name: name + key, Label: s.label(key), Value: l[key]}
		if words := drugWords[key]; words != nil {
			f.Options = s.options("made.", words, l[key])
		}
		row.Fields = append(row.Fields, f)
	}
	return row
}
