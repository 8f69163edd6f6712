package dicomio

import (
	"math"
	"slices"
	"strconv"

	"linn/finding"
)

// axial reads Ophthalmic Axial Measurements of one eye.
func (r *reading) axial(d Dataset) {
	r.method()
	r.put("lens_status", map[string]string{"SCT 247049005": "phakic", "SCT 309523001": "pseudophakic", "SCT 24010005": "aphakic"}[d.code(0x00221024)])
	r.put("vitreous", map[string]string{"SCT 372242005": "natural", "SCT 232077005": "removed", "SCT 247095003": "oil", "SCT 247094004": "gas"}[d.code(0x00221025)])
	r.velocity(d)
	r.length(d)
	for _, s := range d.item(0x00221255).items(0x00221257) {
		r.segment(s, d.code(0x00221024) == "SCT 247049005")
	}
}

// method is how length was measured: contact and immersion read differently.
func (r *reading) method() {
	switch r.file.word(0x00221009) + " " + r.file.code(0x00221044) {
	case "OPTICAL ":
		r.put("axial_length_method", "optical")
	case "ULTRASOUND DCM 111750":
		r.put("axial_length_method", "contact")
	case "ULTRASOUND DCM 111751":
		r.put("axial_length_method", "immersion")
	}
}

// velocity is taken when every measurement has the same.
func (r *reading) velocity(d Dataset) {
	var all []string
	for _, m := range d.items(0x00221050) {
		for _, tag := range []Tag{0x00221210, 0x00221212} {
			if v := r.number(m.item(tag).item(0x00221220), 0x00221059); v != "" && !slices.Contains(all, v) {
				all = append(all, v)
			}
		}
	}
	if len(all) == 1 {
		r.put("velocity_m_s", all[0])
	}
}

// length takes the selected length, else the only one; it never averages.
func (r *reading) length(d Dataset) {
	for _, s := range []Dataset{d.item(0x00221255).item(0x00221260), d.item(0x00221230)} {
		if text := r.number(s, 0x00221019); text != "" {
			r.put("axial_length_mm", text)
			r.quality(s)
			return
		}
	}
	var all []string
	for _, m := range d.items(0x00221050) {
		for _, tag := range []Tag{0x00221210, 0x00221212} {
			if v := r.number(m.item(tag), 0x00221019); v != "" {
				all = append(all, v)
			}
		}
	}
	switch {
	case len(all) == 1:
		r.put("axial_length_mm", all[0])
	case len(all) > 1:
		r.say(lengthUnselected, "axial_length_mm", finding.Value{Name: "n", Text: strconv.Itoa(len(all))})
	}
}

// quality keeps the instrument's own measure beside the length.
func (r *reading) quality(s Dataset) {
	q := s.item(0x00221262)
	switch q.code(0x0040A043) {
	case "DCM 111787":
		r.put("axial_length_snr", r.number(q, 0x0040A30A))
	case "DCM 111786":
		r.put("axial_length_sd_mm", r.number(q, 0x0040A30A))
	}
}

// segment takes a selected segment whose meaning is stated.
func (r *reading) segment(s Dataset, phakic bool) {
	text := r.number(s, 0x00221019)
	switch s.code(0x00221101) {
	case "SCT 31636006":
		if r.file.code(0x00221125) == "DCM 111776" {
			r.put("acd_mm", text)
		} else {
			r.say(acdReference, "acd_mm", mm(text))
		}
	case "DCM 111778":
		if phakic { // an implant's thickness is not the lens's
			r.put("lens_thickness_mm", text)
		}
	case "SCT 28726007":
		if mm, err := strconv.ParseFloat(text, 64); err == nil {
			r.put("corneal_thickness_um", strconv.FormatFloat(math.Round(mm*1e4)/10, 'f', -1, 64))
		}
	}
}
