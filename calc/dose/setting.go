package dose

import (
	"slices"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Setting is one target or limit that a unit approves for itself. Until it
// has, the default stands in and is shown as not approved here.
type Setting struct {
	Key     string // "lidocaine.mg_per_kg", "cefuroxime.intracameral"
	Unit    string
	Default float64 // 0: there is none
	Bounds  unit.Bounds
	Ref     source.Ref
	Says    string // key of the sources that disagree, "" none known
}

// Local is a setting as a unit approved it.
type Local struct {
	Value float64
	By    string
	On    unit.Date
}

// Limits are the settings a unit has approved, by key.
type Limits map[string]Local

// anaesthetics are the limits of local anaesthetics: mg/kg and mg, without and
// with adrenaline.
var anaesthetics = []struct {
	drug                             string
	perKg, most, perKgWith, mostWith float64
}{
	{"lidocaine", 3, 200, 7, 500}, {"bupivacaine", 2, 150, 2, 150}, {"levobupivacaine", 2, 150, 2, 150}, {"ropivacaine", 3, 0, 3, 0},
}

var lidocaine = from(source.LidocaineLimits, source.Secondary, "the lowest of those printed")

// Settings lists everything a unit may approve.
var Settings = settings()

func settings() (list []Setting) {
	for _, a := range anaesthetics {
		ref, says := practice, ""
		if a.drug == "lidocaine" {
			ref, says = lidocaine, "lidocaine"
		}
		for _, s := range []struct {
			name, unit string
			v          float64
		}{{"mg_per_kg", "mg/kg", a.perKg}, {"mg", "mg", a.most}, {"with_adrenaline.mg_per_kg", "mg/kg", a.perKgWith}, {"with_adrenaline.mg", "mg", a.mostWith}} {
			key := a.drug + "." + s.name
			if s.v > 0 {
				declared(key, s.unit, s.v, ref)
			}
			list = append(list, Setting{key, s.unit, s.v, unit.Bounds{Low: 0.1, High: 1000}, ref, says})
		}
	}
	for _, d := range Drugs {
		for _, r := range d.Routes {
			if d.Class == LocalAnaesthetic || d.Class == Osmotic {
				continue
			}
			a, ref, u := d.Aims[r], practice, "mg"
			v := a.Amount
			if a.Ref.Key != "" {
				ref = a.Ref
			}
			if a.Concentration > 0 {
				v, u = a.Concentration, "mg/ml"
			}
			list = append(list, Setting{d.ID + "." + string(r), u, v, unit.Bounds{Low: 0.0001, High: 1000}, ref, says(d.ID)})
		}
	}
	return append(list, Setting{"mannitol.g_per_kg", "g/kg", declared("mannitol.g_per_kg", "g/kg", 0.5, practice), unit.Bounds{Low: 0.1, High: 2}, practice, "mannitol"},
		Setting{"mannitol.most_g_per_kg", "g/kg", declared("mannitol.most_g_per_kg", "g/kg", 1, practice), unit.Bounds{Low: 0.1, High: 2}, practice, "mannitol"})
}

func says(drug string) string {
	if slices.Contains([]string{"cefuroxime", "moxifloxacin", "trypan-blue"}, drug) {
		return drug
	}
	return ""
}

// SettingNamed returns the setting with the key, nil when there is none.
func SettingNamed(key string) *Setting {
	for i := range Settings {
		if Settings[i].Key == key {
			return &Settings[i]
		}
	}
	return nil
}

// of is the value in force, whether there is one, and whether it was approved
// here.
func (l Limits) of(key string) (v float64, known, approved bool) {
	if x, is := l[key]; is {
		return x.Value, true, true
	}
	s := SettingNamed(key)
	if s == nil || s.Default == 0 {
		return 0, false, false
	}
	return s.Default, true, false
}

// Typed is a local value as typed, with who approved it.
type Typed struct {
	Key, Text string
	Local     // without its value
}

// Set reads a local value as typed; empty text takes the default again.
func (l Limits) Set(t Typed) *finding.Refusal {
	key, text, by := t.Key, t.Text, t.Local
	s := SettingNamed(key)
	if s == nil {
		return &finding.Refusal{Code: "unknown-key", Field: key}
	}
	if text == "" {
		delete(l, key)
		return nil
	}
	v, refused := parse(key, s.Unit, text, s.Bounds)
	if refused != nil {
		return refused
	}
	by.Value = v
	l[key] = by
	return nil
}
