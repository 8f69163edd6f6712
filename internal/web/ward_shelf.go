package web

import (
	"context"

	"linn/internal/pathway"
	"linn/unit"
)

func (a *ward) Shelf(ctx context.Context, by Actor) (Shelf, error) {
	lenses, err := a.Pathway.Shelf(ctx, actorOf(by))
	sh := Shelf{Editable: pathway.May(pathway.Role(by.Role), pathway.VerbLens), Counting: pathway.May(pathway.Role(by.Role), pathway.VerbStock)}
	for i := range lenses {
		sh.Models = append(sh.Models, a.model(&lenses[i]))
	}
	if err != nil {
		return sh, said(err)
	}
	sh.Measuring = pathway.May(pathway.Role(by.Role), pathway.VerbMachine)
	machines, err := a.Machines(ctx, actorOf(by))
	sh.Machines = a.machinesOf(machines)
	return sh, said(err)
}

func (a *ward) model(l *pathway.ShelfLens) Model {
	m := Model{ID: l.ID, Name: l.Model, Revision: l.Number, Withdrawn: l.Withdrawn,
		From: unit.Dioptre(l.Lens["from_d"]), To: unit.Dioptre(l.Lens["to_d"]), Step: unit.Dioptre(l.Lens["step_d"])}
	for _, c := range l.Constants {
		m.Constants = append(m.Constants, ModelConstant{Method: c.Method, Name: c.Name, Value: constantText(c.Name, c.Value),
			Origin: string(c.Origin), N: c.Eyes, Since: c.From})
	}
	if m.Step > 0 {
		for k := 0; ; k++ {
			p := m.From + unit.Dioptre(k)*m.Step
			if p > m.To+0.001 {
				break
			}
			count, counted := l.InStock(p)
			m.Powers = append(m.Powers, ShelfPower{p, counted, count})
		}
	}
	return m
}

// constantText prints a constant: the A constant to two decimals, those in mm
// with their unit, the rest to four.
func constantText(key string, v float64) string {
	switch key {
	case "a":
		return unit.Fixed(v, 2)
	case "sf_mm", "pacd_mm":
		return unit.Fixed(v, 2) + unit.Thin + "mm"
	}
	return unit.Fixed(v, 4)
}

// constantLine names a constant with its value.
func (w words) constantLine(key string, v float64) string {
	return w.t("constant."+key) + " " + constantText(key, v)
}

func (a *ward) AddModel(ctx context.Context, by Actor, m NewModel) error {
	form := pathway.LensForm{Model: m.Name, Material: m.Material, Pieces: m.Pieces, MadeFor: m.MadeFor, Numbers: map[string]string{}}
	for key, text := range map[string]string{"from_d": m.From, "to_d": m.To, "step_d": m.Step} {
		if text != "" {
			form.Numbers[key] = text
		}
	}
	for key, text := range m.Cylinders {
		form.Numbers[key] = text
	}
	for _, key := range constantKeys {
		if text := m.Constants[key]; text != "" {
			form.Constants = append(form.Constants, pathway.ConstantForm{Name: key, Value: text, Origin: "label"})
		}
	}
	_, err := a.AddLens(ctx, actorOf(by), form)
	return said(err)
}

func (a *ward) Stock(ctx context.Context, by Actor, s StockChange) error {
	counts := map[string]string{}
	for power, count := range s.Counts {
		if count != "" {
			counts[power] = count
		}
	}
	return said(a.Pathway.Stock(ctx, actorOf(by), s.Model, s.Revision, counts))
}
