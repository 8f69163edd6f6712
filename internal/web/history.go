package web

import (
	"net/http"
	"strconv"
	"strings"

	"linn/internal/locale"
	"linn/unit"
)

// HistoryPage is a chain from its newest revision down, and two of them side
// by side.
type HistoryPage struct {
	Frame
	Heading, Lead string
	Action        string // address of this page without its query
	Lines         []HistoryLine
	Older, Newer  []Option
	Compared      string
	Same          bool
	Changes       []ChangeView
	Printed       []ChangeView // of the signed plan: many, and folded away
	Links         []Link
}

// HistoryLine is one revision.
type HistoryLine struct {
	Number, When, Who, What, Why, Hash string
	Before                             *Link // what it changed
}

// ChangeView is one field side by side.
type ChangeView struct{ Label, Old, New string }

func (s *server) caseHistory(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.historyPage(w, r, by, HistoryQuery{CaseID: r.PathValue("id")})
}

func (s *server) patientHistory(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.historyPage(w, r, by, HistoryQuery{Patient: r.PathValue("id")})
}

func (s *server) historyPage(w http.ResponseWriter, r *http.Request, by Actor, q HistoryQuery) error {
	q.Older, q.Newer = number(r.Form.Get("older")), number(r.Form.Get("newer"))
	h, err := s.Pathway.History(r.Context(), by, q)
	if err != nil {
		return err
	}
	v := HistoryPage{Heading: s.t("history.of-eye"), Lead: s.t("history.lead"), Action: s.prefix + "/case/" + q.CaseID + "/history"}
	if q.CaseID != "" {
		v.Frame = s.clinical(r, by, v.Heading, h.Identity)
		v.Frame.Identity.About, v.Frame.Identity.Saved = s.t("history.about", "n", len(h.Past)), ""
		v.Links = []Link{{Href: s.prefix + "/case/" + q.CaseID, Text: s.t("person.eye")}, {Href: s.prefix + "/patient/" + h.Patient + "/history", Text: s.t("history.of-person")}}
	} else {
		v.Heading, v.Action = s.t("history.of-person"), s.prefix+"/patient/"+q.Patient+"/history"
		v.Frame = s.frame(r, by, v.Heading, "ward")
		v.Lead = s.t("history.person-lead", "name", h.Name, "identifier", h.Identifier)
		if h.Erased {
			v.Lead = s.t("history.erased")
		}
	}
	s.historyLines(&v, h)
	return s.render(w, http.StatusOK, "history", "page", v)
}

func (s *server) historyLines(v *HistoryPage, h History) {
	for i := len(h.Past) - 1; i >= 0; i-- {
		p := h.Past[i]
		n := strconv.Itoa(p.Number)
		line := HistoryLine{Number: n, When: s.moment(p.At), Who: p.By, What: s.keyOrText("past.verb.", p.Verb), Why: s.reopenedText(p.Reason), Hash: p.Hash[:min(12, len(p.Hash))]}
		if p.Second != "" {
			line.Who = s.t("history.two", "first", p.By, "second", p.Second)
		}
		if p.Number > 1 {
			line.Before = &Link{Href: v.Action + "?older=" + strconv.Itoa(p.Number-1) + "&newer=" + n + "#compared", Text: s.t("history.changed")}
		}
		v.Lines = append(v.Lines, line)
		text := s.t("history.revision", "n", n, "when", s.moment(p.At), "who", p.By)
		v.Older = append(v.Older, Option{n, text, p.Number == h.Older})
		v.Newer = append(v.Newer, Option{n, text, p.Number == h.Newer})
	}
	if h.Newer == 0 {
		return
	}
	v.Compared, v.Same = s.t("history.compared", "older", h.Older, "newer", h.Newer), len(h.Changes) == 0
	for _, c := range h.Changes {
		row := ChangeView{s.pathLabel(c.Field), s.storedText(c.Field, c.Old), s.storedText(c.Field, c.New)}
		if strings.HasPrefix(c.Field, "signed.plan.") {
			v.Printed = append(v.Printed, row)
		} else {
			v.Changes = append(v.Changes, row)
		}
	}
}

// chainLinks lead from an eye to its history and to what puts it right.
func (s *server) chainLinks(by Actor, c *EyeCase) (list []Link) {
	for _, l := range []struct {
		to     Deed
		page   string
		closed bool // also for a closed case
	}{{ToSeeHistory, "history", true}, {ToCorrect, "correct", false}, {ToMove, "move", false}} {
		if s.Pathway.May(by, l.to) && (l.closed || c.Closed == "") {
			list = append(list, Link{Href: s.prefix + "/case/" + c.CaseID + "/" + l.page, Text: s.t(l.page + ".link")})
		}
	}
	return list
}

// number is a revision as it stands in an address, 0 for anything else.
func number(text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || n < 1 {
		return 0
	}
	return n
}

// pathLabel writes where a stored value stands: "second entry · axial length".
func (s *server) pathLabel(path string) string {
	var parts []string
	for _, p := range strings.Split(path, ".") {
		switch n, err := strconv.Atoi(p); {
		case err == nil:
			parts = append(parts, unit.Fixed(float64(n+1), 0))
		case locale.Has("past.part." + p):
			parts = append(parts, s.t("past.part."+p))
		case locale.Has("field." + p):
			parts = append(parts, locale.Field(s.lang, p))
		default:
			parts = append(parts, strings.ReplaceAll(p, "_", " "))
		}
	}
	return capital(strings.Join(parts, " · "))
}

// storedText is a stored value as the page shows it: as it was typed.
func (s *server) storedText(path, text string) string {
	if text == "" {
		return s.t("empty")
	}
	last := path[strings.LastIndex(path, ".")+1:]
	if key := "word." + last + "." + text; locale.Has(key) {
		return s.t(key)
	}
	return text
}
