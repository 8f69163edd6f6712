package dose

import (
	"maps"
	"slices"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// Making says what was done with a diluent.
type Making string

// Diluent added to what was there, or the whole made up to a volume.
const (
	AddedTo  Making = "added-to"
	MadeUpTo Making = "made-up-to"
)

// Line is one drug as it was drawn up and is to be given.
type Line struct {
	Drug  string
	Route Route

	Stock      unit.Reading[unit.MilligramPerMillilitre] // from the label
	Powder     unit.Reading[unit.Milligram]              // or from a powder
	Diluent    unit.Reading[unit.Millilitre]
	Made       Making
	Take       unit.Reading[unit.Millilitre] // diluted further: so much of it
	Dilute     unit.Reading[unit.Millilitre] // with, or up to, so much
	Diluted    Making
	Bottle     unit.Reading[unit.Millilitre] // irrigation: into so much fluid
	Volume     unit.Reading[unit.Millilitre] // given
	Adrenaline bool                          // in the anaesthetic
	TopUp      bool

	PreparedBy, CheckedBy string
	Lot                   string
}

// field is one key of a line.
type field struct {
	key    string
	unit   string
	bounds unit.Bounds
	words  []string
	set    func(l *Line, v float64, text string)
}

func known(at func(*Line) *unit.Reading[unit.Millilitre]) func(*Line, float64, string) {
	return func(l *Line, v float64, _ string) { *at(l) = unit.Known(unit.Millilitre(v)) }
}

func strength(l *Line, c unit.MilligramPerMillilitre) { l.Stock = unit.Known(c) }

var (
	making = []string{string(AddedTo), string(MadeUpTo)}
	yesNo  = []string{"yes", "no"}
	small  = unit.Bounds{Low: 0.001, High: 1000}
)

// fields are the keys of a line. The three strengths are one thing in three
// units, the two volumes one in two: exactly one is given.
var fields = []field{
	{key: "drug", set: func(l *Line, _ float64, s string) { l.Drug = s }},
	{key: "route", set: func(l *Line, _ float64, s string) { l.Route = Route(s) }},
	{"strength_percent", "%", unit.Bounds{Low: 0.0001, High: 30}, nil, func(l *Line, v float64, _ string) { strength(l, unit.Percent(v).MilligramPerMillilitre()) }},
	{"strength_mg_ml", "mg/ml", unit.Bounds{Low: 0.0001, High: 300}, nil, func(l *Line, v float64, _ string) { strength(l, unit.MilligramPerMillilitre(v)) }},
	{"strength_one_in", "", unit.Bounds{Low: 5, High: 10_000_000}, nil, func(l *Line, v float64, _ string) { strength(l, unit.OneIn(unit.Ratio(v))) }},
	{"powder_mg", "mg", unit.Bounds{Low: 1, High: 10000}, nil, func(l *Line, v float64, _ string) { l.Powder = unit.Known(unit.Milligram(v)) }},
	{"diluent_ml", "ml", small, nil, known(func(l *Line) *unit.Reading[unit.Millilitre] { return &l.Diluent })},
	{key: "diluent", words: making, set: func(l *Line, _ float64, s string) { l.Made = Making(s) }},
	{"take_ml", "ml", small, nil, known(func(l *Line) *unit.Reading[unit.Millilitre] { return &l.Take })},
	{"dilute_ml", "ml", small, nil, known(func(l *Line) *unit.Reading[unit.Millilitre] { return &l.Dilute })},
	{key: "dilute", words: making, set: func(l *Line, _ float64, s string) { l.Diluted = Making(s) }},
	{"bottle_ml", "ml", unit.Bounds{Low: 10, High: 1000}, nil, known(func(l *Line) *unit.Reading[unit.Millilitre] { return &l.Bottle })},
	{"volume_ml", "ml", small, nil, known(func(l *Line) *unit.Reading[unit.Millilitre] { return &l.Volume })},
	{"volume_ul", "µl", unit.Bounds{Low: 1, High: 1000}, nil, func(l *Line, v float64, _ string) { l.Volume = unit.Known(unit.Microlitre(v).Millilitre()) }},
	{key: "with_adrenaline", words: yesNo, set: func(l *Line, _ float64, s string) { l.Adrenaline = s == "yes" }},
	{key: "top_up", words: yesNo, set: func(l *Line, _ float64, s string) { l.TopUp = s == "yes" }},
	{key: "prepared_by", set: func(l *Line, _ float64, s string) { l.PreparedBy = s }},
	{key: "checked_by", set: func(l *Line, _ float64, s string) { l.CheckedBy = s }},
	{key: "lot", set: func(l *Line, _ float64, s string) { l.Lot = s }},
}

// Keys lists the keys of a line.
func Keys() (list []string) {
	for _, f := range fields {
		list = append(list, f.key)
	}
	return list
}

// ReadLine reads a line from texts by key. Every reason of refusal is
// returned; a line that is refused is not computed with.
func ReadLine(texts map[string]string) (l Line, refused finding.Refusals) {
	for i := range fields {
		f := &fields[i]
		text := strings.TrimSpace(texts[f.key])
		if text == "" {
			continue
		}
		if r := f.read(&l, text); r != nil {
			refused = append(refused, *r)
		}
	}
	for _, key := range slices.Sorted(maps.Keys(texts)) {
		switch {
		case slices.Contains(Keys(), key):
		case strings.HasSuffix(key, "_l"):
			refused = append(refused, finding.Refusal{Code: "no-litres", Field: eye.Clip(key)})
		default:
			refused = append(refused, finding.Refusal{Code: "unknown-key", Field: eye.Clip(key), Values: finding.Values{{Name: "nearest", Text: eye.Nearest(key, Keys())}}})
		}
	}
	if len(refused) == 0 {
		refused = l.check(texts)
	}
	return l, refused
}

func (f *field) read(l *Line, text string) *finding.Refusal {
	switch {
	case f.bounds != (unit.Bounds{}):
		v, refused := parse(f.key, f.unit, text, f.bounds)
		if refused == nil {
			f.set(l, v, text)
		}
		return refused
	case f.words != nil && !slices.Contains(f.words, text):
		return notAmong(f.key, text, f.words)
	}
	f.set(l, 0, text)
	return nil
}

func parse(key, name, text string, bounds unit.Bounds) (float64, *finding.Refusal) {
	v, err := unit.Parse[unit.Ratio](text, key, name, bounds)
	if err != nil {
		form := eye.Field{Key: key, Unit: name, Bounds: bounds, Number: true}
		refused := form.Refusal(err)
		if refused.Code == "lost-decimal-mark" { // no dose is proposed: the label is read again
			refused.Code = "out-of-range"
		}
		return 0, &refused
	}
	return float64(v), nil
}

// notAmong refuses a word. Of drugs no near one is named: what is in the syringe
// is read from the label and not fitted to a list.
func notAmong(key, text string, words []string) *finding.Refusal {
	if key == "drug" {
		return &finding.Refusal{Code: "unknown-drug", Field: key, Values: finding.Values{{Name: "got", Text: eye.Clip(text)}, {Name: "allowed", Text: strings.Join(words, ", ")}}}
	}
	return &finding.Refusal{Code: "unknown-word", Field: key, Values: finding.Values{{Name: "got", Text: eye.Clip(text)},
		{Name: "allowed", Text: strings.Join(words, ", ")}, {Name: "nearest", Text: eye.Nearest(text, words)}}}
}

func needed(key string) finding.Refusal { return finding.Refusal{Code: "needed", Field: key} }

// check refuses what could only be guessed.
func (l *Line) check(texts map[string]string) (refused finding.Refusals) {
	given := func(keys ...string) (n int) {
		for _, k := range keys {
			if strings.TrimSpace(texts[k]) != "" {
				n++
			}
		}
		return n
	}
	d := DrugNamed(l.Drug)
	switch {
	case l.Drug == "":
		refused = append(refused, needed("drug"))
	case d == nil:
		refused = append(refused, *notAmong("drug", l.Drug, Names()))
	case l.Route == "":
		refused = append(refused, needed("route"))
	case !d.takes(l.Route):
		refused = append(refused, *notAmong("route", string(l.Route), routeWords(d.Routes)))
	}
	switch n := given("strength_percent", "strength_mg_ml", "strength_one_in"); {
	case n > 1:
		refused = append(refused, finding.Refusal{Code: "two-units", Field: "strength_mg_ml"})
	case n == 1 && l.Powder.Known:
		refused = append(refused, finding.Refusal{Code: "two-units", Field: "powder_mg"})
	case n == 0 && !l.Powder.Known:
		refused = append(refused, needed("strength_mg_ml"))
	}
	if given("volume_ml", "volume_ul") > 1 {
		refused = append(refused, finding.Refusal{Code: "two-units", Field: "volume_ml"})
	}
	return append(refused, l.dilutions()...)
}

func routeWords(list []Route) (words []string) {
	for _, r := range list {
		words = append(words, string(r))
	}
	return words
}

// dilutions refuses half a dilution, a powder whose diluent does not say how,
// and a volume that its route does not take.
func (l *Line) dilutions() (refused finding.Refusals) {
	if l.Powder.Known && !l.Diluent.Known {
		refused = append(refused, needed("diluent_ml"))
	}
	if l.Diluent.Known && l.Made == "" {
		refused = append(refused, needed("diluent"))
	}
	if l.Take.Known != l.Dilute.Known {
		refused = append(refused, needed(map[bool]string{true: "dilute_ml", false: "take_ml"}[l.Take.Known]))
	}
	if l.Dilute.Known && l.Diluted == "" {
		refused = append(refused, needed("dilute"))
	}
	if l.Diluted == MadeUpTo && l.Take.Known && l.Dilute.Known && l.Dilute.Value < l.Take.Value {
		refused = append(refused, finding.Refusal{Code: "made-up-below-part", Field: "dilute_ml"})
	}
	if l.Route == Irrigation && !l.Bottle.Known {
		refused = append(refused, needed("bottle_ml"))
	}
	if !l.Volume.Known {
		return append(refused, needed("volume_ml"))
	}
	if most, known := volumes[l.Route]; known && float64(l.Volume.Value) > most {
		_, r := parse("volume_ml", "ml", unit.Fixed(float64(l.Volume.Value), 3), unit.Bounds{Low: 0.001, High: most})
		refused = append(refused, *r)
	}
	return refused
}
