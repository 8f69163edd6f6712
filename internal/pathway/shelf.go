package pathway

import (
	"cmp"
	"context"
	"math"
	"slices"
	"strconv"
	"strings"

	"linn/calc/lenspower"
	"linn/eye"
	"linn/finding"
	"linn/internal/care/casebook"
	"linn/unit"
)

// ShelfLens is one lens model on the Shelf.
type ShelfLens struct {
	ID     string
	Number int // of the newest revision
	casebook.LensModel
}

// LensForm is a lens model as typed. Numbers are from_d, to_d, step_d, index,
// thickness_mm, shape_factor and optic_mm; from, to and step have the
// defaults of the file format.
type LensForm struct {
	Model, Material, Pieces string
	MadeFor                 string // bag, sulcus, chamber; "" is the bag
	Numbers                 map[string]string
	Constants               []ConstantForm
}

// ConstantForm is one constant as typed. Method is "" when any method may use
// it. Origin says where it comes from; Eyes, From and To belong to one that
// was fitted.
type ConstantForm struct {
	Method, Name, Value string
	Origin              string
	Note                string
	Eyes                int
	From, To            unit.Date
}

// Origins lists where a constant can come from.
var Origins = []casebook.Origin{casebook.LabelConstant, casebook.PublishedConstant, casebook.OwnFitted, casebook.Converted}

// model reads the form, or says everything that is wrong with it.
func (f LensForm) model() (m casebook.LensModel, err error) {
	var bad finding.Refusals
	lens := lenspower.NewLens()
	m = casebook.LensModel{Model: line(f.Model), Material: line(f.Material), Pieces: casebook.Pieces(f.Pieces), Lens: map[string]float64{}}
	if m.Model == "" || len(m.Model) > maxText {
		bad = append(bad, finding.Refusal{Code: "needed", Field: "model"})
	}
	if m.Pieces != "" && m.Pieces != casebook.OnePiece && m.Pieces != casebook.ThreePiece {
		bad = append(bad, finding.Refusal{Code: "unknown-word", Field: "pieces", Values: finding.Values{value("got", clip(f.Pieces)),
			value("allowed", string(casebook.OnePiece+", "+casebook.ThreePiece))}})
	}
	bad = append(bad, f.place(&m)...)
	for key, text := range f.Numbers {
		if strings.TrimSpace(text) != "" {
			bad = append(bad, number(&lens, key, text, false)...)
		}
	}
	if r := lens.Check(); r != nil {
		bad = append(bad, *r)
	}
	keep(&m, &lens, f.Numbers)
	for _, c := range f.Constants {
		constant, refused := c.constant()
		m.Constants = append(m.Constants, constant)
		bad = append(bad, refused...)
	}
	if len(f.Constants) == 0 {
		bad = append(bad, finding.Refusal{Code: "constant-needed", Field: "constants"})
	}
	slices.SortStableFunc(bad, func(a, b finding.Refusal) int { return strings.Compare(a.Field, b.Field) })
	return m, append(bad, twice(m.Constants)...).Err()
}

// place reads what the lens is made for.
func (f LensForm) place(m *casebook.LensModel) finding.Refusals {
	var lens lenspower.Lens
	if f.MadeFor == "" {
		return nil
	}
	if r := lenspower.LensFieldNamed("made_for").Set(&lens, f.MadeFor); r != nil {
		return finding.Refusals{*r}
	}
	if lens.MadeFor != eye.Bag {
		m.MadeFor = string(lens.MadeFor)
	}
	return nil
}

// number reads one number of a lens by its key.
func number(lens *lenspower.Lens, key, text string, constant bool) finding.Refusals {
	f := lenspower.LensFieldNamed(key)
	if f == nil || f.Constant != constant || !f.Number {
		return finding.Refusals{{Code: "unknown-key", Field: clip(key)}}
	}
	if r := f.Set(lens, strings.TrimSpace(text)); r != nil {
		return finding.Refusals{*r}
	}
	return nil
}

// keep copies what was read into the record's map; the shelf always has its
// three numbers.
func keep(m *casebook.LensModel, lens *lenspower.Lens, typed map[string]string) {
	for i := range lenspower.LensFields {
		f := &lenspower.LensFields[i]
		_, named := typed[f.Key]
		if f.Constant || !f.Number || !named && !slices.Contains([]string{"from_d", "to_d", "step_d"}, f.Key) {
			continue
		}
		if v, err := unit.ParseNumber(f.Get(lens)); err == nil {
			m.Lens[f.Key] = v
		}
	}
}

func (c ConstantForm) constant() (casebook.Constant, finding.Refusals) {
	var lens lenspower.Lens
	out := casebook.Constant{Method: c.Method, Name: c.Name, Origin: casebook.Origin(c.Origin), Note: line(c.Note), Eyes: c.Eyes, From: c.From, To: c.To}
	bad := number(&lens, c.Name, c.Value, true)
	if len(bad) == 0 {
		v, err := unit.ParseNumber(lenspower.LensFieldNamed(c.Name).Get(&lens))
		if err != nil { // Set has just read it
			panic("pathway: constant: " + err.Error())
		}
		out.Value = v
	}
	if c.Method != "" && lenspower.MethodNamed(c.Method) == nil {
		bad = append(bad, finding.Refusal{Code: "unknown-method", Field: c.Name, Values: finding.Values{value("got", clip(c.Method))}})
	}
	if !slices.Contains(Origins, out.Origin) {
		bad = append(bad, finding.Refusal{Code: "origin-needed", Field: c.Name})
	}
	if out.Origin == casebook.OwnFitted && c.Eyes <= 0 {
		bad = append(bad, finding.Refusal{Code: "eyes-needed", Field: c.Name})
	}
	return out, bad
}

// twice refuses two constants of one name for one method.
func twice(list []casebook.Constant) (bad finding.Refusals) {
	seen := map[string]bool{}
	for _, c := range list {
		if key := c.Method + " " + c.Name; seen[key] {
			bad = append(bad, finding.Refusal{Code: "constant-twice", Field: c.Name})
		} else {
			seen[key] = true
		}
	}
	return bad
}

// AddLens puts a lens model on the Shelf.
func (p *Pathway) AddLens(ctx context.Context, by casebook.Actor, form LensForm) (id string, err error) {
	err = p.do(ctx, by, VerbLens, func(t *turn) error {
		m, err := form.model()
		if err != nil {
			return err
		}
		if err := t.freshModel(m.Model, ""); err != nil {
			return err
		}
		if id, err = casebook.NewID(t.Random, t.now); err != nil {
			return err
		}
		m.Verb = casebook.VerbConstant
		err = t.revise(id, Newest, casebook.Revision{}, m)
		return err
	})
	return id, err
}

// freshModel refuses the name of another model.
func (t *turn) freshModel(name, own string) error {
	all, err := casebook.All[casebook.LensModel](t.tx)
	if err != nil {
		return err
	}
	for _, other := range all {
		if other.Revision.Chain != own && strings.EqualFold(other.State.Model, name) {
			return refuse("model-known", "model", value("got", name))
		}
	}
	return nil
}

// EditLens changes a lens model and its constants, with a reason. Signed plans
// with this lens reopen when a constant they used is another now.
func (p *Pathway) EditLens(ctx context.Context, by casebook.Actor, id string, seen int, form LensForm, reason string) error {
	return p.do(ctx, by, VerbLens, func(t *turn) error {
		was, head, err := casebook.Load[casebook.LensModel](t.tx, id)
		if err != nil {
			return err
		}
		if line(reason) == "" {
			return refuse("reason-needed", "reason")
		}
		m, err := form.model()
		if err != nil {
			return err
		}
		if err := t.freshModel(m.Model, id); err != nil {
			return err
		}
		m.Verb, m.Reason, m.Stock, m.Withdrawn = casebook.VerbConstant, line(reason), was.Stock, was.Withdrawn
		return t.revise(id, seen, head, m)
	})
}

// WithdrawLens takes a model out of use, with a reason, or brings it back with
// reason "".
func (p *Pathway) WithdrawLens(ctx context.Context, by casebook.Actor, id string, seen int, reason string) error {
	return p.do(ctx, by, VerbLens, func(t *turn) error {
		m, head, err := casebook.Load[casebook.LensModel](t.tx, id)
		if err != nil {
			return err
		}
		m.Verb, m.Reason, m.Withdrawn = casebook.VerbConstant, line(reason), line(reason)
		return t.revise(id, seen, head, m)
	})
}

// Stock writes down how many lenses of each power were counted; power → count,
// both as typed. A power that is not named was not counted and stays.
func (p *Pathway) Stock(ctx context.Context, by casebook.Actor, id string, seen int, counts map[string]string) error {
	return p.do(ctx, by, VerbStock, func(t *turn) error {
		m, head, err := casebook.Load[casebook.LensModel](t.tx, id)
		if err != nil {
			return err
		}
		counted, err := counted(m, counts)
		if err != nil {
			return err
		}
		m.Verb, m.Reason, m.Stock = casebook.VerbStock, "", counted
		return t.revise(id, seen, head, m)
	})
}

// maxCount is more of one power than any ward has on its shelf.
const maxCount = 9999

// counted is the stock with the new counts, by power.
func counted(m casebook.LensModel, counts map[string]string) ([]casebook.Shelved, error) {
	var bad finding.Refusals
	stock := slices.Clone(m.Stock)
	for power, count := range counts {
		d, errD := unit.ParseNumber(power)
		n, errN := strconv.Atoi(strings.TrimSpace(count))
		if errD != nil || !onShelf(m, unit.Dioptre(d)) {
			bad = append(bad, finding.Refusal{Code: "power-not-made", Field: "power_d", Values: finding.Values{value("got", clip(power))}})
			continue
		}
		if errN != nil || n < 0 || n > maxCount {
			bad = append(bad, finding.Refusal{Code: "count", Field: "stock", Values: finding.Values{value("got", clip(count)), value("power", unit.Dioptre(d).String())}})
			continue
		}
		stock = slices.DeleteFunc(stock, func(s casebook.Shelved) bool { return s.Power == unit.Dioptre(d) })
		stock = append(stock, casebook.Shelved{Power: unit.Dioptre(d), Count: n})
	}
	slices.SortFunc(stock, func(a, b casebook.Shelved) int { return cmp.Compare(a.Power, b.Power) })
	slices.SortFunc(bad, func(a, b finding.Refusal) int { return strings.Compare(a.Values.Get("got"), b.Values.Get("got")) })
	return stock, bad.Err()
}

// onShelf reports whether the model is made in the power.
func onShelf(m casebook.LensModel, power unit.Dioptre) bool {
	from, to, step := m.Lens["from_d"], m.Lens["to_d"], m.Lens["step_d"]
	if !(step > 0) {
		return false
	}
	k := (float64(power) - from) / step
	return math.Abs(k-math.Round(k)) < 1e-6 && k > -1e-6 && float64(power) <= to+1e-6
}

// Shelf lists the lens models by name.
func (p *Pathway) Shelf(ctx context.Context, by casebook.Actor) (list []ShelfLens, err error) {
	err = p.look(ctx, by, VerbShelf, func(t *turn) error {
		list, err = t.shelf()
		return err
	})
	return list, err
}

func (t *turn) shelf() (list []ShelfLens, err error) {
	if t.lenses != nil {
		return t.lenses, nil
	}
	all, err := casebook.All[casebook.LensModel](t.tx)
	for _, v := range all {
		list = append(list, ShelfLens{v.Revision.Chain, v.Revision.Number, v.State})
	}
	slices.SortFunc(list, func(a, b ShelfLens) int { return strings.Compare(a.Model, b.Model) })
	t.lenses = list
	return list, err
}
