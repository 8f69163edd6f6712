package lenspower

import (
	"fmt"
	"math"

	"linn/calc/optics"
	"linn/unit"
)

// Columns are many eyes as columns of equal length. A nil column is not
// recorded for any eye: KBefore means single K, ACD is required by haigis
// alone.
type Columns struct {
	AxialLength []unit.Millimetre
	K           []unit.Dioptre
	KBefore     []unit.Dioptre
	ACD         []unit.Millimetre
	Vertex      []unit.Millimetre
	Target      []unit.Dioptre
}

// Task asks one method about all eyes of the columns.
type Task struct {
	Constant Resolved
	Step     unit.Dioptre // of the lenses in Answers.Lens, which are multiples of it
	Answers  Answers
}

// Answers receives the results as columns as long as the eyes; the caller makes
// them. A row the method refuses is true in Refused and 0 elsewhere.
type Answers struct {
	Position   []unit.Millimetre
	Emmetropia []unit.Dioptre // power for a refraction of 0
	Power      []unit.Dioptre // power for the target
	Lens       []unit.Dioptre // the multiple of Step nearest Power; a tie takes the higher
	Refraction []unit.Dioptre // what Lens leaves
	Refused    []bool
}

// Bulk computes many eyes by several methods: position, emmetropic power, power
// for the target, the nearest lens and its refraction. It allocates nothing.
// Each row equals the answers of Solve to rounding; rows outside the method's
// domain are marked, never quietly computed. An error says that the columns do
// not fit together.
func Bulk(in Columns, tasks []Task) error {
	n := len(in.AxialLength)
	if err := in.check(n); err != nil {
		return err
	}
	for i := range tasks {
		if err := tasks[i].check(&in, n); err != nil {
			return err
		}
	}
	var b block
	for at := 0; at < n; at += blockSize {
		b.prepare(&in, at, min(at+blockSize, n))
		for i := range tasks {
			b.positions(&in, &tasks[i])
			b.answers(&tasks[i])
		}
	}
	return nil
}

func (in *Columns) check(n int) error {
	for _, have := range [...]int{len(in.K), len(in.Vertex), len(in.Target)} {
		if have != n {
			return errColumn(have, n)
		}
	}
	for _, have := range [...]int{len(in.KBefore), len(in.ACD)} {
		if have != n && have != 0 {
			return errColumn(have, n)
		}
	}
	return nil
}

func (t *Task) check(in *Columns, n int) error {
	m, out := t.Constant.method, &t.Answers
	switch {
	case m == nil:
		return &MissingError{"bulk", "a"}
	case m.NeedsACD() && len(in.ACD) != n:
		return &MissingError{m.ID, "acd_mm"}
	case !(t.Step > 0):
		return &unit.RangeError{What: "step_d", Got: float64(t.Step), Low: 0, High: math.Inf(1), Unit: "D"}
	}
	for _, have := range [...]int{len(out.Position), len(out.Emmetropia), len(out.Power), len(out.Lens), len(out.Refraction), len(out.Refused)} {
		if have != n {
			return errColumn(have, n)
		}
	}
	return nil
}

func errColumn(have, want int) error {
	return fmt.Errorf("lenspower: a column of %d rows beside %d axial lengths", have, want)
}

// blockSize rows of everything a block holds fit the nearest cache.
const blockSize = 256

// block is a stretch of eyes with what all methods share.
type block struct {
	from, to int
	al, k    [blockSize]float64
	radius   [blockSize]float64 // of the K the position is predicted from, in mm
	before   [blockSize]float64 // that K
	target   [blockSize]float64
	vertex   [blockSize]float64 // in metres
	q        [blockSize]float64 // 1 − V·Ref; 0 marks a row outside the domain
	d        [blockSize]float64 // position by the method at hand, in units of 1000n mm
}

// prepare reads rows from…to.
func (b *block) prepare(in *Columns, from, to int) {
	b.from, b.to = from, to
	before := in.KBefore
	if len(before) == 0 {
		before = in.K
	}
	al, k, kb, v, t := in.AxialLength[from:to], in.K[from:to], before[from:to], in.Vertex[from:to], in.Target[from:to]
	for i := range al {
		l, p, w := float64(al[i]), float64(k[i]), float64(kb[i])
		b.al[i], b.k[i], b.before[i], b.radius[i] = l, p, w, radius(w)
		vertex, target := 0.001*float64(v[i]), float64(t[i])
		q := 1 - vertex*target
		if !(within(l, lengthBounds) && within(p, kBounds) && within(w, kBounds) && within(float64(v[i]), vertexBounds)) {
			q, target = 0, 1 // the image of such a cornea lies in front of the lens: refused below
		}
		b.target[i], b.vertex[i], b.q[i] = target, vertex, q
	}
}

const perMillimetre = 1000 * float64(optics.Aqueous)

// positions fills d and the answers' positions; a position of 0 is refused by
// answers.
func (b *block) positions(in *Columns, t *Task) {
	n := b.to - b.from
	offset := t.Constant.offset
	out := t.Answers.Position[b.from:b.to]
	d := b.d[:n]
	switch m := t.Constant.method; m.kind {
	case srkT:
		al, k, r := b.al[:n], b.before[:n], b.radius[:n]
		for i := range d {
			h, ok := srktHeight(r[i], srktWidth(al[i], k[i]))
			if !ok {
				h = -offset
			}
			d[i] = h + offset
		}
	case t2:
		al, k := b.al[:n], b.before[:n]
		for i := range d {
			d[i] = t2Height(al[i], k[i]) + offset
		}
	case holladay1:
		al, r := b.al[:n], b.radius[:n]
		for i := range d {
			d[i] = holladayDepth(al[i], r[i]) + offset
		}
	case hofferQ:
		al, k := b.al[:n], b.before[:n]
		for i := range d {
			d[i] = hofferDepth(al[i], k[i]) + offset
		}
	case haigis:
		a1, a2 := float64(t.Constant.A1), float64(t.Constant.A2)
		al, acd := b.al[:n], in.ACD[b.from:b.to]
		for i := range d {
			x := float64(acd[i])
			d[i] = haigisDepth(al[i], x, a1, a2) + offset
			if !within(x, acdBounds) {
				d[i] = 0
			}
		}
	}
	for i := range out {
		out[i] = unit.Millimetre(d[i])
	}
}

// answers fills the other columns from the positions, with the engine of
// [optics.Thin] over one common denominator for both powers. In units of 1000n
// the cornea's image is 1 − d·Kc, and
//
//	P = 1000n/b − z/(q − d·z),  z = Kc·q + Ref,  b = L − d
//	Ref = (V·(1 − d·Kc) − Kc)/((1 + d·V) + v·(V·(1 − d·Kc) − Kc)),  V = 1000n/b − P
func (b *block) answers(task *Task) {
	m, out, n := task.Constant.method, &task.Answers, b.to-b.from
	al, k, t, v, q, d := b.al[:n], b.k[:n], b.target[:n], b.vertex[:n], b.q[:n], b.d[:n]
	e, p, l, r, bad := out.Emmetropia[b.from:b.to], out.Power[b.from:b.to], out.Lens[b.from:b.to], out.Refraction[b.from:b.to], out.Refused[b.from:b.to]
	e, p, l, r, bad = e[:n], p[:n], l[:n], r[:n], bad[:n]
	cornea, length0, length1, step := m.cornea, m.length0, m.length1, float64(task.Step)
	steps := 1 / step
	for i := range d {
		kc := cornea * k[i]
		behind := length0 + length1*al[i] - d[i]
		near := d[i] * (1 / perMillimetre)
		z := kc*q[i] + t[i]
		image0, image := 1-near*kc, q[i]-near*z
		both, first := behind*image0, behind*image
		inverse := 1 / (both * image)
		retina := perMillimetre * image0 * image * inverse
		power := retina - z*both*inverse
		e[i] = unit.Dioptre(retina - kc*first*inverse)
		p[i] = unit.Dioptre(power)
		lens := math.Floor(power*steps+0.5) * step
		l[i] = unit.Dioptre(lens)
		before := retina - lens
		rc := before*image0 - kc
		den := 1 + near*before + v[i]*rc
		r[i] = unit.Dioptre(rc / den)
		bad[i] = false
		if !(near > 0 && behind > 0 && image0 > 0 && image > 0 && den > 0) {
			out.Position[b.from+i], e[i], p[i], l[i], r[i], bad[i] = 0, 0, 0, 0, 0, true
		}
	}
}
