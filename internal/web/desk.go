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
	MayLog   bool   // may read the access log
	Review   string // broken glass that nobody reviewed
	Links    []Link // to what the Desk keeps on pages of its own
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
	v := DeskView{Frame: s.reminded(s.frame(r, by, s.t("place.desk"), "desk")), Editable: d.Editable, Refused: s.refusalText(refused),
		Form: typed, Roles: s.roles(Role(typed.Role)), MayLog: s.Pathway.May(by, ToReadLog)}
	v.Links = s.deskLinks(by)
	if n := s.toReview(r, by); n > 0 {
		v.Review = s.t("glasses.open", "n", n)
	}
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

// deskLinks are the Desk's own pages that the role may use.
func (s *server) deskLinks(by Actor) (list []Link) {
	for _, l := range []struct {
		to   Deed
		page string
	}{{ToMerge, "merge"}, {ToErase, "erase"}, {ToVerify, "verify"}, {ToReview, "glass"}, {ToTally, "risk"}} {
		if s.Pathway.May(by, l.to) {
			list = append(list, Link{Href: s.prefix + "/desk/" + l.page, Text: s.t(l.page + ".desk")})
		}
	}
	return list
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
	if p.Password == "" && s.Access.Demo(r) == nil {
		return s.addInvited(w, r, by, p)
	}
	_, err := s.Pathway.AddPerson(r.Context(), by, p)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.deskPage(w, r, by, refused, p)
	}
	if err == nil {
		s.to(w, r, "/desk")
	}
	return err
}

// addInvited adds a person without a password and shows the link by which they
// set their own.
func (s *server) addInvited(w http.ResponseWriter, r *http.Request, by Actor, p NewPerson) error {
	id, err := s.Pathway.AddPerson(r.Context(), by, p)
	var refused finding.Refusals
	if errors.As(err, &refused) {
		return s.deskPage(w, r, by, refused, p)
	}
	if err != nil {
		return err
	}
	r.SetPathValue("id", id)
	r.PostForm.Set("revision", "1")
	return s.invite(w, r, by)
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
