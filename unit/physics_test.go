package unit_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"linn/unit"
)

// Published equivalents, from memory: pocket tables of pressure units, SI.
func TestPhysicsConversions(t *testing.T) {
	for _, c := range []struct {
		what      string
		got, want float64
		within    float64
	}{
		{"10 cmH2O in mmHg", float64(unit.CentimetreWater(10).MillimetreHg()), 7.3556, 5e-5},
		{"1 mmHg in cmH2O", float64(unit.MillimetreHg(1).CentimetreWater()), 1.35951, 5e-6},
		{"760 mmHg in Pa", float64(unit.MillimetreHg(760).Pascal()), 101325, 1}, // the factor has six digits
		{"101325 Pa in bar", float64(unit.Pascal(101325).Bar()), 1.01325, 1e-12},
		{"1 mL/min in µL/s", float64(unit.MillilitrePerMinute(1).MicrolitrePerSecond()), 16.6667, 5e-5},
		{"1 mil in µm", float64(unit.Mil(1).Micrometre()), 25.4, 0},
		{"37 °C in K", float64(unit.Celsius(37).Kelvin()), 310.15, 1e-12},
		{"30 gf in N", float64(unit.GramForce(30).Newton()), 0.294, 5e-4},
		{"1 N in gf", float64(unit.Newton(1).GramForce()), 101.972, 5e-4},
		{"1 mm³ in µL", float64(unit.CubicMillimetre(1).Microlitre()), 1, 0},
		{"2.5 mL in µL", float64(unit.Millilitre(2.5).Microlitre()), 2500, 0},
		{"40 % as a part", unit.Percent(40).Fraction(), 0.4, 1e-15},
		{"34 °C above 24 °C", float64(unit.Celsius(34).Above(24)), 10, 0},
		{"24 °C and 10 more", float64(unit.Celsius(24).Add(10)), 34, 0},
	} {
		if math.Abs(c.got-c.want) > c.within {
			t.Errorf("%s: %.9g, want %g", c.what, c.got, c.want)
		}
	}
}

func TestPhysicsRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1000, 1000).Draw(t, "v")
		for what, back := range map[string]float64{
			"pressure": float64(unit.MillimetreHg(v).CentimetreWater().MillimetreHg()),
			"pascal":   float64(unit.MillimetreHg(v).Pascal().MillimetreHg()),
			"flow":     float64(unit.MillilitrePerMinute(v).MicrolitrePerSecond().MillilitrePerMinute()),
			"volume":   float64(unit.Microlitre(v).Millilitre().Microlitre()),
			"force":    float64(unit.Newton(v).GramForce().Newton()),
		} {
			if math.Abs(back-v) > 1e-12*math.Abs(v) {
				t.Fatalf("%s: %v came back as %v", what, v, back)
			}
		}
	})
}

// Every quantity prints with its unit behind a narrow no-break space; a negative
// one with a true minus; a difference of temperature always with its sign.
func TestPhysicsPrint(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{unit.MillimetreHg(62.05).String(), "62\u202fmmHg"},
		{unit.MillimetreHg(-3.09).String(), "−3\u202fmmHg"},
		{unit.CentimetreWater(90).String(), "90\u202fcmH₂O"},
		{unit.Pascal(8000).String(), "8000\u202fPa"},
		{unit.Bar(2.85).String(), "2.85\u202fbar"},
		{unit.Millilitre(0.2329).String(), "0.23\u202fmL"},
		{unit.Microlitre(104.2).String(), "104\u202fµL"},
		{unit.CubicMillimetre(18.75).String(), "18.8\u202fmm³"},
		{unit.SquareMillimetre(70).String(), "70.0\u202fmm²"},
		{unit.MillilitrePerMinute(30).String(), "30.0\u202fmL/min"},
		{unit.MicrolitrePerSecond(500).String(), "500.0\u202fµL/s"},
		{unit.MicrolitrePerMmHg(0.3).String(), "0.30\u202fµL/mmHg"},
		{unit.MillilitrePerMinuteMmHg(0.1).String(), "0.10\u202f(mL/min)/mmHg"},
		{unit.Second(0.2107).String(), "0.21\u202fs"},
		{unit.Metre(2000).String(), "2000\u202fm"},
		{unit.MetrePerSecondSquared(51000).String(), "51000\u202fm/s²"},
		{unit.Kilohertz(28.5).String(), "28.5\u202fkHz"},
		{unit.Mil(4.6).String(), "4.6\u202fmil"},
		{unit.Ratio(1.5).String(), "1.50"},
		{unit.Celsius(32.07).String(), "32.1\u202f°C"},
		{unit.CelsiusDifference(3.5).String(), "+3.5\u202f°C"},
		{unit.CelsiusDifference(-0.04).String(), "+0.0\u202f°C"},
		{unit.Kelvin(310.15).String(), "310.15\u202fK"},
		{unit.Joule(12.6).String(), "12.6\u202fJ"},
		{unit.Watt(1.5).String(), "1.50\u202fW"},
		{unit.JoulePerKelvin(0.08).String(), "0.080\u202fJ/K"},
		{unit.WattPerKelvin(0.2).String(), "0.200\u202fW/K"},
		{unit.MillipascalSecond(0.9038).String(), "0.9038\u202fmPa·s"},
		{unit.KilogramPerCubicMetre(1003.48).String(), "1003.5\u202fkg/m³"},
		{unit.Newton(0.02052).String(), "0.0205\u202fN"},
		{unit.GramForce(30).String(), "30.0\u202fgf"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}
