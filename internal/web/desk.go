package web

import (
	"errors"
	"net/http"
	"strings"

	"linn/finding"
)

// DeskView is who works here.
type DeskView struct {
	Frame
	Editable bool
	People   []PersonView
	Roles    []Option
	Refused  []string
	Form     NewPerson
	MayLog   bool // may read the access log
}

// PersonView is one account.
type PersonView struct {
	ID, Name     string
	Revision     int
	Role         string
	Roles        []Option
	Supervisor   bool
	MaySupervise bool
	Closed       bool
	NoPassword   bool
}

func (s *server) desk(w http.ResponseWriter, r *http.Request, by Actor) error {
	return s.deskPage(w, r, by, nil, NewPerson{})
}

func (s *server) deskPage(w http.ResponseWriter, r *http.Request, by Actor, refused finding.Refusals, typed NewPerson) error {
	d, err := s.Pathway.Desk(r.Context(), by)
	if err != nil {
		return err
	}
	typed.Password = ""
	v := DeskView{Frame: s.frame(r, by, s.t("place.desk"), "desk"), Editable: d.Editable, Refused: s.refusalText(refused),
		Form: typed, Roles: s.roles(Role(typed.Role)), MayLog: s.Pathway.May(by, ToReadLog)}
	for _, p := range d.People {
		v.People = append(v.People, PersonView{ID: p.ID, Name: p.Name, Revision: p.Revision, Role: s.t("role." + string(p.Role)), Roles: s.roles(p.Role),
			Supervisor: p.Supervisor, MaySupervise: p.Role == Surgeon, Closed: p.Closed, NoPassword: !p.Password && v.Demo == nil})
	}
	status := http.StatusOK
	if refused != nil {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, status, "desk", "page", v)
}

func (s *server) roles(chosen Role) (list []Option) {
	for _, role := range Roles {
		list = append(list, Option{string(role), s.t("role." + string(role)), role == chosen})
	}
	return list
}

func personForm(r *http.Request) NewPerson {
	get := func(name string) string { return strings.TrimSpace(r.PostForm.Get(name)) }
	return NewPerson{Name: get("name"), Password: r.PostForm.Get("password"), Role: get("role"), Supervisor: get("supervisor") == "yes"}
}

func (s *server) addPerson(w http.ResponseWriter, r *http.Request, by Actor) error {
	p := personForm(r)
	err := s.Pathway.AddPerson(r.Context(), by, p)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.deskPage(w, r, by, refused, p)
	}
	if err == nil {
		s.to(w, r, "/desk")
	}
	return err
}

func (s *server) changePerson(w http.ResponseWriter, r *http.Request, by Actor) error {
	err := s.Pathway.ChangePerson(r.Context(), by, PersonChange{ID: r.PathValue("id"), Revision: revision(r), Role: r.PostForm.Get("role"),
		Supervisor: r.PostForm.Get("supervisor") == "yes", Closed: r.PostForm.Get("closed") == "yes", Password: r.PostForm.Get("password")})
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.deskPage(w, r, by, refused, NewPerson{})
	}
	if err == nil {
		s.to(w, r, "/desk")
	}
	return err
}
