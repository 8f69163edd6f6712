package web

import (
	"html/template"
	"slices"
	"strconv"
	"strings"

	"linn/eye"
)

// MeasuredView is the first stage: the eye drawn, and both eyes' readings.
type MeasuredView struct {
	Prefix   string
	CaseID   string
	Revision int
	Fellow   int
	Editable bool
	Wide     template.HTML // the eye drawn for a wide page
	Narrow   template.HTML // and for a phone
	Columns  []EyeColumn   // right, left
	Folds    []FoldView
	Queue    []RepeatView
}

// EyeColumn is one eye's fields.
type EyeColumn struct {
	Side   string // right, left
	Words  string // RIGHT EYE
	Note   string // "this plan", "the other eye"
	Here   bool   // the eye of this plan
	Groups []FieldGroup
}

// FieldGroup is a run of fields that is saved when it is left.
type FieldGroup struct {
	ID, Name string
	Fields   []FieldView
}

// FoldView is a group that most eyes have nothing to say about: it stands behind
// its name, both eyes side by side.
type FoldView struct {
	ID, Name string
	Sides    []string // RIGHT EYE, LEFT EYE
	Open     bool     // because something was entered, or the eye asks for it
	Rows     []FoldRow
}

// FoldRow is one question of both eyes.
type FoldRow struct {
	Label  string
	Fields []FieldView // right, left
}

// FieldView is one field of a form.
type FieldView struct {
	ID, Name string
	Label    string
	Full     string // label with the side, for those who hear the page
	Unit     string
	Value    string
	Options  []Option // a list of words; empty for typing
	Date     bool     // a date as YYYY-MM-DD
	Number   bool
	Low      string // bounds for the placed decimal point
	High     string
	Decimals string
	Group    string
	Message  string
	Focus    bool
}

// RepeatView is a reading to be typed again.
type RepeatView struct {
	Side  string
	Field FieldView
	Why   string
}

// entryGroups are the fields of the form, in the order a printout has them.
var entryGroups = []struct {
	id   string
	keys []string
}{
	{"length", []string{"axial_length_mm", "axial_length_method", "velocity_m_s"}},
	{"cornea", []string{"k_flat_d", "k_flat_axis_deg", "k_steep_d", "k_steep_axis_deg", "keratometric_index"}},
	{"depth", []string{"acd_mm", "lens_thickness_mm", "white_to_white_mm", "corneal_thickness_um"}},
	{"state", []string{"lens_status", "vitreous", "corneal_surgery"}},
	{"when", []string{"measured_on", "device", "operator"}},
	{historyGroup, historyKeys},
	{"surface", []string{"pterygium", "pterygium_removed_on", "keratoconus", "lashes_on_eye", "active_trachoma", "axial_scar", "k_substitute"}},
	{"second", []string{"refraction_now_d", "second_lens", "implant_d", "implant_material", "implant_thickness_mm", "axial_length_mode"}},
	{"oil", []string{"oil_stays", "oil_viscosity_cst", "oil_rule", "vitreous_mm"}},
	{"capsule", []string{"capsulorhexis", "posterior_capsule", "tension_ring", "lens_length_mm", "iridectomy", "cell_count_per_mm2"}},
	{"first-eye", []string{"first_eye_predicted_d", "first_eye_achieved_d", "first_eye_days", "first_eye_same_lens", "first_eye_same_method", "first_eye_place", "first_eye_complication"}},
}

// folded are the groups that most eyes have nothing to say about.
var folded = []string{"surface", "second", "oil", "capsule", "first-eye"}

// historyGroup is asked only where the cornea of either eye was operated on.
const historyGroup = "history"

var historyKeys = []string{"k_before_d", "refraction_before_d", "refraction_after_d"}

// operated reports surgery of the cornea of either eye, as typed.
func (c *EyeCase) operated() bool {
	return slices.ContainsFunc(bothSides, func(side eye.Side) bool {
		s := strings.TrimSpace(c.Of(side).Texts["corneal_surgery"])
		return s != "" && s != string(eye.NoSurgery)
	})
}

// withoutLens and filled say that a group of questions belongs to the eye.
func withoutLens(r *Readings) bool {
	s := strings.TrimSpace(r.Texts["lens_status"])
	return s != "" && s != string(eye.Phakic)
}

func filled(r *Readings) bool {
	v := eye.Vitreous(strings.TrimSpace(r.Texts["vitreous"]))
	return v == eye.Oil || v == eye.Gas
}

// foldedKeys are the questions of the folded groups: unanswered is not missing.
var foldedKeys = func() (all []string) {
	for _, g := range entryGroups {
		if slices.Contains(folded, g.id) {
			all = append(all, g.keys...)
		}
	}
	return all
}()

// entryKeys are all of them.
var entryKeys = func() (all []string) {
	for _, g := range entryGroups {
		all = append(all, g.keys...)
	}
	return all
}()

// placed are the decimals that typed digits may be given, by contract key. A
// field that is not named never has its decimal point placed.
var placed = map[string]int{
	"axial_length_mm": 2, "k_flat_d": 2, "k_steep_d": 2, "keratometric_index": 4,
	"acd_mm": 2, "lens_thickness_mm": 2, "white_to_white_mm": 2,
}

func (s *server) measuredView(c *EyeCase) MeasuredView {
	v := MeasuredView{Prefix: s.prefix, CaseID: c.CaseID, Revision: c.Revision, Fellow: c.Fellow, Editable: c.Editable}
	empty := len(c.Right.Texts) == 0 && len(c.Left.Texts) == 0
	for _, side := range bothSides {
		col := EyeColumn{Side: string(side), Words: s.side(side), Note: s.t("measured.other"), Here: side == c.Side}
		if col.Here {
			col.Note = s.t("measured.here")
		}
		for _, g := range entryGroups {
			if g.id == historyGroup && !c.operated() || slices.Contains(folded, g.id) {
				continue
			}
			group := FieldGroup{ID: g.id, Name: s.t("group." + g.id)}
			for _, key := range g.keys {
				f := s.field(side, key, c.Of(side))
				f.Group = string(side) + "-" + g.id
				f.Focus = c.Editable && empty && col.Here && key == "axial_length_mm"
				group.Fields = append(group.Fields, f)
			}
			col.Groups = append(col.Groups, group)
		}
		v.Columns = append(v.Columns, col)
	}
	v.Folds = s.folds(c)
	for _, item := range c.Queue {
		v.Queue = append(v.Queue, s.repeatView(item))
	}
	v.Wide, v.Narrow = s.drawEye(c, wideEye), s.drawEye(c, narrowEye)
	return v
}

// folds are the folded groups, each question once for both eyes.
func (s *server) folds(c *EyeCase) (list []FoldView) {
	for _, g := range entryGroups {
		if !slices.Contains(folded, g.id) {
			continue
		}
		fold := FoldView{ID: "fold-" + g.id, Name: s.t("group." + g.id)}
		for _, side := range bothSides {
			fold.Sides = append(fold.Sides, s.side(side))
			fold.Open = fold.Open || g.id == "second" && withoutLens(c.Of(side)) || g.id == "oil" && filled(c.Of(side))
		}
		for _, key := range g.keys {
			row := FoldRow{Label: s.label(key)}
			for _, side := range bothSides {
				f := s.field(side, key, c.Of(side))
				f.Group = string(side) + "-" + g.id
				fold.Open = fold.Open || f.Value != ""
				row.Fields = append(row.Fields, f)
			}
			fold.Rows = append(fold.Rows, row)
		}
		list = append(list, fold)
	}
	return list
}

func (s *server) field(side eye.Side, key string, r *Readings) FieldView {
	def := eye.FieldNamed(key)
	f := FieldView{
		ID: string(side) + "-" + key, Name: fieldName(side, key), Label: s.label(key),
		Full:  s.t("field.of", "field", s.label(key), "side", s.side(side)),
		Value: r.Texts[key], Number: def.Number, Unit: def.Unit, Message: s.refusalAt(r.Refused, key),
	}
	f.Date = key == "measured_on" || key == "pterygium_removed_on"
	if n, ok := placed[key]; ok {
		f.Decimals, f.Low, f.High = strconv.Itoa(n), bound(def.Bounds.Low), bound(def.Bounds.High)
	}
	if def.Words != nil {
		f.Options = append(f.Options, Option{"", s.t("not-recorded"), f.Value == ""})
		for _, word := range def.Words {
			f.Options = append(f.Options, Option{word, s.t("word." + key + "." + word), f.Value == word})
		}
	}
	return f
}

func (s *server) repeatView(item RepeatItem) RepeatView {
	r := Readings{Texts: map[string]string{item.Field: item.Text}}
	f := s.field(item.Side, item.Field, &r)
	f.ID, f.Group = "again-"+f.ID, "again"
	if item.Refusal != nil {
		f.Message = s.entryText(*item.Refusal)
	}
	f.Full = s.t("repeat.field", "field", f.Label, "side", s.side(item.Side))
	why := s.t("repeat.finding")
	switch item.Why {
	case "second-entry":
		why = s.t("repeat.second-entry")
	case "disagrees":
		why = s.t("repeat.disagrees")
	}
	return RepeatView{s.side(item.Side), f, why}
}

func bound(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
