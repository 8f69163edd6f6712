package web

import (
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"
	"time"

	"linn/internal/pathway"
)

// needed is the verb that each route asks of a role; "" lets everybody in who
// is signed in. It is written down here once more, by hand: the table of
// routes and the permissions are held against it.
var needed = map[string]pathway.Verb{
	"GET /{$}": "", "GET /ward": "ward", "GET /case/new": "open-case", "POST /case/new": "open-case",
	"GET /case/{id}": "eye", "POST /case/{id}/readings": "measure", "POST /case/{id}/repeats": "measure", "POST /case/{id}/pass": "pass",
	"POST /case/{id}/lens": "choose", "POST /case/{id}/phases": "phases", "POST /case/{id}/confirm": "read-back", "POST /case/{id}/sign": "sign", "POST /case/{id}/list": "list",
	"POST /case/{id}/reopen": "reopen", "POST /case/{id}/close": "close", "GET /case/{id}/sheet": "sheet", "GET /case/{id}/sheet.pdf": "sheet",
	"GET /case/{id}/person": "correct", "POST /case/{id}/person": "correct",
	"GET /case/{id}/history": "history", "GET /patient/{id}/history": "history", "GET /case/{id}/correct": "correct", "POST /case/{id}/correct": "correct",
	"GET /case/{id}/move": "move", "POST /case/{id}/move": "move", "GET /desk/merge": "merge", "POST /desk/merge": "merge", "GET /desk/erase": "erase",
	"GET /list/{day}": "lock", "POST /list/{day}/pack": "lock", "POST /list/{day}/print": "lock",
	"POST /desk/person/{id}/invite": "people", "GET /desk/glass": "review-glass", "POST /desk/glass/{id}": "review-glass",
	"GET /case/{id}/glass": "", "POST /case/{id}/glass": "", "GET /me": "", "POST /me/password": "", "POST /me/pin": "", "POST /me/session": "",
	"POST /me/everywhere": "", "POST /lock": "", "POST /here": "",
	"POST /desk/erase": "erase", "GET /desk/verify": "verify", "POST /desk/verify": "verify",
	"GET /bench": "", "GET /lessons": "", "GET /lessons/{operation}": "", "GET /lessons/questions": "", "GET /bench/{page}": "", "GET /bench/{page}/figure.svg": "",
	"GET /case/{id}/operation": "eye", "POST /case/{id}/operation": "operate", "GET /case/{id}/visit": "eye", "POST /case/{id}/visit": "follow-up",
	"POST /case/{id}/lost": "trace", "POST /case/{id}/bed": "follow-up", "POST /case/{id}/again": "open-case", "POST /case/{id}/file": "attach",
	"GET /case/{id}/file/{n}": "eye", "POST /case/{id}/file/{n}": "attach", "GET /case/{id}/leaflet": "eye", "GET /case/{id}/leaflet.pdf": "eye", "GET /round": "round",
	"GET /case/{id}/cornea": "eye", "GET /case/{id}/marks": "eye", "POST /case/{id}/cornea": "choose", "GET /bench/meridians": "",
	"GET /case/{id}/optics": "eye", "GET /seen.png": "",
	"GET /shelf": "shelf", "POST /shelf/model": "lens", "POST /shelf/stock": "stock", "GET /shelf/machine": "machine", "POST /shelf/machine": "machine",
	"GET /case/{id}/decided": "eye", "GET /case/{id}/drugs": "eye", "POST /case/{id}/care/findings": "findings", "POST /case/{id}/care/decide": "decide",
	"POST /case/{id}/care/consent": "consent", "POST /case/{id}/care/mark": "consent", "POST /case/{id}/care/list": "consent",
	"POST /case/{id}/care/drugs": "drugs", "POST /case/{id}/care/check": "drugs", "GET /desk/risk": "tally", "POST /desk/risk": "protocol", "GET /desk/doses": "desk", "POST /desk/doses": "protocol",
	"GET /desk": "desk", "POST /desk/person": "people", "POST /desk/person/{id}": "people",
	"GET /desk/protocol": "desk", "POST /desk/protocol": "protocol", "GET /desk/log": "access-log",
}

// byRole is who may do what, by hand from the protocol of the ward.
var byRole = map[Role]string{
	Technician:    "attach round follow-up trace ward open-case eye findings history measure correct move read-back sheet shelf stock machine desk",
	Trainee:       "operate attach round follow-up trace ward open-case eye findings decide drugs consent history measure correct move choose phases list read-back sign sheet lock reopen close shelf stock machine desk",
	Surgeon:       "operate attach round follow-up trace ward open-case eye findings decide drugs consent history measure correct move pass choose phases list read-back sign sheet lock reopen close merge erase shelf lens stock machine desk protocol verify tally",
	Nurse:         "operate attach round follow-up trace ward open-case eye history findings drugs consent measure correct move list read-back sheet lock reopen close merge shelf stock machine desk",
	Counsellor:    "round trace ward open-case eye consent history list shelf desk",
	Auditor:       "round ward eye history shelf desk access-log verify review-glass tally",
	Administrator: "ward merge erase shelf stock desk people protocol access-log verify review-glass tally",
}

// inRole names somebody of the demo for each role.
var inRole = map[Role]string{Technician: "Liruna Saltmarsh", Trainee: "Kessia Inchwater", Surgeon: "Corvan Eskerling", Nurse: "Haldis Marrowick",
	Counsellor: "Quilla Netherby-Voe", Auditor: "Tormund Larkness", Administrator: "Ineva Rookhaven"}

func allRoutes(t *testing.T) []route {
	t.Helper()
	s, err := newServer(Options{Access: &canned{}})
	if err != nil {
		t.Fatal(err)
	}
	return s.routes()
}

// at is the address of a route for a case or person.
func (r route) at(id string) (method, path string) {
	method, path, _ = strings.Cut(r.pattern, " ")
	return method, strings.NewReplacer("{id}", id, "{n}", "1", "{$}", "", "{sum}", "0", "{name...}", "x", "{page}", "chamber", "{token}", "0", "{day}", "2026-03-05").Replace(path)
}

// Every role on every route: who may not is told so, and nothing is done; who
// may is never told so.
func TestRolesOnRoutes(t *testing.T) {
	h := newHouse(t, true)
	id := h.cases["Brennor Tidewell"]
	for role, name := range inRole {
		v := h.as(name)
		for _, r := range allRoutes(t) {
			if r.open {
				continue
			}
			verb, written := needed[r.pattern]
			if !written {
				t.Errorf("%s is not in the table of this test", r.pattern)
				continue
			}
			method, path := r.at(id)
			if strings.HasPrefix(path, "/desk/") {
				path = strings.Replace(path, id, h.who["Perrin Wrackline"], 1)
			}
			w := v.send(method, path, "code=0000-0000-0000-0000")
			may := verb == "" || strings.Contains(" "+byRole[role]+" ", " "+string(verb)+" ")
			if told := w.Code == http.StatusForbidden; told == may {
				t.Errorf("%s on %s: status %d, may: %v", role, r.pattern, w.Code, may)
			}
			if w.Code >= 500 {
				t.Errorf("%s on %s: status %d", role, r.pattern, w.Code)
			}
			if path == "/me/everywhere" {
				v = h.as(name) // back in
			}
		}
	}
}

// Without a session every page leads to the door, and no form does anything.
func TestNobodyOnRoutes(t *testing.T) {
	h := newHouse(t, false)
	_, err := h.path.FirstPerson(t.Context(), pathway.NewPerson{Name: "Fen Marsh", Password: "three words here"})
	h.must(err)
	for _, r := range allRoutes(t) {
		method, path := r.at("019caca6-3660-7e4b-a4fe-80977fdce01a")
		w := h.visitor().send(method, path, "")
		if !r.open && (w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/sign-in") {
			t.Errorf("%s: status %d to %q", r.pattern, w.Code, w.Header().Get("Location"))
		}
	}
}

// Every answer carries the headers, errors and refusals of the guard too.
func TestHeadersOnRoutes(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Corvan Eskerling")
	check := func(what string, w *httptest.ResponseRecorder) {
		t.Helper()
		for key, want := range map[string]string{"Content-Security-Policy": contentPolicy, "X-Content-Type-Options": "nosniff", "X-Frame-Options": "DENY",
			"Referrer-Policy": "same-origin", "Cross-Origin-Opener-Policy": "same-origin", "Cross-Origin-Resource-Policy": "same-origin"} {
			if got := w.Header().Get(key); got != want {
				t.Errorf("%s: %s is %q", what, key, got)
			}
		}
		if got := w.Header().Get("Cache-Control"); got != "no-store" && !strings.Contains(what, "/static/") {
			t.Errorf("%s: Cache-Control is %q", what, got)
		}
		if inline := regexp.MustCompile(`<script>|<style|\son[a-z]+=|\sstyle=`).FindString(w.Body.String()); inline != "" {
			t.Errorf("%s: the page carries %q", what, inline)
		}
	}
	for _, r := range allRoutes(t) {
		method, path := r.at(h.cases["Brennor Tidewell"])
		check(r.pattern, v.send(method, path, ""))
	}
	check("nowhere", v.get("/nowhere"))
	v.headers["Host"] = "evil.example"
	check("another host", v.get("/ward"))
}

// A form from another site, a stranger's name for this server and a body
// without end reach no verb.
func TestStrangersOnRoutes(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Corvan Eskerling")
	before := len(h.revisions())
	for _, r := range allRoutes(t) {
		method, path := r.at(h.cases["Brennor Tidewell"])
		if method == "POST" {
			for _, headers := range []map[string]string{{"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}, {"Origin": "https://evil.example"}} {
				v.headers = headers
				if w := v.send(method, path, "revision=5&reason=x&target=0"); w.Code != http.StatusForbidden || !strings.Contains(w.Body.String(), "another site") {
					t.Errorf("%s %v: status %d", r.pattern, headers, w.Code)
				}
			}
			v.headers = map[string]string{}
			if w := v.send(method, path, "revision=5&x="+strings.Repeat("x", maxForm)); w.Code != http.StatusRequestEntityTooLarge {
				t.Errorf("%s with a body without end: status %d", r.pattern, w.Code)
			}
		}
		v.headers = map[string]string{"Host": "evil.example"}
		if w := v.send(method, path, ""); w.Code != http.StatusMisdirectedRequest {
			t.Errorf("%s under a stranger's name: status %d", r.pattern, w.Code)
		}
		v.headers = map[string]string{}
	}
	if after := len(h.revisions()); after != before {
		t.Errorf("%d revisions became %d", before, after)
	}
}

func (h *house) revisions() (list []string) {
	h.t.Helper()
	_, rows, err := h.path.Ward(h.t.Context(), pathway.Actor{ID: h.first}, pathway.WardQuery{Closed: true})
	h.must(err)
	for _, r := range rows {
		for range r.Revision {
			list = append(list, r.Case)
		}
	}
	return list
}

const evil = `<script>alert("x")</script><img src=x onerror=alert(1)>`

// What people type is text wherever it is shown.
func TestTypedTextIsEscaped(t *testing.T) {
	h := newHouse(t, true)
	nurse, surgeon, admin := h.as("Haldis Marrowick"), h.as("Corvan Eskerling"), h.as("Ineva Rookhaven")
	id := nurse.newEye("name", "N"+evil, "identifier", "I"+evil, "side", "right", "born", "70", "list", "2026-03-05", "allergies", "A"+evil)
	form := append([]string{"right.device", "D" + evil, "right.operator", "O" + evil, "left.axial_length_mm", "L" + evil}, ordinaryForm...)
	h.says("readings", nurse.change(id, "readings", form...), http.StatusSeeOther)
	h.says("theatre", nurse.change(id, "list", "date", "2026-03-05", "place", "T"+evil), http.StatusSeeOther)
	h.says("model", surgeon.post("/shelf/model", "name", "M"+evil, "a", "118.9"), http.StatusSeeOther)
	h.says("person", admin.post("/desk/person", "name", "P"+evil, "role", "nurse", "password", "three words here"), http.StatusSeeOther)
	gated := h.cases["Celindra Kelpstone"]
	h.says("pass", surgeon.change(gated, "pass", "code", "length-very-short", "field", "axial_length_mm", "reason", "R"+evil), http.StatusSeeOther)
	h.says("correction", nurse.change(id, "correct", "right.acd_mm", "3.21", "reason", "C"+evil), http.StatusSeeOther)
	h.says("glass", admin.post("/case/"+id+"/glass", "reason", "G"+evil), http.StatusSeeOther)
	auditor := h.as("Tormund Larkness")
	h.says("review", auditor.post("/desk/glass/"+h.who["Ineva Rookhaven"], "n", "1", "note", "W"+evil), http.StatusSeeOther)
	h.says("protocol", surgeon.post("/desk/protocol", "revision", h.protocolRevision(surgeon), "hospital", "H"+evil, "places", "Q"+evil, "recalled", "Z"+evil, "reason", "because"), http.StatusSeeOther)
	seen := map[string]bool{}
	for _, page := range []struct {
		v    *visitor
		path string
	}{{nurse, "/ward"}, {nurse, "/ward?q=" + "%3Cscript%3E"}, {nurse, "/case/" + id}, {surgeon, "/case/" + id}, {nurse, "/case/" + id + "/sheet"}, {surgeon, "/shelf"}, {admin, "/desk"},
		{nurse, "/case/" + id + "/history"}, {nurse, "/case/" + id + "/correct"}, {nurse, "/list/2026-03-05"}, {auditor, "/desk/glass"}, {surgeon, "/desk/protocol"}, {surgeon, "/case/" + gated}, {surgeon, "/case/" + gated + "/sheet"}, {nurse, "/case/" + id + "?lens=" + "%3Cscript%3E"}} {
		body := page.v.get(page.path).Body.String()
		if strings.Contains(body, "<script>") || strings.Contains(body, "<img") {
			t.Errorf("%s shows typed text as page", page.path)
		}
		for _, m := range regexp.MustCompile(`([A-Z])&lt;script&gt;`).FindAllStringSubmatch(body, -1) {
			seen[m[1]] = true
		}
	}
	for _, w := range []*httptest.ResponseRecorder{
		nurse.post("/case/new", "name", evil, "identifier", evil, "born", evil, "side", evil, "sex", evil, "list", evil, "allergies", evil),
		surgeon.post("/shelf/model", "name", evil, "a", evil, "from_d", evil), admin.post("/desk/person", "name", evil, "role", evil),
		surgeon.change(id, "lens", "target", evil, "power", evil, "model", "m", "shown", "m", "reason", evil), surgeon.change(id, "close", "why", evil),
		h.visitor().post("/sign-in", "name", evil, "password", evil),
	} {
		if strings.Contains(w.Body.String(), "<script>") || strings.Contains(w.Body.String(), "<img") {
			t.Errorf("a refusal shows typed text as page: %d", w.Code)
		}
	}
	for _, want := range []string{"N", "I", "A", "D", "O", "L", "T", "M", "P", "R", "C", "G", "W", "H", "Q", "Z"} {
		if !seen[want] {
			t.Errorf("the text of field %s was seen on no page", want)
		}
	}
}

func (h *house) protocolRevision(v *visitor) string {
	return regexp.MustCompile(`name="revision" value="(\d+)"`).FindStringSubmatch(v.get("/desk/protocol").Body.String())[1]
}

// Accounts: the first person, the door, its limits, and what ends a session.
func TestAccountsThroughThePages(t *testing.T) {
	h := newHouse(t, false)
	admin := h.visitor()
	h.says("first start", admin.get("/ward"), http.StatusSeeOther)
	h.says("short password", admin.post("/start", "name", "Fen Marsh", "password", "short"), http.StatusUnprocessableEntity, "at least 10 characters")
	h.says("the page says so", admin.get("/start"), 200, "At least 10 characters")
	h.says("begin", admin.post("/start", "name", "Fen Marsh", "password", "three words here"), http.StatusSeeOther)
	h.says("signed in", admin.get("/ward"), 200, "Fen Marsh, administrator", "No eyes to do yet")
	h.says("only once", h.visitor().post("/start", "name", "Second", "password", "three words here"), http.StatusUnprocessableEntity, "people already")
	h.says("a nurse", admin.post("/desk/person", "name", "Ama Reed", "role", "nurse", "password", "other words here"), http.StatusSeeOther)
	nurse := h.visitor()
	for range 5 {
		h.says("wrong", nurse.post("/sign-in", "name", "Ama Reed", "password", "guess"), http.StatusUnauthorized, "do not fit")
	}
	h.says("too many", nurse.post("/sign-in", "name", "Ama Reed", "password", "other words here"), http.StatusTooManyRequests, "Too many tries")
	h.now = h.now.Add(time.Minute)
	h.says("right", nurse.post("/sign-in", "name", "ama reed", "password", "other words here"), http.StatusSeeOther)
	h.says("in", nurse.get("/ward"), 200, "Ama Reed, nurse")
	if h.says("no part to take", nurse.post("/be", "person", "x"), http.StatusNotFound); strings.Contains(nurse.get("/ward").Body.String(), "Be this person") {
		t.Error("a ward with accounts offers parts")
	}
	m := regexp.MustCompile(`/desk/person/([0-9a-f-]+)"><input type="hidden" name="revision" value="(\d+)"`).FindAllStringSubmatch(admin.get("/desk").Body.String(), -1)
	for _, p := range m {
		if w := admin.post("/desk/person/"+p[1], "revision", p[2], "role", "technician", "closed", "yes"); w.Code != http.StatusSeeOther && !strings.Contains(w.Body.String(), "last administrator") {
			t.Errorf("closing %s: %d", p[1], w.Code)
		}
	}
	if w := nurse.get("/ward"); w.Header().Get("Location") != "/sign-in" {
		t.Errorf("a closed account is still in: %d", w.Code)
	}
	h.says("out", admin.post("/sign-out"), http.StatusSeeOther)
	if w := admin.get("/desk"); w.Header().Get("Location") != "/sign-in" {
		t.Errorf("after signing out: %d", w.Code)
	}
}

// Somebody who is not in the record is told so in words, by every page.
func TestNoSuchCase(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Corvan Eskerling")
	for _, r := range allRoutes(t) {
		if at := strings.Fields(r.pattern)[1]; at == "/case/{id}/glass" && r.pattern[:3] == "GET" || !strings.HasPrefix(at, "/case/{id}") && !strings.HasPrefix(at, "/patient/{id}") {
			continue
		}
		method, path := r.at("no-such-case")
		w := v.send(method, path, "reason=because+of+that&who=&read=name&read=side&read=length&read=k&read=lens&why=dropped&date=2026-03-05")
		h.says(r.pattern, w, http.StatusNotFound, "not in this ward’s record")
	}
}
