package web

import (
	"errors"
	"net/http"

	"linn/finding"
)

// DoorView is the sign-in page or the first start.
type DoorView struct {
	Frame
	Name    string // as typed
	Refused []string
}

func (s *server) door(w http.ResponseWriter, r *http.Request, page, title string, status int, v DoorView) error {
	v.Frame = s.frame(r, Actor{}, title, "")
	v.Bare = true
	return s.render(w, status, page, "page", v)
}

func (s *server) signInPage(w http.ResponseWriter, r *http.Request, _ Actor) error {
	return s.door(w, r, "sign-in", s.t("door.sign-in"), http.StatusOK, DoorView{})
}

func (s *server) signIn(w http.ResponseWriter, r *http.Request, _ Actor) error {
	name := r.PostForm.Get("name")
	err := s.Access.SignIn(w, r, name, r.PostForm.Get("password"))
	if errors.Is(err, ErrWrongPassword) || errors.Is(err, ErrTooMany) {
		f := s.fault(err)
		why := []string{s.t("error."+f.key+".heading") + ". " + s.t("error."+f.key+".way")}
		return s.door(w, r, "sign-in", s.t("door.sign-in"), f.status, DoorView{Name: name, Refused: why})
	}
	if err == nil {
		s.to(w, r, "/ward")
	}
	return err
}

func (s *server) signOut(w http.ResponseWriter, r *http.Request, _ Actor) error {
	err := s.Access.SignOut(w, r)
	if err == nil {
		s.to(w, r, "/sign-in")
	}
	return err
}

// startPage creates the first administrator; it exists only while there is
// no account.
func (s *server) startPage(w http.ResponseWriter, r *http.Request, _ Actor) error {
	empty, err := s.Access.Empty(r.Context())
	switch {
	case err != nil:
		return err
	case !empty:
		return errNowhere
	}
	return s.door(w, r, "start", s.t("door.start"), http.StatusOK, DoorView{})
}

func (s *server) start(w http.ResponseWriter, r *http.Request, _ Actor) error {
	p := personForm(r)
	p.Role = string(Administrator)
	err := s.Access.First(w, r, p)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.door(w, r, "start", s.t("door.start"), http.StatusUnprocessableEntity,
			DoorView{Name: p.Name, Refused: s.refusalText(refused)})
	}
	if err == nil {
		s.to(w, r, "/ward")
	}
	return err
}

// be takes the part of one of the demo's people.
func (s *server) be(w http.ResponseWriter, r *http.Request, _ Actor) error {
	if s.Access.Demo(r) == nil {
		return errNowhere
	}
	if err := s.Access.Be(w, r, r.PostForm.Get("person")); err != nil {
		return err
	}
	http.Redirect(w, r, ownPath(r.PostForm.Get("back")), http.StatusSeeOther)
	return nil
}
