package dose

import (
	"slices"
	"strings"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Version is the version of the arithmetic.
const Version = "1"

// Input is what one person is to be given.
type Input struct {
	Weight         unit.Reading[unit.Kilogram]
	AllergiesAsked bool
	Allergies      []string // as typed
	Lines          []Line
	Limits         Limits
}

// Number is a number that may not exist.
type Number struct {
	Value float64
	Known bool
}

// Checked is one line with its arithmetic.
type Checked struct {
	Line          Line
	Concentration unit.MilligramPerMillilitre // as it is given; irrigation: in the bottle
	Dose          unit.Milligram
	Target        Number // mg or mg/ml, as TargetUnit says
	TargetUnit    string
	Share         Number // of the target
	Working       []source.Step
	Findings      []finding.Finding
}

// Part is one local anaesthetic's share of its limit.
type Part struct {
	Drug     string
	Dose     unit.Milligram
	PerKg    Number // mg/kg
	Limit    unit.Milligram
	Fraction float64
	ByWeight bool // the limit is the one per kg
}

// Total is all local anaesthetics together: every route, with top-ups.
type Total struct {
	Parts    []Part
	Fraction float64
}

// Answer is the whole check.
type Answer struct {
	Lines       []Checked
	Anaesthetic *Total // nil without one that has a limit
	Findings    []finding.Finding
}

// Check does the arithmetic of every line and adds the local anaesthetics. It
// checks and never proposes.
func Check(in Input) Answer {
	a := Answer{Lines: []Checked{}, Findings: []finding.Finding{}}
	for _, l := range in.Lines {
		a.Lines = append(a.Lines, check(l, &in))
	}
	if len(in.Lines) > 0 && !in.AllergiesAsked {
		a.Findings = append(a.Findings, allergyUnasked.On("allergies"))
	}
	a.total(&in)
	return a
}

// All lists every finding of the answer.
func (a *Answer) All() []finding.Finding {
	var list []finding.Finding
	for i := range a.Lines {
		list = append(list, a.Lines[i].Findings...)
	}
	return append(list, a.Findings...)
}

func value(name, text string) finding.Value { return finding.Value{Name: name, Text: text} }

func check(l Line, in *Input) Checked {
	c := Checked{Line: l}
	c.concentration()
	c.Dose = c.Concentration.Times(l.Volume.Value)
	if l.Route == Irrigation {
		c.Concentration = unit.MilligramPerMillilitre(float64(c.Dose) / float64(l.Bottle.Value)) // its own volume is lost in the bottle's
		c.step("dose-bottle", "c", float64(c.Concentration), "mg/ml")
	}
	c.step("dose-amount", "m = c V", float64(c.Dose), "mg")
	c.against(in)
	c.flags()
	c.allergies(in)
	if p, q := fold(l.PreparedBy), fold(l.CheckedBy); p == "" || q == "" || p == q {
		c.add(notChecked, "checked_by")
	}
	return c
}

func fold(s string) string { return strings.ToLower(strings.Join(strings.Fields(s), " ")) }

// add says something about the line; every finding names the drug.
func (c *Checked) add(r finding.Rule, field string, v ...finding.Value) {
	c.Findings = append(c.Findings, r.On(field, append([]finding.Value{value("drug", c.Line.Drug), value("route", string(c.Line.Route))}, v...)...))
}

func (c *Checked) step(name, symbol string, v float64, u string) {
	c.Working = append(c.Working, source.Step{Name: name, Symbol: symbol, Value: v, Unit: u, Ref: source.Ref{Key: source.CommonPractice, Where: "concentration × volume", Grade: source.Memory}})
}

// concentration is that of the syringe.
func (c *Checked) concentration() {
	l := &c.Line
	stock := float64(l.Stock.Value)
	if l.Powder.Known {
		volume := float64(l.Diluent.Value)
		if l.Made == AddedTo {
			more := DrugNamed(l.Drug).Displacement
			if more == 0 {
				c.add(displacement, "powder_mg")
			}
			volume += more * float64(l.Powder.Value) / 1000
		}
		stock = float64(l.Powder.Value) / volume
	}
	c.step("dose-stock", "c", stock, "mg/ml")
	if l.Take.Known {
		whole := float64(l.Dilute.Value)
		if l.Diluted == AddedTo {
			whole += float64(l.Take.Value)
		}
		stock *= float64(l.Take.Value) / whole
		c.step("dose-diluted", "c", stock, "mg/ml")
	}
	c.Concentration = unit.MilligramPerMillilitre(stock)
}

// against holds the line to the local target of its drug and route.
func (c *Checked) against(in *Input) {
	l := &c.Line
	d := DrugNamed(l.Drug)
	switch d.Class {
	case LocalAnaesthetic:
		return
	case Osmotic:
		c.perKilogram(in)
		return
	}
	key := l.Drug + "." + string(l.Route)
	target, known, approved := in.Limits.of(key)
	if !known {
		c.add(noTarget, "drug", value("dose", c.Dose.String()))
		return
	}
	got, shown := float64(c.Dose), c.Dose.String()
	c.TargetUnit = SettingNamed(key).Unit
	want := unit.Milligram(target).String()
	if c.TargetUnit == "mg/ml" {
		got, shown, want = float64(c.Concentration), c.Concentration.String(), unit.MilligramPerMillilitre(target).String()
	}
	c.Target, c.Share = Number{target, true}, Number{got / target, true}
	c.step("dose-target", "T", target, c.TargetUnit)
	c.step("dose-share", "m / T", c.Share.Value, "")
	v := []finding.Value{value("got", shown), value("target", want), value("times", unit.Fixed(c.Share.Value, 2))}
	switch {
	case outside(c.Share.Value, stopLow, stopHigh):
		c.add(doseOutside, "volume_ml", v...)
		c.otherStrength(d, target, v)
	case outside(c.Share.Value, cautionLow, cautionHigh):
		c.add(doseOff, "volume_ml", v...)
	}
	if !approved {
		c.add(notApproved, "drug", value("target", want))
	}
}

// margin keeps binary rounding of a share from firing a limit.
const margin = 1e-9

func outside(v, low, high float64) bool { return v < low-margin || v > high+margin }

// otherStrength looks whether another strength of the drug would have met the
// target in this volume: then the two were probably exchanged.
func (c *Checked) otherStrength(d *Drug, target float64, v []finding.Value) {
	if c.TargetUnit != "mg" || !c.Line.Stock.Known {
		return
	}
	for _, s := range d.Strengths {
		if x := float64(s.Times(c.Line.Volume.Value)) / target; !outside(x, cautionLow, cautionHigh) {
			c.add(swapped, "strength_mg_ml", append(v, value("entered", c.Concentration.String()), value("other", s.String()))...)
		}
	}
}

// perKilogram judges mannitol: grams by weight, never without one.
func (c *Checked) perKilogram(in *Input) {
	if !in.Weight.Known {
		c.add(weightMissing, "weight_kg", value("dose", c.Dose.String()))
		return
	}
	got := float64(c.Dose) / 1000 / float64(in.Weight.Value)
	usual, _, approved := in.Limits.of("mannitol.g_per_kg")
	most, _, _ := in.Limits.of("mannitol.most_g_per_kg")
	c.Target, c.TargetUnit, c.Share = Number{usual, true}, "g/kg", Number{got / usual, true}
	c.step("dose-per-kg", "m / W", got, "g/kg")
	v := []finding.Value{value("got", unit.Fixed(got, 2)+unit.Thin+"g/kg"), value("usual", unit.Fixed(usual, 2)+unit.Thin+"g/kg"), value("most", unit.Fixed(most, 2)+unit.Thin+"g/kg")}
	switch {
	case got > most+margin:
		c.add(mannitolOver, "volume_ml", v...)
	case got > usual+margin:
		c.add(mannitolHigh, "volume_ml", v...)
	}
	if !approved {
		c.add(notApproved, "drug", value("target", unit.Fixed(usual, 2)+unit.Thin+"g/kg"))
	}
}

// flags are what is heard in teaching and not to be obeyed without a senior.
func (c *Checked) flags() {
	l := &c.Line
	d := DrugNamed(l.Drug)
	if u, has := d.Usual[l.Route]; has && float64(c.Concentration) > stopHigh*float64(u)+margin {
		c.add(unusual, "strength_mg_ml", value("got", percent(c.Concentration)), value("usual", percent(u)))
	}
	switch {
	case d.Class == Aminoglycoside && l.Route == Subconjunctival:
		c.add(aminoglycoside, "route")
	case l.Route == WoundHydration:
		c.add(concentrate, "route", value("got", c.Concentration.String()))
	case l.Drug == "vancomycin" && l.Route == Intracameral:
		c.add(prophylaxis, "drug")
	}
}

func percent(c unit.MilligramPerMillilitre) string {
	return unit.Fixed(float64(c)/10, 2) + unit.Thin + "%"
}

// named are words of allergies by drug class, in lower case.
var named = map[Class][]string{Cephalosporin: {"cephalosporin", "cefa", "cefu", "ceft", "cefo", "cephal"}, Quinolone: {"quinolone", "floxacin"}, Glycopeptide: {"glycopeptide", "vancomycin"},
	Aminoglycoside: {"aminoglycoside", "gentamicin", "tobramycin", "amikacin"}, LocalAnaesthetic: {"local anaesthetic", "local anesthetic", "caine"},
	Sympathomimetic: {"adrenaline", "epinephrine"}, Dye: {"dye"}, Steroid: {"steroid"}, Osmotic: {"mannitol"}}

// AllergyWords lists the words of allergies this check knows that free text
// names, in a fixed order: what a plan keeps instead of the text.
func AllergyWords(items []string) (list []string) {
	known := []string{"penicillin"}
	for i := range Drugs {
		known = append(known, strings.ReplaceAll(Drugs[i].ID, "-", " "))
	}
	for _, c := range []Class{Cephalosporin, Quinolone, Glycopeptide, Aminoglycoside, LocalAnaesthetic, Sympathomimetic, Dye, Steroid, Osmotic} {
		known = append(known, named[c]...)
	}
	for _, item := range items {
		text := strings.ReplaceAll(fold(item), "cillin", "penicillin")
		for _, w := range known {
			if strings.Contains(text, w) && !slices.Contains(list, w) {
				list = append(list, w)
			}
		}
	}
	return list
}

// allergies stops on a drug, or a word of its class, that is named among the
// allergies; for a penicillin and a cephalosporin it asks. A caine is looked
// for by its own name first: classes of local anaesthetic do not all cross.
func (c *Checked) allergies(in *Input) {
	d := DrugNamed(c.Line.Drug)
	for _, item := range in.Allergies {
		text := fold(item)
		hit := strings.Contains(text, strings.ReplaceAll(d.ID, "-", " "))
		for _, w := range named[d.Class] {
			hit = hit || strings.Contains(text, w)
		}
		switch {
		case hit:
			c.add(allergyNamed, "allergies", value("allergy", item))
		case d.Class == Cephalosporin && strings.Contains(text, "cillin"):
			c.add(allergyRelated, "allergies", value("allergy", item))
		}
	}
}
