package operation

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"linn/finding"
	"linn/unit"
)

var (
	today = unit.Date{Year: 2026, Month: 3, Day: 4}
	plan  = Planned{Model: "Tarn 60", Power: 21.5, HasLens: true, List: today, Surgeon: "ann"}
)

// uneventful is a whole record of an ordinary operation.
func uneventful(t Technique) Record {
	r := plan.Prefill()
	for key, text := range map[string]string{KeyTechnique: string(t), KeyStarted: "09:41", KeyEnded: "09:52", "anaesthesia": "sub-tenon", "incision_kind": "clear-corneal",
		"viscoelastic": "both", "capsule_opening": "continuous", KeyTurns: "turns-freely", "nucleus_phaco": "chop", "cortex": "complete", KeyModel: "Tarn 60", KeyPower: "21.5",
		KeyPlace: "bag", "closure": "hydrated", KeyLeak: "dry", KeyDrug: "intracameral", KeyNone: "none", KeyLoad: "L-77", KeyLensLot: "SN 4"} {
		r.Set(key, text)
	}
	if t != Phaco {
		r.Set("nucleus_phaco", "")
		r.Set("nucleus_out", "vectis")
	}
	return r
}

func codes(list []finding.Finding) (c []string) {
	for _, f := range list {
		c = append(c, f.Code)
	}
	return c
}

func TestUneventful(t *testing.T) {
	for _, technique := range []Technique{Phaco, MSICS, ECCE} {
		r := uneventful(technique)
		if got := Check(r, plan, today); len(got) > 0 {
			t.Errorf("%s: %v", technique, codes(got))
		}
		if missing := r.Missing(); len(missing) > 0 {
			t.Errorf("%s lacks %v", technique, missing)
		}
		if yes, known := r.CapsuleRupture(); yes || !known {
			t.Errorf("%s: rupture %t, known %t", technique, yes, known)
		}
	}
}

// Each rule at what raises it, and nothing else.
func TestRules(t *testing.T) {
	set := func(pairs ...string) func(*Record) {
		return func(r *Record) {
			for i := 0; i < len(pairs); i += 2 {
				r.Set(pairs[i], pairs[i+1])
			}
		}
	}
	torn := func(c Complication) func(*Record) {
		return func(r *Record) { r.Set(KeyNone, ""); r.Complications = []Complication{c} }
	}
	whole := Complication{Step: "cortex", Kind: "capsule-rupture", Size: "under-2-mm", Vitreous: "face-intact", Handling: "viscoelastic"}
	for name, c := range map[string]struct {
		change func(*Record)
		want   []string
	}{
		"other power":        {set(KeyPower, "22"), []string{"operation-lens-differs"}},
		"other model":        {set(KeyModel, "Tarn 61"), []string{"operation-lens-differs"}},
		"comma":              {set(KeyPower, "+21,50"), nil},
		"no lens":            {set(KeyPlace, "none"), []string{"operation-lens-differs", "operation-place", "operation-no-lens"}},
		"power out of range": {set(KeyPower, "215"), []string{"operation-unread"}},
		"ended first":        {set(KeyEnded, "09:40"), []string{"operation-times"}},
		"over midnight":      {set(KeyStarted, "23:50", KeyEnded, "00:04"), nil},
		"two minutes":        {set(KeyEnded, "09:43"), []string{"operation-duration"}},
		"three minutes":      {set(KeyEnded, "09:44"), nil},
		"three hours":        {set(KeyEnded, "12:41"), nil},
		"longer":             {set(KeyEnded, "12:42"), []string{"operation-duration"}},
		"left before":        {set(KeyIn, "09:50"), []string{"operation-times"}},
		"no clock":           {set(KeyEnded, "24:00"), []string{"operation-unread", "operation-not-recorded"}},
		"tomorrow":           {set(KeyDay, "2026-03-05"), []string{"operation-day-ahead"}},
		"yesterday":          {set(KeyDay, "2026-03-03"), []string{"operation-day"}},
		"sulcus":             {set(KeyPlace, "sulcus"), []string{"operation-place"}},
		"nucleus stuck":      {set(KeyTurns, "turns-partly"), []string{"operation-nucleus-fast"}},
		"leaks":              {set(KeyLeak, "leaks"), []string{"operation-leaks"}},
		"untested":           {set(KeyLeak, "not-tested"), []string{"operation-leak-untested"}},
		"no antibiotic":      {set(KeyDrug, "not-given"), []string{"operation-no-antibiotic"}},
		"no load":            {set(KeyLoad, ""), []string{"operation-no-load"}},
		"no serial":          {set(KeyLensLot, ""), []string{"operation-no-lens-serial"}},
		"converted":          {set(KeyConverted, "to-msics", "nucleus_out", "vectis"), []string{"operation-conversion-why"}},
		"converted, why":     {set(KeyConverted, "to-msics", "nucleus_out", "vectis", "conversion_why", "pupil"), nil},
		"torn":               {torn(whole), nil},
		"torn, half told":    {torn(Complication{Kind: "capsule-rupture", Handling: "watched"}), []string{"operation-complication-open"}},
		"none and some":      {func(r *Record) { r.Complications = []Complication{whole} }, []string{"operation-none-and-some"}},
		"nobody asked":       {set(KeyNone, ""), []string{"operation-not-recorded"}},
	} {
		r := uneventful(Phaco)
		c.change(&r)
		got := codes(Check(r, plan, today))
		if name == "no clock" {
			got = slices.DeleteFunc(got, func(s string) bool { return s == "operation-not-recorded" })
			c.want = c.want[:1]
		}
		if !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v, not %v", name, got, c.want)
		}
	}
	one := plan
	one.OnePiece = true
	r := uneventful(Phaco)
	r.Set(KeyPlace, "sulcus")
	if !finding.Has(Check(r, one, today), "operation-one-piece-sulcus") {
		t.Error("a one-piece lens in the sulcus is not said")
	}
}

// A confirmation holds for the very lens and plan it was given for.
func TestConfirmation(t *testing.T) {
	r := uneventful(Phaco)
	r.Set(KeyPower, "22")
	_, planned := r.Differs(plan)
	r.Confirmed = &Confirmed{Lens: r.Lens(), Plan: planned}
	if got := Check(r, plan, today); len(got) > 0 {
		t.Errorf("confirmed: %v", codes(got))
	}
	r.Set(KeyPower, "22.5")
	if !finding.Has(Check(r, plan, today), "operation-lens-differs") {
		t.Error("another lens passes under an old confirmation")
	}
}

// Capsule rupture as audits count it.
func TestCapsuleRupture(t *testing.T) {
	for _, c := range []struct {
		kind, vitreous string
		want           bool
	}{{"capsule-rupture", "none", true}, {"capsule-rupture", "", true}, {"zonule", "none", false}, {"zonule", "face-intact", false}, {"zonule", "lost", true},
		{"vitreous", "", true}, {"dropped-nucleus", "", true}, {"iris-prolapse", "", false}} {
		r := Record{Complications: []Complication{{Kind: c.kind, Vitreous: c.vitreous}}}
		if yes, known := r.CapsuleRupture(); yes != c.want || !known {
			t.Errorf("%+v: %t, %t", c, yes, known)
		}
	}
	if _, known := new(Record).CapsuleRupture(); known {
		t.Error("nobody asked, and it is known")
	}
}

func aRecord(t *rapid.T) Record {
	r := Record{}
	for _, f := range Fields {
		if rapid.Bool().Draw(t, f.Key+"?") {
			words := append([]string{"12", "-3", "09:41", "2026-03-04", "x"}, f.Words...)
			r.Set(f.Key, rapid.SampledFrom(words).Draw(t, f.Key))
		}
	}
	return r
}

func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := aRecord(t)
		a, b := Check(r, plan, today), Check(r.Clone(), plan, today)
		if !reflect.DeepEqual(a, b) {
			t.Error("the same record gives other findings")
		}
		bad := r.Read()
		for key := range r.Values {
			_, unread := bad[key]
			has := slices.ContainsFunc(a, func(f finding.Finding) bool { return f.Code == "operation-unread" && f.Field == key })
			if unread != has {
				t.Errorf("%s: refused %t, said %t", key, unread, has)
			}
		}
		text, err := json.Marshal(r)
		var back Record
		if err != nil || json.Unmarshal(text, &back) != nil || !reflect.DeepEqual(r.Values, back.Values) {
			t.Error("the record does not come back as written")
		}
		if n, known := r.Minutes(KeyStarted, KeyEnded); known && (n < 0 || n >= 24*60) {
			t.Errorf("%d minutes", n)
		}
		if differs, _ := r.Differs(Planned{}); differs {
			t.Error("a lens differs from no plan")
		}
	})
}

func TestFieldsAreWhole(t *testing.T) {
	seen := map[string]bool{}
	for _, f := range Fields {
		if seen[f.Key] || !slices.Contains(Steps, f.Step) || f.Kind == Word && len(f.Words) == 0 || f.Kind == Number && f.Low >= f.High {
			t.Errorf("field %s", f.Key)
		}
		seen[f.Key] = true
	}
	for _, key := range needed {
		if !seen[key] {
			t.Errorf("%s is needed and no field", key)
		}
	}
}

func ExampleRecord_Minutes() {
	r := Record{}
	r.Set(KeyStarted, "23:50")
	r.Set(KeyEnded, "00:04")
	fmt.Println(r.Minutes(KeyStarted, KeyEnded))
	// Output: 14 true
}
