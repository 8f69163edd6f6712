package teach

import (
	"math"

	"linn/calc/astigmatism"
	"linn/calc/biometry"
	"linn/calc/dose"
	"linn/calc/fluidics"
	"linn/calc/lenspower"
	"linn/calc/optics"
	"linn/calc/refraction"
	"linn/calc/supplies"
	"linn/calc/ultrasound"
	"linn/unit"
)

// allTopics, in the order of an eye's way.
var allTopics = []*topic{
	snellen, radiusToK, kToRadius, equivalent, transposed, vertex, velocity, srk2, lengthError,
	induced, misrotated, head, bottle, tipSpeed, effective, blockVolume, dilution, battery,
}

var (
	cylinder = number{"cylinder_d", "D", -4, -0.5, 0.25, 2, true}
	sphere   = number{"sphere_d", "D", -8, 6, 0.25, 2, true}
)

func glasses(g drawn) refraction.AtSpectacle {
	return refraction.AtSpectacle{Sphere: unit.Dioptre(g["sphere_d"]), Cylinder: unit.Dioptre(g["cylinder_d"]), Axis: unit.NewAxis(unit.Degree(g["axis_deg"])), Vertex: 12}
}

var snellen = &topic{key: "snellen", level: 1, given: []number{{"read_at_m", "m", 6, 120, 1, 0, false}}, decimals: 2, signed: true,
	answer: func(g drawn) (float64, error) {
		a, err := refraction.ParseAcuity(refraction.AcuityText{Text: "6/" + unit.Fixed(g["read_at_m"], 0), Notation: refraction.Snellen})
		return float64(a.LogMAR), err
	},
	slips: []slip{
		plain("natural-logarithm", func(g drawn) float64 { return math.Log(g["read_at_m"] / 6) }),
		plain("sign-turned", func(g drawn) float64 { return math.Log10(6 / g["read_at_m"]) }),
		plain("decimal-for-logmar", func(g drawn) float64 { return 6 / g["read_at_m"] }),
	}}

func steeper(index float64) func(g drawn) float64 {
	return func(g drawn) float64 { return 1000 * (index - 1) / g["radius_mm"] }
}

var radiusToK = &topic{key: "radius-to-k", level: 1, given: []number{{"radius_mm", "mm", 7, 8.6, 0.01, 2, false}}, unit: "D", decimals: 2,
	answer: func(g drawn) (float64, error) {
		return float64(optics.SurfacePower(unit.Millimetre(g["radius_mm"]), optics.Media{Before: 1, After: biometry.StandardIndex})), nil
	},
	slips: []slip{plain("index-of-aqueous", steeper(1.336)), plain("index-of-stroma", steeper(1.376)),
		plain("thousand-over-radius", func(g drawn) float64 { return 1000 / g["radius_mm"] })}}

func flatter(index float64) func(g drawn) float64 {
	return func(g drawn) float64 { return 1000 * (index - 1) / g["k_d"] }
}

var kToRadius = &topic{key: "k-to-radius", level: 1, given: []number{{"k_d", "D", 38, 50, 0.25, 2, false}}, unit: "mm", decimals: 2,
	answer: func(g drawn) (float64, error) {
		r, err := biometry.Radius(unit.Dioptre(g["k_d"]))
		return float64(r), err
	},
	slips: []slip{plain("index-of-aqueous", flatter(1.336)), plain("index-of-stroma", flatter(1.376)),
		plain("thousand-over-k", func(g drawn) float64 { return 1000 / g["k_d"] })}}

var equivalent = &topic{key: "equivalent", level: 1, given: []number{sphere, cylinder}, unit: "D", decimals: 2, signed: true,
	answer: func(g drawn) (float64, error) { return float64(glasses(g).Equivalent()), nil },
	slips: []slip{
		plain("whole-cylinder", func(g drawn) float64 { return g["sphere_d"] + g["cylinder_d"] }),
		plain("cylinder-left-out", func(g drawn) float64 { return g["sphere_d"] }),
		plain("sign-turned", func(g drawn) float64 { return g["sphere_d"] - g["cylinder_d"]/2 }),
	}}

var transposed = &topic{key: "transposed", level: 1, given: []number{sphere, cylinder}, unit: "D", decimals: 2, signed: true,
	answer: func(g drawn) (float64, error) { return float64(glasses(g).Transpose().Sphere), nil },
	slips: []slip{
		plain("half-cylinder", func(g drawn) float64 { return g["sphere_d"] + g["cylinder_d"]/2 }),
		plain("sphere-kept", func(g drawn) float64 { return g["sphere_d"] }),
		plain("sign-turned", func(g drawn) float64 { return g["sphere_d"] - g["cylinder_d"] }),
	}}

var vertex = &topic{key: "vertex", level: 1, given: []number{{"refraction_d", "D", -20, 16, 0.25, 2, true}, {"vertex_mm", "mm", 11, 15, 0.5, 1, false}}, unit: "D", decimals: 2, signed: true,
	answer: func(g drawn) (float64, error) {
		v, err := refraction.EquivalentToCornea(unit.Dioptre(g["refraction_d"]), unit.Millimetre(g["vertex_mm"]))
		return float64(v), err
	},
	slips: []slip{
		plain("no-vertex", func(g drawn) float64 { return g["refraction_d"] }),
		{"other-way", func(g drawn) (float64, error) {
			v, err := refraction.EquivalentToSpectacle(unit.Dioptre(g["refraction_d"]), unit.Millimetre(g["vertex_mm"]))
			return float64(v), err
		}},
		plain("sign-turned", func(g drawn) float64 { return -g["refraction_d"] }),
	}}

var velocity = &topic{key: "velocity", level: 2, given: []number{{"length_shown_mm", "mm", 21, 30, 0.01, 2, false}, {"velocity_used", "m/s", 1548, 1556, 1, 0, false}, {"velocity_true", "m/s", 1532, 1536, 1, 0, false}}, unit: "mm", decimals: 2,
	answer: func(g drawn) (float64, error) {
		l, err := biometry.SumOfVelocities([]biometry.Segment{{Shown: unit.Millimetre(g["length_shown_mm"]), Used: unit.Constant(g["velocity_used"]), Own: unit.Constant(g["velocity_true"])}})
		return float64(l), err
	},
	slips: []slip{
		plain("other-way", func(g drawn) float64 { return g["length_shown_mm"] * g["velocity_used"] / g["velocity_true"] }),
		plain("not-corrected", func(g drawn) float64 { return g["length_shown_mm"] }),
		plain("twice-corrected", func(g drawn) float64 {
			f := g["velocity_true"] / g["velocity_used"]
			return g["length_shown_mm"] * f * f
		}),
	}}

var (
	lengthGiven = number{"length_mm", "mm", 20.5, 26.5, 0.05, 2, false}
	kGiven      = number{"k_d", "D", 41, 47, 0.25, 2, false}
	aGiven      = number{"a", "", 117.5, 119.5, 0.1, 1, false}
)

func past(id string) func(g drawn) (float64, error) {
	return func(g drawn) (float64, error) {
		s, err := lenspower.HistoricalMethodNamed(id).Solve(lenspower.HistoricalInput{AxialLength: unit.Millimetre(g["length_mm"]), K: unit.Dioptre(g["k_d"]), Vertex: 12,
			Constants: lenspower.Constants{A: unit.Known(unit.Constant(g["a"]))}})
		if err != nil {
			return 0, err
		}
		p, err := s.Power(0)
		return float64(p), err
	}
}

var srk2 = &topic{key: "srk-2", level: 2, given: []number{{"length_mm", "mm", 20.05, 26.55, 0.1, 2, false}, kGiven, aGiven}, unit: "D", decimals: 2, signed: true,
	answer: past("srk-2"),
	slips: []slip{
		{"length-not-corrected", past("srk-1")},
		plain("factors-changed-over", func(g drawn) float64 { return g["a"] - 2.5*g["k_d"] - 0.9*g["length_mm"] }),
		plain("k-whole", func(g drawn) float64 { return g["a"] - g["k_d"] - 2.5*g["length_mm"] }),
	}}

// leaves is the refraction of an eye whose lens was worked out by SRK/T from
// another length.
func leaves(length, believed, k, a float64) (refracted, apart float64, err error) {
	m := lenspower.MethodNamed("srk-t")
	c, _, _ := m.Resolve(lenspower.Constants{A: unit.Known(unit.Constant(a))})
	eye := lenspower.Input{AxialLength: unit.Millimetre(length), K: unit.Dioptre(k), Vertex: 12, Constant: c}
	wrong := eye
	wrong.AxialLength = unit.Millimetre(believed)
	p, err := m.Power(wrong, 0)
	if err != nil {
		return 0, 0, err
	}
	right, err := m.Power(eye, 0)
	if err != nil {
		return 0, 0, err
	}
	r, err := m.Refraction(eye, p)
	return float64(r), float64(p - right), err
}

var lengthError = &topic{key: "length-error", level: 3, given: []number{lengthGiven, {"length_error_mm", "mm", -0.6, 0.6, 0.1, 1, true}, kGiven, aGiven}, unit: "D", decimals: 2, signed: true,
	answer: func(g drawn) (float64, error) {
		r, _, err := leaves(g["length_mm"], g["length_mm"]+g["length_error_mm"], g["k_d"], g["a"])
		return r, err
	},
	slips: []slip{
		{"sign-turned", func(g drawn) (float64, error) {
			r, _, err := leaves(g["length_mm"], g["length_mm"]-g["length_error_mm"], g["k_d"], g["a"])
			return r, err
		}},
		{"power-for-refraction", func(g drawn) (float64, error) {
			_, p, err := leaves(g["length_mm"], g["length_mm"]+g["length_error_mm"], g["k_d"], g["a"])
			return -p, err
		}},
		plain("one-for-one", func(g drawn) float64 { return g["length_error_mm"] }),
	}}

func toric(g drawn, turn float64) (before, after astigmatism.Vector) {
	at := func(c, axis string) astigmatism.Vector {
		return astigmatism.Cylinder{Magnitude: unit.Dioptre(g[c]), Steep: unit.NewAxis(unit.Degree(g[axis] * turn))}.Vector()
	}
	return at("cylinder_before_d", "steep_before_deg"), at("cylinder_after_d", "steep_after_deg")
}

// doubled is what induced astigmatism comes to when the angle is taken times
// the factor, in radians as a calculator takes it.
func doubled(factor float64) func(g drawn) float64 {
	return func(g drawn) float64 {
		a, b := factor*g["steep_before_deg"], factor*g["steep_after_deg"]
		x := g["cylinder_after_d"]*math.Cos(b) - g["cylinder_before_d"]*math.Cos(a)
		y := g["cylinder_after_d"]*math.Sin(b) - g["cylinder_before_d"]*math.Sin(a)
		return math.Hypot(x, y)
	}
}

var induced = &topic{key: "induced", level: 2, given: []number{
	{"cylinder_before_d", "D", 0.5, 3, 0.25, 2, false}, {"steep_before_deg", "°", 5, 180, 5, 0, false},
	{"cylinder_after_d", "D", 0.5, 3, 0.25, 2, false}, {"steep_after_deg", "°", 5, 180, 5, 0, false}}, unit: "D", decimals: 2,
	answer: func(g drawn) (float64, error) {
		before, after := toric(g, 1)
		return float64(after.Sub(before).Magnitude()), nil
	},
	slips: []slip{
		plain("difference-of-powers", func(g drawn) float64 { return math.Abs(g["cylinder_after_d"] - g["cylinder_before_d"]) }),
		plain("angle-not-doubled", doubled(math.Pi/180)),
		plain("degrees-as-radians", doubled(2)),
	}}

var misrotated = &topic{key: "misrotated", level: 2, given: []number{{"cylinder_of_lens_d", "D", 1, 4.5, 0.25, 2, false}, {"turned_deg", "°", 3, 45, 1, 0, false}}, unit: "D", decimals: 2,
	answer: func(g drawn) (float64, error) {
		c := unit.Dioptre(g["cylinder_of_lens_d"])
		l := astigmatism.Laid{Cornea: astigmatism.Cylinder{Magnitude: c, Steep: 90}.Vector(), Lens: c}
		return float64(l.Turned(unit.Degree(g["turned_deg"])).Magnitude()), nil
	},
	slips: []slip{
		plain("three-per-cent-a-degree", func(g drawn) float64 { return g["cylinder_of_lens_d"] * g["turned_deg"] / 30 }),
		plain("half-left-out", func(g drawn) float64 { return g["cylinder_of_lens_d"] * math.Sin(g["turned_deg"]*math.Pi/180) }),
		plain("degrees-as-radians", func(g drawn) float64 { return math.Abs(2 * g["cylinder_of_lens_d"] * math.Sin(g["turned_deg"])) }),
	}}

var head = &topic{key: "head", level: 1, given: []number{{"bottle_cm", "cm", 40, 140, 1, 0, false}}, unit: "mmHg", decimals: 1,
	answer: func(g drawn) (float64, error) {
		return float64(unit.CentimetreWater(g["bottle_cm"]).MillimetreHg()), nil
	},
	slips: []slip{
		plain("other-way", func(g drawn) float64 { return g["bottle_cm"] * 1.35951 }),
		plain("centimetres-as-mmhg", func(g drawn) float64 { return g["bottle_cm"] }),
		plain("ten-times-less", func(g drawn) float64 { return g["bottle_cm"] / 13.5951 }),
	}}

var bottle = &topic{key: "bottle", level: 2, given: []number{{"flow_ml_min", "mL/min", 15, 60, 1, 0, false}, {"bottle_ml", "mL", 250, 1000, 250, 0, false}, {"reserve_ml", "mL", 25, 100, 25, 0, false}}, unit: "min", decimals: 1,
	answer: func(g drawn) (float64, error) {
		s, err := fluidics.BottleTime{Flow: unit.MillilitrePerMinute(g["flow_ml_min"]), Bottle: unit.Millilitre(g["bottle_ml"]), Reserve: unit.Millilitre(g["reserve_ml"])}.Foot()
		return float64(s) / 60, err
	},
	slips: []slip{
		plain("reserve-left-out", func(g drawn) float64 { return g["bottle_ml"] / g["flow_ml_min"] }),
		plain("reserve-added", func(g drawn) float64 { return (g["bottle_ml"] + g["reserve_ml"]) / g["flow_ml_min"] }),
		plain("seconds-for-minutes", func(g drawn) float64 { return 60 * (g["bottle_ml"] - g["reserve_ml"]) / g["flow_ml_min"] }),
	}}

var tipSpeed = &topic{key: "tip-speed", level: 2, given: []number{{"frequency_khz", "kHz", 28, 45, 1, 0, false}, {"stroke_um", "µm", 20, 120, 5, 0, false}}, unit: "m/s", decimals: 1,
	answer: func(g drawn) (float64, error) {
		m, err := ultrasound.Motion{Frequency: unit.Kilohertz(g["frequency_khz"]), Stroke: unit.Micrometre(g["stroke_um"])}.Moves()
		return float64(m.Velocity), err
	},
	slips: []slip{
		plain("stroke-for-amplitude", func(g drawn) float64 { return 2 * math.Pi * g["frequency_khz"] * g["stroke_um"] / 1000 }),
		plain("pi-left-out", func(g drawn) float64 { return g["frequency_khz"] * g["stroke_um"] / 1000 }),
		plain("mean-for-greatest", func(g drawn) float64 { return 2 * g["frequency_khz"] * g["stroke_um"] / 1000 }),
	}}

var effective = &topic{key: "effective", level: 2, given: []number{{"power_percent", "%", 20, 80, 5, 0, false}, {"on_ms", "ms", 5, 60, 5, 0, false}, {"off_ms", "ms", 5, 60, 5, 0, false}, {"pedal_s", "s", 20, 120, 5, 0, false}}, unit: "s", decimals: 1,
	answer: func(g drawn) (float64, error) {
		e, err := ultrasound.Sum([]ultrasound.Drive{{Power: unit.Percent(g["power_percent"]), On: unit.Second(g["on_ms"] / 1000), Off: unit.Second(g["off_ms"] / 1000), Time: unit.Second(g["pedal_s"])}})
		return float64(e.Effective), err
	},
	slips: []slip{
		plain("rests-counted", func(g drawn) float64 { return g["pedal_s"] * g["power_percent"] / 100 }),
		plain("power-left-out", func(g drawn) float64 { return g["pedal_s"] * g["on_ms"] / (g["on_ms"] + g["off_ms"]) }),
		plain("on-over-off", func(g drawn) float64 { return g["pedal_s"] * g["power_percent"] / 100 * g["on_ms"] / g["off_ms"] }),
	}}

// blockVolume works with limits that the question states, not with a unit's own.
var blockVolume = &topic{key: "block-volume", level: 2, given: []number{{"weight_kg", "kg", 35, 95, 1, 0, false}, {"strength_percent", "%", 1, 2, 1, 0, false}, {"limit_mg_per_kg", "mg/kg", 3, 3, 1, 0, false}, {"ceiling_mg", "mg", 200, 200, 1, 0, false}}, unit: "mL", decimals: 1,
	answer: func(g drawn) (float64, error) {
		own := dose.Limits{}
		for key, name := range map[string]string{"lidocaine.mg_per_kg": "limit_mg_per_kg", "lidocaine.mg": "ceiling_mg"} {
			own[key] = dose.Local{Value: g[name]}
		}
		v, _ := dose.MostVolume(dose.Input{Weight: unit.Known(unit.Kilogram(g["weight_kg"])), Limits: own},
			dose.Line{Drug: "lidocaine", Route: dose.Peribulbar, Stock: unit.Known(unit.MilligramPerMillilitre(10 * g["strength_percent"]))})
		return float64(v), nil
	},
	slips: []slip{
		plain("percent-as-mg-per-ml", func(g drawn) float64 { return math.Min(3*g["weight_kg"], 200) / g["strength_percent"] }),
		plain("ceiling-left-out", func(g drawn) float64 { return 3 * g["weight_kg"] / (10 * g["strength_percent"]) }),
		plain("weight-left-out", func(g drawn) float64 { return 200 / (10 * g["strength_percent"]) }),
		plain("milligrams-for-millilitres", func(g drawn) float64 { return math.Min(3*g["weight_kg"], 200) }),
	}}

var dilution = &topic{key: "dilution", level: 2, given: []number{{"one_in", "", 1000, 10000, 9000, 0, false}, {"volume_ml", "mL", 0.1, 1, 0.1, 1, false}, {"into_ml", "mL", 250, 1000, 250, 0, false}}, unit: "µg/mL", decimals: 3,
	answer: func(g drawn) (float64, error) {
		return 1000 * float64(unit.OneIn(unit.Ratio(g["one_in"]))) * g["volume_ml"] / g["into_ml"], nil
	},
	slips: []slip{
		plain("ten-times-more", func(g drawn) float64 { return 1e7 / g["one_in"] * g["volume_ml"] / g["into_ml"] }),
		plain("ten-times-less", func(g drawn) float64 { return 1e5 / g["one_in"] * g["volume_ml"] / g["into_ml"] }),
		plain("volume-left-out", func(g drawn) float64 { return 1e6 / g["one_in"] / g["into_ml"] }),
	}}

var battery = &topic{key: "battery", level: 2, given: []number{{"battery_ah", "Ah", 20, 160, 10, 0, false}, {"voltage_v", "V", 12, 24, 12, 0, false}, {"efficiency", "", 0.8, 0.95, 0.05, 2, false}, {"depth", "", 0.5, 0.8, 0.1, 1, false}, {"load_w", "W", 100, 400, 20, 0, false}}, unit: "min", decimals: 0,
	answer: func(g drawn) (float64, error) {
		b := supplies.Battery{Efficiency: unit.Ratio(g["efficiency"]), Depth: unit.Ratio(g["depth"]), Ageing: 1, Voltage: unit.Volt(g["voltage_v"])}
		m, err := supplies.Bank{Battery: b, Label: unit.AmpereHour(g["battery_ah"])}.Lasts(unit.Watt(g["load_w"]))
		return float64(m), err
	},
	slips: []slip{
		plain("whole-label", func(g drawn) float64 { return 60 * g["battery_ah"] * g["voltage_v"] / g["load_w"] }),
		plain("efficiency-left-out", func(g drawn) float64 { return 60 * g["battery_ah"] * g["voltage_v"] * g["depth"] / g["load_w"] }),
		plain("depth-left-out", func(g drawn) float64 { return 60 * g["battery_ah"] * g["voltage_v"] * g["efficiency"] / g["load_w"] }),
	}}
