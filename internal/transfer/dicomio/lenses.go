package dicomio

// Other is a lens calculation of another system: to be shown beside ours,
// never merged with it.
type Other struct {
	Formula   string     `json:"formula"`
	Detail    string     `json:"detail,omitempty"`
	Maker     string     `json:"manufacturer,omitempty"`
	Model     string     `json:"lens_model,omitempty"`
	TargetD   string     `json:"target_d,omitempty"`
	Emmetrope string     `json:"emmetropia_d,omitempty"`
	ForTarget string     `json:"power_d,omitempty"`
	Constants []Constant `json:"constants"`
	Powers    []Power    `json:"choices"`
}

// Constant is a lens constant under its code's meaning.
type Constant struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

// Power is one power and the refraction the other system predicts for it.
type Power struct {
	Power      string `json:"power_d"`
	Refraction string `json:"refraction_d"`
	Chosen     bool   `json:"chosen,omitempty"`
}

// surgery is the corneal surgery said to have been done; a kind that is not
// stated with its error is operated, kind not known.
func surgery(d Dataset) string {
	switch d.word(0x00221039) {
	case "NO":
		return "none"
	case "YES":
	default:
		return ""
	}
	switch d.code(0x00221040) {
	case "SCT 51683002":
		return "radial"
	case "SCT 312965008", "SCT 397516006", "SCT 414582004", "DCM 111681":
		switch d.code(0x00221103) {
		case "SCT 57190000":
			return "myopic-laser"
		case "SCT 38101003":
			return "hyperopic-laser"
		}
	}
	return "unknown"
}

// lenses reads Intraocular Lens Calculations of one eye: what went in under
// our keys, what came out as the other system's.
func (r *reading) lenses(d Dataset) {
	length := d.item(0x00221012)
	r.put("axial_length_mm", r.number(length, 0x00221019))
	r.put("corneal_surgery", surgery(d))
	r.curves(d.item(0x00460080), d.item(0x00460074), 0x00460077)
	r.put("keratometric_index", r.number(d, 0x00221033))
	r.put("lens_thickness_mm", r.number(d.item(0x00221127), 0x00221130))
	r.put("white_to_white_mm", r.number(d.item(0x00460047), 0x00460046))
	if acd := r.number(d.item(0x00221128), 0x00221131); acd != "" {
		r.say(acdReference, "acd_mm", mm(acd)) // this object does not say from which surface
	}
	cs, err := r.file.charset()
	if err != nil {
		r.err = err
		return
	}
	text := func(d Dataset, t Tag) string {
		s, err := cs.text(d, t)
		if err != nil && r.err == nil {
			r.err = err
		}
		return s
	}
	o := &Other{Formula: text(d.item(0x00221028), 0x00080104), Detail: text(d, 0x00221029), Maker: text(d, 0x00221093), Model: text(d, 0x00221095),
		TargetD: r.number(d, 0x00221037), Emmetrope: r.number(d, 0x00221121), ForTarget: r.number(d, 0x00221122), Constants: []Constant{}, Powers: []Power{}}
	for _, c := range d.items(0x00221092) {
		o.Constants = append(o.Constants, Constant{text(c.item(0x0040A043), 0x00080104), r.number(c, 0x0040A30A)})
	}
	for _, p := range d.items(0x00221090) {
		o.Powers = append(o.Powers, Power{r.number(p, 0x00221053), r.number(p, 0x00221054), p.word(0x00221049) == "YES"})
	}
	r.side.Other = o
}
