package biometry

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linn/eye"
	"linn/finding"
	"linn/source"
	"linn/unit"
)

var (
	measured = unit.Date{Year: 2024, Month: 3, Day: 1}
	listed   = unit.Date{Year: 2024, Month: 4, Day: 1}
)

// quiet is an eye about which nothing is to be said, with its fellow.
func quiet() *eye.Eye {
	one := func(side eye.Side, length unit.Millimetre, flat, steep unit.Dioptre) *eye.Eye {
		return &eye.Eye{Side: side, Age: unit.Known(unit.Year(70)), Sex: eye.Female,
			AxialLength: unit.Known(length), AxialLengthMethod: eye.Optical,
			KFlat: unit.Known(flat), KSteep: unit.Known(steep), KeratometricIndex: unit.Known(unit.Index(1.3375)),
			ACD: unit.Known(unit.Millimetre(3.1)), LensThickness: unit.Known(unit.Millimetre(4.5)), WhiteToWhite: unit.Known(unit.Millimetre(11.7)),
			LensStatus: eye.Phakic, Vitreous: eye.NaturalVitreous, CornealSurgery: eye.NoSurgery,
			MeasuredOn: measured, AsOf: listed}
	}
	e := one(eye.Right, 23.4, 43.5, 44.25)
	e.Fellow = one(eye.Left, 23.5, 43.75, 44.25)
	return e
}

func codes(list []finding.Finding) (out []string) {
	for _, f := range list {
		out = append(out, f.Code)
	}
	return out
}

func TestQuietEye(t *testing.T) {
	e := quiet()
	if got := Check(e, Options{}); got != nil {
		t.Fatalf("found %v in a quiet eye", got)
	}
	if n := testing.AllocsPerRun(100, func() { Check(e, Options{}) }); n != 0 {
		t.Errorf("%v allocations where nothing is found", n)
	}
}

// TestLimits sets one reading at, just inside and just outside every limit.
// The limits stand as in the sources named with the rules (grade c: from
// memory, see doc.go), so a row says which.
func TestLimits(t *testing.T) {
	length := func(v float64) func(*eye.Eye, *Options) {
		return func(e *eye.Eye, _ *Options) {
			e.AxialLength.Value = unit.Millimetre(v)
			e.Fellow.AxialLength.Value = unit.Millimetre(v)
			e.ACD.Known = false // judged elsewhere; its absence is filtered below
		}
	}
	meanK := func(v float64) func(*eye.Eye, *Options) {
		return func(e *eye.Eye, _ *Options) {
			for _, x := range []*eye.Eye{e, e.Fellow} {
				x.KFlat.Value, x.KSteep.Value = unit.Dioptre(v-0.5), unit.Dioptre(v+0.5)
			}
		}
	}
	cylinder := func(v float64) func(*eye.Eye, *Options) {
		return func(e *eye.Eye, _ *Options) { e.KFlat.Value, e.KSteep.Value = 43.0, unit.Dioptre(43.0+v) }
	}
	lengths := func(this, fellow float64) func(*eye.Eye, *Options) {
		return func(e *eye.Eye, _ *Options) {
			e.AxialLength.Value, e.Fellow.AxialLength.Value = unit.Millimetre(this), unit.Millimetre(fellow)
		}
	}
	corneas := func(this, fellow float64) func(*eye.Eye, *Options) {
		return func(e *eye.Eye, _ *Options) {
			e.KFlat.Value, e.KSteep.Value = unit.Dioptre(this-0.25), unit.Dioptre(this+0.25)
			e.Fellow.KFlat.Value, e.Fellow.KSteep.Value = unit.Dioptre(fellow-0.25), unit.Dioptre(fellow+0.25)
		}
	}
	power := func(got, mean float64) func(*eye.Eye, *Options) {
		return func(_ *eye.Eye, o *Options) {
			o.EmmetropicPower, o.MeanPower = unit.Known(unit.Dioptre(got)), unit.Known(unit.Dioptre(mean))
		}
	}
	age := func(day int) func(*eye.Eye, *Options) {
		return func(e *eye.Eye, o *Options) {
			o.MaxAgeDays = 31
			e.MeasuredOn = unit.Date{Year: 2024, Month: 3, Day: day}
		}
	}
	wear := func(w Wear, out int, known bool) func(*eye.Eye, *Options) {
		return func(_ *eye.Eye, o *Options) { o.ContactLenses = ContactLenses{w, out, known} }
	}
	spread := func(m eye.LengthMethod, sd float64) func(*eye.Eye, *Options) {
		return func(e *eye.Eye, _ *Options) {
			e.AxialLengthMethod, e.Fellow.AxialLengthMethod = m, m
			e.AxialLength.SD, e.AxialLength.N = unit.Millimetre(sd), 5
		}
	}
	immersion := func(contact, immersion float64) func(*eye.Eye, *Options) {
		return func(e *eye.Eye, o *Options) {
			e.AxialLengthMethod, e.Fellow.AxialLengthMethod = eye.Immersion, eye.Immersion
			e.AxialLength.Value, e.Fellow.AxialLength.Value = unit.Millimetre(immersion), unit.Millimetre(immersion)
			o.OtherLengths = []Length{{unit.Millimetre(contact), eye.Contact}}
		}
	}
	for _, c := range []struct {
		name string
		set  func(*eye.Eye, *Options)
		want string // the one finding, "" for none
	}{
		// Holladay 1988 22 and 25 mm; UK guideline 21.2 and 26.6 mm.
		{"length 22.00", length(22), ""}, {"length 21.99", length(21.99), "length-short"},
		{"length 25.00", length(25), ""}, {"length 25.01", length(25.01), "length-long"},
		{"length 21.20", length(21.2), "length-short"}, {"length 21.19", length(21.19), "length-very-short"},
		{"length 26.60", length(26.6), "length-long"}, {"length 26.61", length(26.61), "length-very-long"},
		// UK guideline 41 D; Holladay 1988 40 and 47 D.
		{"K 41.00", meanK(41), ""}, {"K 40.99", meanK(40.99), "cornea-flat"},
		{"K 40.00", meanK(40), "cornea-flat"}, {"K 39.99", meanK(39.99), "cornea-very-flat"},
		{"K 47.00", meanK(47), ""}, {"K 47.01", meanK(47.01), "cornea-very-steep"},
		// UK guideline 2.5 D.
		{"cylinder 2.50", cylinder(2.5), ""}, {"cylinder 2.51", cylinder(2.51), "cylinder-high"},
		// Between the eyes: 0.3 mm and 1 D Holladay 1988; 0.7 mm and 0.9 D UK guideline; 26 mm Rajan 2008.
		// 23.8 − 23.5 and 24.2 − 23.5 are above 0.3 and 0.7 in binary.
		{"lengths 0.30", lengths(23.8, 23.5), ""}, {"lengths 0.301", lengths(23.5, 23.801), "length-between-eyes"},
		{"lengths 0.70", lengths(24.2, 23.5), "length-between-eyes"}, {"lengths 0.71", lengths(23.49, 24.2), "length-between-eyes-large"},
		{"longer eye 26.00", lengths(25, 26), "length-between-eyes-large"},
		{"longer eye 26.01", lengths(25, 26.01), "length-between-eyes-long"},
		{"K 0.90 apart", corneas(44.4, 43.5), ""}, {"K 0.91 apart", corneas(43.5, 44.41), "cornea-between-eyes"},
		{"K 1.00 apart", corneas(44.5, 43.5), "cornea-between-eyes"}, {"K 1.01 apart", corneas(44.51, 43.5), "cornea-between-eyes-large"},
		// Holladay 1988: 3 D from the mean of the lens.
		{"power 3.00 away", power(24, 21), ""}, {"power 3.01 away", power(17.99, 21), "power-far-from-mean"},
		// Own choice: the local age of readings.
		{"31 days old", age(1), ""}, {"on the day", age(31), ""},
		// Common practice: days without a contact lens.
		{"soft 7 days", wear(SoftWear, 7, true), ""}, {"soft 6 days", wear(SoftWear, 6, true), "contact-lens-recent"},
		{"rigid 21 days", wear(RigidWear, 21, true), ""}, {"rigid 20 days", wear(RigidWear, 20, true), "contact-lens-recent"},
		{"soft, unknown", wear(SoftWear, 0, false), "contact-lens-since-unknown"}, {"none", wear(NoWear, 0, false), ""},
		// Common practice: spread of repeats.
		{"optical 0.05", spread(eye.Optical, 0.05), ""}, {"optical 0.051", spread(eye.Optical, 0.051), "length-spread"},
		{"immersion 0.10", spread(eye.Immersion, 0.10), ""}, {"immersion 0.101", spread(eye.Immersion, 0.101), "length-spread"},
		// Contact against immersion: −0.1 to −0.4 mm plausible, longer is wrong.
		{"contact −0.10", immersion(23.4, 23.5), ""}, {"contact −0.40", immersion(23.2, 23.6), ""},
		{"contact −0.09", immersion(23.41, 23.5), "contact-immersion-gap"}, {"contact −0.41", immersion(23.19, 23.6), "contact-immersion-gap"},
		{"contact as long", immersion(23.5, 23.5), "contact-immersion-gap"}, {"contact longer", immersion(23.51, 23.5), "contact-longer-than-immersion"},
	} {
		e, o := quiet(), Options{}
		c.set(e, &o)
		got := slices.DeleteFunc(codes(Check(e, o)), func(code string) bool { return code == "reading-missing" })
		if want := strings.Fields(c.want); !slices.Equal(got, want) {
			t.Errorf("%s: %v, want %v", c.name, got, want)
		}
	}
}

func TestStale(t *testing.T) {
	e := quiet()
	e.MeasuredOn = unit.Date{Year: 2023, Month: 10, Day: 4} // 180 days before 1 April 2024
	if got := Check(e, Options{}); got != nil {
		t.Errorf("180 days: %v", got)
	}
	e.MeasuredOn.Day = 3
	got := Check(e, Options{})
	if !slices.Equal(codes(got), []string{"reading-stale"}) || got[0].Value("got") != "181"+unit.Thin+"days" || got[0].Value("limit") != "180"+unit.Thin+"days" {
		t.Errorf("181 days: %v", got)
	}
	if got := Check(e, Options{MaxAgeDays: 181}); got != nil {
		t.Errorf("local limit 181: %v", got)
	}
	e = quiet()
	e.KFlat.MeasuredOn = unit.Date{Year: 2023, Month: 1, Day: 1} // one reading kept from last year
	if got := codes(Check(e, Options{})); !slices.Equal(got, []string{"reading-stale"}) {
		t.Errorf("old flat K: %v", got)
	}
	e = quiet()
	e.MeasuredOn = unit.Date{Year: 2024, Month: 4, Day: 2}
	if got := codes(Check(e, Options{})); !slices.Equal(got, []string{"measured-after-list"}) {
		t.Errorf("measured tomorrow: %v", got)
	}
	for _, d := range []unit.Date{{}, {Year: 2024}, {Year: 2024, Month: 3}} {
		e = quiet()
		e.MeasuredOn = d
		if got := codes(Check(e, Options{})); !slices.Equal(got, []string{"measured-on-missing"}) {
			t.Errorf("measured %q: %v", d, got)
		}
	}
	e = quiet()
	e.AsOf = unit.Date{}
	if got := Check(e, Options{}); !slices.Equal(codes(got), []string{"measured-on-missing"}) || got[0].Field != "as_of" {
		t.Errorf("no day of the list: %v", got)
	}
}

func TestMissing(t *testing.T) {
	got := Check(&eye.Eye{}, Options{})
	want := []string{"side-missing", "reading-required", "reading-required", "reading-required",
		"index-assumed", "length-method-missing", "not-recorded", "not-recorded", "not-recorded",
		"reading-missing", "measured-on-missing", "fellow-missing"}
	if !slices.Equal(codes(got), want) {
		t.Errorf("empty eye:\n%v\nwant\n%v", codes(got), want)
	}
	e := quiet()
	e.Fellow = &eye.Eye{Side: eye.Left}
	if got := codes(Check(e, Options{})); !slices.Equal(got, []string{"fellow-missing", "fellow-missing"}) {
		t.Errorf("fellow without readings: %v", got)
	}
}

func TestCannotBeTaken(t *testing.T) {
	for _, c := range []struct {
		name  string
		set   func(*eye.Eye)
		code  string
		field string
		got   string
	}{
		{"radius for a power", func(e *eye.Eye) { e.KFlat.Value = 7.8 }, "k-looks-like-radius", "k_flat_d", "7.80"},
		{"lost decimal mark", func(e *eye.Eye) { e.KSteep.Value = 4425 }, "reading-outside-format", "k_steep_d", "4425.00" + unit.Thin + "D"},
		{"length 235", func(e *eye.Eye) { e.AxialLength.Value = 235 }, "reading-outside-format", "axial_length_mm", "235.00" + unit.Thin + "mm"},
		{"not a number", func(e *eye.Eye) { e.AxialLength.Value = unit.Millimetre(math.NaN()) }, "reading-outside-format", "axial_length_mm", "NaN" + unit.Thin + "mm"},
		{"depth 35", func(e *eye.Eye) { e.ACD.Value = 35 }, "reading-outside-format", "acd_mm", "35.00" + unit.Thin + "mm"},
		{"powers exchanged", func(e *eye.Eye) { e.KFlat, e.KSteep = e.KSteep, e.KFlat }, "k-steep-below-flat", "k_steep_d", "43.50" + unit.Thin + "D"},
		{"one side twice", func(e *eye.Eye) { e.Fellow.Side = eye.Right }, "side-twice", "other_eye.side", "RIGHT EYE"},
	} {
		e := quiet()
		c.set(e)
		got := Check(e, Options{})
		if len(got) != 1 || got[0].Code != c.code || got[0].Field != c.field || got[0].Value("got") != c.got || got[0].Severity != finding.Stop {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
}

// A classic slip of entry: every reading alone could be, the
// two together hardly.
func TestShortEyeWithFlatCornea(t *testing.T) {
	e := quiet()
	e.AxialLength.Value, e.Fellow.AxialLength.Value = 21, 21
	e.KFlat.Value, e.KSteep.Value = 37.75, 38.25
	e.Fellow.KFlat.Value, e.Fellow.KSteep.Value = 38, 38.25
	got := Check(e, Options{})
	if want := []string{"length-very-short", "cornea-very-flat", "unlikely-together"}; !slices.Equal(codes(got), want) {
		t.Fatalf("%v, want %v", codes(got), want)
	}
	// By hand: r = 2·sin(π·0.41/6) = 0.42601; expected 44.26 + 0.42601·1.70/2.47·3.17 = 45.189;
	// SD 1.70·√(1 − 0.42601²) = 1.5379; 45.189 ± 3·1.5379.
	f := got[2]
	if f.Value("low") != "40.58"+unit.Thin+"D" || f.Value("high") != "49.80"+unit.Thin+"D" || f.Value("got") != "38.00"+unit.Thin+"D" ||
		f.Value("other") != "axial_length_mm" || f.Value("other_got") != "21.00"+unit.Thin+"mm" {
		t.Errorf("%+v", f)
	}
	e.CornealSurgery = eye.MyopicLaser // explains the cornea
	if got := codes(Check(e, Options{})); !slices.Equal(got, []string{"length-very-short", "cornea-very-flat"}) {
		t.Errorf("after laser: %v", got)
	}
	e.CornealSurgery, e.Age.Value = eye.NoSurgery, 9
	if finding.Has(Check(e, Options{}), "unlikely-together") {
		t.Error("an adult series was held against a child")
	}
}

func TestUnlikelyDepth(t *testing.T) {
	e := quiet()
	e.ACD.Value, e.LensThickness.Value = 4.4, 5.6
	got := Check(e, Options{})
	if len(got) == 0 || slices.ContainsFunc(got, func(f finding.Finding) bool { return f.Code != "unlikely-together" || f.Field != "acd_mm" }) {
		t.Errorf("deep chamber, thick lens: %+v", got)
	}
	e.LensStatus = eye.Pseudophakic
	if got := Check(e, Options{}); got != nil {
		t.Errorf("pseudophakic: %v", got)
	}
}

func TestContactReadsShort(t *testing.T) {
	e := quiet()
	e.AxialLengthMethod, e.Fellow.AxialLengthMethod = eye.Contact, eye.Contact
	got := Check(e, Options{})
	if len(got) != 1 || got[0].Code != "contact-reads-short" || got[0].Value("shortfall") != "0.20"+unit.Thin+"mm" {
		t.Errorf("%+v", got)
	}
	e.Fellow.AxialLengthMethod = eye.Optical
	if got := codes(Check(e, Options{})); !slices.Equal(got, []string{"contact-reads-short", "length-methods-differ"}) {
		t.Errorf("%v", got)
	}
}

func TestCopiedReadings(t *testing.T) {
	e := quiet()
	e.Fellow.AxialLength, e.Fellow.KFlat, e.Fellow.KSteep = e.AxialLength, e.KFlat, e.KSteep
	if got := codes(Check(e, Options{})); !slices.Equal(got, []string{"eyes-identical"}) {
		t.Errorf("copied: %v", got)
	}
	e.Fellow.KSteep.Value += 0.01
	if got := Check(e, Options{}); got != nil {
		t.Errorf("one digit apart: %v", got)
	}
}

// earlierPair is a record in which the eyes differ enough to be told apart.
func earlierPair() *eye.Eye {
	e := quiet()
	e.AxialLength.Value, e.Fellow.AxialLength.Value = 23.1, 23.7
	return e
}

func TestSidesSwapped(t *testing.T) {
	was := earlierPair()
	again := earlierPair()
	again.AxialLength.Value += 0.03
	if got := codes(Check(again, Options{Earlier: was})); !slices.Equal(got, []string{"length-between-eyes"}) {
		t.Errorf("same sides: %v", got)
	}
	turned := earlierPair()
	turned.AxialLength, turned.Fellow.AxialLength = turned.Fellow.AxialLength, turned.AxialLength
	got := Check(turned, Options{Earlier: was})
	if !slices.Equal(codes(got), []string{"length-between-eyes", "sides-maybe-swapped"}) || !got[1].Gate ||
		got[1].Value("earlier") != "23.10"+unit.Thin+"mm" || got[1].Value("earlier_fellow") != "23.70"+unit.Thin+"mm" {
		t.Errorf("swapped: %+v", got)
	}
	// A change of method lengthens both eyes alike and must not look like a swap.
	optical := earlierPair()
	optical.AxialLength.Value += 0.47
	optical.Fellow.AxialLength.Value += 0.47
	was.AxialLengthMethod, was.Fellow.AxialLengthMethod = eye.Contact, eye.Contact
	if finding.Has(Check(optical, Options{Earlier: was}), "sides-maybe-swapped") {
		t.Error("contact, then optical: called a swap")
	}
	// Only this eye was measured again.
	alone := earlierPair()
	alone.AxialLength.Value, alone.Fellow = 23.7, nil
	if !finding.Has(Check(alone, Options{Earlier: earlierPair()}), "sides-maybe-swapped") {
		t.Error("one eye under the wrong side: missed")
	}
	alone.AxialLengthMethod = eye.Immersion
	if finding.Has(Check(alone, Options{Earlier: earlierPair()}), "sides-maybe-swapped") {
		t.Error("one eye by another method: called a swap")
	}
	// A record of the other side, or without its fellow, says nothing.
	if finding.Has(Check(turned, Options{Earlier: earlierPair().Fellow}), "sides-maybe-swapped") {
		t.Error("earlier record without fellow: called a swap")
	}
}

// TestSwapEvidence walks the difference now against a fixed difference then:
// with K out of it, −2·d·d'/s² must exceed 12. At s 0.10 mm and d 0.60 mm that is
// d' beyond −0.10 mm; at s 0.26 mm (contact), −0.676 mm; with K alone at s 0.35 D
// and d 1.00 D, −0.735 D.
func TestSwapEvidence(t *testing.T) {
	pairOf := func(method eye.LengthMethod, length, k float64) *eye.Eye {
		e := quiet()
		e.AxialLengthMethod, e.Fellow.AxialLengthMethod = method, method
		e.AxialLength.Value, e.Fellow.AxialLength.Value = unit.Millimetre(23.5+length), 23.5
		e.KFlat.Value, e.KSteep.Value = unit.Dioptre(43.5+k), unit.Dioptre(44+k)
		e.Fellow.KFlat.Value, e.Fellow.KSteep.Value = 43.5, 44
		return e
	}
	for _, c := range []struct {
		name     string
		was, now *eye.Eye
		want     bool
	}{
		{"optical, just not", pairOf(eye.Optical, 0.6, 0.1), pairOf(eye.Optical, -0.0999, 0), false},
		{"optical, just", pairOf(eye.Optical, 0.6, 0.1), pairOf(eye.Optical, -0.1001, 0), true},
		{"contact, just not", pairOf(eye.Contact, 0.6, 0.1), pairOf(eye.Contact, -0.675, 0), false},
		{"contact, just", pairOf(eye.Contact, 0.6, 0.1), pairOf(eye.Contact, -0.677, 0), true},
		{"K, just not", pairOf(eye.Optical, 0.01, 1), pairOf(eye.Optical, 0, -0.734), false},
		{"K, just", pairOf(eye.Optical, 0.01, 1), pairOf(eye.Optical, 0, -0.736), true},
	} {
		if got := finding.Has(Check(c.now, Options{Earlier: c.was}), "sides-maybe-swapped"); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

func TestCollapse(t *testing.T) {
	e := quiet()
	e.AxialLength.Value, e.Fellow.AxialLength.Value = 25.2, 25.6
	e.AxialLengthMethod = eye.Contact
	all := Check(e, Options{})
	shown, strict := Collapse(all)
	if len(shown)+len(strict) != len(all) || !slices.Equal(codes(strict), []string{"length-long", "length-between-eyes"}) {
		t.Errorf("shown %v, strict %v", codes(shown), codes(strict))
	}
	if a, b := Collapse(nil); a != nil || b != nil {
		t.Error("something out of nothing")
	}
}

func anyEye(t *rapid.T, side eye.Side) *eye.Eye {
	mmIn := func(name string, low, high float64) unit.Reading[unit.Millimetre] {
		if rapid.IntRange(0, 9).Draw(t, name+" missing") == 0 {
			return unit.Reading[unit.Millimetre]{}
		}
		return unit.Known(unit.Millimetre(math.Round(rapid.Float64Range(low, high).Draw(t, name)*100) / 100))
	}
	flat := rapid.Float64Range(28, 62).Draw(t, "flat")
	return &eye.Eye{Side: side, AxialLength: mmIn("length", 14, 39), ACD: mmIn("depth", 1, 6),
		LensThickness: mmIn("lens", 2, 7), WhiteToWhite: mmIn("width", 8, 15),
		KFlat: unit.Known(unit.Dioptre(flat)), KSteep: unit.Known(unit.Dioptre(flat + rapid.Float64Range(-1, 6).Draw(t, "cylinder"))),
		AxialLengthMethod: rapid.SampledFrom([]eye.LengthMethod{"", eye.Optical, eye.Immersion, eye.Contact}).Draw(t, "method"),
		LensStatus:        eye.Phakic, Vitreous: eye.NaturalVitreous, CornealSurgery: eye.NoSurgery,
		MeasuredOn: measured, AsOf: listed}
}

// weaker pairs each gated caution with the note it replaces.
var weaker = map[string]string{
	"length-very-short": "length-short", "length-very-long": "length-long", "cornea-very-flat": "cornea-flat",
	"length-between-eyes-large": "length-between-eyes", "length-between-eyes-long": "length-between-eyes",
	"cornea-between-eyes-large": "cornea-between-eyes",
}

func TestCheckProperties(t *testing.T) {
	between := func(list []finding.Finding) (out []string) {
		for _, f := range list {
			if strings.Contains(f.Code, "between") || f.Code == "eyes-identical" || f.Code == "length-methods-differ" {
				out = append(out, f.Code+f.Value("difference"))
			}
		}
		return out
	}
	rapid.Check(t, func(t *rapid.T) {
		e, f := anyEye(t, eye.Right), anyEye(t, eye.Left)
		e.Fellow = f
		got := Check(e, Options{})
		for _, x := range got {
			if note, has := weaker[x.Code]; has && finding.Has(got, note) {
				t.Fatalf("%s and %s together", x.Code, note)
			}
			if x.Source == "" || x.Field == "" {
				t.Fatalf("%+v has no source or field", x)
			}
			for _, v := range x.Values {
				if v.Text == "" || strings.Contains(v.Text, "-0") || strings.Contains(v.Text, "NaN") {
					t.Fatalf("%+v", x)
				}
			}
		}
		// What lies between the eyes is seen alike from either.
		e.Fellow, f.Fellow = nil, e
		if a, b := between(got), between(Check(f, Options{})); !slices.Equal(a, b) {
			t.Fatalf("from the right %v, from the left %v", a, b)
		}
	})
}

func TestRulesAreDeclared(t *testing.T) {
	unconfirmed := 0
	for _, r := range finding.Rules() {
		if strings.TrimSpace(r.Limit) == "" {
			t.Errorf("%s has no limit in words", r.Code)
		}
		if r.Strict && r.Severity != finding.Note {
			t.Errorf("%s is strict and not a note", r.Code)
		}
		if r.Ref.Grade == source.Memory {
			unconfirmed++
		}
	}
	if unconfirmed == 0 {
		t.Error("the screening limits were not read and must be graded so")
	}
}

func BenchmarkCheck(b *testing.B) {
	e := quiet()
	b.ReportAllocs()
	for b.Loop() {
		Check(e, Options{})
	}
}
