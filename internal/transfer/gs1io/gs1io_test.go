package gs1io

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"linn/finding"
	"linn/unit"
)

// The day all dates here are read on.
var today = unit.Date{Year: 2026, Month: 11, Day: 25}

// Check digits of numbers printed by others: GS1 documents and a public
// document on device identifiers; checked with another reader of codes.
func TestCheckDigit(t *testing.T) {
	for _, n := range []string{"05060917510011", "51022222233336", "09506000134352", "00614141000036"} {
		if !validProduct(n) {
			t.Errorf("%s is refused", n)
		}
		for d := byte('0'); d <= '9'; d++ {
			if wrong := n[:13] + string(d); d != n[13] && validProduct(wrong) {
				t.Errorf("%s is taken", wrong)
			}
		}
	}
}

// The rule of the centuries and of day 00; the dates are of the reference
// page, read as of 25 November 2026. 100 and 400 years: own arithmetic.
func TestDates(t *testing.T) {
	for _, c := range []struct {
		in, want string
		now      int
	}{
		{"280200", "2028-02-29", 2026}, {"271100", "2027-11-30", 2026}, {"991231", "1999-12-31", 2026}, {"760101", "2076-01-01", 2026}, {"770101", "1977-01-01", 2026},
		{"261131", "", 2026}, {"250000", "", 2026}, {"251301", "", 2026}, {"270229", "", 2026}, {"2711", "", 2026}, {"27110A", "", 2026},
		{"000200", "2100-02-28", 2076}, {"000200", "2000-02-29", 2026}, {"250101", "2125-01-01", 2075}, {"260101", "2026-01-01", 2075},
	} {
		d, _, ok := date(c.in, unit.Date{Year: c.now, Month: 11, Day: 25})
		if d.String() != c.want || ok != (c.want != "") {
			t.Errorf("%s in %d is %q, want %q", c.in, c.now, d, c.want)
		}
	}
}

func onlyOne(t *testing.T, raw string) Label {
	t.Helper()
	list, bad := Read(raw, today)
	if len(bad) > 0 || len(list) != 1 {
		t.Fatalf("%q: %d ways, refused %v", raw, len(list), bad)
	}
	return list[0]
}

// Strings that were made as DataMatrix and read by two independent readers,
// and the example of a public document on device identifiers (version 1.3).
func TestLabels(t *testing.T) {
	const lens = "0105060917510011" + "17271100" + "10A1B2C3" + gs + "21SN00042"
	for _, raw := range []string{lens, gs + lens, "]d2" + lens, "]C1" + lens + gs, " " + lens + "\r\n", strings.ReplaceAll(lens, gs, "␝"),
		"(01)05060917510011(17)271100(10)A1B2C3(21)SN00042", "(01) 05060917510011 (17) 271100 (10) A1B2C3 (21) SN00042"} {
		l := onlyOne(t, raw)
		if l.Product != "05060917510011" || l.Expiry.String() != "2027-11-30" || l.Lot != "A1B2C3" || l.Serial != "SN00042" {
			t.Errorf("%q is %+v", raw, l)
		}
	}
	for _, raw := range []string{"0151022222233336111412311715070710A213B1" + gs + "211234", "(01)51022222233336(11)141231(17)150707(10)A213B1(21)1234"} {
		l := onlyOne(t, raw)
		if l.Product != "51022222233336" || l.Made.String() != "2014-12-31" || l.Expiry.String() != "2015-07-07" || l.Lot != "A213B1" || l.Serial != "1234" || !has(l, "label-expired") {
			t.Errorf("%q is %+v", raw, l)
		}
	}
	if l := onlyOne(t, "0105060917510011"+"240ABC"+gs+"241XYZ-1"+gs+"99INTERNAL"+gs+"17261125"); l.Part != "XYZ-1" || !has(l, "label-other-element") || has(l, "label-expired") || !has(l, "label-expires-soon") {
		t.Errorf("additional numbers: %+v", l)
	}
}

func has(l Label, code string) bool {
	for _, f := range l.Findings {
		if f.Code == code {
			return true
		}
	}
	return false
}

// The scanner swallowed the separators: every reading that fits is offered.
func TestWithoutSeparators(t *testing.T) {
	list, bad := Read("01050609175100111727110010A1B2C321SN00042", today)
	var lots []string
	for _, l := range list {
		lots = append(lots, l.Lot+"/"+l.Serial)
		if !has(l, "label-several-ways") {
			t.Error("not said to be one of several")
		}
	}
	if got := strings.Join(lots, " "); len(bad) > 0 || got != "A1B2C321SN00042/ A1B2C3/SN00042" {
		t.Errorf("ways %s, refused %v", got, bad)
	}
	if l := onlyOne(t, "01050609175100111727110010ABC"); l.Lot != "ABC" || has(l, "label-several-ways") {
		t.Errorf("one way only: %+v", l)
	}
	// A date that does not exist cannot be a date: 17 then belongs to the lot.
	if l := onlyOne(t, "010506091751001110AB17991399"); l.Lot != "AB17991399" {
		t.Errorf("lot %q", l.Lot)
	}
	if _, bad := Read("0105060917510011"+"10A21B21C22D21E22F24021", today); code(bad) != "label-too-many-ways" {
		t.Errorf("noise: %v", bad)
	}
}

func code(bad finding.Refusals) string {
	if len(bad) == 0 {
		return ""
	}
	return bad[0].Code
}

func TestRefused(t *testing.T) {
	for raw, want := range map[string]string{
		"": "label-empty", gs + gs: "label-empty", "]d2": "label-empty", "0105060917510012": "label-check-digit", "010506091751": "label-cut",
		"0105060917510011" + "1727": "label-cut", "0105060917510011" + "17270001": "label-date", "0105060917510011" + "10": "label-cut",
		"0105060917510011" + "10" + strings.Repeat("A", 21): "label-value-long", "01050609175100A1": "label-digits", "010506091751001110Ä": "label-sign",
		"010506091751001110A" + gs + "10B": "label-twice", "hello": "label-unknown", "4006381333931": "label-unknown", "linn:00012": "label-unknown",
		strings.Repeat("0", 300): "label-too-long", "0105060917510011" + "10A\x01B": "label-sign", "(01)05060917510012": "label-check-digit",
		"(01)05060917510011(17)261131": "label-date",
	} {
		if list, bad := Read(raw, today); code(bad) != want || list != nil {
			t.Errorf("%q: %v, want %s", raw, bad, want)
		}
	}
}

func TestOtherIssuers(t *testing.T) {
	for raw, want := range map[string]string{"+A123BJC5D6E71": HIBCC, "=/A9999XYZ100T0944": ICCBBA, "&,1000000000000XYZ123": ICCBBA} {
		if l := onlyOne(t, raw); l.Issuer != want || !has(l, "label-other-issuer") || l.Product != "" || l.Lot != "" {
			t.Errorf("%q is %+v", raw, l)
		}
	}
	if l := onlyOne(t, "+A1\x1d"); l.Raw != "2b41311d" {
		t.Errorf("raw %s", l.Raw)
	}
}

// Cut anywhere, the string of a lens never yields another product, and what
// its separators bound is never read across them.
func TestCut(t *testing.T) {
	const lens = "0105060917510011" + "17271100" + "10A1B2C3" + gs + "21SN00042"
	for n := range len(lens) {
		list, _ := Read(lens[:n], today)
		for _, l := range list {
			if l.Product != "" && l.Product != "05060917510011" || l.Expiry.Known() && l.Expiry.String() != "2027-11-30" || !strings.HasPrefix("A1B2C3", l.Lot) {
				t.Errorf("cut at %d: %+v", n, l)
			}
		}
	}
}

// What was written is read back with separators, and is among the readings
// without them.
func TestWrittenIsRead(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lot := rapid.StringOfN(rapid.RuneFrom([]rune(set82)), 1, 20, -1).Draw(t, "lot")
		serial := rapid.StringOfN(rapid.RuneFrom([]rune("ABCDEF0123456789-")), 1, 20, -1).Draw(t, "serial")
		head := "0105060917510011" + "17271130"
		list, bad := Read(head+"10"+lot+gs+"21"+serial, today)
		if len(bad) > 0 || len(list) != 1 || list[0].Lot != lot || list[0].Serial != serial {
			t.Fatalf("with separators: %+v %v", list, bad)
		}
		list, bad = Read(head+"10"+lot+"21"+serial, today)
		found := code(bad) == "label-too-many-ways"
		for _, l := range list {
			found = found || l.Lot == lot && l.Serial == serial
		}
		if !found {
			t.Fatalf("not among %d ways: %v", len(list), bad)
		}
	})
}

// FuzzRead: no string panics, takes long, or is both read and refused; every
// product carries its check digit, every value its length.
func FuzzRead(f *testing.F) {
	for _, s := range []string{"", "0105060917510011" + "17271100" + "10A1B2C3" + gs + "21SN00042", "(01)05060917510011(10)A", "+A1", "]d2", strings.Repeat("102122", 30), "1021" + gs} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		list, bad := Read(s, today)
		if (len(list) > 0) == (len(bad) > 0) || len(list) > mostWays {
			t.Fatalf("%d ways and %v", len(list), bad)
		}
		for _, l := range list {
			if l.Product != "" && !validProduct(l.Product) || len(l.Lot) > 20 || len(l.Serial) > 20 {
				t.Fatalf("%+v", l)
			}
		}
	})
}
