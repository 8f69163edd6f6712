package web

import (
	"net/http"
	"net/url"
	"strconv"
)

// LogPage is who looked at or changed what.
type LogPage struct {
	Frame
	People []Option
	Lines  []LogView
	Older  string // address of the lines before these, "" at the end
}

// LogView is one line of the access log.
type LogView struct {
	Number, When, Who, What, Where string
	Case                           *Link // the eye, where the reader may look at it
	CaseID                         string
}

func (s *server) accessLog(w http.ResponseWriter, r *http.Request, by Actor) error {
	q := LogQuery{Person: r.Form.Get("person")}
	if n, err := strconv.ParseInt(r.Form.Get("before"), 10, 64); err == nil && n > 0 {
		q.Before = n
	}
	lines, more, err := s.Pathway.AccessLog(r.Context(), by, q)
	if err != nil {
		return err
	}
	d, err := s.Pathway.Desk(r.Context(), by)
	if err != nil {
		return err
	}
	v := LogPage{Frame: s.frame(r, by, s.t("log.heading"), "desk"), People: []Option{{"", s.t("log.everybody"), q.Person == ""}}}
	for _, p := range d.People {
		v.People = append(v.People, Option{p.ID, p.Name, p.ID == q.Person})
	}
	looks := s.Pathway.May(by, ToLook)
	for _, l := range lines {
		line := LogView{Number: strconv.FormatInt(l.Number, 10), When: s.moment(l.At), Who: l.Name, What: s.keyOrText("log.what.", l.What),
			Where: s.keyOrText("log.verb.", l.Verb), CaseID: l.CaseID}
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
		v.Older = s.prefix + "/desk/log?" + older.Encode()
	}
	return s.render(w, http.StatusOK, "log", "page", v)
}
