package astigmatism

import (
	"linn/finding"
	"linn/source"
	"linn/unit"
)

// What the build of an incision says about whether it seals by itself. All of
// it is measured in cadaver eyes.
var (
	ernest94 = source.Ref{Key: source.Ernest1994, Where: "3.2 mm wide by 2.0 mm long leaked at 13 psi, square ones held 525 psi; bevelled to 3.0 mm, stepped to 3.5 mm at a tunnel of 1.75–2.0 mm", Grade: source.Read}
	ernest93 = source.Ref{Key: source.Ernest1993, Where: "4 × 4 mm scleral tunnel with an internal corneal lip of 1.5 mm", Grade: source.Read}
	mackool  = source.Ref{Key: source.Mackool1996, Where: "3.0–3.5 mm wide: markedly stronger from 2.0 mm of length", Grade: source.Read}
	tunnel   = source.Ref{Key: source.TunnelPractice, Grade: source.Memory}
)

var (
	widestBevelled = source.Declare(source.Constant{Name: "incision.widest-bevelled", Value: 3.0, Unit: "mm", Ref: ernest94})
	widestStepped  = source.Declare(source.Constant{Name: "incision.widest-stepped", Value: 3.5, Unit: "mm", Ref: ernest94})
	leastRatio     = source.Declare(source.Constant{Name: "incision.least-length-to-width", Value: 2.0 / 3, Ref: source.Ref{Key: source.OwnChoice, Where: "own reading of ernest1994", Grade: source.Own}})
	leastLength    = source.Declare(source.Constant{Name: "incision.least-length-at-3-mm", Value: 2.0, Unit: "mm", Ref: mackool})
	leastLip       = source.Declare(source.Constant{Name: "incision.least-lip", Value: 1.0, Unit: "mm", Ref: tunnel})
	goodLip        = source.Declare(source.Constant{Name: "incision.stable-lip", Value: 1.5, Unit: "mm", Ref: ernest93})
)

var (
	tooWide = finding.Declare(finding.Rule{Code: "incision-too-wide-to-seal", Severity: finding.Caution, Ref: ernest94,
		Limit: "clear corneal or limbal: bevelled above 3.0 mm, stepped above 3.5 mm"})
	tooShort = finding.Declare(finding.Rule{Code: "incision-too-short-to-seal", Severity: finding.Caution, Ref: mackool,
		Limit: "corneal tunnel below two thirds of its width, or below 2.0 mm at 3.0 mm of width or more"})
	lipShort = finding.Declare(finding.Rule{Code: "incision-lip-short", Severity: finding.Caution, Ref: tunnel,
		Limit: "internal corneal lip of a scleral tunnel below 1.0 mm"})
	lipBelow = finding.Declare(finding.Rule{Code: "incision-lip-below-tested", Severity: finding.Note, Ref: ernest93,
		Limit: "internal corneal lip of a scleral tunnel below the 1.5 mm that was tested"})
	lengthUnknown = finding.Declare(finding.Rule{Code: "incision-length-not-recorded", Severity: finding.Note, Ref: own,
		Limit: "tunnel length, and for a scleral tunnel the internal lip: sealing is not judged"})
	twoPlanes = finding.Declare(finding.Rule{Code: "incision-check-seal", Severity: finding.Note,
		Ref:   source.Ref{Key: source.Ink2004, Where: "ink entered 4 of 7 eyes under pressure swings", Grade: source.Read},
		Limit: "clear corneal: pressure and a Seidel test at the end, hydrated or sutured if in doubt"})
	hourExcluded = finding.Declare(finding.Rule{Code: "incision-hour-excluded", Severity: finding.Caution, Ref: own,
		Limit: "the incision lies in an hour the surgeon excluded"})
	startUsed = finding.Declare(finding.Rule{Code: "incision-start-value", Severity: finding.Note, Ref: judged,
		Limit: "the effect of the incision is our own judgement until own results exist"})
	startFar = finding.Declare(finding.Rule{Code: "incision-start-value-far", Severity: finding.Caution, Ref: judged,
		Limit: "no starting value for this width (corneal 2.2–3.2 mm, scleral 5.5–7.0 mm): the nearest was taken"})
	enlarge = finding.Declare(finding.Rule{Code: "incision-below-optic", Severity: finding.Caution, Ref: own,
		Limit: "a rigid lens: the incision must be as wide as its optic"})
)

// Sealing judges the build of an incision by what was tested.
func (in Incision) Sealing() (list []finding.Finding) {
	w := float64(in.Width)
	if in.Type.Scleral() {
		return in.lip()
	}
	widest := widestBevelled
	if in.Type == CornealStepped {
		widest = widestStepped
	}
	if w > widest {
		list = append(list, tooWide.On("incision_mm", value("got", in.Width.String()), value("limit", unit.Millimetre(widest).String())))
	}
	switch l := float64(in.Tunnel.Value); {
	case !in.Tunnel.Known:
		list = append(list, lengthUnknown.On("tunnel_mm"))
	case l < leastRatio*w || w >= 3 && l < leastLength:
		least := leastRatio * w
		if w >= 3 {
			least = max(least, leastLength)
		}
		list = append(list, tooShort.On("tunnel_mm", value("got", in.Tunnel.Value.String()), value("width", in.Width.String()), value("limit", unit.Millimetre(least).String())))
	}
	return append(list, twoPlanes.On("incision_type"))
}

func (in Incision) lip() []finding.Finding {
	switch l := float64(in.Lip.Value); {
	case !in.Lip.Known:
		return []finding.Finding{lengthUnknown.On("internal_lip_mm")}
	case l < leastLip:
		return []finding.Finding{lipShort.On("internal_lip_mm", value("got", in.Lip.Value.String()), value("limit", unit.Millimetre(leastLip).String()))}
	case l < goodLip:
		return []finding.Finding{lipBelow.On("internal_lip_mm", value("got", in.Lip.Value.String()), value("limit", unit.Millimetre(goodLip).String()))}
	}
	return nil
}

// Findings says what is doubtful about a chosen incision.
func (c Candidate) Findings() []finding.Finding {
	list := c.Incision.Sealing()
	for _, why := range c.Why {
		list = append(list, hourExcluded.On("excluded_hours", value("hour", HourText(c.Incision.Direction)), value("why", why)))
	}
	switch {
	case c.Effect.Own:
	case c.Effect.Nearest:
		list = append(list, startFar.On("incision_mm", value("got", c.Incision.Width.String()), value("effect", c.Effect.Flattening.Unsigned())))
	default:
		list = append(list, startUsed.On("incision_type", value("effect", c.Effect.Flattening.Unsigned()), value("sd", c.Effect.SD.Unsigned())))
	}
	return list
}

// HourText writes the clock hour of a direction to the half hour: "10:30".
func HourText(d unit.Degree) string {
	h := int(Hour(d)*2 + 0.5)
	hour, half := h/2, ""
	if hour == 0 {
		hour = 12
	}
	if h%2 == 1 {
		half = ":30"
	}
	return unit.Fixed(float64(hour), 0) + half
}

// Enlargement is the width an incision must have for a lens that is not
// folded, the diameter of its optic, and what is to be said when it is
// narrower. A folded lens has no width of its own in print: its maker's
// instructions say.
func (in Incision) Enlargement(optic unit.Millimetre) (unit.Millimetre, []finding.Finding) {
	if in.Width >= optic {
		return in.Width, nil
	}
	return optic, []finding.Finding{enlarge.On("incision_mm", value("got", in.Width.String()), value("optic", optic.String()))}
}

// SidePorts are the directions of two side ports, made with a 15 degree blade,
// a right angle to either side of the main incision. What so small an opening
// does to the cornea is not in print and is not counted.
func (in Incision) SidePorts() [2]unit.Degree {
	return [2]unit.Degree{around(in.Direction + 90), around(in.Direction - 90)}
}

// MeanEffect is a published effect of incisions made to change astigmatism. It
// is for reading: where the depth or the zone is not in print nothing is
// computed from it.
type MeanEffect struct {
	Key    string // opposite-one, opposite-two, …
	Mean   unit.Dioptre
	SD     unit.Reading[unit.Dioptre]
	Eyes   int  // 0: not printed for the group
	Spread bool // SD is printed
	Ref    source.Ref
}

// Published lists them.
var Published = []MeanEffect{
	{"single-on-axis", 0.52, unit.Known(unit.Dioptre(0.22)), 0, true, source.Ref{Key: source.Opposite, Where: "one clear corneal incision on the steep meridian, 12 weeks", Grade: source.Read}},
	{"opposite-pair", 1.06, unit.Known(unit.Dioptre(0.23)), 0, true, source.Ref{Key: source.Opposite, Where: "two opposite clear corneal incisions, 12 weeks", Grade: source.Read}},
	{"opposite-4-mm", 0.76, unit.Reading[unit.Dioptre]{}, 0, false, source.Ref{Key: source.Binayi2021, Where: "paired opposite 4 mm: 2.06 ± 0.86 before, 1.30 ± 0.70 after", Grade: source.Read}},
	{"limbal-relaxing", 1.12, unit.Known(unit.Dioptre(0.74)), 12, true, source.Ref{Key: source.Budak1998, Where: "12 eyes; 0.55 D regressed between day 1 and month 1", Grade: source.Read}},
	{"relaxing-80-9-mm", 1.0, unit.Reading[unit.Dioptre]{}, 0, false, source.Ref{Key: source.GermanRelaxing, Where: "paired 80°, 0.6 mm deep, 9 mm zone; the young under-, the old overcorrected", Grade: source.Read}},
	{"relaxing-80-10-mm", 0.4, unit.Reading[unit.Dioptre]{}, 0, false, source.Ref{Key: source.GermanRelaxing, Where: "10 mm zone", Grade: source.Read}},
	{"relaxing-80-11-mm", 0.3, unit.Reading[unit.Dioptre]{}, 0, false, source.Ref{Key: source.GermanRelaxing, Where: "11 mm zone", Grade: source.Read}},
	{"arcuate-pairs", 2.05, unit.Reading[unit.Dioptre]{}, 0, false, source.Ref{Key: source.Buzard1996, Where: "45, 60 and 90° pairs at 6–7 mm: 3.51 ± 1.57 before, 1.46 ± 1.07 after", Grade: source.Read}},
}
