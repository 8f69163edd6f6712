package web

import (
	"bytes"
	"errors"
	"fmt"
	"html/template"
	"log/slog"
	"net/http"
	"regexp"
	"runtime/debug"
	"strings"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
)

// Options are what the pages stand on.
type Options struct {
	Pathway  Pathway
	Access   Access
	Language locale.Language
	Version  string
	Log      *slog.Logger
	// Notices stand above every page: what is wrong with the program or its
	// clock. The words are "notice.CODE".
	Notices []finding.Refusal

	Watch Watch // nil where nobody looks after the record
	// Gallery serves every page with canned cases under /gallery/.
	Gallery bool
	// Prefix stands before every link; the gallery's own use.
	prefix string
}

type server struct {
	Options
	words
	pages  map[string]*template.Template
	assets *assets
}

func newServer(o Options) (*server, error) {
	if o.Language == "" {
		o.Language = locale.English
	}
	if o.Log == nil {
		o.Log = slog.New(slog.DiscardHandler)
	}
	s := &server{Options: o, words: words{o.Language}}
	var err error
	if s.assets, err = loadAssets(); err != nil {
		return nil, err
	}
	s.pages, err = parsePages(s.words)
	return s, err
}

// contentPolicy lets a page load from this program alone, and nothing inline.
const contentPolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; " +
	"font-src 'self'; connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"

// maxForm bounds a posted form. The largest honest one is two eyes, 5 kB.
const maxForm = 256 << 10

// guard sets the headers every answer carries and refuses what comes from
// another site.
func (s *server) guard(next http.Handler) http.Handler {
	inner := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", contentPolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		r.Body = http.MaxBytesReader(w, r.Body, bodyOf(r))
		next.ServeHTTP(w, r)
	})
	return http.NewCrossOriginProtection().Handler(inner)
}

// sendingShape is the key under which the page's script sends what was typed;
// mostAfter bounds the list of those it had no answer to.
var sendingShape = regexp.MustCompile(`^[0-9a-f]{32}$`)

const mostAfter = 2000

// handle runs a page for whoever is signed in and says its error in words.
func (s *server) handle(rt route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if p := recover(); p != nil && p != http.ErrAbortHandler {
				s.Log.Error("page broke", "pattern", rt.pattern, "stack", string(debug.Stack()))
				s.fail(w, r, fmt.Errorf("web: %v", p))
			}
		}()
		by, ok := s.Access.Who(r)
		who, locked := s.Access.Locked(r)
		if !ok && !locked && !rt.open {
			s.leadIn(w, r)
			return
		}
		if err := r.ParseForm(); err != nil {
			s.fail(w, r, errBadForm)
			return
		}
		if once, after := r.PostForm.Get("once"), r.PostForm.Get("after"); once != "" || after != "" {
			if !sendingShape.MatchString(once) || len(after) > mostAfter {
				s.fail(w, r, errBadForm)
				return
			}
			r = r.WithContext(pathway.WithSending(r.Context(), pathway.Sending{Once: once, After: after}))
		}
		if locked && !rt.open {
			if err := s.locked(w, r, who); err != nil {
				s.fail(w, r, err)
			}
			return
		}
		if err := rt.page(w, r, by); err != nil {
			s.fail(w, r, err)
		}
	})
}

// leadIn leads to the sign-in page, or to the first start.
func (s *server) leadIn(w http.ResponseWriter, r *http.Request) {
	empty, err := s.Access.Empty(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	door := "/sign-in"
	if empty {
		door = "/start"
	}
	s.to(w, r, door)
}

// to sends the browser to another page, also out of a partial request.
func (s *server) to(w http.ResponseWriter, r *http.Request, path string) {
	if partial(r) {
		w.Header().Set("HX-Redirect", s.prefix+path)
		w.WriteHeader(http.StatusNoContent)
		return
	}
	http.Redirect(w, r, s.prefix+path, http.StatusSeeOther)
}

// partial reports that the page's script asked for a part of a page.
func partial(r *http.Request) bool { return r.Header.Get("HX-Request") == "true" }

var (
	errBadForm = errors.New("web: unreadable form")
	errNowhere = errors.New("web: no such page")
)

func (s *server) nowhere(http.ResponseWriter, *http.Request, Actor) error { return errNowhere }

func (s *server) home(w http.ResponseWriter, r *http.Request, _ Actor) error {
	s.to(w, r, "/ward")
	return nil
}

// render writes a whole page or a named part of one.
func (s *server) render(w http.ResponseWriter, status int, page, part string, view any) error {
	var b bytes.Buffer
	if err := s.pages[page].ExecuteTemplate(&b, part, view); err != nil {
		return fmt.Errorf("web: page %s: %w", page, err)
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, err := b.WriteTo(w)
	return err
}

// refusalText writes all reasons of a refused form.
func (s *server) refusalText(r finding.Refusals) []string {
	var list []string
	for _, one := range r {
		list = append(list, strings.TrimSuffix(locale.Refusal(s.lang, one), "."))
	}
	return list
}
