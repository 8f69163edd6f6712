package web

import (
	"bytes"
	"log/slog"
	"net/http"
	"regexp"
	"strings"
	"testing"

	"linn/internal/access"
	"linn/internal/locale"
	"linn/internal/pathway"
)

// personRevision is what the form to correct a person was made from.
func (v *visitor) personRevision(id string) string {
	v.t.Helper()
	m := regexp.MustCompile(`name="revision" value="(\d+)"`).FindStringSubmatch(v.get("/case/" + id + "/person").Body.String())
	if m == nil {
		v.t.Fatal("no form to correct the person")
	}
	return m[1]
}

// A misspelt name is corrected with a reason: a signed plan is reopened, and
// what the form does not ask for stays.
func TestCorrectPersonThroughThePages(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Haldis Marrowick")
	id := v.ordinaryEye()
	surgeon := h.as("Noreth Quernstone")
	surgeon.choose(id)
	v.says("second person", v.change(id, "confirm", allRead...), http.StatusSeeOther)
	surgeon.says("signed", surgeon.change(id, "sign"), http.StatusSeeOther)
	v.says("the way", v.get("/case/"+id), 200, `href="/case/`+id+`/person"`)
	v.says("the form", v.get("/case/"+id+"/person"), 200, `value="Sorrel Brindlewick"`, `value="H-0999"`, `value="1957-04-11"`, `value="yes" checked`)
	form := func(pairs ...string) []string {
		return append([]string{"revision", v.personRevision(id), "identifier", "H-0999", "sex", "female", "born", "1957-04-11", "no-allergies", "yes"}, pairs...)
	}
	v.says("no reason", v.post("/case/"+id+"/person", form("name", "Sorel Brindlewick")...), http.StatusUnprocessableEntity, "write the reason", `value="Sorel Brindlewick"`, "Sorrel Brindlewick")
	v.says("somebody else's number", v.post("/case/"+id+"/person", append(form("name", "Sorel Brindlewick", "reason", "misspelt"), "identifier", "H-0412")[2:]...), http.StatusUnprocessableEntity)
	stale := v.personRevision(id)
	v.says("corrected", v.post("/case/"+id+"/person", form("name", "Sorel Brindlewick", "reason", "misspelt at the door")...), http.StatusSeeOther)
	v.says("late", v.post("/case/"+id+"/person", "revision", stale, "name", "Sorella Brindlewick", "identifier", "H-0999", "born", "1957", "reason", "misspelt"), http.StatusUnprocessableEntity, "meanwhile")
	v.says("the eye", v.get("/case/"+id), 200, "Sorel Brindlewick", "Signed once and reopened")
	v.says("its sheet", v.get("/case/"+id+"/sheet"), 200, "NOT SIGNED", "Sorel Brindlewick")
	if strings.Contains(h.as("Tormund Larkness").get("/case/"+id).Body.String(), "/case/"+id+"/person") {
		t.Error("the auditor is offered to correct a person")
	}
}

// The form shows an estimated age as it is today.
func TestCorrectPersonOfEstimatedAge(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Haldis Marrowick")
	id := v.newEye("name", "Tamsin Vale", "identifier", "H-0998", "side", "left", "born", "69", "allergies", "latex, iodine")
	h.now = h.now.AddDate(2, 0, 0)
	v = h.as("Haldis Marrowick")
	v.says("two years on", v.get("/case/"+id+"/person"), 200, `name="born" data-date value="71"`, `value="latex, iodine"`)
}

// The ward settles its own rules; those who may not still read them.
func TestProtocolThroughThePages(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Corvan Eskerling")
	revision := regexp.MustCompile(`name="revision" value="(\d+)"`).FindStringSubmatch(v.get("/desk/protocol").Body.String())[1]
	settle := func(pairs ...string) (code int, body string) {
		w := v.post("/desk/protocol", append([]string{"revision", revision, "hospital", "Skerry Eye", "zone", "America/St_Johns", "places", "Theatre 1; Theatre 2;"}, pairs...)...)
		return w.Code, w.Body.String()
	}
	if code, body := settle("reading-age", "90"); code != http.StatusUnprocessableEntity || !strings.Contains(body, "write the reason") || !strings.Contains(body, `value="90"`) {
		t.Errorf("without a reason: %d", code)
	}
	if code, body := settle("reading-age", "soon", "reason", "x"); code != http.StatusUnprocessableEntity || !strings.Contains(body, "whole number") {
		t.Errorf("no number of days: %d", code)
	}
	if code, _ := settle("reading-age", "3", "reason", "our instrument drifts"); code != http.StatusSeeOther {
		t.Errorf("settled: %d", code)
	}
	if code, body := settle("reading-age", "4", "reason", "late"); code != http.StatusUnprocessableEntity || !strings.Contains(body, "meanwhile") {
		t.Errorf("a form made before: %d", code)
	}
	h.says("read", h.as("Haldis Marrowick").get("/desk/protocol"), 200, "<dd>3</dd>", "Theatre 1; Theatre 2", "Skerry Eye")
	if body := h.as("Haldis Marrowick").get("/desk/protocol").Body.String(); strings.Contains(body, `action="/desk/protocol"`) {
		t.Error("a nurse is offered to settle the protocol")
	}
	nurse := h.as("Haldis Marrowick")
	id := nurse.ordinaryEye() // measured six days before
	h.says("the age holds", nurse.get("/case/"+id), 200, "The readings are", "old; the limit here is 3")
}

// The access log: who, what and which eye, in pages; nobody's name of a
// patient stands in it.
func TestAccessLogThroughThePages(t *testing.T) {
	h := newHouse(t, true)
	id := h.cases["Brennor Tidewell"]
	nurse := h.as("Haldis Marrowick")
	for range linesOnPage + 5 {
		nurse.get("/case/" + id)
	}
	v := h.as("Tormund Larkness")
	w := v.get("/desk/log")
	h.says("newest", w, 200, "Haldis Marrowick", "looked", `href="/case/`+id+`"`, "Older lines")
	if strings.Contains(w.Body.String(), "Brennor Tidewell") {
		t.Error("the log names a patient")
	}
	older := regexp.MustCompile(`href="(/desk/log\?before=\d+)"`).FindStringSubmatch(w.Body.String())
	if older == nil {
		t.Fatal("no way to older lines")
	}
	first := regexp.MustCompile(`<tbody><tr><td>(\d+)</td>`)
	a, b := first.FindStringSubmatch(w.Body.String()), first.FindStringSubmatch(v.get(older[1]).Body.String())
	if a == nil || b == nil || a[1] == b[1] {
		t.Errorf("pages begin with %v and %v", a, b)
	}
	h.says("of one person", v.get("/desk/log?person="+h.who["Haldis Marrowick"]), 200, "Haldis Marrowick")
	h.says("nonsense", v.get("/desk/log?before=x&person=nobody"), 200, "No line fits")
	if body := h.as("Ineva Rookhaven").get("/desk/log").Body.String(); strings.Contains(body, `href="/case/`) || !strings.Contains(body, id) {
		t.Error("the administrator, who may not look at an eye, is led to one or not told which")
	}
	h.says("on the Desk", v.get("/desk"), 200, `href="/desk/log"`, `href="/desk/protocol"`)
}

// A form that is sent twice is no conflict of a person with themselves.
func TestReadingsSentTwice(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Haldis Marrowick")
	id := v.newEye("name", "Sorrel Brindlewick", "identifier", "H-0999", "side", "right", "born", "69")
	own, fellow := v.revision(id)
	form := append([]string{"revision", own, "fellow", fellow}, ordinaryForm...)
	v.says("once", v.post("/case/"+id+"/readings", form...), http.StatusSeeOther)
	stands, _ := v.revision(id)
	v.says("twice", v.post("/case/"+id+"/readings", form...), http.StatusSeeOther)
	if again, _ := v.revision(id); again != stands {
		t.Errorf("revision %s became %s", stands, again)
	}
}

// From the answer to a refused form the theme and the demo's people lead back
// to a page, not to the form's address.
func TestBackFromARefusedForm(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Corvan Eskerling")
	id := h.cases["Brennor Tidewell"]
	for _, r := range allRoutes(t) {
		method, path := r.at(id)
		if method != "POST" || r.open {
			continue
		}
		for _, m := range regexp.MustCompile(`name="back" value="([^"]*)"`).FindAllStringSubmatch(v.post(path).Body.String(), -1) {
			if w := h.as("Corvan Eskerling").get(m[1]); w.Code == http.StatusNotFound && !strings.Contains(path, "/desk/person/") {
				t.Errorf("%s: back to %s: %d", r.pattern, m[1], w.Code)
			}
		}
	}
}

// A stranger's name for this server is refused on a page of words.
func TestRefusedHostInWords(t *testing.T) {
	h := newHouse(t, true)
	v := h.visitor()
	v.headers["Host"] = "evil.example"
	w := v.get("/ward?name=Mira")
	h.says("host", w, http.StatusMisdirectedRequest, "<h1>Not taken</h1>", "does not go by that name")
	if !strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") || strings.Contains(w.Body.String(), "Mira") {
		t.Errorf("%s", w.Header().Get("Content-Type"))
	}
}

// Refused proofs are written down, without the name that was tried.
func TestGuessesAreWrittenDown(t *testing.T) {
	h := newHouse(t, false)
	var log bytes.Buffer
	clock := access.Clock(h.path.Clock)
	var err error
	h.pages, err = Workbench{Pathway: h.path, Language: locale.English, Log: slog.New(slog.NewJSONHandler(&log, nil)), Door: &access.Door{Accounts: Accounts{h.path},
		Limiter: &access.Limiter{Clock: clock}, Sessions: &access.Sessions{Store: access.NewMemorySessions(), Clock: clock}}}.Handler()
	h.must(err)
	h.must(second(h.path.FirstPerson(t.Context(), pathway.NewPerson{Name: "Fen Marsh", Password: "three words here"})))
	for range 7 {
		h.visitor().post("/sign-in", "name", "Fen Marsh", "password", "guess guess")
	}
	said := log.String()
	if strings.Count(said, "sign-in refused") != 7 || strings.Count(said, `"waiting":true`) != 2 || strings.Contains(said, "Fen") || strings.Contains(said, "guess") {
		t.Errorf("the log says %s", said)
	}
}

func second[T any](_ T, err error) error { return err }
