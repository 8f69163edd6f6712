package web

import (
	"net/http"
	"strings"

	"linn/internal/pathway"
)

// VersionsView shows both versions of an operation or a visit to the one who
// came second.
type VersionsView struct {
	Frame
	CaseID, Form string
	Revision     int
	Lead         string
	Rows         []DifferenceView
	Hidden       []HiddenField
	Take         string // where to go for the other's version
}

func (s *server) versions(w http.ResponseWriter, r *http.Request, c *RecordConflict) {
	if partial(r) { // the whole choice needs a page: send the form again, whole
		w.Header().Set("HX-Trigger", "linn-conflict")
		w.WriteHeader(http.StatusNoContent)
		return
	}
	by, _ := s.Access.Who(r)
	id := Identity{CaseID: c.CaseID}
	if now, err := s.Pathway.Eye(r.Context(), by, c.CaseID, ""); err == nil {
		id = now.Identity
	}
	v := VersionsView{Frame: s.clinical(r, by, s.t("conflict.heading"), id), CaseID: c.CaseID, Form: c.Form, Revision: c.Revision, Hidden: c.Hidden,
		Lead: s.t("conflict.lead", "by", c.By, "at", c.At), Take: s.prefix + "/case/" + c.CaseID + "/operation"}
	if len(c.Rows) == 0 {
		v.Lead = s.t("versions.beside", "by", c.By, "at", c.At)
	}
	if c.Form == "visit" {
		v.Take = s.prefix + "/case/" + c.CaseID + "#visits"
	}
	for _, d := range c.Rows {
		v.Rows = append(v.Rows, s.difference(d))
	}
	if err := s.render(w, http.StatusConflict, "versions", "page", v); err != nil {
		s.Log.Error("conflict page failed", "error", err)
	}
}

// difference is one row. What only one of the two changed is proposed; where
// both did, what this person wrote, and nothing never goes before something.
func (s *server) difference(d RecordDifference) DifferenceView {
	row := DifferenceView{ID: strings.ReplaceAll(d.Name, ".", "-"), Name: d.Name, Label: s.recordLabel(d)}
	mine := d.Mine != d.Base && (d.Mine != "" || d.Theirs == d.Base)
	row.Mine = VersionView{d.Mine, s.versionText(d, d.Mine, d.MineText), mine}
	row.Theirs = VersionView{d.Theirs, s.versionText(d, d.Theirs, d.TheirsText), !mine}
	return row
}

func (s *server) recordLabel(d RecordDifference) string {
	switch {
	case d.Name == allComplications:
		return s.label("complications")
	case d.Step == "hand" && d.Field == "supervisor":
		return s.t("operation.supervisor")
	case d.Step == "hand":
		return s.t("step."+d.Field+".name") + ": " + s.t("operation.held")
	}
	return s.label(d.Field)
}

func (s *server) versionText(d RecordDifference, value, text string) string {
	switch {
	case text != "":
		return text
	case value == "":
		return s.t("empty")
	}
	for i := range pathway.OperationFields {
		if f := &pathway.OperationFields[i]; f.Key == d.Field {
			return s.said(f, value)
		}
	}
	for i := range pathway.VisitFields {
		if f := &pathway.VisitFields[i]; f.Key == d.Field {
			return s.said(&f.Field, value)
		}
	}
	return value
}
