package web

import (
	"net/http"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"linn/eye"
	"linn/finding"
	"linn/internal/access"
	"linn/internal/locale"
	"linn/unit"
)

// Frame is what surrounds every page.
type Frame struct {
	Lang   string
	Title  string
	Prefix string // before every link; "" outside the gallery
	Theme  string // "light" or "dim"
	Style  string
	Script []string
	Places []Link
	Me     string // name and role of who is signed in, "" for nobody
	Own    *OwnView
	Demo   *DemoBar
	Notice []string // what is wrong with the program or its clock
	Remind []string // what somebody has to see to: the backups
	Back   string   // path to return to after changing the theme
	Bare   bool     // no places: the doors and the print
	Print  bool

	Identity *IdentityView // on clinical pages
}

// OwnView is what the script needs to know of a signed-in person: when the
// page covers itself, and the key of what could not be sent.
type OwnView struct {
	Outbox string // hexadecimal; "" in the demo, which keeps nothing
	Lock   string // seconds without a touch
}

// Link is a place to go.
type Link struct {
	Href, Text string
	Here       bool
}

// DemoBar lets one choose who to be in the demo.
type DemoBar struct{ People []Option }

// Option is one choice of a list.
type Option struct {
	Value, Text string
	Chosen      bool
}

// IdentityView is the bar at the top of a clinical view.
type IdentityView struct {
	CaseID     string
	Side       string // RIGHT EYE
	Name       string
	Identifier string
	About      string // woman, 67 · list of Tue 3 March, place 2 · plan 2, not signed
	Saved      string // saved 10:42, revision 7
	Failed     string // shown by the script when saving did not work
	Revision   int
}

func (s *server) frame(r *http.Request, by Actor, title, here string) Frame {
	f := Frame{
		Lang:   string(s.lang),
		Title:  title,
		Prefix: s.prefix,
		Theme:  themeOf(r),
		Style:  s.prefix + s.assets.url("linn.css"),
		Script: []string{s.prefix + s.assets.url("htmx/htmx.min.js"), s.prefix + s.assets.url("keep.js"), s.prefix + s.assets.url("linn.js")},
		Back:   s.prefix + pageOf(r),
		Notice: s.notices(),
	}
	if by.ID != "" {
		f.Me = s.t("frame.me", "name", by.Name, "role", s.t("role."+string(by.Role)))
		for _, place := range []string{"ward", "bench", "round", "lessons", "shelf", "desk"} {
			if place == "round" && (s.Pathway == nil || !s.Pathway.May(by, ToRound)) {
				continue
			}
			f.Places = append(f.Places, Link{s.prefix + "/" + place, s.t("place." + place), place == here})
		}
	}
	if by.ID != "" {
		f.Own = &OwnView{Outbox: s.Access.OutboxKey(r.Context(), by)}
		if s.Access.Demo(r) == nil {
			f.Own.Lock = strconv.Itoa(int(access.LockAfter.Seconds()))
		}
	}
	for _, a := range s.Access.Demo(r) {
		if f.Demo == nil {
			f.Demo = &DemoBar{}
		}
		text := s.t("frame.me", "name", a.Name, "role", s.t("role."+string(a.Role)))
		f.Demo.People = append(f.Demo.People, Option{a.ID, text, a.ID == by.ID})
	}
	return f
}

// Both end the addresses whose form and page are one.
var (
	ownPages  = []string{"person", "correct", "move", "glass", "operation", "visit"}
	deskPages = []string{"protocol", "merge", "erase", "verify", "risk"}
)

// pageOf is the page a request belongs to: the answer to a refused form has
// the form's address, where there is nothing to look at.
func pageOf(r *http.Request) string {
	if r.Method == http.MethodGet {
		return r.URL.RequestURI()
	}
	part := strings.Split("/"+strings.Trim(r.URL.EscapedPath(), "/"), "/") // "", "case", id, form
	switch {
	case part[1] == "case" && len(part) == 5 && carePage[part[4]] != "":
		return "/case/" + part[2] + "/" + carePage[part[4]]
	case part[1] == "desk" && part[len(part)-1] == "doses":
	case part[1] == "case" && len(part) == 4 && slices.Contains(ownPages, part[3]):
		return r.URL.EscapedPath()
	case part[1] == "case" && len(part) >= 4:
		return "/case/" + part[2]
	case part[1] == "list" && len(part) == 4:
		return "/list/" + part[2]
	case part[1] == "desk" && !slices.Contains(deskPages, part[len(part)-1]), part[1] == "shelf", part[1] == "me":
		return "/" + part[1]
	}
	return r.URL.EscapedPath()
}

// notices are what everybody has to know about the program as it runs.
func (s *server) notices() (list []string) {
	now := s.Notices
	if s.Watch != nil {
		now = append(slices.Clone(now), s.Watch.Notices()...)
	}
	for _, n := range now {
		list = append(list, locale.T(s.lang, "notice."+n.Code, n.Values...))
	}
	return list
}

// Watch looks after the record while the workbench serves.
type Watch interface {
	Notices() []finding.Refusal   // above every page
	Reminders() []finding.Refusal // on the Ward and the Desk
}

// reminded adds to a frame what the people of the Ward and the Desk can do
// something about: the state of the backups.
func (s *server) reminded(f Frame) Frame {
	if s.Watch != nil {
		for _, n := range s.Watch.Reminders() {
			f.Remind = append(f.Remind, locale.T(s.lang, "notice."+n.Code, n.Values...))
		}
	}
	return f
}

// clinical is the frame of a view of one eye.
func (s *server) clinical(r *http.Request, by Actor, title string, id Identity) Frame {
	f := s.frame(r, by, s.t("title.clinical", "side", s.side(id.Side), "name", id.Name, "title", title), "ward")
	f.Identity = s.identity(id)
	if by.ID != "" && !s.Pathway.May(by, ToLook) {
		f.Notice = append(f.Notice, s.t("glass.notice"))
	}
	return f
}

func (s *server) identity(id Identity) *IdentityView {
	about := []string{s.person(id)}
	if id.List.Known() {
		about = append(about, s.listed(id))
	}
	about = append(about, s.planState(id))
	return &IdentityView{
		CaseID: id.CaseID, Side: s.side(id.Side), Name: id.Name, Identifier: id.Identifier,
		About: strings.Join(about, " · "), Failed: s.t("saved.failed"), Revision: id.Revision,
	}
}

// person writes "woman, 67".
func (s *server) person(id Identity) string {
	who := s.t("sex.none")
	if id.Sex != "" {
		who = s.t("sex." + string(id.Sex))
	}
	age := s.t("age.none")
	if id.Age.Known {
		age = unit.Fixed(float64(id.Age.Value), 0)
	}
	return s.t("person", "who", who, "age", age)
}

func (s *server) listed(id Identity) string {
	if id.Place == 0 {
		return s.t("list", "date", s.date(id.List))
	}
	return s.t("list.place", "date", s.date(id.List), "place", unit.Fixed(float64(id.Place), 0))
}

func (s *server) planState(id Identity) string {
	n := unit.Fixed(float64(id.Plan), 0)
	switch {
	case id.Plan == 0:
		return s.t("plan.none")
	case id.Signed:
		return s.t("plan.signed", "n", n)
	}
	return s.t("plan.unsigned", "n", n)
}

// both sides, right first: the trade writes the right eye on the left.
var bothSides = []eye.Side{eye.Right, eye.Left}

const themeCookie = "linn-theme"

func themeOf(r *http.Request) string {
	if c, err := r.Cookie(themeCookie); err == nil && c.Value == "dim" {
		return "dim"
	}
	return "light"
}

// theme keeps the chosen theme on this device and returns to the page.
func (s *server) theme(w http.ResponseWriter, r *http.Request, _ Actor) error {
	value := "light"
	if r.PostForm.Get("theme") == "dim" {
		value = "dim"
	}
	http.SetCookie(w, &http.Cookie{Name: themeCookie, Value: value, Path: "/", MaxAge: 10 * 365 * 24 * 3600,
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: r.TLS != nil})
	http.Redirect(w, r, ownPath(r.PostForm.Get("back")), http.StatusSeeOther)
	return nil
}

// ownPath lets a redirect stay in this program only.
func ownPath(p string) string {
	if !strings.HasPrefix(p, "/") || strings.HasPrefix(p, "//") || strings.Contains(p, "\\") || strings.ContainsFunc(p, unicode.IsControl) {
		return "/ward"
	}
	return p
}
