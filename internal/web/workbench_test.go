package web

import (
	"crypto/rand"
	"net/http"
	"net/http/httptest"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"linn/internal/access"
	"linn/internal/care/casebook"
	"linn/internal/locale"
	"linn/internal/pathway"
)

// house is the real program behind the pages, with the invented ward.
type house struct {
	t     *testing.T
	path  *pathway.Pathway
	pages http.Handler
	who   map[string]string // id by name
	cases map[string]string // case by name of the person
	first string            // who the demo begins as
	now   time.Time
}

func newHouse(t *testing.T, demo bool) *house {
	t.Helper()
	h := &house{t: t, now: time.Date(2026, 3, 2, 9, 30, 0, 0, time.FixedZone("-03:30", -(3*3600+1800))), who: map[string]string{}, cases: map[string]string{}}
	clock := func() time.Time { return h.now }
	h.path = &pathway.Pathway{Store: casebook.NewMemory(), Clock: clock, Random: rand.Reader, Program: "0.1.0", Hash: access.NewPassword}
	door := &access.Door{Accounts: Accounts{h.path}, Limiter: &access.Limiter{Clock: clock}, Demo: demo,
		Sessions: &access.Sessions{Store: access.NewMemorySessions(), Clock: clock}}
	if demo {
		first, err := h.path.SeedDemo(t.Context())
		h.must(err)
		h.first, door.DemoPerson = first, first
		h.learn()
	}
	var err error
	h.pages, err = Workbench{Pathway: h.path, Door: door, Language: locale.English}.Handler()
	h.must(err)
	return h
}

func (h *house) must(err error) {
	h.t.Helper()
	if err != nil {
		h.t.Fatal(err)
	}
}

func (h *house) learn() {
	h.t.Helper()
	people, err := h.path.Desk(h.t.Context(), pathway.Actor{ID: h.first})
	h.must(err)
	for _, p := range people {
		h.who[p.Name] = p.ID
	}
	_, rows, err := h.path.Ward(h.t.Context(), pathway.Actor{ID: h.first}, pathway.WardQuery{})
	h.must(err)
	for _, r := range rows {
		h.cases[r.Who.Name] = r.Case
	}
}

// visitor is one browser.
type visitor struct {
	*house
	cookies map[string]string
	headers map[string]string
}

func (h *house) visitor() *visitor {
	return &visitor{house: h, cookies: map[string]string{}, headers: map[string]string{}}
}

// as is a visitor of the demo who took the part of a person.
func (h *house) as(name string) *visitor {
	h.t.Helper()
	v := h.visitor()
	if w := v.post("/be", "person", h.who[name], "back", "/ward"); w.Code != http.StatusSeeOther {
		h.t.Fatalf("be %s: %d", name, w.Code)
	}
	return v
}

func (v *visitor) send(method, path, body string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	r.RemoteAddr, r.Host = "127.0.0.1:50000", "localhost:7373"
	if method == "POST" {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	}
	for k, x := range v.headers {
		r.Header.Set(k, x)
	}
	if host := v.headers["Host"]; host != "" {
		r.Host = host
	}
	for k, x := range v.cookies {
		r.AddCookie(&http.Cookie{Name: k, Value: x})
	}
	w := httptest.NewRecorder()
	v.pages.ServeHTTP(w, r)
	for _, c := range w.Result().Cookies() {
		if v.cookies[c.Name] = c.Value; c.MaxAge < 0 {
			delete(v.cookies, c.Name)
		}
	}
	return w
}

func (v *visitor) get(path string) *httptest.ResponseRecorder { return v.send("GET", path, "") }

func (v *visitor) post(path string, pairs ...string) *httptest.ResponseRecorder {
	form := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		form.Add(pairs[i], pairs[i+1])
	}
	return v.send("POST", path, form.Encode())
}

// revision is what the page says of the case and its fellow.
func (v *visitor) revision(id string) (own, fellow string) {
	v.t.Helper()
	body := v.get("/case/" + id).Body.String()
	find := func(name string) string {
		m := regexp.MustCompile(`name="` + name + `" value="(\d+)"`).FindStringSubmatch(body)
		if m == nil {
			v.t.Fatalf("the page of %s has no %s", id, name)
		}
		return m[1]
	}
	return find("revision"), find("fellow")
}

// change posts a form made from the case as it stands.
func (v *visitor) change(id, verb string, pairs ...string) *httptest.ResponseRecorder {
	v.t.Helper()
	own, fellow := v.revision(id)
	return v.post("/case/"+id+"/"+verb, append([]string{"revision", own, "fellow", fellow}, pairs...)...)
}

// says fails unless an answer has the status and holds every text.
func (h *house) says(what string, w *httptest.ResponseRecorder, status int, texts ...string) {
	h.t.Helper()
	if w.Code != status {
		h.t.Errorf("%s: status %d, want %d", what, w.Code, status)
	}
	for _, text := range texts {
		if !strings.Contains(w.Body.String(), text) {
			h.t.Errorf("%s: does not say %q", what, text)
		}
	}
}

// newEye opens a case through the form and returns it.
func (v *visitor) newEye(pairs ...string) string {
	v.t.Helper()
	w := v.post("/case/new", pairs...)
	id, ok := strings.CutPrefix(w.Header().Get("Location"), "/case/")
	if w.Code != http.StatusSeeOther || !ok {
		v.t.Fatalf("new eye: %d %s", w.Code, w.Body.String())
	}
	return id
}

var ordinaryForm = []string{"right.axial_length_mm", "23.41", "right.axial_length_method", "optical", "right.k_flat_d", "43.25", "right.k_flat_axis_deg", "12",
	"right.k_steep_d", "44.00", "right.k_steep_axis_deg", "102", "right.keratometric_index", "1.3375", "right.acd_mm", "3.12", "right.lens_thickness_mm", "4.45",
	"right.lens_status", "phakic", "right.vitreous", "natural", "right.corneal_surgery", "none", "right.measured_on", "2026-02-24"}

func (v *visitor) ordinaryEye() string {
	v.t.Helper()
	id := v.newEye("name", "Sorrel Brindlewick", "identifier", "H-0999", "side", "right", "sex", "female", "born", "1957-04-11", "list", "2026-03-05", "no-allergies", "yes")
	v.says("readings", v.change(id, "readings", ordinaryForm...), http.StatusSeeOther)
	v.says("second entries", v.change(id, "repeats", "right.axial_length_mm", "23.41", "right.k_flat_d", "43.25", "right.k_steep_d", "44"), http.StatusSeeOther)
	return id
}

// choose takes the power that the page says comes nearest.
func (v *visitor) choose(id string) {
	v.t.Helper()
	v.says("target", v.change(id, "lens", "target", "0"), http.StatusSeeOther)
	body := v.get("/case/" + id).Body.String()
	power := regexp.MustCompile(`<option value="([^"]+)"[^>]*>[^<]*nearest to the target`).FindStringSubmatch(body)
	model := regexp.MustCompile(`name="shown" value="([^"]+)"`).FindStringSubmatch(body)
	if power == nil || model == nil {
		v.t.Fatal("the page offers no power")
	}
	p, err := url.QueryUnescape(strings.ReplaceAll(power[1], "&#43;", "%2B"))
	v.must(err)
	v.says("lens", v.change(id, "lens", "target", "0", "model", model[1], "shown", model[1], "power", p), http.StatusSeeOther)
}

var allRead = []string{"read", "name", "read", "side", "read", "length", "read", "k", "read", "lens"}

// Bad input through the pages: said in words, kept as typed, never used.
func TestBadInputThroughThePages(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Haldis Marrowick")
	id := v.newEye("name", "Sorrel Brindlewick", "identifier", "H-0999", "side", "right", "born", "69")
	for _, c := range []struct{ key, text, says string }{
		{"k_flat_d", "7.8", "Looks like a radius in mm. As power: 43.27"},
		{"k_flat_d", "4350", "Is it 43.5"},
		{"axial_length_mm", "235", "Is it 23.5?"},
		{"axial_length_mm", "23,4,1", "One decimal mark only."},
		{"axial_length_mm", "abc", "Not a number."},
		{"axial_length_mm", "2.341e1", "exponent"},
		{"axial_length_mm", "NaN", "Not a number."},
		{"measured_on", "last week", "A date is YYYY-MM-DD."},
	} {
		v.says(c.text, v.change(id, "readings", "right."+c.key, c.text), http.StatusSeeOther)
		body := v.get("/case/" + id).Body.String()
		for _, want := range []string{c.says, `value="` + c.text + `"`} {
			if !strings.Contains(body, want) {
				t.Errorf("%s %q: the page does not say %q", c.key, c.text, want)
			}
		}
		v.change(id, "readings", "right."+c.key, "")
	}
	v.says("comma", v.change(id, "readings", "right.axial_length_mm", "23,41", "right.k_flat_d", "43,25", "right.k_steep_d", "44,00"), http.StatusSeeOther)
	v.says("comma", v.get("/case/"+id), 200, `value="23,41"`, `class="methods"`)
	v.says("steep below flat", v.change(id, "readings", "right.k_flat_d", "44", "right.k_steep_d", "43"), http.StatusSeeOther)
	if body := v.get("/case/" + id).Body.String(); strings.Contains(body, `class="methods"`) {
		t.Error("a steep K below the flat one gives powers")
	}
	v.says("empty form", v.post("/case/new"), http.StatusUnprocessableEntity, "name is needed", "second identifier is needed")
	v.says("wrong side", v.post("/case/new", "name", "A", "identifier", "B", "born", "70", "side", "both"), http.StatusUnprocessableEntity, "side is needed")
	v.says("both allergies", v.post("/case/new", "name", "A", "identifier", "B", "born", "70", "side", "left", "allergies", "latex", "no-allergies", "yes"), http.StatusUnprocessableEntity, "none known", "latex")
	v.says("age 0", v.post("/case/new", "name", "A", "identifier", "B", "born", "0", "side", "left"), http.StatusUnprocessableEntity, "write the birth date")
	v.says("list of the past", v.post("/case/new", "name", "A", "identifier", "B", "born", "70", "side", "left", "list", "2026-03-01"), http.StatusUnprocessableEntity, "is past")
	v.says("known number", v.post("/case/new", "name", "Somebody Else", "identifier", "H-0412", "born", "70", "side", "left"), http.StatusUnprocessableEntity, "another patient already has")
	v.says("unknown key", v.change(id, "readings", "right.no_such", "1"), http.StatusSeeOther)
	v.says("place", v.change(id, "list", "date", "2026-03-05", "order", "first"), http.StatusUnprocessableEntity, "whole number")
}

// A surgeon alone at the machine lets a second person prove who they are; a
// trainee signs with a supervisor beside them.
func TestTwoPeopleAtOneMachine(t *testing.T) {
	h := newHouse(t, true)
	id := h.as("Haldis Marrowick").ordinaryEye()
	v := h.as("Kessia Inchwater")
	v.choose(id)
	v.says("not signed yet", v.change(id, "sign"), http.StatusUnprocessableEntity, "no second person")
	v.says("nobody of that name", v.change(id, "confirm", append([]string{"who", "No One"}, allRead...)...), http.StatusUnprocessableEntity, "do not fit")
	v.says("not all read", v.change(id, "confirm", "who", "Osmer Tidewell", "read", "name"), http.StatusUnprocessableEntity, "was not ticked")
	v.says("the chooser", v.change(id, "confirm", allRead...), http.StatusUnprocessableEntity, "somebody else")
	v.says("second person", v.change(id, "confirm", append([]string{"who", "Osmer Tidewell"}, allRead...)...), http.StatusSeeOther)
	v.says("seen", v.get("/case/"+id), 200, "Read from the source by Osmer Tidewell", "Kessia Inchwater, trainee")
	v.says("no supervisor", v.change(id, "sign"), http.StatusUnprocessableEntity, "supervisor")
	v.says("no supervisor's right", v.change(id, "sign", "who", "Noreth Quernstone"), http.StatusUnprocessableEntity, "supervisor")
	v.says("signed", v.change(id, "sign", "who", "Corvan Eskerling"), http.StatusSeeOther)
	v.says("signed", v.get("/case/"+id), 200, "Signed by Kessia Inchwater", "Countersigned by Corvan Eskerling", "sheet 0000")
	pdf := v.get("/case/" + id + "/sheet.pdf")
	if pdf.Code != 200 || pdf.Header().Get("Content-Type") != "application/pdf" || !strings.HasPrefix(pdf.Body.String(), "%PDF-") {
		t.Errorf("PDF: %d %s", pdf.Code, pdf.Header().Get("Content-Type"))
	}
	v.says("reading after signing", v.change(id, "readings", "right.acd_mm", "3.20"), http.StatusUnprocessableEntity, "the plan is signed")
	v.says("reopened", v.change(id, "reopen", "reason", "the target was talked over again"), http.StatusSeeOther)
	v.says("reopened", v.get("/case/"+id), 200, "Signed once and reopened", "talked over again")
	v.says("its sheet", v.get("/case/"+id+"/sheet"), 200, "NOT SIGNED", "no sheet number")
	v.says("closed", v.change(id, "close", "why", "dropped"), http.StatusSeeOther)
	v.says("closed", v.get("/case/"+id), 200, "This case is closed")
}

// A lone surgeon signs after the local delay, with a reason.
func TestLoneWorker(t *testing.T) {
	h := newHouse(t, true)
	id := h.as("Haldis Marrowick").ordinaryEye()
	v := h.as("Noreth Quernstone")
	v.choose(id)
	v.says("too early", v.get("/case/"+id), 200, "From 09:45 you may sign without a second person")
	v.says("too early", v.change(id, "sign", "alone", "night duty"), http.StatusUnprocessableEntity, "you may sign from 09:45")
	h.now = h.now.Add(16 * time.Minute)
	v.says("now", v.get("/case/"+id), 200, "Reason for signing alone")
	v.says("without a reason", v.change(id, "sign"), http.StatusUnprocessableEntity, "no second person")
	v.says("signed", v.change(id, "sign", "alone", "night duty, nobody else on the island"), http.StatusSeeOther)
	v.says("printed", v.get("/case/"+id+"/sheet"), 200, "Signed alone: night duty, nobody else on the island")
}

// Two people change one eye: the second sees both versions, chooses reading by
// reading, and nothing that stands is blanked.
func TestConflictThroughThePages(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Haldis Marrowick")
	id := v.ordinaryEye()
	other := h.as("Liruna Saltmarsh")
	own, fellow := other.revision(id)
	v.says("first", v.change(id, "readings", "right.acd_mm", "3.05", "right.white_to_white_mm", "11.8"), http.StatusSeeOther)
	w := other.post("/case/"+id+"/readings", append([]string{"revision", own, "fellow", fellow, "right.white_to_white_mm", "", "right.corneal_thickness_um", "540", "right.acd_mm", "3.21"}, without(ordinaryForm, "right.acd_mm")...)...)
	h.says("second", w, http.StatusConflict, "Haldis Marrowick", "3.05", "3.21", "Sorrel Brindlewick", `name="right.acd_mm" value="3.21" checked`)
	for _, never := range []string{"right.white_to_white_mm", "right.k_flat_d"} { // not touched by the second: not sent again
		if strings.Contains(w.Body.String(), `name="`+never+`"`) {
			t.Errorf("the page would store %s anew", never)
		}
	}
	if m := regexp.MustCompile(`name="revision" value="(\d+)"`).FindStringSubmatch(w.Body.String()); m == nil || m[1] == own {
		t.Errorf("the page carries revision %v", m)
	}
	surgeon := h.as("Corvan Eskerling")
	h.says("a lens too late", surgeon.post("/case/"+id+"/lens", "revision", own, "target", "-0.5"), http.StatusConflict, "was not done")
	j, err := h.path.Check(t.Context(), pathway.Actor{ID: h.first}, id)
	h.must(err)
	if got := j.Eyes["right"].Texts; got["white_to_white_mm"] != "11.8" || got["acd_mm"] != "3.05" || got["target_d"] != "" {
		t.Errorf("stored: %v", got)
	}
}

// without is a form without one field.
func without(form []string, key string) (out []string) {
	for i := 0; i+1 < len(form); i += 2 {
		if form[i] != key {
			out = append(out, form[i], form[i+1])
		}
	}
	return out
}

// Looking at another lens model chooses nothing.
func TestLookingAtAnotherModel(t *testing.T) {
	h := newHouse(t, true)
	id := h.as("Haldis Marrowick").ordinaryEye()
	v := h.as("Corvan Eskerling")
	v.choose(id)
	before, _ := v.revision(id)
	body := v.get("/case/" + id).Body.String()
	shown := regexp.MustCompile(`name="shown" value="([^"]+)"`).FindStringSubmatch(body)[1]
	for _, m := range regexp.MustCompile(`<option value="([0-9a-f-]{36})"`).FindAllStringSubmatch(body[strings.Index(body, `id="model"`):], -1) {
		if m[1] == shown {
			continue
		}
		v.headers["HX-Request"] = "true"
		w := v.change2(id, before, "lens", "target", "0", "model", m[1], "shown", shown, "power", "+21.00")
		delete(v.headers, "HX-Request")
		h.says("another model", w, 200, "The ladder below is of another model", `name="shown" value="`+m[1]+`"`)
	}
	if after, _ := v.revision(id); after != before {
		t.Errorf("revision %s became %s", before, after)
	}
}

func (v *visitor) change2(id, revision, verb string, pairs ...string) *httptest.ResponseRecorder {
	return v.post("/case/"+id+"/"+verb, append([]string{"revision", revision}, pairs...)...)
}

// The stock is counted by power; what is not counted stays.
func TestStockThroughThePages(t *testing.T) {
	h := newHouse(t, true)
	v := h.as("Ineva Rookhaven")
	body := v.get("/shelf").Body.String()
	model := regexp.MustCompile(`name="model" value="([^"]+)"><input type="hidden" name="revision" value="(\d+)"`).FindStringSubmatch(body)
	if model == nil {
		t.Fatal("no stock form")
	}
	h.says("a slip", v.post("/shelf/stock", "model", model[1], "revision", model[2], "count.+21.00", "many"), http.StatusUnprocessableEntity, "no number of lenses")
	h.says("counted", v.post("/shelf/stock", "model", model[1], "revision", model[2], "count.+21.00", "7", "count.+21.50", ""), http.StatusSeeOther)
	h.says("counted", v.get("/shelf"), 200, `name="count.&#43;21.00" value="7"`)
	h.says("late", v.post("/shelf/stock", "model", model[1], "revision", model[2], "count.+21.00", "8"), http.StatusUnprocessableEntity, "changed this meanwhile")
	if n, err := strconv.Atoi(model[2]); err != nil || n < 1 {
		t.Errorf("revision %q", model[2])
	}
}
