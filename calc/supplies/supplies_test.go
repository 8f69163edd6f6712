package supplies

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"linn/finding"
	"linn/internal/checkvalue"
	"linn/unit"
)

func TestCheckValues(t *testing.T) {
	files, err := checkvalue.Load("testdata/derived")
	if err != nil || len(files) != 5 {
		t.Fatal(len(files), err)
	}
	checked := 0
	for _, f := range files {
		if f.Outputs[0] != "time" && f.Outputs[0] != "energy" {
			continue // of stock_test.go
		}
		for _, r := range f.Rows {
			num := func(col string) float64 {
				v, err := f.Number(r, col)
				if err != nil {
					t.Fatal(err)
				}
				return v
			}
			got := map[string]float64{}
			if f.Outputs[0] == "time" {
				c, err := Bottles{Flow: unit.MillilitrePerMinute(num("flow")), Foot: 1, Bottle: unit.Millilitre(num("bottle")), Reserve: unit.Millilitre(num("reserve"))}.Plan()
				if err != nil {
					t.Fatal(err)
				}
				got["time"] = float64(c.Each)
			} else {
				b := Battery{unit.Ratio(num("efficiency")), unit.Ratio(num("depth")), unit.Ratio(num("ageing")), 12}
				wh, ah, err := b.Size(Draw{unit.Watt(num("load")), unit.Minute(60 * num("time"))})
				if err != nil {
					t.Fatal(err)
				}
				d, err := Sum([]Load{{"all", unit.Watt(num("load")), 0.7, 1}})
				if err != nil {
					t.Fatal(err)
				}
				got = map[string]float64{"energy": float64(wh), "charge": float64(ah), "supply": float64(d.Supply)}
			}
			for _, out := range f.Outputs {
				checked++
				if err := f.Compare(r, out, got[out]); err != nil {
					t.Error(err)
				}
			}
		}
	}
	if checked != 16 {
		t.Errorf("%d values checked", checked)
	}
}

// The battery that was sized for a draw lasts as long as the draw; a sum does
// not depend on how loads are grouped; a starting load never lowers a supply.
func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := Battery{unit.Ratio(rapid.Float64Range(0.5, 1).Draw(t, "eff")), unit.Ratio(rapid.Float64Range(0.1, 1).Draw(t, "depth")), unit.Ratio(rapid.Float64Range(0.1, 1).Draw(t, "age")), 24}
		d := Draw{unit.Watt(rapid.Float64Range(20, 2000).Draw(t, "w")), unit.Minute(rapid.Float64Range(5, 300).Draw(t, "min"))}
		_, ah, err := b.Size(d)
		if err != nil {
			t.Fatal(err)
		}
		if ah < 0.1 || ah > 10000 {
			t.Skip("no such battery")
		}
		if lasts, err := (Bank{b, ah}).Lasts(d.Power); err != nil || math.Abs(float64(lasts-d.Time)) > 1e-9*float64(d.Time) {
			t.Fatalf("sized for %v, lasts %v, %v", d.Time, lasts, err)
		}
		one := Load{"one", d.Power / 2, 0.8, 1}
		two, err := Sum([]Load{one, one})
		if err != nil {
			t.Fatal(err)
		}
		whole, err := Sum([]Load{{"both", d.Power, 0.8, 1}})
		if err != nil || math.Abs(float64(whole.Apparent-two.Apparent)) > 1e-9*float64(whole.Apparent) {
			t.Fatal(whole, two, err)
		}
		one.Starting = unit.Ratio(rapid.Float64Range(1, 6).Draw(t, "start"))
		if more, err := Sum([]Load{one, one}); err != nil || more.Supply < two.Supply-1e-9 {
			t.Fatal(more, two, err)
		}
	})
}

func TestRemaining(t *testing.T) {
	var past []unit.Minute
	for i := range 41 {
		past = append(past, unit.Minute(10+i)) // 10 … 50
	}
	r := Running{Elapsed: 0, Past: past}
	need, err := r.Remaining()
	if err != nil || need.Value != 46 || need.N != 41 { // type 7: 10 + 0.9 × 40
		t.Error(need, err)
	}
	found, err := r.Check(40)
	if err != nil || !finding.Has(found, "battery-short") {
		t.Error(found, err)
	}
	if found, err = r.Check(46); err != nil || len(found) != 0 {
		t.Error(found, err)
	}
	r.Elapsed = 31 // 32 … 50: 19 left
	if found, err = r.Check(1); err != nil || !finding.Has(found, "too-few-case-times") {
		t.Error(found, err)
	}
}

func TestStartingAndHeavy(t *testing.T) {
	d, err := Sum([]Load{{"compressor", 700, 0.7, 5}, {"lamp", 40, 1, 1}})
	if err != nil || math.Abs(float64(d.Starting)-(1000*5+40)) > 1e-9 || d.Supply != d.Starting || len(d.Findings) != 0 {
		t.Error(d, err)
	}
	if d, err = Sum([]Load{{"autoclave", 2000, 1, 1}}); err != nil || !finding.Has(d.Findings, "load-too-heavy") {
		t.Error(d, err)
	}
	c, err := Bottles{Flow: 45, Foot: 25, Bottle: 500, Reserve: 50}.Plan() // 10 min a bottle
	if err != nil || c.Needed != 3 || len(c.At) != 2 || c.At[1] != 20 {
		t.Error(c, err)
	}
}

func TestRefuses(t *testing.T) {
	_, err1 := Sum([]Load{{"x", -1, 1, 1}})
	_, err2 := Sum([]Load{{"x", 10, 0, 1}})
	_, _, err3 := Battery{2, 1, 1, 12}.Size(Draw{1, 1})
	_, _, err4 := LeadAcid().Size(Draw{unit.Watt(math.NaN()), 1})
	_, err5 := Bank{Lithium(), 0}.Lasts(10)
	_, err6 := Running{Elapsed: -1}.Remaining()
	_, err7 := Running{Past: []unit.Minute{0}}.Remaining()
	_, err8 := Bottles{Flow: 30, Foot: 10, Bottle: 500, Reserve: 500}.Plan()
	_, err9 := Bottles{Flow: 0, Foot: 10, Bottle: 500}.Plan()
	for i, err := range []error{err1, err2, err3, err4, err5, err6, err7, err8, err9} {
		if !errors.Is(err, unit.ErrRange) {
			t.Errorf("%d: %v", i+1, err)
		}
	}
}
