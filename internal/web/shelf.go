package web

import (
	"cmp"
	"errors"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"linn/finding"
	"linn/internal/locale"
	"linn/unit"
)

// ShelfView is what lies ready: lens models, constants, stock.
type ShelfView struct {
	Frame
	Editable bool
	Counting bool
	Models   []ModelView

	Measuring bool
	Machines  []Machine

	Refused []string
	Form    []FieldView
}

// ModelView is one lens model.
type ModelView struct {
	ID, Name  string
	Revision  int
	Withdrawn string
	Range     string
	Constants []ConstantView
	Label     bool // some constant is a label value
	Stock     []PowerBox
	InHouse   string
}

// ConstantView is one constant with where it comes from.
type ConstantView struct {
	Method, Name, Value, Origin, More string
	Class                             string // label, fitted, converted, own
}

// PowerBox is one power of the stock form.
type PowerBox struct {
	Value string
	Num   Num
	Count string // "" was not counted
	In    bool
}

// constantKeys are the constants of the file format, in its order.
var constantKeys = []string{"a", "sf_mm", "pacd_mm", "a0", "a1", "a2", "c"}

func (s *server) shelf(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.shelfPage(w, r, by, nil, nil)
}

func (s *server) shelfPage(w http.ResponseWriter, r *http.Request, by Actor, refused finding.Refusals, typed map[string]string) error {
	sh, err := s.Pathway.Shelf(r.Context(), by)
	if err != nil {
		return err
	}
	v := ShelfView{Frame: s.frame(r, by, s.t("place.shelf"), "shelf"), Editable: sh.Editable, Counting: sh.Counting, Measuring: sh.Measuring, Machines: sh.Machines, Refused: s.refusalText(refused)}
	for _, m := range sh.Models {
		v.Models = append(v.Models, s.modelView(m))
	}
	for _, key := range slices.Concat([]string{"name", "from_d", "to_d", "step_d"}, constantKeys, cylinderKeys) {
		f := FieldView{ID: "model-" + key, Name: key, Label: s.t("model." + key), Value: typed[key], Number: key != "name"}
		v.Form = append(v.Form, f)
	}
	v.Form = append(v.Form, s.formOfLens(typed)...)
	status := http.StatusOK
	if refused != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "shelf", "page", v)
}

// cylinderKeys are the cylinders of a toric model, at the lens plane.
var cylinderKeys = []string{"cylinder_from_d", "cylinder_to_d", "cylinder_step_d", "axis_marks"}

// formOfLens asks what decides where a lens may go when an operation goes
// otherwise.
func (s *server) formOfLens(typed map[string]string) []FieldView {
	pieces := FieldView{ID: "model-pieces", Name: "pieces", Label: s.t("model.pieces")}
	for _, w := range []string{"", "one-piece", "three-piece"} {
		pieces.Options = append(pieces.Options, Option{w, s.t("model.pieces." + cmp.Or(w, "none")), typed["pieces"] == w})
	}
	place := FieldView{ID: "model-made_for", Name: "made_for", Label: s.t("model.made_for")}
	for _, w := range []string{"bag", "sulcus", "chamber"} {
		place.Options = append(place.Options, Option{w, s.t("word.made_for." + w), typed["made_for"] == w})
	}
	return []FieldView{{ID: "model-material", Name: "material", Label: s.t("model.material"), Value: typed["material"]}, pieces, place}
}

func (s *server) modelView(m Model) ModelView {
	v := ModelView{ID: m.ID, Name: m.Name, Revision: m.Revision, Withdrawn: m.Withdrawn, Range: s.t("model.range", "from", m.From, "to", m.To, "step", m.Step.Unsigned())}
	for _, c := range m.Constants {
		method := s.t("shelf.any-method")
		if c.Method != "" {
			method = locale.Method(s.lang, c.Method)
		}
		line := ConstantView{Method: method, Name: s.t("constant." + c.Name), Value: c.Value,
			Origin: s.t("origin." + c.Origin), Class: c.Origin}
		if c.N > 0 {
			line.More = s.t("constant.fitted", "n", unit.Fixed(float64(c.N), 0), "since", s.date(c.Since))
		}
		v.Label = v.Label || c.Origin == "label"
		v.Constants = append(v.Constants, line)
	}
	in, counted := 0, false
	for _, p := range m.Powers {
		box := PowerBox{Value: unit.Signed(float64(p.Power), 2), Num: num(p.Power), In: p.Counted && p.Count > 0}
		if p.Counted {
			counted, box.Count = true, strconv.Itoa(p.Count)
		}
		if box.In {
			in++
		}
		v.Stock = append(v.Stock, box)
	}
	v.InHouse = s.t("model.not-counted")
	if counted {
		v.InHouse = s.t("model.in-house", "n", strconv.Itoa(in), "of", strconv.Itoa(len(m.Powers)))
	}
	return v
}

func (s *server) addModel(w http.ResponseWriter, r *http.Request, by Actor) error {
	typed := map[string]string{}
	for key := range r.PostForm {
		typed[key] = strings.TrimSpace(r.PostForm.Get(key))
	}
	m := NewModel{Name: typed["name"], From: typed["from_d"], To: typed["to_d"], Step: typed["step_d"], Constants: map[string]string{},
		Material: typed["material"], Pieces: typed["pieces"], MadeFor: typed["made_for"]}
	for _, key := range constantKeys {
		if typed[key] != "" {
			m.Constants[key] = typed[key]
		}
	}
	for _, key := range cylinderKeys {
		if typed[key] != "" {
			if m.Cylinders == nil {
				m.Cylinders = map[string]string{}
			}
			m.Cylinders[key] = typed[key]
		}
	}
	err := s.Pathway.AddModel(r.Context(), by, m)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.shelfPage(w, r, by, refused, typed)
	}
	if err == nil {
		s.to(w, r, "/shelf")
	}
	return err
}

func (s *server) stock(w http.ResponseWriter, r *http.Request, by Actor) error {
	c := StockChange{Model: r.PostForm.Get("model"), Revision: revision(r), Counts: map[string]string{}}
	for key := range r.PostForm {
		if power, is := strings.CutPrefix(key, "count."); is {
			c.Counts[power] = strings.TrimSpace(r.PostForm.Get(key))
		}
	}
	err := s.Pathway.Stock(r.Context(), by, c)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.shelfPage(w, r, by, refused, nil)
	}
	if err == nil {
		s.to(w, r, "/shelf")
	}
	return err
}
