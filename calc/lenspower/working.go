package lenspower

import (
	"linn/calc/optics"
	"linn/source"
	"linn/unit"
)

// StepNames lists every name a working can carry, for the words that go with
// them.
var StepNames = []string{
	"input.axial-length", "input.k", "input.k-before", "input.acd", "input.constant", "input.a1", "input.a2", "input.target", "input.power",
	"srk-t.corneal-radius", "srk-t.corrected-length", "srk-t.corneal-width", "srk-t.corneal-height", "srk-t.acd-constant", "srk-t.retinal-thickness",
	"t2.corneal-height",
	"holladay-1.corneal-radius", "holladay-1.anterior-width", "holladay-1.anatomic-depth",
	"hoffer-q.length", "hoffer-q.curve", "hoffer-q.predicted-depth",
	"thin-eye.lens-position", "thin-eye.optical-length", "thin-eye.corneal-power",
	"thin-eye.corneal-refraction", "thin-eye.power",
	"thin-eye.vergence-at-retina", "thin-eye.vergence-before-lens", "thin-eye.vergence-at-cornea", "thin-eye.refraction",
}

// working collects the steps of one answer.
type working struct {
	m     *Method
	in    *Input
	steps []source.Step
}

func (w *working) add(name, symbol string, value float64, unitName string, ref source.Ref) {
	w.steps = append(w.steps, source.Step{Name: name, Symbol: symbol, Value: value, Unit: unitName, Ref: ref})
}

// own adds a step of the method's own publication.
func (w *working) own(name, symbol string, value float64, where string) {
	ref := w.m.Ref
	ref.Where = where
	w.add(name, symbol, value, "mm", ref)
}

var (
	readingRef  = source.Ref{Key: source.Linn, Where: "as entered", Grade: source.Own}
	vergenceRef = source.Ref{Key: source.CommonPractice, Where: "thin-lens vergence, n = 1.336; equals the closed form in print", Grade: source.Memory}
)

// Working returns the steps from the readings to the lens power for a target.
// It ends at the step that has no value when the method refuses the eye: a
// working that does not end in "thin-eye.power" is not an answer.
func (m *Method) Working(in Input, target unit.Dioptre) []source.Step {
	w := working{m: m, in: &in}
	s, ok := w.position()
	w.add("input.target", "Ref", float64(target), "D", readingRef)
	if !ok {
		return w.steps
	}
	w.eye(s)
	rc, err := optics.ToCornea(target, in.Vertex)
	if err != nil {
		return w.steps
	}
	w.add("thin-eye.corneal-refraction", "Rc", float64(rc), "D", vergenceRef)
	if p, err := s.Power(target); err == nil {
		w.add("thin-eye.power", "P", float64(p), "D", vergenceRef)
	}
	return w.steps
}

// WorkingRefraction returns the steps from the readings to the refraction a
// chosen lens leaves, ending in "thin-eye.refraction" when there is an answer.
func (m *Method) WorkingRefraction(in Input, power unit.Dioptre) []source.Step {
	w := working{m: m, in: &in}
	s, ok := w.position()
	w.add("input.power", "P", float64(power), "D", readingRef)
	if !ok {
		return w.steps
	}
	w.eye(s)
	e := s.Eye()
	r, err := s.Refraction(power)
	if err != nil {
		return w.steps
	}
	retina := 1000 * float64(optics.Aqueous) / float64(e.Length-e.Position)
	w.add("thin-eye.vergence-at-retina", "1000n/(L-d)", retina, "D", vergenceRef)
	before := unit.Dioptre(retina) - power
	w.add("thin-eye.vergence-before-lens", "1000n/(L-d)-P", float64(before), "D", vergenceRef)
	if at, err := (optics.Gap{Distance: e.Position, Index: optics.Aqueous}).Back(before); err == nil {
		w.add("thin-eye.vergence-at-cornea", "S", float64(at), "D", vergenceRef)
		w.add("thin-eye.corneal-refraction", "Rc", float64(at-e.Cornea), "D", vergenceRef)
	}
	w.add("thin-eye.refraction", "Ref", float64(r), "D", vergenceRef)
	return w.steps
}

// position adds the readings and the method's own regression.
func (w *working) position() (Solution, bool) {
	w.readings()
	s, err := w.m.Solve(*w.in)
	if w.m.check(w.in) == nil {
		w.regression()
	}
	if err != nil {
		return s, false
	}
	w.own("thin-eye.lens-position", "d", float64(s.Position), "lens position")
	return s, true
}

func (w *working) readings() {
	in, c := w.in, w.in.Constant
	w.add("input.axial-length", "AL", float64(in.AxialLength), "mm", readingRef)
	w.add("input.k", "K", float64(in.K), "D", readingRef)
	if w.m.doubleK && in.KBefore.Known {
		w.add("input.k-before", "Kpre", float64(in.KBefore.Value), "D", readingRef)
	}
	if w.m.NeedsACD() && in.ACD.Known {
		w.add("input.acd", "ACD", float64(in.ACD.Value), "mm", readingRef)
	}
	if c.method == nil {
		return
	}
	name := "mm"
	if c.Key == "a" {
		name = ""
	}
	w.add("input.constant", c.Key, float64(c.Value), name, readingRef)
	if w.m.kind == haigis {
		w.add("input.a1", "a1", float64(c.A1), "", readingRef)
		w.add("input.a2", "a2", float64(c.A2), "", readingRef)
	}
}

func (w *working) regression() {
	al, k, offset := float64(w.in.AxialLength), float64(w.m.positionK(w.in)), w.in.Constant.offset
	switch w.m.kind {
	case srkT:
		w.own("srk-t.corneal-radius", "r", radius(k), "r = 337.5/K")
		w.own("srk-t.corrected-length", "LCOR", srktLength(al), "corrected axial length")
		w.own("srk-t.corneal-width", "Cw", srktWidth(al, k), "computed corneal width")
		if h, ok := srktHeight(radius(k), srktWidth(al, k)); ok {
			w.own("srk-t.corneal-height", "H", h, "H = r - sqrt(r^2 - Cw^2/4)")
			w.own("srk-t.acd-constant", "ACDconst", offset+srktMeanACD, "ACD constant from A")
		}
	case t2:
		w.own("t2.corneal-height", "H2", t2Height(al, k), "H2")
		w.add("srk-t.acd-constant", "ACDconst", offset+srktMeanACD, "mm", source.Ref{Key: source.SRKT1990, Where: "ACD constant from A", Grade: source.Memory})
	case holladay1:
		w.own("holladay-1.corneal-radius", "Rag", holladayRag(radius(k)), "Rag, not below 7 mm")
		w.own("holladay-1.anterior-width", "AG", holladayAG(al), "AG, not above 13.5 mm")
		w.own("holladay-1.anatomic-depth", "aACD", holladayDepth(al, radius(k)), "anatomic anterior chamber depth")
	case hofferQ:
		w.own("hoffer-q.length", "A", hofferLength(al), "A, within 18.5 and 31 mm")
		w.own("hoffer-q.curve", "M*0.1*(23.5-A)^2*tan(0.1*(G-A)^2)", hofferCurve(hofferLength(al)), "ACD equation")
		w.own("hoffer-q.predicted-depth", "C", hofferDepth(al, k)-hofferSurface+offset, "ACD equation")
	}
}

// eye adds the thin eye the method makes.
func (w *working) eye(s Solution) {
	e := s.Eye()
	if w.m.kind == srkT || w.m.kind == t2 {
		al := float64(w.in.AxialLength)
		w.add("srk-t.retinal-thickness", "RETHICK", srktRetina0+srktRetinaLength*al, "mm", source.Ref{Key: source.SRKT1990, Where: "retinal thickness", Grade: source.Memory})
	}
	w.own("thin-eye.optical-length", "L", float64(e.Length), "optical axial length")
	ref := w.m.Ref
	ref.Where = "corneal power"
	w.add("thin-eye.corneal-power", "Kc", float64(e.Cornea), "D", ref)
}
