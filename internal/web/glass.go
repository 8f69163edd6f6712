package web

import (
	"errors"
	"net/http"

	"linn/finding"
)

// GlassPage is the form that breaks the glass.
type GlassPage struct {
	Frame
	CaseID, Reason string
	Refused        []string
}

func (s *server) glassForm(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.glassPage(w, r, by, "", nil)
}

func (s *server) glassPage(w http.ResponseWriter, r *http.Request, by Actor, reason string, refused finding.Refusals) error {
	v := GlassPage{Frame: s.frame(r, by, s.t("glass.heading"), "ward"), CaseID: r.PathValue("id"), Reason: reason, Refused: s.refusalText(refused)}
	return s.render(w, answered(refused), "glass", "page", v)
}

func (s *server) breakGlass(w http.ResponseWriter, r *http.Request, by Actor) error {
	id, reason := r.PathValue("id"), r.PostForm.Get("reason")
	err := s.Pathway.BreakGlass(r.Context(), by, id, reason)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.glassPage(w, r, by, reason, refused)
	}
	if err == nil {
		s.Log.Warn("glass broken", "person", by.ID, "case", id)
		s.to(w, r, "/case/"+id)
	}
	return err
}

// GlassesPage lists every broken glass for review.
type GlassesPage struct {
	Frame
	Lines   []GlassView
	Refused []string
}

// GlassView is one broken glass.
type GlassView struct {
	Person, N, Who, When, Reason, CaseID string
	Reviewed                             string
	MayReview                            bool
}

func (s *server) glasses(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.glassesPage(w, r, by, nil)
}

func (s *server) glassesPage(w http.ResponseWriter, r *http.Request, by Actor, refused finding.Refusals) error {
	list, err := s.Pathway.Glasses(r.Context(), by)
	if err != nil {
		return err
	}
	v := GlassesPage{Frame: s.frame(r, by, s.t("glasses.heading"), "desk"), Refused: s.refusalText(refused)}
	for _, g := range list {
		line := GlassView{Person: g.Person, N: countText(g.N + 1), Who: g.Name, When: s.t("glasses.when", "from", s.moment(g.Since), "until", clock(g.Until)),
			Reason: g.Reason, CaseID: g.CaseID, MayReview: g.Reviewer == "" && !g.Own}
		if g.Reviewer != "" {
			line.Reviewed = s.t("glasses.reviewed", "name", g.Reviewer, "note", g.Note)
		} else if g.Own {
			line.Reviewed = s.t("glasses.own")
		}
		v.Lines = append(v.Lines, line)
	}
	return s.render(w, answered(refused), "glasses", "page", v)
}

func (s *server) reviewGlass(w http.ResponseWriter, r *http.Request, by Actor) error {
	n := number(r.PostForm.Get("n")) - 1
	err := s.Pathway.ReviewGlass(r.Context(), by, r.PathValue("id"), n, r.PostForm.Get("note"))
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.glassesPage(w, r, by, refused)
	}
	if err == nil {
		s.to(w, r, "/desk/glass")
	}
	return err
}

// toReview counts the glasses that nobody reviewed, 0 for those who do not
// review.
func (s *server) toReview(r *http.Request, by Actor) (n int) {
	if !s.Pathway.May(by, ToReview) {
		return 0
	}
	list, err := s.Pathway.Glasses(r.Context(), by)
	if err != nil {
		s.Log.Error("glasses failed", "error", err)
	}
	for _, g := range list {
		if g.Reviewer == "" {
			n++
		}
	}
	return n
}
