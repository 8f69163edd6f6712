package biometry

import (
	"math"

	"linn/eye"
	"linn/finding"
	"linn/source"
)

// between compares the eye with its fellow.
func (c *check) between() {
	if c.e.Fellow == nil {
		c.add(fellowMissing, "other_eye")
		return
	}
	f := valuesOf(c.e.Fellow)
	c.identical(f)
	if !f.hasLength {
		c.add(fellowMissing, "other_eye.axial_length_mm")
	}
	if !f.hasK {
		c.add(fellowMissing, "other_eye.k_flat_d")
	}
	if f.hasLength && c.this.hasLength {
		c.lengths(f.length)
	}
	if f.hasK && c.this.hasK {
		c.corneas(f.meanK)
	}
}

func (c *check) lengths(fellow float64) {
	d := math.Abs(c.this.length - fellow)
	r, at := finding.Rule{}, 0.0
	switch {
	case above(d, lengthPairGate) && above(max(c.this.length, fellow), longerEye):
		r, at = lengthPairLong, lengthPairGate
	case above(d, lengthPairGate):
		r, at = lengthPairLarge, lengthPairGate
	case above(d, lengthPairNote):
		r, at = lengthPair, lengthPairNote
	}
	if r.Code != "" {
		c.add(r, "axial_length_mm", got(mm(c.this.length)), fellowText(mm(fellow)), apart(mm(d)), limitText(mm(at)))
	}
	mine, other := c.e.AxialLengthMethod, c.e.Fellow.AxialLengthMethod
	if mine != "" && other != "" && mine != other {
		c.add(methodsDiffer, "axial_length_method", got(string(mine)), fellowText(string(other)))
	}
}

func (c *check) corneas(fellow float64) {
	d := math.Abs(c.this.meanK - fellow)
	r, at := finding.Rule{}, 0.0
	switch {
	case above(d, corneaPairGate):
		r, at = corneaPairLarge, corneaPairGate
	case above(d, corneaPairNote):
		r, at = corneaPair, corneaPairNote
	default:
		return
	}
	c.add(r, "k_flat_d", got(dp(c.this.meanK)), fellowText(dp(fellow)), apart(dp(d)), limitText(dp(at)))
}

// identical suspects a copy when length and both powers of the eyes agree to
// the last digit. One of the three alone agrees often.
func (c *check) identical(f values) {
	if !c.this.hasLength || !f.hasLength || !c.this.hasCylin || !f.hasCylin {
		return
	}
	same := math.Abs(c.this.length-f.length) <= margin &&
		math.Abs(c.this.meanK-f.meanK) <= margin && math.Abs(c.this.cylinder-f.cylinder) <= margin
	if same {
		c.add(eyesIdentical, "axial_length_mm", got(mm(c.this.length)), finding.Value{Name: "k", Text: dp(c.this.meanK)})
	}
}

// How much a reading changes from one session to the next when nothing was
// swapped (SD of the difference).
var (
	lengthChange  = limit("change-length", 0.10, "mm", ours)
	contactChange = limit("change-length-contact", 0.26, "mm", contactSessions)
	corneaChange  = limit("change-k", 0.35, "D", ours)

	// swapEvidence is twice the log of the likelihood ratio at which a swap is
	// suspected: a swap fits at least 400 times better than no swap.
	swapEvidence = limit("swap-evidence", 12, "", ours)
)

// contactSessions: ±0.51 mm (95 %) between sessions.
var contactSessions = source.Ref{Key: source.Cass2002, Where: "between-session repeatability ±0.51 mm", Grade: source.Read}

// earlier compares both eyes with an earlier record and suspects that the
// sides were exchanged. For one reading with a, b earlier in this and the
// fellow eye and a', b' now, all with the same normal spread s, twice the log
// likelihood ratio of swap against no swap is −2·(a' − b')(a − b)/s²; a change
// of method moves both eyes alike and cancels. With only this eye measured now
// it is [(a' − a)² − (a' − b)²]/s², used when the method did not change.
func (c *check) earlier() {
	was := c.o.Earlier
	if was == nil || was.Fellow == nil || was.Side != c.e.Side {
		return
	}
	own, other := valuesOf(was), valuesOf(was.Fellow)
	now := values{}
	if c.e.Fellow != nil {
		now = valuesOf(c.e.Fellow)
	}
	evidence := 0.0
	if c.this.hasLength && own.hasLength && other.hasLength && (now.hasLength || was.AxialLengthMethod == c.e.AxialLengthMethod) {
		evidence += swap(c.this.length, now.length, now.hasLength, own.length, other.length) / square(c.lengthSpread())
	}
	if c.this.hasK && own.hasK && other.hasK {
		evidence += swap(c.this.meanK, now.meanK, now.hasK, own.meanK, other.meanK) / square(corneaChange)
	}
	if evidence > swapEvidence {
		c.add(sidesSwapped, "side", got(mm(c.this.length)), finding.Value{Name: "earlier", Text: mm(own.length)},
			finding.Value{Name: "earlier_fellow", Text: mm(other.length)})
	}
}

func (c *check) lengthSpread() float64 {
	if c.e.AxialLengthMethod == eye.Contact || c.o.Earlier.AxialLengthMethod == eye.Contact {
		return contactChange
	}
	return lengthChange
}

// swap is the numerator of the evidence of one reading.
func swap(now, fellowNow float64, both bool, own, other float64) float64 {
	if both {
		return -2 * (now - fellowNow) * (own - other)
	}
	return square(now-own) - square(now-other)
}

func square(x float64) float64 { return x * x }
