package web

import (
	"fmt"

	"linn/finding"
	"linn/internal/pathway"
)

// galleryOptics is an invented eye of a length as an optical instrument; 0 is
// one without a lens.
func galleryOptics(length float64) EyeOptics { return opticsTried(length, "no", pathway.WhatIf{}) }

// galleryTilted has a lens that lies askew, galleryCone a cornea whose band is
// widened.
func galleryTilted() EyeOptics {
	return opticsTried(23.41, "no", pathway.WhatIf{Tilt: 8, Shift: 0.4})
}
func galleryCone() EyeOptics { return opticsTried(23.41, "yes", pathway.WhatIf{}) }

func opticsTried(length float64, cone string, w pathway.WhatIf) EyeOptics {
	o := EyeOptics{Identity: galleryIdentity()}
	if length == 0 {
		o.Refused = finding.Refusals{{Code: "no-power-to-draw"}}
		return o
	}
	in, refused := pathway.InstrumentFileWith(fmt.Appendf(nil, `{"side":"right","axial_length_mm":%g,"axial_length_method":"contact","k_flat_d":43.25,"k_steep_d":44.5,"k_steep_axis_deg":80,"keratometric_index":1.3375,
		"acd_mm":3.12,"lens_status":"phakic","vitreous":"natural","corneal_surgery":"none","keratoconus":%q,"target_d":-0.25,"vertex_mm":12,
		"lens":{"model":"Tarn 60","index":1.47,"constants":{"a":118.4,"sf_mm":1.45,"pacd_mm":5.2,"a0":1.35,"a1":0.4,"a2":0.1}}}`, length, cone), w)
	if o.Refused = refused; len(refused) == 0 {
		o.Instrument = &in
	}
	return o
}
