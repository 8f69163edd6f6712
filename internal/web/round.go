package web

import (
	"bytes"
	"net/http"
	"strconv"
	"strings"

	"linn/internal/pathway"
)

// RoundView is the morning round as one table by bed, and who is due.
type RoundView struct {
	Frame
	Today string
	Beds  []RoundRowView
	Due   []RoundRowView
	May   bool
}

// RoundRowView is one operated eye.
type RoundRowView struct {
	Href, Visit      string
	CaseID, Bed      string
	Revision         int
	Name, Identifier string
	Person, Side     string
	Operated         string
	Last             string
	Status           *Mark
	Findings         []*Mark
	Torn             bool
}

// roundTable is one table of the round.
type roundTable struct {
	Title, Prefix string
	Rows          []RoundRowView
	May, Beds     bool
}

func roundRows(v RoundView, list []RoundRowView, beds bool) roundTable {
	return roundTable{Title: v.Title, Prefix: v.Prefix, Rows: list, May: v.May, Beds: beds}
}

func (s *server) round(w http.ResponseWriter, r *http.Request, by Actor) error {
	round, err := s.Pathway.Round(r.Context(), by)
	if err != nil {
		return err
	}
	v := RoundView{Frame: s.frame(r, by, s.t("round.heading"), "round"), Today: s.date(round.Today), May: s.Pathway.May(by, ToVisit)}
	for i := range round.Beds {
		v.Beds = append(v.Beds, s.roundRow(&round.Beds[i]))
	}
	for i := range round.Due {
		v.Due = append(v.Due, s.roundRow(&round.Due[i]))
	}
	return s.render(w, http.StatusOK, "round", "page", v)
}

func (s *server) roundRow(row *pathway.RoundRow) RoundRowView {
	who := Identity{Name: row.Who.Name, Identifier: row.Who.Identifier, Sex: row.Who.Sex, Age: row.Age}
	v := RoundRowView{Href: s.prefix + "/case/" + row.Case + "#visits", Visit: s.prefix + "/case/" + row.Case + "/visit", CaseID: row.Case, Bed: row.Bed,
		Revision: row.Revision, Name: who.Name, Identifier: who.Identifier, Person: s.person(who), Side: s.side(row.Side), Torn: row.Torn,
		Findings: s.findingLines(row.Findings), Operated: s.t("status.unknown")}
	if row.On.Known() {
		parts := []string{s.t("round.day", "date", s.date(row.On), "n", strconv.Itoa(row.Day))}
		if row.Technique != "" {
			parts = append(parts, s.word("technique", row.Technique))
		}
		v.Operated = strings.Join(parts, " · ")
	}
	v.Status = s.statusMark(string(row.Status), &AfterPart{After: pathway.After{Next: row.Next}})
	if row.Lost != nil {
		v.Status.Text += " · " + s.t("lost."+row.Lost.Why)
	}
	if row.Last != nil {
		v.Last = s.t("round.last", "visit", s.t("visit."+string(row.Last.Kind)), "seen", s.seenText(row.Last))
	}
	return v
}

// seenText is the best acuity and the pressure of a visit.
func (s *server) seenText(v *pathway.Visit) string {
	var parts []string
	if best, ok := v.Best(); ok {
		parts = append(parts, best.Text)
	}
	if p := v.Values["pressure_mmhg"]; p != "" {
		parts = append(parts, s.said(&pathway.OperationField{Key: "pressure_mmhg", Kind: pathway.NumberField, Unit: "mmHg"}, p))
	}
	if len(parts) == 0 {
		return s.t("not-recorded")
	}
	return strings.Join(parts, ", ")
}

// leafletSigns are the signs to come back for at once, keys of
// "leaflet.sign.KEY". Common practice; local protocol goes before it.
var leafletSigns = []string{"pain", "sight", "red", "discharge", "sick", "curtain"}

// LeafletView is the leaflet of warning signs.
type LeafletView struct {
	Frame
	Side, Name, Identifier string
	Hospital, Phone        string
	Signs                  []string
	PDF, Return            string
}

func (s *server) leaflet(w http.ResponseWriter, r *http.Request, by Actor) error {
	c, err := s.Pathway.Eye(r.Context(), by, r.PathValue("id"), "")
	if err != nil {
		return err
	}
	hospital, phone, err := s.Pathway.Phone(r.Context(), by)
	if err != nil {
		return err
	}
	v := LeafletView{Frame: s.clinical(r, by, s.t("leaflet.title"), c.Identity), Side: s.side(c.Side), Name: c.Name, Identifier: c.Identity.Identifier,
		Hospital: hospital, Phone: phone, PDF: s.prefix + "/case/" + c.CaseID + "/leaflet.pdf", Return: s.prefix + "/case/" + c.CaseID + "#visits"}
	v.Bare, v.Print = true, true
	for _, key := range leafletSigns {
		v.Signs = append(v.Signs, s.t("leaflet.sign."+key))
	}
	return s.render(w, http.StatusOK, "leaflet", "page", v)
}

func (s *server) leafletPDF(w http.ResponseWriter, r *http.Request, by Actor) error {
	var b bytes.Buffer
	if err := s.Pathway.PrintLeaflet(r.Context(), by, r.PathValue("id"), &b); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `inline; filename="leaflet.pdf"`)
	_, err := b.WriteTo(w)
	return err
}
