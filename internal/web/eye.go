package web

import (
	"context"
	"errors"
	"net/http"
	"strconv"
	"strings"

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
	Chamber  ChamberView
	Sign     SignView
	Done     DoneView
	Visits   VisitsView
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
	c, err := s.Pathway.Eye(r.Context(), by, r.PathValue("id"), r.Form.Get("lens"))
	if err != nil {
		return err
	}
	return s.render(w, http.StatusOK, "eye", "page", s.eyeView(r, by, &c))
}

func (s *server) eyeView(r *http.Request, by Actor, c *EyeCase) EyeView {
	v := EyeView{
		Frame:    s.clinical(r, by, s.t("place.eye"), c.Identity),
		Stages:   s.stages(c),
		Measured: s.measuredView(c),
		Checked:  s.checkedView(c),
		Lens:     s.lensView(c),
		Chamber:  s.chamberView(c),
		Sign:     s.signView(c, by),
		Done:     s.doneView(c),
		Visits:   s.visitsView(c),
	}
	v.Sign.Names, v.Sign.Seniors = s.demoNames(r, by)
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

func (s *server) stages(c *EyeCase) []Stage {
	p := c.Progress
	var list []Stage
	for i, st := range []struct {
		id   string
		done bool
	}{{"measured", p.Measured}, {"checked", p.Checked}, {"lens", p.Lens}, {"chamber", len(c.Chamber.Settings) > 0}, {"sheet", p.Sheet}, {"done", p.Done}, {"visits", p.Visits}} {
		state := s.t("stage.open")
		if st.done {
			state = s.t("stage.complete")
		}
		list = append(list, Stage{st.id, s.t("stage." + st.id), "Alt+" + strconv.Itoa(i+1), st.done, state})
	}
	return list
}

// demoNames are those who can be the second person, or a supervisor, in the
// demo: there the name alone is the proof.
func (s *server) demoNames(r *http.Request, by Actor) (second, seniors []Option) {
	for _, a := range s.Access.Demo(r) {
		if a.ID == by.ID {
			continue
		}
		o := Option{Value: a.Name, Text: s.t("frame.me", "name", a.Name, "role", s.t("role."+string(a.Role)))}
		if a.Role == Technician || a.Role == Trainee || a.Role == Surgeon || a.Role == Nurse {
			second = append(second, o)
		}
		if a.Role == Surgeon {
			seniors = append(seniors, o)
		}
	}
	return second, seniors
}

// change runs one form of the Eye page and answers with the page as it now
// stands: the parts that changed when the script asked, else the page again.
func (s *server) change(w http.ResponseWriter, r *http.Request, by Actor, stage string, c EyeCase, err error) error {
	var refused finding.Refusals
	if errors.As(err, &refused) {
		now, err := s.Pathway.Eye(r.Context(), by, r.PathValue("id"), "")
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
func revision(r *http.Request) int { return whole(r, "revision") }

func whole(r *http.Request, name string) int {
	n, err := strconv.Atoi(r.PostForm.Get(name))
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
	m := typedReadings(r)
	c, err := store(r.Context(), by, m)
	if _, asked := r.PostForm[fieldName(bothSides[0], historyKeys[0])]; err == nil && partial(r) && !asked && c.operated() {
		w.Header().Set("HX-Refresh", "true") // the form has more fields now
	}
	return s.change(w, r, by, "measured", c, err)
}

func (s *server) pass(w http.ResponseWriter, r *http.Request, by Actor) error {
	p := Pass{CaseID: r.PathValue("id"), Revision: revision(r), Code: r.PostForm.Get("code"),
		Field: r.PostForm.Get("field"), Reason: r.PostForm.Get("reason")}
	c, err := s.Pathway.Pass(r.Context(), by, p)
	return s.change(w, r, by, "checked", c, err)
}

func (s *server) choose(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := r.PostForm.Get
	ch := Choice{CaseID: r.PathValue("id"), Revision: revision(r), Model: get("model"), Shown: get("shown"),
		Power: get("power"), Target: get("target"), Place: get("place"), Reason: get("reason")}
	c, err := s.Pathway.Choose(r.Context(), by, ch)
	return s.change(w, r, by, "lens", c, err)
}

func (s *server) list(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := r.PostForm.Get
	l := Listing{CaseID: r.PathValue("id"), Revision: revision(r), Date: get("date"), Place: get("place"), Order: get("order")}
	c, err := s.Pathway.List(r.Context(), by, l)
	return s.change(w, r, by, "sheet", c, err)
}

// confirm is the second person: whoever is signed in, or somebody else who
// proves at this machine who they are.
func (s *server) confirm(w http.ResponseWriter, r *http.Request, by Actor) error {
	second, err := s.beside(w, r, by)
	if err != nil {
		return s.change(w, r, by, "sheet", EyeCase{}, err)
	}
	c, err := s.Pathway.Confirm(r.Context(), second, Confirmation{r.PathValue("id"), revision(r), r.PostForm["read"]})
	if err == nil && second.ID != by.ID {
		c, err = s.Pathway.Eye(r.Context(), by, r.PathValue("id"), "") // as the one who sits here sees it
	}
	return s.change(w, r, by, "sheet", c, err)
}

// beside is the second person at this machine, by themselves when the form
// names nobody else.
func (s *server) beside(w http.ResponseWriter, r *http.Request, by Actor) (Actor, error) {
	name := strings.TrimSpace(r.PostForm.Get("who"))
	if name == "" {
		return by, nil
	}
	second, err := s.Access.Vouch(w, r, name, r.PostForm.Get("password"))
	switch {
	case errors.Is(err, ErrWrongPassword):
		return by, Refused("sign-in-wrong", "")
	case errors.Is(err, ErrTooMany):
		return by, Refused("vouch-wait", "")
	}
	return second, err
}

func (s *server) sign(w http.ResponseWriter, r *http.Request, by Actor) error {
	sg := Signing{CaseID: r.PathValue("id"), Revision: revision(r), Alone: r.PostForm.Get("alone")}
	senior, err := s.beside(w, r, by)
	if err != nil {
		return s.change(w, r, by, "sheet", EyeCase{}, err)
	}
	if senior.ID != by.ID {
		sg.Supervisor = senior
	}
	c, err := s.Pathway.Sign(r.Context(), by, sg)
	return s.change(w, r, by, "sheet", c, err)
}

func (s *server) reopen(w http.ResponseWriter, r *http.Request, by Actor) error {
	c, err := s.Pathway.Reopen(r.Context(), by, Reopening{r.PathValue("id"), revision(r), r.PostForm.Get("reason")})
	return s.change(w, r, by, "sheet", c, err)
}

func (s *server) closeCase(w http.ResponseWriter, r *http.Request, by Actor) error {
	err := s.Pathway.Close(r.Context(), by, Closing{r.PathValue("id"), revision(r), r.PostForm.Get("why"), r.PostForm.Get("reason")})
	if err != nil {
		return s.change(w, r, by, "sheet", EyeCase{}, err)
	}
	s.to(w, r, "/ward")
	return nil
}
