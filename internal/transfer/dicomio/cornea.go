package dicomio

import (
	"math"
	"strconv"
)

// indices are the keratometric indices in use; indexWithin is how far n may
// lie from one. K to 0.01 D and r to 0.01 mm move n by up to 0.00026.
var indices = []float64{1.3375, 1.336, 1.332, 1.3315}

const indexWithin = 0.0003

// keratometry reads one eye of Keratometry Measurements.
func (r *reading) keratometry(d Dataset) {
	flat, steep := d.item(0x00460080), d.item(0x00460074)
	r.curves(flat, steep, 0x00460077)
	fits := r.indexOf(flat, indices)
	if fits = r.indexOf(steep, fits); len(fits) == 1 {
		n := strconv.FormatFloat(fits[0], 'f', -1, 64)
		r.put("keratometric_index", n)
		r.say(indexInferred, "keratometric_index", got(n))
	} else {
		r.say(indexUnclear, "keratometric_index")
	}
}

// curves reads both meridians.
func (r *reading) curves(flat, steep Dataset, axis Tag) {
	r.put("k_flat_d", r.number(flat, 0x00460076))
	r.put("k_flat_axis_deg", r.number(flat, axis))
	r.put("k_steep_d", r.number(steep, 0x00460076))
	r.put("k_steep_axis_deg", r.number(steep, axis))
	a, err1 := strconv.ParseFloat(r.number(flat, axis), 64)
	b, err2 := strconv.ParseFloat(r.number(steep, axis), 64)
	if apart := math.Abs(math.Mod(math.Abs(a-b), 180) - 90); err1 == nil && err2 == nil && apart > 1 {
		r.say(notPerpendicular, "k_steep_axis_deg")
	}
}

// indexOf keeps the indices that fit n = 1 + K·r/1000.
func (r *reading) indexOf(d Dataset, among []float64) (fits []float64) {
	k, err1 := strconv.ParseFloat(r.number(d, 0x00460076), 64)
	mm, err2 := strconv.ParseFloat(r.number(d, 0x00460075), 64)
	if err1 != nil || err2 != nil {
		return nil
	}
	for _, n := range among {
		if math.Abs(1+k*mm/1000-n) <= indexWithin {
			fits = append(fits, n)
		}
	}
	return fits
}

// refraction reads autorefraction, subjective refraction and lensometry.
func (r *reading) refraction(d Dataset) {
	r.put("sphere_d", r.number(d, 0x00460146))
	c := d.item(0x00460018)
	r.put("cylinder_d", r.number(c, 0x00460147))
	r.put("axis_deg", r.number(c, 0x00220009))
	r.put("add_d", r.number(d.item(0x00460100), 0x00460104))
	r.put("white_to_white_mm", r.number(d.item(0x00460047), 0x00460046))
}

// acuity keeps the decimal acuity, what it was measured with and the letters
// read more or fewer, which have no defined number.
func (r *reading) acuity(d Dataset) {
	if r.err == nil && r.file.word(0x00460125) == "" { // required; its absence shows a file that was cut off
		r.err = refuse("missing", 0, got("(0046,0125)"))
	}
	r.put("decimal_acuity", r.number(d, 0x00460137))
	r.put("acuity_at", map[string]string{"DISTANCE": "distance", "NEAR": "near", "INTERMEDIATE": "intermediate", "OTHER": "other"}[r.file.word(0x00460125)])
	r.put("acuity_with", map[string]string{"SCT 419775003": "corrected", "SCT 420050001": "unaided", "SCT 419475002": "pinhole", "DCM 111686": "habitual"}[r.file.code(0x00460121)])
	if m := d.value(0x00460135); len(m) == 4 {
		r.put("letters_more", strconv.Itoa(int(int16(uint16(m[0])|uint16(m[1])<<8))))
		r.put("letters_fewer", strconv.Itoa(int(int16(uint16(m[2])|uint16(m[3])<<8))))
	}
}
