package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"

	"linn/eye"
	"linn/finding"
)

// EyeView is one eye's journey as the stream.
type EyeView struct {
	Frame
	Stages   []Stage
	Stops    []FindingView // stand at the top until dealt with
	Refused  []string      // reasons a form of this page was refused
	Measured MeasuredView
	Checked  CheckedView
	Lens     LensView
	Sign     SignView
}

// Stage is one stop of the stream. Stages that do not exist yet have no entry.
type Stage struct {
	ID, Name string
	Key      string // Alt+N
	Done     bool
	State    string // "complete", "open"
}

// Stage returns the stage with id, for the template of that stage.
func (v EyeView) Stage(id string) Stage {
	for _, st := range v.Stages {
		if st.ID == id {
			return st
		}
	}
	return Stage{ID: id}
}

func (s *server) eye(w http.ResponseWriter, r *http.Request, by Actor) error {
	c, err := s.Pathway.Eye(r.Context(), by, r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "eye", "page", s.eyeView(r, by, &c))
}

func (s *server) eyeView(r *http.Request, by Actor, c *EyeCase) EyeView {
	v := EyeView{
		Frame:    s.clinical(r, by, s.t("place.eye"), c.Identity),
		Stages:   s.stages(c.Progress),
		Measured: s.measuredView(c),
		Checked:  s.checkedView(c),
		Lens:     s.lensView(c),
		Sign:     s.signView(c, by),
	}
	v.Identity.Saved = s.t("saved.nothing")
	if !c.SavedAt.IsZero() {
		v.Identity.Saved = s.t("saved", "time", clock(c.SavedAt), "n", strconv.Itoa(c.Revision))
	}
	for _, f := range v.Checked.Findings {
		if f.Class == finding.Stop.String() {
			v.Stops = append(v.Stops, f)
		}
	}
	return v
}

func (s *server) stages(p Progress) []Stage {
	var list []Stage
	for i, st := range []struct {
		id   string
		done bool
	}{{"measured", p.Measured}, {"checked", p.Checked}, {"lens", p.Lens}, {"sheet", p.Sheet}} {
		state := s.t("stage.open")
		if st.done {
			state = s.t("stage.complete")
		}
		list = append(list, Stage{st.id, s.t("stage." + st.id), "Alt+" + strconv.Itoa(i+1), st.done, state})
	}
	return list
}

// change runs one form of the Eye page and answers with the page as it now
// stands: the parts that changed when the script asked, else the page again.
func (s *server) change(w http.ResponseWriter, r *http.Request, by Actor, stage string, c EyeCase, err error) error {
	var refused finding.Refusals
	if errors.As(err, &refused) {
		now, err := s.Pathway.Eye(r.Context(), by, r.PathValue("id"))
		if err != nil {
			return err
		}
		v := s.eyeView(r, by, &now)
		v.Refused = s.refusalText(refused)
		part := "page"
		if partial(r) {
			part = "changed"
		}
		return s.render(w, http.StatusUnprocessableEntity, "eye", part, v)
	}
	if err != nil {
		return err
	}
	if partial(r) {
		return s.render(w, http.StatusOK, "eye", "changed", s.eyeView(r, by, &c))
	}
	s.to(w, r, "/case/"+c.CaseID+"#"+stage)
	return nil
}

// revision is the revision the posted form was made from.
func revision(r *http.Request) int {
	n, err := strconv.Atoi(r.PostForm.Get("revision"))
	if err != nil || n < 0 {
		return 0 // stale by definition: the pathway answers with a conflict
	}
	return n
}

func (s *server) measure(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.entered(w, r, by, s.Pathway.Measure)
}

func (s *server) repeat(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.entered(w, r, by, s.Pathway.Repeat)
}

type enter func(ctx context.Context, by Actor, m Measurement) (EyeCase, error)

// entered reads the readings of both eyes as typed. Nothing is trimmed or
// read here: what was typed is what is stored.
func (s *server) entered(w http.ResponseWriter, r *http.Request, by Actor, store enter) error {
	m := Measurement{CaseID: r.PathValue("id"), Revision: revision(r), Eyes: map[eye.Side]map[string]string{}}
	for _, side := range bothSides {
		m.Eyes[side] = map[string]string{}
		for _, key := range entryKeys {
			if v, ok := r.PostForm[fieldName(side, key)]; ok {
				m.Eyes[side][key] = v[0]
			}
		}
	}
	c, err := store(r.Context(), by, m)
	return s.change(w, r, by, "measured", c, err)
}

func (s *server) pass(w http.ResponseWriter, r *http.Request, by Actor) error {
	p := Pass{CaseID: r.PathValue("id"), Revision: revision(r), Code: r.PostForm.Get("code"),
		Field: r.PostForm.Get("field"), Reason: r.PostForm.Get("reason")}
	c, err := s.Pathway.Pass(r.Context(), by, p)
	return s.change(w, r, by, "checked", c, err)
}

func (s *server) choose(w http.ResponseWriter, r *http.Request, by Actor) error {
	ch := Choice{CaseID: r.PathValue("id"), Revision: revision(r), Model: r.PostForm.Get("model"),
		Power: r.PostForm.Get("power"), Method: r.PostForm.Get("method"), Target: r.PostForm.Get("target")}
	c, err := s.Pathway.Choose(r.Context(), by, ch)
	return s.change(w, r, by, "lens", c, err)
}

func (s *server) confirm(w http.ResponseWriter, r *http.Request, by Actor) error {
	c, err := s.Pathway.Confirm(r.Context(), by, Confirmation{r.PathValue("id"), revision(r), r.PostForm["read"]})
	return s.change(w, r, by, "sheet", c, err)
}

func (s *server) sign(w http.ResponseWriter, r *http.Request, by Actor) error {
	c, err := s.Pathway.Sign(r.Context(), by, Signing{r.PathValue("id"), revision(r), r.PostForm.Get("alone")})
	return s.change(w, r, by, "sheet", c, err)
}
