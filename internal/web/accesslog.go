package web

import (
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
)

// LogPage is who looked at or changed what.
type LogPage struct {
	Frame
	People     []Option
	Identifier string // of the patient, as typed
	Absent     string
	Lines      []LogView
	Older      string // address of the lines before these, "" at the end
}

// LogView is one line of the access log.
type LogView struct {
	Number, When, Who, What, Where string
	Case                           *Link // the eye, where the reader may look at it
	CaseID                         string
	Loud                           bool // through broken glass
}

func (s *server) accessLog(w http.ResponseWriter, r *http.Request, by Actor) error {
	q := LogQuery{Person: r.Form.Get("person"), Identifier: strings.TrimSpace(r.Form.Get("identifier"))}
	if n, err := strconv.ParseInt(r.Form.Get("before"), 10, 64); err == nil && n > 0 {
		q.Before = n
	}
	lines, more, err := s.Pathway.AccessLog(r.Context(), by, q)
	absent := ""
	if errors.Is(err, ErrNotFound) && q.Identifier != "" {
		absent, err = s.t("card.absent", "identifier", q.Identifier), nil
	}
	if err != nil {
		return err
	}
	d, err := s.Pathway.Desk(r.Context(), by)
	if err != nil {
		return err
	}
	v := LogPage{Frame: s.frame(r, by, s.t("log.heading"), "desk"), Identifier: q.Identifier, Absent: absent, People: []Option{{"", s.t("log.everybody"), q.Person == ""}}}
	for _, p := range d.People {
		v.People = append(v.People, Option{p.ID, p.Name, p.ID == q.Person})
	}
	looks := s.Pathway.May(by, ToLook)
	for _, l := range lines {
		line := LogView{Number: strconv.FormatInt(l.Number, 10), When: s.moment(l.At), Who: l.Name, What: s.keyOrText("log.what.", l.What),
			Where: s.keyOrText("log.verb.", l.Verb), CaseID: l.CaseID, Loud: strings.Contains(l.Verb, "glass")}
		if looks && l.CaseID != "" {
			line.Case = &Link{Href: s.prefix + "/case/" + l.CaseID, Text: s.t("log.eye")}
		}
		v.Lines = append(v.Lines, line)
	}
	if more {
		older := url.Values{"before": {strconv.FormatInt(lines[len(lines)-1].Number, 10)}}
		if q.Person != "" {
			older.Set("person", q.Person)
		}
		if q.Identifier != "" {
			older.Set("identifier", q.Identifier)
		}
		v.Older = s.prefix + "/desk/log?" + older.Encode()
	}
	return s.render(w, http.StatusOK, "log", "page", v)
}
