package followup

import (
	"math"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Our own bounds of what makes one look twice.
const (
	pressureNote   = 22 // mmHg and above
	pressureTreat  = 30
	pressureLow    = 6
	redFlagDays    = 42 // infection any time within six weeks
	visualLossStep = 0.3
)

var (
	beforeOperation = rule("visit-before-operation", finding.Stop, "the day of the visit lies before the operation", own)
	visitAhead      = rule("visit-ahead", finding.Stop, "the day of the visit lies ahead", own)
	wrongDay        = rule("visit-day-odd", finding.Caution, "a visit far from the days of its name", own)
	unread          = rule("visit-unread", finding.Stop, "a text that no rule can take", own)
	redFlag         = rule("visit-red-flag", finding.Caution, "severe pain, many cells, fibrin, hypopyon or an infected wound within six weeks: infection until shown otherwise", flags)
	leaking         = rule("visit-wound", finding.Caution, "the wound leaks, or iris stands in it", flags)
	pressureHigh    = rule("visit-pressure-high", finding.Caution, "30 mmHg and above", bands)
	pressureRaised  = rule("visit-pressure", finding.Note, "22 to 29 mmHg, or under 6", bands)
	toxic           = rule("visit-oedema", finding.Caution, "corneal oedema from limbus to limbus on days 1 to 2", flags)
	correctedWorse  = rule("visit-corrected-worse", finding.Caution, "corrected or pinhole acuity worse than unaided by 0.3 logMAR or more", own)
	cylinderNoAxis  = rule("visit-axis-missing", finding.Caution, "a cylinder without its axis", own)
	distanceMissing = rule("visit-distance-missing", finding.Note, "a refraction without the length of its lane: it cannot be referred to infinity", own)
	poorNoReason    = rule("visit-poor-unexplained", finding.Caution, "worse than 6/60 from four weeks on, and not said why", bandsOf)
)

var (
	own     = source.Ref{Key: source.OperationRecords, Where: "what does not fit", Grade: source.Own}
	flags   = source.Ref{Key: source.RedFlags, Where: "days after the operation", Grade: source.Memory}
	bands   = source.Ref{Key: source.AfterPractice, Where: "pressure; local protocol goes before it", Grade: source.Own}
	bandsOf = source.Ref{Key: source.Limburg2005, Where: "poor outcome and its cause", Grade: source.Read}
)

func rule(code string, s finding.Severity, limit string, ref source.Ref) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: s, Limit: limit, Ref: ref})
}

func value(name, text string) finding.Value { return finding.Value{Name: name, Text: text} }

// Check says what does not fit in a visit, or asks for more than a note. today
// is the civil day.
func Check(v Visit, e Eye, today unit.Date) (list []finding.Finding) {
	add := func(is bool, f finding.Rule, field string, values ...finding.Value) {
		if is {
			list = append(list, f.On(field, values...))
		}
	}
	bad := v.Read()
	for _, f := range Fields {
		_, is := bad[f.Key]
		add(is, unread, f.Key, value("got", v.Values[f.Key]))
	}
	after, known := e.Day(v)
	add(known && after < 0, beforeOperation, "on", value("got", v.On.String()), value("operated", e.On.String()))
	add(v.On.Exact() && today.Exact() && today.Before(v.On), visitAhead, "on", value("got", v.On.String()))
	add(known && after >= 0 && farFrom(v.Kind, after, e), wrongDay, "kind", value("days", unit.Fixed(float64(after), 0)))
	says := func(key string, words ...string) bool {
		for _, w := range words {
			if v.Values[key] == w {
				return true
			}
		}
		return false
	}
	early := !known || after <= redFlagDays
	add(early && (says(KeyPain, "severe") || says(KeyChamber, "many-cells", "fibrin", "hypopyon") || says(KeyWound, "infected")), redFlag, KeyChamber)
	add(says(KeyWound, "leaks", "iris-in-wound"), leaking, KeyWound)
	add(says("cornea", "oedema-limbus-to-limbus") && known && after <= 2, toxic, "cornea")
	p := v.Number(KeyPressure)
	shown := value("got", unit.Fixed(float64(p.Value), 0)+unit.Thin+"mmHg")
	add(p.Known && p.Value >= pressureTreat, pressureHigh, KeyPressure, shown)
	add(p.Known && (p.Value >= pressureNote && p.Value < pressureTreat || p.Value < pressureLow), pressureRaised, KeyPressure, shown)
	return append(list, seen(&v, after, known)...)
}

// seen are the findings about acuity and refraction.
func seen(v *Visit, after int, known bool) (list []finding.Finding) {
	unaided, errU := v.Acuity(KeyUnaided)
	for _, key := range []string{KeyPinhole, KeyCorrected} {
		a, err := v.Acuity(key)
		if err == nil && errU == nil && a.Text != "" && unaided.Text != "" && float64(a.LogMAR-unaided.LogMAR) >= visualLossStep-1e-9 {
			list = append(list, correctedWorse.On(key, value("got", a.Text), value("unaided", unaided.Text)))
		}
	}
	s, c := v.Number(KeySphere), v.Number(KeyCylinder)
	if c.Known && math.Abs(float64(c.Value)) > 0 && !v.Number(KeyAxis).Known {
		list = append(list, cylinderNoAxis.On(KeyAxis))
	}
	if s.Known && !v.Number(KeyDistance).Known {
		list = append(list, distanceMissing.On(KeyDistance))
	}
	if best, ok := v.Best(); ok && best.Band() == "poor" && known && after >= 28 && v.Values["poor_because"] == "" {
		list = append(list, poorNoReason.On("poor_because", value("got", best.Text)))
	}
	return list
}

// farFrom reports whether a visit of a schedule's name lies more than twice as
// late as its window ends, or before it begins by more than a week.
func farFrom(k Kind, after int, e Eye) bool {
	for _, w := range ScheduleOf(e.Technique) {
		if w.Kind == k {
			return after > 2*w.Last || after < w.First-7 || k == Day1 && after == 0
		}
	}
	return false
}
