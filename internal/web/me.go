package web

import (
	"errors"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"linn/finding"
)

// MePage is a person's own account.
type MePage struct {
	Frame
	Sessions []SessionView
	PIN      bool // this session has a short number
	Refused  []string
	Done     string
	InDemo   bool
}

// SessionView is one signed-in browser.
type SessionView struct {
	ID, Device, Address, Began, Seen string
	Here                             bool
}

func (s *server) me(w http.ResponseWriter, r *http.Request, by Actor) error {
	done := ""
	if key := "me.done." + r.Form.Get("done"); slices.Contains([]string{"password", "pin", "session"}, r.Form.Get("done")) {
		done = s.t(key)
	}
	return s.mePage(w, r, by, done, nil)
}

func (s *server) mePage(w http.ResponseWriter, r *http.Request, by Actor, done string, refused finding.Refusals) error {
	v := MePage{Frame: s.frame(r, by, s.t("me.heading"), ""), Done: done, Refused: s.refusalText(refused), InDemo: s.Access.Demo(r) != nil}
	list, err := s.Access.Sessions(r)
	if err != nil {
		return err
	}
	for _, one := range list {
		line := SessionView{ID: one.ID, Device: one.Device, Address: one.Address, Began: s.moment(one.Began), Seen: s.moment(one.Seen), Here: one.Here}
		if line.Device == "" {
			line.Device = s.t("me.device.unknown")
		}
		v.PIN = v.PIN || one.Here && one.PIN
		v.Sessions = append(v.Sessions, line)
	}
	return s.render(w, answered(refused), "me", "page", v)
}

// ownForm answers a form of one's own account.
func (s *server) ownForm(w http.ResponseWriter, r *http.Request, by Actor, done string, err error) error {
	var refused finding.Refusals
	switch {
	case errors.Is(err, ErrWrongPassword):
		refused = Refused("own-password-wrong", "")
	case errors.Is(err, ErrTooMany):
		refused = Refused("vouch-wait", "")
	case err != nil && !errors.As(err, &refused):
		return err
	}
	if refused != nil {
		return s.mePage(w, r, by, "", refused)
	}
	s.to(w, r, "/me?done="+done)
	return nil
}

func (s *server) changeOwnPassword(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := r.PostForm.Get
	if get("new") != get("again") {
		return s.ownForm(w, r, by, "", Refused("password-twice", "password"))
	}
	return s.ownForm(w, r, by, "password", s.Access.ChangePassword(w, r, by, get("password"), get("new")))
}

func (s *server) setPIN(w http.ResponseWriter, r *http.Request, by Actor) error {
	get := r.PostForm.Get
	pin := strings.TrimSpace(get("pin"))
	if get("remove") == "yes" {
		pin = ""
	} else if pin == "" {
		return s.ownForm(w, r, by, "", Refused("pin-shape", "pin"))
	}
	return s.ownForm(w, r, by, "pin", s.Access.SetPIN(w, r, by, get("password"), pin))
}

func (s *server) endSession(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.ownForm(w, r, by, "session", s.Access.EndSession(r, r.PostForm.Get("session")))
}

func (s *server) endEverywhere(w http.ResponseWriter, r *http.Request, by Actor) error {
	err := s.Access.EndAll(w, r, by)
	if err == nil {
		s.to(w, r, "/sign-in")
	}
	return err
}

// LockPage stands before everything while a session is covered. A form that
// came in meanwhile is carried on and not lost.
type LockPage struct {
	Frame
	Name    string
	Back    string
	Again   string // address of the form that came in
	Hidden  []HiddenField
	Refused []string
}

func (s *server) locked(w http.ResponseWriter, r *http.Request, who Actor) error {
	if partial(r) {
		w.Header().Set("HX-Trigger", "linn-locked")
		w.WriteHeader(http.StatusLocked)
		return nil
	}
	v := LockPage{Name: who.Name, Back: pageOf(r)}
	if r.Method == http.MethodPost {
		v.Again, v.Hidden = r.URL.EscapedPath(), carried(r.PostForm)
	}
	return s.lockPage(w, r, v, nil)
}

// secrets are never carried through a page.
var secrets = []string{"password", "new", "again", "pin", "secret", "again-action"}

// carried are a form's values, so that it can be sent again.
func carried(form url.Values) (list []HiddenField) {
	for name, values := range form {
		if slices.Contains(secrets, name) {
			continue
		}
		for _, v := range values {
			list = append(list, HiddenField{name, v})
		}
	}
	slices.SortStableFunc(list, func(a, b HiddenField) int { return strings.Compare(a.Name, b.Name) })
	return list
}

func (s *server) lockPage(w http.ResponseWriter, r *http.Request, v LockPage, refused []string) error {
	v.Frame = s.frame(r, Actor{}, s.t("lock.heading"), "")
	v.Frame.Bare, v.Frame.Back, v.Refused = true, "/ward", refused
	return s.render(w, http.StatusLocked, "locked", "page", v)
}

// lock covers the session at once.
func (s *server) lock(w http.ResponseWriter, r *http.Request, _ Actor) error {
	if err := s.Access.Lock(r); err != nil {
		return err
	}
	if partial(r) {
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	s.to(w, r, ownPath(r.PostForm.Get("back")))
	return nil
}

// unlock opens a covered session again, and offers to send on the form that
// came in meanwhile.
func (s *server) unlock(w http.ResponseWriter, r *http.Request, _ Actor) error {
	who, locked := s.Access.Locked(r)
	if !locked {
		s.to(w, r, "/ward")
		return nil
	}
	err := s.Access.Unlock(w, r, r.PostForm.Get("secret"))
	words := ""
	switch {
	case errors.Is(err, ErrWrongPassword):
		words = s.t("lock.wrong")
	case errors.Is(err, ErrTooMany):
		words = s.t("error.tries.heading") + ". " + s.t("error.tries.way")
	case errors.Is(err, ErrNoPIN):
		words = s.t("lock.no-pin")
	case err != nil:
		return err
	}
	again := r.PostForm.Get("again-action")
	if words == "" && partial(r) {
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	if words != "" && partial(r) {
		w.WriteHeader(http.StatusUnauthorized)
		_, err := w.Write([]byte(words))
		return err
	}
	if words != "" {
		form := url.Values{}
		for name, values := range r.PostForm {
			if name != "secret" && name != "back" && name != "again-action" {
				form[name] = values
			}
		}
		return s.lockPage(w, r, LockPage{Name: who.Name, Back: ownPath(r.PostForm.Get("back")), Again: again, Hidden: carried(form)}, []string{words})
	}
	if again != "" && ownPath(again) == again {
		delete(r.PostForm, "back")
		v := LockPage{Frame: s.frame(r, who, s.t("lock.resume"), ""), Again: again, Hidden: carried(r.PostForm)}
		return s.render(w, http.StatusOK, "resume", "page", v)
	}
	s.to(w, r, ownPath(r.PostForm.Get("back")))
	return nil
}

// here tells that somebody is at the page, though nothing was sent.
func (s *server) here(w http.ResponseWriter, _ *http.Request, _ Actor) error {
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// InvitePage is the link as the administrator hands it over, or the page it
// leads to.
type InvitePage struct {
	Frame
	Name, Link, Until string
	Token             string
	Refused           []string
}

func (s *server) invite(w http.ResponseWriter, r *http.Request, by Actor) error {
	link, err := s.Access.Invite(r.Context(), by, r.PathValue("id"), revision(r))
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.deskPage(w, r, by, refused, NewPerson{})
	}
	if err != nil {
		return err
	}
	scheme := "http://"
	if r.TLS != nil {
		scheme = "https://"
	}
	return s.render(w, http.StatusOK, "invitation", "page", InvitePage{Frame: s.frame(r, by, s.t("invite.heading"), "desk"), Name: link.Name,
		Link: scheme + r.Host + s.prefix + "/invitation/" + link.Token, Until: s.moment(link.Until)})
}

func (s *server) welcome(w http.ResponseWriter, r *http.Request, _ Actor) error {
	return s.welcomePage(w, r, nil)
}

func (s *server) welcomePage(w http.ResponseWriter, r *http.Request, refused []string) error {
	link, err := s.Access.Welcome(r.Context(), r.PathValue("token"))
	if err != nil {
		return err
	}
	v := InvitePage{Frame: s.frame(r, Actor{}, s.t("welcome.heading", "name", link.Name), ""), Name: link.Name, Until: s.moment(link.Until), Token: r.PathValue("token"), Refused: refused}
	v.Bare, v.Back = true, "/ward"
	status := http.StatusOK
	if refused != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "welcome", "page", v)
}

func (s *server) accept(w http.ResponseWriter, r *http.Request, _ Actor) error {
	get := r.PostForm.Get
	err := error(Refused("password-twice", "password"))
	if get("new") == get("again") {
		err = s.Access.Accept(w, r, r.PathValue("token"), get("new"))
	}
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.welcomePage(w, r, s.refusalText(refused))
	}
	if err == nil {
		s.to(w, r, "/ward")
	}
	return err
}
