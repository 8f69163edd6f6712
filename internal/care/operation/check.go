package operation

import (
	"strconv"

	"linn/finding"
	"linn/source"
	"linn/unit"
)

// Our own bounds of what is believed without asking.
const (
	shortest = 3   // minutes from start to end
	longest  = 180 // minutes
)

var (
	lensDiffers    = absolute("operation-lens-differs", "model or power of the implanted lens is not the signed plan's, and nobody has confirmed it by name and side")
	timesReversed  = rule("operation-times", finding.Stop, "the clock times do not follow one another within 12 hours")
	timeDoubtful   = rule("operation-duration", finding.Caution, "under 3 or over 180 minutes from start to end")
	dayDiffers     = rule("operation-day", finding.Caution, "the day of the operation is not that of the list")
	dayAhead       = rule("operation-day-ahead", finding.Stop, "the day of the operation lies ahead")
	placeDiffers   = rule("operation-place", finding.Caution, "the lens lies elsewhere than planned")
	onePieceSulcus = rule("operation-one-piece-sulcus", finding.Caution, "a one-piece lens in the sulcus")
	noLens         = rule("operation-no-lens", finding.Caution, "the eye was left without a lens")
	nucleusFast    = rule("operation-nucleus-fast", finding.Caution, "the nucleus was not said to turn freely before it was taken")
	leaks          = rule("operation-leaks", finding.Caution, "the wound leaks at the end")
	leakUntested   = rule("operation-leak-untested", finding.Caution, "no leak test")
	noAntibiotic   = rule("operation-no-antibiotic", finding.Caution, "no antibiotic at the end")
	noLoad         = rule("operation-no-load", finding.Caution, "load number of the steriliser not recorded")
	noLensLot      = rule("operation-no-lens-serial", finding.Caution, "serial or lot number of the lens not recorded")
	halfTold       = rule("operation-complication-open", finding.Caution, "a complication without size, vitreous or handling")
	noneAndSome    = rule("operation-none-and-some", finding.Stop, "complications are recorded, and that there were none")
	openConversion = rule("operation-conversion-why", finding.Caution, "converted, and not said why")
	unread         = rule("operation-unread", finding.Stop, "a text that no rule can take")
	notRecorded    = rule("operation-not-recorded", finding.Note, "fields of the technique that nobody recorded")
)

func rule(code string, s finding.Severity, limit string) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: s, Limit: limit,
		Ref: source.Ref{Key: source.OperationRecords, Where: "what does not fit", Grade: source.Own}})
}

func absolute(code, limit string) finding.Rule {
	return finding.Declare(finding.Rule{Code: code, Severity: finding.Stop, Absolute: true, Limit: limit,
		Ref: source.Ref{Key: source.OperationRecords, Where: "lens against plan", Grade: source.Own}})
}

func value(name, text string) finding.Value { return finding.Value{Name: name, Text: text} }

// Check says what does not fit, the plan included. today is the civil day in
// the theatre.
func Check(r Record, p Planned, today unit.Date) (list []finding.Finding) {
	add := func(is bool, f finding.Rule, field string, v ...finding.Value) {
		if is {
			list = append(list, f.On(field, v...))
		}
	}
	for _, f := range Fields {
		if text := r.Values[f.Key]; text != "" {
			add(f.Refuses(text) != nil, unread, f.Key, value("got", text))
		}
	}
	v := func(key string) string { return r.Values[key] }
	differs, planned := r.Differs(p)
	add(differs, lensDiffers, KeyModel, value("planned", planned), value("got", r.Lens()))
	list = append(list, times(&r, p, today)...)
	place, meant := v(KeyPlace), p.Placement
	if meant == "" {
		meant = "bag"
	}
	add(place != "" && p.HasLens && place != meant && !(place == "captured" && meant == "sulcus"), placeDiffers, KeyPlace, value("planned", meant), value("got", place))
	add(place == "sulcus" && p.OnePiece && v(KeyModel) == p.Model, onePieceSulcus, KeyPlace)
	add(place == "none", noLens, KeyPlace)
	add((r.Ended() == Phaco || r.Ended() == MSICS) && v(KeyTurns) != "" && v(KeyTurns) != "turns-freely", nucleusFast, KeyTurns, value("got", v(KeyTurns)))
	add(v(KeyLeak) == "leaks", leaks, KeyLeak)
	add(v(KeyLeak) == "not-tested", leakUntested, KeyLeak)
	add(v(KeyDrug) == "not-given", noAntibiotic, KeyDrug)
	add(r.Ended() != r.Technique() && v("conversion_why") == "", openConversion, "conversion_why")
	return append(list, told(&r)...)
}

// Differs reports whether the implanted lens is not the planned one and nobody
// has confirmed this very difference. A record without model and power says
// nothing yet.
func (r *Record) Differs(p Planned) (differs bool, planned string) {
	if !p.HasLens {
		return false, ""
	}
	planned = LensText(p.Model, unit.Known(p.Power))
	if r.Values[KeyPlace] != "none" && (r.Values[KeyModel] == "" || !r.Power().Known) {
		return false, planned
	}
	got := r.Lens()
	if c := r.Confirmed; c != nil && c.Lens == got && c.Plan == planned {
		return false, planned
	}
	return got != planned, planned
}

// times are the findings about day and clock.
func times(r *Record, p Planned, today unit.Date) (list []finding.Finding) {
	on := r.On()
	if on.Known() && today.Known() && today.Before(on) {
		list = append(list, dayAhead.On(KeyDay, value("got", on.String()), value("today", today.String())))
	} else if on.Known() && p.List.Known() && on != p.List {
		list = append(list, dayDiffers.On(KeyDay, value("got", on.String()), value("planned", p.List.String())))
	}
	const half = 12 * 60
	order := []string{KeyIn, KeyStarted, KeyEnded, KeyOut}
	last := ""
	for _, key := range order {
		if _, ok := minutes(r.Values[key]); !ok {
			continue
		}
		if n, known := r.Minutes(last, key); known && n > half {
			list = append(list, timesReversed.On(key, value("got", r.Values[key]), value("before", r.Values[last])))
		}
		last = key
	}
	if n, known := r.Minutes(KeyStarted, KeyEnded); known && n <= half && (n < shortest || n > longest) {
		list = append(list, timeDoubtful.On(KeyEnded, value("got", strconv.Itoa(n)+unit.Thin+"min")))
	}
	return list
}

// told are the findings about what was left unsaid.
func told(r *Record) (list []finding.Finding) {
	for _, c := range r.Complications {
		torn := c.Kind == "capsule-rupture" || c.Kind == "zonule"
		if c.Handling == "" || torn && (c.Size == "" || c.Vitreous == "") {
			list = append(list, halfTold.On("complications", value("what", c.Kind)))
		}
	}
	if r.Values[KeyNone] != "" && len(r.Complications) > 0 {
		list = append(list, noneAndSome.On(KeyNone))
	}
	if r.Values[KeyLoad] == "" {
		list = append(list, noLoad.On(KeyLoad))
	}
	if r.Values[KeyLensLot] == "" && r.Values[KeyPlace] != "none" {
		list = append(list, noLensLot.On(KeyLensLot))
	}
	if n := len(r.Missing()); n > 0 {
		list = append(list, notRecorded.On("", value("n", strconv.Itoa(n))))
	}
	return list
}

// needed are the fields without which a record is not whole: what every
// operation note holds.
var needed = []string{KeyDay, KeyTechnique, KeyStarted, KeyEnded, "anaesthesia", "incision_kind", "viscoelastic", "capsule_opening", KeyTurns,
	"nucleus_phaco", "nucleus_out", "cortex", KeyModel, KeyPower, KeyPlace, "closure", KeyLeak, KeyDrug}

// Missing names what an operation note holds and this record does not, in
// order. Complications are asked as well: none is an answer, silence is not.
func (r *Record) Missing() (keys []string) {
	for _, key := range needed {
		f := FieldNamed(key)
		lensless := r.Values[KeyPlace] == "none" && (key == KeyModel || key == KeyPower)
		if f.Of(r.Ended()) && (r.Ended() != "" || len(f.Only) == 0) && r.Values[key] == "" && !lensless {
			keys = append(keys, key)
		}
	}
	if r.Values[KeyNone] == "" && len(r.Complications) == 0 {
		keys = append(keys, KeyNone)
	}
	return keys
}
