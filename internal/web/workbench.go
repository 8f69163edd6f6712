package web

import (
	"context"
	"errors"
	"log/slog"
	"net/http"

	"linn/finding"
	"linn/internal/access"
	"linn/internal/locale"
	"linn/internal/pathway"
)

// Workbench is what the pages of a ward stand on.
type Workbench struct {
	Pathway  *pathway.Pathway
	Door     *access.Door // its Accounts are the ward's own, see Accounts
	Hosts    []string     // names of this server beside those of the loopback interface
	Language locale.Language
	Log      *slog.Logger
	Notices  []finding.Refusal

	// Watch says what stands with the record and its backups; nil in a demo.
	Watch Watch
}

// Handler makes the guarded pages of a ward.
func (b Workbench) Handler() (http.Handler, error) {
	if b.Log == nil {
		b.Log = slog.New(slog.DiscardHandler)
	}
	a := &ward{Pathway: b.Pathway, words: words{b.Language}, log: b.Log}
	d := &doors{ward: a, door: b.Door}
	s, err := newServer(Options{Pathway: d, Access: d, Language: b.Language, Version: b.Pathway.Program, Log: b.Log, Notices: b.Notices, Watch: b.Watch})
	if err != nil {
		return nil, err
	}
	a.words = s.words
	guard := &access.Guard{Door: b.Door, Hosts: b.Hosts, Body: bodyOf, Refuse: s.refused,
		Broken: func(r *http.Request, err error) { b.Log.Error("session failed", "error", err) }}
	return guard.Protect(s.mux()), nil
}

// refused says in words why the guard let a request not pass. It stands
// outside the session: nobody is signed in here.
func (s *server) refused(w http.ResponseWriter, r *http.Request, status int, why finding.Refusal) {
	heading := s.t("error.refused.heading")
	v := ErrorView{Frame: s.frame(r.WithContext(context.Background()), Actor{}, heading, ""), Heading: heading,
		Lines: s.refusalText(finding.Refusals{why}), Way: s.t("error.refused.way"), Link: Link{Href: "/ward", Text: s.t("error.back")}}
	v.Bare, v.Back = true, "/ward" // of a request that was not let in nothing is carried on
	if err := s.render(w, status, "error", "page", v); err != nil {
		s.Log.Error("error page failed", "error", err)
		http.Error(w, locale.Refusal(s.lang, why), status)
	}
}

// ward asks the program's verbs for the pages: every method calls one verb and
// turns its answer into what a page shows.
type ward struct {
	*pathway.Pathway
	words
	log *slog.Logger
}

func actorOf(by Actor) pathway.Actor { return pathway.Actor{ID: by.ID} } // only the id is believed

func webActor(a pathway.Actor) Actor { return Actor{ID: a.ID, Name: a.Name, Role: Role(a.Role)} }

// said turns the verbs' errors into those that pages say in words.
func said(err error) error {
	var forbidden *pathway.ForbiddenError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &forbidden):
		return ErrForbidden
	case errors.Is(err, pathway.ErrAbsent), errors.Is(err, pathway.ErrErased):
		return ErrNotFound
	}
	var one finding.Refusal
	if errors.As(err, &one) { // of a password
		return finding.Refusals{one}
	}
	return err
}

func (a *ward) May(by Actor, what Deed) bool {
	return pathway.May(pathway.Role(by.Role), pathway.Verb(what))
}

var (
	_ Pathway = (*doors)(nil)
	_ Access  = (*doors)(nil)
)
