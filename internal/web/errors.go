package web

import (
	"errors"
	"net/http"
	"net/url"
	"strings"

	"linn/eye"
	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
)

// ErrorView is a page that says what went wrong and what to do.
type ErrorView struct {
	Frame
	Heading string
	Lines   []string
	Way     string
	Link    Link
	Other   *Link // another way, for an emergency
}

// fault is how an error looks to a person.
type fault struct {
	status int
	key    string // of "error.KEY.heading" and "error.KEY.way"
	lines  []string
}

func (s *server) fault(err error) fault {
	var refused finding.Refusals
	var tooBig *http.MaxBytesError
	switch {
	case errors.As(err, &refused):
		return fault{http.StatusUnprocessableEntity, "refused", s.refusalText(refused)}
	case errors.Is(err, ErrNotFound):
		return fault{http.StatusNotFound, "absent", nil}
	case errors.Is(err, pathway.ErrDiskFull):
		return fault{http.StatusInsufficientStorage, "full", nil}
	case errors.Is(err, pathway.ErrDamaged):
		return fault{http.StatusInternalServerError, "damaged", nil}
	case errors.Is(err, pathway.ErrDisk):
		return fault{http.StatusInternalServerError, "disk", nil}
	case errors.Is(err, errNowhere):
		return fault{http.StatusNotFound, "missing", nil}
	case errors.Is(err, ErrForbidden):
		return fault{http.StatusForbidden, "forbidden", nil}
	case errors.Is(err, ErrWrongPassword):
		return fault{http.StatusUnauthorized, "password", nil}
	case errors.Is(err, ErrTooMany):
		return fault{http.StatusTooManyRequests, "tries", nil}
	case errors.Is(err, errBadForm), errors.As(err, &tooBig):
		return fault{http.StatusBadRequest, "form", nil}
	}
	return fault{http.StatusInternalServerError, "machine", nil}
}

// fail says an error in words: on a page of its own, or beside the saved
// mark when only a part of a page was asked for.
func (s *server) fail(w http.ResponseWriter, r *http.Request, err error) {
	var conflict *Conflict
	if errors.As(err, &conflict) {
		s.conflict(w, r, conflict)
		return
	}
	if record := (*RecordConflict)(nil); errors.As(err, &record) {
		s.versions(w, r, record)
		return
	}
	f := s.fault(err)
	if f.status >= http.StatusInternalServerError {
		s.Log.Error("page failed", "path", r.Pattern, "error", err)
	}
	v := ErrorView{
		Heading: s.t("error." + f.key + ".heading"), Lines: f.lines, Way: s.t("error." + f.key + ".way"),
		Link: Link{Href: s.prefix + "/ward", Text: s.t("error.back")},
	}
	part := "failed"
	if !partial(r) {
		by, _ := s.Access.Who(r)
		if id := r.PathValue("id"); f.key == "forbidden" && r.Method == http.MethodGet && strings.HasPrefix(r.URL.Path, "/case/") && by.ID != "" {
			v.Other = &Link{Href: s.prefix + "/case/" + url.PathEscape(id) + "/glass", Text: s.t("glass.link")}
		}
		v.Frame = s.frame(r, by, v.Heading, "")
		part = "page"
	}
	if err := s.render(w, f.status, "error", part, v); err != nil {
		s.Log.Error("error page failed", "error", err)
	}
}

// ConflictView shows both versions to the one who came second.
type ConflictView struct {
	Frame
	CaseID   string
	Revision int
	Fellow   int
	Lead     string
	Rows     []DifferenceView
	Hidden   []HiddenField
}

// DifferenceView is one field typed differently by two people.
type DifferenceView struct {
	ID, Name, Side, Label string
	Mine, Theirs          VersionView
}

// VersionView is one of the two texts.
type VersionView struct {
	Value, Text string
	Chosen      bool
}

func (s *server) orEmpty(text string) string {
	if text == "" {
		return s.t("empty")
	}
	return text
}

// HiddenField carries a typed value through a page.
type HiddenField struct{ Name, Value string }

func (s *server) conflict(w http.ResponseWriter, r *http.Request, c *Conflict) {
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
	v := ConflictView{
		Frame: s.clinical(r, by, s.t("conflict.heading"), id), CaseID: c.CaseID, Revision: c.Revision,
		Fellow: c.Fellow, Lead: s.t("conflict.lead", "by", c.By, "at", c.At),
	}
	if len(c.Rows) == 0 {
		v.Lead = s.t("conflict.late", "by", c.By, "at", c.At)
	}
	open := map[string]bool{}
	for _, d := range c.Rows {
		name := fieldName(d.Side, d.Field)
		open[name] = true
		row := DifferenceView{ID: name, Name: name, Side: s.side(d.Side), Label: s.label(d.Field)}
		row.Theirs = VersionView{d.Theirs, s.orEmpty(d.Theirs), d.Mine == ""}
		row.Mine = VersionView{d.Mine, s.orEmpty(d.Mine), d.Mine != ""} // what was typed goes before nothing, never nothing before what was typed
		v.Rows = append(v.Rows, row)
	}
	for _, side := range bothSides {
		for _, key := range entryKeys {
			text, typed := c.Mine.Eyes[side][key]
			if name := fieldName(side, key); typed && !open[name] {
				v.Hidden = append(v.Hidden, HiddenField{name, text})
			}
		}
	}
	if err := s.render(w, http.StatusConflict, "conflict", "page", v); err != nil {
		s.Log.Error("conflict page failed", "error", err)
	}
}

// fieldName is the form name of a reading: "right.axial_length_mm".
func fieldName(side eye.Side, key string) string { return string(side) + "." + key }

// refusalAt is the reason one field was refused, "" when it was not.
func (s *server) refusalAt(r map[string]finding.Refusal, key string) string {
	one, ok := r[key]
	if !ok {
		return ""
	}
	return s.entryText(one)
}

// entryText is a refusal as it stands beside its field, which is named there.
func (s *server) entryText(r finding.Refusal) string {
	if key := "entry." + r.Code; locale.Has(key) {
		return locale.T(s.lang, key, r.Values...)
	}
	return locale.Refusal(s.lang, r)
}
