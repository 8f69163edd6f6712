package invent

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"linn/calc/biometry"
	"linn/calc/optics"
	"linn/eye"
	"linn/finding"
	"linn/unit"
)

func TestDemoWard(t *testing.T) {
	list := DemoWard(asOf)
	if len(list) != 27 {
		t.Fatalf("%d eyes, the demonstration has 27", len(list))
	}
	if !reflect.DeepEqual(list, DemoWard(asOf)) {
		t.Error("two different wards on one day")
	}
	places, people, kinds := map[string]bool{}, map[string]Person{}, map[string]int{}
	for i := range list {
		c := &list[i]
		reread(t, &c.Eye)
		place := fmt.Sprint(c.ListDays, "/", c.Place)
		if places[place] || c.Place < 1 {
			t.Errorf("%s: place %s twice", c.Kind, place)
		}
		places[place] = true
		if p, seen := people[c.Person.Identifier]; seen && !reflect.DeepEqual(p, c.Person) {
			t.Errorf("%s is two people", c.Person.Identifier)
		}
		people[c.Person.Identifier] = c.Person
		if age, ok := c.Person.Born.AgeOn(asOf); !ok || age != c.Eye.Age.Value {
			t.Errorf("%s: born %s, age %v", c.Person.Name(), c.Person.Born, c.Eye.Age.Value)
		}
		if c.Eye.Sex != c.Person.Sex || c.Eye.AsOf != asOf || c.Eye.MeasuredOn.Before(unit.Date{Year: 2023}) {
			t.Errorf("%s: sex or days", c.Person.Name())
		}
		kinds[c.Kind]++
	}
	for _, k := range Kinds {
		if kinds[k] == 0 {
			t.Errorf("no eye of kind %s", k)
		}
	}
	if len(kinds) != len(Kinds) {
		t.Errorf("kinds %v", kinds)
	}
}

// TestDemoShowsWhatItIsFor: each kind raises the findings it is there for, and
// those that must look ordinary raise no caution.
func TestDemoShowsWhatItIsFor(t *testing.T) {
	want := map[string]string{
		"average": "", "short": "", "long": "length-long", "very-long": "length-very-long length-between-eyes-long",
		"steep": "cornea-very-steep", "flat": "cornea-very-flat", "high-cylinder": "cylinder-high",
		"contact-ultrasound": "length-spread contact-reads-short contact-longer-than-immersion length-between-eyes-large",
		"swapped-side":       "sides-maybe-swapped", "second-eye": "", "out-of-stock": "", "similar-names": "",
		"copied-readings": "eyes-identical", "old-readings": "reading-stale", "contact-lens": "contact-lens-recent",
		"much-missing": "index-assumed length-method-missing not-recorded", "after-laser": "cornea-very-flat",
		"aphakic": "reading-missing", "silicone-oil": "", "child": "length-short", "exchange": "reading-missing", "scar": "reading-missing", "gas": "",
	}
	quiet := []string{"average", "second-eye", "out-of-stock", "similar-names", "silicone-oil"}
	veryShort := 0
	for _, c := range DemoWard(asOf) {
		found := biometry.Check(&c.Eye, c.Options)
		for _, code := range strings.Fields(want[c.Kind]) {
			if !finding.Has(found, code) {
				t.Errorf("%s %s: no %s among %v", c.Kind, c.Person.Identifier, code, found)
			}
		}
		if slices.Contains(quiet, c.Kind) && finding.Worst(found) > finding.Note {
			t.Errorf("%s %s: %v", c.Kind, c.Person.Identifier, found)
		}
		if finding.Worst(found) == finding.Stop {
			t.Errorf("%s %s: stopped by its readings: %v", c.Kind, c.Person.Identifier, found)
		}
		if finding.Has(found, "length-very-short") {
			veryShort++
		}
	}
	if veryShort != 1 {
		t.Errorf("%d very short eyes", veryShort)
	}
}

func TestDemoUnusualEyes(t *testing.T) {
	is := map[string]func(*eye.Eye) bool{
		"after-laser":  func(e *eye.Eye) bool { return e.CornealSurgery == eye.MyopicLaser && e.KBefore.Known },
		"aphakic":      func(e *eye.Eye) bool { return e.LensStatus == eye.Aphakic && !e.ACD.Known },
		"silicone-oil": func(e *eye.Eye) bool { return e.Vitreous == eye.Oil },
		"child":        func(e *eye.Eye) bool { return e.Age.Value < 18 },
		"exchange":     func(e *eye.Eye) bool { return e.LensStatus == eye.Pseudophakic && e.Unusual.Implant.Known },
		"gas":          func(e *eye.Eye) bool { return e.Vitreous == eye.Gas },
		"second-eye":   func(e *eye.Eye) bool { return e.Fellow.LensStatus == eye.Pseudophakic },
	}
	for _, c := range DemoWard(asOf) {
		if check, has := is[c.Kind]; has && !check(&c.Eye) {
			t.Errorf("%s: %+v", c.Kind, c.Eye)
		}
		if ordinary := is[c.Kind] == nil; ordinary && (c.Eye.LensStatus != eye.Phakic && c.Kind != "much-missing" || c.Eye.Vitreous == eye.Oil || c.Eye.Vitreous == eye.Gas || c.Eye.Age.Value < 18) {
			t.Errorf("%s is unusual", c.Kind)
		}
		if (c.Kind == "second-eye") != (c.FirstEye != nil) {
			t.Errorf("%s: first eye %v", c.Kind, c.FirstEye)
		}
	}
}

func TestDemoFollowsTheDay(t *testing.T) {
	for _, day := range []unit.Date{{Year: 2024, Month: 2, Day: 29}, {Year: 2031, Month: 1, Day: 1}, {Year: 2030, Month: 12, Day: 31}} {
		for _, c := range DemoWard(day) {
			waited, ok := c.Eye.MeasuredOn.DaysUntil(day)
			if !ok || waited < 0 || waited > 300 {
				t.Errorf("%s on %s: measured on %s", c.Kind, day, c.Eye.MeasuredOn)
			}
			if age, ok := c.Person.Born.AgeOn(day); !ok || age != c.Eye.Age.Value {
				t.Errorf("%s on %s: born %s, age %v", c.Kind, day, c.Person.Born, c.Eye.Age.Value)
			}
		}
	}
}

func TestSimilarNamesAreOnOneList(t *testing.T) {
	var two []Case
	for _, c := range DemoWard(asOf) {
		if c.Kind == "similar-names" {
			two = append(two, c)
		}
	}
	if len(two) != 2 || two[0].ListDays != two[1].ListDays || two[0].Person.Identifier == two[1].Person.Identifier ||
		two[0].Person.Family != two[1].Person.Family || two[0].Person.Given == two[1].Person.Given {
		t.Errorf("%+v", two)
	}
}

func TestDemoStaff(t *testing.T) {
	h := DemoHospital()
	roles, seniors := map[string]int{}, 0
	for _, m := range h.Staff {
		roles[m.Role]++
		if m.Supervisor {
			seniors++
		}
	}
	for _, role := range []string{"technician", "trainee", "surgeon", "nurse", "counsellor", "auditor", "administrator"} {
		if roles[role] == 0 {
			t.Errorf("no %s", role)
		}
	}
	if seniors == 0 || roles["surgeon"] < 2 {
		t.Error("nobody may pass a gate or sign as second")
	}
}

func TestLenses(t *testing.T) {
	list := Lenses(rand.NewPCG(4, 7), 30)
	if !reflect.DeepEqual(list, Lenses(rand.NewPCG(4, 7), 30)) {
		t.Error("one seed, two shelves")
	}
	names := map[string]bool{}
	for i := range list {
		l := &list[i]
		if names[l.Model] || !strings.HasPrefix(l.Model, "Demo ") {
			t.Errorf("model %q", l.Model)
		}
		names[l.Model] = true
		a, ok := l.Get("none", "a")
		if !ok || a.Origin != Label || a.Value < 110 || a.Value > 122 {
			t.Errorf("%s: label A %v", l.Model, a)
		}
		steps := float64((l.To - l.From) / l.Step)
		if len(l.Stock) != int(math.Round(steps))+1 || l.Stock[len(l.Stock)-1].Power != l.To {
			t.Errorf("%s: %d steps of stock from %v to %v", l.Model, len(l.Stock), l.From, l.To)
		}
	}
}

// TestOpticalSetsAgree: an invented set must give one answer in an average
// eye, or the demonstration would teach that methods contradict each other.
// Own arithmetic: Haigis and Hoffer Q positions on the thin-lens engine.
// AL 23.5, K 43.5, ACD 3.1; the rounding of both constants is worth 0.02 D and
// the invented scatter (SD 0.02 mm in each) 0.06 D.
func TestOpticalSetsAgree(t *testing.T) {
	const tolerance = 0.25
	sets := 0
	list := Lenses(rand.NewPCG(4, 7), 60)
	for i := range list {
		l := &list[i]
		pacd, ok := l.Get("hoffer-q", "pacd_mm")
		if !ok {
			continue
		}
		sets++
		a0, _ := l.Get("haigis", "a0")
		a1, _ := l.Get("haigis", "a1")
		a2, _ := l.Get("haigis", "a2")
		haigis := optics.Thin{Cornea: 331.5 * 43.5 / 337.5, Length: 23.5, Position: unit.Millimetre(a0.Value + a1.Value*3.1 + a2.Value*23.5), Vertex: 12}
		// pACD 5.1987 gives 5.1576 mm in this eye (own arithmetic in another language): the offset is the eye's.
		hoffer := optics.Thin{Cornea: 43.5, Length: 23.5, Position: unit.Millimetre(pacd.Value - 5.1987 + 5.1576), Vertex: 12}
		p, err := haigis.Power(0)
		q, err2 := hoffer.Power(0)
		if err != nil || err2 != nil || math.Abs(float64(p-q)) > tolerance {
			t.Errorf("%s: Haigis %v, Hoffer Q %v (%v, %v)", l.Model, p, q, err, err2)
		}
	}
	if sets < 10 {
		t.Errorf("only %d sets", sets)
	}
}

func TestOutOfStock(t *testing.T) {
	shelf := DemoShelf()
	for _, c := range DemoWard(asOf) {
		if c.Kind != "out-of-stock" {
			continue
		}
		i := slices.IndexFunc(shelf, func(l Lens) bool { return l.Model == c.Lens })
		// Average eye: 20.5 to 21.5 D by any method and A constant.
		for _, s := range shelf[i].Stock {
			if s.Power >= 20 && s.Power <= 23 && s.Count != 0 {
				t.Errorf("%v of %s are there", s, c.Lens)
			}
		}
	}
}
