package browsertest

import (
	"crypto/rand"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"

	"linn/internal/access"
	"linn/internal/care/casebook"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/internal/store"
	"linn/internal/web"
)

// bench is the whole program over a store of its own, as serve wires it, with
// a clock that stands still unless it is moved.
type bench struct {
	*browser
	path  *pathway.Pathway
	who   map[string]casebook.Actor // people by name
	cases map[string]string         // case by name of the person and eye
	now   time.Time
}

// nepal is a zone that trips whoever counts days in UTC.
var nepal = time.FixedZone("+05:45", 5*3600+45*60)

// workbench starts the program over an empty folder; demo fills it with the
// invented ward and lets one choose who to be.
func workbench(t *testing.T, demo bool) *bench {
	t.Helper()
	return workbenchOver(t, demo, func(h http.Handler) http.Handler { return h })
}

// workbenchOver is workbench behind something that stands between it and the
// browser.
func workbenchOver(t *testing.T, demo bool, between func(http.Handler) http.Handler) *bench {
	t.Helper()
	b := &bench{browser: open(t), now: time.Date(2026, 3, 2, 9, 30, 0, 0, nepal), who: map[string]casebook.Actor{}, cases: map[string]string{}}
	record, err := store.Open(t.Context(), t.TempDir(), store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	clock := func() time.Time { return b.now }
	b.path = &pathway.Pathway{Store: record, Clock: clock, Random: rand.Reader, Program: "0.1.0", Hash: access.NewPassword}
	door := &access.Door{Accounts: web.Accounts{Pathway: b.path}, Limiter: &access.Limiter{Clock: clock}, Demo: demo,
		Sessions: &access.Sessions{Store: access.NewMemorySessions(), Clock: clock}}
	if demo {
		if door.DemoPerson, err = b.path.SeedDemo(t.Context()); err != nil {
			t.Fatal(err)
		}
		b.learn(door.DemoPerson)
	}
	handler, err := web.Workbench{Pathway: b.path, Door: door, Language: locale.English}.Handler()
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(between(handler))
	b.base = server.URL
	t.Cleanup(func() {
		server.Close()
		if err := record.Close(); err != nil {
			t.Error(err)
		}
	})
	return b
}

// learn reads who and what is in the ward.
func (b *bench) learn(as string) {
	by := casebook.Actor{ID: as}
	people, err := b.path.Desk(b.t.Context(), by)
	if err != nil {
		b.t.Fatal(err)
	}
	for _, p := range people {
		b.who[p.Name] = p.Actor
	}
	_, rows, err := b.path.Ward(b.t.Context(), by, pathway.WardQuery{})
	if err != nil {
		b.t.Fatal(err)
	}
	for _, r := range rows {
		b.cases[r.Who.Name+" "+string(r.Side)] = r.Case
	}
}

// be takes the part of a person of the demo, as one does at the head of the
// page.
func (b *bench) be(name string) {
	b.t.Helper()
	ask[bool](b.browser, `(document.getElementById("be").value = "`+b.who[name].ID+`", document.querySelector("form.demo button").click(), true)`)
	b.until(name+" is there", `document.readyState === "complete" && document.querySelector(".me") && document.querySelector(".me").textContent.startsWith("`+name+`")`)
}
