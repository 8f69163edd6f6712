package web

import (
	"html/template"
	"net/http"
	"strings"

	"linn/finding"
	"linn/internal/locale"
	"linn/unit"
)

// WardView is the list of eyes to do.
type WardView struct {
	Frame
	Today   string
	Count   string
	Filter  string
	Groups  []WardGroup
	Empty   bool // nothing on the Ward at all
	NoMatch bool // the filter leaves nothing
	InDemo  bool
	MayOpen bool // a new eye
	Waiting string
	Late    bool // somebody is overdue
}

// WardGroup is one theatre list, or the eyes on no list.
type WardGroup struct {
	Title string
	Pack  string // where the list is locked, "" for those who may not
	Rows  []WardRowView
}

// WardRowView is one eye.
type WardRowView struct {
	Href       string
	Place      string
	Name       string
	Identifier string
	Person     string
	Side       string
	Model      string
	Power      Num
	Chosen     bool
	Missing    *Mark
	State      string
	Stream     template.HTML
}

// Mark is a severity as word and shape, with its text.
type Mark struct {
	Class string // note, caution, stop, need
	Word  string
	Text  string
}

func (s *server) mark(f finding.Finding) *Mark {
	return &Mark{f.Severity.String(), locale.Severity(s.lang, f.Severity), s.sentence(f)}
}

// brief is a finding as it stands on the Ward: its first sentence.
func (s *server) brief(f finding.Finding) *Mark {
	m := s.mark(f)
	if first, _, more := strings.Cut(m.Text, ". "); more {
		m.Text = first + "."
	}
	return m
}

func (s *server) ward(w http.ResponseWriter, r *http.Request, by Actor) error {
	ward, err := s.Pathway.Ward(r.Context(), by)
	if err != nil {
		return err
	}
	filter := strings.TrimSpace(r.Form.Get("q"))
	v := WardView{
		Frame: s.reminded(s.frame(r, by, s.t("place.ward"), "ward")), Today: s.date(ward.Today), Filter: filter,
		Empty: len(ward.Rows) == 0, InDemo: s.Access.Demo(r) != nil, MayOpen: s.Pathway.May(by, ToOpenCase),
	}
	if n := ward.Waiting; ward.Round && n.Due+n.Overdue+n.Lost > 0 {
		v.Waiting, v.Late = s.t("ward.waiting", "due", index(n.Due), "overdue", index(n.Overdue), "lost", index(n.Lost)), n.Overdue+n.Lost > 0
	}
	v.Groups = s.wardGroups(ward.Rows, filter, s.Pathway.May(by, ToLock))
	shown := 0
	for _, g := range v.Groups {
		shown += len(g.Rows)
	}
	v.NoMatch = shown == 0 && !v.Empty
	v.Count = s.wardCount(len(ward.Rows), shown, filter)
	return s.render(w, http.StatusOK, "ward", "page", v)
}

func (s *server) wardCount(all, shown int, filter string) string {
	n, of := unit.Fixed(float64(shown), 0), unit.Fixed(float64(all), 0)
	switch {
	case filter != "":
		return s.t("ward.count.filtered", "n", n, "of", of)
	case all == 1:
		return s.t("ward.count.one")
	}
	return s.t("ward.count", "n", of)
}

// wardGroups keeps the order of rows and opens a group at each new list.
func (s *server) wardGroups(rows []WardRow, filter string, lock bool) []WardGroup {
	var groups []WardGroup
	last := unit.Date{Year: -1}
	for _, row := range rows {
		v := s.wardRow(row)
		if !matches(v, filter) {
			continue
		}
		if row.List != last {
			g := WardGroup{Title: s.t("ward.unlisted")}
			if row.List.Known() {
				g.Title = s.t("list.heading", "date", s.date(row.List))
				if lock {
					g.Pack = s.prefix + "/list/" + row.List.String()
				}
			}
			groups, last = append(groups, g), row.List
		}
		g := &groups[len(groups)-1]
		g.Rows = append(g.Rows, v)
	}
	return groups
}

func (s *server) wardRow(row WardRow) WardRowView {
	v := WardRowView{
		Href: s.prefix + "/case/" + row.CaseID, Name: row.Name, Identifier: row.Identifier, Person: s.person(row.Identity),
		Side: s.side(row.Side), Model: row.Model, Power: reading(s.words, row.Power), Chosen: row.Power.Known,
		State: s.state(row), Stream: miniStream(row.Progress),
	}
	if row.Place > 0 {
		v.Place = unit.Fixed(float64(row.Place), 0)
	}
	switch m := row.Missing; {
	case m == nil:
	case m.Finding.Code != "":
		v.Missing = s.brief(m.Finding)
	default:
		v.Missing = &Mark{Class: "need", Text: s.t("need." + m.Need + ".short")}
	}
	return v
}

func (s *server) state(row WardRow) string {
	p := row.Progress
	switch {
	case row.Signed:
		return s.t("state.signed", "n", unit.Fixed(float64(row.Plan), 0))
	case !p.Measured:
		return s.t("state.measure")
	case !p.Checked:
		return s.t("state.check")
	case !p.Lens:
		return s.t("state.lens")
	}
	return s.t("state.sign")
}

// matches reports whether every word of filter stands somewhere in the row.
func matches(v WardRowView, filter string) bool {
	text := []string{v.Name, v.Identifier, v.Person, v.Side, v.Model, v.State, v.Power.String()}
	if v.Missing != nil {
		text = append(text, v.Missing.Word, v.Missing.Text)
	}
	all := strings.ToLower(strings.Join(text, " "))
	for _, word := range strings.Fields(strings.ToLower(filter)) {
		if !strings.Contains(all, word) {
			return false
		}
	}
	return true
}
