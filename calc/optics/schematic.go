package optics

import (
	"linn/source"
	"linn/unit"
)

// SchematicEye is an eye of the literature, as its author gives it.
type SchematicEye struct {
	Key    string
	Faces  []Face
	Retina unit.Millimetre // on the axis
	Light  unit.Micrometre // wavelength the indices are given for; 0 where the author names none
	Ref    source.Ref
}

// Train makes the eye ready for rays.
func (e SchematicEye) Train() (*Train, error) { return NewTrain(1, e.Faces) }

// row is a surface as the tables print it: radius, asphericity, gap to the
// next, and what lies behind it.
type row struct {
	r, q, gap float64
	after     Medium
}

func faces(rows ...row) ([]Face, unit.Millimetre) {
	out := make([]Face, len(rows))
	z := 0.0
	for i, r := range rows {
		radius := unit.Millimetre(r.r)
		if r.r == 0 {
			radius = Plane
		}
		out[i] = Round(unit.Millimetre(z), Profile{radius, unit.Constant(r.q)}, r.after)
		z += r.gap
	}
	return out, unit.Millimetre(z)
}

func of(n float64) Medium { return Medium{Index: unit.Index(n)} }

func eyeOf(key string, ref source.Ref, rows ...row) SchematicEye {
	f, retina := faces(rows...)
	return SchematicEye{Key: key, Faces: f, Retina: retina, Ref: ref}
}

func memory(key source.Key, where string) source.Ref {
	return source.Ref{Key: key, Where: where, Grade: source.Memory}
}

// SchematicEyes lists the eyes in the order of their years; Atchison's is the
// emmetropic one of its family.
func SchematicEyes() []SchematicEye {
	const third = 4. / 3 // Emsley's index of all humours
	navarro := func(cornea float64) []row {
		return []row{{7.72, -0.26, 0.55, of(cornea)}, {6.5, 0, 3.05, of(1.3374)}, {10.2, -3.1316, 4, of(1.42)}, {-6, -1, 16.404, of(1.336)}}
	}
	escudero := eyeOf("escudero-navarro", memory(source.EscuderoNavarro1999, "indices at 543 nm"),
		row{7.72, -0.26, 0.55, of(1.3777)}, row{6.5, 0, 3.05, of(1.3391)}, row{10.2, -3.1316, 4, of(1.4222)}, row{-6, -1, 16.3203, of(1.3377)})
	escudero.Light = 0.543
	n := eyeOf("navarro", memory(source.Navarro1985, "indices at 589 nm; corneal index 1.376"), navarro(1.376)...)
	n.Light = 0.589
	lb := eyeOf("liou-brennan", memory(source.LiouBrennan1997, "at 555 nm; pupil and line of sight centred here"),
		row{7.77, -0.18, 0.5, of(1.376)}, row{6.4, -0.6, 3.16, of(1.336)},
		row{12.4, -0.94, 1.59, Medium{1.368, 0.049057, -0.015427, -0.001978}},
		row{0, 0, 2.43, Medium{1.407, 0, -0.006605, -0.001978}}, row{-8.1, 0.96, 16.27, of(1.336)})
	lb.Light = 0.555
	return []SchematicEye{
		eyeOf("gullstrand", memory(source.Gullstrand1909, "exact eye No. 1, relaxed"),
			row{7.7, 0, 0.5, of(1.376)}, row{6.8, 0, 3.1, of(1.336)}, row{10, 0, 0.546, of(1.386)}, row{7.911, 0, 2.419, of(1.406)}, row{-5.76, 0, 0.635, of(1.386)}, row{-6, 0, 16.8, of(1.336)}),
		eyeOf("emsley", memory(source.Emsley1952, "simplified eye, relaxed"),
			row{7.8, 0, 3.6, of(third)}, row{10, 0, 3.6, of(1.416)}, row{-6, 0, 16.69621, of(third)}),
		eyeOf("le-grand", memory(source.LeGrand1980, "full theoretical eye, relaxed"),
			row{7.8, 0, 0.55, of(1.3771)}, row{6.5, 0, 3.05, of(1.3374)}, row{10.2, 0, 4, of(1.42)}, row{-6, 0, 16.59655, of(1.336)}),
		eyeOf("le-grand-accommodated", memory(source.LeGrand1980, "full theoretical eye, accommodated; lens index 1.427"),
			row{7.8, 0, 0.55, of(1.3771)}, row{6.5, 0, 2.65, of(1.3374)}, row{6, 0, 4.5, of(1.427)}, row{-5.5, 0, 16.49655, of(1.336)}),
		n,
		eyeOf("bennett-rabbetts", memory(source.BennettRabbetts, "radii and gaps from a secondary source"),
			row{7.8, 0, 3.6, of(1.336)}, row{11, 0, 3.7, of(1.422)}, row{-6.47515, 0, 16.79, of(1.336)}),
		lb, escudero, Atchison(0),
	}
}

// SchematicEyeNamed returns the eye with a key, nil when there is none.
func SchematicEyeNamed(key string) *SchematicEye {
	for _, e := range SchematicEyes() {
		if e.Key == key {
			return &e
		}
	}
	return nil
}

// Atchison is the family of myopic eyes: the spectacle refraction at 12 mm
// sets the corneal radius and the length of the vitreous. The retina's own
// curve is not part of it here.
func Atchison(refraction unit.Dioptre) SchematicEye {
	sr := float64(refraction)
	e := eyeOf("atchison", memory(source.Atchison2006, "radii of the cornea, gaps and two indices from a secondary source"),
		row{7.77 + 0.022*sr, -0.15, 0.55, of(1.376)}, row{6.4, -0.275, 3.15, of(1.3374)},
		row{11.48, -5, 1.44, Medium{1.371, 0.0652778, -0.0226659, -0.0020399}},
		row{0, 0, 2.16, Medium{1.418, 0, -0.0100737, -0.0020399}}, row{-5.9, -2, 16.28 - 0.299*sr, of(1.336)})
	e.Light = 0.555
	return e
}
