package biometry

import (
	"math"

	"linn/eye"
	"linn/finding"
	"linn/unit"
)

// dates judges the age of the oldest reading on the day of the plan.
func (c *check) dates() {
	if !c.e.AsOf.Exact() {
		c.add(dateMissing, "as_of")
		return
	}
	oldest, complete := c.oldest()
	if !complete {
		c.add(dateMissing, "measured_on")
		return
	}
	most := c.o.MaxAgeDays
	if most <= 0 {
		most = DefaultMaxAgeDays
	}
	age, _ := oldest.DaysUntil(c.e.AsOf) // both are exact
	switch {
	case age < 0:
		c.add(measuredLater, "measured_on", got(oldest.String()), finding.Value{Name: "as_of", Text: c.e.AsOf.String()})
	case age > most:
		c.add(readingStale, "measured_on", got(days(age)), limitText(days(most)))
	}
}

// oldest returns the earliest day among length and corneal powers; a reading
// without its own day was taken on the day of the eye. complete is false when
// one of them has no exact day.
func (c *check) oldest() (day unit.Date, complete bool) {
	for i, own := range [...]unit.Date{c.e.AxialLength.MeasuredOn, c.e.KFlat.MeasuredOn, c.e.KSteep.MeasuredOn} {
		if !own.Known() {
			own = c.e.MeasuredOn
		}
		if !own.Exact() {
			return unit.Date{}, false
		}
		if i == 0 || own.Before(day) {
			day = own
		}
	}
	return day, true
}

// contactLenses judges keratometry of an eye that wore a contact lens.
func (c *check) contactLenses() {
	worn := c.o.ContactLenses
	least := 0
	switch worn.Wear {
	case SoftWear:
		least = int(softDays)
	case RigidWear:
		least = int(rigidDays)
	default:
		return
	}
	switch {
	case !worn.Known:
		c.add(contactLensUnknown, "k_flat_d", finding.Value{Name: "wear", Text: string(worn.Wear)}, limitText(days(least)))
	case worn.DaysOut < least:
		c.add(contactLensWorn, "k_flat_d", finding.Value{Name: "wear", Text: string(worn.Wear)}, got(days(worn.DaysOut)), limitText(days(least)))
	}
}

// method judges the spread of repeated lengths and contact ultrasound.
func (c *check) method() {
	r := c.e.AxialLength
	most := ultrasoundSpread
	if c.e.AxialLengthMethod == eye.Optical {
		most = opticalSpread
	}
	if r.Known && r.N > 1 && c.e.AxialLengthMethod != "" && above(float64(r.SD), most) {
		c.add(lengthSpread, "axial_length_mm", got(mm(float64(r.SD))), limitText(mm(most)))
	}
	if c.e.AxialLengthMethod == eye.Contact {
		c.add(contactShort, "axial_length_mm", finding.Value{Name: "shortfall", Text: mm(-contactMean)})
	}
	c.contactAgainstImmersion()
}

// contactAgainstImmersion compares the mean contact length with the mean
// immersion length of the same eye.
func (c *check) contactAgainstImmersion() {
	contact, hasContact := c.meanLength(eye.Contact)
	immersion, hasImmersion := c.meanLength(eye.Immersion)
	if !hasContact || !hasImmersion {
		return
	}
	values := []finding.Value{got(mm(contact)), {Name: "immersion", Text: mm(immersion)}, apart(mm(contact - immersion))}
	switch short := immersion - contact; {
	case below(short, 0):
		c.add(contactLong, "axial_length_mm", values...)
	case below(short, contactLeast) || above(short, contactMost):
		c.add(contactGap, "axial_length_mm", values...)
	}
}

func (c *check) meanLength(by eye.LengthMethod) (mean float64, ok bool) {
	sum, n := 0.0, 0
	if c.this.hasLength && c.e.AxialLengthMethod == by {
		sum, n = c.this.length, 1
	}
	for _, l := range c.o.OtherLengths {
		if l.Method == by && inside(float64(l.Value), lengthField.Bounds) {
			sum, n = sum+float64(l.Value), n+1
		}
	}
	return sum / math.Max(float64(n), 1), n > 0
}
