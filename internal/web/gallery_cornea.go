package web

import (
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/pathway"
)

// galleryCornea answers an invented file with the program's own arithmetic.
func galleryCornea(side eye.Side, more string) CorneaCase {
	answer, in, refused := pathway.Cornea([]byte(`{"side":"` + string(side) + `","axial_length_mm":23.8,"axial_length_method":"optical","k_flat_d":42.5,"k_steep_d":44.75,"acd_mm":3.1,"target_d":0` + more + `}`))
	if refused != nil {
		panic("web: gallery: " + refused.Error()) // the same text was read a moment ago
	}
	id := galleryIdentity()
	id.Side = side
	c := CorneaCase{Identity: id, Editable: true, Texts: map[string]string{}, Answer: &answer, Clock: pathway.ClockOf(&in.Eye, &answer.CorneaPlan)}
	for _, key := range pathway.IncisionKeys {
		c.Texts[key] = eye.FieldNamed(key).Get(&in.Eye)
	}
	return c
}

const (
	galleryTemporal = `,"k_steep_axis_deg":85,"surgeon_seat":"temporal","incision_type":"clear-corneal-stepped","incision_hour":9,"incision_mm":2.4,"tunnel_mm":1.8,"excluded_hours":"11-1 bleb","posterior_cornea":"abulafia-koch","marking_sd_deg":4,` +
		`"lens":{"model":"Tarn 60 T","constants":{"a":118.4},"cylinder_from_d":1.5,"cylinder_to_d":4.5,"cylinder_step_d":0.75}`
	gallerySuperior = `,"k_steep_axis_deg":95,"surgeon_seat":"superior","incision_type":"scleral-frown","incision_hour":12,"incision_mm":6.5,"internal_lip_mm":1.5`
)

// corneaCases are the pages of cornea and meridians.
func corneaCases() []galleryCase {
	unread := CorneaCase{Identity: galleryIdentity(), Editable: true, Texts: map[string]string{"incision_hour": "13", "excluded_hours": "noon"},
		Refused: map[string]finding.Refusal{"incision_hour": {Code: "out-of-range", Field: "incision_hour", Values: finding.Values{{Name: "got", Text: "13"}, {Name: "low", Text: "0"}, {Name: "high", Text: "12"}, {Name: "unit", Text: "o’clock"}}}}}
	sheet := averageSheet()
	temporal := galleryCornea(eye.Right, galleryTemporal)
	sheet.Clock = temporal.Clock
	chosen := galleryCornea(eye.Right, strings.Replace(galleryTemporal, `"lens":`, `"toric_cylinder_d":3.75,"toric_axis_deg":90,"toric_reason":"the meridian was measured anew","lens":`, 1))
	chosen.Answer.Toric.Marks = &pathway.Number{Value: 3, Known: true}
	return []galleryCase{
		{"cornea-chosen", "/case/c1/cornea", &canned{who: surgeonLark, cornea: chosen}},
		{"marks", "/case/c1/marks", &canned{who: surgeonLark, cornea: chosen}},
		{"marks-unknown", "/case/c1/marks", &canned{who: surgeonLark, cornea: temporal}},
		{"marks-none", "/case/c1/marks", &canned{who: surgeonLark, cornea: unread}},
		{"cornea-toric", "/case/c1/cornea", &canned{who: surgeonLark, cornea: temporal}},
		{"cornea-superior", "/case/c1/cornea", &canned{who: surgeonLark, cornea: galleryCornea(eye.Left, gallerySuperior)}},
		{"cornea-unread", "/case/c1/cornea", &canned{who: surgeonLark, cornea: unread}},
		{"sheet-cornea", "/case/c1/sheet", &canned{who: surgeonLark, sheet: sheet}},
		{"bench-meridians", "/bench/meridians", &canned{who: surgeonLark}},
	}
}
