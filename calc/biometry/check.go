package biometry

import (
	"math"
	"strconv"

	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// Check says what is doubtful about the readings of e, and between e and its
// Fellow, in a fixed order: identity, what is missing, length, cornea, what
// rarely stands together, dates, method, between the eyes, against earlier
// readings. When a gated caution fires, the note with the stricter limit of
// the same reading does not. The fellow eye's own readings are not judged
// here: check it as an eye of its own. A nil result means nothing was found
// among the rules that had their inputs.
func Check(e *eye.Eye, o Options) []finding.Finding {
	c := check{e: e, o: o, this: valuesOf(e)}
	c.identity()
	c.taken()
	c.recorded()
	c.length()
	c.cornea()
	c.rarePairs()
	c.dates()
	c.contactLenses()
	c.method()
	c.between()
	c.earlier()
	return c.found
}

type check struct {
	e     *eye.Eye
	o     Options
	this  values
	found []finding.Finding
}

// values are the readings the rules may use: recorded and inside the format.
type values struct {
	length, meanK, cylinder   float64
	hasLength, hasK, hasCylin bool
}

func valuesOf(e *eye.Eye) (v values) {
	if e.AxialLength.Known && inside(float64(e.AxialLength.Value), lengthField.Bounds) {
		v.length, v.hasLength = float64(e.AxialLength.Value), true
	}
	if !e.KFlat.Known || !e.KSteep.Known {
		return v
	}
	if k, err := MeanK(e); err == nil {
		v.meanK, v.hasK = float64(k), true
	}
	if cyl, err := Cylinder(e); err == nil {
		v.cylinder, v.hasCylin = float64(cyl), true
	}
	return v
}

// The fields of the eye format, for their keys and bounds.
var (
	lengthField  = eye.FieldNamed("axial_length_mm")
	flatField    = eye.FieldNamed("k_flat_d")
	steepField   = eye.FieldNamed("k_steep_d")
	indexField   = eye.FieldNamed("keratometric_index")
	chamberField = eye.FieldNamed("acd_mm")
	lensField    = eye.FieldNamed("lens_thickness_mm")
	widthField   = eye.FieldNamed("white_to_white_mm")
)

func (c *check) add(r finding.Rule, field string, v ...finding.Value) {
	c.found = append(c.found, r.On(field, v...))
}

// got and the other values of a finding: numbers already with their unit.
func got(text string) finding.Value        { return finding.Value{Name: "got", Text: text} }
func limitText(text string) finding.Value  { return finding.Value{Name: "limit", Text: text} }
func fellowText(text string) finding.Value { return finding.Value{Name: "fellow", Text: text} }
func apart(text string) finding.Value      { return finding.Value{Name: "difference", Text: text} }
func days(n int) string                    { return strconv.Itoa(n) + unit.Thin + "days" }

func (c *check) identity() {
	if c.e.Side != eye.Right && c.e.Side != eye.Left {
		c.add(sideMissing, "side")
		return
	}
	if c.e.Fellow != nil && c.e.Fellow.Side == c.e.Side {
		c.add(sideTwice, "other_eye.side", got(c.e.Side.Words()))
	}
}

// taken stops on readings that are absent or that the format would refuse.
// Files and forms refuse them earlier; this guards every other way in.
func (c *check) taken() {
	required(c, lengthField, c.e.AxialLength)
	if u := &c.e.Unusual; u.Scar != eye.Yes || u.SubstituteK == "" { // else another K was chosen
		required(c, flatField, c.e.KFlat)
		required(c, steepField, c.e.KSteep)
	}
	optional(c, indexField, c.e.KeratometricIndex)
	optional(c, chamberField, c.e.ACD)
	optional(c, lensField, c.e.LensThickness)
	optional(c, widthField, c.e.WhiteToWhite)
	if c.e.KFlat.Known && c.e.KSteep.Known && c.e.KSteep.Value < c.e.KFlat.Value {
		c.add(kOrder, "k_steep_d", got(c.e.KSteep.Value.Unsigned()), finding.Value{Name: "flat", Text: c.e.KFlat.Value.Unsigned()})
	}
}

func required[U unit.Quantity](c *check, f *eye.Field, r unit.Reading[U]) {
	if !r.Known {
		c.add(readingRequired, f.Key)
		return
	}
	optional(c, f, r)
}

func optional[U unit.Quantity](c *check, f *eye.Field, r unit.Reading[U]) {
	if !r.Known {
		return
	}
	v := float64(r.Value)
	if inside(v, f.Bounds) {
		return
	}
	if f.Unit == "D" && v >= 5 && v <= 10 {
		c.add(kRadius, f.Key, got(plain(v)), finding.Value{Name: "as_power", Text: dp(thousandIndex / v)})
		return
	}
	c.add(outsideFormat, f.Key, got(plain(v)+unit.Thin+f.Unit),
		finding.Value{Name: "low", Text: plain(f.Bounds.Low)}, finding.Value{Name: "high", Text: plain(f.Bounds.High)})
}

func plain(v float64) string { return unit.Fixed(v, 2) }

// recorded names what is missing and what is assumed in its place.
func (c *check) recorded() {
	e := c.e
	if !e.KeratometricIndex.Known {
		c.add(indexAssumed, "keratometric_index", finding.Value{Name: "assumed", Text: StandardIndex.String()})
	}
	if e.AxialLengthMethod == "" {
		c.add(methodMissing, "axial_length_method")
	}
	c.word(string(e.LensStatus), "lens_status")
	c.word(string(e.Vitreous), "vitreous")
	c.word(string(e.CornealSurgery), "corneal_surgery")
	if !e.ACD.Known {
		c.add(readingMissing, "acd_mm")
	}
}

func (c *check) word(recorded, field string) {
	if recorded == "" {
		c.add(notRecorded, field)
	}
}

func (c *check) length() {
	if !c.this.hasLength {
		return
	}
	v := c.this.length
	r, at := finding.Rule{}, 0.0
	switch {
	case below(v, shortGate):
		r, at = lengthVeryShort, shortGate
	case below(v, shortNote):
		r, at = lengthShort, shortNote
	case above(v, longGate):
		r, at = lengthVeryLong, longGate
	case above(v, longNote):
		r, at = lengthLong, longNote
	default:
		return
	}
	c.add(r, "axial_length_mm", got(mm(v)), limitText(mm(at)))
}

func (c *check) cornea() {
	if c.this.hasK {
		c.meanK(c.this.meanK)
	}
	if c.this.hasCylin && above(c.this.cylinder, cylinderLimit) {
		c.add(cylinderHigh, "k_steep_d", got(dp(c.this.cylinder)), limitText(dp(cylinderLimit)))
	}
	mean, power := c.o.MeanPower, c.o.EmmetropicPower
	if mean.Known && power.Known && above(math.Abs(float64(power.Value-mean.Value)), powerFar) {
		c.add(powerUnusual, "axial_length_mm", got(power.Value.String()),
			finding.Value{Name: "mean", Text: mean.Value.String()}, limitText(dp(powerFar)))
	}
}

func (c *check) meanK(k float64) {
	r, at := finding.Rule{}, 0.0
	switch {
	case below(k, flatGate):
		r, at = corneaVeryFlat, flatGate
	case below(k, flatNote):
		r, at = corneaFlat, flatNote
	case above(k, steepGate):
		r, at = corneaVerySteep, steepGate
	default:
		return
	}
	c.add(r, "k_flat_d", got(dp(k)), limitText(dp(at)))
}
